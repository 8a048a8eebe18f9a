"""What could be done about two sides of a seam that differ in length.

An edge is led on past its end, or cut back along its own line, at the end where custom does that; what hangs on it follows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from seamcheck.amounts import Fact, Length, listed, phrase
from seamcheck.checks.seam_bands import SIXTEENTH, culprit
from seamcheck.engine.result import FileResult, Finding
from seamcheck.pattern.model import Edge
from seamcheck.pattern.seams import Side
from seamcheck.pattern.walk import Walk
from seamcheck.truing.correction import Corner, Correction, Made, as_made, beside, fold_of, with_notches
from seamcheck.truing.followers import follow, is_cut_to_fit, is_inside
from seamcheck.truing.leading import (
    KEPT,
    both_ends,
    end_of,
    has_mate,
    is_short_end,
    is_strip,
    led,
    led_by,
    ruled_end,
    side_of,
    verb,
    whole_end,
)
from seamcheck.truing.redraw import Change, redraw
from seamcheck.truing.state import State
from seamcheck.truing.tracing import traced

# What custom does first (common practice): waists and free hems give way before crotch, underarm and neck points.
# And a facing is cut from the band that it faces.
# The end of a strip is slanted last of all.
TRACED, WAIST, HEM, POINT, BOTH_ENDS, SLANTED = range(6)


def length_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """Longer or shorter at either end, half at both, the end of a strip with all that hangs on it; on either side."""
    walk = next((walk for walk in state.walks if walk.name == finding.seam), None)
    if walk is None or walk.seam.twin:
        return
    for number in (0, 1):
        yield from _one_side(state, walk, number)
    for end in (0, -1):
        yield from _both_sides(state, walk, end)


def _one_side(state: State, walk: Walk, number: int) -> Iterator[Correction]:
    side, mate = side_of(walk, number), side_of(walk, 1 - number)
    amount = walk.deviation if number else -walk.deviation
    told = told_end(walk)
    for end in (0, -1):
        edge, corner, piece = end_of(side, end)
        other = beside(state.pieces[piece], edge, corner)
        if other is None or other.name == fold_of(state, piece):
            continue
        name = f"{piece}.{other.name}"
        what = led_by(amount, f"{piece}.{edge.name}", corner)
        way = "lead it on straight" if amount > 0 else "cut it back along its own line"
        plain = Correction(
            what=phrase("{what}: {way}, and blend {name} into the new corner", what=what, way=way, name=name),
            pieces=(piece,),
            make=partial(led, state, side, end, amount),
            amount=abs(amount),
            custom=_custom(state, piece, edge, corner),
            at=_corners_at(walk, end),
            elsewhere=told not in (None, end),
            as_planned=_is_planned(state, piece, edge, corner),
            leader=mate.pieces if is_cut_to_fit(state, walk, number) else (),
        )
        if not is_short_end(state.pieces[piece], edge, other):
            yield _with_followers(state, walk, plain)
            continue
        tracing = traced(state, both_ends(side), both_ends(mate))
        if tracing is not None:
            leader, travel = mate.pieces, _travel(state, tracing, piece)
            yield replace(
                plain,
                what=phrase(
                    "trace {piece} anew from {leader} as that is now: its {corner} travels {travel}",
                    piece=piece,
                    leader=listed(leader),
                    corner=corner,
                    travel=Length(travel),
                ),
                make=partial(with_notches, state, (piece,), (tracing, 0.0)),
                amount=travel,
                custom=TRACED,
                leader=leader,
                from_inside=leader if is_inside(walk, 1 - number) else (),
            )
        turned = partial(_turned_end, state, side, end, amount)
        words = phrase("{what}, and turn the whole end ({name}) with it", what=what, name=name)
        yield replace(plain, what=words, make=turned, leader=mate.pieces)
        moved = phrase("{what}: {way}, and move the whole end ({name}) with it", what=what, way=way, name=name)
        shifted = partial(whole_end, state, side, end, amount)
        yield _with_followers(state, walk, replace(plain, what=moved, make=shifted, leader=mate.pieces))
        slanted = phrase("{what}: {way}, and rule {name} anew to the new corner", what=what, way=way, name=name)
        ruled = ruled_end(state, side, end, amount)
        custom = plain.custom if _is_squarer(state, ruled, piece, other) else SLANTED
        yield _with_followers(
            state,
            walk,
            replace(plain, what=slanted, make=partial(as_made, ruled), leader=mate.pieces, custom=custom),
        )
    edge, _, piece = end_of(side, 0)
    if len(side.edges) == 1 and all(_may_travel(state, piece, edge, corner) for corner in (edge.start, edge.end)):
        halves = Correction(
            what=phrase(
                "{verb} {edge} by {amount}, half of it at either end",
                verb=verb(amount),
                edge=f"{piece}.{edge.name}",
                amount=Length(abs(amount)),
            ),
            pieces=(piece,),
            make=partial(_at_both_ends, state, walk.name, number, amount),
            amount=abs(amount) / 2,
            custom=BOTH_ENDS,
            elsewhere=told is not None,
        )
        yield _with_followers(state, walk, halves)


def _with_followers(state: State, walk: Walk, correction: Correction) -> Correction:
    """A correction of a seam with what hangs on its pieces elsewhere following, and all their notches put back."""
    made = correction.make()
    followed = follow(state, made, {*walk.seam.first.pieces, *walk.seam.second.pieces})
    if followed is None or not followed.followers:
        return replace(correction, make=partial(with_notches, state, correction.pieces, made))
    pieces = (*correction.pieces, *followed.pieces)
    return replace(
        correction,
        what=phrase("{what}{followers}", what=correction.what, followers=followed.words),
        pieces=pieces,
        followers=followed.pieces,
        make=partial(with_notches, state, pieces, followed.made),
        leader=correction.leader if all(one.hangs for one in followed.followers) else (),
    )


def _is_squarer(before: State, made: Made, piece: str, end: Edge) -> bool:
    """Whether the end of a strip meets its long edges more squarely than before: then it was slanted by an alteration."""
    if made is None:
        return False
    off = [
        sum(abs(state.pieces[piece].corner(corner).angle - 90.0) for corner in (end.start, end.end))
        for state in (before, made[0])
    ]
    return off[1] < off[0]


def _is_planned(state: State, piece: str, edge: Edge, corner: str) -> bool:
    """Whether the plan names this end of an edge for what a slash took from it."""
    plan = state.plans.get(piece)
    return plan is not None and plan.give_back.get(edge.name) == corner


def _corners_at(walk: Walk, end: int) -> frozenset[Corner]:
    """The corners of both sides that lie together at an end of a seam."""
    ends = (end_of(side_of(walk, number), end) for number in (0, 1))
    return frozenset((piece, corner) for _, corner, piece in ends)


def is_slashed(state: State, result: FileResult, walk: Walk) -> bool:
    """Whether a piece of a seam bears what a slash that was hinged leaves: a bent grain arrow, or a kink far from the seam's end.

    What it took is given back where custom gives it back, wherever the slash was. A kink in the seam itself, or in the line that
    crosses where it differs, may come of an end that was drawn anew.
    """
    told = told_end(walk)
    own: set[str] = set()
    for side in (walk.seam.first, walk.seam.second):
        own |= {use.name for use in side.uses}
        for end in (0, -1) if told is None else (told,):
            edge, corner, piece = end_of(side, end)
            other = beside(state.pieces[piece], edge, corner)
            own |= {f"{piece}.{other.name}"} if other else set()
    pieces = {*walk.seam.first.pieces, *walk.seam.second.pieces}
    return any(
        (one.check == "edge-blend" and not own & set(one.edges))
        or (one.check, one.code) == ("grain-straight", "bent")
        for one in result.findings
        if pieces & set(one.pieces)
    )


def told_end(walk: Walk) -> int | None:
    """The end of a seam, 0 or -1, in whose last stretch its whole difference lies; None where no such stretch is known."""
    span = culprit(walk, SIXTEENTH)
    if span is None or span not in (walk.spans[0], walk.spans[-1]):
        return None
    return 0 if span is walk.spans[0] else -1


def _travel(before: State, after: State, piece: str) -> float:
    """How far the corner of a piece goes that goes farthest, in mm."""
    new = {corner.name: corner.at for corner in after.pieces[piece].corners}
    old = before.pieces[piece].corners
    return max((abs(new[corner.name] - corner.at) for corner in old if corner.name in new), default=0.0)


def _custom(state: State, piece: str, edge: Edge, corner: str) -> int:
    """How soon custom corrects an edge at one of its corners, by what crosses it there."""
    plan, other = state.plans.get(piece), beside(state.pieces[piece], edge, corner)
    if plan is None or other is None:
        return POINT
    if other.name in plan.unsewn:
        return HEM
    here = (piece, other.name)
    for seam in state.judges.plan.seams:
        for side, mate in (seam.sides, seam.sides[::-1]):
            crossed = state.pieces.get(mate[0].piece)  # a piece of the plan that the file lacks is told elsewhere
            if crossed is not None and any((use.piece, use.edge) == here for use in side) and is_strip(crossed):
                return WAIST
    return POINT


def _may_travel(state: State, piece: str, edge: Edge, corner: str) -> bool:
    """Whether a corner may travel by itself: not at a fold, and not at the short end of a strip."""
    other = beside(state.pieces[piece], edge, corner)
    return (
        other is not None
        and other.name != fold_of(state, piece)
        and not is_short_end(state.pieces[piece], edge, other)
    )


def _turned_end(state: State, side: Side, end: int, amount: float) -> Made:
    """The short edge at an end moving and turning with it, the opposite edge of the strip keeping its length."""
    edge, corner, piece = end_of(side, end)
    other = beside(state.pieces[piece], edge, corner)
    if other is None:
        return None
    free = frozenset({corner, other.end if other.start == corner else other.start})
    for far in (True, False):
        change = Change(free=free, lengths={edge.name: edge.length + amount}, far=far)
        made = redraw(state, piece, change)
        if made is not None:
            return with_notches(state, side.pieces, made)
    return None


def _at_both_ends(state: State, seam: str, number: int, amount: float) -> Made:
    now, bent = state, 0.0
    for end in (0, -1):
        side = side_of(next(walk for walk in now.walks if walk.name == seam), number)
        made = led(now, side, end, amount / 2)
        if made is None:
            return None
        now, bent = made[0], bent + made[1]
    return now, bent


def given_back(
    state: State, piece: str, name: str, wanted: float
) -> tuple[Fact, tuple[str, ...], Made, float] | None:
    """An edge brought back to the length that a mate holds it to, at the end where custom does that.

    What that is in words, the pieces that it draws anew, what was drawn, and by how many mm corners travel; None where it cannot
    be drawn, or has hardly lost anything.
    """
    edge = state.pieces[piece].edge(name)
    amount = wanted - edge.length
    if abs(amount) <= KEPT:
        return None
    if not has_mate(state, piece, edge):
        way = "shorter" if amount > 0 else "longer"
        words = phrase(", which makes it {amount} {way}", amount=Length(abs(amount)), way=way)
        return words, (piece,), with_notches(state, (piece,), (state, 0.0)), 0.0
    ends = [
        (not _is_planned(state, piece, edge, corner), _custom(state, piece, edge, corner), corner, side, end)
        for walk in state.walks
        if not walk.seam.twin
        for side in (walk.seam.first, walk.seam.second)
        for end in (0, -1)
        for own, corner, owner in (end_of(side, end),)
        if (owner, own.name) == (piece, name) and _may_travel(state, piece, edge, corner)
    ]
    for _, _, corner, side, end in sorted(ends, key=lambda one: one[:3]):
        made = led(state, side, end, amount)
        if made is not None:
            words = phrase(", and {what}, to its old length", what=led_by(amount, "it", corner))
            return words, (piece,), with_notches(state, (piece,), made), abs(amount)
    return _followed(state, piece, edge, -amount)


def _followed(
    state: State, piece: str, edge: Edge, amount: float
) -> tuple[Fact, tuple[str, ...], Made, float] | None:
    """The strip that is sewn along an edge led on or cut back with it, as `given_back` tells it."""
    for walk in state.walks:
        for number in (0, 1):
            mine, its = side_of(walk, 1 - number), side_of(walk, number)
            if walk.seam.twin or [(use.piece, use.edge) for use in mine.uses] != [(piece, edge.name)]:
                continue
            for end in (0, -1):
                followed = follow(state, whole_end(state, its, end, amount), {piece, *its.pieces})
                if followed is None:
                    continue
                long, corner, strip = end_of(its, end)
                words = phrase(
                    ", and let {strip} follow: {what}{more}",
                    strip=strip,
                    what=led_by(amount, f"its {long.name}", corner),
                    more=followed.words,
                )
                pieces = (piece, strip, *followed.pieces)
                return words, pieces, with_notches(state, pieces, followed.made), abs(amount)
    return None


def _both_sides(state: State, walk: Walk, end: int) -> Iterator[Correction]:
    """Half of the difference on either piece, at one end of the seam."""
    first, second = end_of(walk.seam.first, end), end_of(walk.seam.second, end)
    (edge, corner, one), (_, _, other) = first, second
    if one == other or not all(_may_travel(state, piece, line, at) for line, at, piece in (first, second)):
        return
    half = Length(abs(walk.deviation) / 2)
    shared = Correction(
        what=phrase(
            "share it at {corner}: {half} on {one} and {half} on {other}",
            corner=corner,
            half=half,
            one=one,
            other=other,
        ),
        pieces=(one, other),
        make=partial(_shared, state, walk, end),
        amount=abs(walk.deviation) / 2,
        custom=_custom(state, one, edge, corner),
        at=_corners_at(walk, end),
        elsewhere=told_end(walk) not in (None, end),
    )
    yield _with_followers(state, walk, shared)


def _shared(state: State, walk: Walk, end: int) -> Made:
    now, bent = state, 0.0
    for number, amount in ((0, -walk.deviation / 2), (1, walk.deviation / 2)):
        side = side_of(next(w for w in now.walks if w.name == walk.name), number)
        made = led(now, side, end, amount)
        if made is None:
            return None
        now, bent = made[0], bent + made[1]
    return now, bent
