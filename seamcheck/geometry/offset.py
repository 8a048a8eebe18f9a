"""The parallel of a chain of segments: sew lines from cut lines, and cut lines from sew lines.

The chain is taken apart at its *kinks*, the joints where the direction jumps, and each smooth *run* between
them is offset by itself. On the outer side of a kink the two parallels are mitred; on the inner side they
overlap and are trimmed where they cross.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from seamcheck.geometry import bezier
from seamcheck.geometry.arclength import LengthTable
from seamcheck.geometry.bezier import Flags, Indices, Points, Reals
from seamcheck.geometry.exact_arrays import least_at, most_at
from seamcheck.geometry.intersections import crossings
from seamcheck.geometry.short_arrays import differences, each_once

_PARALLEL = 1e-9  # radians; lines that differ by less never meet
_NOTHING = 1e-9  # mm; a line that is left no longer than this is eaten
_GRAIN = 1e-6  # mm; of a segment no longer than this the rounding of its coordinates makes the bend
_SHARP = math.radians(15)  # a digitised bend turns by less than this from line to line
_DOUBLED = math.pi - 1e-6  # radians; a joint that turns by more doubles back
SPECK = 1.0  # mm; a stretch that bends too tightly but is no longer than this is trimmed like a kink


class OffsetSwallowed(ValueError):  # noqa: N818 - it names what happened to the curve
    """The curve has no parallel at that distance: it bends more tightly, or doubles back.

    `station` is a place in mm along the curve that is swallowed.
    """

    def __init__(self, distance: float, station: float) -> None:
        """Keep the station; the text is one sentence."""
        self.distance = distance
        self.station = station
        super().__init__(
            f"the line turns too tightly {station:.1f} mm from its start to be offset by {abs(distance):g} mm"
        )

    def __reduce__(self) -> tuple[type[OffsetSwallowed], tuple[float, float]]:
        """Pickle by what it was made from."""
        return OffsetSwallowed, (self.distance, self.station)


def parallel(segments: Points, table: LengthTable, distance: float, tolerance: float) -> Points:
    """The segments of the parallel curve; see `Curve.offset`."""
    sized = np.flatnonzero(_is_sized(segments))
    if not sized.size:
        raise OffsetSwallowed(distance, 0.0)
    rows, stations = segments[sized], table.joints[sized]
    cusps = ~np.isnan(bezier.cusps(rows))
    if cusps.any():
        row, column = np.argwhere(cusps)[0]
        t = bezier.cusps(rows)[row : row + 1, column]
        raise OffsetSwallowed(distance, float(table.stations(sized[row : row + 1], t)[0]))
    if _is_line(rows).all():
        return _parallel_lines(rows, stations, distance)
    return _parallel_runs(rows, sized, table, distance, tolerance)


def _is_sized(segments: Points) -> Flags:
    """Which segments are more than a grain."""
    return np.asarray(np.abs(differences(segments)).sum(axis=1) > _GRAIN)


def _is_line(segments: Points) -> Flags:
    """Which segments are straight and never turn back."""
    chord = segments[:, 3] - segments[:, 0]
    size = np.abs(chord)[:, None]
    along = differences(segments) * np.where(chord == 0, 1, chord).conjugate()[:, None]
    slack = 1e-12 * size**2
    return np.asarray(((np.abs(along.imag) <= slack) & (along.real >= -slack)).all(axis=1) & (chord != 0))


# --- polylines --------------------------------------------------------------------------------------------


def _parallel_lines(rows: Points, stations: Reals, distance: float) -> Points:
    """The parallel of a polyline: every line moved sideways, neighbours meeting where they cross.

    A line that is too short for the kinks at its ends shrinks to nothing on the way. Those that do so first
    are left out first and their neighbours meet instead, as when the polyline moves sideways bit by bit.
    """
    start, end = rows[:, 0].copy(), rows[:, 3].copy()
    heading = (end - start) / np.abs(end - start)
    kept = np.arange(len(rows))
    while True:
        turn = np.angle(heading[1:] * heading[:-1].conjugate())
        if (np.abs(turn) > _DOUBLED).any():
            raise OffsetSwallowed(distance, float(stations[kept[1 + most_at(np.abs(turn))]]))
        shortening = np.tan(turn / 2) * distance
        loss = np.concatenate([[0.0], shortening]) + np.concatenate([shortening, [0.0]])
        size = ((end - start) * heading.conjugate()).real
        if (loss < size - _NOTHING).all():
            break
        with np.errstate(divide="ignore"):
            first = least_at(np.where(loss > 0, size / loss, np.inf))
        at = float(stations[kept[first]])
        if first in (0, len(kept) - 1):
            if len(kept) == 1:
                raise OffsetSwallowed(distance, at)
        else:
            before, after = first - 1, first + 1
            cross = (heading[before].conjugate() * heading[after]).imag
            if abs(cross) < _PARALLEL:
                raise OffsetSwallowed(distance, at)
            gap = start[after] - end[before]
            end[before] += heading[before] * (gap * heading[after].conjugate()).imag / -cross
            start[after] = end[before]
        keep = np.arange(len(kept)) != first
        start, end, heading, kept = start[keep], end[keep], heading[keep], kept[keep]
    _refuse_long_gaps(rows, stations, kept, distance)
    inner = end[:-1] + 1j * distance * heading[:-1] * (1 + 1j * np.tan(turn / 2))
    ends = start[:1] + 1j * distance * heading[:1], end[-1:] + 1j * distance * heading[-1:]
    return bezier.lines(np.concatenate([ends[0], inner, ends[1]]))


def _refuse_long_gaps(rows: Points, stations: Reals, kept: Indices, distance: float) -> None:
    """Raise where what was left out is a bend of its own and not the surroundings of a kink."""
    steps = rows[:, 3] - rows[:, 0]
    turns = np.abs(np.angle(steps[1:] * steps[:-1].conjugate()))
    for low, high in pairwise([-1, *kept.tolist(), len(rows)]):
        if high - low == 1:
            continue
        near = turns[max(low, 0) : high]
        reach = 4 * abs(distance) * float(np.tan(near[near > _SHARP] / 2).sum())
        if float(np.abs(steps[low + 1 : high]).sum()) > SPECK + reach:
            raise OffsetSwallowed(distance, float(stations[low + 1]))


# --- chains with curves -----------------------------------------------------------------------------------


class _Run(NamedTuple):
    """The parallel of a smooth stretch, with what its neighbours need to know of the stretch itself."""

    parallel: Points
    start: complex
    leaving: complex  # unit direction at the start
    arriving: complex  # unit direction at the end
    station: float  # of the start
    length: float


def _run(rows: Points, station: float, length: float, distance: float, tolerance: float) -> _Run:
    leaving, arriving = bezier.end_directions(bezier.clean_steps(rows))
    parallel = bezier.fit(partial(_sample, rows, distance), len(rows), tolerance)
    parallel[1:, 0] = parallel[:-1, 3]
    first, last = complex(leaving[0]), complex(arriving[-1])
    return _Run(parallel, complex(rows[0, 0]), first / abs(first), last / abs(last), station, length)


def _parallel_runs(rows: Points, index: Indices, table: LengthTable, distance: float, tolerance: float) -> Points:
    chains = _mitred(_runs(rows, index, table, distance, tolerance), distance)
    result, last, dropped = chains[0].parallel, chains[0], 0.0
    for chain in chains[1:]:
        turn = _turn(last, chain, distance)
        met = _first_crossing(result, chain.parallel)
        if met is None:
            # Eaten as a whole by a kink nearby, which the next chain must then meet.
            dropped += chain.length
            if dropped > SPECK + 4 * abs(distance * math.tan(turn / 2)):
                raise OffsetSwallowed(distance, chain.station)
            continue
        i, t, j, u = met
        one = np.ones(1)
        head = result[: i + 1].copy()
        head[-1:] = bezier.part(head[-1:], 0 * one, t * one)
        tail = chain.parallel[j:].copy()
        tail[:1] = bezier.part(tail[:1], u * one, one)
        tail[0, 0] = head[-1, 3]
        if abs(tail[0, 0] - chain.start) > SPECK + 3 * abs(distance) / math.cos(turn / 2):
            raise OffsetSwallowed(distance, chain.station)  # they cross, but not about this kink
        result, last, dropped = np.concatenate([head, tail]), chain, 0.0
    if dropped > SPECK:
        raise OffsetSwallowed(distance, chains[-1].station)
    return result


def _turn(before: _Run, after: _Run, distance: float) -> float:
    """The turn in radians from one run to a later one; raises where it doubles back."""
    turn = float(np.angle(after.leaving * before.arriving.conjugate()))
    if abs(turn) > _DOUBLED:
        raise OffsetSwallowed(distance, after.station)
    return turn


def _mitred(runs: list[_Run], distance: float) -> list[_Run]:
    """The runs joined by mitres at their outer kinks, so that only inner kinks are left between them."""
    groups: list[list[_Run]] = []
    for run in runs:
        if groups and _turn(groups[-1][-1], run, distance) * distance < 0:
            groups[-1].append(run)
        else:
            groups.append([run])
    return [_chain(group, distance) for group in groups]


def _chain(group: list[_Run], distance: float) -> _Run:
    pieces = [group[0].parallel]
    for before, after in pairwise(group):
        half = math.tan(_turn(before, after, distance) / 2)
        tip = after.start + 1j * distance * before.arriving * complex(1, half)
        pieces += [bezier.lines(np.array([before.parallel[-1, 3], tip, after.parallel[0, 0]])), after.parallel]
    first, last = group[0], group[-1]
    length = sum(run.length for run in group)
    return _Run(np.concatenate(pieces), first.start, first.leaving, last.arriving, first.station, length)


def _first_crossing(before: Points, after: Points) -> tuple[int, float, int, float] | None:
    """The crossing that costs the least of both: looked for near the joint first, then further away."""
    reach = 4
    while True:
        tail = before[-reach:]
        i, t, j, u = crossings(tail, after[:reach])
        if i.size:
            best = least_at((len(tail) - i - t) + (j + u))
            return int(i[best]) + len(before) - len(tail), float(t[best]), int(j[best]), float(u[best])
        if reach >= max(len(before), len(after)):
            return None
        reach *= 4


def _runs(rows: Points, index: Indices, table: LengthTable, distance: float, tolerance: float) -> list[_Run]:
    """The smooth runs without the specks that bend too tightly."""
    leaving, arriving = (d / np.abs(d) for d in bezier.end_directions(bezier.clean_steps(rows)))
    # A joint whose two parallels end this close to each other needs no mitre.
    kinks = np.abs(np.angle(leaving[1:] * arriving[:-1].conjugate())) * abs(distance) > tolerance / 2
    # Breaks as places on the chain, row + t: the kinks, and both ends of every stretch that is too tight.
    tight = _tight(rows, distance)
    total = float(len(rows))
    edges = each_once(np.concatenate([[0.0, total], 1.0 + np.flatnonzero(kinks), tight.ravel()]))

    def station(place: float) -> float:
        row = min(int(place), len(rows) - 1)
        return float(table.stations(index[row : row + 1], np.array([place - row]))[0])

    runs: list[_Run] = []
    for low, high in pairwise(edges.tolist()):
        if ((tight[:, 0] <= low) & (high <= tight[:, 1])).any():
            continue
        first, last = int(low), math.ceil(high)
        stretch = rows[first:last]
        a, b = np.zeros(len(stretch)), np.ones(len(stretch))
        a[0], b[-1] = low - first, high - (last - 1)
        cut = bezier.part(stretch, a, b)
        cut = cut[_is_sized(cut)]
        if cut.size:
            start = station(low)
            runs.append(_run(cut, start, station(high) - start, distance, tolerance))
    _refuse_long_bends(tight, station, distance)
    if not runs:
        raise OffsetSwallowed(distance, 0.0)
    return runs


def _refuse_long_bends(tight: Reals, station: Callable[[float], float], distance: float) -> None:
    """Raise where a stretch that bends too tightly, over one segment or several, is more than a speck."""
    begin = finish = -1.0
    for low, high in tight:
        begin, finish = (begin if low <= finish else low), high
        if station(finish) - station(begin) > SPECK:
            raise OffsetSwallowed(distance, (station(begin) + station(finish)) / 2)


def _tight(rows: Points, distance: float) -> Reals:
    """The stretches (k, 2), as row + t, where the radius of curvature is no more than the offset, in order.

    Their ends are roots of speed ** 6 = (distance * cross product of the first two derivatives) ** 2, a
    polynomial of degree twelve; between its roots it is enough to look once.
    """
    distance *= 1 + 1e-3  # so that an arc of just this radius is tight all along
    suspect = np.flatnonzero(_may_be_tight(rows, distance))
    if not suspect.size:
        return np.empty((0, 2))
    some = rows[suspect]
    size = np.abs(differences(some)).max(axis=1)[:, None]
    first = bezier.powers(some)[:, 1:] * np.arange(1, 4) / size
    second = first[:, 1:] * np.arange(1, 3)
    speed = bezier.product(first.conjugate(), first)
    bend = bezier.product(first.conjugate(), second).imag[:, :3] * (distance / size)
    excess = bezier.product(bezier.product(speed, speed), speed).real
    excess[:, :5] -= bezier.product(bend.astype(np.complex128), bend.astype(np.complex128)).real
    result = []
    for row, roots in zip(suspect.tolist(), bezier.real_roots(excess), strict=True):
        edges = each_once(np.concatenate([[0.0, 1.0], roots[~np.isnan(roots)]]))
        middle = (edges[:-1] + edges[1:]) / 2
        velocity = bezier.derivative(rows[row], middle)
        cross = (velocity.conjugate() * bezier.second_derivative(rows[row], middle)).imag
        bad = np.flatnonzero(distance * cross >= np.abs(velocity) ** 3)
        result += [(row + edges[k], row + edges[k + 1]) for k in bad.tolist()]
    return np.array(result, dtype=np.float64).reshape(-1, 2)


def _may_be_tight(rows: Points, distance: float) -> Flags:
    """Whether the curvature may reach 1 / distance: a bound from control points of eight parts of each row."""
    result = np.zeros(len(rows), dtype=bool)
    for k in range(8):
        at = np.full(len(rows), k / 8), np.full(len(rows), (k + 1) / 8)
        steps = 3 * differences(bezier.part(rows, *at))
        bends = 2 * differences(steps)
        # Least speed along the chord, greatest sideways bend.
        chord = steps.sum(axis=1)
        heading = (chord / np.where(chord == 0, 1, np.abs(chord))).conjugate()[:, None]
        slowest = np.maximum((steps * heading).real.min(axis=1), 0)
        fastest, bend = np.abs(steps).max(axis=1), np.abs(bends).max(axis=1)
        sideways = np.abs((bends * heading).imag).max(axis=1)
        drift = np.abs((steps * heading).imag).max(axis=1)
        cross = np.minimum(fastest * bend, fastest * sideways + drift * bend)
        result |= abs(distance) * cross >= slowest**3
    return result


def _sample(rows: Points, distance: float, index: Indices, t: Reals) -> tuple[Points, Points]:
    """Points and derivatives of the exact parallels of the rows."""
    some = rows[index]
    size = np.abs(differences(some)).max(axis=1)
    # With a retracted handle the derivative vanishes at that end: look at it from just beside.
    still = np.abs(bezier.derivative(some, t)) <= 1e-7 * size
    beside = np.where(still, np.where(t < 0.5, t + 1e-6, t - 1e-6), t)
    velocity = bezier.derivative(some, beside)
    speed = np.abs(velocity)
    bend = (velocity.conjugate() * bezier.second_derivative(some, beside)).imag / speed**3
    normal = 1j * velocity / speed
    if still.any():
        start, end = bezier.end_directions(bezier.clean_steps(some))
        exact = np.where(t < 0.5, start, end)
        normal = np.where(still, 1j * exact / np.abs(exact), normal)
    return bezier.evaluate(some, t) + distance * normal, velocity * (1 - distance * bend)
