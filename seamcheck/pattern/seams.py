"""Seams: two sides of edges in a row, and the boundaries on each side.

side      one half of a seam: an edge, or several in a row
boundary  a place along a side where a corner lies: an end, the joint of two edges, or the closed mouth of a dart or a pleat
ray       one of the two stretches of outline that leave a corner: "in" arrives there clockwise, "out" leaves

An edge may run along a line inside the piece (a placement line, an opening drawn on the piece): a plan corner that
lies on such a line and away from the outline puts it there. Junctions on such edges are skipped with that reason.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.pattern.model import Edge, Piece
from seamcheck.pattern.plan import EdgeUse, SeamPlan

if TYPE_CHECKING:
    pass

Ray = tuple[str, str, str]  # piece, corner, "in" or "out"
Node = tuple[str, str]  # piece, corner


class Boundary(NamedTuple):
    """A place along a side where a corner lies; `corners` are one at an end, two at a joint or a closed mouth."""

    station: float
    kind: str  # "end", "joint" or "dart"
    corners: tuple[Node, ...]
    rays: tuple[Ray, ...]


@dataclass(frozen=True, slots=True)
class Side:
    """One half of a seam in one size: its edges in walking order, where each begins, and its boundaries."""

    uses: tuple[EdgeUse, ...]
    edges: tuple[Edge, ...]
    offsets: tuple[float, ...]
    boundaries: tuple[Boundary, ...]
    length: float

    @property
    def names(self) -> tuple[str, ...]:
        """The edges as the plan writes them."""
        return tuple(str(use) for use in self.uses)

    @property
    def words(self) -> str:
        """The edges as one says them, whichever way they are walked."""
        return " + ".join(use.name for use in self.uses)

    @property
    def pieces(self) -> tuple[str, ...]:
        """The pieces, each once."""
        return tuple(dict.fromkeys(use.piece for use in self.uses))

    def within(self, station: float) -> tuple[EdgeUse, Edge, float]:
        """The edge at a distance along the side, and the station on it from the edge's own start."""
        for use, edge, offset in zip(reversed(self.uses), reversed(self.edges), reversed(self.offsets), strict=True):
            if station >= offset - 1e-9 or offset == 0.0:
                along = min(max(station - offset, 0.0), edge.length)
                return use, edge, edge.length - along if use.backwards else along
        raise AssertionError("the first edge begins at 0")

    def place(self, station: float) -> complex:
        """The point of the pattern at a distance along the side."""
        _, edge, along = self.within(station)
        return edge.point(along)


@dataclass(frozen=True, slots=True)
class Seam:
    """A seam in one size. A `twin` seam joins a piece to its own mirror image or copy along one edge."""

    plan: SeamPlan
    first: Side
    second: Side
    twin: bool

    @property
    def name(self) -> str:
        """The seam's name in the plan."""
        return self.plan.name


def _side(uses: Sequence[EdgeUse], pieces: Mapping[str, Piece]) -> Side:
    edges = tuple(pieces[use.piece].edge(use.edge) for use in uses)
    offsets: list[float] = []
    boundaries: list[Boundary] = []
    along = 0.0
    for k, (use, edge) in enumerate(zip(uses, edges, strict=True)):
        offsets.append(along)
        corners = (
            [(use.piece, edge.end), (use.piece, edge.start)]
            if use.backwards
            else [(use.piece, edge.start), (use.piece, edge.end)]
        )
        clockwise = edge.forward != use.backwards
        first_ray, last_ray = ("out", "in") if clockwise else ("in", "out")
        opening = Boundary(along, "end", (corners[0],), ((*corners[0], first_ray),) if not edge.inside else ())
        if k:  # the end of the edge before and the start of this one are sewn to one point
            last = boundaries.pop()
            opening = Boundary(along, "joint", (*last.corners, *opening.corners), (*last.rays, *opening.rays))
        boundaries.append(opening)
        breaks = [pair[::-1] for pair in reversed(edge.breaks)] if use.backwards else list(edge.breaks)
        runs = edge.run_lengths[::-1] if use.backwards else edge.run_lengths
        at = along
        for run, (before, after) in zip(runs, breaks, strict=False):
            at += run
            nodes = ((use.piece, before), (use.piece, after))
            boundaries.append(Boundary(at, "dart", nodes, ((*nodes[0], last_ray), (*nodes[1], first_ray))))
        along += edge.length
        boundaries.append(
            Boundary(along, "end", (corners[1],), ((*corners[1], last_ray),) if not edge.inside else ())
        )
    return Side(tuple(uses), edges, tuple(offsets), tuple(boundaries), along)
