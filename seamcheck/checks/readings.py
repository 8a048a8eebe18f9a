"""Checks on the reading of the file itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck.amounts import Fact, Length, Name, Unit
from seamcheck.checks.base import NOT_ASKED, Check, Code, Context, LookedAt, Observation, Severity, Skip

if TYPE_CHECKING:
    from seamcheck.pattern.second_reading import Difference

ALIKE = 0.05  # mm: lengths that differ by no more lie apart, if the lines differ at all


def _reading_differs(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    second = context.pattern.second
    if second is None:
        yield Skip(reason=NOT_ASKED, why="no second reading was asked for (--second-reading)")
        return
    if second.failure:
        yield Skip(reason="no-second-reading", why=second.failure)
        return
    yield LookedAt()
    owners = {str(line.place): (piece.name, piece.size) for piece in context.pattern.pieces for line in piece.members}
    first_size = context.pattern.sizes[0] if context.pattern.sizes else context.size
    for one in second.differences:
        name, size = owners.get(str(one.place), ("", first_size))
        if size == context.size:
            yield _observed(one, second.reader, name)


def _observed(one: Difference, reader: str, piece: str) -> Observation:
    facts: dict[str, Fact] = {"reader": reader, "place": str(one.place)}
    pieces = (piece,) if piece else ()
    if one.first is None or one.second is None:
        seen = one.first or one.second
        assert seen is not None
        facts["length"] = Length(seen.length)
        code = "unconfirmed" if one.second is None else "lost"
        return Observation(code=code, at=one.at, pieces=pieces, facts=facts)
    difference = one.first.length - one.second.length
    by_length = abs(difference) > ALIKE
    facts |= {"first": Length(one.first.length), "second": Length(one.second.length), "off": Length(one.off)}
    return Observation(
        code="length" if by_length else "place",
        deviation=difference if by_length else one.off,
        allowed=(0.0, 0.0),
        at=one.at,
        pieces=pieces,
        facts=facts if by_length else {key: facts[key] for key in ("reader", "place", "off")},
        clauses=("apart",) if by_length and one.off > ALIKE else (),
    )


READING_DIFFERS = Check(
    name="reading-differs",
    family="reading",
    meaning="a second, independent reader finds the same lines in the file (only where it is asked for)",
    why="A line that is read too short trues on paper and not at the machine. Two readers that share no code seldom make the same "
    "mistake, so that what they agree on can be relied on.",
    remedy="Measure the line in the drawing program: the reader that tells what the program tells is right. If this one is wrong, "
    "draw the line as a plain path without transforms, or save the file in another version, and report it.",
    source="common practice, no source: two readings that were made apart",
    tolerance=0.1,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="length",
            meaning="the two readers tell other lengths of a line",
            message="Read twice, {place} is {first} long, and {second} long as {reader} reads it.",
            advice="Measure that line in the drawing program before you trust either.",
            clauses={"apart": "They lie up to {off} apart."},
            facts=("place", "first", "second", "reader", "off"),
        ),
        Code(
            name="place",
            meaning="the two readers see a line of one length in two places",
            message="Read twice, {place} lies {off} away from where {reader} reads it.",
            advice="Compare where it lies in the drawing program, against the lines beside it.",
            facts=("place", "off", "reader"),
        ),
        Code(
            name="lost",
            meaning="the second reader finds a line that was not read",
            message="A line of {length} that {reader} finds was not read: {place}.",
            advice="Look for it in the drawing program, near the place that is told; if it belongs to a piece, draw it anew.",
            facts=("reader", "length", "place"),
            severity=Severity.WARNING,
        ),
        Code(
            name="unconfirmed",
            meaning="a line was read that the second reader does not find",
            message="Only one reader finds a line of {length}: {place} is not found by {reader}.",
            advice="Look at that line in the drawing program: it may be hidden, doubled or drawn in a way that programs read differently.",
            facts=("place", "length", "reader"),
            severity=Severity.WARNING,
        ),
    ),
    run=_reading_differs,
)


def _lines_used(context: Context) -> Iterator[Observation | LookedAt]:
    yield LookedAt()
    if context.pattern.sizes and context.size != context.pattern.sizes[0]:
        return  # a line that is in no piece is in no size
    for one in context.pattern.unused:
        if one.weight:
            yield Observation(
                code="piece-size" if one.weight == "piece" else "along",
                at=one.at,
                pieces=(one.piece,) if one.piece in context.pieces else (),
                facts={
                    "place": str(one.place),
                    "length": Length(one.length),
                    "why": one.why,
                    "nearest": Name(one.piece) if one.piece else "nothing",
                    "distance": Length(one.distance),
                },
            )


LINES_USED = Check(
    name="lines-used",
    family="reading",
    meaning="no line of the size of a piece, and no line along an outline, is left out of the pieces",
    why="What was not understood was not checked. A piece that is left out of the report is left out of the cutting, too.",
    remedy="Close the outline and give it a label, or put a word on the line that says what it is for: sew line, cut line, notch, "
    "grain, fold, dart; put dimensions and notes on a layer that is called so.",
    source="common practice, no source: a line of 75 mm or more round 4 square centimetres, and lines within 15 mm of an outline",
    codes=(
        Code(
            name="piece-size",
            meaning="a line that could be a piece is in none",
            message="A line of the size of a piece is in no piece: {place}, {length} long, {distance} away from {nearest}; {why}.",
            advice="If it is a piece, close its outline and write a name inside; else call its layer notes.",
            facts=("place", "length", "distance", "nearest", "why"),
            severity=Severity.WARNING,
        ),
        Code(
            name="along",
            meaning="a line along an outline is in no piece",
            message="A line along the outline of {nearest} is not used: {place}, {length} long, {distance} away from it; {why}.",
            advice="If it is a sew line or a cut line, close it; else label it with what it is for.",
            facts=("place", "length", "distance", "nearest", "why"),
            severity=Severity.WARNING,
        ),
    ),
    run=_lines_used,
)

CHECKS = (READING_DIFFERS, LINES_USED)
