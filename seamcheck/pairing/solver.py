"""The seams of a pattern solved, and solved again with what a person says of an edge.

An answer settles all candidates of its edge at once, and the scorer hears of it: what it implies for directions, layers and
neighbours follows by the same rounds of talk.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from seamcheck.pairing import scorer
from seamcheck.pairing.alike import Classes, Seam
from seamcheck.pairing.along import along_ends, ends_along
from seamcheck.pairing.candidates import ALTERED, CUTS, Candidate, Kind, Rows, named, simple, ways_round
from seamcheck.pairing.choose import Choice, choose, in_parts, in_whole
from seamcheck.pairing.features import NONE, Floats, Measures
from seamcheck.pairing.lines import Line, Part, Use
from seamcheck.pairing.meeting import parted

if TYPE_CHECKING:
    from seamcheck.pairing.hints import PairingHint

HOPELESS = 0.003  # what is less likely at first sight is no candidate
FORGOTTEN = 0.001  # and what is after all rounds, when it is solved again
SURE = 0.99  # a seam is walked and judged from here on
CLEAR = 0.1  # where nothing else on its lines is likelier than this
DOUBTED = 0.01  # what is less likely to be wrong is not asked
OTHER_WAY = 0.03  # share of a likelihood from which the other way round is an option of its own
STANDS_BACK = 0.25  # what a further stretch of a mate is worth as an option, of its likelihood
HINT_WORTH = 4.0  # logarithm of odds that a hint of confidence 1 is worth


class Answer(StrEnum):
    """What an edge is when it is sewn to nothing in particular."""

    FREE = "free"
    FOLD = "fold"
    UNKNOWN = "unknown"


Hints: TypeAlias = (
    "Mapping[tuple[int, int], PairingHint]"  # two lines, the lower first -> what a plugin knows of them
)


@dataclass(frozen=True, slots=True)
class Found:
    """A candidate that is taken: how likely it is, whether it is sure, and what would be taken in its stead."""

    candidate: Candidate
    likely: float
    sure: bool
    rival: Candidate | None
    rival_likely: float


@dataclass(frozen=True, slots=True)
class Look:
    """What candidates that are no rows are worth at first sight."""

    classes: Classes
    measures: Measures
    candidates: list[Candidate]
    scores: scorer.Scores


def first_look(classes: Classes) -> Look:
    """The lines, parted also where rows or other lines end inside them, and what their candidates are worth before any row is known."""
    tried, candidates = along_ends(classes)
    seen = _look(tried, candidates).scores.seams
    parted = classes.parted(Rows(tried, candidates, seen).ends_inside(), CUTS)
    parted = parted.parted(ends_along(tried, candidates, seen), CUTS)
    return _look(parted, simple(parted))


def _look(classes: Classes, candidates: list[Candidate]) -> Look:
    measures = Measures(classes)
    return Look(classes, measures, candidates, scorer.score(measures.table(candidates), rounds=scorer.FIRST_LOOK))


def _some(
    candidates: Sequence[Candidate], first: Floats, kept: npt.NDArray[np.bool_]
) -> tuple[list[Candidate], Floats]:
    """Those of some candidates that are kept, with those that join their lines, and what they were worth at first sight."""
    kept = kept.copy()
    kept[[link for k in np.flatnonzero(kept).tolist() for link in candidates[k].links]] = True
    place = np.cumsum(kept) - 1
    some = [candidates[k] for k in np.flatnonzero(kept).tolist()]
    return [replace(one, links=tuple(int(place[link]) for link in one.links)) for one in some], first[kept]


class Solver:
    """Candidates measured once; `answer` tells it of an edge, `found` is what is taken now."""

    def __init__(self, parts: Sequence[Part], lines: Sequence[Line], hints: Hints | None = None) -> None:
        """Measure all candidates of the lines of one size."""
        look = first_look(Classes(parts, lines))
        self.classes, self.measures = look.classes, look.measures
        self.hints = {self._classes_of(*pair): hint for pair, hint in (hints or {}).items()}
        self.free: set[int] = set()
        self.asked: set[int] = set()
        self.likeliest: dict[int, float] = {}  # of seams that a person names without the way: what of it the way has
        rows = Rows(self.classes, look.candidates, look.scores.seams).candidates()
        first = np.concatenate([look.scores.seams, np.ones(len(rows))])
        candidates, first = _some([*look.candidates, *rows], first, first >= HOPELESS)
        likely = scorer.score(self.measures.table(candidates, first.tolist())).seams
        self._weigh(*_some(candidates, first, likely >= FORGOTTEN))
        self._solve()

    def _weigh(self, candidates: list[Candidate], first: Floats) -> None:
        """Measure some candidates, of which nothing is known yet; `first` (M) is what they were worth at first sight."""
        self.candidates, self.first = candidates, first
        self.table = self.measures.table(candidates, first.tolist())
        told = [self.hint(one) for one in candidates]
        self.lean = np.array([0.0 if hint is None else HINT_WORTH * hint.confidence for hint in told])
        self.agree = [
            abs(self.classes.side(one.first).length - self.classes.side(one.second).length) < ALTERED
            for one in candidates
        ]
        self.parted = parted(self.classes, candidates)
        self.known = np.full(len(candidates), NONE)

    def _solve(self) -> None:
        scores = scorer.score(self.table, self.known)
        likely = scores.calibrated(self.lean)
        likely = in_whole(self.candidates, in_parts(likely, self.parted), self.agree)
        self.likely: Floats = np.where(self.known == NONE, likely, self.known.astype(float))
        self.lines: Floats = scores.lines
        fixed = set(np.flatnonzero(self.known == 1).tolist())
        self.choice: Choice = choose(
            self.classes, self.candidates, self.likely, self.lines, fixed=fixed, free=self.free
        )

    def _numbers(self, seams: Sequence[Seam]) -> list[int]:
        """The candidate of each of some seams, walked as it is; what is no candidate yet is made one."""
        wanted = [self._way(seam) for seam in seams]
        numbers = {self._way(one.seam): k for k, one in reversed([*enumerate(self.candidates)])}
        missing = {way: seam for way, seam in zip(wanted, seams, strict=True) if way not in numbers}
        new = [named(self.classes, seam) for seam in missing.values()]
        if new:
            known, before = self.known, len(self.candidates)
            self._weigh([*self.candidates, *new], np.concatenate([self.first, np.ones(len(new))]))
            self.known[:before] = known
            self._solve()
            numbers |= {way: before + k for k, way in enumerate(missing)}
        return [numbers[way] for way in wanted]

    def _way(self, seam: Seam) -> Seam:
        """A seam as it is walked along the lines that stand for its own, the same whichever side and end it is told from."""
        first, second = seam
        if len(first) == len(second) == 1 and self.classes.atoms(first[0]) == self.classes.atoms(second[0]):
            seam = first, first  # an edge and its like, which meet in one way
        first, second = (tuple(map(self.classes.standing, side)) for side in seam)
        back, behind = (
            tuple(self.classes.standing(use.turned()) for use in reversed(side)) for side in (first, second)
        )
        return min((first, second), (second, first), (back, behind), (behind, back))

    def ways(self, own: tuple[Use, ...], mate: tuple[Use, ...]) -> list[tuple[Candidate, float]]:
        """The ways in which a side may be sewn to another, the likeliest first."""
        numbers = dict.fromkeys(self._numbers(ways_round(self.classes, (own, mate))))
        ways = [(self.candidates[k], float(self.likely[k])) for k in numbers]
        return sorted(ways, key=lambda way: -way[1])

    @property
    def found(self) -> tuple[Found, ...]:
        """The candidates that are taken, in the order of likelihood."""
        found = []
        for number, rival in zip(self.choice.taken, self.choice.rivals, strict=True):
            against = 0.0 if rival is None else float(self.likely[rival])
            likely = self.likeliest.get(number, float(self.likely[number]))
            one = self.candidates[number]
            said = self.known[number] == 1 and number not in self.likeliest
            sure = likely >= SURE and against <= CLEAR and not self._silent(one)
            other = None if rival is None else self.candidates[rival]
            found.append(Found(one, likely, bool(said) or sure, other, against))
        return tuple(found)

    def _silent(self, one: Candidate) -> bool:
        """Whether a piece is sewn to itself or its copy and nothing but the lengths, which agree of themselves, tells so.

        Nor is it told that an edge with a notch, where a fly or a slit may end, is sewn to its twin all along.
        """
        parts = {self.classes.part(use.line).index for side in one.seam for use in side}
        if len(parts) > 1:
            return False
        if one.kind is Kind.TWIN and self.classes.side(one.first).notches:
            return True
        words = self.classes.part(one.first[0].line).words
        return words.copies is None and words.silent

    def hint(self, one: Candidate) -> PairingHint | None:
        """What a plugin knows of the two lines of a candidate."""
        if one.kind not in (Kind.PAIR, Kind.TWIN):
            return None
        return self.hints.get(self._classes_of(one.first[0].line, one.second[0].line))

    def _classes_of(self, a: int, b: int) -> tuple[int, int]:
        low, high = sorted((self.classes.root(a), self.classes.root(b)))
        return low, high

    def answer(
        self, line: int, mate: Answer | Iterable[Use], own: Iterable[Use] | None = None, *, either_way: bool = False
    ) -> None:
        """Take note of what a line is sewn to, and solve again; UNKNOWN leaves it as it is and is not asked again.

        `own` is the side in which the line lies: the whole of it alone where nothing is said. `either_way` where nobody knows
        which way round they are sewn.
        """
        root = self.classes.root(line)
        self.asked.add(root)
        if mate is Answer.UNKNOWN:
            return
        number = None
        if isinstance(mate, Answer):
            self.free.add(root)
        else:
            seam = (Use(line),) if own is None else tuple(own), tuple(mate)
            ways = self._numbers(ways_round(self.classes, seam) if either_way else [seam])
            number = max(ways, key=lambda k: float(self.likely[k]))
            self.likeliest.pop(number, None)
            if either_way:
                self.likeliest[number] = float(
                    self.likely[number] / max(self.likely[[*dict.fromkeys(ways)]].sum(), 1e-9)
                )
        self.known[[k for k, one in enumerate(self.candidates) if any(atom[0] == root for atom in one.atoms)]] = 0
        if number is not None:
            self.known[number] = 1
        self._solve()

    def tell(
        self,
        seams: Iterable[tuple[tuple[Use, ...], tuple[Use, ...]]],
        free: Iterable[int] = (),
        unknown: Iterable[int] = (),
        refused: Iterable[tuple[tuple[Use, ...], tuple[Use, ...]]] = (),
    ) -> None:
        """Forget all answers, take these instead and solve once: what is sewn, lines that stay free or are not known, seams that are none."""
        told = [(tuple(first), tuple(second)) for first, second in seams]
        self.likeliest = {}
        numbers = self._numbers(told)
        sewn = {atom[0] for seam in told for side in seam for atom in self._taken(side)}
        self.free = {self.classes.root(line) for line in free} - sewn
        settled = sewn | self.free
        self.asked = settled | {self.classes.root(line) for line in unknown}
        refusals = {frozenset(map(self._taken, seam)) for seam in refused}
        self.known = np.array(
            [
                0
                if frozenset(map(self._taken, one.seam)) in refusals or any(atom[0] in settled for atom in one.atoms)
                else NONE
                for one in self.candidates
            ]
        )
        self.known[numbers] = 1
        self._solve()

    def _taken(self, side: Iterable[Use]) -> frozenset[tuple[int, int]]:
        return frozenset(atom for use in side for atom in self.classes.atoms(use))

    def _sides(self, one: Candidate, root: int) -> tuple[frozenset[tuple[int, int]], frozenset[tuple[int, int]]]:
        """What a candidate takes up on the side of a line, and of its mate."""
        first, second = map(self._taken, one.seam)
        return (first, second) if any(atom[0] == root for atom in first) else (second, first)

    def question(self) -> int | None:
        """The line of which it is likeliest that it is taken for what it is not; None where nothing is left to ask."""
        place = {root: k for k, root in enumerate(self.measures.roots)}
        likely = np.zeros(len(place))
        np.add.at(likely, self.table.wants[:, 1], self.likely[self.table.wants[:, 0]])
        sewn = np.maximum(np.minimum(likely, 1.0), 1.0 - self.lines[:, 0])
        wrong: dict[int, float] = {}  # of what is taken, by line
        for number in self.choice.taken:
            for root, _ in self.candidates[number].atoms:
                wrong[root] = max(wrong.get(root, 0.0), 1.0 - float(self.likely[number]))
        doubt = {root: wrong.get(root, float(sewn[k])) for root, k in place.items()}
        left = [
            (round(doubt[root], 6), -root)
            for root in place
            if root not in self.asked and root not in self.free and doubt[root] > DOUBTED
        ]
        return -max(left)[1] if left else None

    def options(self, line: int, most: int = 4) -> list[tuple[Candidate, float]]:
        """The likeliest candidates of a line; one walked the other way round only where it is not much less likely.

        Other stretches of one mate stand back for other mates.
        """
        root = self.classes.root(line)
        own = [k for k, one in enumerate(self.candidates) if any(atom[0] == root for atom in one.atoms)]
        own.sort(key=lambda k: (-float(self.likely[k]), k))
        sides: dict[tuple[frozenset[tuple[int, int]], ...], float] = {}
        often: Counter[frozenset[int]] = Counter()
        worth: dict[int, float] = {}
        for k in own:
            found = self._sides(self.candidates[k], root)
            if found in sides:
                if self.likely[k] >= OTHER_WAY * sides[found]:
                    worth[k] = float(self.likely[k])
            else:
                sides[found] = float(self.likely[k])
                mate = frozenset(atom[0] for atom in found[1])
                worth[k] = float(self.likely[k]) * STANDS_BACK ** often[mate]
                often[mate] += 1
        shown = set(sorted(worth, key=lambda k: (-worth[k], k))[:most])
        return [(self.candidates[k], float(self.likely[k])) for k in own if k in shown]
