"""Checks on what makes a piece cuttable at all.

A loop is as wide as a circle of its area. A needle of 3 mm where a stroke was turned into a shape is no fault; a
loop that a plotter cuts off is. A sew line that runs outside its cut line is still one piece with it where both
stand in one group; the crossing is the finding.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck.amounts import Length, Name, Point, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Severity, Skip
from seamcheck.geometry.kept import kept

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Curve
    from seamcheck.pattern.model import Piece

SHORTEST_DOUBLED = 15.0  # mm: a shorter line on the outline is a tick or a mark
SHORTEST_SPUR = 0.5  # mm: a line that goes back on itself for less is the unsteady hand
ON_LINE = 0.1  # mm: how near a line must keep to another to lie on it


def _outline_closed(context: Context) -> Iterator[Observation | Skip]:
    sizes = context.pattern.sizes
    for line in context.pattern.open_outlines:
        # An outline whose size nobody wrote is told once, in the first size.
        told_in = line.size if line.size in sizes or not sizes else sizes[0]
        if told_in != context.size:
            continue
        yield Observation(
            code="open",
            pieces=(line.name,),
            at=line.ends[0],
            facts={
                "piece": Name(line.name),
                "gap": Length(line.gap),
                "one": Point(line.ends[0]),
                "other": Point(line.ends[1]),
                "place": str(line.place),
            },
        )
    for piece in context.pieces.values():
        yield Observation(
            code="gap",
            deviation=piece.gap,
            allowed=(0.0, 0.0),
            pieces=(piece.name,),
            at=piece.outline.start,
            facts={"piece": Name(piece.name), "gap": Length(piece.gap)},
        )


OUTLINE_CLOSED = Check(
    name="outline-closed",
    family="outlines",
    meaning="the outline of every piece is closed",
    why="A line with a gap is no piece: it cannot be cut out by a plotter, and no seam on it can be walked.",
    remedy="Join the two ends in the drawing program, or redraw the corner between them.",
    source="common practice, no source; ends up to 0.5 mm apart are joined without a word",
    tolerance=1.0,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="open",
            meaning="the outline does not close",
            message="{piece}: the outline is open; its ends at {one} and {other} are {gap} apart ({place}).",
            advice="Join the two ends in the drawing program and save the file again. No seam of this piece was walked.",
            facts=("piece", "one", "other", "gap", "place"),
            severity=Severity.ERROR,
        ),
        Code(
            name="gap",
            meaning="a small gap was bridged to close the outline",
            message="{piece}: the outline closes only across gaps of up to {gap}.",
            advice="Snap the ends of the lines together in the drawing program.",
            facts=("piece", "gap"),
        ),
    ),
    run=_outline_closed,
)


def _lines(piece: Piece) -> Iterator[tuple[str, Curve]]:
    """The closed lines that the file draws for a piece, with what they are called."""
    if piece.drawn is piece.outline or piece.line == "cut":
        yield "the outline", piece.drawn
    else:
        yield "the sew line", piece.outline
        yield "the cut line", piece.drawn


def _outline_crossing(context: Context) -> Iterator[Observation | Skip]:
    from seamcheck.geometry.distances import farthest_outside

    for piece in context.pieces.values():
        lines = list(_lines(piece))
        for name, curve in lines:
            loops = [(_across(curve, a, b), curve.point(a)) for a, b in curve.self_crossings()]
            loop, at = max(loops, key=lambda one: round(one[0], 6), default=(0.0, curve.start))
            yield Observation(
                code="crosses",
                deviation=loop,
                allowed=(0.0, 0.0),
                at=at,
                pieces=(piece.name,),
                facts={
                    "piece": Name(piece.name),
                    "line": name,
                    "places": "once" if len(loops) == 1 else phrase("at {number} places", number=len(loops)),
                    "loop": Length(loop),
                },
            )
        if len(lines) == 2:
            off, station = farthest_outside(piece.outline, piece.drawn)
            yield Observation(
                code="outside",
                deviation=off,
                allowed=(0.0, 0.0),
                at=piece.outline.point(station),
                pieces=(piece.name,),
                facts={"piece": Name(piece.name), "amount": Length(off)},
            )


def _across(curve: Curve, a: float, b: float) -> float:
    """How large the smaller of the two loops is that a crossing makes: the width in mm of a circle of its area."""
    from math import pi, sqrt

    loops = curve.between(a, b), curve.between(b, a)
    return 2.0 * sqrt(min(abs(loop.signed_area()) for loop in loops) / pi)


OUTLINE_CROSSING = Check(
    name="outline-crossing",
    family="outlines",
    meaning="no outline crosses itself, and the sew line stays inside its cut line",
    why="Where an outline crosses itself, nobody can tell which side is the piece: a plotter cuts the loop off, and the lengths "
    "measured along it are wrong. Where the sew line runs outside the cut line, there is no cloth to sew.",
    remedy="Enlarge the place in the drawing program, delete the points of the loop and join the two lines where they crossed. "
    "On paper, redraw the corner where two altered edges overshoot each other.",
    source="outlines closed and not crossing themselves is what any cutter needs: common practice, no source; a sharp inside curve "
    "makes an allowance cross itself: geometry; a loop as wide as its area would be round, and up to 0.5 mm is the unsteady hand",
    tolerance=1.0,
    unit=Unit.LENGTH,
    notes=("outline-crosses-itself",),
    codes=(
        Code(
            name="crosses",
            meaning="the line crosses itself and makes a loop",
            message="{piece}: {line} crosses itself {places}; the largest loop is {loop} wide.",
            advice="Delete the points of the loop and join the two lines in the place where they cross.",
            facts=("piece", "line", "places", "loop"),
        ),
        Code(
            name="outside",
            meaning="the sew line runs outside the cut line",
            message="{piece}: the sew line runs up to {amount} outside the cut line; there is no cloth to sew there.",
            advice="Find which of the two lines was altered, and draw the cut line anew at its allowance from the sew line.",
            facts=("piece", "amount"),
        ),
    ),
    run=_outline_crossing,
)


def _outline_doubled(context: Context) -> Iterator[Observation | LookedAt]:
    for piece in context.pieces.values():
        for name, curve in _lines(piece):
            for length, at in _spurs(curve):
                yield Observation(
                    code="back",
                    at=at,
                    pieces=(piece.name,),
                    facts={"piece": Name(piece.name), "line": name, "length": Length(length)},
                )
        for curve, at in _drawn_twice(piece):
            yield Observation(
                code="twice",
                at=at,
                pieces=(piece.name,),
                facts={"piece": Name(piece.name), "length": Length(curve.length)},
            )
        yield LookedAt(piece=piece.name)


def _drawn_twice(piece: Piece) -> Iterator[tuple[Curve, complex]]:
    """Lines without a purpose of their own that lie on the outline all along."""
    from seamcheck.pattern.drawing import Role

    for line in piece.inside:
        curve = line.curve
        if line.role not in (None, Role.OUTLINE, Role.SEW, Role.CUT) or curve.length < SHORTEST_DOUBLED:
            continue
        if any(_lies_on(curve, outline) for _, outline in _lines(piece)):
            yield curve, curve.point(curve.length / 2)


@kept
def _lies_on(curve: Curve, outline: Curve) -> bool:
    import numpy as np

    from seamcheck.geometry.distances import distances, farthest

    few = curve.points(curve.length * np.linspace(0.0, 1.0, 9))
    return bool(distances(outline, few).max() <= ON_LINE and farthest(curve, outline)[0] <= ON_LINE)


def _spurs(curve: Curve) -> Iterator[tuple[float, complex]]:
    """Where a closed line turns back on itself: how long it runs on its own trace, in mm, and the turning point."""
    import numpy as np

    from seamcheck.geometry.distances import farthest

    turns = np.abs(curve.joint_turns())
    joints = curve.joint_stations[1:]
    for k in np.flatnonzero(turns > 179.0):
        turned = curve.with_start(float(joints[k]) % curve.length)
        reach = min(float(np.diff(turned.joint_stations)[0]), float(np.diff(turned.joint_stations)[-1]))
        there, back = turned.between(0.0, reach), turned.between(turned.length - reach, turned.length)
        if reach >= SHORTEST_SPUR and farthest(there, back)[0] <= ON_LINE:
            yield reach, turned.start


OUTLINE_DOUBLED = Check(
    name="outline-doubled",
    family="outlines",
    meaning="no part of an outline is drawn twice",
    why="A line that lies twice on the same place is cut twice: the knife pulls the cloth or cuts through to the next piece, and a "
    "length measured along both is too long.",
    remedy="Select the line in the drawing program, move it aside to see what is beneath, and delete one of the two.",
    source="the same line twice, or a short one over a long one, is a usual fault of drawn files and is cut twice: "
    "github.com, winkerVSbecks/xvg issue 19 and scottbez1/splitflap issue 19; 0.1 mm is our own limit",
    codes=(
        Code(
            name="twice",
            meaning="a second line lies on the outline",
            message="{piece}: a line {length} long lies on the outline; it would be cut twice.",
            advice="Delete one of the two lines. If it marks something, say a stay tape, label it as an inside line.",
            facts=("piece", "length"),
            severity=Severity.WARNING,
        ),
        Code(
            name="back",
            meaning="the outline runs back on itself",
            message="{piece}: {line} runs out and back on the same line for {length}.",
            advice="Delete the line out and back. If a slit is meant, draw it as an inside line.",
            facts=("piece", "line", "length"),
            severity=Severity.WARNING,
        ),
    ),
    run=_outline_doubled,
)

CHECKS = (OUTLINE_CLOSED, OUTLINE_CROSSING, OUTLINE_DOUBLED)
