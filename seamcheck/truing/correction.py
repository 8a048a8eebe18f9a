"""A correction to try: words, the pieces it draws anew, and a way to draw it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from seamcheck.amounts import Fact
from seamcheck.pattern.model import Edge, Piece
from seamcheck.truing.notches import restationed
from seamcheck.truing.state import State

Made = (
    tuple[State, float] | None
)  # the pattern after a correction, and what that bends; None where it cannot be drawn

Corner = tuple[str, str]  # a piece, and one of its corners


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """A correction to try: what to do in words, the pieces that it draws anew, and how."""

    what: Fact
    pieces: tuple[str, ...]
    make: Callable[[], Made] = field(compare=False)
    amount: float = 0.0  # mm by which corners are meant to travel
    across: float = 0.0  # mm by which a line that runs smoothly over a step has to leave it
    custom: int = 0  # what a person would think of first comes before what comes to mind later
    at: frozenset[Corner] = (
        frozenset()
    )  # the corners that lie together where it is made; none where at several places
    elsewhere: bool = False  # away from the stretch in which the finding says that the difference lies
    from_inside: tuple[str, ...] = ()  # the facing or lining that it draws the piece outside from, as that is now
    as_planned: bool = False  # where the plan says that an edge gets back what a slash took
    followers: tuple[str, ...] = ()  # those of the pieces that only go along with the others
    leader: tuple[str, ...] = ()  # the pieces that these ones follow, as a band follows the waist that it is sewn to


def as_made(made: Made) -> Made:
    """What was made already: for a correction that had to be drawn to be told."""
    return made


def with_notches(before: State, pieces: Iterable[str], made: Made) -> Made:
    """The same, with the notches on seams whose notches moved against their mates put back; followers stand last."""
    if made is None:
        return None
    state, bent = made
    order = tuple(dict.fromkeys(pieces))
    old = {walk.name: [match.off for match in walk.matches] for walk in before.walks}
    for _ in order:  # what follows a piece comes behind it, so that its notches move once those are put back
        touched = [
            walk.name
            for walk in state.walks
            if any(abs(match.off) > 0.05 for match in walk.matches)
            and [match.off for match in walk.matches] != old.get(walk.name)
        ]
        state = restationed(state, order, touched)
    return state, bent


def fold_of(state: State, piece: str) -> str | None:
    """The edge of a piece that the plan calls its fold."""
    plan = state.plans.get(piece)
    return plan.fold if plan else None


def beside(piece: Piece, edge: Edge, corner: str) -> Edge | None:
    """The other edge that ends at a corner of an edge."""
    for other in piece.edges:
        if other.name != edge.name and corner in (other.start, other.end):
            return other
    return None
