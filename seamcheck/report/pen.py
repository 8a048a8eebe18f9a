"""Numbers, lines and words as SVG writes them. Curves stay the cubic segments that they are.

Three of four numbers and words of a page stand in it more than once: what was written is kept.
"""

from __future__ import annotations

from functools import lru_cache
from html import escape
from typing import TYPE_CHECKING

from seamcheck.exact import steady
from seamcheck.report.layout import in_xml, printable

if TYPE_CHECKING:
    from collections.abc import Iterable

    from seamcheck.geometry.bezier import Points
    from seamcheck.geometry.curve import Curve


@lru_cache(maxsize=4096)
def number(value: float, digits: int = 2) -> str:
    """A coordinate without needless noughts; never "-0"."""
    text = f"{steady(value):.{digits}f}"
    text = text.rstrip("0").rstrip(".") if digits else text
    return "0" if text == "-0" else text


def point(at: complex, digits: int = 2) -> str:
    """A point as x and y."""
    return f"{number(at.real, digits)} {number(at.imag, digits)}"


def path(curve: Curve, *, closed: bool = False, go_on: bool = False, digits: int = 2) -> str:
    """A curve as path data; straight segments as lines. With `go_on` it follows what was drawn before without a move."""
    parts = [] if go_on else [f"M{point(curve.start, digits)}"]
    for start, first, second, end in curve.segments.tolist():
        if _straight(start, first, second, end):
            parts.append(f"L{point(end, digits)}")
        else:
            parts.append(f"C{point(first, digits)} {point(second, digits)} {point(end, digits)}")
    return "".join(parts) + ("Z" if closed else "")


def _straight(start: complex, first: complex, second: complex, end: complex) -> bool:
    """Whether a segment is drawn by a line alike: its handles lie on the chord, in order."""
    chord = end - start
    size = abs(chord)
    if not size:
        return first == start and second == end
    along = [((handle - start) * chord.conjugate() / size) for handle in (first, second)]
    near = all(abs(one.imag) <= 1e-6 * size for one in along)
    return near and 0.0 <= along[0].real <= along[1].real <= size


def polyline(points: Iterable[complex] | Points, *, closed: bool = False) -> str:
    """Straight lines through points as path data."""
    told = [point(complex(one)) for one in points]
    return f"M{told[0]}" + (f"L{' '.join(told[1:])}" if told[1:] else "") + ("Z" if closed else "")


@lru_cache(maxsize=4096)
def words(text: str) -> str:
    """A text as it may stand in XML, also between quotes; what XML cannot hold, or what turns the reading, is replaced."""
    return escape(in_xml(printable(text)))
