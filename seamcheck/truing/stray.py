"""How far new lines stray: from the old line, together with the old line led on past its ends.

stray    the farthest that a new line lies from there, in mm
ends     how far the ends of the new line lie from there: a line that runs to a corner which travelled has to leave the old one
beyond   how far a line strays past what its ends ask for, and past the amount of the correction
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from seamcheck.exact import EXACT
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.distances import distances, farthest
from seamcheck.geometry.end_directions import arriving
from seamcheck.pattern.model import Edge, Piece

SEEN = 0.05  # mm: what is told as 0.1 mm
NOTHING = 0.01  # mm: a line that strays less, and ends where it did, is as it was


@dataclass(frozen=True, slots=True)
class Stray:
    """How far the new line of an edge ("back.outseam") strays at most, where, and how far its ends do; in mm."""

    edge: str
    most: float
    ends: float
    at: complex

    @property
    def travels(self) -> bool:
        """Whether it strays because its ends lie elsewhere, and no farther than they do."""
        return self.most > SEEN and self.most - self.ends < SEEN

    def beyond(self, amount: float, across: float = 0.0) -> float:
        """How far it strays past what a correction asks of it: its corners travel by `amount` mm, and it with them.

        Where it runs smoothly over a step it has to leave it by `across` mm.
        """
        return max(self.most - max(min(self.ends, amount), across), 0.0)


def led_on(curve: Curve, amount: float) -> Curve:
    """The line led on straight past its end by `amount` mm; cut back along itself for a negative amount.

    ValueError where it would be cut away.
    """
    if amount < 0.0:
        if -amount >= curve.length:
            raise ValueError(f"a line of {curve.length:g} mm cannot be cut back by {-amount:g} mm")
        return curve.between(0.0, curve.length + amount)
    return Curve.join([curve, Curve.line(curve.end, curve.end + amount * arriving(curve))]) if amount else curve


def strays(before: Iterable[Piece], after: Iterable[Piece]) -> tuple[Stray, ...]:
    """How far the edges of pieces stray that were drawn anew, in order; edges that stayed are left out."""
    new = {piece.name: piece for piece in after}
    found = []
    for piece in before:
        if new[piece.name] is piece:
            continue
        edges = {edge.name: edge for edge in new[piece.name].edges}
        found += [
            one
            for edge in piece.edges
            if edge.name in edges and (one := stray_of(piece.name, edge, edges[edge.name])) is not None
        ]
    return tuple(found)


def _is_same(was: Curve, now: Curve) -> bool:
    """Whether a line is as it was, cut out of its outline once more: lines are no farther apart than their control points."""
    return was.segments.shape == now.segments.shape and float(np.abs(was.segments - now.segments).max()) <= EXACT


def stray_of(piece: str, old: Edge, new: Edge) -> Stray | None:
    """How far an edge strays that was drawn anew, run by run; None where it stayed as it was."""
    if len(old.runs) != len(new.runs):  # a dart was closed on it, or opened
        found = [(*min(farthest(run, was) for was in old.runs), run) for run in new.runs]
        off, station, run = max(found, key=lambda one: round(one[0], 6))
        return Stray(f"{piece}.{old.name}", off, off, run.point(station))
    most, ends, at, moved = 0.0, 0.0, new.runs[0].start, 0.0
    for was, now in zip(old.runs, new.runs, strict=True):  # a dart opens on it as before
        if _is_same(was, now):
            continue
        shifts = abs(now.start - was.start), abs(now.end - was.end)
        line = led_on(led_on(was, shifts[1] + 1.0).reversed(), shifts[0] + 1.0)
        far, station = farthest(now, line)
        if far > most:
            most, at = far, now.point(station)
        ends = max(ends, *distances(line, np.array([now.start, now.end])).tolist())
        moved = max(moved, *shifts, abs(now.length - was.length))
    return Stray(f"{piece}.{old.name}", most, ends, at) if max(most, moved) > NOTHING else None
