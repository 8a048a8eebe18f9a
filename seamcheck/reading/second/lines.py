"""Lines as the second reader gives them, measured by formulas of their own: nothing here is used by the first reading.

A segment is told by a function from a parameter in 0 to 1 to its point. Its length is that of ever finer chords, led on to their
limit; its box that of the same points, with a parabola through the outermost three.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from seamcheck.pattern.second_reading import Figures

Points = npt.NDArray[np.complex128]
Segment = Callable[[npt.NDArray[np.float64]], Points]

CLOSES = 0.05  # mm: ends this near are one
_COARSE, _FINEST = 64, 8192  # steps to a segment
_STILL = 1e-4  # mm: how little the length of a segment may change by halving its steps


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondLine:
    """A line that a library found. `bucket` is what tells the lines apart that may be the same: an element, a block.

    `kind` is what the library calls it, `layer` its layer; `reasons` are why it is known to be read otherwise.
    """

    figures: Figures
    bucket: str
    kind: str
    layer: str = ""
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """All that a library found, and what the first reader's lines are called by it.

    `buckets` holds the bucket of every line of the drawing, in order; None for one that the library cannot have, with the reason
    in `excused`, by the number of the line. `reasons` are why the lines of a bucket are known to be read otherwise.
    """

    lines: tuple[SecondLine, ...]
    buckets: tuple[str | None, ...]
    excused: dict[int, str] = field(default_factory=dict)
    reasons: dict[str, tuple[str, ...]] = field(default_factory=dict)


def measured(segments: Sequence[Segment | tuple[complex, complex]], *, closed: bool = False) -> Figures:
    """The figures of a line in mm, given by curved segments and by the ends of straight ones; ValueError for none."""
    if not segments:
        raise ValueError("a line without segments")
    length = 0.0
    boxes: list[tuple[float, float, float, float]] = []
    ends: list[complex] = []
    for segment in segments:
        if isinstance(segment, tuple):
            a, b = segment
            length += abs(b - a)
            boxes.append((min(a.real, b.real), min(a.imag, b.imag), max(a.real, b.real), max(a.imag, b.imag)))
            ends += [a, b]
            continue
        points, own = _length(segment)
        length += own
        boxes.append(_box(points))
        ends += [complex(points[0]), complex(points[-1])]
    low = [min(box[k] for box in boxes) for k in (0, 1)]
    high = [max(box[k] for box in boxes) for k in (2, 3)]
    round_ = closed or abs(ends[-1] - ends[0]) <= CLOSES
    return Figures(length, (low[0], low[1], high[0], high[1]), () if round_ else (ends[0], ends[-1]))


def _length(segment: Segment) -> tuple[Points, float]:
    """Points along a segment, and its length by chords of two finenesses."""
    steps = _COARSE
    before = _chords(segment(np.linspace(0.0, 1.0, steps // 2 + 1)))
    while True:
        points = segment(np.linspace(0.0, 1.0, steps + 1))
        now = _chords(points)
        if abs(now - before) <= _STILL or steps >= _FINEST:
            return points, now + (now - before) / 3.0  # chords miss by the square of their step
        before, steps = now, 2 * steps


def _chords(points: Points) -> float:
    return float(np.abs(np.diff(points)).sum())


def _box(points: Points) -> tuple[float, float, float, float]:
    x, y = points.real, points.imag
    return -_highest(-x), -_highest(-y), _highest(x), _highest(y)


def _highest(values: npt.NDArray[np.float64]) -> float:
    """The greatest value of a smooth row: the top of the parabola through the greatest and its neighbours."""
    k = int(values.argmax())
    top = float(values[k])
    if not 0 < k < len(values) - 1:
        return top
    before, after = float(values[k - 1]), float(values[k + 1])
    bend = before - 2.0 * top + after
    return top if bend >= 0.0 else top - (after - before) ** 2 / (8.0 * bend)
