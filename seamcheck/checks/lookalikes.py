"""Pieces that could be sewn in the wrong way round because their notches fit that way too.

way     a piece turned so that one of its edges lies where another (or the same, end for end) belongs: turned face up where that
        keeps the piece on its side of the seam, else turned over, which only a piece that is cut as a mirrored pair can be
alike   outline and notches of the turned piece lie within 1/2 in of where they belong; exactly there, no harm is done
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.exact import least
from seamcheck.geometry.kept import kept

if TYPE_CHECKING:
    from seamcheck.checks.base import Context
    from seamcheck.geometry.bezier import Points
    from seamcheck.pattern.model import Edge, Piece
    from seamcheck.pattern.seams import Side
    from seamcheck.pattern.walk import Walk

APART = 12.7  # mm: 1/2 in, by which the notches of look-alike seams should differ
SAME = 0.8  # mm: what differs by less is sewn just as well one way as the other

Marks = tuple[tuple[float, int], ...]  # station from the start of the clockwise edge, and single, double or more


class Alike(NamedTuple):
    """A wrong way that fits: how far its notches miss at most, and how far notches and outline are off at most, in mm."""

    seam: str
    piece: str
    edge: str
    other: str
    apart: float
    off: float
    at: complex


def look_alikes(context: Context) -> Iterator[Alike]:
    """Every wrong way round that a sewist could take for the right one, each once."""
    for piece in context.pieces.values():
        sewn = [(walk, side, edge) for walk, side, edge in _sewn(context, piece.name) if edge.notches]
        for k, (walk, side, edge) in enumerate(sewn):
            paired = _cut(context, piece.name) == "pair"
            if paired and (found := _fits(piece, walk, side, edge, edge, turned_over=True)):
                yield found
            for other_walk, _, other in sewn[k + 1 :]:
                if other_walk is walk or other is edge:
                    continue
                ways = [
                    _fits(piece, walk, side, edge, other, turned_over=over) for over in (False, True)[: 1 + paired]
                ]
                likely = [way for way in ways if way is not None]
                if likely:
                    yield least(likely, key=lambda way: way.apart)


def _cut(context: Context, name: str) -> object:
    return next((one.cut for one in context.plan.pieces if one.name == name), None) if context.plan else None


def _sewn(context: Context, name: str) -> Iterator[tuple[Walk, Side, Edge]]:
    """The seams in which an edge of a piece makes a whole side; a piece drawn as a half cannot be turned."""
    if _cut(context, name) == "fold":
        return
    for walk in context.walks:
        if walk.seam.twin:
            continue
        for side in (walk.seam.first, walk.seam.second):
            if len(side.uses) == 1 and side.uses[0].piece == name and not side.edges[0].inside:
                yield walk, side, side.edges[0]


def _fits(piece: Piece, walk: Walk, side: Side, edge: Edge, other: Edge, *, turned_over: bool) -> Alike | None:
    """Whether the piece also fits with `other` where `edge` belongs."""
    here, there = _marks(edge), _marks(other)
    if turned_over:
        there = tuple((other.length - station, count) for station, count in reversed(there))
    if [count for _, count in here] != [count for _, count in there]:
        return None
    apart = max(abs(a - b) for (a, _), (b, _) in zip(here, there, strict=True))
    apart = max(apart, abs(edge.length - other.length))
    if apart >= APART:
        return None
    shape = _shape_off(piece, edge.name, other.name, turned_over)
    off = max(apart, shape)
    if shape >= APART or off <= SAME:
        return None
    return Alike(
        seam=walk.name,
        piece=piece.name,
        edge=edge.name,
        other=other.name,
        apart=apart,
        off=off,
        at=side.place(side.length / 2),
    )


def _marks(edge: Edge) -> Marks:
    ahead = [(one.station, one.count) for one in edge.notches]
    return tuple(ahead if edge.forward else [(edge.length - station, count) for station, count in reversed(ahead)])


@kept
def _shape_off(piece: Piece, edge: str, other: str, turned_over: bool, /) -> float:
    """How far the outline of the turned piece lies from its own place at most, at its corners and halfway between them."""
    from seamcheck.geometry.distances import distances

    start, end = _ends(piece.edge(edge))
    from_start, from_end = _ends(piece.edge(other))
    if turned_over:
        from_start, from_end = from_end, from_start
    stretch = from_end - from_start
    if abs(stretch) < 1e-9 or abs(end - start) < 1e-9:
        return APART
    if turned_over:
        stretch = stretch.conjugate()
    turn = (end - start) / stretch
    turn /= abs(turn)
    middle, from_middle = (start + end) / 2, (from_start + from_end) / 2

    arms = _points(piece) - from_middle
    moved = middle + turn * (arms.conj() if turned_over else arms)
    return float(distances(piece.outline, moved).max())


def _ends(edge: Edge) -> tuple[complex, complex]:
    """The ends of an edge, clockwise."""
    ends = edge.runs[0].start, edge.runs[-1].end
    return ends if edge.forward else ends[::-1]


@kept
def _points(piece: Piece) -> Points:
    import numpy as np

    stations = np.array(sorted(corner.station for corner in piece.corners) or [0.0])
    total = piece.outline.length
    steps = (np.append(stations[1:], stations[0]) - stations) % total
    steps[steps == 0.0] = total
    along = stations[:, None] + steps[:, None] * np.array([0.0, 0.25, 0.5, 0.75])
    return piece.outline.points(along.ravel() % total)
