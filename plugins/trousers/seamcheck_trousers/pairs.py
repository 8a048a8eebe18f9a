"""Finding the legs of a pattern, and measuring on them.

leg      a piece with a waist, an outseam, a hem and an inseam, as the plan names its edges
pair     a front and a back leg that the plan sews together at the inseam
height   distance in mm above the hem along the grain arrow
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seamcheck.amounts import Listed, Name, Phrase, phrase

if TYPE_CHECKING:
    from seamcheck.checks.base import Context
    from seamcheck.pattern.model import Edge, Notch, Piece
    from seamcheck.pattern.walk import Walk

# What an edge of a leg may be called, in the trade's own words; "-" and spaces are the same.
WORDS = {
    "waist": ("waist", "top"),
    "outseam": ("outseam", "side", "side seam", "outside leg", "outer leg"),
    "hem": ("hem", "bottom"),
    "inseam": ("inseam", "inside leg", "inner leg", "leg seam"),
}
KNEE = (0.3, 0.8)  # a knee lies between these shares of the inseam's height
FAR = 2000.0  # mm: no leg is wider
LEVEL = 25.4  # mm: two knee notches of one piece are not further apart in height than this (1 in)


def role(name: str) -> str | None:
    """Which part of a leg an edge of this name is, or None."""
    words = re.sub(r"[-_\s]+", " ", name.casefold()).strip()
    return next((part for part, known in WORDS.items() if words in known), None)


def side(name: str) -> str | None:
    """Whether a piece of this name is a "front" or a "back"; None where that is not sure."""
    words = set(re.split(r"[^a-z]+", name.casefold()))
    found = {"front", "back"} & words
    return found.pop() if len(found) == 1 else None


@dataclass(frozen=True, slots=True)
class Leg:
    """A leg and its axis: `hem_middle`, and the direction `up` of the grain from the hem to the waist."""

    piece: Piece
    waist: Edge
    outseam: Edge
    hem: Edge
    inseam: Edge
    hem_middle: complex
    up: complex

    def height(self, point: complex) -> float:
        """How far a point is above the middle of the hem, along the grain."""
        return ((point - self.hem_middle) * self.up.conjugate()).real

    @property
    def crotch_point(self) -> complex:
        """Where inseam and crotch seam meet: the upper end of the inseam."""
        return _upper(self, self.inseam)

    @property
    def rise(self) -> float:
        """The length of the crotch seam with the fly opening: along the outline from the crotch point to the waist."""
        outline = self.piece.outline
        crotch = outline.nearest(self.crotch_point).station
        centre = outline.nearest(self.centre_waist).station
        hem = outline.nearest(self.hem_middle).station
        total = outline.length
        ahead = (centre - crotch) % total
        # The way round that does not pass the hem.
        return ahead if (hem - crotch) % total > ahead else total - ahead

    @property
    def centre_waist(self) -> complex:
        """The end of the waist that is not on the outseam."""
        top = _upper(self, self.outseam)
        ends = self.waist.point(0.0), self.waist.point(self.waist.length)
        return max(ends, key=lambda end: abs(end - top))

    def width(self, height: float) -> float | None:
        """From inseam to outseam at a height, square to the grain; None where the line does not meet both once."""
        across = [_crossings(self, edge, height) for edge in (self.inseam, self.outseam)]
        if any(len(found) != 1 for found in across):
            return None
        return abs(across[0][0] - across[1][0])

    def below(self, edge: Edge, notch: Notch) -> float:
        """The length of a seam from a notch down to the hem."""
        return edge.length - notch.station if self.starts_above(edge) else notch.station

    def starts_above(self, edge: Edge) -> bool:
        """Whether an edge is walked from its upper end."""
        return self.height(edge.point(0.0)) > self.height(edge.point(edge.length))

    def knee(self) -> tuple[Notch, Notch] | None:
        """The knee notches on inseam and outseam: those nearest one height, within the reach of a knee."""
        top = self.height(self.crotch_point)
        pairs = [
            (abs(self.height(inner.at) - self.height(outer.at)), k, inner, outer)
            for inner in self.inseam.notches
            for k, outer in enumerate(self.outseam.notches)
            if all(KNEE[0] * top <= self.height(notch.at) <= KNEE[1] * top for notch in (inner, outer))
        ]
        if not pairs or min(pairs)[0] > LEVEL:
            return None
        _, _, inner, outer = min(pairs, key=lambda pair: pair[:2])
        return inner, outer


@dataclass(frozen=True, slots=True)
class Pair:
    """A front and a back leg, and their inseam as walked."""

    front: Leg
    back: Leg
    walk: Walk

    @property
    def name(self) -> Listed:
        """The two pieces by name."""
        return Listed((Name(self.front.piece.name), Name(self.back.piece.name)))


def pairs(context: Context) -> Iterator[Pair]:
    """Every front and back that are sewn together at an inseam and can be measured."""
    for walk in context.walks:
        sides = (walk.seam.first, walk.seam.second)
        if any(len(one.uses) != 1 or role(one.uses[0].edge) != "inseam" for one in sides):
            continue
        found = {side(one.uses[0].piece): leg(context.pieces[one.uses[0].piece]) for one in sides}
        front, back = found.get("front"), found.get("back")
        if front is not None and back is not None:
            yield Pair(front, back, walk)


def leg(piece: Piece) -> Leg | None:
    """The leg that a piece is; None when an edge or the grain arrow is missing."""
    edges: dict[str, Edge] = {}
    for edge in piece.edges:
        part = role(edge.name)
        if part is not None:
            if part in edges:
                return None
            edges[part] = edge
    grain = max(piece.grainlines, key=lambda one: one.length, default=None)
    if edges.keys() != WORDS.keys() or grain is None or grain.length <= 0:
        return None
    hem, waist = edges["hem"], edges["waist"]
    middle = (hem.point(0.0) + hem.point(hem.length)) / 2
    along = grain.points[-1] - grain.points[0]
    up = along / abs(along)
    if ((waist.point(waist.length / 2) - middle) * up.conjugate()).real < 0:
        up = -up
    return Leg(piece, waist, edges["outseam"], hem, edges["inseam"], middle, up)


def why_none(context: Context) -> Phrase | None:
    """Why a pattern has no pair of legs; None where it is none that should have."""
    legs = [
        name for name, piece in context.pieces.items() if any(role(edge.name) == "inseam" for edge in piece.edges)
    ]
    if not legs:
        return None
    return phrase(
        "{legs} cannot be measured as legs: a front and a back need a grain arrow and edges called waist, "
        "outseam, hem and inseam, and a seam that joins their inseams",
        legs=Listed(tuple(map(Name, legs)), between=" and "),
    )


def _upper(leg: Leg, edge: Edge) -> complex:
    return edge.point(0.0) if leg.starts_above(edge) else edge.point(edge.length)


def _crossings(leg: Leg, edge: Edge, height: float) -> list[float]:
    """Where an edge crosses a height: distances in mm across the grain."""
    from seamcheck.geometry.curve import Curve

    middle = leg.hem_middle + height * leg.up
    level = Curve.line(middle - FAR * leg.up * 1j, middle + FAR * leg.up * 1j)
    return [along - FAR for run in edge.runs for _, along in run.crossings(level)]
