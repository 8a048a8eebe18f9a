"""Checks on how large the drawing is."""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck.amounts import Fact, Length, Unit
from seamcheck.checks.base import OWN, Check, Code, Context, Observation, Severity, Skip, Tolerance

SHARE = 0.01  # of a test square's side: its tolerance
SMALLEST_SIDE, LARGEST_SIDE = 30.0, 3000.0  # mm: a piece between them may be a tent's, a cape's or a pouch's


def _scale(context: Context) -> Iterator[Observation | Skip]:
    if context.pattern.sizes and context.size != context.pattern.sizes[0]:
        return  # one sheet has one scale
    for reading in context.pattern.scale:
        facts: dict[str, Fact] = {
            "drawn": Length(reading.drawn),
            "stated": Length(reading.stated),
            "slip": reading.slip,
            "remedy": reading.remedy,
        }
        if reading.what == "square":
            yield Observation(
                code="square",
                deviation=reading.drawn - reading.stated,
                tolerance=Tolerance(SHARE * reading.stated, Unit.LENGTH, OWN, f"size {context.size}"),
                allowed=(0.0, 0.0),
                at=reading.at,
                facts=facts,
            )
        elif not reading.right and not SMALLEST_SIDE <= reading.drawn <= LARGEST_SIDE:
            largest = max(context.pieces.values(), key=lambda piece: piece.drawn.length, default=None)
            known = bool(reading.slip)
            yield Observation(
                code="unit" if known else "size",
                at=largest.drawn.start if largest else None,
                facts=facts | {"what": "large" if reading.drawn > reading.stated else "small"},
            )


SCALE = Check(
    name="scale",
    family="scale",
    meaning="the test square measures what it says, and the pieces are as large as clothes can be",
    why="At a wrong scale every seam still matches its mate and nothing fits: an inch square drawn 1/16 in short takes 2 1/2 in "
    "off a bust of 40. Inches read as millimetres make a shirt for a doll.",
    remedy="Read the file again in the unit that it was saved in (--units, or --dpi for an SVG in px); if the square itself is "
    "wrong, scale the whole drawing until it measures what it says, and measure it again after printing.",
    source="test squares of 1 to 4 in and what 1/16 in on one of them costs: radpatterns.com, Why that 1 in square is so important; "
    "1 in is 25.4 mm: ISO 80000-3; 1 % of the square, and pieces from 30 mm to 3 m: common practice, no source",
    tolerance=0.5,
    unit=Unit.LENGTH,
    notes=("scale-square", "units-implausible"),
    codes=(
        Code(
            name="square",
            meaning="the test square does not measure what it says",
            message="The test square measures {drawn} and should measure {stated}{slip}.",
            advice="{remedy} All other lengths are off by the same share.",
        ),
        Code(
            name="unit",
            meaning="the pieces have the sizes of a well-known mistake in units",
            message="The largest piece measures {drawn}; pieces of clothes are seldom so {what}{slip}.",
            advice="{remedy} Then measure one edge, to be sure.",
            severity=Severity.WARNING,
        ),
        Code(
            name="size",
            meaning="the pieces are larger or smaller than clothes are",
            message="The largest piece measures {drawn}; pieces of clothes are seldom so {what}.",
            advice="Draw a test square with its side written in it, so that the scale can be measured.",
            severity=Severity.NOTE,
        ),
    ),
    run=_scale,
)

CHECKS = (SCALE,)
