"""A line redrawn between the nearest marks that stay: a notch or a corner.

The old line is carried to its new ends by the turn and scale that take its chord to the new chord, and then bent: what
its end directions are still off is taken up by a change of curvature that runs evenly along the line. Of all
changes that reach given ends and directions it is the one that bends the line least (a beam between clamped ends: the
displacement is a cubic of the arc length). Joints that were smooth stay exactly smooth, chords stay chords.

bump   a swelling of the line in its middle, in mm, that moves neither its ends nor their directions
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seamcheck.geometry import bezier
from seamcheck.geometry.bezier import Points
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.geometry.short_arrays import differences

FEWEST = 4  # segments that a bent line is made of, unless it is a row of chords
SPLIT = 100.0  # mm: longer segments are cut, so that the bend follows the beam
LEVEL = 1e-9  # radians, and mm; less is no bend, and no line


@dataclass(frozen=True, slots=True)
class End:
    """Where a line's end goes: the new point, and the turn of its direction in radians."""

    at: complex
    turn: float = 0.0


class Rod:
    """A line made ready to be redrawn many times."""

    def __init__(self, curve: Curve) -> None:
        """Cut the line into enough segments to be bent along its length; chords stay as they are."""
        self.curve = curve
        self.chords = len(curve.segments) >= FEWEST and bool(np.all(straight(curve.segments)))
        fine = curve if self.chords else _divided(curve)
        self.rows = fine.segments
        self.length = fine.length
        self.share = np.asarray(fine.joint_stations) / fine.length
        self.before, self.after = fine.tangents(fine.joint_stations, -1), fine.tangents(fine.joint_stations, 1)

    def carried(self, start: End, end: End) -> tuple[complex, float, float]:
        """The factor that takes the old chord to the new one, and what the directions are off behind it, in radians."""
        factor = (end.at - start.at) / (self.curve.end - self.curve.start)
        turned = float(np.angle(factor))
        return factor, _level(start.turn - turned), _level(end.turn - turned)

    def bent(self, start: End, end: End, bump: float = 0.0) -> Points:
        """The control points (n, 4) of the line between new ends, bent as little and as evenly as can be.

        The directions at its ends are the old ones turned by exactly what `start` and `end` say. A bump is to the left
        in mathematical axes for a positive number.
        """
        if abs(end.at - start.at) < LEVEL:  # a trial may bring both ends to one place: the line is a point there
            return np.full_like(self.rows, start.at)
        factor, first, last = self.carried(start, end)
        level = max(abs(first), abs(last)) < LEVEL and abs(bump) < LEVEL
        rows = ((self.curve.segments if level else self.rows) - self.curve.start) * factor + start.at
        if level:
            rows[0, 0], rows[-1, 3] = start.at, end.at
            return rows
        length, turn = self.length * abs(factor), factor / abs(factor)
        share, before, after = self.share, self.before * turn, self.after * turn
        # The displacement and its change along the line: a cubic Hermite curve, and the bump's quartic.
        slope_a, slope_b = after[0] * (np.exp(1j * first) - 1.0), before[-1] * (np.exp(1j * last) - 1.0)
        across = 1j * turn * (self.curve.end - self.curve.start) / abs(self.curve.end - self.curve.start) * bump
        shift = length * (slope_a * share * (1 - share) ** 2 - slope_b * share**2 * (1 - share))
        shift = shift + across * 16 * (share * (1 - share)) ** 2
        slope = slope_a * (1 - share) * (1 - 3 * share) + slope_b * share * (3 * share - 2)
        slope = slope + across * 32 * share * (1 - share) * (1 - 2 * share) / length
        leaving, arriving = rows[:, 1] - rows[:, 0], rows[:, 3] - rows[:, 2]
        rows[:, 0] += shift[:-1]
        rows[:, 3] += shift[1:]
        rows[0, 0], rows[-1, 3] = start.at, end.at
        if self.chords:
            rows[:, 1] = rows[:, 0] + (rows[:, 3] - rows[:, 0]) / 3
            rows[:, 2] = rows[:, 0] + (rows[:, 3] - rows[:, 0]) * 2 / 3
        else:
            # A handle is turned and stretched as the line is at its joint, the same on both sides.
            rows[:, 1] = rows[:, 0] + leaving * (1 + slope[:-1] / after[:-1])
            rows[:, 2] = rows[:, 3] - arriving * (1 + slope[1:] / before[1:])
        return rows


def redrawn(curve: Curve, start: End, end: End, bump: float = 0.0) -> Curve:
    """The line between new ends; see `Rod.bent`."""
    return Curve(Rod(curve).bent(start, end, bump))


def _level(angle: float) -> float:
    return float(np.angle(np.exp(1j * angle)))


def _divided(curve: Curve) -> Curve:
    """The same line in enough segments to be bent along its length."""
    most = min(SPLIT, curve.length / FEWEST)
    joints = curve.joint_stations
    lengths = differences(joints)
    counts = np.maximum(1, np.ceil(lengths / most - 1e-9)).astype(np.intp)
    rows = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(rows)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[rows]
    low, high = np.zeros(len(rows)), np.ones(len(rows))
    inner = np.flatnonzero(share)
    low[inner] = high[inner - 1] = curve.located(joints[rows] + lengths[rows] * share)[1][inner]
    parts = bezier.part(curve.segments[rows], low, high)
    parts[1:, 0] = parts[:-1, 3]
    return Curve(parts)


def unbent(curve: Curve, kinks: Sequence[tuple[float, float]]) -> Curve:
    """The line with kinks (station in mm, turn in degrees, left positive) turned out of it, one after the other.

    What lies beyond a kink is turned about it as a whole, so that the line runs on; its end goes elsewhere.
    """
    for station, turn in sorted(kinks):
        before, after = curve.split(station)
        curve = Curve.join([before, after.transformed(Affine.rotation(-turn, about=before.end))])
    return curve


def bending(length: float, first: float, last: float, bump: float) -> list[float]:
    """Residuals whose squares add to what a change bends a line: the integral of its change of curvature, squared.

    `first` and `last` are the turns of the end directions against the chord in radians; all lengths in mm.
    """
    return [
        float(np.sqrt(3.0 / length) * (first + last)),
        float(np.sqrt(1.0 / length) * (first - last)),
        float(bump * np.sqrt(204.8 / length**3)),
    ]
