"""Which way round the sizes of a nest lie, whatever the order in which each was drawn.

A band or a collar looks the same turned by half, a sleeve turned over: its corners alone would be named the way it lies. What
tells is how many notches stand on each edge, single or double, in which order, and where. Of a piece that looks like itself one
way round alone its form tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from seamcheck.exact import EXACT
from seamcheck.geometry.curve import points_of
from seamcheck.geometry.fitting import best_fits
from seamcheck.geometry.short_arrays import rolled
from seamcheck.pieces.way_round import SAME_PLACE

if TYPE_CHECKING:
    from seamcheck.pieces.outline import Shape

POINTS = 8  # on each edge, by which two ways round are compared
ALIKE = 0.03  # of the size of a piece: how far another way round may miss it and look the same
CLEAR = 3.0  # times as far: how much worse the next best way round must meet the notches
SHARE = 0.06  # of the way round: by how much an edge may be longer or shorter than in a size that looks the same
SEEN = 0.02  # of an edge's length: what notches must miss by to tell anything
AT_CORNER = 0.5  # mm: a notch this near to a corner is on neither edge


class _Way(NamedTuple):
    """A way round: the stations of the corners, in the order of the base's, and whether they run anticlockwise."""

    stations: tuple[float, ...]
    over: bool


def corners_of_turned(nest: Sequence[Shape], wanted: Mapping[str, complex]) -> dict[str, dict[str, complex]]:
    """Where the corners of a plan, which is for one size, lie in each size of which notches or form tell the way round, by size."""
    base = _meant(nest, wanted) if len(nest) > 1 and len(wanted) > 1 else None
    if base is None:
        return {}
    own = _Way(tuple(sorted(base.corners)), over=False)
    names = [
        min(wanted, key=lambda name: abs(corner - wanted[name]))
        for corner in base.outline.points(np.array(own.stations)).tolist()
    ]
    if len(set(names)) < len(names):
        return {}
    several = len(_alike(base, [base])[0]) > 1
    if not (base.notches if several else base.turn_points):
        return {}
    sizes = [size for size in nest if size is not base and len(size.corners) == len(names)]
    found = []
    for size, ways in zip(sizes, _alike(base, sizes), strict=True):
        way = _told_by_notches(base, own, size, ways) if several else ways[0] if len(ways) == 1 else None
        if way is not None:
            found.append((size, way))
    stations = [np.array(way.stations) for _, way in found]
    corners = points_of([size.outline for size, _ in found], stations)
    return {
        size.size: dict(zip(names, at.tolist(), strict=True)) for (size, _), at in zip(found, corners, strict=True)
    }


def _meant(nest: Sequence[Shape], wanted: Mapping[str, complex]) -> Shape | None:
    """The size whose corners are those of the plan, each of them and no other."""
    sizes, places = [size for size in nest if len(size.corners) == len(wanted)], np.array(list(wanted.values()))
    corners = points_of([size.outline for size in sizes], [np.array(size.corners) for size in sizes])
    off = (np.abs(places[:, None] - at).min(axis=1).max() for at in corners)
    return next((size for size, far in zip(sizes, off, strict=True) if far <= SAME_PLACE), None)


def _alike(base: Shape, sizes: Sequence[Shape]) -> list[list[_Way]]:
    """The ways round in which each size looks like the base, those in which it is not turned over first."""
    count = len(base.corners)
    ahead = (np.arange(count)[:, None] + np.arange(count)) % count  # the corners in turn, from each of them on
    back = (np.arange(count)[:, None] - np.arange(count)) % count
    edges = np.array([_shares(size) for size in sizes]).reshape(-1, count)
    # Walked back, an edge begins where it ends.
    turned = np.concatenate([edges[:, ahead], edges[:, back - 1]], axis=1)
    like = np.abs(turned - _shares(base)).max(axis=2) <= SHARE
    several = np.flatnonzero(like.sum(axis=1) > 1).tolist()
    if several:
        like[several] &= _of_one_form(base, [sizes[k] for k in several], like[several])
    found = []
    for size, mine in zip(sizes, like, strict=True):
        stations = np.array(sorted(size.corners))
        ways = zip(np.concatenate([ahead, back])[mine], np.flatnonzero(mine) >= count, strict=True)
        found.append([_Way(tuple(stations[order].tolist()), bool(over)) for order, over in ways])
    return found


def _of_one_form(base: Shape, sizes: Sequence[Shape], asked: np.ndarray) -> np.ndarray:
    """In which of the ways round that are asked for, a row for each size, it comes about as near to the form of the base as in the nearest."""
    (form,) = _points([base])
    steps, count = np.arange(len(form)), len(base.corners)
    order = np.concatenate(
        [(POINTS * way + sign * steps)[None] % len(form) for sign in (1, -1) for way in range(count)]
    )
    rows, ways = np.nonzero(asked)
    there = np.array(_points(sizes))[rows[:, None], order[ways]]
    fits = best_fits(form, there, mirrored=ways >= count, scaled=np.ones(len(ways), dtype=bool))
    off = np.full(asked.shape, np.inf)
    laid = np.array([fit.apply(form) for fit in fits])
    off[rows, ways] = np.sqrt((np.abs(laid - there) ** 2).mean(axis=1))
    limit = off.min(axis=1) + ALIKE * float(np.ptp(form.real) + np.ptp(form.imag)) / 2
    return np.asarray(off <= limit[:, None] + EXACT)


def _stretches(size: Shape, way: _Way) -> Iterator[tuple[float, float]]:
    """Where each edge begins and how long it is, in the order of the base's."""
    total = size.outline.length
    for a, b in pairwise((*way.stations, way.stations[0])):
        yield a, ((a - b) if way.over else (b - a)) % total or total


def _shares(size: Shape) -> np.ndarray:
    """How long the edges from corner to corner are, as shares of the way round."""
    stations, total = np.array(sorted(size.corners)), size.outline.length
    lengths = (rolled(stations) - stations) % total
    return np.asarray(np.where(lengths == 0.0, total, lengths) / total)


def _points(sizes: Sequence[Shape]) -> list[np.ndarray]:
    """The points on the edges of each size, from corner to corner."""
    at = []
    for size in sizes:
        stations, total = np.array(sorted(size.corners)), size.outline.length
        along = stations[:, None] + (_shares(size) * total)[:, None] * (np.arange(POINTS) / POINTS)
        at.append(along.ravel() % total)
    return points_of([size.outline for size in sizes], at)


class _OnEdge(NamedTuple):
    """A notch on an edge: how far from its start it stands, how long the edge is, and how many ticks it has."""

    at: float
    length: float
    ticks: int

    def off(self, other: _OnEdge) -> float:
        """By how much, as a share of the edge, it misses the place of another: a grade keeps its share of the way, or its distance from an end."""
        ends = self.at - other.at, self.length - self.at - (other.length - other.at)
        return min(abs(self.at / self.length - other.at / other.length), *(abs(end) / self.length for end in ends))


def _notched(size: Shape, way: _Way) -> list[list[_OnEdge]]:
    """The notches of each edge in order."""
    sign, total = -1.0 if way.over else 1.0, size.outline.length
    edges = []
    for a, length in _stretches(size, way):
        along = sorted((sign * (notch.station - a) % total, notch.count) for notch in size.notches)
        edges.append([_OnEdge(at, length, ticks) for at, ticks in along if AT_CORNER < at < length - AT_CORNER])
    return edges


def _told_by_notches(base: Shape, own: _Way, size: Shape, ways: Iterable[_Way]) -> _Way | None:
    """The one way round in which a size has the notches of the base; None where none has, or more than one."""
    wanted = _notched(base, own)
    found = []
    for way in ways:
        there = _notched(size, way)
        if [[one.ticks for one in edge] for edge in there] == [[one.ticks for one in edge] for edge in wanted]:
            pairs = (zip(edge, other, strict=True) for edge, other in zip(there, wanted, strict=True))
            off = [one.off(other) for edge in pairs for one, other in edge]
            found.append((max(off, default=0.0), way))
    found.sort(key=lambda one: round(one[0], 6))
    if len(found) > 1 and found[1][0] <= max(CLEAR * found[0][0], SEEN):
        return None
    return found[0][1] if found else None
