"""The point of a run of cubic segments that lies nearest to a point, exactly.

Where a segment is nearest the line to it stands square on it: the product of place and derivative is a polynomial of the fifth
degree. Its Bernstein coefficients tell how many roots it can have; where it is one, as nearly everywhere, Newton's method finds
it in a bracket, and where it may be more all are solved for at once.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT
from seamcheck.geometry.bezier import Points, Reals, Row, evaluate, point_of, powers, product, real_roots

_EVEN = 1e-10  # of its chord: how near to the thirds of it the handles of a line lie ...
_ROUNDING = 1e-12  # mm: ... and what a last bit of their coordinates may add
_FEW = 3  # segments whose feet are found as quickly as the nearest of them are told
_ONE_PLACE = 0.01  # mm; of two feet this close to each other the nearer one is meant


def nearest(segments: Points, boxes: Callable[[], Reals], point: complex) -> tuple[int, float]:
    """The index and parameter of the point of all segments that lies nearest to `point`.

    `boxes` tells those of the segments. Of places that are equally near the first is taken, and there the very nearest; a point
    that is the very end of a segment is found there.
    """
    ends = np.abs(segments[:, ::3] - point)
    first = int(ends.argmin())
    best = float(ends.ravel()[first])
    if best == 0.0:
        return first // 2, float(first % 2)
    x, y = point.real, point.imag
    left, low, right, high = boxes()
    across = np.maximum(np.maximum(left - x, x - right), 0.0)
    along = np.maximum(np.maximum(low - y, y - high), 0.0)
    kept = np.flatnonzero(across * across + along * along <= best * best * (1 + 1e-12))
    shifted = segments[kept] - point
    if len(kept) > _FEW:
        near = _may_be_nearest(shifted)
        kept, shifted = kept[near], shifted[near]
    places: list[tuple[float, complex, int, float]] = []
    for index, row, feet in zip(kept.tolist(), shifted.tolist(), _feet(shifted), strict=True):
        for t in (0.0, *feet, 1.0):
            at = point_of(row, t)
            places.append((abs(at), at, index, t))
    least = min(distance for distance, _, _, _ in places) + EXACT / 1000
    there = next(at for distance, at, _, _ in places if distance <= least)
    close = [one for one in places if one[0] <= least and abs(one[1] - there) <= _ONE_PLACE]
    _, _, index, t = min(close, key=lambda one: one[0])
    return index, t


def depths(shifted: Points) -> Reals:
    """How near each cubic, one a row, comes to the origin inside itself; infinite where it is nowhere square to it."""
    found = np.full(len(shifted), np.inf)
    bernstein = np.stack(_bernstein(*shifted.T), axis=1)
    changes = np.count_nonzero((bernstein[:, 1:] > 0) != (bernstein[:, :-1] > 0), axis=1)
    unsure = (bernstein == 0).any(axis=1) | (changes > 1)
    one = np.flatnonzero(~unsure & (changes == 1))
    if one.size:
        found[one] = np.abs(_at_roots(shifted[one], bernstein[one, -1] > 0))
    if unsure.any():
        rows = shifted[unsure]
        feet = np.nan_to_num(_solved(rows), nan=0.0)
        found[unsure] = np.abs(evaluate(rows[:, None, :], feet)).min(axis=1)
    return found


def _at_roots(shifted: Points, rises: npt.NDArray[np.bool_]) -> Points:
    """The places at which cubics stand square to the origin, each of which does so once, by Newton's method in a bracket."""
    a, linear, square, cube = powers(shifted).T
    low, high = np.zeros(len(a)), np.ones(len(a))
    t = np.full(len(a), 0.5)
    for _ in range(80):
        at = ((cube * t + square) * t + linear) * t + a
        way = (3 * cube * t + 2 * square) * t + linear
        value = _dot(at, way)
        above = (value > 0) == rises
        high, low = np.where(above, t, high), np.where(above, low, t)
        slope = _dot(way, way) + _dot(at, 6 * cube * t + 2 * square)
        following = t - value / np.where(slope == 0.0, np.inf, slope)
        following = np.where((following >= low) & (following <= high) & (slope != 0.0), following, (low + high) / 2)
        moved, t = np.abs(following - t).max(), following
        if moved <= 1e-15:
            break
    return np.asarray(((cube * t + square) * t + linear) * t + a)


def _may_be_nearest(shifted: Points) -> npt.NDArray[np.bool_]:
    """Which segments may come nearest to the origin: a segment keeps as near to its chord as its handles do."""
    a, b, c, d = shifted.T
    chord = d - a
    square = np.maximum((chord * chord.conj()).real, np.finfo(float).tiny)

    def apart(offset: Points) -> Reals:
        """How far the chords are from points at an offset from their starts."""
        share = (offset * chord.conj()).real / square
        return np.asarray(np.abs(offset - np.minimum(np.maximum(share, 0.0), 1.0) * chord))

    off, away = np.maximum(apart(b - a), apart(c - a)), apart(-a)
    return np.asarray(away - off <= (away + off).min() + EXACT)


def _feet(shifted: Points) -> list[list[float]]:
    """For each segment the parameters inside it at which its distance from the origin may be least."""
    found: list[list[float]] = []
    several = []
    for number, row in enumerate(shifted.tolist()):
        feet = _foot_on_line(row)
        if feet is None:
            feet = _one_foot(row)
        if feet is None:
            several.append(number)
        found.append(feet or [])
    if several:
        for number, row in zip(several, _solved(shifted[several]).tolist(), strict=True):
            found[number] = [root for root in row if root == root]
    return found


def _solved(shifted: Points) -> Reals:
    """For each segment all parameters (n, 5) in [0, 1] at which it stands square to the origin, solved for at once; nan elsewhere."""
    position = powers(shifted)
    scale = np.abs(position).max(axis=1, keepdims=True)
    position /= np.where(scale == 0.0, 1.0, scale)
    velocity = position[:, 1:] * np.arange(1, 4)
    return real_roots(product(position.conjugate(), velocity).real)


def _foot_on_line(row: Row) -> list[float] | None:
    """The foot on a straight segment that is run evenly; None where it is not so."""
    a, b, c, d = row
    chord = d - a
    size = abs(chord)
    off = max(abs(b - a - chord / 3), abs(d - c - chord / 3))
    if off > _EVEN * size + _ROUNDING:
        return None
    t = -(a.real * chord.real + a.imag * chord.imag) / (size * size) if size else 0.0
    return [t] if 0.0 < t < 1.0 else []


def _dot(one: Any, other: Any) -> Any:
    return one.real * other.real + one.imag * other.imag


def _bernstein(a: Any, b: Any, c: Any, d: Any) -> tuple[Any, ...]:
    """The Bernstein coefficients of the product of place and derivative, of one segment or, in arrays, of many."""
    p, q, r = b - a, c - b, d - c
    return (
        _dot(a, p),
        2 * _dot(a, q) + 3 * _dot(b, p),
        _dot(a, r) + 6 * _dot(b, q) + 3 * _dot(c, p),
        3 * _dot(b, r) + 6 * _dot(c, q) + _dot(d, p),
        3 * _dot(c, r) + 2 * _dot(d, q),
        _dot(d, r),
    )


def _one_foot(row: Row) -> list[float] | None:
    """The one parameter, or none, at which a segment stands square to the origin; None where there may be more."""
    a, b, c, d = row
    p, q = b - a, c - b
    bernstein = _bernstein(a, b, c, d)
    signs = [value > 0 for value in bernstein if value]
    changes = sum(one != other for one, other in pairwise(signs))
    if changes > 1:
        return None
    if not changes:
        return []
    # Horner's rule, the derivatives without their factors of three and six.
    linear, square, cube = 3 * p, 3 * (q - p), d - a - 3 * (c - b)
    low, high, t = 0.0, 1.0, 0.5
    rises = signs[-1]
    for _ in range(80):
        at = ((cube * t + square) * t + linear) * t + a
        way = (3 * cube * t + 2 * square) * t + linear
        value = _dot(at, way)
        if (value > 0) == rises:
            high = t
        else:
            low = t
        slope = _dot(way, way) + _dot(at, 6 * cube * t + 2 * square)
        following = t - value / slope if slope else -1.0
        if not low <= following <= high:
            following = (low + high) / 2
        moved, t = abs(following - t), following
        if moved <= 1e-16:
            break
    return [t]
