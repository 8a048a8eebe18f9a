"""Checks on where notches are put: square to the edge, clear of corners and of the sew line, and not to be mistaken.

A notch is right if it is right from either end; neighbouring notches that slipped by one amount are one finding.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Length, Listed, Name, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, Observation, Skip
from seamcheck.checks.lookalikes import APART, look_alikes
from seamcheck.checks.places import along
from seamcheck.exact import least
from seamcheck.pattern.subject import Subject

if TYPE_CHECKING:
    from seamcheck.pattern.model import Edge, Notch, Piece

LEAN_TOLERANCE = 10.0  # degrees
PARALLEL = 0.5  # degrees: within which a notch has the direction of another size's
CLEAR_OF_CORNER = 12.7  # mm: 1/2 in
CORNER_TOLERANCE = 6.35  # mm: half of that
DEPTH_TOLERANCE = 1.6  # mm
TOUCH = 1.0  # mm: how near the cut line a notch begins that was cut into it
REAL_CORNER = 15.0  # degrees: what turns less is a point on a smooth line


def _notch_place(context: Context) -> Iterator[Observation | Skip]:
    for piece in context.pieces.values():
        notched = [(edge, notch) for edge in piece.edges for notch in edge.notches]
        if notched and not any(notch.ticks for _, notch in notched):
            yield Skip(
                reason="notch-points",
                why="the file gives only the places of its notches, not how they lie",
                piece=piece.name,
            )
        if notched and piece.drawn is piece.outline:
            yield Skip(
                reason="no-allowance",
                why="one line is drawn and no allowance known, so how deep a notch may go is not known",
                piece=piece.name,
            )
        for edge, notch in notched:
            if notch.ticks:
                lean, uncertainty = _lean(edge, notch)
                if abs(lean) > LEAN_TOLERANCE / 2 and _kept_parallel(context, piece, edge, notch):
                    why = "a notch is drawn as in another size, where it is square: notches are kept parallel through the sizes"
                    yield Skip(reason="kept-parallel", why=why, piece=piece.name, edge=edge.name)
                else:
                    yield _slanted(piece, edge, notch, lean, uncertainty)
                if piece.drawn is not piece.outline:
                    yield from _depth(piece, edge, notch)
        yield from _corners(context, piece)
    if not any(edge.notches for piece in context.pieces.values() for edge in piece.edges):
        yield Skip(reason="no-notches", why="no piece has a notch")
    for alike in look_alikes(context):
        yield Observation(
            code="alike",
            deviation=APART - alike.apart,
            allowed=(0.0, 0.0),
            at=alike.at,
            seam=alike.seam,
            pieces=(alike.piece,),
            edges=tuple(f"{alike.piece}.{name}" for name in dict.fromkeys((alike.edge, alike.other))),
            facts={
                "edge": Name(f"{alike.piece}.{alike.edge}"),
                "other": Name(f"{alike.piece}.{alike.other}"),
                "piece": Name(alike.piece),
                "seam": Name(alike.seam),
                "apart": Length(alike.apart),
                "off": Length(alike.off),
                "wrong": "turned end for end"
                if alike.edge == alike.other
                else phrase(
                    "turned round so that {other} lies where {edge} belongs",
                    other=Name(alike.other),
                    edge=Name(alike.edge),
                ),
            },
        )


def _lean(edge: Edge, notch: Notch) -> tuple[float, float]:
    """How far a notch leans from square in degrees, the mean of its ticks, and by how much that may be off."""
    along, uncertainty = edge.direction(notch.station)
    return sum(_turn(1j * along, tick) for tick in notch.ticks) / len(notch.ticks), uncertainty


def _turn(direction: complex, tick: tuple[complex, complex]) -> float:
    """The angle from a direction to a tick in degrees, from -90 to 90, whichever way the tick points."""
    from cmath import phase
    from math import degrees

    start, end = tick
    return (degrees(phase((end - start) / direction)) + 90.0) % 180.0 - 90.0


def _kept_parallel(context: Context, piece: Piece, edge: Edge, notch: Notch) -> bool:
    """Whether a notch only has the direction that it has in another size, where it is square to its edge.

    Notch lines are parallel through a nest: common practice in grading, no source.
    """
    number = edge.notches.index(notch)
    for other in context.pattern.pieces:
        if other.name != piece.name or other.size == piece.size:
            continue
        for its in other.edges:
            if its.name != edge.name or len(its.notches) != len(edge.notches):
                continue
            mate = its.notches[number]
            apart = [_turn(end - start, there) for there, (start, end) in zip(mate.ticks, notch.ticks, strict=False)]
            same = len(mate.ticks) == len(notch.ticks) and max(map(abs, apart)) <= PARALLEL
            if same and abs(_lean(its, mate)[0]) <= LEAN_TOLERANCE / 2:
                return True
    return False


def _slanted(piece: Piece, edge: Edge, notch: Notch, lean: float, uncertainty: float) -> Observation:
    """How far a notch leans, and by how much that shifts its place at the sew line."""
    from math import cos, radians, sin

    drawn = max(abs(end - start) for start, end in notch.ticks)
    return Observation(
        code="slanted",
        subject=Subject.notch(piece, edge, notch),
        deviation=lean,
        uncertainty=uncertainty,
        allowed=(0.0, 0.0),
        at=notch.at,
        pieces=(piece.name,),
        edges=(f"{piece.name}.{edge.name}",),
        facts=along(piece, edge, notch.station)
        | {
            "lean": Angle(abs(lean)),
            "deep": Length(drawn * cos(radians(lean))),
            "shift": Length(drawn * sin(radians(abs(lean)))),
        },
    )


def _depth(piece: Piece, edge: Edge, notch: Notch) -> Iterator[Observation]:
    """How far a notch that was cut in from the cut line reaches past the sew line; less than 0 where it ends before it."""
    past = []
    for start, end in notch.ticks:
        near = [piece.drawn.nearest(point).distance <= TOUCH for point in (start, end)]
        if not any(near) and piece.drawn.contains(start) == piece.drawn.contains(end):
            continue  # drawn on the sew line alone
        for point in (start, end):
            to_sew = piece.outline.nearest(point).distance
            past.append(to_sew if piece.outline.contains(point) else -to_sew)
    if past:
        deepest = max(past)
        yield Observation(
            code="deep",
            subject=Subject.notch(piece, edge, notch),
            deviation=max(deepest, 0.0),
            allowed=(0.0, 0.0),
            at=notch.at,
            pieces=(piece.name,),
            edges=(f"{piece.name}.{edge.name}",),
            facts=along(piece, edge, notch.station) | {"past": Length(max(deepest, 0.0))},
        )


def _corners(context: Context, piece: Piece) -> Iterator[Observation]:
    """Notches that lie too near a corner at which another seam crosses; those round one corner are one observation."""
    plan = next((one for one in context.plan.pieces if one.name == piece.name), None) if context.plan else None
    near: dict[str, list[tuple[float, Edge, Notch]]] = {}
    for edge in piece.edges:
        if edge.inside:
            continue
        for name, at_start in ((edge.start, True), (edge.end, False)):
            corner = piece.corner(name) if any(one.name == name for one in piece.corners) else None
            if corner is None or abs(180.0 - corner.angle) < REAL_CORNER:
                continue
            others = [one for one in piece.edges if one is not edge and name in (one.start, one.end)]
            if plan is not None and any(one.name == plan.fold for one in others):
                continue
            for notch in edge.notches:
                distance = notch.station if at_start else edge.length - notch.station
                if distance < CLEAR_OF_CORNER:
                    near.setdefault(name, []).append((distance, edge, notch))
    for name, found in near.items():
        distance, edge, notch = least(found, key=lambda one: one[0])
        both = [one.name for one in dict.fromkeys(edge for _, edge, _ in found)]
        yield Observation(
            code="corner",
            subject=Subject.notch(piece, edge, notch),
            deviation=distance - CLEAR_OF_CORNER,
            allowed=(CLEAR_OF_CORNER, max(edge.length - CLEAR_OF_CORNER, CLEAR_OF_CORNER)),
            at=notch.at,
            pieces=(piece.name,),
            edges=tuple(f"{piece.name}.{one}" for one in both),
            facts={
                "edge": Name(f"{piece.name}.{edge.name}"),
                "distance": Length(distance),
                "end": Name(name),
                "both": Listed(tuple(Name(f"{piece.name}.{one}") for one in both)),
            },
            clauses=("both",) if len(both) > 1 else (),
        )


_NOTCH = "The notch of {edge}, {distance} from {end},"

NOTCH_PLACE = Check(
    name="notch-place",
    family="seams",
    meaning="every notch is square to its edge, clear of corners and of the sew line, and leaves no piece to be sewn the wrong way round",
    why="A slanted notch says another place at the sew line than at the cut edge; one near a corner vanishes in the seam that crosses "
    "there and weakens the cloth; one that is cut past the sew line is a hole; and notches that fit the wrong way round too let a "
    "piece be sewn in upside down.",
    remedy="Draw each notch straight in, square to the edge, no deeper than half the allowance. Put it at least 1/2 in from a corner. "
    "Where a piece would also fit the wrong way round, move one of the notches by 1/2 in or more on both sides of the seam, or make it "
    "double.",
    source="not on both edges of a corner: emmakespatterns.com, Notches; a notch that vanishes in a seam: Fashion Incubator, How many "
    "notches are too many; look-alike seams apart by 1/2 in: Fashion Incubator, Notching challenge, part 2; square to the edge, the "
    "distance from a corner and never past the sew line: common practice, no source",
    tolerance=DEPTH_TOLERANCE,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="slanted",
            meaning="a notch leans from square to its edge",
            message=f"{_NOTCH} leans by {{lean}} from square to the edge: over its depth of {{deep}} that shifts the place by {{shift}}.",
            advice="Mark the place where it meets the sew line and draw it anew from there, square to the edge.",
            facts=("edge", "distance", "end", "lean", "deep", "shift"),
            tolerance=LEAN_TOLERANCE,
            unit=Unit.ANGLE,
        ),
        Code(
            name="corner",
            meaning="a notch lies too near a corner",
            message="The notch of {edge} lies only {distance} from the corner {end}.",
            advice="Move it at least 1/2 in from the corner, and its mate by as much; if it only marks the corner, leave it out.",
            clauses={"both": "Both edges of that corner are notched ({both}), which weakens the cloth there."},
            facts=("edge", "distance", "end", "both"),
            tolerance=CORNER_TOLERANCE,
        ),
        Code(
            name="deep",
            meaning="a notch reaches past the sew line",
            message=f"{_NOTCH} reaches {{past}} past the sew line: cut so deep it shows as a hole in the finished seam.",
            advice="Shorten it to half the allowance.",
            facts=("edge", "distance", "end", "past"),
        ),
        Code(
            name="alike",
            meaning="the notches also fit when the piece is sewn in the wrong way round",
            message="Seam {seam}: {piece} also goes in {wrong}; its notches then miss by {apart} at most, which nobody notices, and the "
            "seam is off by {off}.",
            advice="Move one notch of {edge} and its mate by 1/2 in or more, or make one end's notch double, so that only one way fits.",
            facts=("seam", "piece", "wrong", "apart", "off", "edge"),
            tolerance=APART,
        ),
    ),
    run=_notch_place,
)

CHECKS = (NOTCH_PLACE,)
