"""The grain arrow redrawn: one straight line, through the part that did not turn, inside its piece."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import pairwise

import numpy as np

from seamcheck.amounts import Angle, Length, phrase
from seamcheck.engine.result import Finding
from seamcheck.exact import most, steady
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.model import Grainline, Piece
from seamcheck.truing.correction import Correction, Made
from seamcheck.truing.state import State

INSET = 12.7  # mm: how far from the outline an arrow ends
NARROW = 0.1  # of what it crosses: as near it may end in a narrow piece, such as a band
SHARE = 0.5  # of the piece's length, for an arrow that is too short
MOST_KEPT = 8  # arrows of a piece of which each is offered as the one to keep


def grain_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """One arrow of several, or one part of a bent one, ruled straight; the part that most likely did not turn first."""
    name = finding.pieces[0]
    piece = state.pieces[name]
    if not piece.grainlines:
        return
    if finding.code == "several":
        longest_first = sorted(piece.grainlines, key=lambda one: -round(one.length, 6))
        for grain in longest_first[:MOST_KEPT]:  # each is a trial of the whole pattern
            yield Correction(
                what=f"keep the arrow of {name} at {grain.angle:.1f}° and take out the others",
                pieces=(name,),
                make=partial(_with_arrow, state, name, grain),
            )
        return
    grain = most(piece.grainlines, key=lambda one: one.length)
    wanted = SHARE * _across(piece, grain) if finding.code == "short" else grain.length
    parts = sorted(pairwise(grain.points), key=lambda part: _rank(state, name, part))
    for tail, head in parts:
        before = Grainline(grain.points[: grain.points.index(tail) + 1]).length
        line = through(piece, tail, head, wanted, before)
        if line is None:
            continue
        which = phrase(
            ", as its part of {long} points, at {angle}",
            long=Length(abs(head - tail)),
            angle=Angle(Grainline((tail, head)).angle),
        )
        yield Correction(
            what=phrase(
                "rule the arrow of {name} straight through{which}", name=name, which="" if len(parts) == 1 else which
            ),
            pieces=(name,),
            make=partial(_with_arrow, state, name, Grainline(line)),
        )


def fold_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """The arrow turned about its middle until it lies to the fold as it should, to either side."""
    name = finding.pieces[0]
    piece = state.pieces[name]
    if not piece.grainlines or not finding.measured:
        return
    grain = most(piece.grainlines, key=lambda one: one.length)
    middle = Curve.polyline(grain.points).point(grain.length / 2)
    for turn in (finding.measured, -finding.measured):
        tail, head = (complex(Affine.rotation(turn, about=middle).apply(grain.points[k])) for k in (0, -1))
        line = through(piece, tail, head, grain.length)
        if line is not None:
            yield Correction(
                what=phrase(
                    "turn the arrow of {name} by {turn}, so that it lies to the fold as it did",
                    name=name,
                    turn=Angle(abs(turn)),
                ),
                pieces=(name,),
                make=partial(_with_arrow, state, name, Grainline(line)),
            )


def _with_arrow(state: State, name: str, grain: Grainline) -> Made:
    return state.with_grain(name, (grain,)), 0.0


def _across(piece: Piece, grain: Grainline) -> float:
    """The length of the piece in the direction of an arrow, in mm."""
    x0, _, x1, _ = piece.outline.transformed(Affine.rotation(-grain.angle)).bounds()
    return x1 - x0


def _rank(state: State, name: str, part: tuple[complex, complex]) -> tuple[float, float]:
    """How likely the part of an arrow is to have turned: against the other pieces' arrows, then by its length."""
    others = [g.angle for p in state.pattern.pieces if p.name != name for g in p.grainlines if len(g.points) == 2]
    angle = Grainline(part).angle
    off = min((abs((angle - other + 90.0) % 180.0 - 90.0) for other in others), default=0.0)
    return round(steady(off), 1), -round(abs(part[1] - part[0]), 6)


def through(
    piece: Piece, tail: complex, head: complex, length: float, before: float = 0.0
) -> tuple[complex, complex] | None:
    """A straight arrow through a part of the old one, as long as the old one or as the piece allows.

    The old one is `before` mm long up to that part.
    """
    direction = (head - tail) / abs(head - tail)
    reach = 2.0 * length + 4.0 * abs(head - tail)
    ray = Curve.line(tail - direction * reach, head + direction * reach)
    cuts = sorted(station for station, _ in ray.crossings(piece.drawn))
    middle = reach + abs(head - tail) / 2
    below = [cut for cut in cuts if cut < middle]
    above = [cut for cut in cuts if cut > middle]
    if not below or not above:
        return None
    inset = min(INSET, NARROW * (above[0] - below[-1]))
    low, high = below[-1] + inset, above[0] - inset
    wanted = min(length, high - low)
    if wanted <= 0.0:
        return None
    # As near to where the old arrow was as the piece allows.
    begin = float(np.clip(reach - (wanted - abs(head - tail)) / 2, low, high - wanted))
    if abs(head - tail) < wanted:
        begin = float(np.clip(reach - before, low, high - wanted))
    return ray.point(begin), ray.point(begin + wanted)
