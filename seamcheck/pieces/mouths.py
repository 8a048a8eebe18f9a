"""Darts and pleats of the plan on the outline of a piece: their mouth corners, and the lines that are laid on one another."""

from __future__ import annotations

from cmath import phase
from collections.abc import Mapping, Sequence
from math import radians
from typing import TYPE_CHECKING

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.model import Dart, Pleat
from seamcheck.pieces.edges import ON_INSIDE_LINE
from seamcheck.pieces.way_round import Ring, inner_leg

if TYPE_CHECKING:
    from seamcheck.pattern.plan import DartPlan, PleatPlan
    from seamcheck.pieces.outline import Shape

SHORTEST_FOLD = 5.0  # mm: what is shorter is a notch at the fold of a pleat, not its fold line
RUNS_IN = radians(45.0)  # by how much an edge that is itself a fold line may lean


def darts_on(
    ring: Ring,
    shape: Shape,
    darts: Sequence[DartPlan],
    named: Mapping[str, float],
    inside: Mapping[str, tuple[int, float]],
) -> list[Dart]:
    """The darts whose corners have a place; a tip may lie inside the piece, as (line, station)."""
    found = []
    for dart in darts:
        first, tip, last = dart.corners
        if first not in named or last not in named or not (tip in named or tip in inside):
            continue
        a, b = named[first], named[last]
        if tip in named:
            t = named[tip]
            if ring.passes(a, b, t):
                legs = ring.stretch(a, t), ring.stretch(t, b).reversed()
            else:
                legs = ring.stretch(t, a).reversed(), ring.stretch(b, t)
        else:
            line, station = inside[tip]
            at = shape.internals[line].point(station)
            legs = (
                inner_leg(ring.curve.point(a), at, shape.internals),
                inner_leg(ring.curve.point(b), at, shape.internals),
            )
        points = (ring.curve.point(a), legs[0].end, ring.curve.point(b))
        found.append(Dart(corners=dart.corners, points=points, legs=legs))
    return found


def pleats_on(ring: Ring, shape: Shape, pleats: Sequence[PleatPlan], named: Mapping[str, float]) -> list[Pleat]:
    """The pleats whose corners have a place."""
    found = []
    for pleat in pleats:
        if not all(corner in named for corner in pleat.corners):
            continue
        first_at, last_at = (named[corner] for corner in pleat.corners)
        a, b = ring.curve.point(first_at), ring.curve.point(last_at)
        lines = (*shape.folds, *(one.curve for one in shape.inside))
        straight_in = (b - a) * 1j if a != b else 1j
        if not ring.curve.contains((a + b) / 2 + straight_in / 2):
            straight_in = -straight_in
        folds = [_fold_from(at, lines) for at in (a, b)]
        long = max([fold.length for fold in folds if fold is not None] or [abs(straight_in)])
        beyond = _beyond(ring, first_at, last_at, straight_in, long)
        folds = [fold or edge for fold, edge in zip(folds, beyond, strict=True)]
        drawn = all(fold is not None for fold in folds)
        first, last = (fold or Curve.line(at, at + straight_in) for fold, at in zip(folds, (a, b), strict=True))
        found.append(Pleat(corners=pleat.corners, folds=(first, last), drawn=drawn))
    return found


def _beyond(ring: Ring, first: float, last: float, inwards: complex, long: float) -> list[Curve | None]:
    """So much of the outline beyond either end of a pleat's mouth, where it runs inwards, else None.

    There the pleat takes up the end of its edge, and the outline is its fold line.
    """
    if ring.ahead(first, last) > ring.ahead(last, first):
        return _beyond(ring, last, first, inwards, long)[::-1]
    reach = min(max(long, SHORTEST_FOLD), ring.total / 4)
    edges = (
        ring.stretch((first - reach) % ring.total, first).reversed(),
        ring.stretch(last, (last + reach) % ring.total),
    )
    return [edge if abs(phase((edge.end - edge.start) / inwards)) < RUNS_IN else None for edge in edges]


def _fold_from(mouth: complex, lines: Sequence[Curve]) -> Curve | None:
    """The drawn line that begins at the mouth of a pleat, or crosses the outline there, run inwards; None without one."""
    for line in lines:
        near = line.nearest(mouth)
        if near.distance > ON_INSIDE_LINE or line.is_closed:
            continue
        ahead, back = line.length - near.station, near.station
        if max(ahead, back) < SHORTEST_FOLD:
            continue
        return (
            line.between(near.station, line.length) if ahead >= back else line.between(0.0, near.station).reversed()
        )
    return None
