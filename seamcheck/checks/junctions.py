"""Checks where corners come together: does the line run on, does the cloth lie flat."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Fact, Length, Listed, Name, Phrase, PlainAngle, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, Observation, Repetition, Skip
from seamcheck.checks.edges import MEANT
from seamcheck.checks.places import shape
from seamcheck.checks.seam_bands import without_seams
from seamcheck.pattern.subject import Subject

if TYPE_CHECKING:
    from seamcheck.pattern.junctions import Jog, Junction

SQUARE = 0.75  # degrees: how near to square a corner is that nobody touched
SEEN_MEANT = 30.0  # degrees: so far off is meant where a strip runs on there, or where no plan could say so
BESIDE_SQUARE = 7.0  # degrees: twice the tolerance, by which a right angle that is drawn on purpose may be off
CORNER_TOLERANCE = 3.5  # degrees: 1/16 in, one inch from the corner


def _corner_blend(context: Context) -> Iterator[Observation | Skip]:
    yield from without_seams(context)
    for corners, found in context.graph.unjudged:
        yield Skip(reason=found.code, why=found.words, corners=corners)
    for number, junction in enumerate(context.graph.junctions):
        # A seam that was written the wrong way round brings the wrong corners together.
        turned = tuple(Repetition(check="notch-match", codes=("turned",), seam=seam) for seam in junction.seams)
        repeats = (*_mouths(context, junction), *turned)
        why = _why_meant(context, junction)
        if why is not None:
            yield Skip(reason="meant", why=why, corners=junction.names, repeats=repeats)
            continue
        facts = junction_facts(junction)
        clauses = ("line" if junction.line else "flat", *_changed(junction, facts))
        facts["lies"] = SQUARE_ALL_ROUND if junction.boxed else "The cloth cannot lie flat there"
        facts["redraw"] = phrase(SQUARE_ANEW if junction.boxed else RUN_ON, on=facts["on"])
        yield Observation(
            # Too little cloth round a point sticks out, too much leaves a notch in the line across it.
            code="pointed" if junction.angle < junction.expected else "hollow",
            deviation=junction.angle - junction.expected,
            uncertainty=junction.uncertainty,
            allowed=(junction.expected, junction.expected),
            at=junction.at,
            seam=junction.seams[0] if len(junction.seams) == 1 else None,
            pieces=tuple(dict.fromkeys(piece for piece, _ in junction.corners)),
            edges=junction.line,
            facts=facts,
            clauses=clauses,
            subject=Subject("junction", junction.names, number),
            repeats=repeats,
        )
    for jog in context.graph.jogs:
        ends = [Name(f"{piece}.{corner}") for piece, corner in (*jog.first.corners[:1], *jog.second.corners[:1])]
        yield Observation(
            code="jog",
            deviation=jog.amount,
            allowed=(0.0, 0.0),
            at=jog.at,
            seam=jog.seam,
            pieces=tuple(dict.fromkeys(piece for piece, _ in (*jog.first.corners, *jog.second.corners))),
            facts={"amount": Length(abs(jog.amount)), "first": ends[0], "second": ends[1], "seam": Name(jog.seam)},
            subject=_where_joints_meet(context, jog),
            repeats=(Repetition(check="notch-match", codes=("turned",), seam=jog.seam),),
        )


def _where_joints_meet(context: Context, jog: Jog) -> Subject | None:
    """The junction at which two joints should meet; None where it is not judged."""
    joints = {*jog.first.corners, *jog.second.corners}
    for number, junction in enumerate(context.graph.junctions):
        if joints <= {*junction.corners}:
            return Subject("junction", junction.names, number)
    return None


def is_meant(context: Context, junction: Junction) -> bool:
    """Whether the line across a junction turns on purpose."""
    return _why_meant(context, junction) is not None


def _why_meant(context: Context, junction: Junction) -> Phrase | None:
    """Why the line across a junction turns on purpose; None where it is judged.

    Nobody slips by `MEANT`. By less, down to `SEEN_MEANT`, it is meant where what lies there shows it.
    """
    off = abs(junction.angle - junction.expected)
    if off <= SEEN_MEANT:
        return None
    if abs(off - 90.0) <= BESIDE_SQUARE:
        return phrase("the line across them turns by a right angle, as at a box's corner or where a strip runs on")
    if junction.straight and not junction.open:
        return phrase("an edge is sewn round the corner there, as at the side of a cushion")
    strip = _runs_on(junction)
    if strip is not None:
        return phrase(
            "{strip} runs on there past the end of the seam, as an underlap or an extension does", strip=strip
        )
    if context.inferred:
        why = "the line across them turns by more than {angle}, which was taken for meant"
        return phrase(why, angle=PlainAngle(SEEN_MEANT))
    if off >= MEANT:
        return phrase("it is off by {off}, which is no slip: it was taken for meant", off=Angle(off))
    return None


def _runs_on(junction: Junction) -> Name | None:
    """The one corner of a junction that is straight and has an unsewn edge of its piece beyond it."""
    free = {edge.split(".")[0] for edge in junction.line}
    straight = [
        name
        for name, (piece, _), angle in zip(junction.names, junction.corners, junction.angles, strict=True)
        if piece in free and abs(angle - 180.0) <= CORNER_TOLERANCE
    ]
    return Name(straight[0]) if len(straight) == 1 else None


def _mouths(context: Context, junction: Junction) -> tuple[Repetition, ...]:
    """What is said of the closed mouth of a dart or a pleat, where a junction is nothing else."""
    if not junction.dart:
        return ()
    return tuple(
        Repetition(check=check, codes=("pointed", "hollow"), piece=piece.name, at=piece.corner(first).at)
        for piece in context.pieces.values()
        for check, (first, last) in (
            *(("dart-mouth", (dart.corners[0], dart.corners[2])) for dart in piece.darts),
            *(("pleat", pleat.corners) for pleat in piece.pleats),
        )
        if {(piece.name, first), (piece.name, last)} <= set(junction.corners)
    )


def _changed(junction: Junction, facts: dict[str, Fact]) -> tuple[str, ...]:
    """Of two corners the one that was probably changed: it alone is out of square, by as much as the line across is off."""
    off = junction.angle - junction.expected
    if len(junction.corners) != 2 or junction.straight:
        return ()
    for k in (0, 1):
        changed, square = junction.angles[k], junction.angles[1 - k]
        if abs(square - 90.0) <= SQUARE < abs(changed - 90.0) and abs(changed - 90.0 - off) <= SQUARE:
            facts |= {
                "changed": Name(junction.names[k]),
                "its": Angle(changed),
                "square": Name(junction.names[1 - k]),
                "on": phrase(", on {piece} alone", piece=Name(junction.corners[k][0])),
            }
            return ("changed",)
    return ()


def junction_facts(junction: Junction) -> dict[str, Fact]:
    """What a message says of a junction."""
    parts = [
        phrase("{name} {angle}", name=Name(name), angle=Angle(angle))
        for name, angle in zip(junction.names, junction.angles, strict=True)
    ]
    if junction.straight:
        parts.append(phrase("a straight {angle}", angle=Angle(180.0 * junction.straight)))
    off = abs(junction.angle - junction.expected)
    return {
        "where": where_they_meet(junction.names),
        "angles": Listed(tuple(parts), between=" + ", last=" + "),
        "sum": Angle(junction.angle),
        "expected": Angle(junction.expected),
        "off": Angle(off),
        "line": Listed(tuple(map(Name, junction.line))) if junction.line else "the line",
        "shape": shape(junction.expected - junction.angle),
        "inch": Length(25.4 * _tangent(off)),
        "half": " on the drawn half" if junction.halved else "",
        "on": "",
    }


def where_they_meet(corners: Sequence[str]) -> Phrase:
    """The place of corners that come together, at the head of a sentence; one alone lies on a line that is sewn to it."""
    if len(corners) == 1:
        return phrase("Round {corner}", corner=Name(corners[0]))
    return phrase("Where {corners} come together", corners=Listed(tuple(map(Name, corners))))


def _tangent(degrees: float) -> float:
    from math import radians, tan

    return tan(radians(min(degrees, 80.0)))


_CLAUSES = {
    "line": "Joined along the seam there is {shape} in {line} instead of a line that runs on: it is off by {inch} one inch from the corner.",
    "flat": "{lies}.",
    "changed": "Likely {changed} was changed: it has {its}, while {square} is still square.",
}
_FACTS = (
    "where",
    "sum",
    "expected",
    "half",
    "off",
    "redraw",
    "line",
    "shape",
    "inch",
    "lies",
    "changed",
    "its",
    "square",
)
_ADVICE = "Lay the pieces together along the seam at this corner, sew line on sew line, and {redraw}."
RUN_ON = (
    "redraw the line across it so that it runs on smoothly{on}; keep the corner itself where it is and blend within the next few "
    "centimetres"
)
SQUARE_ALL_ROUND = "Three right angles make the corner of a box"
SQUARE_ANEW = "draw the corner that is not square anew with a set square, so that both its edges keep their length"

CORNER_BLEND = Check(
    name="corner-blend",
    family="junctions",
    meaning="the angles round every junction add up, so that the line across a seam runs on without a bump or a dip",
    why="Where a seam ends, the waist, hem, crotch or armhole line crosses it. If the corners do not add up, the line shows a "
    "peak or a dip as soon as the seam is sewn, and a waistband or a hem cannot lie flat on it.",
    remedy="Lay the two pieces together along the seam, as they will be sewn, and draw the line across the seam as one smooth "
    "line. Fill a dip and round a bump; change the piece that was altered, and leave the corner itself where the seams "
    "matched. If a point is meant, as at a V neck, say so in the plan under [[shaped]]; what is off by 60° or more is taken for meant.",
    source="no point and no scoop where pieces join: Conover, A Complete Course in Dressmaking, vol. 9 (1922), p. 22; "
    "crotch corners of 90° each: The Art and Science of the Details (ithacamaven); tolerance by geometry: 3.5° is 1/16 in, "
    "one inch from the corner",
    tolerance=CORNER_TOLERANCE,
    unit=Unit.ANGLE,
    repeats=("dart-mouth/pointed", "dart-mouth/hollow", "pleat/pointed", "pleat/hollow", "notch-match/turned"),
    codes=(
        Code(
            name="pointed",
            meaning="the angles add to less than they should: the line peaks",
            message="{where} the angles add to {sum} instead of {expected}{half}: {off} too little.",
            advice=_ADVICE,
            clauses=_CLAUSES,
            facts=_FACTS,
        ),
        Code(
            name="hollow",
            meaning="the angles add to more than they should: the line dips",
            message="{where} the angles add to {sum} instead of {expected}{half}: {off} too much.",
            advice=_ADVICE,
            clauses=_CLAUSES,
            facts=_FACTS,
        ),
        Code(
            name="jog",
            meaning="two seams that should meet in one point miss each other",
            message="In seam {seam}, {first} and {second} should come to one point and miss each other by {amount}.",
            advice="Move the joint of the altered side along the seam until both come together; the whole length stays.",
            facts=("seam", "first", "second", "amount"),
            tolerance=1.6,
            unit=Unit.LENGTH,
        ),
    ),
    run=_corner_blend,
)

CHECKS = (CORNER_BLEND,)
