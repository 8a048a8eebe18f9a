"""Words and amounts as the report's page writes them, as parts that its templates put in.

Every amount stands there in millimetres and in inches; the page shows both, or those that its reader chose.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from seamcheck import amounts
from seamcheck.amounts import Fact, Length, Spoken
from seamcheck.exact import steady
from seamcheck.report.telling import MOST_NAMES


class Both(NamedTuple):
    """An amount in both units; one that is told in millimetres `alone` has no inches until its reader chooses them."""

    mm: str
    inches: str
    alone: bool = False


Part = str | Both


def parts(said: Fact) -> list[Part]:
    """What is said, each of its lengths in both units, reckoned from the length itself."""
    return [_part(one) for one in amounts.spoken(said)]


def _part(part: Spoken) -> Part:
    told = amounts.fact(part)
    if not isinstance(part, Length):
        return told
    if told == amounts.length(part):
        return Both(amounts.millimetres(part), amounts.inches(part))
    return Both(told, amounts.inches(part), alone=True)


def length(mm: float) -> list[Part]:
    """A length as it is said in a sentence."""
    return [Both(amounts.millimetres(mm), amounts.inches(mm))]


def signed(mm: float) -> list[Part]:
    """A difference with its sign; what rounds to nothing is 0."""
    if abs(mm) < 0.005:
        return ["0"]
    sign = "+" if mm > 0 else "\N{MINUS SIGN}"
    inches = amounts.inches(mm)
    return [Both(f"{sign}{amounts.millimetres(mm)}", inches if inches.startswith("under") else f"{sign}{inches}")]


def spread(values: Sequence[float]) -> list[Part]:
    """Lengths from the least to the most, or the one that all have."""
    least, most = min(values), max(values)
    if amounts.digits(least) == amounts.digits(most):
        return length(least)
    inches = list(dict.fromkeys((amounts.inches(least), amounts.inches(most))))
    return [Both(f"{amounts.digits(least)} to {amounts.millimetres(most)}", " to ".join(inches))]


def differences(values: Sequence[float]) -> list[Part]:
    """Differences from the least to the most, or the one that all have."""
    low, high = min(values), max(values)
    return signed(low) if high - low < 0.005 else [*signed(low), " to ", *signed(high)]


def allowed(ends: tuple[float, float]) -> list[Part]:
    """What a difference may be."""
    low, high = ends
    if low == high == 0.0:
        return ["none"]
    return signed(low) if low == high else [*signed(low), " to ", *signed(high)]


def place(at: complex) -> list[Part]:
    """A place in the drawing, in the file's own axes."""
    x, y = (round(steady(value), 1) + 0.0 for value in (at.real, at.imag))
    inches = [round(steady(value / amounts.MM_PER_INCH), 2) + 0.0 for value in (at.real, at.imag)]
    return [Both(f"x {x:.1f}, y {y:.1f} mm", f"x {inches[0]:.2f}, y {inches[1]:.2f} in", alone=True)]


def named(names: Sequence[str]) -> str:
    """Names in a row, the first of them where there are many."""
    return ", ".join(names[:MOST_NAMES]) + (" ..." if len(names) > MOST_NAMES else "")
