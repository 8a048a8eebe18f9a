"""A dart closed and opened again in another place, about the same tip: the part between the two turns, and no sewn line changes.

Only a dart that the outline is drawn round has two edges to close.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from seamcheck.altering.carry import carried
from seamcheck.altering.cutting import STILL, CannotCutError, Cutting, halves
from seamcheck.altering.darts import ON_OUTLINE, dart_of
from seamcheck.altering.turning import place, which_stays
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.model import Edge, Piece
from seamcheck.pattern.recipe import DartMove
from seamcheck.pattern.spots import found
from seamcheck.truing.state import State

LEGS = 1.6  # mm: 1/16 in; legs that differ by more are trued first, since they close on one another
CLEAR = 10.0  # mm: a new mouth is no nearer to the old one


class _Reopened:
    """An outline from the old mouth, where the legs closed, round to the new one, in to the tip and out again."""

    def __init__(
        self, outline: Curve, mouth: tuple[float, float], tip: float, opened: float, motions: tuple[Affine, Affine]
    ) -> None:
        self.old, self.total = outline, outline.length
        self.mouth, self.opened = mouth, opened
        # Clockwise: from behind the old mouth to the new one, and from there to before the old mouth.
        self.after, self.before = motions
        one = outline.between(mouth[1] % self.total, opened % self.total).transformed(self.after)
        two = outline.between(opened % self.total, mouth[0] % self.total).transformed(self.before)
        at = outline.point(tip)
        rows = [one.segments, Curve.line(one.end, at).segments, Curve.line(at, two.start).segments, two.segments]
        joined = np.concatenate(rows)
        joined[0, 0] = joined[-1, 3]
        self.lengths = [one.length, abs(at - one.end), abs(at - two.start), two.length]
        raw = Curve(joined)
        self.first = self._placed(0.0) % raw.length
        self.outline = raw.with_start(self.first) if 1e-9 < self.first < raw.length - 1e-9 else raw
        self.ends = one.end, at, two.start

    def _placed(self, station: float) -> float:
        ahead = (station - self.mouth[1]) % self.total
        to_opened = (self.opened - self.mouth[1]) % self.total
        if ahead <= to_opened + 1e-9:
            return min(ahead, self.lengths[0])
        into = (station - self.opened) % self.total
        if into <= self.lengths[3] + 1e-9:
            return sum(self.lengths[:3]) + into
        return sum(self.lengths[:2])  # on a leg that closed: the tip

    def now_at(self, station: float) -> float:
        """Where a station of the old outline is on the new one."""
        total = self.outline.length
        here = (self._placed(station) - self.first) % total
        return 0.0 if total - here < 1e-6 else here

    def is_kept(self, station: float) -> bool:
        """Whether a station of the old outline is on no leg."""
        inside = (station - self.mouth[0]) % self.total
        return not 1e-6 < inside < (self.mouth[1] - self.mouth[0]) % self.total - 1e-6

    def motion_at(self, station: float) -> Affine:
        """The motion of the part that a station of the old outline belongs to."""
        ahead = (station - self.mouth[1]) % self.total
        return self.after if ahead < (self.opened - self.mouth[1]) % self.total else self.before


def reopened(state: State, step: DartMove) -> State:
    """The pattern with a dart closed and opened at another spot; CannotCutError where that cannot be."""
    assert step.into is not None
    piece = state.pieces[step.piece]
    dart = dart_of(piece, step.dart)
    ring, total = piece.outline, piece.outline.length
    stations = [ring.nearest(at).station for at in dart.points]
    if ring.nearest(dart.points[1]).distance > ON_OUTLINE:
        raise CannotCutError(
            f"the dart {dart.corners[1]} is drawn by lines within {piece.name}; draw it into the outline, to close it"
        )
    forward = (stations[1] - stations[0]) % total < (stations[2] - stations[0]) % total
    order = (0, 1, 2) if forward else (2, 1, 0)
    first, tip, last = (stations[k] for k in order)
    legs = [abs(dart.points[k] - dart.points[1]) for k in (order[0], order[2])]
    if abs(legs[0] - legs[1]) > LEGS:
        raise CannotCutError(
            f"the legs of the dart {dart.corners[1]} differ by {abs(legs[0] - legs[1]):.1f} mm, so they do not close on one another; true them first"
        )
    opened = place(piece, step.into, opens=True)
    if (
        min((opened - last) % total, (first - opened) % total) < CLEAR
        or (opened - first) % total < (last - first) % total
    ):
        raise CannotCutError(f"{step.into} lies too near to where the dart opens now")
    line, parts = halves(ring, opened, tip)
    still = which_stays(piece, parts, step.stays)
    at = ring.point(tip)
    turn = float(
        np.degrees(np.angle((ring.point(first) - at) / (ring.point(last) - at)))
    )  # lays the last leg on the first
    # The first part runs from the new mouth to the tip and holds the first leg, the second one the last.
    motions = (STILL, Affine.rotation(turn, about=at)) if still == 0 else (Affine.rotation(-turn, about=at), STILL)
    cutting = Cutting(ring, parts, (line,)).moved(motions)
    laid = _Reopened(ring, (first, last), tip, opened, (motions[1], motions[0]))
    names = [dart.corners[k] for k in order]
    edge = found(piece, step.into).edge
    assert edge is not None
    try:
        return carried(
            state,
            step.piece,
            cutting,
            laid,
            dict(zip(names, laid.ends, strict=True)),
            _edges(state, piece, edge, names, opened),
        )
    except ValueError as error:
        raise CannotCutError(f"the dart cannot be opened there ({error})") from error


def _edges(state: State, piece: Piece, edge: Edge, names: list[str], opened: float) -> Mapping[str, tuple[str, ...]]:
    """The ways of the edges, past the dart where it opens now; where a plan does not lead them past it, they stay."""
    ways = dict(state.plans[piece.name].edges)
    past = [name for name, way in ways.items() if set(names) <= set(way)]
    if not past or edge.name not in ways:
        return ways
    for name in past:
        ways[name] = tuple(corner for corner in ways[name] if corner not in names)
    way, total = list(ways[edge.name]), piece.outline.length
    stations = {corner.name: corner.station % total for corner in piece.corners}
    begin = stations[way[0]]

    def ahead(station: float) -> float:
        return (station - begin) % total if edge.forward else (begin - station) % total

    number = next((k for k in range(1, len(way)) if ahead(stations.get(way[k], begin)) > ahead(opened)), len(way) - 1)
    way[number:number] = names if edge.forward else names[::-1]
    ways[edge.name] = tuple(way)
    return ways
