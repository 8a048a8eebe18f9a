"""What is done to a piece once it is taped: kinks blended, the grain ruled straight, what was taken given back elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from seamcheck.altering.redrawing import corner_edges
from seamcheck.altering.reshaping import extended
from seamcheck.altering.turning import Turned
from seamcheck.checks.edges import KINK_TOLERANCE, STEP_TOLERANCE
from seamcheck.geometry.kinks import Kink, Step, blemishes
from seamcheck.pattern.model import Edge, Grainline, Piece
from seamcheck.pattern.recipe import Extend
from seamcheck.pattern.recipe import Step as RecipeStep
from seamcheck.pattern.spots import edge_of
from seamcheck.truing.correction import with_notches
from seamcheck.truing.grain import through
from seamcheck.truing.leading import end_of, led, side_of, whole_end
from seamcheck.truing.propose import WORST
from seamcheck.truing.redraw import BLEND, Change, redraw
from seamcheck.truing.state import State

SAME_WAY = 1e-6  # radians
ON_EDGE = 1e-3  # mm
TURNS = 0.005  # radians: a line that turns by less runs on
CORNER = 1.0  # mm: a cut that ends nearer to the end of an edge leaves no kink in it
NOTHING = 0.005  # mm
QUIET = 0.5  # of what is tolerated: up to there a check says nothing


@dataclass(frozen=True, slots=True)
class Given:
    """What an edge got back at one of its ends: so many mm longer, or shorter where negative."""

    edge: str
    end: str
    amount: float


def blended(before: State, state: State, name: str, turned: Turned) -> tuple[State, tuple[str, ...]]:
    """The pattern with what a cut left in the edges that it crossed blended; and the edges where that cannot be.

    Within the least reach that leaves no kink and no step behind; an edge stays as long as it is, unless that alone would leave one:
    over a step the new line is shorter than the old one to and fro.
    """
    kinked = []
    for places in turned.joints:
        edge = _kinked_edge(state.pieces[name], places)
        if edge is None:
            continue
        quiet = _blemished(before.pieces[name], edge.name) + QUIET
        tried = []
        for made, bent in _blends(state, name, edge, places):
            left = _blemished(made.pieces[name], edge.name)
            tried.append((max(left, quiet), bent > WORST, bent, made))
            if left <= quiet and bent <= WORST:
                break
        least = min(tried, key=lambda one: one[:3], default=None)
        if least is None or least[0] > max(quiet, _blemished(state.pieces[name], edge.name)):
            kinked.append(edge.name)
        else:
            state = least[3]
    return state, tuple(kinked)


def _blends(state: State, name: str, edge: Edge, places: Sequence[complex]) -> Iterator[tuple[State, float]]:
    """Ways to take the turns at some places out of an edge, and what each bends; the one that a hand would try first first."""
    ring = state.pieces[name].outline
    kinks = tuple(ring.nearest(place).station for place in places)
    for loose in (frozenset[str](), frozenset({edge.name})):
        for reach in (BLEND, 2 * BLEND, None):
            for far in (False, True):
                change = Change(blended={edge.name: None}, kinks=kinks, reach=reach, far=far, loose=loose)
                made = redraw(state, name, change)
                if made is not None:
                    yield made


def _blemished(piece: Piece, name: str) -> float:
    """The kinks, steps and flat spots of an edge, added up as shares of what is tolerated."""
    found = 0.0
    for run in piece.edge(name).runs:
        for one in blemishes(run):
            if isinstance(one, Step):
                found += one.jog / STEP_TOLERANCE
            else:
                turns = (one.turn,) if isinstance(one, Kink) else one.turns
                found += max(map(abs, turns)) / KINK_TOLERANCE
    return found


def _kinked_edge(piece: Piece, places: Sequence[complex]) -> Edge | None:
    """The edge that turns at some of the places, away from its ends."""
    for edge in piece.edges:
        for run in () if edge.inside else edge.runs:
            near = [run.nearest(at) for at in places]
            if all(one.distance < ON_EDGE and CORNER < one.station < run.length - CORNER for one in near):
                turns = [abs(run.tangent(one.station, 1) / run.tangent(one.station, -1) - 1.0) for one in near]
                return edge if max(turns) > TURNS else None
    return None


def ruled_grain(before: State, after: State, name: str) -> State:
    """The pattern with an arrow that a cut has bent ruled straight, through the part of it that did not turn."""
    old, new = before.shapes[name].grainlines, after.shapes[name].grainlines
    if old == new:
        return after
    lines = []
    for was, now in zip(old, new, strict=True):
        lines.append(now if len(now.points) == len(was.points) else _straight(after.pieces[name], was, now))
    return after.with_grain(name, tuple(lines))


def _straight(piece: Piece, was: Grainline, now: Grainline) -> Grainline:
    way = was.points[-1] - was.points[0]
    parts = [
        (abs(b - a), a, b)
        for a, b in pairwise(now.points)
        if abs(((b - a) * way.conjugate()).imag) < SAME_WAY * abs(b - a) * abs(way)
    ]
    if not parts:
        return now
    _, tail, head = max(parts, key=lambda part: round(part[0], 6))
    lead = Grainline(now.points[: now.points.index(tail) + 1]).length
    line = through(piece, tail, head, was.length, lead)
    return now if line is None else replace(now, points=line)


def given_back(before: State, state: State, step: RecipeStep) -> tuple[State, tuple[Given, ...]]:
    """The pattern with the edges that a step names as long again as they were, at the ends that it names; CannotCutError where that cannot be."""
    given = []
    for one in step.give_back:
        wanted = edge_of(before.pieces[step.piece], one.edge).length
        amount = wanted - edge_of(state.pieces[step.piece], one.edge).length
        corner_edges(state.pieces[step.piece], one.end, one.edge)
        if abs(amount) < NOTHING:
            continue
        state = _led(state, step.piece, one.edge, one.end, amount)
        given.append(Given(one.edge, one.end, amount))
    return state, tuple(given)


def _led(state: State, piece: str, name: str, corner: str, amount: float) -> State:
    """The pattern with an edge led on or cut back at a corner: as truing does it where it is sewn there, else as a corner is moved."""
    for walk in state.walks:
        for number in (0, 1):
            side = side_of(walk, number)
            for end in (0, -1):
                edge, at, owner = end_of(side, end)
                if (owner, edge.name, at) != (piece, name, corner):
                    continue
                made = whole_end(state, side, end, amount) or led(state, side, end, amount)
                made = with_notches(state, (piece,), made)
                if made is not None:
                    return made[0]
    return extended(state, Extend(piece=piece, corner=corner, along=name, amount=amount))
