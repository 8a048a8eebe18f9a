"""How far lines lie from one another: distances of many points at once, and the least and the greatest along a line.

A distance is exact, to the nearest point of all segments. The least and the greatest along a line are sought from every
joint and from places a few millimetres apart, and closed in on to a thousandth of a mm, far nearer in value.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from seamcheck.geometry import bezier
from seamcheck.geometry.bezier import Indices, Points, Reals
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import ruled
from seamcheck.geometry.exact_arrays import most_at
from seamcheck.geometry.feet import depths
from seamcheck.geometry.short_arrays import differences

STEP = 4.0  # mm between the places from which an extreme is sought
_ROUNDS = 6  # each closes in to a quarter: to a thousandth of a mm
_CHUNK = 400_000  # pairs of a point and a segment looked at together


class Extremes(NamedTuple):
    """The least and the greatest distance from a line, in mm, and the stations where."""

    low: float
    low_at: float
    high: float
    high_at: float


def distances(line: Curve, points: Points) -> Reals:
    """How far each of some points is from a line, in mm."""
    points = np.asarray(points, dtype=np.complex128).ravel()
    step = max(1, _CHUNK // len(line.segments))
    parts = [_distances(line, points[k : k + step]) for k in range(0, len(points), step)]
    return np.concatenate(parts) if parts else np.empty(0)


def _distances(line: Curve, points: Points) -> Reals:
    segments, lines = line.segments, ruled(line)
    best = np.abs(points[:, None] - segments[None, :, 0]).min(axis=1)
    best = np.minimum(best, np.abs(points[:, None] - segments[None, :, 3]).min(axis=1))
    if lines.any():
        start = segments[lines, 0]
        way = segments[lines, 3] - start
        size = np.where(way == 0, 1.0, np.abs(way) ** 2)
        off = points[:, None] - start
        share = np.clip((off * way.conjugate()).real / size, 0.0, 1.0)
        best = np.minimum(best, np.abs(off - share * way).min(axis=1))
    bent = segments[~lines]
    if len(bent):
        x, y = bent.real, bent.imag
        dx = np.maximum(np.maximum(x.min(1) - points.real[:, None], points.real[:, None] - x.max(1)), 0.0)
        dy = np.maximum(np.maximum(y.min(1) - points.imag[:, None], points.imag[:, None] - y.max(1)), 0.0)
        row, column = np.nonzero(np.hypot(dx, dy) < best[:, None])
        if row.size:
            np.minimum.at(best, row, depths(bent[column] - points[row, None]))
    return np.asarray(best)


def extremes(line: Curve, other: Curve, start: float = 0.0, end: float | None = None) -> Extremes:
    """The least and the greatest distance of a stretch of `line` from `other`."""
    (low, low_at), (high, high_at) = _sought(line, other, start, end, (-1.0, +1.0))
    return Extremes(low, low_at, high, high_at)


def _sought(
    line: Curve, other: Curve, start: float, end: float | None, signs: Sequence[float]
) -> Iterator[tuple[float, float]]:
    """The least distance (for sign -1) or the greatest (+1) of a stretch of a line from another one, and its station."""
    whole = end is None and start == 0.0
    stretch = line if whole else line.between(start, line.length if end is None else end)
    lengths = differences(stretch.joint_stations)
    counts = np.maximum(1, np.ceil(lengths / STEP)).astype(np.intp)
    index = np.repeat(np.arange(len(counts)), counts)
    t = (np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[index]
    index, t = np.append(index, len(counts) - 1), np.append(t, 1.0)
    apart = distances(other, bezier.evaluate(stretch.segments[index], t))
    for sign in signs:
        most, at = _closed_in(stretch.segments, other, index, t, 1.0 / counts, apart, sign)
        yield most, start + stretch.station_of(*at)


def farthest(line: Curve, other: Curve) -> tuple[float, float]:
    """How far a line leaves another one at most, in mm, and its station there."""
    (found,) = _sought(line, other, 0.0, None, (+1.0,))
    return found


def _closed_in(
    segments: Points, other: Curve, index: Indices, t: Reals, steps: Reals, apart: Reals, sign: float
) -> tuple[float, tuple[int, float]]:
    """The extreme of a distance and its segment and parameter, closed in on from the best places looked at so far."""
    order = np.argsort(np.round(-sign * apart, 6), kind="stable")[:3]
    best, best_at = float(apart[order[0]]), (int(index[order[0]]), float(t[order[0]]))
    # A joint is the end of one segment and the start of the next: both are looked into.
    rows = np.concatenate([index[order], np.maximum(index[order] - 1, 0)])
    middle = np.concatenate([t[order], np.where(t[order] == 0.0, 1.0, t[order])])
    low, high = np.clip(middle - steps[rows], 0.0, 1.0), np.clip(middle + steps[rows], 0.0, 1.0)
    share, each = np.linspace(0.0, 1.0, 9), np.arange(len(rows))
    for _ in range(_ROUNDS):
        places = low[:, None] + (high - low)[:, None] * share
        points = bezier.evaluate(segments[rows][:, None, :], places)
        found = distances(other, points.ravel()).reshape(places.shape)
        column = np.argmax(np.round(sign * found, 6), axis=1)
        row = most_at(sign * found[each, column])
        if sign * found[row, column[row]] > sign * best:
            best, best_at = float(found[row, column[row]]), (int(rows[row]), float(places[row, column[row]]))
        low, high = places[each, np.maximum(column - 1, 0)], places[each, np.minimum(column + 1, 8)]
    return best, best_at


def parts_outside(line: Curve, outline: Curve) -> list[tuple[float, float]]:
    """The stretches of a line that lie outside a closed one, as stations; touching it is inside."""
    cuts = [0.0, *(station for station, _ in line.crossings(outline)), line.length]
    # A line may also leave a stretch that it runs along, which no crossing tells.
    cuts = sorted({*cuts, *(float(s) for s in line.joint_stations)})
    found: list[tuple[float, float]] = []
    for a, b in pairwise(cuts):
        if b - a < 1e-6:
            continue
        middle = line.point((a + b) / 2)
        if outline.contains(middle) or distances(outline, np.array([middle]))[0] < 1e-6:
            continue
        if found and a - found[-1][1] < 1e-9:
            a = found.pop()[0]
        found.append((a, b))
    return found


def farthest_outside(line: Curve, outline: Curve) -> tuple[float, float]:
    """How far a line leaves a closed one to the outside at most, in mm, and its station there; 0 where it stays inside."""
    found = [one for a, b in parts_outside(line, outline) for one in _sought(line, outline, a, b, (+1.0,))]
    return max(found, key=lambda one: round(one[0], 6), default=(0.0, 0.0))
