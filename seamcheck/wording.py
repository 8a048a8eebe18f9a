"""How amounts are said to a person: millimetres and the nearest 1/16 inch; degrees."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import gcd

from seamcheck.checks.base import Angle, Fact, Length
from seamcheck.exact import EXACT, steady

MM_PER_INCH = 25.4


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
    return f"{steady(degrees):.1f}°"


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


def listed(names: Sequence[str]) -> str:
    """Names as a person lists them: "a", "a and b", "a, b and c"."""
    if len(names) < 2:
        return "".join(names)
    return ", ".join(names[:-1]) + " and " + names[-1]
