"""The best set of seams over all lines at once, and how sure each seam of it is.

Pairs and twins are a matching on a networkx graph; rows, double seams and what seams say of one another are weighed on top of it,
by exchanging seams as long as the whole gains. A seam is as sure as the whole set is better than the best set without it, or
without any that differs from it only by which of several like lines it takes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import networkx as nx

from seamcheck.pairing import evidence
from seamcheck.pairing.candidates import RING_ON_RING, Atom, Candidate, Field, SeamSides
from seamcheck.pairing.evidence import Term
from seamcheck.pairing.junctions import TURNED, meeting_candidates
from seamcheck.pairing.lines import Line, Use, corner_at, reach
from seamcheck.pairing.names import layered

LEAST = -2.0  # points below which a possible seam is forgotten
WITHOUT_SUPPORT = 2.5  # points that a row loses for each seam that it leans on and that is not sewn
FLAT = 4.0  # degrees: how far from a full circle the corners round a point may be and still lie flat
ROUNDS = 12
FIRM_ROUNDS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A seam of the best set.

    `score` are its points there, with what its neighbours say of it; `margin` is what the set loses without it; the
    runner-up is what would replace it.
    """

    candidate: Candidate
    score: float
    margin: float
    runner_up: Candidate | None

    @property
    def points(self) -> float:
        """What the seam's sureness rests on: its own points, or its lead where that is less."""
        return min(self.score, self.margin)


def solve(
    field: Field, candidates: Iterable[Candidate], firm: Callable[[Sequence[Found]], Iterable[tuple[Found, bool]]]
) -> tuple[tuple[Found, ...], float]:
    """The best set of seams, each with its margin, and what the whole set is worth, in points; `firm` picks those to build on, and tells of which it is known how they are walked."""
    search = _Search(field, candidates)
    chosen, total = search.solved()
    found = search.found(chosen, total)
    pool, known = search.pool, frozenset[tuple[SeamSides, bool]]()
    for _ in range(FIRM_ROUNDS):  # what is firm tells which corners meet, and that tells more of the rest
        base = [(one.candidate, walked) for one, walked in firm(found)]
        sides = frozenset((sides, walked) for one, walked in base for sides in one.seams)
        if sides <= known:
            break
        known = sides
        search = _Search(field, meeting_candidates(field, pool, base))
        chosen, total = search.solved()
        found = search.found(chosen, total)
    return found, total


class _Search:
    """A pool of candidates, which of them exclude each other, and what they say of one another."""

    def __init__(self, field: Field, candidates: Iterable[Candidate]) -> None:
        self.field = field
        options = list(_explained(field, candidates))
        wanted = {_plain(sides) for one in options if one.score > LEAST for sides in one.leans_on}
        self.pool = sorted(
            (one for one in options if one.score > LEAST or (len(one.seams) == 1 and _plain(one.seams[0]) in wanted)),
            key=lambda one: (-round(one.score, 9), one.order),
        )
        self.excludes: list[set[int]] = [set() for _ in self.pool]
        users: dict[Atom, list[int]] = {}
        for number, one in enumerate(self.pool):
            for atom in sorted(one.atoms):
                users.setdefault(atom, []).append(number)
        for sharers in users.values():
            for number in sharers:
                self.excludes[number].update(sharers)
        self.keys = [frozenset(field.seam_key(sides) for sides in one.seams) for one in self.pool]
        self.says: list[dict[int, float]] = [{} for _ in self.pool]
        self._say()
        brings: dict[SeamSides, set[int]] = {}
        for number, one in enumerate(self.pool):
            for sides in one.seams:
                brings.setdefault(_plain(sides), set()).add(number)
        self.leans = [[brings.get(_plain(sides), set()) for sides in one.leans_on] for one in self.pool]
        self.leaners: list[set[int]] = [set() for _ in self.pool]
        for leaner, supports in enumerate(self.leans):
            for brought in supports:
                for option in brought:
                    self.leaners[option].add(leaner)

    def _say(self) -> None:
        """What seams of the same two pieces say of one another."""
        between: dict[tuple[int, int], list[tuple[int, Use, Use]]] = {}
        for number, one in enumerate(self.pool):
            for first, second in one.seams:
                for a, b in ((first[0], second[0]), (first[-1], second[-1])):
                    pieces = self.field.lines[a.line].piece, self.field.lines[b.line].piece
                    if pieces[0] == pieces[1] or not (a.whole and b.whole):
                        continue
                    if pieces[0] > pieces[1]:
                        pieces, a, b = pieces[::-1], b, a
                    seam = (number, a, b)
                    if seam not in between.setdefault(pieces, []):
                        between[pieces].append(seam)
        for pieces, seams in between.items():
            for k, (mine, *my_lines) in enumerate(seams):
                for theirs, *their_lines in seams[k + 1 :]:
                    if mine == theirs or theirs in self.excludes[mine]:
                        continue
                    points = self._together(pieces, my_lines, their_lines)
                    if points:
                        self.says[mine][theirs] = self.says[mine].get(theirs, 0.0) + points
                        self.says[theirs][mine] = self.says[theirs].get(mine, 0.0) + points

    def _together(self, pieces: tuple[int, int], mine: Sequence[Use], theirs: Sequence[Use]) -> float:
        """What two seams between the same two pieces are worth together, beyond what each is alone."""
        parts = [self.field.parts[piece] for piece in pieces]
        bag = any(part.words.own & evidence.BAGS for part in parts)
        told = any(part.words.kind in ("body", "gore", "sleeve", "yoke") for part in parts)
        turned = any(part.words.kind in TURNED for part in parts)
        points = 0.0
        if frozenset(pieces) not in self.field.alike and not bag:
            opposite = all(
                frozenset((use.line, other.line)) in self.field.copies
                for use, other in zip(mine, theirs, strict=True)
            )
            points -= 4.0 if opposite else 0.0  # these edges are only as long as the two opposite
        once = all(part.words.copies in (None, 1) or part.words.paired or part.words.copies == 2 for part in parts)
        for last in (False, True):
            for end in (False, True):
                glued = [self._corner(use, last) for use in mine]
                others = [self._corner(use, end) for use in theirs]
                if glued[0] == others[0] and glued[1] == others[1]:
                    total = self._angle(*glued[0]) + self._angle(*glued[1])
                    if abs(total - 360.0) <= FLAT:
                        points += 1.0
                    elif total < 300.0:
                        points -= 0.0 if bag or turned else 4.0 if told else 2.5
                    elif total < 420.0:
                        points -= 0.8
                elif (glued[0] == others[0]) != (glued[1] == others[1]) and once and mine[0].line != theirs[0].line:
                    points -= 2.5  # one corner would come to lie on two of the other piece
        return points

    def _corner(self, use: Use, last: bool) -> tuple[int, str]:
        return corner_at(use, self.field.lines[use.line], last=last)

    def _angle(self, piece: int, corner: str) -> float:
        return next((one.angle for one in self.field.parts[piece].piece.corners if one.name == corner), 180.0)

    # What a set is worth

    def worth_of(self, number: int, chosen: set[int]) -> float:
        """What a seam brings to a set that may hold it already, with all that leans on it."""
        points = self.pool[number].score
        points += sum(said for other, said in self.says[number].items() if other in chosen)
        points -= WITHOUT_SUPPORT * sum(1 for options in self.leans[number] if not options & chosen)
        for leaner in self.leaners[number] & chosen:
            if leaner != number:
                points += WITHOUT_SUPPORT * sum(
                    1 for options in self.leans[leaner] if number in options and not (options & chosen) - {number}
                )
        return points

    def total(self, chosen: set[int]) -> float:
        """What a whole set is worth."""
        points = 0.0
        for number in chosen:
            points += self.pool[number].score
            points += sum(said for other, said in self.says[number].items() if other in chosen) / 2.0
            points -= WITHOUT_SUPPORT * sum(1 for options in self.leans[number] if not options & chosen)
        return points

    def best(self, start: set[int], banned: frozenset[int] = frozenset()) -> tuple[set[int], float]:
        """Exchange seams as long as the whole gains."""
        chosen = set(start) - banned
        order = [number for number in range(len(self.pool)) if number not in banned]
        for _ in range(ROUNDS):
            gained = False
            for number in order:
                if number in chosen:
                    if self.worth_of(number, chosen) < -1e-9:
                        chosen = chosen - {number}
                        gained = True
                    continue
                if self.pool[number].score + 3.0 < 0.0:
                    continue
                fresh = (chosen - self.excludes[number]) | {number}
                # A row brings the seams it leans on, where they are free.
                for options in self.leans[number]:
                    if not options & fresh:
                        for option in sorted(options - banned):
                            if not self.excludes[option] & (fresh - {option}):
                                fresh = fresh | {option}
                                break
                gain = self._gain(chosen, fresh)
                if gain > 1e-9:
                    chosen, gained = fresh, True
            if not gained:
                break
        return chosen, self.total(chosen)

    def _gain(self, before: set[int], after: set[int]) -> float:
        """What a set gains where some seams give way to others, seam by seam."""
        here, gain = set(before), 0.0
        for number in before - after:
            gain -= self.worth_of(number, here)
            here.discard(number)
        for number in after - before:
            here.add(number)
            gain += self.worth_of(number, here)
        return gain

    def matching(self, banned: frozenset[int] = frozenset()) -> set[int]:
        """The best matching of single lines."""
        graph: Any = nx.Graph()
        for number, one in enumerate(self.pool):
            if number in banned or one.kind not in ("pair", "twin") or one.score <= 0.0:
                continue
            ends = sorted(one.lines)
            a: object = ends[0]
            b: object = ends[1] if len(ends) > 1 else ("twin", ends[0])
            if not graph.has_edge(a, b) or graph[a][b]["weight"] < one.score:
                graph.add_edge(a, b, weight=one.score, number=number)
        return {graph[a][b]["number"] for a, b in nx.max_weight_matching(graph)}

    def solved(self, banned: frozenset[int] = frozenset(), start: set[int] | None = None) -> tuple[set[int], float]:
        """The better of what is found from the best matching, from nothing, and from a given set."""
        starts = [self.matching(banned), set()]
        if start is not None:
            starts.append(start)
        return max((self.best(one, banned) for one in starts), key=lambda found: round(found[1], 9))

    def like(self, number: int) -> frozenset[int]:
        """The candidates that say the same as one, in whole or in part, or that differ only by which like lines they take."""
        one = self.pool[number]
        keys = set(self.keys[number])
        return frozenset(
            k
            for k in range(len(self.pool))
            if keys & self.keys[k]
            or (
                k in self.excludes[number]
                and (_either_way(self.pool[k], one, self.field.group) or implied(self.pool[k], one, self.field.lines))
            )
        )

    def found(self, chosen: set[int], total: float) -> tuple[Found, ...]:
        """Each seam of the best set with its margin and its runner-up."""
        found = []
        for number in sorted(chosen):
            one = self.pool[number]
            like = self.like(number)
            others, without = self.solved(like, chosen)
            margin = (total - without) / max(len(like & chosen), 1)
            rivals = [self.pool[k] for k in others - chosen if self.pool[k].lines & one.lines]
            runner_up = max(rivals, key=lambda other: (round(other.score, 9), other.order), default=None)
            score = self.worth_of(number, chosen)
            found.append(Found(candidate=one, score=score, margin=margin, runner_up=runner_up))
        return tuple(found)


def _explained(field: Field, candidates: Iterable[Candidate]) -> Iterator[Candidate]:
    """The candidates, where like pieces are less likely sewn to one another because a strip fits round each of them."""
    options = list(candidates)
    framed = {
        use.line
        for one in options
        if one.kind == "row" and len(one.second) == 1
        for use in one.first
        if any(term.kind == "length" and term.points > 3.0 for term in one.terms)
    }
    frames: dict[int, set[int]] = {}  # the pieces that fit each line, by notches too
    for one in options:
        if one.kind == "pair" and one.score > 0.0 and {"notches"} & evidence.kinds_for(one.terms):
            (a,), (b,) = one.seams[0]
            for mine, theirs in ((a.line, b.line), (b.line, a.line)):
                frames.setdefault(mine, set()).add(field.lines[theirs].piece)
    for one in options:
        a, b = one.first[0], one.second[0]
        copies = one.kind == "pair" and field.is_copy(a, b) and field.lines[a.line].piece != field.lines[b.line].piece
        copies = copies and not layered(field.part(a.line).words, field.part(b.line).words)
        between = frames.get(a.line, set()) & frames.get(b.line, set())
        if copies and (framed >= {a.line, b.line} or between - {field.lines[use.line].piece for use in (a, b)}):
            one = one.with_terms([Term(-3.5, "another piece fits between the two")])
        yield one


def _either_way(one: Candidate, other: Candidate, group: Mapping[int, tuple[int, bool]]) -> bool:
    """Whether two candidates run the same ring round the same ring, another way or from another place, and measure the same.

    Then it makes no difference which is taken: both sides have their lengths, every notch its mate, and no end is free.
    """
    if not all(any(term.words == RING_ON_RING for term in each.terms) for each in (one, other)):
        return False
    if len(one.seams) > 1 or len(other.seams) > 1 or one.kind == "twin" or other.kind != one.kind:
        return False
    sides = [
        sorted((group[use.line][0], use.low, use.high) for use in each.seams[0][k])
        for k in (0, 1)
        for each in (one, other)
    ]
    if sides[0] != sides[1] or sides[2] != sides[3]:
        return False
    measured = [
        sorted(term.points for term in each.terms if term.kind in ("notches", "corners")) for each in (one, other)
    ]
    return measured[0] == measured[1] and min(measured[0], default=0.0) >= 0.0


def _plain(sides: SeamSides) -> SeamSides:
    """A seam the same way whichever side and end it is told from."""
    turned = tuple(tuple(use.turned() for use in reversed(side)) for side in sides)
    options = [sides, sides[::-1], (turned[0], turned[1]), (turned[1], turned[0])]
    return min(options)


def implied(part: Candidate, whole: Candidate, lines: Sequence[Line]) -> bool:
    """Whether a candidate brings together only what another brings together too."""
    for first, second in part.seams:
        for share in (0.2, 0.5, 0.8):
            a, b = _place(first, share, lines), _place(second, share, lines)
            if not any(_together(a, b, *sides, lines) or _together(b, a, *sides, lines) for sides in whole.seams):
                return False
    return True


def _place(side: Sequence[Use], share: float, lines: Sequence[Line]) -> tuple[int, float]:
    """The line and the station on it, clockwise, at a share of a side."""
    spans = [reach(use, lines[use.line]) for use in side]
    at = share * sum(high - low for low, high in spans)
    for use, (low, high) in zip(side, spans, strict=True):
        if at <= high - low:
            return use.line, high - at if use.backwards else low + at
        at -= high - low
    return side[-1].line, spans[-1][1]


def _together(
    a: tuple[int, float], b: tuple[int, float], first: Sequence[Use], second: Sequence[Use], lines: Sequence[Line]
) -> bool:
    """Whether a seam brings a place on its first side to a place on its second."""
    spans = [reach(use, lines[use.line]) for use in first]
    total = sum(high - low for low, high in spans)
    along = 0.0
    for use, (low, high) in zip(first, spans, strict=True):
        if use.line == a[0] and low - 0.5 <= a[1] <= high + 0.5:
            share = (along + (high - a[1] if use.backwards else a[1] - low)) / total
            line, station = _place(second, min(max(share, 0.0), 1.0), lines)
            if line == b[0] and abs(station - b[1]) < 4.0:
                return True
        along += high - low
    return False
