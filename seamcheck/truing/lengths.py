"""What could be done about two sides of a seam that differ in length.

An edge is led on past its end, or cut back along its own line, and the corner travels the whole amount; the line that crosses
there is blended into the new corner. So nothing of the old edge is bent.

strip      a piece whose short end goes along whole when one of its long edges becomes longer: a band, a facing, a cuff
follower   a strip that hangs on an edge that moved, and goes along with it
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from seamcheck.amounts import Fact, Length, listed, phrase
from seamcheck.checks.seam_bands import SIXTEENTH, culprit
from seamcheck.engine.result import FileResult, Finding
from seamcheck.pattern.model import Edge, Piece
from seamcheck.pattern.seams import Side
from seamcheck.pattern.walk import Walk
from seamcheck.truing.correction import Corner, Correction, Made, beside, fold_of, with_notches
from seamcheck.truing.redraw import Change, Lead, redraw
from seamcheck.truing.state import State
from seamcheck.truing.tracing import traced

SHORT_END = 80.0  # mm: an edge beside another, no longer than this (the end of a band), goes along whole
STRIP_EDGES = 4
FOLLOWERS = 4  # pieces that may follow one that moves
OFF = 0.1  # mm: a seam off by more than this has to follow
KEPT = 0.4  # mm: 1/64 in, the finest division of a rule; a sewn length that changes by no more is kept
WORST = 0.01  # 1/mm: a line that has to bend more than this is not the same line any more (10 degrees over 12 mm)

# What custom does first (common practice): waists and free hems give way before crotch, underarm and neck points.
# And a facing is cut from the band that it faces.
TRACED, WAIST, HEM, POINT, BOTH_ENDS = range(5)


def length_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """Longer or shorter at either end, half at both, the end of a strip with all that hangs on it; on either side."""
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
    side, mate = _side(walk, number), _side(walk, 1 - number)
    amount = walk.deviation if number else -walk.deviation
    told = told_end(walk)
    for end in (0, -1):
        edge, corner, piece = _end_of(side, end)
        other = beside(state.pieces[piece], edge, corner)
        if other is None or other.name == fold_of(state, piece):
            continue
        name = f"{piece}.{other.name}"
        what = _led_by(amount, f"{piece}.{edge.name}", corner)
        way = "lead it on straight" if amount > 0 else "cut it back along its own line"
        plain = Correction(
            what=phrase("{what}: {way}, and blend {name} into the new corner", what=what, way=way, name=name),
            pieces=(piece,),
            make=partial(_at_end, state, side, end, amount),
            amount=abs(amount),
            custom=_custom(state, piece, edge, corner),
            at=_corners_at(walk, end),
            elsewhere=told not in (None, end),
        )
        if not _is_short_end(state.pieces[piece], edge, other):
            yield plain
            continue
        tracing = traced(state, _ends(side), _ends(mate))
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
            )
        turned = partial(_turned_end, state, side, end, amount)
        words = phrase("{what}, and turn the whole end ({name}) with it", what=what, name=name)
        yield replace(plain, what=words, make=turned, leader=mate.pieces)
        shifted = _shifted(state, walk, number, end, amount)
        if shifted is not None:
            names, made = shifted
            follow = f", and let {listed(names)} follow" if names else ""
            yield replace(
                plain,
                what=phrase(
                    "{what}: {way}, and move the whole end ({name}) with it{follow}",
                    what=what,
                    way=way,
                    name=name,
                    follow=follow,
                ),
                pieces=(piece, *names),
                make=partial(with_notches, state, (piece, *names), made),
                leader=mate.pieces,
            )
    edge, _, piece = _end_of(side, 0)
    if len(side.edges) == 1 and all(_may_travel(state, piece, edge, corner) for corner in (edge.start, edge.end)):
        yield Correction(
            what=phrase(
                "{verb} {edge} by {amount}, half of it at either end",
                verb=_verb(amount),
                edge=f"{piece}.{edge.name}",
                amount=Length(abs(amount)),
            ),
            pieces=(piece,),
            make=partial(_at_both_ends, state, walk.name, number, amount),
            amount=abs(amount) / 2,
            custom=BOTH_ENDS,
            elsewhere=told is not None,
        )


def _verb(amount: float) -> str:
    return "lengthen" if amount > 0 else "shorten"


def _corners_at(walk: Walk, end: int) -> frozenset[Corner]:
    """The corners of both sides that lie together at an end of a seam."""
    ends = (_end_of(_side(walk, number), end) for number in (0, 1))
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
            edge, corner, piece = _end_of(side, end)
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


def _end_of(side: Side, end: int) -> tuple[Edge, str, str]:
    """The edge at one end of a side, the corner there, and its piece."""
    use, edge = side.uses[end], side.edges[end]
    at_start = (end == 0) != use.backwards
    return edge, edge.start if at_start else edge.end, use.piece


def _ends(side: Side) -> tuple[tuple[Edge, str, str], tuple[Edge, str, str]]:
    return _end_of(side, 0), _end_of(side, -1)


def _travel(before: State, after: State, piece: str) -> float:
    """How far the corner of a piece goes that goes farthest, in mm."""
    new = {corner.name: corner.at for corner in after.pieces[piece].corners}
    old = before.pieces[piece].corners
    return max((abs(new[corner.name] - corner.at) for corner in old if corner.name in new), default=0.0)


def _is_short_end(piece: Piece, edge: Edge, other: Edge) -> bool:
    """Whether an edge is the short end of a strip, beside one of its long edges."""
    return other.length <= min(SHORT_END, edge.length / 2) and _is_strip(piece)


def _is_strip(piece: Piece) -> bool:
    return sum(not edge.inside for edge in piece.edges) == STRIP_EDGES


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
            if any((use.piece, use.edge) == here for use in side) and _is_strip(state.pieces[mate[0].piece]):
                return WAIST
    return POINT


def _led(state: State, side: Side, end: int, amount: float) -> Made:
    """A side led on or cut back by `amount` mm at one end, the line that crosses there blended into the new corner.

    The edge keeps its old line, and its corner lies on it or straight beyond. Only where a line that crosses there is sewn, and
    would change its length by more than can be seen, the corner slides beside it by as little as keeps that length.
    """
    edge, corner, piece = _end_of(side, end)
    other = beside(state.pieces[piece], edge, corner)
    if other is None or _notched_within(edge, corner, -amount):
        return None
    exact = _drawn(state, piece, Lead(edge.name, amount), corner, frozenset({edge.name, other.name}))
    if exact is not None and (
        not _has_mate(state, piece, other)
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


def _may_travel(state: State, piece: str, edge: Edge, corner: str) -> bool:
    """Whether a corner may travel by itself: not at a fold, and not at the short end of a strip."""
    other = beside(state.pieces[piece], edge, corner)
    return (
        other is not None
        and other.name != fold_of(state, piece)
        and not _is_short_end(state.pieces[piece], edge, other)
    )


def _notched_within(edge: Edge, corner: str, cut: float) -> bool:
    """Whether a notch would be cut away."""
    return any(
        (notch.station if corner == edge.start else edge.length - notch.station) <= cut for notch in edge.notches
    )


def _has_mate(state: State, piece: str, edge: Edge) -> bool:
    """Whether an edge is sewn to another one, whose length it has to keep; one that is sewn to its own twin changes with it."""
    return any(
        (use.piece, use.edge) == (piece, edge.name)
        for seam in state.judges.plan.seams
        if seam.sides[0] != seam.sides[1]
        for side in seam.sides
        for use in side
    )


def _at_end(state: State, side: Side, end: int, amount: float) -> Made:
    return with_notches(state, side.pieces, _led(state, side, end, amount))


def _turned_end(state: State, side: Side, end: int, amount: float) -> Made:
    """The short edge at an end moving and turning with it, the opposite edge of the strip keeping its length."""
    edge, corner, piece = _end_of(side, end)
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
        side = _side(next(walk for walk in now.walks if walk.name == seam), number)
        made = _led(now, side, end, amount / 2)
        if made is None:
            return None
        now, bent = made[0], bent + made[1]
    return with_notches(state, _side(next(w for w in state.walks if w.name == seam), number).pieces, (now, bent))


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
    if not _has_mate(state, piece, edge):
        way = "shorter" if amount > 0 else "longer"
        words = phrase(", which makes it {amount} {way}", amount=Length(abs(amount)), way=way)
        return words, (piece,), with_notches(state, (piece,), (state, 0.0)), 0.0
    ends = [
        (_custom(state, piece, edge, corner), corner, side, end)
        for walk in state.walks
        if not walk.seam.twin
        for side in (walk.seam.first, walk.seam.second)
        for end in (0, -1)
        for own, corner, owner in (_end_of(side, end),)
        if (owner, own.name) == (piece, name) and _may_travel(state, piece, edge, corner)
    ]
    for _, corner, side, end in sorted(ends, key=lambda one: one[:2]):
        made = _led(state, side, end, amount)
        if made is not None:
            words = phrase(", and {what}, to its old length", what=_led_by(amount, "it", corner))
            return words, (piece,), with_notches(state, (piece,), made), abs(amount)
    return _followed(state, piece, edge, -amount)


def _followed(
    state: State, piece: str, edge: Edge, amount: float
) -> tuple[Fact, tuple[str, ...], Made, float] | None:
    """The strip that is sewn along an edge led on or cut back with it, as `given_back` tells it."""
    for walk in state.walks:
        for number in (0, 1):
            mine, its = _side(walk, 1 - number), _side(walk, number)
            if walk.seam.twin or [(use.piece, use.edge) for use in mine.uses] != [(piece, edge.name)]:
                continue
            for end in (0, -1):
                shifted = _shifted(state, walk, number, end, amount)
                if shifted is None:
                    continue
                names, made = shifted
                long, corner, strip = _end_of(its, end)
                words = phrase(
                    ", and let {strip} follow: {what}{more}",
                    strip=strip,
                    what=_led_by(amount, long.name, corner),
                    more=f", and let {listed(names)} follow that" if names else "",
                )
                pieces = (piece, strip, *names)
                return words, pieces, with_notches(state, pieces, made), abs(amount)
    return None


def _led_by(amount: float, edge: str, corner: str) -> Fact:
    """An edge lengthened or shortened at one of its ends, in words."""
    return phrase(
        "{verb} {edge} by {amount} at {corner}",
        verb=_verb(amount),
        edge=edge,
        amount=Length(abs(amount)),
        corner=corner,
    )


def _both_sides(state: State, walk: Walk, end: int) -> Iterator[Correction]:
    """Half of the difference on either piece, at one end of the seam."""
    first, second = _end_of(walk.seam.first, end), _end_of(walk.seam.second, end)
    (edge, corner, one), (_, _, other) = first, second
    if one == other or not all(_may_travel(state, piece, line, at) for line, at, piece in (first, second)):
        return
    half = Length(abs(walk.deviation) / 2)
    yield Correction(
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


def _shared(state: State, walk: Walk, end: int) -> Made:
    now, bent = state, 0.0
    for number, amount in ((0, -walk.deviation / 2), (1, walk.deviation / 2)):
        side = _side(next(w for w in now.walks if w.name == walk.name), number)
        made = _led(now, side, end, amount)
        if made is None:
            return None
        now, bent = made[0], bent + made[1]
    return with_notches(state, (*walk.seam.first.pieces, *walk.seam.second.pieces), (now, bent))


def _shifted(state: State, walk: Walk, number: int, end: int, amount: float) -> tuple[tuple[str, ...], Made] | None:
    """A strip whose end goes along whole, and the strips that hang on its other long edge; their names, and what was drawn."""
    side, mate = _side(walk, number), _side(walk, 1 - number)
    made = _whole_end(state, side, end, amount)
    if made is None:
        return None
    now, bent = made
    ends = _ends_of(state, side, end)
    held = {*side.pieces, *mate.pieces}
    names: list[str] = []
    for _ in range(FOLLOWERS):
        step = _next_to_follow(now, ends, held)
        if step is None:
            break
        its, its_end, need = step
        made = _whole_end(now, its, its_end, need)
        if made is None:
            return None
        ends |= _ends_of(now, its, its_end)
        now, bent = made[0], bent + made[1]
        names.append(_end_of(its, its_end)[2])
        held.add(names[-1])
    return tuple(names), (now, bent)


def _whole_end(state: State, side: Side, end: int, amount: float) -> Made:
    """A long edge of a strip led on or cut back, the short edge at its end going along as it is."""
    edge, corner, piece = _end_of(side, end)
    other = beside(state.pieces[piece], edge, corner)
    if other is None or other.name == fold_of(state, piece) or not _is_short_end(state.pieces[piece], edge, other):
        return None
    lead = Lead(edge.name, amount, carried=other.name)
    return _drawn(state, piece, lead, corner, frozenset(one.name for one in state.pieces[piece].edges))


def _ends_of(state: State, side: Side, end: int) -> set[tuple[str, str]]:
    """Both corners, by piece and name, of the short edge at an end of a side."""
    edge, corner, piece = _end_of(side, end)
    other = beside(state.pieces[piece], edge, corner)
    return {(piece, corner)} | ({(piece, other.start), (piece, other.end)} if other else set())


def _next_to_follow(state: State, ends: set[tuple[str, str]], held: set[str]) -> tuple[Side, int, float] | None:
    """A side that no longer fits where one of some corners moved: which of its ends is there, and by how much it must become longer."""
    for walk in state.walks:
        if abs(walk.deviation) <= OFF or walk.seam.twin:
            continue
        for number, need in ((0, -walk.deviation), (1, walk.deviation)):
            side, mate = _side(walk, number), _side(walk, 1 - number)
            for end in (0, -1):
                _, corner, piece = _end_of(mate, end)
                if (piece, corner) in ends and not set(side.pieces) & held:
                    return side, end, need
    return None
