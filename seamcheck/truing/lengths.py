"""What could be done about two sides of a seam that differ in length."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from seamcheck.amounts import length, listed
from seamcheck.checks.seam_bands import SIXTEENTH, culprit
from seamcheck.engine.result import Finding
from seamcheck.pattern.model import Edge
from seamcheck.pattern.seams import Side
from seamcheck.pattern.walk import Walk
from seamcheck.truing.correction import Correction, Made, beside, fold_of, with_notches
from seamcheck.truing.redraw import Change, redraw
from seamcheck.truing.state import State

SHORT_END = 80.0  # mm: an edge beside another, no longer than this (the end of a band), can be turned with its end
FOLLOWERS = 4  # pieces that may follow one that moves
OFF = 0.1  # mm: a seam off by more than this has to follow


def length_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """Longer or shorter at either end, half at both, the end of a band with all that hangs on it; on either side."""
    walk = next((walk for walk in state.walks if walk.name == finding.seam), None)
    if walk is None or walk.seam.twin:
        return
    for number in (0, 1):
        yield from _one_side(state, walk, number)
    for end in (0, -1):
        yield from _both_sides(state, walk, end)


def _side(walk: Walk, number: int) -> Side:
    return walk.seam.second if number else walk.seam.first


def _one_side(state: State, walk: Walk, number: int) -> Iterator[Correction]:
    side = _side(walk, number)
    amount = walk.deviation if number else -walk.deviation
    verb = "lengthen" if amount > 0 else "shorten"
    told = _told_end(walk)
    for end in (0, -1):
        edge, corner, piece = _end_of(side, end)
        what = f"{verb} {piece}.{edge.name} by {length(abs(amount))} at {corner}"
        elsewhere = told not in (None, end)
        yield Correction(
            what=what,
            pieces=(piece,),
            make=partial(_at_end, state, side, end, amount),
            second=_is_base(state, piece, edge, corner),
            at=(piece, corner),
            elsewhere=elsewhere,
        )
        other = beside(state.pieces[piece], edge, corner)
        if (
            other is None
            or other.length > min(SHORT_END, edge.length / 2)
            or other.name == fold_of(state, piece)
            or len(state.pieces[piece].edges) < 4
        ):
            continue
        yield Correction(
            what=f"{what}, and turn the whole end ({piece}.{other.name}) with it",
            pieces=(piece,),
            make=partial(_turned_end, state, side, end, amount),
            elsewhere=elsewhere,
        )
        following = _followed(state, walk, number, end, amount)
        if following is not None:
            names, made = following
            yield Correction(
                what=f"{what}, the whole end with it, and let {listed(names)} follow",
                pieces=(piece, *names),
                make=partial(with_notches, state, (piece, *names), made),
                elsewhere=elsewhere,
            )
    if len(side.edges) == 1:
        edge, _, piece = _end_of(side, 0)
        yield Correction(
            what=f"{verb} {piece}.{edge.name} by {length(abs(amount))}, half of it at either end",
            pieces=(piece,),
            make=partial(_at_both_ends, state, walk.name, number, amount),
            second=True,
            elsewhere=told is not None,
        )


def _told_end(walk: Walk) -> int | None:
    """The end of a seam, 0 or -1, in whose last stretch its whole difference lies; None where no such stretch is known."""
    span = culprit(walk, SIXTEENTH)
    if span is None or span not in (walk.spans[0], walk.spans[-1]):
        return None
    return 0 if span is walk.spans[0] else -1


def _end_of(side: Side, end: int) -> tuple[Edge, str, str]:
    """The edge at one end of a side, the corner there, and its piece."""
    use, edge = side.uses[end], side.edges[end]
    at_start = (end == 0) != use.backwards
    return edge, edge.start if at_start else edge.end, use.piece


def _is_base(state: State, piece: str, edge: Edge, corner: str) -> bool:
    """Whether an edge ends at a fold or at a border, such as a hem.

    From there it is walked, and what is wrong goes to the other end (common practice: trousers are walked from the
    hem up).
    """
    plan = state.plans.get(piece)
    other = beside(state.pieces[piece], edge, corner)
    return bool(plan and other and (other.name in plan.unsewn or other.name == plan.fold))


def _stretched(state: State, side: Side, end: int, amount: float) -> Made:
    """A side made longer by `amount` mm at one end: the corner moves, and the lines at it up to the next mark that stays."""
    edge, corner, piece = _end_of(side, end)
    for far in (False, True):
        change = Change(free=frozenset({corner}), lengths={edge.name: edge.length + amount}, far=far)
        made = redraw(state, piece, change)
        if made is not None:
            return made
    return None


def _at_end(state: State, side: Side, end: int, amount: float) -> Made:
    return with_notches(state, side.pieces, _stretched(state, side, end, amount))


def _whole_end(state: State, side: Side, end: int, amount: float, loose: frozenset[str]) -> Made:
    """The same, the short edge at that end moving and turning with it; `loose` edges need not keep their lengths."""
    edge, corner, piece = _end_of(side, end)
    other = beside(state.pieces[piece], edge, corner)
    if other is None:
        return None
    free = frozenset({corner, other.end if other.start == corner else other.start})
    for far in (True, False):
        change = Change(free=free, lengths={edge.name: edge.length + amount}, loose=loose, far=far)
        made = redraw(state, piece, change)
        if made is not None:
            return made
    return None


def _turned_end(state: State, side: Side, end: int, amount: float) -> Made:
    return with_notches(state, side.pieces, _whole_end(state, side, end, amount, frozenset()))


def _at_both_ends(state: State, seam: str, number: int, amount: float) -> Made:
    now, bent = state, 0.0
    for end in (0, -1):
        side = _side(next(walk for walk in now.walks if walk.name == seam), number)
        made = _stretched(now, side, end, amount / 2)
        if made is None:
            return None
        now, bent = made[0], bent + made[1]
    return with_notches(state, _side(next(w for w in state.walks if w.name == seam), number).pieces, (now, bent))


def _both_sides(state: State, walk: Walk, end: int) -> Iterator[Correction]:
    """Half of the difference on either piece, at one end of the seam."""
    (edge, corner, one), (_, _, other) = _end_of(walk.seam.first, end), _end_of(walk.seam.second, end)
    if one == other:
        return
    half = length(abs(walk.deviation) / 2)
    yield Correction(
        what=f"share it at {corner}: {half} on {one} and {half} on {other}",
        pieces=(one, other),
        make=partial(_shared, state, walk, end),
        second=_is_base(state, one, edge, corner),
        elsewhere=_told_end(walk) not in (None, end),
    )


def _shared(state: State, walk: Walk, end: int) -> Made:
    now, bent = state, 0.0
    for number, amount in ((0, -walk.deviation / 2), (1, walk.deviation / 2)):
        side = _side(next(w for w in now.walks if w.name == walk.name), number)
        made = _stretched(now, side, end, amount)
        if made is None:
            return None
        now, bent = made[0], bent + made[1]
    return with_notches(state, walk.seam.first.pieces, (now, bent))


def _followed(state: State, walk: Walk, number: int, end: int, amount: float) -> tuple[tuple[str, ...], Made] | None:
    """A piece whose end moves as a whole with both its long edges, and the pieces that hang on those."""
    side, mate = _side(walk, number), _side(walk, 1 - number)
    piece = _end_of(side, end)[2]
    made = _whole_end(state, side, end, amount, _opposite(state, side, end))
    if made is None:
        return None
    now, bent = made
    held = {piece, *mate.pieces}
    names: list[str] = []
    for _ in range(FOLLOWERS):
        step = _next_to_follow(now, {piece, *names}, held)
        if step is None:
            break
        its, need = step
        made = _whole_end(now, its, end, need, _opposite(now, its, end))
        if made is None:
            return None
        now, bent = made[0], bent + made[1]
        names.append(_end_of(its, end)[2])
        held.add(names[-1])
    return (tuple(names), (now, bent)) if names else None


def _next_to_follow(state: State, moved: set[str], held: set[str]) -> tuple[Side, float] | None:
    """A side that no longer fits a piece that moved, and by how much it must become longer."""
    for walk in state.walks:
        if abs(walk.deviation) <= OFF or walk.seam.twin:
            continue
        first, second = walk.seam.first, walk.seam.second
        if set(first.pieces) & moved and not set(second.pieces) & held:
            return second, walk.deviation
        if set(second.pieces) & moved and not set(first.pieces) & held:
            return first, -walk.deviation
    return None


def _opposite(state: State, side: Side, end: int) -> frozenset[str]:
    """The edges of a piece that share no corner with the one at an end of a side."""
    edge, _, piece = _end_of(side, end)
    ends = {edge.start, edge.end}
    return frozenset(e.name for e in state.pieces[piece].edges if not ends & {e.start, e.end})
