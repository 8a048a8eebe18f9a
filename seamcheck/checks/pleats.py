"""Checks on pleats: parallel fold lines, and the edge across the folded mouth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Length, Listed, Name, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, Observation, Skip
from seamcheck.checks.darts import lost_corners, roofed, running_on
from seamcheck.checks.junctions import CORNER_TOLERANCE
from seamcheck.checks.seam_bands import SIXTEENTH

if TYPE_CHECKING:
    from seamcheck.pattern.model import Piece, Pleat

PARALLEL_TOLERANCE = 1.0  # degrees


def _pleat(context: Context) -> Iterator[Observation | Skip]:
    yield from _skips(context)
    for piece in context.pieces.values():
        for pleat in piece.pleats:
            yield running_on(context, piece, pleat.corners)
            yield from roofed(piece, pleat.corners, pleat.folds)
            if pleat.drawn:
                yield _parallel(piece, pleat)
            else:
                yield Skip(
                    reason="no-fold-lines",
                    why=phrase(
                        "no fold lines are drawn from {corners}, so the pleat is taken to run straight in",
                        corners=Listed(tuple(map(Name, pleat.corners))),
                    ),
                    piece=piece.name,
                )


def _skips(context: Context) -> Iterator[Skip]:
    """Pleats of the plan that could not be found in this size, or that there is none at all."""
    if not any(piece.pleats for piece in context.pieces.values()) and not (context.plan and context.plan.pleats):
        yield Skip(reason="no-pleats", why="no piece has a pleat")
    for pleat in context.plan.pleats if context.plan else ():
        piece = context.pieces.get(pleat.piece)
        if piece is None:
            yield Skip(reason="piece-missing", why="the piece is not in the file in this size", piece=pleat.piece)
        elif all(found.corners != pleat.corners for found in piece.pleats):
            yield lost_corners(piece, pleat.corners)


def _parallel(piece: Piece, pleat: Pleat) -> Observation:
    from cmath import phase
    from math import degrees

    first, second = pleat.folds
    lean = degrees(phase((second.end - second.start) / (first.end - first.start)))
    apart = second.start - first.start
    closing = abs(second.end - first.end) < abs(apart)
    return Observation(
        code="parallel",
        deviation=lean,
        allowed=(0.0, 0.0),
        at=first.start,
        pieces=(piece.name,),
        facts={
            "piece": Name(piece.name),
            "corners": Listed(tuple(map(Name, pleat.corners))),
            "lean": Angle(abs(lean)),
            "depth": Length(pleat.depth),
            "inner": Length(abs(second.end - first.end)),
            "shape": "closes" if closing else "opens",
        },
    )


_ADVICE = (
    "Fold the pleat on the paper the way it will be pressed, redraw the edge across it as one smooth line, and cut along it while "
    "the pleat is folded."
)

PLEAT = Check(
    name="pleat",
    family="darts",
    meaning="the fold lines of every pleat are parallel, and the edge runs on and is caught in the seam when it is folded",
    why="Fold lines that are not parallel make a pleat that gapes or bites lower down; an edge that was not drawn with the pleat folded "
    "shows a step in the seam, or the cloth in the fold is not caught in it.",
    remedy="Measure the pleat at the edge and again at the end of its fold lines, and make both alike. Then fold it and draw the edge "
    "across it. A fold that is meant to taper is a dart: give it a tip in the plan.",
    source="pleats are folded closed before a seam is walked: The Daily Sew, How to true a pattern (2018); parallel fold lines: common "
    "practice, no source",
    tolerance=PARALLEL_TOLERANCE,
    unit=Unit.ANGLE,
    codes=(
        Code(
            name="parallel",
            meaning="the two fold lines are not parallel",
            message="{piece}: the fold lines from {corners} are out of parallel by {lean}: the pleat is {depth} at the edge and {shape} "
            "to {inner} at their ends.",
            advice="Draw the fold line of the altered side anew, parallel to the other at the depth of the pleat.",
            facts=("piece", "corners", "lean", "depth", "shape", "inner"),
        ),
        Code(
            name="pointed",
            meaning="the folded mouth makes a bump",
            message="With the pleat folded, the angles at {corners} add to {sum} instead of 180°: the edge makes a bump of {off} instead of running on.",
            advice=_ADVICE,
            facts=("corners", "sum", "off"),
            tolerance=CORNER_TOLERANCE,
        ),
        Code(
            name="hollow",
            meaning="the folded mouth makes a dip",
            message="With the pleat folded, the angles at {corners} add to {sum} instead of 180°: the edge makes a dip of {off} instead of running on.",
            advice=_ADVICE,
            facts=("corners", "sum", "off"),
            tolerance=CORNER_TOLERANCE,
        ),
        Code(
            name="roof",
            meaning="the edge drawn across the mouth does not reach the seam when the pleat is folded",
            message="Folded towards {toward}, the cloth in the pleat at {corners} {lacks} the seam by {amount}.",
            advice=_ADVICE,
            facts=("toward", "corners", "lacks", "amount"),
            tolerance=SIXTEENTH,
            unit=Unit.LENGTH,
        ),
    ),
    run=_pleat,
)

CHECKS = (PLEAT,)
