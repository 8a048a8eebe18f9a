"""From what changed to what hangs on it: along the seams to the mates, and to the lines that run across a seam.

left       the mate does not know of the change: it no longer matches
carried    both sides changed alike, or by as much as the plan allows
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from seamcheck.comparison.changes import Comparison
from seamcheck.pattern.junctions import Junction
from seamcheck.pattern.model import Piece
from seamcheck.pattern.plan import Plan
from seamcheck.pattern.seam_graph import SeamGraph, build_graph
from seamcheck.pattern.seams import Side
from seamcheck.pattern.walk import Walk, walk_seams

Outcome = Literal["left", "carried"]

CHANGED = 0.1  # mm: a side that changed by less did not change
CHANGED_ANGLE = 0.1  # degrees
MATCHES = 0.8  # mm: sides that differ by no more than this beyond what is planned still match
RUNS_ON = 1.75  # degrees: angles that add up this nearly still run on


@dataclass(frozen=True, slots=True, kw_only=True)
class SideChange:
    """One side of a seam: its edges as the plan writes them, and by how much it became longer in mm."""

    edges: tuple[str, ...]
    change: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamEffect:
    """A seam of which a side changed. `deviation` is first minus second beyond what is planned, before and after.

    `hanging` are pieces that are sewn to the side that was left behind, and so must follow it when it follows.
    """

    seam: str
    size: str
    first: SideChange
    second: SideChange
    twin: bool
    deviation_before: float
    deviation: float
    outcome: Outcome
    hanging: tuple[str, ...] = ()

    @property
    def left(self) -> SideChange | None:
        """The side that stayed as it was while the other changed; None where both changed or neither is left."""
        if self.outcome == "carried" or self.twin:
            return None
        still = [side for side in (self.first, self.second) if abs(side.change) <= CHANGED]
        return still[0] if len(still) == 1 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class JunctionEffect:
    """Corners that come to lie on one point, of which an angle changed: what they add to, before and after."""

    corners: tuple[str, ...]
    size: str
    before: float
    after: float
    expected: float
    changed: tuple[str, ...]
    outcome: Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Consequences:
    """All that the changes touch. `loose` are changed or unchanged pieces that are in no seam of the plan."""

    seams: tuple[SeamEffect, ...] = ()
    junctions: tuple[JunctionEffect, ...] = ()
    loose: tuple[str, ...] = ()


def consequences(comparison: Comparison, plan: Plan | None) -> Consequences:
    """Follow every change through the seam graph, size by size."""
    if plan is None:
        return Consequences()
    seams: list[SeamEffect] = []
    junctions: list[JunctionEffect] = []
    loose: dict[str, None] = {}
    for size in dict.fromkeys(change.after.size for change in comparison.pieces):
        before, after = (_graph(comparison, size, plan, which) for which in (0, 1))
        seams += _seams(
            before,
            after,
            {change.name: change.after for change in comparison.pieces if change.after.size == size},
            size,
        )
        junctions += _junctions(before, after, size)
        sewn = {piece for seam in after.seams for side in (seam.first, seam.second) for piece in side.pieces}
        loose |= dict.fromkeys(
            change.name for change in comparison.pieces if change.after.size == size and change.name not in sewn
        )
    return Consequences(seams=tuple(seams), junctions=tuple(junctions), loose=tuple(loose))


def _graph(comparison: Comparison, size: str, plan: Plan, which: int) -> SeamGraph:
    """The seams of the pieces that were compared, as they were (0) or as they are (1), under their names of now."""
    pieces = {
        change.after.name: (change.before, change.after)[which]
        for change in comparison.pieces
        if change.after.size == size
    }
    return build_graph({name: piece for name, piece in pieces.items() if piece.name == name}, plan)


def _seams(before: SeamGraph, after: SeamGraph, pieces: Mapping[str, Piece], size: str) -> Iterator[SeamEffect]:
    was = {walk.name: walk for walk in walk_seams(before)}
    for walk in walk_seams(after):
        old = was.get(walk.name)
        if old is None:
            continue
        first, second = (
            SideChange(edges=new.names, change=new.length - earlier.length)
            for new, earlier in ((walk.seam.first, old.seam.first), (walk.seam.second, old.seam.second))
        )
        if max(abs(first.change), abs(second.change)) <= CHANGED:
            continue
        worse = abs(walk.deviation) > MATCHES and abs(walk.deviation) > abs(old.deviation) + CHANGED
        effect = SeamEffect(
            seam=walk.name,
            size=size,
            first=first,
            second=second,
            twin=walk.seam.twin,
            deviation_before=old.deviation,
            deviation=walk.deviation,
            outcome="left" if worse else "carried",
        )
        yield _with_hanging(effect, walk, after, pieces)


def _with_hanging(effect: SeamEffect, walk: Walk, graph: SeamGraph, pieces: Mapping[str, Piece]) -> SeamEffect:
    """The effect with the pieces that are sewn to the side that must follow."""
    if effect.left is None:
        return effect
    is_first = effect.left is effect.first
    follower, leader = (walk.seam.first, walk.seam.second) if is_first else (walk.seam.second, walk.seam.first)
    mates = [
        use.piece
        for seam in graph.seams
        if seam.name != walk.name and not seam.twin
        for side, other in ((seam.first, seam.second), (seam.second, seam.first))
        if _across(follower, side, pieces)
        for use in other.uses
        if use.piece not in (*follower.pieces, *leader.pieces)
    ]
    return replace(effect, hanging=tuple(dict.fromkeys(mates)))


def _across(follower: Side, other: Side, pieces: Mapping[str, Piece]) -> bool:
    """Whether an edge of one side lies across a strip (a band, a facing, a cuff) from one of the other."""
    for use, edge in zip(follower.uses, follower.edges, strict=True):
        ends = {edge.start, edge.end}
        strip = sum(not one.inside for one in pieces[use.piece].edges) == 4
        for other_use, opposite in zip(other.uses, other.edges, strict=True):
            if strip and other_use.piece == use.piece and not ends & {opposite.start, opposite.end}:
                return True
    return False


def _junctions(before: SeamGraph, after: SeamGraph, size: str) -> Iterator[JunctionEffect]:
    was: dict[frozenset[str], Junction] = {frozenset(one.names): one for one in before.junctions}
    for junction in after.junctions:
        old = was.get(frozenset(junction.names))
        if old is None:
            continue
        angles = dict(zip(old.names, old.angles, strict=True))
        changed = tuple(
            name
            for name, angle in zip(junction.names, junction.angles, strict=True)
            if abs(angle - angles[name]) > CHANGED_ANGLE
        )
        if not changed:
            continue
        off, was_off = junction.angle - junction.expected, old.angle - old.expected
        worse = abs(off) > RUNS_ON and abs(off) > abs(was_off) + CHANGED_ANGLE
        yield JunctionEffect(
            corners=junction.names,
            size=size,
            before=old.angle,
            after=junction.angle,
            expected=junction.expected,
            changed=changed,
            outcome="left" if worse else "carried",
        )
