"""Where the spots of a recipe are on a piece."""

from __future__ import annotations

from typing import NamedTuple

from seamcheck.pattern.model import Edge, Piece
from seamcheck.pattern.recipe import AlongCut, AlongEdge, AtCorner, AtNotch, Spot
from seamcheck.spelling import UnknownNameError


class NoSpotError(LookupError):
    """A spot that a piece does not have; the text says why, and what there is."""


class OnEdge(NamedTuple):
    """A spot of a piece: its edge, the station on it in mm, and the point; `edge` is None for a corner within the piece."""

    edge: Edge | None
    station: float
    at: complex


def edge_of(piece: Piece, name: str) -> Edge:
    """The edge of that name; NoSpotError where the piece has none."""
    try:
        return piece.edge(name)
    except UnknownNameError as error:
        raise NoSpotError(str(error)) from None


def found(piece: Piece, spot: Spot, edge: str | None = None) -> OnEdge:
    """Where a spot is; for a corner the edge that is asked for, else the one that starts there.

    NoSpotError for what the piece does not have, and for a spot on a cut, which lies on no edge.
    """
    if isinstance(spot, AlongCut):
        raise NoSpotError(f'"{spot}" is no place of an edge; only a relief cut begins there')
    if isinstance(spot, AtCorner):
        return _corner(piece, spot.corner, edge)
    if not isinstance(spot, AtNotch | AlongEdge):
        raise TypeError(f"a {type(spot).__name__} is no spot")
    own = edge_of(piece, spot.edge)
    if isinstance(spot, AtNotch):
        if not 1 <= spot.number <= len(own.notches):
            count = len(own.notches)
            has = "no notch" if not count else "1 notch" if count == 1 else f"{count} notches"
            raise NoSpotError(f"{piece.name}.{own.name} has {has}, so there is no notch {spot.number} of it")
        mark = own.notches[spot.number - 1]
        return OnEdge(own, mark.station, own.point(mark.station))
    station = station_from(piece, own, spot)
    return OnEdge(own, station, own.point(station))


def station_from(piece: Piece, edge: Edge, spot: AlongEdge) -> float:
    """The station of a spot on its edge, in mm from the edge's start; NoSpotError beyond its ends."""
    if spot.corner not in (edge.start, edge.end):
        raise NoSpotError(
            f"{piece.name}.{edge.name} runs from {edge.start} to {edge.end}, and not from {spot.corner}"
        )
    away = spot.amount * edge.length if spot.share else spot.amount
    if not -1e-9 <= away <= edge.length + 1e-9:
        raise NoSpotError(f"{piece.name}.{edge.name} is {edge.length:.1f} mm long, so {spot} lies beyond its end")
    return away if spot.corner == edge.start else edge.length - away


def _corner(piece: Piece, name: str, edge: str | None) -> OnEdge:
    ends = [one for one in piece.edges if name in (one.start, one.end) and not one.inside]
    ends.sort(key=lambda one: (one.name != edge, one.start != name))
    if ends:
        station = 0.0 if ends[0].start == name else ends[0].length
        return OnEdge(ends[0], station, ends[0].point(station))
    for one in piece.edges:
        for inner, station in one.inner:
            if inner == name:
                return OnEdge(one, station, one.point(station))
    for dart in piece.darts:
        for corner, at in zip(dart.corners, dart.points, strict=True):
            if corner == name:
                return OnEdge(None, 0.0, at)
    known = [*(corner.name for corner in piece.corners), *(corner for dart in piece.darts for corner in dart.corners)]
    raise NoSpotError(str(UnknownNameError(f"piece {piece.name}", "corner", name, tuple(dict.fromkeys(known)))))
