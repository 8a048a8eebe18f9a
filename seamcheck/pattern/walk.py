"""Walking a seam: one side laid on its mate from their common start, mark by mark.

mark     a notch on a side, or a joint of the side's edges that a notch of the other side may be meant for
match    two marks that belong together
span     the stretch of both sides between neighbouring matches, or an end and a match
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from seamcheck.amounts import Fact, Name, Phrase, PlainLength, phrase
from seamcheck.exact import EXACT, least, root_of_squares
from seamcheck.pattern.seam_graph import SeamGraph
from seamcheck.pattern.seams import Seam, Side
from seamcheck.pattern.subject import Subject

FAR = 40.0  # mm: notches further apart than this are not taken for a pair
COUNT_DIFFERS = 6.0  # mm: what a single notch against a double one weighs when pairs are sought
CORNER_REACH = 12.7  # mm: how near a joint must be for a notch to be meant for it


@dataclass(frozen=True, slots=True)
class NotchOrJoint:
    """A notch (or joint) on a side: its station along the side, its count, and where it is drawn.

    `number` counts a notch on its edge, from 0.
    """

    station: float
    count: int
    edge: str
    at: complex
    joint: bool = False
    number: int | None = None

    @property
    def subject(self) -> Subject | None:
        """The notch; None for a joint."""
        return None if self.joint else Subject("notch", (self.edge,), self.number)


@dataclass(frozen=True, slots=True)
class Match:
    """Two marks that belong together.

    `from_start` is how far they miss each other when walked from the start, first minus second beyond what is
    allowed, and `from_end` the same from the end. Where both sides differ in length the two are not the same:
    then a miss between them is what the stretches before and behind the marks have lost or gained, and the
    marks themselves are where they should be.
    """

    first: NotchOrJoint
    second: NotchOrJoint
    from_start: float
    from_end: float

    @property
    def off(self) -> float:
        """How far the marks miss each other beyond what the difference of the whole seam explains; signed."""
        if self.from_start * self.from_end <= 0.0:
            return 0.0
        return least((self.from_start, self.from_end), key=abs)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch between two neighbouring matched marks; `before` and `after` name them.

    `difference` is first minus second, `deviation` what of it is beyond the allowed range; `at` is its middle on the
    side that is too short (the first where neither is).
    """

    before: Fact
    after: Fact
    first: float
    second: float
    difference: float
    deviation: float
    at: complex


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """A seam as walked. `difference` is first minus second; `deviation` counts from the nearest allowed end."""

    seam: Seam
    difference: float
    allowed: tuple[float, float]
    deviation: float
    matches: tuple[Match, ...]
    alone: tuple[tuple[NotchOrJoint, ...], tuple[NotchOrJoint, ...]]
    spans: tuple[Span, ...]

    @property
    def name(self) -> str:
        """The seam's name."""
        return self.seam.name

    @property
    def uncertainty(self) -> float:
        """By how many mm what is measured along the seam may be off because its edges are traced in noisy chords."""
        edges = (*self.seam.first.edges, *self.seam.second.edges)
        return root_of_squares(edge.uncertainty for edge in edges)


def walk_seams(graph: SeamGraph) -> tuple[Walk, ...]:
    """Walk every seam of one size, in the plan's order."""
    return tuple(walk(seam) for seam in graph.seams)


def walk(seam: Seam) -> Walk:
    """Walk one seam."""
    first, second = seam.first, seam.second
    allowed = allowed_difference(seam, second.length)
    matches, alone = ((), ((), ())) if seam.twin else _matches(seam, allowed)
    return Walk(
        seam=seam,
        difference=first.length - second.length,
        allowed=allowed,
        deviation=beyond(first.length - second.length, allowed),
        matches=matches,
        alone=alone,
        spans=() if seam.twin else _spans(seam, matches),
    )


def allowed_difference(seam: Seam, second: float) -> tuple[float, float]:
    """The planned range of first minus second in mm, for a second side (or a stretch of it) of that length."""
    if seam.plan.ratio is not None:
        low, high = seam.plan.ratio
        return ((low - 1.0) * second, (high - 1.0) * second)
    return seam.plan.ease if seam.plan.ease is not None else (0.0, 0.0)


def beyond(amount: float, allowed: tuple[float, float]) -> float:
    """How far an amount lies outside a range: negative below it, positive above it, 0 within."""
    low, high = allowed
    return amount - low if amount < low else amount - high if amount > high else 0.0


def allowed_between(seam: Seam, start: float, end: float) -> tuple[float, float]:
    """What is allowed in a part of the seam, from one station of the second side to another.

    Of a ratio its share; of an ease none up to all of it, and none where the plan puts the ease elsewhere.
    """
    low, high = allowed_difference(seam, end - start)
    if seam.plan.ratio is not None:
        return (low, high)
    if seam.plan.ease_between is not None:
        first, last = seam.plan.ease_between
        # Where the ease begins is a notch, which lies elsewhere by a little in every size.
        if min(end, last) - max(start, first) <= min(CORNER_REACH, (end - start) / 2):
            return (0.0, 0.0)
    return (min(low, 0.0), max(high, 0.0))


def side_marks(side: Side) -> list[NotchOrJoint]:
    """The notches and joints along a side, in order."""
    marks = []
    for use, edge, offset in zip(side.uses, side.edges, side.offsets, strict=True):
        for number, notch in enumerate(edge.notches):
            along = edge.length - notch.station if use.backwards else notch.station
            marks.append(NotchOrJoint(offset + along, notch.count, use.name, notch.at, number=number))
    for boundary in side.boundaries[1:-1]:
        if boundary.kind == "joint":
            edge_name = " and ".join(dict.fromkeys(piece for piece, _ in boundary.corners))
            marks.append(NotchOrJoint(boundary.station, 0, edge_name, side.place(boundary.station), joint=True))
    return sorted(marks, key=lambda mark: mark.station)


def pair_of_marks(seam: Seam, a: NotchOrJoint, b: NotchOrJoint) -> Match:
    """Two marks of a seam, the first side's and the second's, as a pair."""
    first, second = seam.first.length, seam.second.length
    start = beyond(a.station - b.station, allowed_between(seam, 0.0, b.station))
    end = beyond((first - a.station) - (second - b.station), allowed_between(seam, b.station, second))
    return Match(a, b, start, -end)


def _matches(
    seam: Seam, allowed: tuple[float, float]
) -> tuple[tuple[Match, ...], tuple[tuple[NotchOrJoint, ...], tuple[NotchOrJoint, ...]]]:
    """Pair the marks of both sides in order, at the least total distance; what finds no mate stays alone."""
    first, second = side_marks(seam.first), side_marks(seam.second)
    best: list[list[tuple[float, list[tuple[int, int]]]]] = [
        [(0.0, [])] * (len(second) + 1) for _ in range(len(first) + 1)
    ]
    for i in range(len(first) + 1):
        for j in range(len(second) + 1):
            if i == j == 0:
                continue
            options = []
            if i:
                cost, pairs = best[i - 1][j]
                options.append((cost + _cost_alone(first[i - 1]), pairs))
            if j:
                cost, pairs = best[i][j - 1]
                options.append((cost + _cost_alone(second[j - 1]), pairs))
            if i and j:
                together = _cost_together(seam, first[i - 1], second[j - 1])
                if together is not None:
                    cost, pairs = best[i - 1][j - 1]
                    options.append((cost + together, [*pairs, (i - 1, j - 1)]))
            best[i][j] = min(options, key=lambda option: (round(option[0], 6), -len(option[1])))
    pairs = best[-1][-1][1]
    matches = tuple(pair_of_marks(seam, first[i], second[j]) for i, j in pairs)
    mated_first, mated_second = {i for i, _ in pairs}, {j for _, j in pairs}
    alone = (
        tuple(mark for i, mark in enumerate(first) if i not in mated_first and not mark.joint),
        tuple(mark for j, mark in enumerate(second) if j not in mated_second and not mark.joint),
    )
    return matches, alone


def _cost_alone(mark: NotchOrJoint) -> float:
    return 0.0 if mark.joint else FAR / 2


def _cost_together(seam: Seam, a: NotchOrJoint, b: NotchOrJoint) -> float | None:
    if a.joint and b.joint:
        return None
    off = abs(pair_of_marks(seam, a, b).off)
    if off > (CORNER_REACH if a.joint or b.joint else FAR):
        return None
    differs = not (a.joint or b.joint) and a.count != b.count
    return off + (COUNT_DIFFERS if differs else 0.0)


def fits_turned(walk: Walk, tolerance: float) -> bool:
    """Whether all notches would meet within `tolerance` mm, and now do not, with one side walked from its other end."""
    first, second = (
        [mark for mark in side_marks(side) if not mark.joint] for side in (walk.seam.first, walk.seam.second)
    )
    turned = [replace(mark, station=walk.seam.second.length - mark.station) for mark in reversed(second)]
    if walk.seam.twin or [mark.count for mark in first] != [mark.count for mark in turned] or not first:
        return False
    meets = not any(walk.alone) and all(
        abs(match.off) <= tolerance
        and (match.first.joint or match.second.joint or match.first.count == match.second.count)
        for match in walk.matches
    )
    pairs = (pair_of_marks(walk.seam, a, b) for a, b in zip(first, turned, strict=True))
    return not meets and all(abs(pair.off) <= tolerance for pair in pairs)


def _spans(seam: Seam, matches: Sequence[Match]) -> tuple[Span, ...]:
    names: list[tuple[Fact, float, float]] = [(end_name(seam, 0), 0.0, 0.0)]
    names += [(notch_name(seam, match), match.first.station, match.second.station) for match in matches]
    names.append((end_name(seam, -1), seam.first.length, seam.second.length))
    spans = []
    for (before, a0, b0), (after, a1, b1) in pairwise(names):
        difference = (a1 - a0) - (b1 - b0)
        deviation = beyond(difference, allowed_between(seam, b0, b1))
        at = seam.second.place((b0 + b1) / 2) if deviation > 0 else seam.first.place((a0 + a1) / 2)
        spans.append(Span(before, after, a1 - a0, b1 - b0, difference, deviation, at))
    return tuple(spans)


def end_name(seam: Seam, which: int) -> Name:
    """An end of a seam by the names of its corners: "side-hem", or "side-waist / side-lower" where they differ."""
    corners = seam.first.boundaries[which].corners[0][1], seam.second.boundaries[which].corners[0][1]
    return Name(" / ".join(dict.fromkeys(corners)))


def notch_name(seam: Seam, match: Match) -> Phrase:
    """A matched notch in words: "the notch 250 mm from side-waist"."""
    station = match.second.station
    nearest_end = 0 if station <= seam.second.length / 2 + EXACT else -1
    distance = station if nearest_end == 0 else seam.second.length - station
    kind = {1: "notch", 2: "double notch", 3: "triple notch"}.get(max(match.first.count, match.second.count), "notch")
    return phrase(
        f"the {kind} {{distance}} from {{end}}", distance=PlainLength(distance, 0), end=end_name(seam, nearest_end)
    )
