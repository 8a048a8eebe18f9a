"""Directions and curvatures just beside the stations of a run of cubic segments.

Most are asked for one at a time, where nothing out of the ordinary stands: they are reckoned in plain numbers, which are quicker than
arrays of one. Cusps, and segments that are points, take the whole method. Stations are those of a `LengthTable`, within its ends.
"""

from __future__ import annotations

import numpy as np

from seamcheck.geometry import bezier
from seamcheck.geometry.arclength import LengthTable
from seamcheck.geometry.bezier import Flags, Indices, Points, Reals
from seamcheck.geometry.short_arrays import differences

_SNAP = bezier.POINT  # mm; a station this close to a joint or cusp stands on it, where sides matter
_NEAR_CUSP = 1e-3  # a speed this much smaller than the largest step may be that of a cusp

Steps = tuple[complex, complex, complex]


def tangent(segments: Points, table: LengthTable, at: float, side: int, *, closed: bool) -> complex:
    """The unit direction just after one station, or just before it with `side` -1; see `Curve.tangent`."""
    beside = _beside(segments, table, at, side, closed=closed)
    if beside is None:
        return complex(tangents(segments, table, np.array([at]), side, closed=closed)[0])
    (p, q, r), t = beside
    if 0 < t < 1:
        s = 1 - t
        way = 3 * (p * s * s + 2 * q * (s * t) + r * t * t)
    else:
        least = bezier.VANISHING * max(abs(p), abs(q), abs(r))
        way = next(step for step in ((p, q, r) if t == 0 else (r, q, p)) if abs(step) > least)
    return way / abs(way)


def tangents(segments: Points, table: LengthTable, at: Reals, side: int, *, closed: bool) -> Points:
    """The unit directions at an array of stations."""
    index, t, cusp = _sided(segments, table, at, side, closed=closed)
    rows = segments[index]
    steps = bezier.clean_steps(rows)
    size = np.abs(steps).max(axis=1, initial=0.0)
    start, end = bezier.end_directions(steps)
    inner = bezier.derivative(rows, t)
    still = cusp | (np.abs(inner) <= bezier.VANISHING * size)
    if still.any():
        second, third = bezier.second_derivative(rows, t), differences(differences(differences(rows)))[:, 0]
        second = np.where(np.abs(second) <= 1e-6 * size, third, second * (1 if side > 0 else -1))
        inner = np.where(still, second, inner)
    direction = np.where(t == 0, start, np.where(t == 1, end, inner))
    direction = np.where(direction == 0, 1, direction)
    return np.asarray(direction / np.abs(direction))


def curvature(segments: Points, table: LengthTable, at: float, side: int, *, closed: bool) -> float:
    """The curvature in 1/mm just after (or before) one station; see `Curve.curvature`."""
    beside = _beside(segments, table, at, side, closed=closed)
    if beside is not None:
        (p, q, r), u = beside
        back = 1 - u
        speed = 3 * (p * back * back + 2 * q * (back * u) + r * u * u)
        if abs(speed) > _NEAR_CUSP * max(abs(p), abs(q), abs(r)):
            return (speed.conjugate() * 6 * ((q - p) * back + (r - q) * u)).imag / abs(speed) ** 3
    index, t, cusp = _sided(segments, table, np.array([at]), side, closed=closed)
    rows = segments[index]
    steps = bezier.clean_steps(rows)
    size = float(np.abs(steps).max())
    velocity = complex(bezier.derivative(rows, t)[0])
    second = complex(bezier.second_derivative(rows, t)[0])
    if cusp[0] or abs(velocity) <= bezier.VANISHING * size:
        bend = (second.conjugate() * complex(differences(differences(differences(rows[0])))[0])).imag
        return float(np.copysign(np.inf, bend)) if abs(bend) > 1e-12 * size * size else 0.0
    return float((velocity.conjugate() * second).imag / abs(velocity) ** 3)


def _beside(
    segments: Points, table: LengthTable, at: float, side: int, *, closed: bool
) -> tuple[Steps, float] | None:
    """The steps of the segment just before or after one station and the parameter there; None where `_sided` has to tell."""
    joints = table.joints
    if side > 0:
        at = 0.0 if closed and at >= table.length - _SNAP else at
        index = int(joints.searchsorted(at + _SNAP, "right")) - 1
    else:
        at = table.length if closed and at <= _SNAP else at
        index = int(joints.searchsorted(at - _SNAP, "left")) - 1
    index = min(max(index, 0), len(joints) - 2)
    a, b, c, d = segments[index].tolist()
    steps = p, q, r = b - a, c - b, d - c
    largest = max(abs(p), abs(q), abs(r))
    if largest <= bezier.POINT:
        return None
    if side > 0 and at - joints[index] <= _SNAP:
        return steps, 0.0
    if side <= 0 and joints[index + 1] - at <= _SNAP:
        return steps, 1.0
    located, t = table.place(at)
    if located != index:
        return steps, 0.0 if located < index else 1.0
    s = 1 - t
    slow = abs(p * s * s + 2 * q * (s * t) + r * t * t) <= _NEAR_CUSP * largest
    return None if slow else (steps, t)


def _sided(
    segments: Points, table: LengthTable, at: Reals, side: int, *, closed: bool
) -> tuple[Indices, Reals, Flags]:
    """Segment indices and parameters just before or after stations, and whether a cusp stands there."""
    joints = table.joints
    if closed and side > 0:
        at = np.where(at >= joints[-1] - _SNAP, 0.0, at)
    elif closed:
        at = np.where(at <= _SNAP, joints[-1], at)
    if side > 0:
        index = np.searchsorted(joints, at + _SNAP, side="right") - 1
    else:
        index = np.searchsorted(joints, at - _SNAP, side="left") - 1
    sized = np.flatnonzero((bezier.clean_steps(segments) != 0).any(axis=1))
    if not sized.size:
        return np.zeros_like(index), np.zeros_like(at), np.zeros(at.shape, dtype=bool)
    # A segment that is a point is passed over, such as a cut beside a joint leaves.
    ahead = np.searchsorted(sized, index) if side > 0 else np.searchsorted(sized, index, side="right") - 1
    index = sized[np.clip(ahead, 0, len(sized) - 1)]
    # A station that a joint on the other side holds is not inside this segment.
    located, t = table.locate(at)
    t = np.where(located < index, 0.0, np.where(located > index, 1.0, t))
    if side > 0:
        t[at - joints[index] <= _SNAP] = 0.0
    else:
        t[joints[index + 1] - at <= _SNAP] = 1.0
    cusps = bezier.cusps(segments[index])
    found = np.zeros(at.shape, dtype=bool)
    for k, column in np.argwhere(~np.isnan(cusps)):
        where = table.station(int(index[k]), float(cusps[k, column]))
        if 0 < t[k] < 1 and abs(where - at[k]) <= _SNAP:
            t[k], found[k] = cusps[k, column], True
    return index, t, found
