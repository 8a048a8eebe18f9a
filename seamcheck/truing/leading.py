"""An edge led on past its end or cut back along its own line, so that nothing of it is bent.

The corner travels the whole amount; the line that crosses there is blended into the new corner, or goes along whole.

strip      a piece whose short end goes along whole when one of its long edges becomes longer: a band, a facing, a cuff
short end  the short edge beside a long edge of a strip
"""

from __future__ import annotations

from seamcheck.amounts import Fact, Length, phrase
from seamcheck.pattern.model import Edge, Piece
from seamcheck.pattern.seams import Side
from seamcheck.pattern.walk import Walk
from seamcheck.truing.correction import Made, beside, fold_of
from seamcheck.truing.redraw import RULED, Change, Lead, redraw
from seamcheck.truing.state import State

SHORT_END = 80.0  # mm: an edge beside another, no longer than this (the end of a band), goes along whole
STRIP_EDGES = 4
KEPT = 0.4  # mm: 1/64 in, the finest division of a rule; a sewn length that changes by no more is kept
WORST = 0.01  # 1/mm: a line that has to bend more than this is not the same line any more (10 degrees over 12 mm)


def verb(amount: float) -> str:
    """Whether an edge becomes longer or shorter, in a word."""
    return "lengthen" if amount > 0 else "shorten"


def side_of(walk: Walk, number: int) -> Side:
    """The first side of a seam, or the second where `number` is 1."""
    return walk.seam.second if number else walk.seam.first


def end_of(side: Side, end: int) -> tuple[Edge, str, str]:
    """The edge at one end of a side, the corner there, and its piece."""
    use, edge = side.uses[end], side.edges[end]
    at_start = (end == 0) != use.backwards
    return edge, edge.start if at_start else edge.end, use.piece


def both_ends(side: Side) -> tuple[tuple[Edge, str, str], tuple[Edge, str, str]]:
    """Both ends of a side, each as `end_of` has it."""
    return end_of(side, 0), end_of(side, -1)


def is_short_end(piece: Piece, edge: Edge, other: Edge) -> bool:
    """Whether an edge is the short end of a strip, beside one of its long edges."""
    return other.length <= min(SHORT_END, edge.length / 2) and is_strip(piece)


def is_strip(piece: Piece) -> bool:
    """Whether a piece has as many edges as a band."""
    return sum(not edge.inside for edge in piece.edges) == STRIP_EDGES


def led_by(amount: float, edge: str, corner: str) -> Fact:
    """An edge lengthened or shortened at one of its ends, in words."""
    return phrase(
        "{verb} {edge} by {amount} at {corner}",
        verb=verb(amount),
        edge=edge,
        amount=Length(abs(amount)),
        corner=corner,
    )


def _notched_within(edge: Edge, corner: str, cut: float) -> bool:
    """Whether a notch would be cut away."""
    return any(
        (notch.station if corner == edge.start else edge.length - notch.station) <= cut for notch in edge.notches
    )


def has_mate(state: State, piece: str, edge: Edge) -> bool:
    """Whether an edge is sewn to another one, whose length it has to keep; one that is sewn to its own twin changes with it."""
    return any(
        (use.piece, use.edge) == (piece, edge.name)
        for seam in state.judges.plan.seams
        if seam.sides[0] != seam.sides[1]
        for side in seam.sides
        for use in side
    )


def led(state: State, side: Side, end: int, amount: float) -> Made:
    """A side led on or cut back by `amount` mm at one end, the line that crosses there blended into the new corner.

    The edge keeps its old line, and its corner lies on it or straight beyond. Only where a line that crosses there is sewn, and
    would change its length by more than can be seen, the corner slides beside it by as little as keeps that length.
    """
    edge, corner, piece = end_of(side, end)
    other = beside(state.pieces[piece], edge, corner)
    if other is None or _notched_within(edge, corner, -amount):
        return None
    exact = _drawn(state, piece, Lead(edge.name, amount), corner, frozenset({edge.name, other.name}))
    if exact is not None and (
        not has_mate(state, piece, other)
        or abs(exact[0].pieces[piece].edge(other.name).length - other.length) <= KEPT
    ):
        return exact
    return _drawn(state, piece, Lead(edge.name, amount, slides=True), corner, frozenset())


def _drawn(state: State, piece: str, lead: Lead, corner: str, loose: frozenset[str]) -> Made:
    """What crosses is blended from the next mark that stays, or over it where that would bend it too sharply."""
    for far in (False, True):
        made = redraw(state, piece, Change(led={corner: lead}, loose=loose, far=far))
        if made is not None and made[1] <= WORST:
            return made
    return None


def whole_end(state: State, side: Side, end: int, amount: float) -> Made:
    """A long edge of a strip led on or cut back, the short edge at its end going along as it is."""
    edge, corner, piece = end_of(side, end)
    other = beside(state.pieces[piece], edge, corner)
    if other is None or other.name == fold_of(state, piece) or not is_short_end(state.pieces[piece], edge, other):
        return None
    lead = Lead(edge.name, amount, carried=other.name)
    return _drawn(state, piece, lead, corner, frozenset(one.name for one in state.pieces[piece].edges))


def ruled_end(state: State, side: Side, end: int, amount: float) -> Made:
    """A long edge led on or cut back, the ruled short edge at its end ruled anew to the corner: what slants an end, or squares it."""
    edge, corner, piece = end_of(side, end)
    other = beside(state.pieces[piece], edge, corner)
    if (
        other is None
        or not all(run.is_straight(RULED) for run in other.runs)
        or _notched_within(edge, corner, -amount)
    ):
        return None
    names = frozenset({other.name})
    led_on = {corner: Lead(edge.name, amount)}
    return redraw(state, piece, Change(led=led_on, ruled=names, loose=names | {edge.name}))
