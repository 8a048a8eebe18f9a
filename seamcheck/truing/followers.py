"""What hangs on a piece that is drawn anew, and goes along with it: a band, a facing, a pocket, a fly, a lining.

follower  a piece that the plan sews to an edge which a correction makes longer or shorter, elsewhere than in the seam corrected
part      a piece much smaller than those that it is sewn to: it is cut to fit them
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from seamcheck.amounts import Fact, Listed, phrase
from seamcheck.checks.seam_kinds import OUTER, customary
from seamcheck.pattern.seams import Side
from seamcheck.pattern.walk import Walk
from seamcheck.truing.correction import Corner, Made
from seamcheck.truing.leading import KEPT, end_of, led, led_by, side_of, whole_end
from seamcheck.truing.state import State

FOLLOWERS = 4  # pieces that may follow one that moves
MOVED = 0.05  # mm: a corner that moved less stayed
PART = (
    1 / 3
)  # of the cloth of a piece: what is no larger, and sewn to it, is cut to fit it (common practice, no source)


@dataclass(frozen=True, slots=True)
class Follower:
    """An edge of a piece that follows, led on by `amount` mm at one of its corners, or cut back for a negative amount.

    One that `hangs` is the end of a strip, or is cut to fit what it follows; another one is only sewn to it.
    """

    piece: str
    edge: str
    corner: str
    amount: float
    hangs: bool

    @property
    def words(self) -> Fact:
        """What is done to it."""
        return led_by(self.amount, f"its {self.edge}", self.corner)


@dataclass(frozen=True, slots=True)
class Followed:
    """What became of a pattern, and of how much bending it took, once all that hangs on what was drawn anew has followed it."""

    followers: tuple[Follower, ...]
    made: tuple[State, float]

    @property
    def pieces(self) -> tuple[str, ...]:
        """The pieces that followed, each once."""
        return tuple(dict.fromkeys(one.piece for one in self.followers))

    @property
    def words(self) -> Fact:
        """What they do, as the end of a sentence; "" where nothing follows."""
        if not self.followers:
            return ""
        told = []
        for piece in self.pieces:
            what = Listed(tuple(one.words for one in self.followers if one.piece == piece))
            told.append(phrase("let {piece} follow: {what}", piece=piece, what=what))
        return phrase(", and {followers}", followers=Listed(tuple(told), between="; ", last="; and "))


def is_inside(walk: Walk, number: int) -> bool:
    """Whether a side of a seam, 0 or 1, is called the facing or the lining of the other one."""
    known = customary(walk.seam)
    return known is not None and known.kind is OUTER and number == (known.sign == 1)


def is_cut_to_fit(state: State, walk: Walk, number: int) -> bool:
    """Whether a side of a seam, 0 or 1, is a part of the other one, or is called its lining or facing: it goes by that one."""
    if is_inside(walk, number):
        return True
    own, others = ([_area(state, piece) for piece in side_of(walk, one).pieces] for one in (number, 1 - number))
    return max(own) <= PART * min(others)


def _area(state: State, piece: str) -> float:
    return abs(state.pieces[piece].outline.signed_area())


def follow(before: State, made: Made, held: Iterable[str]) -> Followed | None:
    """What was made of a pattern, with all that hangs on it following; the pieces `held` stay as they are there.

    None where nothing was made, or a follower cannot be drawn.
    """
    if made is None:
        return None
    now, bent = made
    kept, followers = set(held), []
    for _ in range(FOLLOWERS):
        step = _next(before, now, kept)
        if step is None:
            break
        walk, number, ends = step
        side, amount = side_of(walk, number), walk.deviation if number else -walk.deviation
        cut_to_fit = is_cut_to_fit(now, walk, number)
        for end in ends:
            share = amount / len(ends)
            strip = whole_end(now, side, end, share)
            drawn = strip or led(now, side, end, share)
            if drawn is None:
                return None
            edge, corner, piece = end_of(side, end)
            followers.append(Follower(piece, edge.name, corner, share, strip is not None or cut_to_fit))
            now, bent = drawn[0], bent + drawn[1]
            side = _same_side(now, side)
        kept |= set(side.pieces)
    return Followed(tuple(followers), (now, bent))


def _next(before: State, now: State, held: set[str]) -> tuple[Walk, int, tuple[int, ...]] | None:
    """A seam, and the side of it whose mate changed under it, at those of its ends where corners of the mate moved."""
    moved = _moved(before, now)
    old = {walk.name: walk.deviation for walk in before.walks}
    for walk in now.walks:
        if walk.seam.twin or min(abs(walk.deviation), abs(walk.deviation - old[walk.name])) <= KEPT:
            continue
        for number in (0, 1):
            side, mate = side_of(walk, number), side_of(walk, 1 - number)
            ends = tuple(end for end in (0, -1) if _corner_at(mate, end) in moved)
            if ends and not held & set(side.pieces):
                return walk, number, ends
    return None


def _corner_at(side: Side, end: int) -> Corner:
    _, corner, piece = end_of(side, end)
    return piece, corner


def _moved(before: State, now: State) -> set[Corner]:
    """The corners that lie elsewhere than before."""
    found = set()
    for name, piece in now.pieces.items():
        if piece is not before.pieces[name]:
            old = {corner.name: corner.at for corner in before.pieces[name].corners}
            found |= {
                (name, corner.name)
                for corner in piece.corners
                if abs(corner.at - old.get(corner.name, corner.at)) > MOVED
            }
    return found


def _same_side(state: State, side: Side) -> Side:
    """A side as it is in another state of its pattern."""
    sides = (one for walk in state.walks for one in (walk.seam.first, walk.seam.second))
    return next(one for one in sides if one.uses == side.uses)
