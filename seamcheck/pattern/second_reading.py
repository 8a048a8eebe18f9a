"""What a second, independent reader found of the lines of a drawing, beside what the first found.

figures      what is compared of a line: its length, its box and its ends
difference   a line of which the two readers tell other figures, or that only one of them finds
explained    lines that the second reader is known to get wrong, or does not read, with the reason
"""

from __future__ import annotations

from dataclasses import dataclass

from seamcheck.places import Place


@dataclass(frozen=True, slots=True)
class Figures:
    """A line by its length, its box (least and greatest x and y, each in turn) and its ends, all in mm; a closed line has none."""

    length: float
    bounds: tuple[float, float, float, float]
    ends: tuple[complex, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A line that is not read alike; the figures of a reader that does not find it are None.

    `off` is how far the boxes or the ends lie apart, in mm; `place` is that of the first reader, or words of the second.
    """

    first: Figures | None
    second: Figures | None
    off: float
    at: complex
    place: Place
    block: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """How many lines differ, or were not compared, for a reason that is known, and where the first few stand."""

    reason: str
    count: int
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondReading:
    """How the second reader, a library by its name and version, agrees: `agreed` counts lines.

    `failure` tells, as the end of a sentence, why there was no second reading; "" where there was.
    """

    reader: str
    version: str = ""
    agreed: int = 0
    differences: tuple[Difference, ...] = ()
    explained: tuple[Explained, ...] = ()
    failure: str = ""
