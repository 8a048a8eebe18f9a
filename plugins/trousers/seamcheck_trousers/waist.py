"""The waist: its darts closed, against the band and against the body."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck_trousers.options import length, waist_ease
from seamcheck_trousers.pairs import Pair, pairs, role

from seamcheck.amounts import Length, Listed, Name, Unit
from seamcheck.checks.base import Check, Code, Context, Observation, Skip

if TYPE_CHECKING:
    from seamcheck.pattern.seams import Side
    from seamcheck.pattern.walk import Walk

MOST_EASE = 12.7  # mm: 1/2 in of waist eased onto a band


def _is_waist(side: Side) -> bool:
    return all(role(use.edge) == "waist" for use in side.uses)


def _waist_ease(context: Context) -> Iterator[Observation | Skip]:
    legs = {leg.piece.name for pair in pairs(context) for leg in (pair.front, pair.back)}
    for walk in context.walks:
        first, second = walk.seam.first, walk.seam.second
        waist = next((one for one in (first, second) if _is_waist(one) and legs.issuperset(one.pieces)), None)
        if waist is None or walk.seam.twin:
            continue
        if abs(walk.deviation) > 0.8:
            yield Skip(
                reason="not-true",
                why="the waist is not as the plan wants it, which seam-length tells",
                seam=walk.name,
            )
            continue
        yield _eased(walk, waist, second if waist is first else first)


def _eased(walk: Walk, waist: Side, band: Side) -> Observation:
    difference = waist.length - band.length
    deviation = difference if difference < 0 else max(difference - MOST_EASE, 0.0)
    return Observation(
        code="band-longer" if difference < 0 else "too-full",
        deviation=deviation,
        allowed=(0.0, MOST_EASE),
        at=waist.place(waist.length / 2),
        seam=walk.name,
        pieces=(*waist.pieces, *band.pieces),
        edges=tuple(f"{use.piece}.{use.edge}" for use in (*waist.uses, *band.uses)),
        facts={
            "waist": _edges(waist),
            "band": _edges(band),
            "amount": Length(abs(difference)),
            "waist_length": Length(waist.length),
        },
    )


def _edges(side: Side) -> Listed:
    return Listed(tuple(map(Name, side.names)), between=" + ", last=" + ")


WAIST_EASE = Check(
    name="waist-ease",
    family="trousers",
    meaning="the waist, its darts closed, is as long as the band or up to half an inch longer, never shorter",
    why="The waist is eased onto the band, which holds it. A band that is longer than the waist has to be gathered onto it and "
    "stands off.",
    remedy="Measure the waist on the sew line with darts and pleats closed, and the band without its extension. Take the "
    "difference off the band, or out of the darts.",
    source="a quarter to half an inch of garment into the band: clothingpatterns101.com, Sewing ease; the garment is eased onto the "
    "band: New Mexico State University Extension, Guide C-234, Waistbands Made Easy",
    tolerance=1.6,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="band-longer",
            meaning="the band is longer than the waist",
            message="{band} is {amount} longer than {waist}, which is {waist_length} with its darts closed; the plan allows it, but a "
            "band cannot be eased onto a waist.",
            advice="Take the difference off the band, or turn the ease in the plan round.",
        ),
        Code(
            name="too-full",
            meaning="the waist is more than half an inch longer than the band",
            message="{waist}, {waist_length} with its darts closed, is {amount} longer than {band}: more than can be eased in.",
            advice="Deepen the darts, or lengthen the band.",
        ),
    ),
    run=_waist_ease,
)


def _copies(context: Context, piece: str) -> int:
    """How many times a piece goes round the body: both legs are cut, whatever the plan says of one."""
    plan = next((one for one in context.plan.pieces if one.name == piece), None) if context.plan else None
    return 1 if plan is not None and plan.cut == "one" else 2


def _waist_size(context: Context) -> Iterator[Observation | Skip]:
    body = length(context, "waist")
    least, most = waist_ease(context)
    for pair in pairs(context):
        if body is None:
            yield Skip(
                reason="no-size",
                why="the shop sets no waist for this size under [options.trousers]",
                piece=pair.front.piece.name,
            )
            continue
        yield _against_body(context, pair, body, least, most)


def _against_body(context: Context, pair: Pair, body: float, least: float, most: float) -> Observation:
    legs = (pair.front, pair.back)
    waist = sum(_copies(context, leg.piece.name) * leg.waist.length for leg in legs)
    ease = waist - body
    deviation = ease - least if ease < least else ease - most if ease > most else 0.0
    return Observation(
        code="small" if ease < least else "large",
        deviation=deviation,
        allowed=(least, most),
        at=pair.front.waist.point(0.0),
        pieces=tuple(leg.piece.name for leg in legs),
        edges=tuple(f"{leg.piece.name}.{leg.waist.name}" for leg in legs),
        facts={
            "amount": Length(abs(deviation)),
            "waist": Length(waist),
            "body": Length(body),
            "least": Length(least),
            "most": Length(most),
            "pieces": pair.name,
        },
    )


_SIZE_MESSAGE = (
    "The waist of {pieces}, darts closed and the whole way round, is {waist}: {amount} too %s for a body of {body} with {least} "
    "to {most} of ease."
)
WAIST_SIZE = Check(
    name="waist-size",
    family="trousers",
    meaning="the whole waist, its darts closed, fits the body's waist that the shop sets for the size",
    why="A waist alteration that is right on one piece may be lost on the whole: only the sum of all waist edges, less darts, is "
    "what closes round the body.",
    remedy="Measure all waist edges on the sew line with darts and pleats closed, front and back, left and right, and spread what "
    "is wanted over side seams, darts and centre back.",
    source="waist measured with darts and pleats closed: The Daily Sew, How to true a pattern; the ease is the shop's, by default up to "
    "an inch, common practice, no source",
    tolerance=3.2,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="small",
            meaning="the waist is too small for the body",
            message=_SIZE_MESSAGE % "small",
            advice="Give {amount} back: a quarter of it at the waist of each leg piece, in its dart or at its side seam.",
        ),
        Code(
            name="large",
            meaning="the waist is too large for the body",
            message=_SIZE_MESSAGE % "large",
            advice="Take {amount} in: a quarter of it at the waist of each leg piece, in its dart or at its side seam.",
        ),
    ),
    run=_waist_size,
)

CHECKS = (WAIST_EASE, WAIST_SIZE)
