"""A piece as a fit sees it: its edges by what they are, and spots on them from its own proportions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from seamcheck.fits.roles import CENTRE, edges_in_role, is_in_role
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.model import Dart, Edge, Notch, Piece
from seamcheck.pattern.recipe import AlongEdge, AtNotch, Spot
from seamcheck.pattern.spots import found

FAR = 5000.0  # mm: no piece is longer


class LacksRoleError(LookupError):
    """What a fit needs of a piece and the piece does not have: one clear sentence."""


@dataclass(frozen=True, slots=True)
class FitPiece:
    """One piece in one size, and what it is to the fit: "back", "front", "waistband".

    A role names an edge: outseam, inseam, crotch, waist, hem, centre-back, centre-front, upper, lower, fold; "centre" is the edge
    that runs down from the waist at the centre, be it the crotch or one above it.
    """

    piece: Piece
    role: str
    among: tuple[Piece, ...] = ()  # all pieces of its size

    def other(self, role: str) -> FitPiece:
        """Another piece of the size, as the front is to a back; LacksRoleError where there is none, or several."""
        pieces = [piece for piece in self.among if is_in_role(piece, role) and piece.name != self.piece.name]
        if len(pieces) != 1:
            told = f"{len(pieces)} pieces are" if pieces else "no other piece is"
            raise LacksRoleError(f"{told} called a {role}, which goes along with {self.piece.name}")
        return FitPiece(pieces[0], role, self.among)

    def has(self, role: str) -> bool:
        """Whether the piece has an edge in that role, and one alone."""
        return len(self._edges(role)) == 1

    def edge(self, role: str) -> Edge:
        """The edge in that role; LacksRoleError where there is none, or several."""
        edges = self._edges(role)
        if len(edges) != 1:
            called = role.replace("-", " ")
            told = (
                f"no edge of {self.piece.name} is called its {called}"
                if not edges
                else f"{len(edges)} edges of {self.piece.name} are called its {called}"
            )
            raise LacksRoleError(f"{told}; name the edges in the plan, as outseam, inseam, crotch, waist and hem")
        return edges[0]

    def length(self, role: str) -> float:
        """The length of the edge in that role, in mm."""
        return self.edge(role).length

    def corner(self, one: str, other: str) -> str:
        """The name of the corner where the edges in two roles meet; LacksRoleError where they do not."""
        first, second = self.edge(one), self.edge(other)
        for name in (first.start, first.end):
            if name in (second.start, second.end):
                return name
        raise LacksRoleError(f"{self.piece.name}: {first.name} and {second.name} do not meet at a corner")

    def far_corner(self, one: str, other: str) -> str:
        """The name of the corner at the end of the first edge where the second does not meet it."""
        near, edge = self.corner(one, other), self.edge(one)
        return edge.end if edge.start == near else edge.start

    def along(self, role: str, amount: float, other: str) -> AlongEdge:
        """The spot so many mm along an edge from where the other one meets it."""
        return AlongEdge(self.edge(role).name, amount, self.corner(role, other))

    def share(self, role: str, share: float, other: str) -> AlongEdge:
        """The spot at a share, from 0 to 1, of an edge from where the other one meets it."""
        return self.along(role, share * self.length(role), other)

    def at(self, spot: Spot) -> complex:
        """The point of a spot, in the file's axes."""
        return found(self.piece, spot).at

    def notch(self, role: str, share: float, other: str) -> AtNotch | None:
        """The notch of an edge that is nearest to a share of it, from where the other one meets it; None where it has none."""
        edge = self.edge(role)
        wanted = self.share(role, share, other)
        station = found(self.piece, wanted).station
        order = sorted(range(len(edge.notches)), key=lambda k: round(abs(edge.notches[k].station - station), 6))
        return AtNotch(edge.name, order[0] + 1) if order else None

    def notches(self, role: str) -> tuple[Notch, ...]:
        """The notches of the edge in that role, from its start."""
        return self.edge(role).notches

    @property
    def darts(self) -> tuple[Dart, ...]:
        """The darts of the piece."""
        return self.piece.darts

    @property
    def up(self) -> complex:
        """The direction of the longest grain arrow as a unit, from the hem to the waist where it has both; LacksRoleError without an arrow."""
        grain = max(self.piece.grainlines, key=lambda one: one.length, default=None)
        if grain is None or grain.length <= 0:
            raise LacksRoleError(f"{self.piece.name} has no grain arrow, so nothing says which way is up")
        way = grain.points[-1] - grain.points[0]
        way /= abs(way)
        if self.has("hem") and self.has("waist"):
            top, bottom = (edge.point(edge.length / 2) for edge in (self.edge("waist"), self.edge("hem")))
            way = way if ((top - bottom) * way.conjugate()).real > 0 else -way
        return way

    def level(self, spot: Spot, role: str) -> AlongEdge:
        """The spot of another edge at the level of a spot, square to the grain; LacksRoleError where none of it is there."""
        here, edge, across = self.at(spot), self.edge(role), self.up * 1j
        line = Curve.line(here - FAR * across, here + FAR * across)
        hits = sorted((abs(line.point(there) - here), station) for station, there in _crossings(edge, line))
        hits = [hit for hit in hits if hit[0] > 1e-3]
        if not hits:
            raise LacksRoleError(f"{self.piece.name}.{edge.name} has no place at the level of {spot}")
        return AlongEdge(edge.name, hits[0][1], edge.start)

    def _edges(self, role: str) -> tuple[Edge, ...]:
        for one in CENTRE.get(self.role, ()) if role == "centre" else (role,):
            edges = edges_in_role(self.piece, one)
            if edges:
                return edges
        return ()


def _crossings(edge: Edge, line: Curve) -> Iterator[tuple[float, float]]:
    covered = 0.0
    for run in edge.runs:
        for station, there in run.crossings(line):
            yield (covered + station) * edge.smoothing, there
        covered += run.length
