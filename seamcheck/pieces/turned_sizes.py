"""Which way round the sizes of a nest lie, where a piece looks the same another way round and its notches tell.

A band or a collar looks the same turned by half, a sleeve turned over: its corners alone would be named the way it lies. What
tells is how many notches stand on each edge, single or double, in which order, and where.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
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
SEEN = 0.02  # of an edge's length: what notches must miss by to tell anything
AT_CORNER = 0.5  # mm: a notch this near to a corner is on neither edge


@dataclass(frozen=True, slots=True)
class _Way:
    """A way round: the stations of the corners, in the order of the base's, and whether they run anticlockwise."""

    stations: tuple[float, ...]
    over: bool


def corners_by_notches(nest: Sequence[Shape], wanted: Mapping[str, complex]) -> dict[str, dict[str, complex]]:
    """Where the corners of a plan lie in each size of which the notches tell the way round, by size; the plan is for one of them."""
    if len(nest) < 2 or len(wanted) < 2:
        return {}
    base = next((size for size in nest if _is_for(size, wanted)), None)
    if base is None or not base.notches:
        return {}
    own = _Way(tuple(sorted(base.corners)), over=False)
    names = [min(wanted, key=lambda name: abs(base.outline.point(station) - wanted[name])) for station in own.stations]
    if len(set(names)) < len(names) or len(list(_alike(base, own, base))) < 2:
        return {}
    found = {}
    for size in nest:
        if size is base or len(size.corners) != len(names):
            continue
        way = _told_by_notches(base, own, size)
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


def _alike(base: Shape, own: _Way, size: Shape) -> Iterator[_Way]:
    """The ways round in which a size looks like the base, those in which it is not turned over first."""
    stations = tuple(sorted(size.corners))
    count = len(stations)
    ways = [_Way((*stations[k:], *stations[:k]), over=False) for k in range(count)]
    ways += [_Way(tuple(stations[(k - n) % count] for n in range(count)), over=True) for k in range(count)]
    form = _points(base, own)
    off = []
    for way in ways:
        there = _points(size, way)
        fit = best_fit(form, there, mirrored=way.over, scaled=True, start=np.ones(len(form)))
        off.append(float(np.sqrt((np.abs(fit.apply(form) - there) ** 2).mean())))
    limit = min(off) + ALIKE * float(np.ptp(form.real) + np.ptp(form.imag)) / 2
    yield from (way for way, far in zip(ways, off, strict=True) if far <= limit + EXACT)


def _stretches(size: Shape, way: _Way) -> Iterator[tuple[float, float]]:
    """Where each edge begins and how long it is, in the order of the base's."""
    total = size.outline.length
    for a, b in pairwise((*way.stations, way.stations[0])):
        yield a, ((a - b) if way.over else (b - a)) % total or total


def _points(size: Shape, way: _Way) -> np.ndarray:
    sign, total = -1.0 if way.over else 1.0, size.outline.length
    at = [a + sign * length * k / POINTS for a, length in _stretches(size, way) for k in range(POINTS)]
    return np.asarray(size.outline.points(np.array(at) % total))


def _notched(size: Shape, way: _Way) -> list[list[tuple[float, int]]]:
    """The notches of each edge in order: where, as a share of its length, and with how many ticks."""
    sign, total = -1.0 if way.over else 1.0, size.outline.length
    edges = []
    for a, length in _stretches(size, way):
        along = [(sign * (notch.station - a) % total, notch.count) for notch in size.notches]
        edges.append(sorted((at / length, ticks) for at, ticks in along if AT_CORNER < at < length - AT_CORNER))
    return edges


def _told_by_notches(base: Shape, own: _Way, size: Shape) -> _Way | None:
    """The one way round in which a size has the notches of the base; None where none has, or more than one."""
    wanted = _notched(base, own)
    found = []
    for way in _alike(base, own, size):
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
