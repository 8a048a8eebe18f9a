"""Front and back rise, and the crotch points between them."""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck_trousers.pairs import pairs, without_legs

from seamcheck.plugin import (
    Angle,
    Check,
    Code,
    Context,
    Length,
    LookedAt,
    Name,
    Observation,
    PlainAngle,
    Severity,
    Share,
    Skip,
    Subject,
    Unit,
    phrase,
)

# Back over front. The source gives 1.25 to 1.35; a note is worth it only clearly outside.
LEAST, MOST = 1.15, 1.5
SQUARE = 3.0  # degrees; the bands begin at half of it
MEANT = 15.0  # degrees: a crotch that leaves its inseam at an angle further from square is drawn so
SAME_LEVEL = 12.7  # mm: half an inch; the bands begin at half of a tolerance


def _rise_share(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    yield from without_legs(context)
    for pair in pairs(context):
        yield LookedAt(piece=pair.back.piece.name)
        front, back = pair.front.rise, pair.back.rise
        ratio = back / front
        if LEAST <= ratio <= MOST:
            continue
        yield Observation(
            code="back-short" if ratio < LEAST else "back-long",
            at=pair.back.crotch_point,
            pieces=(pair.front.piece.name, pair.back.piece.name),
            facts={
                "front": Name(pair.front.piece.name),
                "back": Name(pair.back.piece.name),
                "front_rise": Length(front),
                "back_rise": Length(back),
                "share": Share(back / (front + back)),
                "total": Length(front + back),
            },
        )


_SHARE_MESSAGE = (
    "The rise of {back} is {back_rise} and that of {front} {front_rise}: the back has {share} of the {total}."
)
RISE_SHARE = Check(
    name="rise-share",
    family="trousers",
    meaning="the back rise has its share of the whole crotch length, a quarter to a third more than the front",
    why="The seat needs more length than the front. Where one rise was altered alone, the waist tips forward or back and "
    "the crotch seam drags, although every seam still has its length.",
    remedy="Measure the body from the point between the legs to the waist at front and back apart, and give each rise its "
    "own; what was taken at one rise is often wanted at the other.",
    source="back over front rise 1.25 to 1.35: 7pinedesign.com, Crotch width: what causes crotch smiles; told from 1.15 and "
    "1.5 on, which is our own margin",
    codes=(
        Code(
            name="back-short",
            meaning="the back rise has less than 53 % of the crotch length",
            message=_SHARE_MESSAGE,
            advice="Look whether length was folded out of the back rise, or added to the front, and not given back.",
            facts=("back", "back_rise", "front", "front_rise", "share", "total"),
            severity=Severity.NOTE,
        ),
        Code(
            name="back-long",
            meaning="the back rise has more than 60 % of the crotch length",
            message=_SHARE_MESSAGE,
            advice="Look whether length was added to the back rise, or folded out of the front, and is meant.",
            facts=("back", "back_rise", "front", "front_rise", "share", "total"),
            severity=Severity.NOTE,
        ),
    ),
    run=_rise_share,
)


def _crotch_level(context: Context) -> Iterator[Observation | Skip]:
    yield from without_legs(context)
    for pair in pairs(context):
        front, back = (leg.height(leg.crotch_point) for leg in (pair.front, pair.back))
        yield Observation(
            code="lower" if back < front else "higher",
            deviation=back - front,
            allowed=(0.0, 0.0),
            at=pair.back.crotch_point,
            pieces=(pair.front.piece.name, pair.back.piece.name),
            facts={
                "amount": Length(abs(back - front)),
                "front": Name(pair.front.piece.name),
                "back": Name(pair.back.piece.name),
            },
        )


_LEVEL_ADVICE = (
    "If it is not meant, find the piece that was altered, move its crotch point along the inseam to the height of the other "
    "and walk the inseam again."
)
CROTCH_LEVEL = Check(
    name="crotch-level",
    family="trousers",
    meaning="the crotch points of front and back lie at one height above the hem, along the grain",
    why="A crotch point that lies much lower on one piece makes one inseam run at another slant to the grain than the other, "
    "and the leg twists.",
    remedy="Lay both legs with hem and grain on one another and compare the crotch points; correct the one that was altered.",
    source="level within half an inch, two inches are too much: handmadephd.com, Straight side seams and pant balance, part 3",
    tolerance=2 * SAME_LEVEL,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="lower",
            meaning="the crotch point of the back lies lower",
            message="The crotch point of {back} lies {amount} lower above the hem than that of {front}.",
            advice=_LEVEL_ADVICE,
            facts=("back", "amount", "front"),
        ),
        Code(
            name="higher",
            meaning="the crotch point of the back lies higher",
            message="The crotch point of {back} lies {amount} higher above the hem than that of {front}.",
            advice=_LEVEL_ADVICE,
            facts=("back", "amount", "front"),
        ),
    ),
    run=_crotch_level,
)


def _crotch_square(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    yield from without_legs(context)
    for pair in pairs(context):
        legs = [
            (leg, min(leg.piece.corners, key=lambda one, at=leg.crotch_point: abs(one.at - at)))  # type: ignore[misc]
            for leg in (pair.front, pair.back)
        ]
        total = sum(corner.angle for _, corner in legs)
        yield LookedAt(seam=pair.walk.name)
        for leg, corner in legs:
            off = corner.angle - 90.0
            if abs(off) > MEANT:
                why = "the crotch leaves the inseam at {angle}, which was taken for meant"
                yield Skip(reason="meant", why=phrase(why, angle=PlainAngle(corner.angle)), piece=leg.piece.name)
            elif abs(total - 180.0) <= SQUARE / 2:  # else corner-blend tells it
                yield Observation(
                    code="wide" if off > 0 else "narrow",
                    deviation=off,
                    allowed=(0.0, 0.0),
                    at=corner.at,
                    pieces=(leg.piece.name,),
                    subject=Subject.corner(leg.piece.name, corner.name),
                    facts={
                        "corner": Name(f"{leg.piece.name}.{corner.name}"),
                        "angle": Angle(corner.angle),
                        "swing": Length(_SEAT * _sine(abs(off))),
                    },
                )


_SEAT = 344.0  # mm: the lever arm that makes 9 mm of 1.5 degrees


def _sine(degrees: float) -> float:
    from math import radians, sin

    return sin(radians(degrees))


_SQUARE_MESSAGE = (
    "The crotch meets the inseam at {corner} at {angle} instead of 90°, which swings the seat by {swing}."
)
_SQUARE_ADVICE = (
    "Set a square on the inseam at the crotch point, draw the first centimetres of the crotch curve along it and blend; do the "
    "same on the mate, so that the curve runs on."
)
CROTCH_SQUARE = Check(
    name="crotch-square",
    family="trousers",
    meaning="front and back crotch each meet the inseam at a right angle",
    why="Two corners that lean against each other still join smoothly, but the seat swings out of its place by centimetres.",
    remedy="Square the start of both crotch curves off their inseams and blend them from there.",
    source="crotch corners of 90° each, and 1.5° that swing the seat by 9 mm: ithacamaven.substack.com, The Art and Science of the "
    "Details; twice that is our tolerance",
    tolerance=SQUARE,
    unit=Unit.ANGLE,
    codes=(
        Code(
            name="wide",
            meaning="the corner is wider than square",
            message=_SQUARE_MESSAGE,
            advice=_SQUARE_ADVICE,
            facts=("corner", "angle", "swing"),
        ),
        Code(
            name="narrow",
            meaning="the corner is narrower than square",
            message=_SQUARE_MESSAGE,
            advice=_SQUARE_ADVICE,
            facts=("corner", "angle", "swing"),
        ),
    ),
    run=_crotch_square,
)

CHECKS = (RISE_SHARE, CROTCH_LEVEL, CROTCH_SQUARE)
