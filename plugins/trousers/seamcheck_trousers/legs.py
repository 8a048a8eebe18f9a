"""The leg below the crotch: crease, halves, knee, ease of the inseam, widths."""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck_trousers.options import GIRTHS, length, straight_side
from seamcheck_trousers.pairs import Leg, Pair, pairs, without_legs

from seamcheck.plugin import (
    Check,
    Code,
    Context,
    Length,
    LookedAt,
    Name,
    Observation,
    Severity,
    Skip,
    Unit,
    phrase,
)

CENTRE = 3.0  # mm
KNEE_LEVEL = 6.4  # mm: 1/4 in
MOST_EASE = 12.7  # mm: 1/2 in of front inseam stretched onto the back
GIRTH = 6.35  # mm: 1/4 in
HIP = 0.75  # of a leg's height, up to the waist: a hip notch lies above that


def _legs(context: Context) -> Iterator[Leg]:
    for pair in pairs(context):
        yield pair.front
        yield pair.back


_STRAIGHT = "the shop's trousers have their grain along a straight outseam, so there is no crease on it"
_NO_KNEE = "it has no knee notches on inseam and outseam at one height"


def _crease_centre(context: Context) -> Iterator[Observation | Skip]:
    if straight_side(context):
        yield Skip(reason="straight-side", why=_STRAIGHT)
        return
    yield from without_legs(context)
    for leg in _legs(context):
        hem = _off_centre(leg, leg.hem.point(0.0), leg.hem.point(leg.hem.length))
        knee = leg.knee()
        if knee is None:
            yield Skip(reason="no-knee", why=_NO_KNEE, piece=leg.piece.name)
            yield _centred(leg, "hem-off", *hem)
            continue
        at_knee = _off_centre(leg, knee[0].at, knee[1].at)
        if abs(at_knee[0] - hem[0]) <= CENTRE / 2:  # the arrow alone lies beside the crease
            yield _centred(leg, "arrow-off", *max(at_knee, hem, key=lambda off: abs(off[0])))
        else:
            yield _centred(leg, "knee-off", *at_knee)
            yield _centred(leg, "hem-off", *hem)


def _off_centre(leg: Leg, inner: complex, outer: complex) -> tuple[float, complex]:
    """How far the middle between two points lies from the grain arrow, towards the outer one; and the middle."""
    grain = max(leg.piece.grainlines, key=lambda one: one.length)
    middle = (inner + outer) / 2
    off = middle - grain.points[0]
    across = off - leg.up * (off * leg.up.conjugate()).real
    return (across * ((outer - inner) / abs(outer - inner)).conjugate()).real, middle


def _centred(leg: Leg, code: str, amount: float, middle: complex) -> Observation:
    return Observation(
        code=code,
        deviation=amount,
        allowed=(0.0, 0.0),
        at=middle,
        pieces=(leg.piece.name,),
        edges=(f"{leg.piece.name}.{leg.inseam.name}", f"{leg.piece.name}.{leg.outseam.name}"),
        facts={
            "piece": Name(leg.piece.name),
            "amount": Length(abs(amount)),
            "wide": "outseam" if amount > 0 else "inseam",
            "both": Length(2 * abs(amount)),
        },
    )


def _centre_code(where: str) -> Code:
    return Code(
        name=f"{where}-off",
        meaning=f"the middle of the {where} does not lie on the crease",
        message=f"{{piece}}: the middle of the {where} lies {{amount}} from the grain arrow, towards the {{wide}}: that half "
        "is {both} wider.",
        advice="Draw a new grain arrow through the middles of knee and hem if the leg is right; if the arrow is right, "
        "take the difference from the wider half and give it to the other.",
        facts=("piece", "amount", "wide", "both"),
    )


CREASE_CENTRE = Check(
    name="crease-centre",
    family="trousers",
    meaning="the crease, which is the grain, runs through the middle of knee and hem",
    why="A leg that is not cut evenly to both sides of the straight grain twists on the body and cannot be creased.",
    remedy="Fold the leg from the knee down, inseam on outseam: the fold must lie parallel to the grain arrow. Draw a new arrow "
    "through the middle of the knee, parallel to the old one, and make both halves of the hem equal.",
    source="from the knee down symmetrical about the grain: HGTV, Balancing the leg around the grainline; crease in the middle of "
    "knee and hem: patternstudio101.com, How to check the balance of pant patterns; 3 mm is common practice, no source",
    tolerance=CENTRE,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="arrow-off",
            meaning="the grain arrow lies beside the middles of knee and hem alike",
            message="{piece}: the grain arrow lies {amount} beside the middles of knee and hem, which are nearer the {wide}.",
            advice="Draw a new arrow through the middles of knee and hem and cross the old one out.",
            facts=("piece", "amount", "wide"),
        ),
        _centre_code("knee"),
        _centre_code("hem"),
    ),
    run=_crease_centre,
)


def _leg_halves(context: Context) -> Iterator[Observation | Skip]:
    yield from without_legs(context)
    for leg in _legs(context):
        knee = leg.knee()
        if knee is None:
            yield Skip(reason="no-knee", why=_NO_KNEE, piece=leg.piece.name)
            continue
        inner, outer = leg.below(leg.inseam, knee[0]), leg.below(leg.outseam, knee[1])
        yield Observation(
            code="uneven",
            deviation=inner - outer,
            allowed=(0.0, 0.0),
            at=knee[0].at,
            pieces=(leg.piece.name,),
            edges=(f"{leg.piece.name}.{leg.inseam.name}", f"{leg.piece.name}.{leg.outseam.name}"),
            facts={
                "piece": Name(leg.piece.name),
                "amount": Length(abs(inner - outer)),
                "long": "inseam" if inner > outer else "outseam",
                "short": "outseam" if inner > outer else "inseam",
            },
        )


LEG_HALVES = Check(
    name="leg-halves",
    family="trousers",
    meaning="below the knee inseam and outseam of a leg are equally long, as the two halves of one shape are",
    why="From the knee down a leg is one shape folded on its crease. A tuck or dart that was taken at one seam only "
    "swings the grain of all that lies above it.",
    remedy="Below the knee change both seams alike. Take the tuck across the whole leg, or give it back.",
    source="below the knee both seams alike: jeanshub.com, How to make jeans smaller; a half-inch dart at the inseam that moved "
    "the grain: sdbevpantsed.wordpress.com, Happy Pant, Knee Dart; 3 mm is common practice, no source",
    tolerance=CENTRE,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="uneven",
            meaning="one seam is longer below the knee than the other",
            message="{piece}: below the knee the {long} is {amount} longer than the {short}.",
            advice="Compare with the other leg piece which of the two was altered, and square the hem to the crease again.",
            facts=("piece", "long", "amount", "short"),
        ),
    ),
    run=_leg_halves,
)


def _knee_notches(context: Context) -> Iterator[Observation | Skip]:
    yield from without_legs(context)
    for leg in _legs(context):
        name = leg.piece.name
        edges = (f"{name}.{leg.inseam.name}", f"{name}.{leg.outseam.name}")
        knee = leg.knee()
        if knee is None:
            yield Observation(
                code="no-knee", at=leg.hem_middle, pieces=(name,), edges=edges, facts={"piece": Name(name)}
            )
        else:
            inner, outer = (leg.height(notch.at) for notch in knee)
            yield Observation(
                code="slanted",
                deviation=inner - outer,
                allowed=(0.0, 0.0),
                at=knee[0].at,
                pieces=(name,),
                edges=edges,
                facts={
                    "piece": Name(name),
                    "amount": Length(abs(inner - outer)),
                    "high": "inseam" if inner > outer else "outseam",
                },
            )
        top = leg.height(leg.centre_waist)
        if not any(leg.height(notch.at) >= HIP * top for notch in leg.outseam.notches):
            yield Observation(
                code="no-hip",
                at=leg.outseam.point(leg.outseam.length / 2),
                pieces=(name,),
                edges=edges[1:],
                facts={"piece": Name(name), "edge": Name(edges[1])},
            )


KNEE_NOTCHES = Check(
    name="knee-notches",
    family="trousers",
    meaning="every leg has knee notches on inseam and outseam at one height, and a hip notch on its outseam",
    why="The long seams of a leg are off the grain and stretch. Without a notch at the knee a quarter of an inch goes unnoticed, "
    "and the knee of one piece comes to lie above that of the other.",
    remedy="Square a line across the crease at the knee and notch both seams where it meets them, on front and back at the "
    "same distance from the hem; notch the hip on both outseams.",
    source="at least one notch in the middle of a long seam: ithacamaven.substack.com, Notches and seam lines; hip and knee are "
    "common practice, no source",
    tolerance=KNEE_LEVEL,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="no-knee",
            meaning="inseam and outseam have no notches at one height near the knee",
            message="{piece} has no knee notches on inseam and outseam at one height.",
            advice="Square a line across the crease at the knee and notch both seams where it meets them.",
            facts=("piece",),
            severity=Severity.NOTE,
        ),
        Code(
            name="slanted",
            meaning="one knee notch lies higher than the other",
            message="{piece}: the knee notch of the {high} lies {amount} higher than the other.",
            advice="Square the knee line to the crease and move the notch that does not lie on it, on its mate as well.",
            facts=("piece", "high", "amount"),
        ),
        Code(
            name="no-hip",
            meaning="the outseam has no notch at the hip",
            message="{edge} has no notch near the hip.",
            advice="Notch front and back outseam at the same distance from the hem, where the hip is fullest.",
            facts=("edge",),
            severity=Severity.NOTE,
        ),
    ),
    run=_knee_notches,
)


def _inseam_ease(context: Context) -> Iterator[Observation | Skip]:
    yield from without_legs(context)
    for pair in pairs(context):
        if abs(pair.walk.deviation) > 0.8:
            yield Skip(
                reason="not-true",
                why="the inseam is not as the plan wants it, which seam-length tells",
                seam=pair.walk.name,
            )
            continue
        front_knee, back_knee = pair.front.knee(), pair.back.knee()
        if front_knee is None or back_knee is None:
            yield Skip(
                reason="no-knee",
                why="a leg has no knee notches on inseam and outseam at one height",
                seam=pair.walk.name,
            )
            continue
        front_below = pair.front.below(pair.front.inseam, front_knee[0])
        back_below = pair.back.below(pair.back.inseam, back_knee[0])
        above = pair.front.inseam.length - front_below - (pair.back.inseam.length - back_below)
        yield _ease(pair, "below-knee", front_below - back_below, (0.0, 0.0))
        code = "back-longer" if above < 0 else "too-much"
        yield _ease(pair, code, above, (0.0, MOST_EASE))


def _ease(pair: Pair, code: str, difference: float, allowed: tuple[float, float]) -> Observation:
    low, high = allowed
    deviation = difference - low if difference < low else difference - high if difference > high else 0.0
    front, back = (Name(f"{leg.piece.name}.{leg.inseam.name}") for leg in (pair.front, pair.back))
    return Observation(
        code=code,
        deviation=deviation,
        allowed=allowed,
        at=pair.back.crotch_point,
        seam=pair.walk.name,
        pieces=(pair.front.piece.name, pair.back.piece.name),
        edges=(front, back),
        facts={
            "front": front,
            "back": back,
            "amount": Length(abs(difference)),
            "long": front if difference > 0 else back,
            "short": back if difference > 0 else front,
        },
    )


INSEAM_EASE = Check(
    name="inseam-ease",
    family="trousers",
    meaning="the back inseam is a little shorter than the front above the knee, or equal, and equal below it",
    why="In woven trousers the back inseam may be stretched onto the front above the knee, which lifts the seat. The other way "
    "round, or below the knee, the leg twists.",
    remedy="Shorten the back inseam at the crotch point, or lengthen the front; knits want both equal. Below the knee make both "
    "equal by moving the knee notch or the hem.",
    source="back a little shorter above the knee in woven trousers: sergerpepper.com, How to ease inseam (any seam); equal "
    "from knee to hem: A Tailor Made It, November 2024; half an inch at most is from memory",
    tolerance=1.6,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="back-longer",
            meaning="above the knee the back inseam is longer than the front",
            message="Above the knee {back} is {amount} longer than {front}; the plan allows it, but it cannot be eased that way.",
            advice="Take the difference off {back} at the crotch point, or turn the ease in the plan round.",
            facts=("back", "amount", "front"),
        ),
        Code(
            name="too-much",
            meaning="above the knee the back inseam is more than half an inch shorter",
            message="Above the knee {back} is {amount} shorter than {front}, more than can be stretched in.",
            advice="Give back what is beyond 12.7 mm (1/2 in), at the crotch point of {back}.",
            facts=("back", "amount", "front"),
        ),
        Code(
            name="below-knee",
            meaning="the inseams differ below the knee",
            message="Below the knee {long} is {amount} longer than {short}; all ease of an inseam lies above it.",
            advice="Move the knee notch of the altered piece, or correct its length at the hem.",
            facts=("long", "amount", "short"),
        ),
    ),
    run=_inseam_ease,
)


def _heights(pair: Pair) -> Iterator[tuple[str, float, float]]:
    """Thigh, knee and hem with the height of each on the front and on the back."""
    thigh = [leg.height(leg.crotch_point) - 0.5 for leg in (pair.front, pair.back)]
    yield "thigh", thigh[0], thigh[1]
    front, back = pair.front.knee(), pair.back.knee()
    if front is not None and back is not None:
        yield "knee", pair.front.height(front[0].at), pair.back.height(back[0].at)
    yield "hem", 0.5, 0.5  # just beside the corners, which belong to two edges


def _leg_girth(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    wanted = {place: length(context, place) for place in GIRTHS}
    yield from without_legs(context)
    for pair in pairs(context):
        for place, front_height, back_height in _heights(pair):
            front, back = pair.front.width(front_height), pair.back.width(back_height)
            if front is None or back is None:
                yield Skip(
                    reason="not-bounded",
                    why=phrase("the {place} is not bounded by inseam and outseam at its height", place=place),
                    piece=pair.back.piece.name,
                )
                continue
            yield LookedAt(seam=pair.walk.name)
            names = (pair.front.piece.name, pair.back.piece.name)
            facts: dict[str, Length | Name | str] = {"front": Name(names[0]), "back": Name(names[1]), "place": place}
            at = pair.front.hem_middle + pair.front.up * front_height
            if front > back + 0.8:
                yield Observation(
                    code="front-wider",
                    at=at,
                    pieces=names,
                    facts={**facts, "amount": Length(front - back)},
                )
            goal = wanted[place]
            if goal is not None:
                off = front + back - goal
                yield Observation(
                    code="narrow" if off < 0 else "wide",
                    deviation=off,
                    allowed=(0.0, 0.0),
                    at=at,
                    pieces=names,
                    facts={**facts, "amount": Length(abs(off)), "girth": Length(front + back), "goal": Length(goal)},
                )


_GIRTH_MESSAGE = (
    "The {place} of {front} and {back} together measures {girth}, {amount} %s than the {goal} that the shop wants."
)
LEG_GIRTH = Check(
    name="leg-girth",
    family="trousers",
    meaning="thigh, knee and hem have the girths that the shop sets, and the back is nowhere narrower than the front",
    why="The back leg goes round more than the front, about an inch in all at knee and hem. Where the front is the wider one, both "
    "seams lie too far back.",
    remedy="Measure from the crease to each seam: a quarter of the girth, half an inch less on the front and half an inch more on "
    "the back for both sides together. Change inseam and outseam by the same amount.",
    source="fronts an inch narrower than backs: Threads magazine, Q&A on tapering pants (K. Howland, 2008); a quarter inch at thigh, "
    "knee and hem: casualindustrees.com, Pant size chart",
    tolerance=GIRTH,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="front-wider",
            meaning="the front is wider than the back",
            message="At the {place} {front} is {amount} wider than {back}.",
            advice="If it is not the style, move width from the front to the back, the same at inseam and outseam.",
            facts=("place", "front", "amount", "back"),
            severity=Severity.NOTE,
        ),
        Code(
            name="narrow",
            meaning="a girth is less than the shop wants",
            message=_GIRTH_MESSAGE % "less",
            advice="Add a quarter of the amount at inseam and outseam of both pieces.",
            facts=("place", "front", "back", "girth", "amount", "goal"),
        ),
        Code(
            name="wide",
            meaning="a girth is more than the shop wants",
            message=_GIRTH_MESSAGE % "more",
            advice="Take a quarter of the amount off at inseam and outseam of both pieces.",
            facts=("place", "front", "back", "girth", "amount", "goal"),
        ),
    ),
    run=_leg_girth,
)

CHECKS = (CREASE_CENTRE, LEG_HALVES, KNEE_NOTCHES, INSEAM_EASE, LEG_GIRTH)
