"""Which way round the sizes of a nest lie, whatever the order in which each was drawn.

A band or a collar looks the same turned by half, a sleeve turned over: its corners alone would be named the way it lies. What
tells is how many notches stand on each edge, single or double, in which order, and where. Of a piece that looks like itself one
way round alone its form tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from seamcheck.exact import EXACT
from seamcheck.geometry.fitting import best_fit
from seamcheck.pieces.way_round import SAME_PLACE

if TYPE_CHECKING:
    from seamcheck.pieces.outline import Shape

POINTS = 8  # on each edge, by which two ways round are compared
ALIKE = 0.03  # of the size of a piece: how far another way round may miss it and look the same
CLEAR = 3.0  # times as far: how much worse the next best way round must meet the notches
SHARE = 0.06  # of the way round: by how much an edge may be longer or shorter than in a size that looks the same
SEEN = 0.02  # of an edge's length: what notches must miss by to tell anything
AT_CORNER = 0.5  # mm: a notch this near to a corner is on neither edge


@dataclass(frozen=True, slots=True)
class _Way:
    """A way round: the stations of the corners, in the order of the base's, and whether they run anticlockwise."""

    stations: tuple[float, ...]
    over: bool


def corners_of_turned(nest: Sequence[Shape], wanted: Mapping[str, complex]) -> dict[str, dict[str, complex]]:
    """Where the corners of a plan, which is for one size, lie in each size of which notches or form tell the way round, by size."""
    base = next((size for size in nest if _is_for(size, wanted)), None) if len(nest) > 1 and len(wanted) > 1 else None
    if base is None:
        return {}
    own = _Way(tuple(sorted(base.corners)), over=False)
    names = [
        min(wanted, key=lambda name: abs(base.outline.point(station) - wanted[name])) for station in own.stations
    ]
    edges, (form,) = _shares(base, own), _points(base, [own])
    several = len(list(_alike(edges, form, base))) > 1
    if len(set(names)) < len(names) or not (base.notches if several else base.turn_points):
        return {}
    found = {}
    for size in nest:
        if size is base or len(size.corners) != len(names):
            continue
        ways = list(_alike(edges, form, size))
        way = _told_by_notches(base, own, size, ways) if several else ways[0] if len(ways) == 1 else None
        if way is not None:
            places = (complex(size.outline.point(station)) for station in way.stations)
            found[size.size] = dict(zip(names, places, strict=True))
    return found


def _is_for(size: Shape, wanted: Mapping[str, complex]) -> bool:
    """Whether the plan's corners are those of this size, each of them and no other."""
    if len(size.corners) != len(wanted):
        return False
    points = np.asarray(size.outline.points(np.array(size.corners)))
    return bool(np.abs(np.array(list(wanted.values()))[:, None] - points).min(axis=1).max() <= SAME_PLACE)


def _alike(edges: np.ndarray, form: np.ndarray, size: Shape) -> Iterator[_Way]:
    """The ways round in which a size looks like the base, those in which it is not turned over first.

    `edges` are the shares of the base's edges, `form` the points on them.
    """
    stations = tuple(sorted(size.corners))
    count = len(stations)
    ways = [_Way((*stations[k:], *stations[:k]), over=False) for k in range(count)]
    ways += [_Way(tuple(stations[(k - n) % count] for n in range(count)), over=True) for k in range(count)]
    ways = [way for way in ways if np.abs(_shares(size, way) - edges).max() <= SHARE]
    if len(ways) < 2:
        yield from ways
        return
    off = []
    for way, there in zip(ways, _points(size, ways), strict=True):
        fit = best_fit(form, there, mirrored=way.over, scaled=True, start=np.ones(len(form)))
        off.append(float(np.sqrt((np.abs(fit.apply(form) - there) ** 2).mean())))
    limit = min(off) + ALIKE * float(np.ptp(form.real) + np.ptp(form.imag)) / 2
    yield from (way for way, far in zip(ways, off, strict=True) if far <= limit + EXACT)


def _stretches(size: Shape, way: _Way) -> Iterator[tuple[float, float]]:
    """Where each edge begins and how long it is, in the order of the base's."""
    total = size.outline.length
    for a, b in pairwise((*way.stations, way.stations[0])):
        yield a, ((a - b) if way.over else (b - a)) % total or total


def _shares(size: Shape, way: _Way) -> np.ndarray:
    return np.array([length for _, length in _stretches(size, way)]) / size.outline.length


def _points(size: Shape, ways: Sequence[_Way]) -> np.ndarray:
    """The points on the edges, a row for each way round."""
    at = [
        a + (-length if way.over else length) * k / POINTS
        for way in ways
        for a, length in _stretches(size, way)
        for k in range(POINTS)
    ]
    return np.asarray(size.outline.points(np.array(at) % size.outline.length)).reshape(len(ways), -1)


def _notched(size: Shape, way: _Way) -> list[list[tuple[float, int]]]:
    """The notches of each edge in order: where, as a share of its length, and with how many ticks."""
    sign, total = -1.0 if way.over else 1.0, size.outline.length
    edges = []
    for a, length in _stretches(size, way):
        along = [(sign * (notch.station - a) % total, notch.count) for notch in size.notches]
        edges.append(sorted((at / length, ticks) for at, ticks in along if AT_CORNER < at < length - AT_CORNER))
    return edges


def _told_by_notches(base: Shape, own: _Way, size: Shape, ways: Iterable[_Way]) -> _Way | None:
    """The one way round in which a size has the notches of the base; None where none has, or more than one."""
    wanted = _notched(base, own)
    found = []
    for way in ways:
        there = _notched(size, way)
        if [[ticks for _, ticks in edge] for edge in there] == [[ticks for _, ticks in edge] for edge in wanted]:
            off = [
                abs(a - b)
                for edge, other in zip(wanted, there, strict=True)
                for (a, _), (b, _) in zip(edge, other, strict=True)
            ]
            found.append((max(off, default=0.0), way))
    found.sort(key=lambda one: round(one[0], 6))
    if len(found) > 1 and found[1][0] <= max(CLEAR * found[0][0], SEEN):
        return None
    return found[0][1] if found else None
