"""Checks on darts: the legs, and the edge across the closed mouth."""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck.checks.base import Angle, Check, Code, Context, Length, Observation, Skip, Unit
from seamcheck.checks.junctions import CORNER_TOLERANCE
from seamcheck.checks.seams import SIXTEENTH


def _missing(context: Context) -> Iterator[Skip]:
    """Darts of the plan that could not be found in this size."""
    for dart in context.plan.darts if context.plan else ():
        piece = context.pieces.get(dart.piece)
        if piece is None:
            yield Skip(why="the piece is not in the file in this size", piece=dart.piece)
        elif all(found.corners != dart.corners for found in piece.darts):
            lost = next(
                (piece.unsure[name] for name in dart.corners if name in piece.unsure), "its corners were not found"
            )
            yield Skip(why=lost, piece=dart.piece)


def _dart_legs(context: Context) -> Iterator[Observation | Skip]:
    yield from _missing(context)
    for piece in context.pieces.values():
        for dart in piece.darts:
            first, second = (leg.length for leg in dart.legs)
            short, long = (0, 2) if first < second else (2, 0)
            yield Observation(
                code="unequal",
                deviation=first - second,
                allowed=(0.0, 0.0),
                at=dart.points[short],
                pieces=(piece.name,),
                facts={
                    "piece": piece.name,
                    "short": dart.corners[short],
                    "long": dart.corners[long],
                    "tip": dart.corners[1],
                    "amount": Length(abs(first - second)),
                    "first": Length(first),
                    "second": Length(second),
                },
            )


DART_LEGS = Check(
    name="dart-legs",
    family="darts",
    meaning="the two legs of every dart are equal",
    why="Legs of unequal length leave a step at the edge when the dart is sewn, or a pucker along it.",
    remedy="Move the mouth corners so that both lie on the same circle round the tip: set a compass on the tip, open it to the "
    "leg that is right, and mark the other. Redraw the edge from there.",
    source="legs equal on the stitching line: Fabrics-Store blog, checking, blending and truing, part 1; tolerance as for seams",
    tolerance=SIXTEENTH,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="unequal",
            meaning="one leg is longer than the other",
            message="{piece}: the dart leg from {short} to {tip} is {amount} shorter than the one from {long}.",
            advice="Set a compass on the tip, open it to the leg that is right and mark the other leg; then redraw the edge.",
        ),
    ),
    run=_dart_legs,
)


def _dart_mouth(context: Context) -> Iterator[Observation | Skip]:
    from seamcheck.graph import dart_sector

    yield from _missing(context)
    for piece in context.pieces.values():
        for dart in piece.darts:
            corners = dart.corners[0], dart.corners[2]
            angles = [dart_sector(piece, corner) for corner in corners]
            total = sum(angles)
            yield Observation(
                code="pointed" if total < 180.0 else "hollow",
                deviation=total - 180.0,
                allowed=(180.0, 180.0),
                at=dart.points[0],
                pieces=(piece.name,),
                facts={
                    "corners": " and ".join(f"{piece.name}.{corner}" for corner in corners),
                    "sum": Angle(total),
                    "off": Angle(abs(total - 180.0)),
                },
            )


_MOUTH_ADVICE = (
    "Fold the dart closed on the paper the way it will be pressed, redraw the edge across the fold as one smooth line, and "
    "cut along it while the dart is folded."
)

DART_MOUTH = Check(
    name="dart-mouth",
    family="darts",
    meaning="the edge runs on smoothly when the dart is folded",
    why="When the dart is sewn, an edge that was drawn straight across the open mouth shows a peak or a dip, and the band or "
    "facing sewn to it does not fit.",
    remedy=_MOUTH_ADVICE,
    source="dart cap by folding: industry standard list in Sewing techniques: darts (docslib 10951758); tolerance by geometry: "
    "3.5° is 1/16 in, one inch from the corner",
    tolerance=CORNER_TOLERANCE,
    unit=Unit.ANGLE,
    codes=(
        Code(
            name="pointed",
            meaning="the closed mouth makes a point",
            message="With the dart closed, the angles at {corners} add to {sum} instead of 180°: the edge makes a point of {off}.",
            advice=_MOUTH_ADVICE,
        ),
        Code(
            name="hollow",
            meaning="the closed mouth makes a hollow",
            message="With the dart closed, the angles at {corners} add to {sum} instead of 180°: the edge makes a hollow of {off}.",
            advice=_MOUTH_ADVICE,
        ),
    ),
    run=_dart_mouth,
)

CHECKS = (DART_LEGS, DART_MOUTH)
