"""What seams tell of one another where they meet: the pieces round a point, walked from one edge to the next.

fan    the corners round a point that seams already lay side by side, from one free edge to the other

Seams that are firm tell what meets. Where a fan, walked over seams and folds, comes round to a full circle, its two free edges
lie on one another, so that they are sewn, or left open together; the rest is solved once more with that, up to four times.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any, TypeAlias

import networkx as nx

from seamcheck.pairing.candidates import Atom, Candidate, Field
from seamcheck.pairing.evidence import BAGS, NOTCH, Term
from seamcheck.pairing.lines import Use, corner_at, reach

FLAT = 4.0  # degrees: how far from a full circle the corners round a point may be and still lie flat
SHAPED = 30.0  # degrees: cloth is shaped where more or less than a full circle comes together
FOLDED = 200.0  # degrees: less than a point of cloth: two edges folded flat on one another
CONE = 300.0  # degrees: a point of cloth, which only bags have
MOST_CORNERS = 9
CLOSES_FLAT, CLOSES, CLOSES_BOX = 3.0, 1.5, 2.5  # points for an end at which the fan closes
ITS_TWIN = 2.5  # and more for a line that meets its own twin there, for which no length can speak
BORDER_CLOSES = 1.0  # points for and against a way to walk by which two borders run on to meet again
THEY_RING, NO_RING = (
    "lines that run on from it meet again",
    "lines that run on from it would meet again the other way",
)
THEY_MEET = "its corners already meet there"
CORNERS_MEET, CORNERS_CLASH = 1.5, 2.0  # points for and against each end of a seam
THEY_CLOSE = "the pieces round its end close with it"

TURNED = frozenset(
    ["facing", "lining", "collar", "stand", "cuff", "flap", "band", "brim", "strap"]
)  # sewn round corners and turned out

End: TypeAlias = tuple[int, bool]  # a line, and whether it is where the line ends, clockwise, or where it starts
Step: TypeAlias = tuple[
    End, float, bool
]  # the end that is met, the degrees between, and whether its piece is the mirrored one


def meeting_candidates(
    field: Field, pool: Sequence[Candidate], base: Sequence[tuple[Candidate, bool]]
) -> Iterator[Candidate]:
    """The candidates with what firm seams tell of them where they meet.

    `base` are the firm seams, each with whether it is known how it is walked; only those make fans.
    """
    firm = [(one.atoms, list(_glued(field, one))) for one, _ in base]
    single = [not _many(field, *{end[0] for pair in glued for end in pair}) for _, glued in firm]
    firm = [known for known, plain in zip(firm, single, strict=True) if plain]
    crotches = {sides for one in pool if one.kind == "crotch" for sides in one.seams}
    fans = Fans(
        field, (one for one, walked in base if walked and not any(_repeated(field, line) for line in one.lines))
    )
    for one in pool:
        meeting: Any = nx.Graph()
        for atoms, glued in firm:
            if not atoms & one.atoms:
                meeting.add_edges_from(glued)
        # A line of a crotch closes only with the whole crotch.
        closing = (None, None) if one.seams[0] in crotches else fans.closing(one)
        points, rings = 0.0, 0
        for last, a, b in _corners(field, one):
            groups = [_met_with(meeting, end) for end in (a, b)]
            if b in groups[0]:
                points += CORNERS_MEET if closing[last] is None else 0.0
            elif {piece for piece, _ in groups[0]} & {piece for piece, _ in groups[1]} and not (
                a[0] == b[0] or _many(field, a[0], b[0]) or any(field.parts[piece].mirror for piece, _ in (a, b))
            ):
                points -= CORNERS_CLASH
        if len(one.first) == len(one.second) == 1 and one.kind == "pair":
            for last in (False, True):
                for way in (False, True):
                    far = fans.borders(one, last=last, way=way)
                    if far is not None and far[0] != far[1] and far[1] in _met_with(meeting, far[0]):
                        rings += -1 if way else 1
        terms = [Term(BORDER_CLOSES * rings, THEY_RING if rings > 0 else NO_RING, "way")] if rings else []
        if points:
            terms.append(
                Term(points, THEY_MEET if points > 0.0 else "its corners would bring others to one point", "joins")
            )
        closed = sum(points for points in closing if points is not None)
        if closed:
            told = THEY_CLOSE if closed > 0.0 else "the pieces round its end would make a point"
            terms.append(Term(closed, told, "joins"))
        yield one.with_terms(terms) if terms else one


def _met_with(meeting: Any, corner: tuple[int, str]) -> set[tuple[int, str]]:
    """All corners that come to lie on one, and itself."""
    return nx.node_connected_component(meeting, corner) if corner in meeting else {corner}


def _glued(field: Field, one: Candidate) -> Iterator[tuple[tuple[int, str], tuple[int, str]]]:
    """The corners that a candidate brings together, at its ends and where lines follow each other in a side."""
    lines = field.lines
    yield from ((a, b) for _, a, b in _corners(field, one))
    for sides in one.seams:
        for side in sides:
            for a, b in pairwise(side):
                if a.whole and b.whole and a.line != b.line:
                    yield corner_at(a, lines[a.line], last=True), corner_at(b, lines[b.line], last=False)


def _corners(field: Field, one: Candidate) -> Iterator[tuple[bool, tuple[int, str], tuple[int, str]]]:
    """Whether it is the last end, and the corners that a candidate brings together there."""
    lines = field.lines
    for first, second in one.seams:
        for last in (False, True):
            a, b = first[-1 if last else 0], second[-1 if last else 0]
            if a.whole and b.whole and a.line != b.line:
                yield last, corner_at(a, lines[a.line], last=last), corner_at(b, lines[b.line], last=last)


def _many(field: Field, *pieces: int) -> bool:
    """Whether one of some pieces is cut more than twice, or more often than another, so that its corners stand for several."""
    parts = [field.parts[piece] for piece in pieces]
    cut = {field.copies_of(part) for part in parts}
    return len(cut) > 1 or any((part.words.copies or 1) > 2 for part in parts)


def _repeated(field: Field, line: int) -> bool:
    """Whether a line's piece is cut so often that it meets its own copies."""
    return (field.part(line).words.copies or 1) > 2


class Fans:
    """The ends of lines that a set of seams brings together."""

    def __init__(self, field: Field, seams: Iterable[Candidate]) -> None:
        """Note which ends meet at the ends and joints of the seams."""
        self.field = field
        self.steps: dict[End, list[tuple[Step, frozenset[Atom]]]] = {}
        for one in seams:
            for first, second in one.seams:
                self._note(first, second, one.atoms)

    def _note(self, first: tuple[Use, ...], second: tuple[Use, ...], atoms: frozenset[Atom]) -> None:
        if first == second:
            for last in (False, True):
                end = _end(first[-1 if last else 0], last=last)
                if end is not None:
                    self.steps.setdefault(end, []).append(((end, 0.0, True), atoms))
            return
        for last in (False, True):
            self._meet(_end(first[-1 if last else 0], last=last), _end(second[-1 if last else 0], last=last), atoms)
        joints = [self._joints(side) for side in (first, second)]
        for mine, theirs, side in ((joints[0], joints[1], first), (joints[1], joints[0], second)):
            for number, station in enumerate(mine):
                before, after = _end(side[number], last=True), _end(side[number + 1], last=False)
                if all(abs(station - other) > NOTCH for other in theirs):
                    self._meet(before, after, atoms, 180.0)
        for number, station in enumerate(joints[0]):
            for other, place in enumerate(joints[1]):
                if abs(station - place) <= NOTCH:
                    self._meet(_end(first[number], last=True), _end(second[other], last=True), atoms)
                    self._meet(_end(first[number + 1], last=False), _end(second[other + 1], last=False), atoms)

    def _joints(self, side: tuple[Use, ...]) -> list[float]:
        stations, along = [], 0.0
        for use in side[:-1]:
            low, high = reach(use, self.field.lines[use.line])
            along += high - low
            stations.append(along)
        return stations

    def _meet(self, one: End | None, other: End | None, atoms: frozenset[Atom], between: float = 0.0) -> None:
        if one is not None and other is not None:
            self.steps.setdefault(one, []).append(((other, between, False), atoms))
            self.steps.setdefault(other, []).append(((one, between, False), atoms))

    def closing(self, one: Candidate) -> tuple[float | None, float | None]:
        """The points of a seam for its first and its last end, where the pieces close with it; None where they do not meet."""
        if one.kind == "crotch":
            return None, None
        first, second = one.seams[0]
        points: list[float | None] = [None, None]
        for last in (False, True):
            start, goal = (_end(side[-1 if last else 0], last=last) for side in (first, second))
            if start is not None and goal is not None:
                points[last] = self._closes(start, goal, one.atoms)
        return points[0], points[1]

    def borders(self, one: Candidate, *, last: bool, way: bool) -> tuple[tuple[int, str], tuple[int, str]] | None:
        """The far corners of the two lines that run on from an end of a pair, walked the other `way`; None where one is no border."""
        far, ends = [], []
        for use in (one.first[0], one.second[0].turned() if way else one.second[0]):
            at_end = last != use.backwards
            line = self.field.lines[self._next((use.line, at_end))[0]]
            if line.fold or line.closed:
                return None
            ends.append((line.index, not at_end))
            far.append((line.piece, line.end if at_end else line.start))
        lines = self.field.lines
        for mine, theirs in (ends, ends[::-1]):
            if any(lines[step[0][0]].piece == lines[theirs[0]].piece for step, _ in self.steps.get(mine, ())):
                return None  # sewn to the other piece
        return far[0], far[1]

    def _closes(self, start: End, goal: End, atoms: frozenset[Atom]) -> float | None:
        solid = bool((self.field.part(start[0]).words.own | self.field.part(goal[0]).words.own) & BAGS)
        turned = {self.field.part(end[0]).words.kind for end in (start, goal)} & TURNED
        found = []
        for total in self._round(start, goal, atoms):
            off = abs(total - 360.0)
            if off <= FLAT:
                found.append(CLOSES_FLAT + (ITS_TWIN if start == goal else 0.0))
            elif solid and FOLDED < total < 360.0 - SHAPED:
                found.append(CLOSES_BOX)
            elif off <= SHAPED:
                found.append(CLOSES)
            elif total < CONE and not solid and not turned:
                found.append(-CLOSES_FLAT)
            else:
                found.append(0.0)
        return max(found, key=lambda one: round(abs(one), 6), default=None)

    def _round(self, start: End, goal: End, atoms: frozenset[Atom]) -> Iterator[float]:
        """The degrees of every fan that begins at one end and comes out at the other, over a seam or a fold at least."""
        # inside a piece at an end of one of its lines, the degrees before, whether mirrored, and what was passed
        waiting: list[tuple[End, float, bool, tuple[tuple[End, bool], ...]]] = [(start, 0.0, False, ())]
        within = start != goal and self.field.lines[start[0]].piece == self.field.lines[goal[0]].piece
        while waiting:
            end, total, mirrored, passed = waiting.pop()
            if (end, mirrored) in passed or len(passed) >= MOST_CORNERS:
                continue
            passed = (*passed, (end, mirrored))
            out = self._next(end)
            total += self.field.lines[end[0]].angles[end[1]]
            if self.field.lines[out[0]].fold:
                mirrored = not mirrored
                total += self.field.lines[end[0]].angles[end[1]]
                out = end
            if out == goal and len(passed) > 1 and (within or mirrored == (start == goal)):
                yield total
                continue
            for (beyond, between, flips), taken in self.steps.get(out, ()):
                if not taken & atoms:
                    waiting.append((beyond, total + between, mirrored ^ flips, passed))

    def _next(self, end: End) -> End:
        """The other line at a corner, by its end there."""
        before, after = self.field.beside(end[0])
        return (after, False) if end[1] else (before, True)


def _end(use: Use, *, last: bool) -> End | None:
    """The end of a line at which a use starts, or ends if `last`; None inside the line."""
    at_end = last != use.backwards
    inside = use.high != -1 if at_end else use.low != 0
    return None if inside else (use.line, at_end)
