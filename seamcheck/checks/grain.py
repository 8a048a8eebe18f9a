"""Checks on the grainline."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import cos, radians, sin
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Length, Listed, Name, PlainAngle, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Severity, Skip
from seamcheck.checks.seam_kinds import is_of_garment
from seamcheck.exact import least
from seamcheck.geometry.kept import kept
from seamcheck.pattern.subject import Subject

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Curve
    from seamcheck.pattern.model import Grainline, Piece

SHORTEST_SHARE = 1 / 3  # of the room that the piece has for it there; an arrow shorter than this is hard to lay by
OUTSIDE = 0.5  # mm: how far an arrow may touch the outline from outside before it leaves the piece


def _longest(piece: Piece) -> Grainline | None:
    return max(piece.grainlines, key=lambda grain: round(grain.length, 6), default=None)


def _grain_present(context: Context) -> Iterator[Observation | LookedAt]:
    if not any(_longest(piece) for piece in context.pieces.values()) and not _is_garment(context):
        if context.pieces:
            yield Observation(code="none", at=_middle(next(iter(context.pieces.values()))))
        return
    for piece in context.pieces.values():
        grain = _longest(piece)
        if grain is None or grain.length <= 0.0:
            yield Observation(
                code="missing", pieces=(piece.name,), at=_middle(piece), facts={"piece": Name(piece.name)}
            )
            continue
        x0, y0, x1, y1 = piece.outline.bounds()
        # No piece reaches further in the direction of its arrow than its box does.
        along = (x1 - x0) * abs(cos(radians(grain.angle))) + (y1 - y0) * abs(sin(radians(grain.angle)))
        if grain.length < SHORTEST_SHARE * along:
            along = _room_along(piece.outline, (grain.points[0] + grain.points[-1]) / 2, grain.angle)
        if grain.length < SHORTEST_SHARE * along:
            yield Observation(
                code="short",
                pieces=(piece.name,),
                at=grain.points[0],
                subject=Subject.grain(piece, grain),
                facts={"piece": Name(piece.name), "length": Length(grain.length), "along": Length(along)},
            )
        yield LookedAt(piece=piece.name)


def _is_garment(context: Context) -> bool:
    """Whether the plan, or the pieces where there is none, have names of a garment."""
    plan = context.plan
    names = [*context.pieces, *(edge.name for piece in context.pieces.values() for edge in piece.edges if edge.named)]
    return is_of_garment([*names, *(seam.name for seam in plan.seams), plan.name] if plan else names)


def _middle(piece: Piece) -> complex:
    x0, y0, x1, y1 = piece.outline.bounds()
    return complex((x0 + x1) / 2, (y0 + y1) / 2)


@kept
def _room_along(outline: Curve, middle: complex, angle: float) -> float:
    """How long in mm an arrow could be through a place: across a bent strip no longer than that is wide.

    Where the place lies outside the outline, how long that is in the direction of the arrow.
    """
    from seamcheck.geometry.curve import Affine, Curve

    if not outline.contains(middle):
        x0, _, x1, _ = outline.transformed(Affine.rotation(-angle)).bounds()
        return x1 - x0
    reach = outline.length
    ray = Affine.translation(middle) @ Affine.rotation(angle)
    line = Curve.line(-reach + 0j, reach + 0j).transformed(ray)
    cuts = [station - reach for station, _ in line.crossings(outline)]
    return min((cut for cut in cuts if cut > 0.0), default=reach) - max(
        (cut for cut in cuts if cut < 0.0), default=-reach
    )


GRAIN_PRESENT = Check(
    name="grain-present",
    family="grain",
    meaning="every piece has a grain arrow, long enough to lay by",
    why="Without an arrow the piece is laid on the cloth by eye; a leg cut off the grain twists round the wearer's leg.",
    remedy="Draw the grain arrow through the part of the piece that was not altered, as long as the piece allows.",
    source="both ends of the arrow at equal distance from the selvedge, and the longer the better: emmakespatterns.com, Grainline; "
    "one third of the piece is our own limit",
    codes=(
        Code(
            name="missing",
            meaning="the piece has no grain arrow",
            message="{piece} has no grain arrow.",
            advice="Draw one straight arrow along the straight grain, on trousers through the middle of knee and hem.",
            facts=("piece",),
            severity=Severity.ERROR,
        ),
        Code(
            name="none",
            meaning="no piece has a grain arrow, and nothing says that it is a garment",
            message="No piece has a grain arrow.",
            advice="If the cloth has a grain, draw one straight arrow along it on every piece.",
            severity=Severity.NOTE,
        ),
        Code(
            name="short",
            meaning="the arrow is shorter than a third of what the piece has room for",
            message="{piece}: the grain arrow is {length} long where the piece has room for {along}; it is hard to lay straight by.",
            advice="Lengthen the arrow both ways with a ruler, at best through the whole piece.",
            facts=("piece", "length", "along"),
            severity=Severity.NOTE,
        ),
    ),
    run=_grain_present,
)


def _grain_straight(context: Context) -> Iterator[Observation | Skip]:
    for piece in context.pieces.values():
        if not piece.grainlines:
            yield Skip(reason="no-grain", why="the piece has no grain arrow", piece=piece.name)
            continue
        if len(piece.grainlines) > 1:
            angles = sorted(grain.angle for grain in piece.grainlines)
            yield Observation(
                code="several",
                pieces=(piece.name,),
                at=piece.grainlines[1].points[0],
                subject=Subject.grain(piece, piece.grainlines[1]),
                facts={
                    "piece": Name(piece.name),
                    "number": len(piece.grainlines),
                    "angles": Listed(tuple(map(Angle, angles)), last=", "),
                },
            )
        for grain in piece.grainlines:
            bend, at = _sharpest_bend(grain)
            yield Observation(
                code="bent",
                deviation=bend,
                allowed=(0.0, 0.0),
                pieces=(piece.name,),
                at=at,
                subject=Subject.grain(piece, grain),
                facts={"piece": Name(piece.name), "bend": Angle(abs(bend))},
            )


def _sharpest_bend(grain: Grainline) -> tuple[float, complex]:
    """The sharpest change of direction along an arrow in degrees, and where it is."""
    from cmath import phase
    from math import degrees

    points = grain.points
    bends = [
        (degrees(phase((c - b) / (b - a))), b)
        for a, b, c in zip(points, points[1:], points[2:], strict=False)
        if a != b
    ]
    return max(bends, key=lambda bend: round(abs(bend[0]), 6), default=(0.0, points[0]))


GRAIN_STRAIGHT = Check(
    name="grain-straight",
    family="grain",
    meaning="the grain arrow is one straight line",
    why="After a slash the part beyond it has turned, and an arrow that crosses the slash points in two directions: whoever lays "
    "out the piece picks one of them, perhaps the wrong one.",
    remedy="Keep the half of the arrow in the part that did not turn (on trousers the part through the middle of knee and hem), "
    "lengthen it with a ruler through the whole piece, and cross out the other half.",
    source="a small hand alteration visibly turns the grain: sdbevpantsed.wordpress.com, Happy Pant, Knee Dart; the tolerance is ours "
    "(woven cloth itself may be skewed by 1 to 2°, ASTM D3882 is the test; from memory)",
    tolerance=1.0,
    unit=Unit.ANGLE,
    codes=(
        Code(
            name="bent",
            meaning="the arrow changes direction",
            message="{piece}: the grain arrow bends by {bend}; it points in two directions.",
            advice="Keep the half in the part that was not turned, lengthen it straight through the piece, and cross out the other half.",
            facts=("piece", "bend"),
        ),
        Code(
            name="several",
            meaning="there are several arrows",
            message="{piece} has {number} grain arrows ({angles}).",
            advice="Keep one and cross out the others.",
            facts=("piece", "number", "angles"),
            severity=Severity.WARNING,
        ),
    ),
    run=_grain_straight,
)


def _grain_inside(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    for piece in context.pieces.values():
        if not piece.grainlines:
            yield Skip(reason="no-grain", why="the piece has no grain arrow", piece=piece.name)
        for grain in piece.grainlines:
            out = _outside(piece.drawn, grain.points)
            if out is not None:
                yield Observation(
                    code="leaves",
                    pieces=(piece.name,),
                    at=out,
                    subject=Subject.grain(piece, grain),
                    facts={"piece": Name(piece.name)},
                )
            yield LookedAt(piece=piece.name)


@kept
def _outside(outline: Curve, arrow: tuple[complex, ...]) -> complex | None:
    """A point of an arrow that lies outside an outline, if one does."""
    import numpy as np

    for end in arrow:
        if not outline.contains(end) and outline.nearest(end).distance > OUTSIDE:
            return end
    polygon = outline.polygon(0.1)
    following = np.roll(polygon, -1)
    for a, b in pairwise(arrow):
        direction = b - a
        if direction == 0:
            continue
        # Where the outline crosses the arrow's line, the arrow may be out of the piece between two crossings.
        before, after = (polygon - a) / direction, (following - a) / direction
        crossing = (before.imag > 0) != (after.imag > 0)
        rise = after.imag[crossing] - before.imag[crossing]
        share = before.real[crossing] - before.imag[crossing] * (after.real - before.real)[crossing] / rise
        cuts = sorted({0.0, 1.0, *(float(s) for s in share if 0.0 < s < 1.0)})
        for low, high in pairwise(cuts):
            middle = a + direction * (low + high) / 2
            if not outline.contains(middle) and outline.nearest(middle).distance > OUTSIDE:
                return middle
    return None


GRAIN_INSIDE = Check(
    name="grain-inside",
    family="grain",
    meaning="the grain arrow lies inside its piece",
    why="An arrow that leaves the piece is cut off with the paper, or belongs to a neighbour on the sheet.",
    remedy="Shorten the arrow, or move it sideways without turning it, until it lies inside the piece.",
    source="common practice, no source",
    codes=(
        Code(
            name="leaves",
            meaning="the arrow leaves the piece",
            message="{piece}: the grain arrow leaves the piece.",
            advice="Move the arrow sideways with two set squares, so that it keeps its direction, until all of it lies inside.",
            facts=("piece",),
            severity=Severity.WARNING,
        ),
    ),
    run=_grain_inside,
)


STEADY = 0.5  # degrees: an arrow that bends more has no one direction
ON_FOLD = 0.1  # mm: how near to the outline a drawn fold line must lie to be the edge of the piece
LEANING = 7.5  # degrees: an inch slashed open over 200 mm; an arrow that leans more against a fold is meant to
CREASE_WORDS = frozenset({"crease", "creases", "bugelfalte", "bugelfalten"})
DIRECTIONS = {0.0: "along", 45.0: "on the bias of", 90.0: "across"}  # how an arrow may lie to a fold, in degrees


def _grain_fold(context: Context) -> Iterator[Observation | Skip]:
    lines = [*_fold_edges(context), *_creases(context)]
    if not lines:
        yield Skip(reason="no-fold", why="no piece has a fold edge or a crease")
    for piece, code, line in lines:
        grain = _longest(piece)
        if grain is None or grain.length <= 0.0:
            yield Skip(reason="no-grain", why="the piece has no grain arrow", piece=piece.name)
            continue
        if abs(_sharpest_bend(grain)[0]) > STEADY:
            yield Skip(reason="grain-bent", why="the grain arrow is bent", piece=piece.name)
            continue
        apart = _between(line, grain)
        meant = 0.0 if code == "crease" else least(DIRECTIONS, key=lambda way: abs(abs(apart) - way))
        off = abs(apart) - meant
        if code == "fold" and abs(off) > LEANING:
            template = "the arrow lies at {angle} to the fold, which was taken for meant"
            yield Skip(reason="meant", why=phrase(template, angle=PlainAngle(abs(apart))), piece=piece.name)
            continue
        yield Observation(
            code=code,
            deviation=off,
            allowed=(0.0, 0.0),
            at=grain.points[0],
            subject=Subject.grain(piece, grain),
            pieces=(piece.name,),
            facts={
                "piece": Name(piece.name),
                "off": Angle(abs(off)),
                "way": DIRECTIONS[meant],
                "run": Length(_drift(grain, off)),
                "length": Length(grain.length),
            },
        )


def _fold_edges(context: Context) -> Iterator[tuple[Piece, str, Curve]]:
    """The folds that are the edge of their piece; what is folded later may cross it in any direction."""
    import numpy as np

    from seamcheck.checks.edges import folds
    from seamcheck.geometry.distances import distances

    for piece, _, fold in folds(context):
        few = fold.points(fold.length * np.linspace(0.0, 1.0, 9))
        if fold.chord > 0.0 and distances(piece.drawn, few).max() <= ON_FOLD:
            yield piece, "fold", fold


def _creases(context: Context) -> Iterator[tuple[Piece, str, Curve]]:
    import re
    import unicodedata

    for piece in context.pieces.values():
        for line in piece.inside:
            plain = unicodedata.normalize("NFKD", " ".join(line.names).casefold())
            words = re.findall(r"[a-z]+", "".join(one for one in plain if not unicodedata.combining(one)))
            if CREASE_WORDS.intersection(words) and line.curve.chord > 0.0:
                yield piece, "crease", line.curve


def _between(line: Curve, grain: Grainline) -> float:
    """The angle from a line to the arrow in degrees, from -90 to 90."""
    from cmath import phase
    from math import degrees

    turn = degrees(phase((grain.points[-1] - grain.points[0]) / (line.end - line.start)))
    return (turn + 90.0) % 180.0 - 90.0


def _drift(grain: Grainline, degrees: float) -> float:
    from math import radians, sin

    return grain.length * abs(sin(radians(degrees)))


GRAIN_FOLD = Check(
    name="grain-fold",
    family="grain",
    meaning="the grain arrow lies along the fold and along the crease; across a fold or on its bias where that is plainly meant",
    why="Cloth is folded along its threads. When the arrow leans against the fold, the piece cannot lie on both, and its two halves "
    "come out on different grain; when it leans against the crease, the leg twists and the crease wanders off the knee.",
    remedy="Where the piece was altered, draw the arrow anew: parallel to the fold with two set squares, on trousers parallel to the "
    "crease through the middle of knee and hem.",
    source="the fold lies on the straight grain: sew-i-do.blogspot.com (2013/01), Grain; the grain is put right until it is parallel to "
    "the crease: Threads magazine, Tapering or widening pants (2008); 1° is our own limit, and so are 7.5°, from which an arrow is "
    "taken to be meant so",
    tolerance=1.0,
    unit=Unit.ANGLE,
    codes=(
        Code(
            name="fold",
            meaning="the arrow leans against the fold edge",
            message="{piece}: the grain arrow should lie {way} the fold and leans by {off}, {run} over its length of {length}.",
            advice="Draw the arrow anew from the fold with two set squares; if the fold was moved, put the fold right instead.",
            facts=("piece", "way", "off", "run", "length"),
        ),
        Code(
            name="crease",
            meaning="the arrow is not parallel to the crease",
            message="{piece}: the grain arrow leans against the crease by {off}, {run} over its length of {length}.",
            advice="Draw the arrow parallel to the crease, through the middle of knee and hem; the part below the knee counts.",
            facts=("piece", "off", "run", "length"),
        ),
    ),
    run=_grain_fold,
)

CHECKS = (GRAIN_PRESENT, GRAIN_STRAIGHT, GRAIN_INSIDE, GRAIN_FOLD)
