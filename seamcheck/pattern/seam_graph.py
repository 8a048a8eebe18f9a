"""The seam graph: edges, the seams that join them, and the junctions where corners come together.

side      one half of a seam: an edge, or several in a row
boundary  a place along a side where a corner lies: an end, the joint of two edges, or the closed mouth of a dart or a pleat
sector    the angle of cloth that one corner (or a straight stretch of edge) brings to a junction
ray       one of the two stretches of outline that leave a corner: "in" arrives there clockwise, "out" leaves
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from seamcheck.amounts import Name, Reason, phrase
from seamcheck.pattern.junctions import Jog, Junction, _Gluing
from seamcheck.pattern.model import Piece
from seamcheck.pattern.plan import Plan, SeamPlan
from seamcheck.pattern.seams import Seam, _side


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamGraph:
    """The seams of one size, each joining nodes that are (piece, edge)."""

    nodes: tuple[tuple[str, str], ...]
    seams: tuple[Seam, ...]
    lost: Mapping[str, Reason] = field(default_factory=dict)  # seams that cannot be walked, and why
    junctions: tuple[Junction, ...] = ()
    unjudged: tuple[tuple[tuple[str, ...], Reason], ...] = ()  # corners of junctions left aside, and why
    jogs: tuple[Jog, ...] = ()
    _seams_of: Mapping[tuple[str, str], tuple[str, ...]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Keep which seams each edge is in, in the order of their names."""
        found: dict[tuple[str, str], dict[str, None]] = {}
        for seam in sorted(self.seams, key=lambda seam: seam.name):
            for use in (*seam.plan.sides[0], *seam.plan.sides[1]):
                found.setdefault((use.piece, use.edge), {})[seam.name] = None
        object.__setattr__(self, "_seams_of", {node: tuple(names) for node, names in found.items()})

    @property
    def network(self) -> Any:
        """The same as a networkx multigraph, made anew: the name of a seam is the key of each pair of edges that it joins."""
        import networkx

        network = networkx.MultiGraph()
        network.add_nodes_from(self.nodes)
        for seam in self.seams:
            for a in seam.plan.sides[0]:
                for b in seam.plan.sides[1]:
                    network.add_edge((a.piece, a.edge), (b.piece, b.edge), key=seam.name)
        return network

    def seams_of(self, piece: str, edge: str) -> tuple[str, ...]:
        """The names of the seams an edge is in."""
        return self._seams_of.get((piece, edge), ())


def build_graph(pieces: Mapping[str, Piece], plan: Plan | None) -> SeamGraph:
    """Join the edges of one size's pieces by the plan's seams."""
    seams: list[Seam] = []
    lost: dict[str, Reason] = {}
    for seam_plan in plan.seams if plan else ():
        why = _why_lost(seam_plan, pieces)
        if why is not None:
            lost[seam_plan.name] = why
            continue
        first, second = (_side(uses, pieces) for uses in seam_plan.sides)
        twin = seam_plan.sides[0] == seam_plan.sides[1]
        seams.append(Seam(seam_plan, first, second, twin))
    junctions, unjudged, jogs = _Gluing(pieces, plan, seams).judge() if plan else ((), (), ())
    return SeamGraph(
        nodes=tuple((piece.name, edge.name) for piece in pieces.values() for edge in piece.edges),
        seams=tuple(seams),
        lost=lost,
        junctions=junctions,
        unjudged=unjudged,
        jogs=jogs,
    )


def _why_lost(seam: SeamPlan, pieces: Mapping[str, Piece]) -> Reason | None:
    for use in (*seam.sides[0], *seam.sides[1]):
        if use.piece not in pieces:
            why = phrase("piece {piece} is not in the file in this size", piece=Name(use.piece))
            return Reason("piece-missing", why)
        piece = pieces[use.piece]
        if use.edge in piece.lost_edges:
            why = phrase("edge {edge}: {why}", edge=Name(use.name), why=piece.lost_edges[use.edge])
            return Reason("edge-unsure", why)
        if all(edge.name != use.edge for edge in piece.edges):
            why = phrase("piece {piece} has no edge {edge}", piece=Name(use.piece), edge=Name(use.edge))
            return Reason("edge-missing", why)
    return None
