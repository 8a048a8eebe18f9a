"""Where the vertices of an outline in apparel DXF go when it is drawn anew, in all sizes of a nest alike.

Vertices keep their number and order, so that turn points, curve points, grade rules and notches stay theirs: those on a redrawn
stretch move to the same share of the new line. Where a straight step became a curve, curve points are added, and where the new
line bends, a point at the bend; in a nest at vertices of the same numbers in all sizes, since the base size alone says what is a
corner.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from seamcheck.exact import least
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.pieces.markings import ShapeNotch
from seamcheck.pieces.outline import Shape
from seamcheck.places import Place
from seamcheck.truing.dxf_pairs import Record

ROOM = 6.0  # times what a notch moves: how far vertices to both sides make room for it
STEP = 10.0  # mm between curve points on a stretch that became a curve
SAME = 2e-5  # mm: a vertex that moves less stays as it is written
ON_VERTEX = 1e-3  # mm: what lies this near to a vertex is on it
SMOOTH = 0.3  # degrees: a vertex that turns less is no corner any more, if it was one only for its kink
KINK = 0.5
STRAIGHT = 1e-3  # mm
APART = 0.5  # mm: a bend nearer to a vertex needs none of its own


@dataclass(slots=True)
class VertexLine:
    """A closed line of one piece in one size, as it was and as it is: its records, where its vertices are and where they go."""

    old: Curve
    new: Curve
    place: Place
    records: list[Record]  # the polyline, its vertices, its end
    points: list[complex]  # mm
    stations: list[float]  # on the new line
    bears: list[bool]  # which vertices bear a corner or a notch

    @property
    def changed(self) -> bool:
        """Whether it was drawn anew."""
        return self.new is not self.old

    @property
    def clockwise(self) -> bool:
        """Whether the vertices run as the outline does."""
        total = self.new.length
        return sum((b - a) % total for a, b in pairwise(self.stations)) < 1.5 * total

    def at(self, ahead: float) -> float:
        """The station so far from the first vertex, as the vertices run."""
        return (self.stations[0] + (ahead if self.clockwise else -ahead)) % self.new.length


def bearing(points: Sequence[complex], line: Curve, shape: Shape) -> list[bool]:
    """Which vertices of a line of a piece bear a corner or a notch."""
    marks = [foot for notch in shape.notches for foot in _feet(notch, shape)]
    marks += [shape.outline.point(station) for station in shape.corners]
    return [
        min((abs(point - mark) for mark in marks), default=np.inf) < ON_VERTEX
        or turned(line, line.nearest(point).station) >= KINK
        for point in points
    ]


def with_notches(
    points: Sequence[complex], stations: Sequence[float], bears: Sequence[bool], old: Shape, new: Shape
) -> list[float]:
    """Stations of vertices, those that bear a notch where that is now: in a nest the notches of all sizes are known by their vertices.

    Vertices that a notch would pass make room for it, up to the next one that bears a mark of its own; where that is too near, the
    notch leaves its vertex behind.
    """
    found, total = list(stations), new.outline.length
    feet = [[_feet(notch, shape) for notch in shape.notches] for shape in (old, new)]
    for was, now in zip(*feet, strict=True):
        moves = {}  # of the vertices of one notch, which may be double: where each goes
        for foot, to in zip(was, now, strict=False):
            k = min(range(len(points)), key=lambda k: abs(points[k] - foot))
            if abs(points[k] - foot) < ON_VERTEX:
                moves[k] = new.outline.nearest(to).station
        if not moves:
            continue
        first = next(iter(moves))
        off = [_wrapped(station - found[first], total) for station in found]
        low, high = (pick(off[k] for k in moves) for pick in (min, max))
        beside = [d - min(max(d, low), high) for d in off]  # how far beyond the notch's own vertices
        way = _wrapped(moves[first] - found[first], total)
        others = [abs(beside[j]) for j in range(len(points)) if j not in moves and bears[j]]
        reach = min([ROOM * abs(way), *others])
        if reach < 2.0 * abs(way):
            continue
        ahead = [d for j, d in enumerate(beside) if j not in moves and d * way > 0.0]
        if any(abs(d) < abs(way) + 1.0 for d in ahead):
            for j, d in enumerate(beside):
                if j not in moves and abs(d) < reach:
                    found[j] = (found[j] + way * (1.0 - abs(d) / reach)) % total
        for k, station in moves.items():
            found[k] = station
    return found


def _feet(notch: ShapeNotch, shape: Shape) -> list[complex]:
    """Where the ticks of a notch stand on its outline; its own place where it is drawn as a point."""
    near = shape.outline.nearest
    ends = [min(tick, key=lambda end: near(end).distance) for tick in notch.ticks]
    return ends or [shape.outline.point(notch.station)]


def _wrapped(along: float, total: float) -> float:
    """A way along a closed line, the shorter way round."""
    return (along + total / 2) % total - total / 2


def line_up(outlines: Sequence[VertexLine]) -> None:
    """Shift vertices along the new lines, so that new kinks lie between vertices of the same numbers in all sizes.

    In a nest all sizes have their corners at the vertices at which the base size has them. Where a vertex bears a mark, all stays.
    """
    changed = [outline for outline in outlines if outline.changed]
    kinks = [_new_kinks(outline) for outline in changed]
    if not kinks or not kinks[0] or len({len(each) for each in kinks}) > 1:
        return
    ahead = [[_ahead(outline, station) for station in outline.stations] for outline in changed]
    numbers = [[sum(one < kink for one in mine) for kink in each] for mine, each in zip(ahead, kinks, strict=True)]
    wanted = [sorted(each)[len(each) // 2] for each in zip(*numbers, strict=True)]
    shifted = [_between_kinks(*one, wanted) for one in zip(changed, ahead, kinks, strict=True)]
    if all(one is not None for one in shifted):
        for outline, places in zip(changed, shifted, strict=True):
            outline.stations[:] = [outline.at(place) for place in places or ()]


def _new_kinks(outline: VertexLine) -> list[float]:
    """How far from the first vertex the new line has kinks that are at no corner of the old one."""
    joints = [float(one) for one in outline.new.joint_stations[:-1] if turned(outline.new, float(one)) >= KINK]
    corners = [station for station, bears in zip(outline.stations, outline.bears, strict=True) if bears]
    total = outline.new.length
    return sorted(
        _ahead(outline, one) for one in joints if all(abs(_wrapped(one - at, total)) > APART for at in corners)
    )


def _ahead(outline: VertexLine, station: float) -> float:
    """How far it is from the first vertex to a station, as the vertices run."""
    way = station - outline.stations[0]
    return (way if outline.clockwise else -way) % outline.new.length


def _between_kinks(
    outline: VertexLine, ahead: Sequence[float], kinks: Sequence[float], wanted: Sequence[int]
) -> list[float] | None:
    """Where vertices go so that as many as wanted lie before each kink, and none at it; None where one that has to go bears a mark."""
    places = list(ahead)
    stops = [0.0, *kinks, outline.new.length]
    for (low, high), (first, last) in zip(pairwise(stops), pairwise([0, *wanted, len(places)]), strict=True):
        stay = [k for k in range(first, last) if k == 0 or low + APART < places[k] < high - APART]
        for before, behind in pairwise([first - 1, *stay, last]):
            begin = places[before] if before >= first else low
            end = places[behind] if behind < last else high
            for k in range(before + 1, behind):
                if outline.bears[k]:
                    return None
                places[k] = begin + (end - begin) * (k - before) / (behind - before)
    return places


def added_points(outlines: Sequence[VertexLine]) -> list[int]:
    """How many curve points to add behind each vertex, for all sizes alike where they have the same vertices."""
    counts = {len(outline.points) for outline in outlines}
    if len(counts) > 1:
        return [0] * max(counts)
    found = [0] * counts.pop()
    for outline in outlines:
        if outline.changed:
            found = [max(pair) for pair in zip(found, _needed(outline), strict=True)]
    return found


def _needed(outline: VertexLine) -> Iterator[int]:
    total = outline.new.length
    for k, start in enumerate(outline.stations):
        length = _way(outline, k)
        bends = len(_bends(outline, k))
        if not 1.5 * STEP < length < total - 1e-6:
            yield bends
            continue
        end = (start + length) if outline.clockwise else start
        stretch = outline.new.between((end - length) % total, end % total)
        middle = stretch.point(length / 2)
        stays = outline.old.nearest(middle).distance < SAME
        yield bends if stays or stretch.is_straight(STRAIGHT) else max(bends, int(np.ceil(length / STEP)) - 1)


def _way(outline: VertexLine, k: int) -> float:
    """How far it is on the new line from a vertex to the next one."""
    way = outline.stations[(k + 1) % len(outline.stations)] - outline.stations[k]
    return (way if outline.clockwise else -way) % outline.new.length


def _bends(outline: VertexLine, k: int) -> list[float]:
    """Where the new line between a vertex and the next one turns, or becomes straight: how far behind the vertex."""
    line = outline.new
    ahead = line.joint_stations[:-1] - outline.stations[k]
    ahead = (ahead if outline.clockwise else -ahead) % line.length
    found = []
    for joint in np.flatnonzero((ahead > APART) & (ahead < _way(outline, k) - APART)).tolist():
        ruled = straight(line.segments[[joint - 1, joint]])
        if ruled[0] != ruled[1] or turned(line, float(line.joint_stations[joint])) >= KINK:
            found.append(float(ahead[joint]))
    return sorted(found)


def placed(outline: VertexLine, k: int, more: int) -> list[float]:
    """The stations of so many places between a vertex and the next one: evenly, but for those at which the line bends."""
    places = [_way(outline, k) * j / (more + 1) for j in range(1, more + 1)]
    free = list(range(more))
    for bend in _bends(outline, k)[:more]:
        nearest = least(free, key=lambda j: abs(places[j] - bend))
        places[nearest] = bend
        free.remove(nearest)
    sign = 1 if outline.clockwise else -1
    return [(outline.stations[k] + sign * ahead) % outline.new.length for ahead in sorted(places)]


def kinked(outlines: Sequence[VertexLine], added: Sequence[int]) -> set[tuple[int, int]]:
    """Which places have a kink that was not there before: by the number of a vertex, and that of the added place behind it or 0.

    In a nest those alone that have it in every size that was drawn anew: what is a corner is known of all by the base size.
    """
    found = []
    for outline in outlines:
        if outline.changed:
            kinks = set()
            for k, (point, station) in enumerate(zip(outline.points, outline.stations, strict=True)):
                more = added[k] if k < len(added) else 0
                was = turned(outline.old, outline.old.nearest(point).station)
                places = [station, *placed(outline, k, more)]
                kinks |= {
                    (k, j) for j, at in enumerate(places) if turned(outline.new, at) >= KINK and (j or was < SMOOTH)
                }
            found.append(kinks)
    return set.intersection(*found) if found else set()


def turned(line: Curve, station: float) -> float:
    """By how many degrees a line turns at a station, or at the joint that is meant by it."""
    joint = least(line.joint_stations.tolist(), key=lambda one: abs(one - station))
    station = joint if abs(joint - station) < ON_VERTEX else station
    return abs(float(np.degrees(np.angle(line.tangent(station, 1) / line.tangent(station, -1)))))
