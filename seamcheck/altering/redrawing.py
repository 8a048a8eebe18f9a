"""Stretches of an outline drawn anew between places that stay, and what ends on them going along.

side       a stretch of one edge from a place to another, as it is walked from the first
led        an edge led on straight past its end, or cut back along its own line
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from seamcheck.altering.cutting import CannotCutError
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import arriving
from seamcheck.pattern.model import Edge, Piece
from seamcheck.pattern.recipe import AtCorner, Spot
from seamcheck.pattern.spots import NoSpotError, found
from seamcheck.truing.redraw import NEAR
from seamcheck.truing.state import Replacement, State, spliced
from seamcheck.truing.stray import led_on

TIP = 4.0  # mm of an edge before its end that are drawn anew when it is led on or cut back
TOUCHES = 0.5  # mm: a line within the piece that ends this near to the outline ends on it
PROBE = 0.1  # mm
SHORTEST = 1.0  # mm


@dataclass(frozen=True, slots=True)
class SideOfPiece:
    """A stretch of outline from a station to another, walked clockwise or, where `backwards`, against it; `curve` as it is walked."""

    start: float
    end: float
    curve: Curve
    backwards: bool

    def replaced_by(self, curve: Curve) -> Replacement:
        """What takes its place, given as it is walked."""
        return (
            Replacement(self.end, self.start, curve.reversed())
            if self.backwards
            else Replacement(self.start, self.end, curve)
        )


def side(piece: Piece, edge: Edge, a: float, b: float) -> SideOfPiece:
    """The stretch of an edge from one of its stations to another; CannotCutError across the mouth of a dart or pleat."""
    ring, total = piece.outline, piece.outline.length
    low, high = sorted((a, b))
    covered = 0.0
    for length in edge.run_lengths:
        if low >= covered - 1e-6 and high <= covered + length + 1e-6:
            break
        covered += length
    else:
        raise CannotCutError(
            f"a dart or pleat opens on {piece.name}.{edge.name} between the two places; keep to one side of it"
        )
    if high - low < SHORTEST:
        raise CannotCutError(f"both places on {piece.name}.{edge.name} are one")
    first, last = _at(piece, edge, a, covered), _at(piece, edge, b, covered)
    backwards = edge.forward != (b > a)
    line = (
        ring.between(last % total, first % total).reversed()
        if backwards
        else ring.between(first % total, last % total)
    )
    return SideOfPiece(first, last, line, backwards)


def _at(piece: Piece, edge: Edge, station: float, covered: float) -> float:
    """The station on the outline of a station of an edge, on the run that begins there."""
    k, begun = 0, 0.0
    while begun < covered - 1e-6:
        begun += edge.run_lengths[k]
        k += 1
    run = edge.runs[k]
    along = min(max((station - covered) / edge.smoothing, 0.0), run.length)
    begin = piece.outline.nearest(run.point(run.length / 2)).station
    return (begin + (along - run.length / 2) * (1 if edge.forward else -1)) % piece.outline.length


def corner_edges(piece: Piece, corner: str, along: str) -> tuple[Edge, Edge]:
    """The edge of that name, which ends at a corner, and the other one there; NoSpotError where it does not."""
    found(piece, AtCorner(corner))
    own = next((edge for edge in piece.edges if edge.name == along), None)
    if own is None or corner not in (own.start, own.end):
        names = [edge.name for edge in piece.edges if corner in (edge.start, edge.end) and not edge.inside]
        raise NoSpotError(f"{piece.name}.{along} does not end at {corner}; there meet {' and '.join(names)}")
    other = next(
        (edge for edge in piece.edges if edge.name != along and corner in (edge.start, edge.end) and not edge.inside),
        None,
    )
    if other is None:
        raise NoSpotError(f"no other edge of {piece.name} ends at {corner}")
    return own, other


def end_station(edge: Edge, corner: str) -> float:
    """The station of a corner at one of the ends of an edge."""
    return 0.0 if edge.start == corner else edge.length


def next_mark(edge: Edge, corner: str) -> float:
    """The station of the next mark on an edge from one of its corners: a notch, if it is not too near, a dart's mouth, or its other end."""
    here = end_station(edge, corner)
    ends = [0.0, edge.length, *np.cumsum(edge.run_lengths).tolist()]
    stops = [*ends, *(notch.station for notch in edge.notches if abs(notch.station - here) >= NEAR)]
    return float(
        min((stop for stop in stops if abs(stop - here) > 1e-3), key=lambda stop: round(abs(stop - here), 6))
    )


def to_corner(piece: Piece, edge: Edge, corner: str, start: Spot | None) -> SideOfPiece:
    """The stretch of an edge up to one of its corners, from a spot of it, or from its next mark."""
    station = next_mark(edge, corner) if start is None else on_edge(piece, edge, start)
    return side(piece, edge, station, end_station(edge, corner))


def on_edge(piece: Piece, edge: Edge, spot: Spot) -> float:
    """The station of a spot on an edge; NoSpotError where it lies on another one."""
    here = found(piece, spot, edge.name)
    if here.edge is None or here.edge.name != edge.name:
        raise NoSpotError(f"{spot} does not lie on {piece.name}.{edge.name}")
    return here.station


def led(piece: Piece, edge: Edge, corner: str, amount: float) -> tuple[SideOfPiece, Curve]:
    """The last bit of an edge before one of its corners, and what it becomes when it is led on by `amount` mm or cut back."""
    here = end_station(edge, corner)
    room = min(edge.run_lengths[0 if here == 0.0 else -1], max(-amount, 0.0) + TIP)
    if -amount >= room - 1e-3:
        raise CannotCutError(f"{piece.name}.{edge.name} is too short to be cut back by {-amount:.1f} mm at {corner}")
    if any(abs(notch.station - here) <= -amount for notch in edge.notches):
        raise CannotCutError(f"a notch of {piece.name}.{edge.name} would be cut away at {corner}")
    bit = side(piece, edge, here + room if here == 0.0 else here - room, here)
    return bit, led_on(bit.curve, amount)


def turn_between(old: Curve, new: Curve) -> float:
    """By how many radians the direction at the end of a line changed."""
    return float(np.angle(arriving(new) / arriving(old)))


def outward(piece: Piece, curve: Curve, station: float) -> complex:
    """The unit normal of a line of the outline that points out of the piece."""
    at, normal = curve.point(station), curve.tangent(station) * 1j
    return -normal if piece.outline.contains(at + PROBE * normal) else normal


def spanned(curve: Curve, start: complex, end: complex) -> Curve:
    """A line turned and stretched as a whole to new ends."""
    if start == curve.start and end == curve.end:
        return curve
    factor = (end - start) / (curve.end - curve.start)
    rows = (curve.segments - curve.start) * factor + start
    rows[-1, 3] = end
    return Curve(rows)


def drawn(state: State, name: str, replacements: Sequence[Replacement]) -> State:
    """The pattern with stretches of one outline drawn anew; lines within the piece that end on them go along with that end."""
    old = state.shapes[name]
    before = old.outline
    try:
        after, moved = spliced(before, replacements)
        new = state.with_lines(name, replacements)
    except (ValueError, KeyError) as error:
        raise CannotCutError(f"the new lines of {name} do not join ({error})") from error

    def there(point: complex) -> complex:
        near = before.nearest(point)
        if near.distance > TOUCHES or not _within(near.station, replacements, before.length):
            return point
        return point + after.point(moved(near.station)) - near.point

    lines = []
    for line in old.inside:
        ends = line.curve.start, line.curve.end
        to = [there(end) for end in ends]
        goes = not line.curve.is_closed and any(abs(a - b) > 1e-9 for a, b in zip(ends, to, strict=True))
        lines.append(replace(line, curve=spanned(line.curve, *to)) if goes else line)
    return new.with_inside(name, tuple(lines))


def _within(station: float, replacements: Sequence[Replacement], total: float) -> bool:
    return any((station - one.start) % total <= (one.end - one.start) % total for one in replacements)
