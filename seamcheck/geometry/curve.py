"""The one curve type.

Every stretch of outline is a chain of cubic Bezier segments. Points are complex numbers in mm in the file's
own axes, angles are in degrees, and a *station* is the distance in mm along the curve from its start.
"Left" and "counter-clockwise" are meant in mathematical axes, x to the right and y up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple, NoReturn

import numpy as np
import numpy.typing as npt

from seamcheck.exact import snapped_point
from seamcheck.geometry import bezier, bsplines, directions, feet
from seamcheck.geometry.affine import Affine
from seamcheck.geometry.arclength import LengthTable, lengths
from seamcheck.geometry.bezier import Indices, Points, Reals
from seamcheck.geometry.exact_arrays import least_at, most_at, snapped_all
from seamcheck.geometry.intersections import crossings, distinct, self_crossings
from seamcheck.geometry.kept import Measured, kept
from seamcheck.geometry.offset import OffsetSwallowed, parallel
from seamcheck.geometry.short_arrays import differences, in_parts, rolled

__all__ = ["Affine", "Curve", "Nearest", "OffsetSwallowed", "inner_turns", "lengths", "measure", "points_of"]

JOIN = 1e-6  # mm; ends this close to each other are one point
_SLIVER = 1e-9  # mm; nothing is cut off that is shorter than this


class Nearest(NamedTuple):
    """The point of a curve that lies nearest to a given point; station and distance in mm."""

    station: float
    point: complex
    distance: float


class Curve(Measured):
    """An immutable chain of cubic Bezier segments.

    `segments` is a read-only complex128 array of shape (n, 4), n >= 1, in mm; each segment starts exactly
    where the one before ends. Segments may have no length, double back, or come to a cusp; every method
    has a defined answer there.
    """

    __slots__ = ("_bounds", "_boxes", "_closed", "_crossings", "_table", "segments")
    segments: Points
    # What was asked for once, None before that.
    _table: LengthTable | None
    _bounds: tuple[float, float, float, float] | None
    _boxes: Reals | None
    _closed: bool | None
    _crossings: tuple[tuple[float, float], ...] | None

    def __init__(self, segments: npt.ArrayLike) -> None:
        """Take control points (n, 4); gaps up to 1e-6 mm are closed.

        ValueError for another shape, coordinates that are not finite, or a wider gap.
        """
        array = bezier.finite(segments).copy()
        if array.ndim != 2 or array.shape[1] != 4 or not len(array):
            raise ValueError("a curve needs at least one segment of four control points")
        if len(array) > 1:
            gaps = np.abs(array[1:, 0] - array[:-1, 3])
            widest = int(gaps.argmax())
            if gaps[widest] > JOIN:
                at = array[widest, 3]
                raise ValueError(
                    f"segments do not follow each other: {gaps[widest]:g} mm apart at ({at.real:g}, {at.imag:g})"
                )
            array[1:, 0] = array[:-1, 3]
        self._keep(array, None)

    def _keep(self, array: Points, table: LengthTable | None) -> None:
        array.setflags(write=False)
        object.__setattr__(self, "segments", array)
        object.__setattr__(self, "_table", table)
        object.__setattr__(self, "_bounds", None)
        object.__setattr__(self, "_boxes", None)
        object.__setattr__(self, "_closed", None)
        object.__setattr__(self, "_crossings", None)

    @classmethod
    def _of(cls, array: Points, table: LengthTable | None) -> Curve:
        """A curve of segments that are known to follow each other, with what is known of its length."""
        made = cls.__new__(cls)
        made._keep(array, table)
        return made

    def __setattr__(self, name: str, value: object) -> NoReturn:
        """Refuse: a curve never changes."""
        raise AttributeError(f"a curve cannot be changed; tried to set {name}")

    def __delattr__(self, name: str) -> NoReturn:
        """Refuse: a curve never changes."""
        raise AttributeError(f"a curve cannot be changed; tried to delete {name}")

    def __reduce__(self) -> tuple[type[Curve], tuple[Points]]:
        """Pickle by the control points alone."""
        return Curve, (self.segments,)

    def __eq__(self, other: object) -> bool:
        """Equal when all control points are."""
        if not isinstance(other, Curve):
            return NotImplemented
        return np.array_equal(self.segments, other.segments)

    def __hash__(self) -> int:
        """Hash by the control points."""
        return hash((self.segments + 0).tobytes())

    def __repr__(self) -> str:
        """Tell the ends, the length and the number of segments."""
        a, b = self.start, self.end
        return (
            f"<Curve ({a.real:g}, {a.imag:g}) to ({b.real:g}, {b.imag:g}), "
            f"{self.length:g} mm, segments: {len(self.segments)}>"
        )

    # --- making curves ------------------------------------------------------------------------------------

    @classmethod
    def line(cls, a: complex, b: complex) -> Curve:
        """The straight line from `a` to `b`."""
        return cls.polyline([a, b])

    @classmethod
    def polyline(cls, points: Sequence[complex] | Points) -> Curve:
        """The straight lines through two or more points; a single point gives a curve without length."""
        array = np.asarray(points, dtype=np.complex128).ravel()
        if not array.size:
            raise ValueError("a polyline needs at least one point")
        segments = bezier.lines(np.repeat(array, 2) if array.size == 1 else array)
        return cls._of(segments, LengthTable.of_lines(segments))

    @classmethod
    def quadratic(cls, a: complex, b: complex, c: complex) -> Curve:
        """The quadratic Bezier curve with control points `a`, `b`, `c`, exactly."""
        return cls([[a, (a + 2 * b) / 3, (2 * b + c) / 3, c]])

    @classmethod
    def cubic(cls, a: complex, b: complex, c: complex, d: complex) -> Curve:
        """The cubic Bezier curve with control points `a`, `b`, `c`, `d`."""
        return cls([[a, b, c, d]])

    @classmethod
    def arc(
        cls,
        centre: complex,
        radius_x: float,
        radius_y: float | None = None,
        *,
        rotation: float = 0.0,
        start: float = 0.0,
        sweep: float = 360.0,
    ) -> Curve:
        """The circular or elliptic arc about `centre`, within 1e-6 mm.

        The radii lie along axes that are turned by `rotation` degrees; `start` and `sweep` are degrees of
        the ellipse's own parameter (the angle on the circle it is a scaled copy of), positive from the x to
        the y axis. ValueError for a radius that is not positive.
        """
        return cls(bsplines.arc(centre, radius_x, radius_x if radius_y is None else radius_y, rotation, start, sweep))

    @classmethod
    def bspline(
        cls,
        control: npt.ArrayLike,
        knots: npt.ArrayLike,
        degree: int = 3,
        weights: npt.ArrayLike | None = None,
    ) -> Curve:
        """The B-spline with n + 1 control points (complex) and n + degree + 2 knots.

        It runs over [knots[degree], knots[n + 1]] only, as it must where the knots are not clamped. Exact up
        to degree three without weights; higher degrees and rational splines within 1e-4 mm. ValueError when
        the counts do not match, knots decrease, or a weight is not positive.
        """
        return cls(bsplines.bspline(control, knots, degree, weights))

    @classmethod
    def through(cls, points: Sequence[complex] | Points, ends: str | tuple[complex, complex] = "not-a-knot") -> Curve:
        """The smooth curve through the points: a C2 cubic spline in chord length.

        `ends` is "not-a-knot" or "natural", when three points are always joined by a natural spline and two by a line; or
        the directions at the first and the last point. Points repeated in a row count once. ValueError with fewer than two different points.
        """
        return cls(bsplines.through(points, ends))

    @classmethod
    def join(cls, curves: Sequence[Curve]) -> Curve:
        """One curve of several that follow each other; ValueError where more than 1e-6 mm lie between."""
        if not curves:
            raise ValueError("there is no curve to join")
        if len(curves) == 1:
            return curves[0]
        joined = cls(np.concatenate([curve.segments for curve in curves]))
        tables = [curve._table for curve in curves]
        known = [table for table in tables if table is not None]
        return cls._of(joined.segments, LengthTable.joined(joined.segments, known)) if known == tables else joined

    # --- size ---------------------------------------------------------------------------------------------

    @property
    def start(self) -> complex:
        """The first point."""
        return complex(self.segments[0, 0])

    @property
    def end(self) -> complex:
        """The last point."""
        return complex(self.segments[-1, 3])

    def vertices(self) -> Points:
        """The ends of all segments, one more than there are segments."""
        return np.append(self.segments[:, 0], self.segments[-1, 3])

    @property
    def chord(self) -> float:
        """The straight distance from start to end in mm."""
        return abs(self.end - self.start)

    @property
    def is_closed(self) -> bool:
        """Whether the curve ends where it starts, within 1e-6 mm, and is more than a point."""
        closed = self._closed
        if closed is None:
            closed = self.chord <= JOIN and self.length > JOIN
            object.__setattr__(self, "_closed", closed)
        return closed

    @property
    def _lengths(self) -> LengthTable:
        """The length table, made when it is first asked for."""
        table = self._table
        if table is None:
            table = LengthTable.measured(self.segments)
            object.__setattr__(self, "_table", table)
        return table

    @property
    def joint_stations(self) -> Reals:
        """The stations (n + 1,) of the segments' ends, from 0 to the length, read-only."""
        return self._lengths.joints

    @property
    def length(self) -> float:
        """The arc length in mm, within 1e-9 of itself or 1e-7 mm."""
        return self._lengths.length

    @kept
    def signed_area(self) -> float:
        """The area in mm2 inside the curve, an open one closed by its chord; counter-clockwise is positive."""
        return float(bezier.signed_areas(self.segments - self.start).sum())

    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of the curve itself (not of its control points)."""
        if self._bounds is None:
            object.__setattr__(self, "_bounds", self._found_bounds())
        return self._bounds or self._found_bounds()

    def _found_bounds(self) -> tuple[float, float, float, float]:
        ends = self.vertices()
        box = bezier.bounds(ends)
        # Where no handle lies beyond the ends, nothing of the curve does.
        left, low, right, high = bezier.boxes(self.segments) if self._boxes is None else self._boxes
        beyond = (left < box[0]) | (low < box[1]) | (right > box[2]) | (high > box[3])
        return bezier.bounds(np.append(ends, bezier.extremes(self.segments[beyond]))) if beyond.any() else box

    def is_straight(self, tolerance: float = 1e-6) -> bool:
        """Whether the curve keeps within `tolerance` mm of its chord and does not double back on it."""
        chord = self.end - self.start
        if self.length - abs(chord) > tolerance:
            return False
        turned = (self.segments - self.start) * (chord.conjugate() / abs(chord) if chord else 1)
        if np.abs(turned.imag).max() <= tolerance:
            return True
        side = bezier.extremes(turned).imag
        return bool(np.abs(side).max() <= tolerance)

    # --- stations -----------------------------------------------------------------------------------------

    def _on_curve(self, stations: Reals) -> Reals:
        """Stations beyond the ends: clamped on an open curve, taken round on a closed one."""
        length = self.length
        outside = (stations < 0) | (stations > length)
        if outside.any() and self.is_closed:
            return np.where(outside, stations % length, stations)
        return np.clip(stations, 0.0, length)

    def _within(self, station: float) -> float:
        """The same of one station."""
        length = self._lengths.length
        if 0.0 <= station <= length:
            return station
        return station % length if self.is_closed else min(max(station, 0.0), length)

    def _place(self, station: float) -> tuple[int, float]:
        """The segment's index and the parameter on it of one station."""
        return self._lengths.place(self._within(station))

    def located(self, stations: npt.ArrayLike) -> tuple[Indices, Reals]:
        """The segments' indices and the parameters on them, 0 to 1, of an array of stations."""
        return self._lengths.locate(self._on_curve(np.asarray(stations, dtype=np.float64)))

    def locate(self, station: float) -> tuple[int, float]:
        """The segment's index and the parameter on it, 0 to 1, of a station."""
        return self._place(float(station))

    def station_of(self, index: int, t: float) -> float:
        """The station of parameter `t` on segment `index`; IndexError when there is no such segment."""
        if not 0 <= index < len(self.segments):
            raise IndexError(f"the curve has {len(self.segments)} segments, not one numbered {index}")
        return self._lengths.station(index, t)

    def stations_of(self, index: Indices, t: Reals) -> Reals:
        """The stations of an array of places, each the parameter `t`, 0 to 1, on segment `index`."""
        return np.asarray(self._lengths.stations(index, t))

    def points(self, stations: npt.ArrayLike) -> Points:
        """The points at an array of stations."""
        index, t = self.located(stations)
        return bezier.evaluate(self.segments[index], t)

    def point(self, station: float) -> complex:
        """The point at a station; beyond the ends the end point, on a closed curve the way round."""
        return self._at(*self._place(float(station)))

    def _at(self, index: int, t: float) -> complex:
        """The point at a parameter of a segment."""
        return bezier.point_of(self.segments[index].tolist(), t)

    def tangents(self, stations: npt.ArrayLike, side: int = 1) -> Points:
        """The unit directions at an array of stations; see `tangent`."""
        at = self._on_curve(np.asarray(stations, dtype=np.float64))
        return directions.tangents(self.segments, self._lengths, at, side, closed=self.is_closed)

    def tangent(self, station: float, side: int = 1) -> complex:
        """The unit direction just after a station, or just before it with `side` -1.

        Where the first derivative vanishes the first one that does not gives the direction. A segment
        without length lends the direction of its neighbour; a curve without any length points along x.
        At the ends of an open curve both sides give the one direction there is.
        """
        at = self._within(float(station))
        return directions.tangent(self.segments, self._lengths, at, side, closed=self.is_closed)

    def curvature(self, station: float, side: int = 1) -> float:
        """The curvature in 1/mm just after (or before) a station; positive where the curve bends left.

        Where the first derivative vanishes it is infinite, with the sign of the bend nearby, or 0 on a
        straight line.
        """
        at = self._within(float(station))
        return directions.curvature(self.segments, self._lengths, at, side, closed=self.is_closed)

    # --- direction ----------------------------------------------------------------------------------------

    def joint_turns(self) -> Reals:
        """The jumps of direction at the inner joints in degrees, in (-180, 180], left positive.

        A closed curve has a last entry for the joint where it closes. Next to segments without length the
        whole jump stands at the joint after them, or before them where the curve starts with them.
        """
        start, end = bezier.end_directions(bezier.clean_steps(self.segments))
        if not start.all():
            sized = np.flatnonzero(start)
            if not sized.size:
                return np.zeros(len(self.segments) - 1)
            before = np.maximum.accumulate(np.where(start != 0, np.arange(len(start)), -1))
            lent = np.where(before < 0, start[sized[0]], end[before])
            start, end = np.where(start == 0, lent, start), np.where(start == 0, lent, end)
        turns = snapped_all(np.degrees(bezier.angles_between(end, rolled(start))))
        return turns if self.is_closed else turns[:-1]

    def turning(self) -> float:
        """The whole change of direction in degrees, left positive, with the jumps at inner joints.

        The joint where a closed curve closes is not counted. A cusp, or a joint that doubles back, counts
        as +180; a second cusp in the same segment as -180.
        """
        inside = float(snapped_all(np.degrees(bezier.windings(self.segments))).sum())
        return inside + float(self.joint_turns()[: len(self.segments) - 1].sum())

    # --- parts and copies ---------------------------------------------------------------------------------

    def _part(self, start: float, end: float) -> Curve:
        """The curve from one station to a later one, both on the curve, with what is known of its length."""
        table = self._lengths
        joints = table.joints
        (i, t), (j, u) = table.place(start), table.place(end)
        if t > 0 and joints[i + 1] - start <= _SLIVER and i + 1 <= j:
            i, t = i + 1, 0.0
        if u < 1 and end - joints[j] <= _SLIVER and j - 1 >= i:
            j, u = j - 1, 1.0
        u = max(u, t) if i == j else u
        rows = self.segments[i : j + 1]
        if t > 0 or u < 1:
            rows = rows.copy()
            if t > 0:
                rows[0] = bezier.part_of(rows[0].tolist(), t, u if i == j else 1.0)
            if u < 1 and (i < j or t <= 0):
                rows[-1] = bezier.part_of(rows[-1].tolist(), 0.0, u)
        known = end - start > JOIN
        return Curve._of(rows, table.part(rows, (i, t, start), (j, u, end)) if known else None)

    def split(self, *stations: float) -> tuple[Curve, ...]:
        """The curve cut at the stations, taken in rising order: always one more curve than stations.

        A cut at an end, or twice at one place, leaves a curve without length.
        """
        cuts = np.sort(np.clip(np.asarray(stations, dtype=np.float64), 0.0, self.length))
        edges = [0.0, *cuts.tolist(), self.length]
        parts = [self._part(a, b) for a, b in pairwise(edges)]
        for at in range(1, len(parts)):
            before, after = parts[at - 1].end, parts[at]
            if after.start != before:  # one was cut at a joint, the other a sliver beside it
                rows = after.segments.copy()
                rows[0, 0] = before
                parts[at] = Curve._of(rows, None)
        return tuple(parts)

    def between(self, a: float, b: float) -> Curve:
        """The stretch from station `a` to `b`; on a closed curve b <= a runs on through the start.

        ValueError when b lies before a on an open curve.
        """
        length = self.length
        if not self.is_closed:
            if b < a:
                raise ValueError(f"on an open curve the stretch from {a:g} to {b:g} mm runs backwards")
            return self._part(min(max(a, 0.0), length), min(max(b, 0.0), length))
        a, b = a if 0 <= a < length else a % length, b if 0 < b <= length else b % length
        if b > a:
            return self._part(a, b)
        return Curve.join([self._part(a, length), self._part(0.0, b)]) if b > 0 else self._part(a, length)

    def with_start(self, station: float) -> Curve:
        """The same closed curve, started at a station; ValueError when it is open."""
        if not self.is_closed:
            raise ValueError("only a closed curve can start elsewhere")
        return self._on_line_of(self.between(station, station))

    def reversed(self) -> Curve:
        """The same curve from end to start."""
        rows = self.segments[::-1, ::-1]
        table = None if self._table is None else self._table.reversed(rows)
        return self._on_line_of(Curve._of(rows, table))

    def transformed(self, affine: Affine) -> Curve:
        """The image of the curve."""
        rows, factor = bezier.finite(affine.apply(self.segments)), affine.factor
        rows[1:, 0] = rows[:-1, 3]  # a last bit may differ
        return Curve._of(rows, None if self._table is None or factor is None else self._table.scaled(rows, factor))

    def offset(self, distance: float, tolerance: float = 1e-4) -> Curve:
        """The parallel curve `distance` mm to the left (negative: to the right), within `tolerance` mm.

        Inner joints that turn are mitred on the outer side; on the inner side the neighbours are trimmed
        where they cross, and so are stretches of up to 1 mm that bend more tightly than the distance (a
        retracted handle, the unsteady hand at a digitiser). The ends of an open curve stand square to its
        ends, or up to 1 mm further in where such a stretch is left out; a closed curve stays closed.
        Parts of the result that are not neighbours may cross. `OffsetSwallowed` (a ValueError with the
        station) where a longer stretch bends too tightly, or the curve doubles back.
        """
        if distance == 0:
            return self
        if self.is_closed and abs(turn := math.radians(self.joint_turns()[-1])) > 1e-9:
            return self._offset_round_corner(turn, distance, tolerance)
        return Curve(parallel(self.segments, self._lengths, distance, tolerance))

    def _offset_round_corner(self, turn: float, distance: float, tolerance: float) -> Curve:
        """The parallel of a closed curve that starts at a corner, started at that corner's parallel."""
        joints = self.joint_stations
        longest = most_at(differences(joints))
        middle = float(joints[longest] + joints[longest + 1]) / 2
        turned = self.with_start(middle)
        try:
            result = Curve(parallel(turned.segments, turned._lengths, distance, tolerance))
        except OffsetSwallowed as swallowed:
            raise OffsetSwallowed(distance, (swallowed.station + middle) % self.length) from None
        tip = self.start
        if turn * distance < 0:
            tip += 1j * distance * self.tangent(0.0, -1) * complex(1, math.tan(turn / 2))
        joint = least_at(np.abs(result.segments[:, 0] - result.nearest(tip).point))
        return result.with_start(float(result.joint_stations[joint]))

    def polygon(self, tolerance: float = 0.05) -> Points:
        """The vertices of a polyline within `tolerance` mm of the curve: for pictures, never for measuring."""
        bend = np.abs(differences(differences(self.segments))).max(axis=1)
        # A cubic leaves its chord by at most an eighth of its greatest second derivative, 6 * bend.
        counts = np.maximum(1, np.ceil(np.sqrt(0.75 * bend / tolerance))).astype(np.intp)
        if counts.max() == 1:
            return self.vertices()
        index = np.repeat(np.arange(len(counts)), counts)
        step = np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)
        points = bezier.evaluate(self.segments[index], step / counts[index])
        return np.concatenate([points, self.segments[-1:, 3]])

    # --- points near the curve ----------------------------------------------------------------------------

    def nearest(self, point: complex) -> Nearest:
        """The point of the curve nearest to `point`; of several equally near the first found."""
        index, t = feet.nearest(self.segments, self._boxed, complex(point))
        at = snapped_point(self._at(index, t))
        return Nearest(self.station_of(index, t), at, abs(at - point))

    def _boxed(self) -> Reals:
        """The boxes of the segments, found when they are first asked for."""
        boxes = self._boxes
        if boxes is None:
            boxes = bezier.boxes(self.segments)
            object.__setattr__(self, "_boxes", boxes)
        return boxes

    def crossings(self, other: Curve) -> tuple[tuple[float, float], ...]:
        """Where two curves meet at an angle: the stations on this and on the other one, in order along this.

        Where they only run along each other they do not cross.
        """
        i, t, j, u = crossings(self.segments, other.segments)
        return distinct(self._lengths.stations(i, t), other._lengths.stations(j, u))

    def self_crossings(self) -> tuple[tuple[float, float], ...]:
        """Where the curve meets itself at an angle: the lower and the higher station, in order.

        The joints from one segment to the next, and the one where a closed curve closes, do not count.
        """
        if self._crossings is None:
            object.__setattr__(self, "_crossings", self._found_crossings())
        return self._crossings or ()

    def _found_crossings(self) -> tuple[tuple[float, float], ...]:
        i, t, j, u = self_crossings(self.segments)
        if not i.size:
            return ()
        first, second = self._lengths.stations(i, t), self._lengths.stations(j, u)
        apart = second - first
        if self.is_closed:
            apart = np.minimum(apart, self.length - apart)
        real = apart > 10 * JOIN
        return distinct(first[real], second[real])

    def _on_line_of(self, same: Curve) -> Curve:
        """Another curve on the very line of this one: it has its bounds, and where this one crosses itself nowhere it does not either."""
        object.__setattr__(same, "_bounds", self._bounds)
        if self._crossings == ():
            object.__setattr__(same, "_crossings", ())
        return same

    def winding(self, point: complex) -> int:
        """How often the curve, closed by its chord, runs round `point` counter-clockwise."""
        return bezier.winding_number(self.segments, self._boxed(), complex(point))[0]

    def contains(self, point: complex) -> bool:
        """Whether `point` lies inside the curve, closed by its chord, or on it."""
        number, on_line = bezier.winding_number(self.segments, self._boxed(), complex(point))
        return on_line or number != 0


def inner_turns(curves: Sequence[Curve]) -> list[Reals]:
    """The jumps of direction at the inner joints of each of several curves, as `Curve.joint_turns` tells them, worked out together."""
    found: list[Reals] = []
    for some in in_parts(curves, (len(curve.segments) for curve in curves)):
        start, end = bezier.end_directions(bezier.clean_steps(np.concatenate([curve.segments for curve in some])))
        turns = snapped_all(np.degrees(bezier.angles_between(end, rolled(start))))
        ends = np.cumsum([len(curve.segments) for curve in some]).tolist()
        for curve, low, high in zip(some, [0, *ends], ends, strict=False):
            # A segment that is a point lends its directions: that is told curve by curve.
            found.append(turns[low : high - 1] if start[low:high].all() else curve.joint_turns()[: high - low - 1])
    return found


def points_of(curves: Sequence[Curve], stations: Sequence[Reals]) -> list[Points]:
    """The points at an array of stations of each of several curves, as `Curve.points` tells them, worked out together."""
    if not curves:
        return []
    on = [curve._on_curve(at) for curve, at in zip(curves, stations, strict=True)]
    places = LengthTable.all_located([curve._lengths for curve in curves], on)
    rows = np.concatenate([curve.segments[index] for curve, (index, _) in zip(curves, places, strict=True)])
    found = bezier.evaluate(rows, np.concatenate([t for _, t in places]))
    return np.split(found, np.cumsum([len(at) for at in on])[:-1])


def measure(curves: Iterable[Curve]) -> None:
    """Measure the lengths of many curves together, before they are asked for them one by one."""
    unknown = [curve for curve in curves if curve._table is None]
    for some in in_parts(unknown, (len(curve.segments) for curve in unknown)):
        for curve, table in zip(some, LengthTable.all_measured([one.segments for one in some]), strict=True):
            object.__setattr__(curve, "_table", table)
