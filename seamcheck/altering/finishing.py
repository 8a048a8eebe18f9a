"""What is done to a piece once it is taped: kinks blended, the grain ruled straight, what was taken given back elsewhere."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from seamcheck.altering.redrawing import corner_edges
from seamcheck.altering.reshaping import extended
from seamcheck.altering.turning import Turned
from seamcheck.geometry.kinks import kinks_of
from seamcheck.pattern.model import Edge, Grainline, Piece
from seamcheck.pattern.recipe import Extend, Step
from seamcheck.pattern.spots import edge_of
from seamcheck.records import dataclass
from seamcheck.truing.correction import with_notches
from seamcheck.truing.grain import through
from seamcheck.truing.leading import end_of, led, side_of, whole_end
from seamcheck.truing.redraw import BLEND, Change, redraw
from seamcheck.truing.state import State

SAME_WAY = 1e-6  # radians
ON_EDGE = 1e-3  # mm
BESIDE = 40.0  # mm: a kink this near to where parts meet is theirs
CORNER = 1.0  # mm: a cut that ends nearer to the end of an edge leaves no kink in it
NOTHING = 0.005  # mm


@dataclass(frozen=True, slots=True)
class Given:
    """What an edge got back at one of its ends: so many mm longer, or shorter where negative."""

    edge: str
    end: str
    amount: float


def blended(state: State, name: str, turned: Turned) -> tuple[State, tuple[str, ...]]:
    """The pattern with what a cut left in the edges that it crossed blended, as long as they are; and the edges where that cannot be."""
    kinked = []
    for place in turned.joints:
        edge = _kinked_edge(state.pieces[name], place)
        if edge is None:
            continue
        at = edge.station_nearest(place)
        changes = [
            Change(blended={edge.name: at}, reach=reach, far=far)
            for reach in (BLEND, 2 * BLEND, None)
            for far in (False, True)
        ]
        made = next((one for change in changes if (one := redraw(state, name, change)) is not None), None)
        if made is None:
            kinked.append(edge.name)
        else:
            state = made[0]
    return state, tuple(kinked)


def _kinked_edge(piece: Piece, at: complex) -> Edge | None:
    """The edge that has a kink at a place within it."""
    for edge in piece.edges:
        for run in () if edge.inside else edge.runs:
            near = run.nearest(at)
            if near.distance < ON_EDGE and CORNER < near.station < run.length - CORNER:
                kinks = [kink for kink in kinks_of(run) if abs(kink.station - near.station) < BESIDE]
                return edge if kinks else None
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


def given_back(before: State, state: State, step: Step) -> tuple[State, tuple[Given, ...]]:
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
