"""An edge redrawn deeper, a corner moved, an edge set out or taken in, an edge turned as it is: moves that cut no paper."""

from __future__ import annotations

import math
from collections.abc import Callable

from seamcheck.altering.cutting import CannotCutError
from seamcheck.altering.redrawing import (
    TIP,
    SideOfPiece,
    corner_edges,
    drawn,
    end_station,
    led,
    on_edge,
    outward,
    side,
    to_corner,
    turn_between,
)
from seamcheck.altering.solving import NoSolutionError, root
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.end_directions import arriving
from seamcheck.geometry.long_line import LongLine
from seamcheck.pattern.model import Edge, Piece
from seamcheck.pattern.recipe import Extend, Scoop, Taper, Wedge
from seamcheck.pattern.spots import NoSpotError, edge_of
from seamcheck.truing.lines import End, Rod
from seamcheck.truing.state import State
from seamcheck.truing.stray import led_on

STEEP = 0.17  # sine of the least angle, about 10 degrees, at which an edge can end on the line of another
FARTHEST = 400.0  # mm
CONSTANT = 1e-3


def scooped(state: State, step: Scoop) -> State:
    """The pattern with an edge redrawn deeper between two spots, their directions kept; CannotCutError where that cannot be."""
    piece = state.pieces[step.piece]
    edge = edge_of(piece, step.edge)
    line = side(piece, edge, on_edge(piece, edge, step.start), on_edge(piece, edge, step.end))
    old = line.curve
    half = old.length / 2
    middle, out = old.point(half), outward(piece, old, half)
    rod = Rod(old)
    across = 1j * (old.end - old.start) / abs(old.end - old.start)
    sign = math.copysign(1.0, (-out * across.conjugate()).real)  # of a swelling into the piece

    def bent(bump: float) -> Curve:
        return Curve(rod.bent(End(old.start), End(old.end), sign * bump))

    def missed(bump: float) -> float:
        near = bent(bump).nearest(middle)
        return math.copysign(near.distance, -((near.point - middle) * out.conjugate()).real) - step.amount

    bump = _solved(missed, step.amount, f"{step.edge} cannot be redrawn {abs(step.amount):.1f} mm deeper there")
    return drawn(state, step.piece, [line.replaced_by(bent(bump))])


def _solved(function: Callable[[float], float], guess: float, why: str) -> float:
    try:
        return root(function, guess, 2.0 * abs(guess) + 1.0)
    except NoSolutionError:
        raise CannotCutError(why) from None


def extended(state: State, step: Extend) -> State:
    """The pattern with a corner moved on the line of one of its edges, or square out of it, and what meets there blended to it."""
    piece = state.pieces[step.piece]
    own, other = corner_edges(piece, step.corner, step.along)
    plan = state.plans.get(step.piece)
    if plan is not None and plan.fold in {other.name, own.name if step.square else other.name}:
        raise CannotCutError(
            f"{piece.name}.{plan.fold} lies on the fold and stays straight, so {step.corner} moves on its line alone"
        )
    if step.square:
        return _out_of(state, step, piece, own, other)
    bit, new = led(piece, own, step.corner, step.amount)
    turn = turn_between(bit.curve, new) if step.amount < 0.0 else 0.0
    line = to_corner(piece, other, step.corner, step.blend)
    blended = Rod(line.curve).bent(End(line.curve.start), End(new.end, turn))
    return drawn(state, step.piece, [bit.replaced_by(new), line.replaced_by(Curve(blended))])


def _out_of(state: State, step: Extend, piece: Piece, own: Edge, other: Edge) -> State:
    first, second = to_corner(piece, own, step.corner, None), to_corner(piece, other, step.corner, step.blend)
    to = first.curve.end + step.amount * outward(piece, first.curve, first.curve.length - 0.5)
    lines = [
        line.replaced_by(Curve(Rod(line.curve).bent(End(line.curve.start), End(to)))) for line in (first, second)
    ]
    return drawn(state, step.piece, lines)


def tapered(state: State, step: Taper) -> State:
    """The pattern with an edge set out, from nothing at one spot to all of it at another."""
    piece = state.pieces[step.piece]
    edge = edge_of(piece, step.edge)
    start, peak = on_edge(piece, edge, step.start), on_edge(piece, edge, step.peak)
    corner = _end_at(edge, peak)
    if corner is not None:
        if step.end is not None:
            raise NoSpotError(f"{step.peak} is the end of {piece.name}.{edge.name}, so nothing can run out beyond it")
        return _to_corner(state, step, piece, edge, start, corner)
    rising = side(piece, edge, start, peak)
    shift = step.amount * outward(piece, rising.curve, rising.curve.length)
    to = rising.curve.end + shift
    risen = rising.replaced_by(Curve(Rod(rising.curve).bent(End(rising.curve.start), End(to))))
    if step.end is not None:
        stop = on_edge(piece, edge, step.end)
        if (stop - peak) * (peak - start) <= 0:
            raise NoSpotError(f"{step.peak} does not lie between {step.start} and {step.end}")
        falling = side(piece, edge, peak, stop)
        fallen = Rod(falling.curve).bent(End(to), End(falling.curve.end))
        return drawn(state, step.piece, [risen, falling.replaced_by(Curve(fallen))])
    last = edge.end if peak > start else edge.start
    rest = side(piece, edge, peak, end_station(edge, last))
    _, other = corner_edges(piece, last, edge.name)
    bit, new = _led_out(piece, other, last, rest.curve, step.amount)
    moved = Curve(Rod(rest.curve).bent(End(to), End(new.end)))
    return drawn(state, step.piece, [risen, rest.replaced_by(moved), bit.replaced_by(new)])


def _end_at(edge: Edge, station: float) -> str | None:
    if abs(station) < CONSTANT:
        return edge.start
    return edge.end if abs(station - edge.length) < CONSTANT else None


def _to_corner(state: State, step: Taper, piece: Piece, edge: Edge, start: float, corner: str) -> State:
    """Set out up to a corner, which goes on the line of the other edge there."""
    line = side(piece, edge, start, end_station(edge, corner))
    _, other = corner_edges(piece, corner, edge.name)
    bit, new = _led_out(piece, other, corner, line.curve, step.amount)
    turn = turn_between(bit.curve, new)
    risen = Rod(line.curve).bent(End(line.curve.start), End(new.end, turn))
    return drawn(state, step.piece, [line.replaced_by(Curve(risen)), bit.replaced_by(new)])


def _led_out(piece: Piece, other: Edge, corner: str, line: Curve, amount: float) -> tuple[SideOfPiece, Curve]:
    """The edge at a corner led on or cut back so far that the corner lies `amount` mm out of a line that ends there."""
    out = outward(piece, line, line.length - 0.5)
    probe, _ = led(piece, other, corner, 0.0)
    leaving = arriving(probe.curve)
    share = (leaving * out.conjugate()).real
    if abs(share) < STEEP:
        raise CannotCutError(
            f"{piece.name}.{other.name} runs on from the edge at {corner}, so nothing can be set out along it"
        )

    def missed(along: float) -> float:
        _, new = led(piece, other, corner, along)
        return ((new.end - line.end) * out.conjugate()).real - amount

    along = _solved(missed, amount / share, f"{piece.name}.{other.name} is too short for that at {corner}")
    return led(piece, other, corner, along)


def wedged(state: State, step: Wedge) -> State:
    """The pattern with an edge turned about a spot of it, so that its corner goes so far on the line of the other edge there."""
    piece = state.pieces[step.piece]
    edge = edge_of(piece, step.edge)
    if step.corner not in (edge.start, edge.end):
        raise NoSpotError(f"{piece.name}.{edge.name} runs from {edge.start} to {edge.end}, and not to {step.corner}")
    _, other = corner_edges(piece, step.corner, edge.name)
    start = on_edge(piece, edge, step.start)
    station = end_station(edge, step.corner)
    if abs(start - station) < 5.0:
        raise NoSpotError(f"{step.start} is too near to {step.corner} to turn the edge about it")
    # With the mouths of its darts: the stretch of outline from the spot to the corner, whatever opens on it.
    ring, total = piece.outline, piece.outline.length
    first, last = (ring.nearest(edge.point(at)).station for at in (start, station))
    backwards = edge.forward != (station > start)
    curve = (
        ring.between(last % total, first % total).reversed()
        if backwards
        else ring.between(first % total, last % total)
    )
    # Which end of the other edge leads out of the edge that turns, and which into the piece.
    out = outward(piece, curve, curve.length - 0.5)
    probe, _ = led(piece, other, step.corner, 0.0)
    if abs((arriving(probe.curve) * out.conjugate()).real) < STEEP:
        raise CannotCutError(f"{piece.name}.{other.name} runs on from {edge.name} at {step.corner}")
    bit, new = led(
        piece, other, step.corner, math.copysign(1.0, (arriving(probe.curve) * out.conjugate()).real) * step.amount
    )
    centre = curve.start

    def turned(degrees: float) -> LongLine:
        return LongLine(curve.transformed(Affine.rotation(degrees, about=centre)), FARTHEST)

    def missed(degrees: float) -> float:
        line = turned(degrees)
        near = line.drawn_on.nearest(new.end)
        return ((new.end - near.point) * (1j * line.drawn_on.tangent(near.station)).conjugate()).real

    guess = math.degrees(abs(step.amount) / abs(curve.end - centre))
    try:
        turn = root(missed, 0.0, 4.0 * guess)
    except NoSolutionError:
        raise CannotCutError(f"{edge.name} cannot be turned so far about {step.start}") from None
    line = turned(turn)
    stop = line.drawn_on.nearest(new.end).station - line.reach
    laid = led_on(line.line, stop - line.length)
    # What lies on it stays where it is on it; only its last bit is trimmed or led on.
    kept = min(stop, curve.length) - TIP
    between = (first + (-kept if backwards else kept)) % total
    whole, tip = laid.between(0.0, kept).segments.copy(), laid.between(kept, laid.length).segments.copy()
    whole[0, 0], tip[0, 0], tip[-1, 3] = centre, whole[-1, 3], new.end
    turned_part = SideOfPiece(first, between, curve, backwards).replaced_by(Curve(whole))
    trimmed = SideOfPiece(between, last, curve, backwards).replaced_by(Curve(tip))
    return drawn(state, step.piece, [turned_part, trimmed, bit.replaced_by(new)])
