"""How a check tells where on an edge something is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.amounts import Fact, Length, Name

if TYPE_CHECKING:
    from seamcheck.pattern.model import Edge, Piece


def along(piece: Piece, edge: Edge, station: float) -> dict[str, Fact]:
    """The facts "edge", "distance" and "end" of a place on an edge, measured from its nearer end."""
    from_start = station <= edge.length / 2
    return {
        "edge": Name(f"{piece.name}.{edge.name}"),
        "distance": Length(station if from_start else edge.length - station),
        "end": Name(edge.start if from_start else edge.end),
    }
