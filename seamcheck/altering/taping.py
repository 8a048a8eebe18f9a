"""An outline in parts that moved, taped down and followed round as one line again.

Across a gap a straight stub is ruled from line to line. Where parts overlap, the one line is followed to where the other crosses
it; where they run side by side a straight line leads over the overlap from the one to the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from seamcheck.exact import least
from seamcheck.geometry.curve import Affine, Curve

MEETS = 1e-7  # mm: ends this near are one point
ON = 1e-6  # mm
AHEAD = 3.0  # times how far two ends lie apart, a crossing is looked for


@dataclass(frozen=True, slots=True)
class Joint:
    """How one line runs on into the next: the first up to a station, a straight bridge where there is one, the next from a station on."""

    before: float
    after: float
    bridge: Curve | None = None

    @property
    def bridge_length(self) -> float:
        """The length of the bridge in mm."""
        return self.bridge.length if self.bridge is not None else 0.0


def taped(before: Curve, after: Curve) -> Joint:
    """How a line runs on into another one whose start lies elsewhere than its end."""
    apart = after.start - before.end
    if abs(apart) < MEETS:
        return Joint(before.length, 0.0)
    ahead = before.tangent(before.length, -1) + after.tangent(0.0, 1)
    if (apart * ahead.conjugate()).real >= 0.0:
        return Joint(before.length, 0.0, Curve.line(before.end, after.start))
    return _overlapped(before, after, AHEAD * abs(apart))


def _overlapped(before: Curve, after: Curve, reach: float) -> Joint:
    tail_from, head_to = max(before.length - reach, 0.0), min(reach, after.length)
    tail, head = before.between(tail_from, before.length), after.between(0.0, head_to)
    foot, other = tail.nearest(head.start), head.nearest(tail.end)
    if foot.distance < ON:
        return Joint(tail_from + foot.station, 0.0)
    if other.distance < ON:
        return Joint(before.length, other.station)
    hits = [(tail_from + a, b) for a, b in tail.crossings(head)]
    if hits:
        return Joint(*least(hits, key=lambda hit: before.length - hit[0] + hit[1]))
    bridge = Curve.line(foot.point, other.point)
    return Joint(tail_from + foot.station, other.station, bridge if bridge.length > MEETS else None)


@dataclass(frozen=True, slots=True)
class Arc:
    """A stretch of a closed outline from one station clockwise to another, and the motion of the part that it belongs to."""

    start: float
    end: float
    motion: Affine


class Taped:
    """A closed outline whose arcs moved, as one line; `joints` are behind each arc. Arcs follow each other and cover all of it."""

    def __init__(self, outline: Curve, arcs: Sequence[Arc]) -> None:
        """Move the arcs and tape them down."""
        self.old, self.arcs, self.total = outline, arcs, outline.length
        self.moved = [self._arc(arc).transformed(arc.motion) for arc in arcs]
        after = [*self.moved[1:], self.moved[0]]
        self.joints = [taped(one, two) for one, two in zip(self.moved, after, strict=True)]
        ends = [joint.before for joint in self.joints]
        begins = [self.joints[-1].after, *(joint.after for joint in self.joints[:-1])]
        if any(a > b for a, b in zip(begins, ends, strict=True)):
            raise ValueError("nothing would be left of a line")
        rows: list[np.ndarray] = []
        self.kept: list[
            tuple[float, float, float]
        ] = []  # of each arc: from and to which of its stations, and where that begins on the new line
        covered = 0.0
        for curve, a, b, joint in zip(self.moved, begins, ends, self.joints, strict=True):
            part = curve.between(a, b)
            self.kept.append((a, b, covered))
            rows.append(part.segments)
            covered += part.length
            if joint.bridge is not None:
                rows.append(joint.bridge.segments)
                covered += joint.bridge.length
        joined = np.concatenate(rows)
        gaps = np.abs(joined[:, 0] - np.roll(joined[:, 3], 1))
        if gaps.max() > 1e-5:
            raise ValueError(f"a line ends {gaps.max():g} mm beside the next one")
        joined[:, 0] = np.roll(joined[:, 3], 1)
        self._raw = Curve(joined)
        self._first = self._snapped(self._placed(0.0))
        self.outline = (
            self._raw.with_start(self._first) if 1e-9 < self._first < self._raw.length - 1e-9 else self._raw
        )

    def _arc(self, arc: Arc) -> Curve:
        return self.old.between(arc.start % self.total, arc.end % self.total)

    def _index(self, station: float) -> tuple[int, float]:
        """The arc that a station of the old outline is on, and how far along it."""
        for k, arc in enumerate(self.arcs):
            into = (station - arc.start) % self.total
            length = self.moved[k].length
            if into <= length + 1e-7:
                return k, min(into, length)
            if self.total - into < 1e-7:
                return k, 0.0
        return len(self.arcs) - 1, self.moved[-1].length

    def motion_at(self, station: float) -> Affine:
        """The motion of the part that a station of the old outline belongs to."""
        return self.arcs[self._index(station)[0]].motion

    def is_kept(self, station: float) -> bool:
        """Whether a station of the old outline is still on the line, and not under the paper where it overlaps."""
        k, into = self._index(station)
        low, high, _ = self.kept[k]
        return low - 1e-6 <= into <= high + 1e-6

    def _placed(self, station: float) -> float:
        k, into = self._index(station)
        low, high, begin = self.kept[k]
        return (begin + min(max(into, low), high) - low) % self._raw.length

    def _snapped(self, station: float) -> float:
        joints = self._raw.joint_stations.tolist()
        total = self._raw.length
        joint = least(joints, key=lambda s: min(abs(s - station), total - abs(s - station)))
        return float(joint) if abs(joint - station) < 1e-6 else station

    def now_at(self, station: float) -> float:
        """Where a station of the old outline is on the new one; what lies under the paper, where the line comes out of it."""
        found = (self._placed(station) - self._first) % self.outline.length
        return 0.0 if self.outline.length - found < 1e-6 else found

    @property
    def joint_places(self) -> list[tuple[complex, ...]]:
        """Where arcs meet on the new line, for the joint behind each arc: one point, or both ends of the bridge where one is ruled."""
        found: list[tuple[complex, ...]] = []
        for one, two, joint in zip(self.moved, [*self.moved[1:], self.moved[0]], self.joints, strict=True):
            ends = one.point(joint.before), two.point(joint.after)
            found.append(ends if joint.bridge is not None else ends[:1])
        return found

    def gained(self, joint: int) -> float:
        """By how much the line became longer behind an arc: a spread is positive, an overlap negative."""
        one, behind = self.joints[joint], self.moved[joint]
        return one.before - behind.length + one.bridge_length - one.after


def retaped(curve: Curve, cuts: Sequence[float], motions: Sequence[Affine]) -> Curve:
    """An open line that parts at stations, each of its parts moved by its own motion, taped into one line again."""
    parts = [
        part.transformed(motion)
        for part, motion in zip(curve.split(*cuts), motions, strict=True)
        if part.length > MEETS
    ]
    result = parts[0]
    for one in parts[1:]:
        joint = taped(result, one)
        pieces = [result.between(0.0, joint.before), one.between(joint.after, one.length)]
        if joint.bridge is not None:
            pieces.insert(1, joint.bridge)
        result = _joined(pieces)
    return result


def _joined(curves: Sequence[Curve]) -> Curve:
    rows = np.concatenate([curve.segments for curve in curves if curve.length > 0.0])
    for k, _ in pairwise(range(len(rows))):
        rows[k + 1, 0] = rows[k, 3]
    return Curve(rows)
