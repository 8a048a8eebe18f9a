"""How a check tells where on an edge or at which corner something is, and what the line does there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.amounts import Fact, Length, Name, Point
from seamcheck.exact import EXACT

if TYPE_CHECKING:
    from seamcheck.pattern.model import Edge, Piece


def along(piece: Piece, edge: Edge, station: float) -> dict[str, Fact]:
    """The facts "edge", "distance" and "end" of a place on an edge, measured from its nearer end."""
    from_start = station <= edge.length / 2 + EXACT
    return {
        "edge": Name(f"{piece.name}.{edge.name}"),
        "distance": Length(station if from_start else edge.length - station),
        "end": corner_of(piece, edge.start if from_start else edge.end),
    }


def shape(outward: float) -> str:
    """What a line does that should run on: seen from outside the piece a positive turn is a bump, a negative one a dip."""
    return "a bump" if outward > 0 else "a dip"


def corner_of(piece: Piece, name: str) -> Fact:
    """A corner by its name; one that is only numbered by its place in the drawing, since nobody knows its number."""
    corner = next((one for one in piece.corners if one.name == name), None)
    return Name(name) if corner is None or corner.named else Point(corner.at)
