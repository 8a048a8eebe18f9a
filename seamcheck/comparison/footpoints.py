"""The nearest points of one curve to many points at once."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from seamcheck.geometry import bezier
from seamcheck.geometry.bezier import Points, Reals, boxes
from seamcheck.geometry.curve import Curve

SPACING = 4.0  # mm between the points by which a search begins
MOST = 6000  # of them
ROOM = 50_000  # differences that are looked at together
NEWTON = 8  # steps
ALIKE = 1e-9  # mm; feet whose distances differ by less are one, at the joint of their segments


class Feet(NamedTuple):
    """For each point the nearest of the curve: station, place, unit direction of the curve there, distance in mm.

    `distance` is positive to the left of the curve in mathematical axes.
    """

    stations: Reals
    points: Points
    directions: Points
    distances: Reals


class Target:
    """A curve prepared for many searches."""

    def __init__(self, curve: Curve) -> None:
        """Lay out the points that a search begins from."""
        self.curve = curve
        self.length = curve.length
        sizes = np.diff(curve.joint_stations)
        spacing = max(SPACING, self.length / MOST)
        counts = np.maximum(1, np.ceil(sizes / spacing)).astype(np.intp)
        self._index = np.repeat(np.arange(len(sizes)), counts)
        step = np.arange(len(self._index)) - np.repeat(np.cumsum(counts) - counts, counts)
        self._t = (step + 0.5) / counts[self._index]
        steps = np.diff(curve.segments, axis=1).T
        # For each segment what t^3, t^2 and t are multiplied by.
        self._powers: Points = np.stack([steps[2] - 2 * steps[1] + steps[0], 3 * (steps[1] - steps[0]), 3 * steps[0]])
        self._boxes = boxes(curve.segments)
        laid = bezier.evaluate(curve.segments[self._index], self._t)
        self._middle = complex(laid.mean())
        laid = laid - self._middle
        # Of |p - q|^2 what depends on q, |q|^2 - 2 p.q, is one product of matrices.
        self._laid: Reals = np.stack([laid.real**2 + laid.imag**2, -2 * laid.real, -2 * laid.imag])
        # Room for a few rows of differences at a time, used again and again: new pages of memory would take longest.
        self._room: Reals = np.empty((max(1, ROOM // len(laid)), len(laid)))

    def feet(self, points: Points) -> Feet:
        """The nearest place of the curve to each point."""
        which, t, _ = self._found(points)
        segments = self.curve.segments
        places = bezier.evaluate(segments[which], t)
        stations = self.curve.stations_of(which, t)
        directions = bezier.derivative(segments[which], t)
        still = np.abs(directions) <= 1e-9
        if still.any():
            directions[still] = self.curve.tangents(stations[still])
        directions = directions / np.abs(directions)
        gaps = points - places
        side = np.where((gaps * directions.conjugate()).imag < 0, -1.0, 1.0)
        return Feet(stations, places, directions, np.abs(gaps) * side)

    def distances(self, points: Points) -> Reals:
        """How far from the curve each point lies, in mm."""
        return self._found(points)[2]

    def _found(self, points: Points) -> tuple[bezier.Indices, Reals, Reals]:
        """The segment and the parameter of the nearest place to each point, and how far away it is.

        The search begins at the nearest of the laid out points, on its segment and on the segments beside it.
        """
        nearest = self._nearest(points)
        which, count = self._index[nearest], len(self.curve.segments)
        t, apart = self._on(which, points, self._t[nearest])
        before, behind = which - 1, which + 1
        if self.curve.is_closed:
            before, behind = before % count, behind % count
        else:
            before, behind = np.maximum(before, 0), np.minimum(behind, count - 1)
        for beside, begin in ((before, 1.0), (behind, 0.0)):
            # A segment is no nearer than the box of its control points; at a joint the foot stays where it was found first.
            rows = np.flatnonzero(self._out_of_box(beside, points) < apart - ALIKE)
            other, distances = self._on(beside[rows], points[rows], np.full(len(rows), begin))
            nearer = distances < apart[rows] - ALIKE
            rows = rows[nearer]
            which[rows], t[rows], apart[rows] = beside[rows], other[nearer], distances[nearer]
        return which, t, apart

    def _nearest(self, points: Points) -> bezier.Indices:
        """Which of the laid out points is nearest to each point."""
        near = points - self._middle
        rows = np.stack([np.ones(len(near)), near.real, near.imag], axis=1)
        nearest = np.empty(len(rows), dtype=np.intp)
        for low in range(0, len(rows), len(self._room)):
            part = rows[low : low + len(self._room)]
            nearest[low : low + len(part)] = np.matmul(part, self._laid, out=self._room[: len(part)]).argmin(axis=1)
        return nearest

    def _out_of_box(self, which: bezier.Indices, points: Points) -> Reals:
        """How far each point lies outside of the box of its segment at least."""
        left, low, right, high = (side[which] for side in self._boxes)
        x = np.maximum(left - points.real, points.real - right)
        y = np.maximum(low - points.imag, points.imag - high)
        outside: Reals = np.maximum(x, y)
        return outside

    def _on(self, which: bezier.Indices, points: Points, t: Reals) -> tuple[Reals, Reals]:
        """The nearest parameter on one segment each, by Newton steps on the squared distance, and that distance."""
        if not which.size:
            return t, np.zeros(0)
        a, b, c = self._powers[:, which]
        off = self.curve.segments[which, 0] - points
        for _ in range(NEWTON):
            gap = ((a * t + b) * t + c) * t + off
            bent = 3 * a * t + b
            first = (bent + b) * t + c
            slope = gap.real * first.real + gap.imag * first.imag
            speed = first.real**2 + first.imag**2
            bend = speed + 2 * (gap.real * bent.real + gap.imag * bent.imag)
            bend = np.where(bend > 0.1 * speed, bend, speed)
            step = np.divide(slope, bend, out=np.zeros_like(slope), where=bend > 0)
            following = np.clip(t - step, 0.0, 1.0)
            moved = float(np.abs(following - t).max())
            t = following
            if moved < 1e-13:
                break
        return t, np.abs(((a * t + b) * t + c) * t + off)
