"""What lies on and in an outline: notches, grain, folds, drill holes, inside lines and words, each with why it was taken so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from seamcheck.exact import EXACT, least, most
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.geometry.intersections import crossings
from seamcheck.geometry.loops import close_loops, open_chains
from seamcheck.pattern.drawing import LineMark, Mark, PointMark, Role, TextMark
from seamcheck.pattern.model import Grainline, InsideLine, TakenFor, Tick
from seamcheck.pieces.corners import CORNER_REACH
from seamcheck.places import NOWHERE, Place

if TYPE_CHECKING:
    from seamcheck.pieces.nesting import Inner

TICK = 15.0  # mm: a loose line up to this long that touches an outline is a notch
SHORTEST_TICK = 1.0  # mm: what is shorter has no direction to speak of
WAVER = 0.1  # of its length: how far the middle of a traced tick may lie beside the line between its ends
ROUND = 1.1  # times the way between the two feet of a V, at most, goes the outline
SHALLOWEST = 2.0  # mm: how far from the outline the tip of a V that is a notch lies at least
TOUCH = 1.0  # mm: how near an end must come to the outline to touch it
SAME_NOTCH = 0.5  # mm: marks this close together are one single notch
ACROSS = (
    0.5  # sine of the angle from which on an edge runs across a tick that lies along the other edge of their corner
)
DOUBLE_NOTCH = 10.0  # mm: notches this close together are one double (or triple) notch; common practice, no source


@dataclass(frozen=True, slots=True)
class ShapeNotch:
    """A notch on an outline: where, its station along the outline, single, double or more, and what makes it one.

    `ticks` are the straight marks it is drawn with, each from end to end; none where the file gives only its place.
    """

    at: complex
    station: float
    count: int
    why: str = field(default="", compare=False)
    ticks: tuple[Tick, ...] = field(default=(), compare=False)
    place: Place = field(default=NOWHERE, compare=False)
    stations: tuple[float, ...] = field(default=(), compare=False)  # of its marks, one after another


class Markings(NamedTuple):
    """All that lies on and in one outline. `used` are the marks it was made of, `reasons` say what they were taken for.

    Folds and drill holes have their places in the file beside them.
    """

    notches: tuple[ShapeNotch, ...]
    stray_notches: tuple[complex, ...]
    grainlines: tuple[Grainline, ...]
    folds: tuple[Curve, ...]
    inside: tuple[InsideLine, ...]
    drill_holes: tuple[complex, ...]
    fold_places: tuple[Place, ...]
    hole_places: tuple[Place, ...]
    reasons: tuple[TakenFor, ...]
    used: tuple[Mark, ...]


def read_markings(
    outline: Curve,
    lines: Sequence[LineMark],
    points: Sequence[PointMark],
    inside: Mapping[int, Inner],
    cut: Curve | None = None,
) -> Markings:
    """Sort the marks of one piece.

    `inside` tells, by identity, what closed lines within it are taken for and why; `cut` is the cut line round a
    sew line: a notch on it counts on the sew line at the point nearest to it.
    """
    used: list[Mark] = []
    reasons: list[TakenFor] = []
    ticks = {
        id(line) for line in lines if line.role is None and id(line) not in inside and is_tick(line, outline, cut)
    }
    notched = [line for line in lines if line.role is Role.NOTCH or id(line) in ticks]
    marked = [point for point in points if point.role is Role.NOTCH]
    ends = _ends_of_internal_lines(lines, inside)
    notch_points = [point for point in marked if all(abs(point.at - end) > SAME_NOTCH + EXACT for end in ends)]
    reasons += [TakenFor("end of an internal line", "no notch, though it is marked as one")] * (
        len(marked) - len(notch_points)
    )
    notches, strays = _notches(outline, cut, notched, notch_points)
    used += notched
    used += marked
    shafts = [line for line in lines if line.role is Role.GRAIN]
    used += shafts
    folds = [line for line in lines if line.role is Role.FOLD]
    holes: list[Mark] = [point for point in points if point.role is Role.DRILL]
    holes += [line for line in lines if line.role is Role.DRILL]
    internals = [
        line
        for line in lines
        if line.role in (Role.INTERNAL, Role.CUTOUT, Role.DART)
        or id(line) in inside
        or (line.role is None and id(line) not in ticks)
    ]
    reasons += [TakenFor("fold", fold.why) for fold in folds]
    for line in internals:
        if id(line) in inside:
            inner = inside[id(line)]
            reasons.append(TakenFor(inner.what, inner.why))
        elif line.role is not None:
            reasons.append(TakenFor(line.role.value, line.why))
    reasons += [TakenFor("drill hole", hole.why) for hole in holes if not isinstance(hole, TextMark)]
    used += [*folds, *holes, *internals]
    return Markings(
        notches=notches,
        stray_notches=strays,
        grainlines=_grainlines(shafts),
        folds=tuple(line.curve for line in folds),
        inside=tuple(_inside_line(line, inside) for line in internals),
        drill_holes=tuple(middle_of(hole) for hole in holes),
        fold_places=tuple(line.place for line in folds),
        hole_places=tuple(hole.place for hole in holes),
        reasons=counted(reasons),
        used=tuple(used),
    )


def _ends_of_internal_lines(lines: Sequence[LineMark], inside: Mapping[int, Inner]) -> list[complex]:
    """Where the open lines inside a piece end that a file says are internal lines: a point there is the end of one."""
    return [
        end
        for line in lines
        if line.role is Role.INTERNAL and not line.closed and id(line) not in inside and line.curve.length > TICK
        for end in (line.curve.start, line.curve.end)
    ]


def _inside_line(line: LineMark, inside: Mapping[int, Inner]) -> InsideLine:
    inner = inside.get(id(line))
    names = tuple(name for name in (line.label, line.layer) if name)
    return InsideLine(
        curve=line.curve, role=line.role, what=inner.what if inner else "", names=names, place=line.place
    )


def counted(reasons: Iterable[TakenFor]) -> tuple[TakenFor, ...]:
    """The reasons in order, each once, with how often it holds."""
    times: dict[tuple[str, str], int] = {}
    for what, why, many in reasons:
        times[what, why] = times.get((what, why), 0) + many
    return tuple(TakenFor(what, why, many) for (what, why), many in times.items())


def middle_of(mark: Mark | Curve) -> complex:
    """Where a mark is: a point's place, the middle of a line's box."""
    if isinstance(mark, PointMark | TextMark):
        return mark.at
    x0, y0, x1, y1 = (mark if isinstance(mark, Curve) else mark.curve).bounds()
    return complex((x0 + x1) / 2, (y0 + y1) / 2)


def is_tick(line: LineMark, outline: Curve, cut: Curve | None = None) -> bool:
    """Whether a line without a role is a notch: short, straight, and on or across the outline or the cut line round it.

    A tick that was traced may waver as much as a hand does.
    """
    waver = max(0.1, WAVER * line.curve.chord)
    if line.closed or line.curve.length > TICK + EXACT or not line.curve.is_straight(waver):
        return False
    ends = (line.curve.start, line.curve.end)
    drawn = [curve for curve in (outline, cut) if curve is not None]
    return any(curve.nearest(end).distance <= TOUCH + EXACT for curve in drawn for end in ends) or any(
        len(crossings(curve.segments, line.curve.segments)[0]) for curve in drawn
    )


def wedge_at(mark: Curve, outline: Curve, cut: Curve | None = None) -> float | None:
    """The station on an outline of the middle of a small V, triangle, diamond or slit with its foot on it or on the cut line round it."""
    count = len(mark.segments)
    if not (3 <= count <= 4 if mark.is_closed else count == 2) or not straight(mark.segments).all():
        return None
    x0, y0, x1, y1 = mark.bounds()
    if max(x1 - x0, y1 - y0) > TICK + EXACT:
        return None
    corners = mark.segments[:, 0].tolist() if mark.is_closed else [mark.start, mark.segments[0, 3], mark.end]
    for line in (outline, cut):
        near = [line.nearest(complex(corner)) for corner in corners] if line is not None else []
        feet = [one.station for one in near if one.distance <= TOUCH + EXACT]
        off = [one.distance for one in near if one.distance > TOUCH + EXACT]
        whole = mark.is_closed or (near and max(near[0].distance, near[-1].distance) <= TOUCH + EXACT)
        if line is None or len(feet) != 2 or not whole or min(off, default=0.0) < SHALLOWEST - EXACT:
            continue
        apart = (feet[1] - feet[0] + line.length / 2) % line.length - line.length / 2
        if abs(apart) > ROUND * abs(line.point(feet[1]) - line.point(feet[0])):
            continue  # it stands across a corner
        station = (feet[0] + apart / 2) % line.length
        return station if line is outline else outline.nearest(line.point(station)).station
    return None


def _notches(
    outline: Curve, cut: Curve | None, lines: Sequence[LineMark], points: Sequence[PointMark]
) -> tuple[tuple[ShapeNotch, ...], tuple[complex, ...]]:
    """Notches on the outline, close ones counted together, and the notches that touch no outline."""
    found: list[tuple[float, str, Tick | None, Place]] = []
    strays: list[complex] = []
    for point in points:
        near = outline.nearest(point.at)
        if near.distance <= TOUCH + EXACT or (cut is not None and cut.nearest(point.at).distance <= TOUCH + EXACT):
            found.append((near.station % outline.length, point.why, _tick_of_point(point), point.place))
        else:
            strays.append(point.at)
    wedges = [wedge_at(line.curve, outline, cut) for line in lines]
    met = iter(_crossings(outline, [line.curve for line, at in zip(lines, wedges, strict=True) if at is None]))
    for line, wedge in zip(lines, wedges, strict=True):
        station, distance = next(met) if wedge is None else (wedge, 0.0)
        if distance > TICK + EXACT and cut is not None:
            on_cut, distance = _crossings(cut, [line.curve])[0]
            station = outline.nearest(cut.point(on_cut)).station
        if distance <= TICK + EXACT:
            why = line.why or "a short line that touches the outline"
            found.append((station % outline.length, why, _tick_of_line(line.curve), line.place))
        else:
            strays.append(middle_of(line))
    total = outline.length
    groups: list[list[tuple[float, str, Tick | None, Place]]] = []
    for one in sorted(found, key=lambda one: (round(one[0], 6), one[1])):
        if groups and one[0] - groups[-1][-1][0] <= DOUBLE_NOTCH + EXACT:
            groups[-1].append(one)
        else:
            groups.append([one])
    if len(groups) > 1 and groups[0][0][0] + total - groups[-1][-1][0] <= DOUBLE_NOTCH + EXACT:
        groups[0] = [(one[0] - total, *one[1:]) for one in groups.pop()] + groups[0]
    notches = []
    for group in groups:
        stations = [station for station, *_ in group]
        distinct = [stations[0]] + [b for a, b in pairwise(stations) if b - a > SAME_NOTCH]
        middle = (distinct[0] + distinct[-1]) / 2 % total
        ticks = tuple(mark for _, _, mark, _ in group if mark is not None)
        _, why, _, place = group[0]
        notches.append(ShapeNotch(outline.point(middle), middle, len(distinct), why, ticks, place, tuple(distinct)))
    return tuple(notches), tuple(strays)


def notch_of(outline: Curve, stations: Sequence[float], like: ShapeNotch) -> ShapeNotch:
    """Marks at several stations as one notch, single, double or more; what else is said of it is that of another."""
    middle = (stations[0] + stations[-1]) / 2 % outline.length
    return replace(
        like, at=outline.point(middle), station=middle, count=len(stations), stations=tuple(stations), ticks=()
    )


def _tick_of_point(point: PointMark) -> Tick | None:
    """The mark that a point with a direction stands for; 1 mm of it where the file tells no depth."""
    if point.angle is None:
        return None
    return point.at, point.at + (point.depth or 1.0) * complex(np.exp(1j * np.radians(point.angle)))


def _tick_of_line(line: Curve) -> Tick | None:
    """A notch that is drawn as one straight line; other shapes (a V, a T) have no one direction."""
    return (line.start, line.end) if line.chord >= SHORTEST_TICK - EXACT and line.is_straight(0.1) else None


def _corner_of(outline: Curve, tick: Curve) -> float | None:
    """The station of the corner that a tick marks which lies along the outline, square to the edge before or behind; None where it does not.

    Where such a tick crosses a line that is drawn unsteadily, or whether it does, tells nothing.
    """
    if not outline.is_closed or not tick.is_straight(0.1) or tick.chord < SHORTEST_TICK:
        return None
    ends = [outline.nearest(end) for end in (tick.start, tick.end)]
    if max(near.distance for near in ends) > SAME_NOTCH or tick.chord < 4 * max(near.distance for near in ends):
        return None
    along, reach, total = (tick.end - tick.start) / tick.chord, min(CORNER_REACH, outline.length / 8), outline.length
    found = []
    for near in ends:
        here = outline.point(near.station)
        ways = (
            here - outline.point((near.station - reach) % total),
            outline.point((near.station + reach) % total) - here,
        )
        found.append(
            (max(abs((way * along.conjugate()).imag) / abs(way) for way in ways if way), near.station % total)
        )
    across, station = most(found, key=lambda one: one[0])
    return station if across >= ACROSS else None


def _crossings(outline: Curve, ticks: Sequence[Curve]) -> list[tuple[float, float]]:
    """For each tick the station where it meets the outline, and how far it stays away from it (0 where it crosses)."""
    corners = [_corner_of(outline, tick) for tick in ticks]
    crossed = _crossed(outline, [tick for tick, corner in zip(ticks, corners, strict=True) if corner is None])
    found = []
    for tick, corner in zip(ticks, corners, strict=True):
        station = next(crossed) if corner is None else corner
        if station is not None:
            found.append((station, 0.0))
            continue
        best = least((outline.nearest(end) for end in (tick.start, tick.end)), key=lambda near: near.distance)
        found.append((best.station, best.distance))
    return found


def _crossed(outline: Curve, ticks: Sequence[Curve]) -> Iterator[float | None]:
    """The first station of the outline at which each tick crosses it, all looked for at once; None where it does not."""
    if not ticks:
        return
    index, t, row, _ = crossings(outline.segments, np.concatenate([tick.segments for tick in ticks]))
    of = np.repeat(np.arange(len(ticks)), [len(tick.segments) for tick in ticks])[row]
    for number in range(len(ticks)):
        first = np.flatnonzero(of == number)[:1]
        yield outline.station_of(int(index[first[0]]), float(t[first[0]])) if len(first) else None


def _grainlines(lines: Sequence[LineMark]) -> tuple[Grainline, ...]:
    """Grain arrows without their heads; straight lines that follow each other are one arrow with a bend."""
    if not lines:
        return ()
    longest = max(line.curve.length for line in lines)
    shafts = [line for line in lines if line.curve.length > 0.25 * longest]
    curves = [line.curve for line in shafts]
    loops, left = close_loops(curves, (0.05,))
    arrows = []
    for chain in open_chains(curves, left, 0.05):
        points = [chain.curve.start, *(complex(p) for p in chain.curve.segments[:, 3])]
        shaft = shafts[chain.members[0]]
        arrows.append(Grainline(tuple(_without_idle_vertices(points)), shaft.why, shaft.place))
    for loop in loops:
        shaft, middle = shafts[loop.members[0]], loop.curve.point(loop.curve.length / 2)
        arrows.append(Grainline((loop.curve.start, middle), shaft.why, shaft.place))
    return tuple(arrows)


def _without_idle_vertices(points: Sequence[complex]) -> list[complex]:
    """Drop vertices that repeat or lie on the straight line between their neighbours (within 1e-6 mm)."""
    kept = [points[0]]
    for k in range(1, len(points)):
        if abs(points[k] - kept[-1]) < 1e-9:
            continue
        if len(kept) > 1:
            base = points[k] - kept[-2]
            off = abs(((kept[-1] - kept[-2]) * np.conj(base)).imag) / abs(base) if abs(base) > 0 else 1.0
            if off < 1e-6 and ((kept[-1] - kept[-2]) * np.conj(base)).real > 0:
                kept.pop()
        kept.append(points[k])
    return kept if len(kept) > 1 else [points[0], points[-1]]


# Words
