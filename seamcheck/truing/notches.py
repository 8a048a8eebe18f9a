"""Notches put back where their mates are."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from seamcheck.pattern.walk import NotchOrJoint, Walk
from seamcheck.truing.state import State

SLIPPED = 0.02  # mm: a notch off by less stays


def restationed(state: State, pieces: Sequence[str], seams: Collection[str] | None = None) -> State:
    """The pattern with the notches of some pieces moved along their edges until they meet their mates.

    `seams` are the seams to look at; all, where none are given. Where both sides of a seam are among the pieces, the
    notches of the later piece move to those of the earlier: a follower comes behind what it follows.
    """
    places = {piece: place for place, piece in enumerate(pieces)}

    def last(walk: Walk) -> int:
        return max(places.get(piece, -1) for side in (walk.seam.first, walk.seam.second) for piece in side.pieces)

    for walk in sorted(state.walks, key=last):
        if walk.seam.twin or (seams is not None and walk.name not in seams):
            continue
        state = _along_a_seam(state, walk, places)
    return state


def _along_a_seam(state: State, walk: Walk, places: Mapping[str, int]) -> State:
    moves: dict[str, dict[float, float]] = {}
    for match in walk.matches:
        if abs(match.off) <= SLIPPED:
            continue
        ways = ((match.first, walk.seam.first, -match.off), (match.second, walk.seam.second, match.off))
        for mark, side, amount in sorted(ways, key=lambda way: -places.get(way[0].edge.partition(".")[0], -1)):
            piece = mark.edge.partition(".")[0]
            if mark.joint or piece not in places:
                continue
            to = mark.station + amount
            if not 1.0 < to < side.length - 1.0:
                continue
            outline = state.shapes[piece].outline
            old = _notch_station(state, piece, mark)
            if old is not None:
                moves.setdefault(piece, {})[old] = outline.nearest(side.place(to)).station
            break
    for piece, stations in moves.items():
        state = state.with_notches(piece, stations)
    return state


def _notch_station(state: State, piece: str, mark: NotchOrJoint) -> float | None:
    """The station on the outline of the notch that a mark on a seam stands for."""
    near = [(abs(notch.at - mark.at), notch.station) for notch in state.shapes[piece].notches]
    best = min(near, default=None)
    return best[1] if best and best[0] < 1e-3 else None
