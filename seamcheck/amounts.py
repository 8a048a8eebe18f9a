"""Amounts and their units, and how they are said to a person: millimetres and the nearest 1/16 inch; degrees."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum
from math import gcd
from string import Formatter


class Unit(StrEnum):
    """What a check measures in."""

    LENGTH = "mm"
    ANGLE = "degrees"


class Length(float):
    """A length in mm, said to a person as mm and the nearest 1/16 inch."""


class Angle(float):
    """An angle in degrees."""


Fact = Length | Angle | str | int

# Sheets in mm (ISO 216 and the North American sizes) that drawings are set up on.
SHEETS = {
    "A0": (841.0, 1189.0),
    "A1": (594.0, 841.0),
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
}


UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4}  # mm in one of each


MM_PER_INCH = 25.4
EXACT = (
    1e-6  # mm: lengths are measured no finer, so that what lies this near to a half is said as one thing everywhere
)


def inches(mm: float) -> str:
    """The nearest 1/16 inch: "1/4 in", "1 3/16 in", "under 1/16 in" for what rounds to nothing but is not nothing."""
    sixteenths = round((abs(mm) + EXACT) / MM_PER_INCH * 16)
    if sixteenths == 0:
        return "under 1/16 in" if mm else "0 in"
    whole, rest = divmod(sixteenths, 16)
    common = gcd(rest, 16)
    parts = [str(whole)] if whole else []
    if rest:
        parts.append(f"{rest // common}/{16 // common}")
    return " ".join(parts) + " in"


def millimetres(mm: float) -> str:
    """Millimetres to one decimal, two below 1 mm, whole from 100 mm on."""
    size = abs(mm) + EXACT
    if round(size, 1) >= 100:
        return f"{size:.0f} mm"
    return f"{size:.2f} mm" if round(size, 2) < 1 else f"{size:.1f} mm"


def length(mm: float) -> str:
    """An amount as both: "6.4 mm (1/4 in)". The sign is left to the sentence."""
    return f"{millimetres(mm)} ({inches(mm)})"


def angle(degrees: float) -> str:
    """An angle to one decimal: "1.9°"."""
    return f"{degrees:.1f}°"


def fact(value: Fact) -> str:
    """One fact as it stands in a sentence."""
    if isinstance(value, Length):
        return length(value)
    if isinstance(value, Angle):
        return angle(value)
    return str(value)


def sentence(template: str, facts: Mapping[str, Fact]) -> str:
    """A template filled in with facts; ValueError when it speaks of one that is not given."""
    try:
        return template.format_map({name: fact(value) for name, value in facts.items()})
    except KeyError as missing:
        raise ValueError(f'"{template}" speaks of {missing}, which is not among the facts') from None


def facts_in(template: str) -> tuple[str, ...]:
    """What stands in the braces of a template, in order: names of facts, where it is as it should be."""
    try:
        fields = [
            f"{field}{f'!{conversion}' if conversion else ''}{f':{spec}' if spec else ''}"
            for _, field, spec, conversion in Formatter().parse(template)
            if field is not None
        ]
    except ValueError:  # a brace that opens and does not close, or the other way round
        fields = [""]
    return tuple(dict.fromkeys(fields))


def listed(names: Sequence[str]) -> str:
    """Names as a person lists them: "a", "a and b", "a, b and c"."""
    if len(names) < 2:
        return "".join(names)
    return ", ".join(names[:-1]) + " and " + names[-1]


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun: "1 seam", "3 seams", "2 pieces"."""
    return f"{number} {one if number == 1 else many or one + 's'}"
