"""What of a pattern was drawn anew: corners that moved, edges that are longer or shorter, notches, the arrow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from seamcheck.pattern.model import Corner, Piece
from seamcheck.truing.state import State
from seamcheck.truing.stray import Stray, stray_of

MOVED = 0.01  # mm
NOTCH_MOVED = 0.05  # mm


@dataclass(frozen=True, slots=True)
class CornerChange:
    """A corner that moved, or whose angle in degrees changed."""

    name: str
    before: complex
    after: complex
    angles: tuple[float, float]


@dataclass(frozen=True, slots=True)
class RedrawnEdge:
    """An edge that was redrawn: its lengths in mm, and how far the new line strays, which is nothing where it only ends elsewhere."""

    name: str
    lengths: tuple[float, float]
    stray: Stray


@dataclass(frozen=True, slots=True)
class MovedNotch:
    """A notch that was moved along its edge: its stations in mm from the edge's start, before and after.

    `moved` is how far it is along the new line from where it was drawn, in mm: also where its station stayed, because
    the start of the edge moved as far.
    """

    edge: str
    stations: tuple[float, float]
    at: tuple[complex, complex]
    moved: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TruedPiece:
    """All that changed on one piece in one size; `grain` is the arrow's direction before and after, in degrees."""

    piece: str
    size: str
    corners: tuple[CornerChange, ...]
    edges: tuple[RedrawnEdge, ...]
    notches: tuple[MovedNotch, ...]
    grain: tuple[float, float] | None


def changes(before: State, after: State) -> Iterator[TruedPiece]:
    """The changes of one size, piece by piece in the pattern's order."""
    new = after.pieces
    for old in before.pattern.pieces:
        if new[old.name] is not old:
            yield _piece_change(old, new[old.name], before.size)


def named_corners(piece: Piece) -> dict[str, Corner]:
    """The corners of a piece that a plan names: those that are found by their turn alone are numbered anew in every drawing."""
    return {corner.name: corner for corner in piece.corners if corner.named}


def _piece_change(old: Piece, new: Piece, size: str) -> TruedPiece:
    corners = named_corners(new)
    edges = {edge.name: edge for edge in new.edges}
    moved = [
        CornerChange(one.name, one.at, corners[one.name].at, (one.angle, corners[one.name].angle))
        for one in named_corners(old).values()
        if one.name in corners
        and (abs(corners[one.name].at - one.at) > MOVED or abs(corners[one.name].angle - one.angle) > 0.05)
    ]
    redrawn = []
    for edge in old.edges:
        other = edges.get(edge.name)
        stray = stray_of(old.name, edge, other) if other is not None else None
        if other is not None and stray is not None:
            redrawn.append(RedrawnEdge(edge.name, (edge.length, other.length), stray))
    grain = None
    if old.grainlines and new.grainlines and old.grainlines != new.grainlines:
        grain = (old.grainlines[0].angle, new.grainlines[0].angle)
    return TruedPiece(
        piece=old.name,
        size=size,
        corners=tuple(moved),
        edges=tuple(redrawn),
        notches=tuple(moved_notches(old, new)),
        grain=grain,
    )


def moved_notches(old: Piece, new: Piece) -> Iterator[MovedNotch]:
    """The notches of a piece that are not where they were on their edges."""
    edges = {edge.name: edge for edge in new.edges}
    for edge in old.edges:
        other = edges.get(edge.name)
        if other is None:
            continue
        for mark, its in zip(edge.notches, other.notches, strict=False):
            along = abs(its.station - other.station_nearest(mark.at))
            if max(along, abs(mark.station - its.station)) > NOTCH_MOVED:
                yield MovedNotch(edge.name, (mark.station, its.station), (mark.at, its.at), along)
