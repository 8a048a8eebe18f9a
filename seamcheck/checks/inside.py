"""Checks on what lies in a piece: drill holes and inside lines."""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck.amounts import Fact, Length, Name, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, Observation, Skip
from seamcheck.pattern.subject import Subject


def _marks_inside(context: Context) -> Iterator[Observation | Skip]:
    import numpy as np

    from seamcheck.geometry.distances import distances, farthest_outside
    from seamcheck.pattern.drawing import Role

    looked = False
    for piece in context.pieces.values():
        for number, hole in enumerate(piece.drill_holes):
            looked = True
            inside = piece.drawn.contains(hole)
            off = 0.0 if inside else float(distances(piece.drawn, np.array([hole]))[0])
            yield Observation(
                code="hole",
                deviation=off,
                allowed=(0.0, 0.0),
                at=hole,
                subject=Subject.drawn("hole", piece.name, number),
                pieces=(piece.name,),
                facts={"piece": Name(piece.name), "amount": Length(off)},
            )
        for number, line in enumerate(piece.inside):
            if line.role in (None, Role.TEST_SQUARE):
                continue  # nobody said that it belongs to this piece: a dimension, a strap laid across, a square of the sheet
            looked = True
            off, station = farthest_outside(line.curve, piece.drawn)
            yield Observation(
                code="line",
                deviation=off,
                allowed=(0.0, 0.0),
                at=line.curve.point(station),
                subject=Subject.drawn("line", piece.name, number),
                pieces=(piece.name,),
                facts={
                    "piece": Name(piece.name),
                    "amount": Length(off),
                    "line": _called(line.names, line.role.value),
                },
            )
    if not looked:
        yield Skip(reason="no-marks", why="no piece has drill holes or lines that are marked as inside lines")


def _called(names: tuple[str, ...], role: str) -> Fact:
    if names:
        return phrase('the {role} "{name}"', role=role, name=Name(names[0]))
    return f"an {role}" if role[0] in "aeiou" else f"a {role}"


MARKS_INSIDE = Check(
    name="marks-inside",
    family="shapes",
    meaning="drill holes and inside lines lie inside their piece",
    why="What lies outside the piece is not on the cloth when it is cut: the pocket, the dart tip or the buttonhole then has no "
    "mark. After an alteration it means that the outline moved and the marks did not.",
    remedy="Measure the mark from two edges that were not altered, as it stood before, and put it there again. A line that only "
    "overshoots the edge is shortened to it.",
    source="everything beyond an alteration moves with it, pocket lines too: geometry of the slash; the tolerance is common "
    "practice, no source",
    tolerance=1.6,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="hole",
            meaning="a drill hole lies outside its piece",
            message="{piece}: a drill hole lies {amount} outside the piece.",
            advice="Measure its place again from two edges that were not altered, or delete it.",
            facts=("piece", "amount"),
        ),
        Code(
            name="line",
            meaning="an inside line leaves its piece",
            message="{piece}: {line} runs {amount} beyond the edge of the piece.",
            advice="Shorten it to the edge, or move it with the part that it belongs to.",
            facts=("piece", "line", "amount"),
        ),
    ),
    run=_marks_inside,
)

CHECKS = (MARKS_INSIDE,)
