"""What is measured of sides and of candidates, as arrays of numbers that a scorer learns from.

Nothing here weighs anything. A side has a row of numbers (`SIDE`), told at both ends; a candidate has a row of its own
that is the same whichever end it is told from; notches are looked for along its first side.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Candidate, Kind, sides_of
from seamcheck.pairing.lines import Side, Use, reach
from seamcheck.pairing.meeting import between, closing, joined, met
from seamcheck.pairing.names import KINDS, QUALITIES, NameWords

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

MOST_NOTCHES = 10
NOTCH_FIT = 3.0  # mm by which matched notches may differ
CLOSE = 0.8  # mm: lengths that differ by less are as good as equal
NONE = -1
ENDS = ("angle", "fold", "beside")  # told at the start and at the end of a side
SIDE = (
    "length", "share", "rank", "lines", "bend", "bent", "straight", "sagitta", "notches", "doubles", "slant",
    "slant-known", "level", "level-known", "rivals", "members", "symmetric", "either-way", "opposite", "aspect", "size",
    "copies", "copies-known", "paired", "on-fold", "has-fold", "trousers", "top", "ribbed", "silent", "rough", "darts", "cuts",
    "closed", "uses", "unmarked",
)  # fmt: skip
WORDS = (*KINDS, *QUALITIES)


@dataclass(frozen=True, slots=True)
class Table:
    """All that is measured of a pattern's candidates.

    `sides` (S, len(SIDE)) and `ends` (S, 2, len(ENDS)) speak of sides walked as they are listed, `words` (S, len(WORDS)) of
    what their pieces are called; `beside` (S, 2) are the lines that meet its ends, NONE without. `first` and `second` (M) number
    the sides of each candidate, `turned` (M) says that the second is walked from its end. `seams` (M, ..) is what is measured
    of the two together. Lines are the R classes of like lines in the order of their first: `whole` (R) is the side that is all
    of each, `before` and `after` (R) are the lines beside it, `piece` (R) its piece. `parts` (K, 2) pairs a side with a line
    in it, `wants` (J, 2) a candidate with a line that it would take. `closing` (P, 2), `joined` (L, 2) and `between` (M, 2) say
    which candidates belong together (`meeting`).
    """

    sides: Floats
    ends: Floats
    words: Floats
    beside: Ints
    first: Ints
    second: Ints
    turned: npt.NDArray[np.bool_]
    seams: Floats
    whole: Ints
    before: Ints
    after: Ints
    piece: Ints
    parts: Ints
    wants: Ints
    closing: Ints
    joined: Ints
    between: Ints

    def only(self, kept: npt.NDArray[np.bool_]) -> Table:
        """The table of some of the candidates (M), with the sides that they need."""
        number, sides = np.cumsum(kept) - 1, np.zeros(len(self.sides), dtype=bool)
        for used in (self.first[kept], self.second[kept], self.whole):
            sides[used] = True
        place = np.cumsum(sides) - 1
        parts, wants = self.parts[sides[self.parts[:, 0]]], self.wants[kept[self.wants[:, 0]]]
        closing = self.closing[kept[self.closing[:, 0] // 2] & kept[self.closing[:, 1]]]
        ends = 2 * number[closing[:, 0] // 2] + closing[:, 0] % 2
        return replace(
            self,
            sides=self.sides[sides],
            ends=self.ends[sides],
            words=self.words[sides],
            beside=self.beside[sides],
            first=place[self.first[kept]],
            second=place[self.second[kept]],
            turned=self.turned[kept],
            seams=self.seams[kept],
            whole=place[self.whole],
            parts=np.stack([place[parts[:, 0]], parts[:, 1]], axis=1),
            wants=np.stack([number[wants[:, 0]], wants[:, 1]], axis=1),
            closing=np.stack([ends, number[closing[:, 1]]], axis=1),
            joined=number[self.joined[kept[self.joined].all(axis=1)]].reshape(-1, 2),
            between=self.between[kept],
        )


@dataclass(frozen=True, slots=True)
class _Measured:
    """A side with what is compared pairwise."""

    side: Side
    numbers: list[float]
    ends: list[list[float]]
    words: Floats
    beside: tuple[int, int]


class Measures:
    """Measures sides once each, and candidates by arrays."""

    def __init__(self, classes: Classes) -> None:
        """Take note of what is measured against the whole pattern."""
        self.classes = classes
        lines = [classes.lines[k] for k in sorted(classes.members)]
        self.lengths = sorted(line.length for line in lines if not line.fold)
        self.words = np.array([_words(part.words) for part in classes.parts]).reshape(-1, len(WORDS))
        self.perimeters = [sum(classes.lines[k].length for k in part.lines) for part in classes.parts]
        self.largest = max(self.perimeters, default=1.0)
        self.order = [sorted((classes.lines[k].length for k in part.lines), reverse=True) for part in classes.parts]
        self.known: dict[tuple[Use, ...], int] = {}
        self.measured: list[_Measured] = []
        self.roots = sorted(classes.members)
        at = {root: k for k, root in enumerate(self.roots)}
        self.place = [at[classes.root(line.index)] for line in classes.lines]  # line -> its class
        self.whole = [self.number((Use(root),))[0] for root in self.roots]

    def number(self, uses: tuple[Use, ...]) -> tuple[int, bool]:
        """The number of a side, and whether it is told here from its other end."""
        back = tuple(use.turned() for use in reversed(uses))
        turned = back < uses
        canonical = back if turned else uses
        if canonical not in self.known:
            self.known[canonical] = len(self.measured)
            self.measured.append(self._measure(canonical))
        return self.known[canonical], turned

    def _measure(self, uses: tuple[Use, ...]) -> _Measured:
        classes = self.classes
        side = classes.side(uses)
        line = classes.lines[uses[0].line]
        part = classes.parts[line.piece]
        words, order, perimeter = part.words, self.order[line.piece], self.perimeters[line.piece]
        close = bisect_left(self.lengths, side.length + CLOSE) - bisect_left(self.lengths, side.length - CLOSE)
        own = list(part.lines)
        opposite = classes.lines[own[(own.index(line.index) + 2) % 4]].length / line.length if len(own) == 4 else 0.0
        copies = classes.copies(line.index)
        whole = len(uses) == 1 and uses[0].whole
        numbers = [
            math.log(max(side.length, 1.0)), side.length / perimeter, order.index(line.length) / len(order) if whole else -1.0,
            math.log(len(own)), side.bend / 90.0, abs(side.bend) / 90.0, side.straight,
            0.0 if side.profile is None else float(np.abs(side.profile).max()) / max(side.length, 1.0),
            len(side.notches), sum(count > 1 for _, count in side.notches), (line.slant or 0.0) / 90.0, line.slant is not None,
            line.level or 0.0, line.level is not None, math.log1p(close), math.log(len(classes.members[classes.root(line.index)])),
            bool(part.mirror), line.index in classes.either_way, math.log(opposite) if opposite > 0.0 else 0.0,
            math.log(order[0] / max(order[-1], 1.0)), math.log(perimeter / self.largest), math.log(copies or 1), copies is not None,
            words.paired, words.on_fold, any(classes.lines[k].fold for k in own), words.trousers, words.top, words.ribbed, words.silent,
            line.rough, line.darts, (uses[0].low != 0) + (uses[-1].high != -1), line.closed, math.log(len(uses)),
            self._unmarked(uses[0], last=False) + self._unmarked(uses[-1], last=True),
        ]  # fmt: skip
        beside = tuple(classes.next_to(use, last=last) for use, last in ((uses[0], False), (uses[-1], True)))
        ends = [
            [
                angle / 90.0,
                0.0 if k is None else float(classes.lines[k].fold),
                0.0 if k is None else math.log(max(classes.lines[k].length, 1.0)),
            ]
            for angle, k in zip(side.angles, beside, strict=True)
        ]
        numbered = tuple(NONE if k is None else k for k in beside)
        told = self.words[[classes.lines[use.line].piece for use in uses]].mean(axis=0)
        return _Measured(side, [float(x) for x in numbers], ends, told, (numbered[0], numbered[1]))

    def _unmarked(self, use: Use, *, last: bool) -> bool:
        """Whether a walked line starts (or ends, if `last`) at a place that nothing in the drawing marks."""
        line = self.classes.lines[use.line]
        return reach(use, line)[last != use.backwards] in line.cuts

    def table(self, candidates: Sequence[Candidate], likely: Sequence[float] | None = None) -> Table:
        """The numbers of all candidates. `likely` is what the links of rows are worth, by number of candidate."""
        sides = sides_of(candidates)
        told = np.array([self.number(side) for side in sides.each], dtype=np.int64).reshape(-1, 2)[sides.seams]
        (first, second), turned = told[:, :, 0].T, told[:, 0, 1] != told[:, 1, 1]
        kinds = np.array([one.kind for one in candidates], dtype=np.int64)
        turned[kinds == Kind.TWIN] = False
        links = np.array(
            [min((likely[k] for k in one.links), default=1.0) if likely is not None else 1.0 for one in candidates]
        )
        beside = [[NONE if k == NONE else self.place[k] for k in one.beside] for one in self.measured]
        around = [self.classes.beside(root) for root in self.roots]
        lines = [(k, self.place[use.line]) for k, one in enumerate(self.measured) for use in one.side.uses]
        parts = _distinct(*np.array(lines, dtype=np.int64).reshape(-1, 2).T)
        side, part = met(told[:, :, 0].ravel(), parts[:, 0])
        return Table(
            sides=np.array([one.numbers for one in self.measured]).reshape(-1, len(SIDE)),
            ends=np.array([one.ends for one in self.measured]).reshape(-1, 2, len(ENDS)),
            words=np.array([one.words for one in self.measured]).reshape(-1, len(WORDS)),
            beside=np.array(beside, dtype=np.int64).reshape(-1, 2),
            first=first,
            second=second,
            turned=turned,
            seams=self._seams(first, second, turned, kinds, links),
            whole=np.array(self.whole, dtype=np.int64),
            before=np.array([self.place[k] for k, _ in around], dtype=np.int64),
            after=np.array([self.place[k] for _, k in around], dtype=np.int64),
            piece=np.array([self.classes.lines[root].piece for root in self.roots], dtype=np.int64),
            parts=parts,
            wants=_distinct(side // 2, parts[part, 1]),
            closing=closing(self.classes, sides),
            joined=joined(candidates),
            between=between(self.classes, sides),
        )

    def _seams(self, first: Ints, second: Ints, turned: npt.NDArray[np.bool_], kinds: Ints, links: Floats) -> Floats:
        measured = self.measured
        length = np.array([one.side.length for one in measured])
        la, lb = length[first], length[second]
        off = np.abs(la - lb)
        longer = np.maximum(la, lb)
        columns: list[Floats] = [np.asarray(kinds == kind, dtype=np.float64) for kind in Kind]
        columns += [
            turned.astype(np.float64),
            np.minimum(off, 40.0) / 10.0,
            off / longer,
            np.log(1e-2 + off),
            off < 0.2,
            off < CLOSE,
        ]
        columns += [np.where(kinds == Kind.ROW, np.sign(la - lb) * off / longer, 0.0), np.log(1e-3 + links)]
        columns += self._at_ends(first, second, turned)
        columns += self._shapes(first, second, turned)
        columns += self._notches(first, second, turned, la, lb)
        columns += self._pieces(first, second)
        return np.stack([np.asarray(column, dtype=np.float64) for column in columns], axis=1)

    def _at_ends(self, first: Ints, second: Ints, turned: npt.NDArray[np.bool_]) -> list[Floats]:
        ends = np.array([one.ends for one in self.measured]).reshape(-1, 2, len(ENDS))
        a, b = ends[first], ends[second]
        b = np.where(turned[:, None, None], b[:, ::-1], b)
        sums = a[:, :, 0] + b[:, :, 0]
        flat, full = np.abs(sums - 2.0), np.abs(sums - 4.0)
        apart = np.abs(a[:, :, 0] - b[:, :, 0])
        beside = np.abs(a[:, :, 2] - b[:, :, 2])
        folds = np.abs(a[:, :, 1] - b[:, :, 1])
        both = a[:, :, 1] * b[:, :, 1]
        found = [both.sum(axis=1), folds.sum(axis=1)]
        for values in (flat, full, apart, beside):
            found += [values.min(axis=1), values.max(axis=1)]
        return found

    def _shapes(self, first: Ints, second: Ints, turned: npt.NDArray[np.bool_]) -> list[Floats]:
        steps = max((one.side.profile.size for one in self.measured if one.side.profile is not None), default=25)
        profiles = np.zeros((len(self.measured), steps))
        known = np.array([one.side.profile is not None for one in self.measured], dtype=bool)
        for k, one in enumerate(self.measured):
            if one.side.profile is not None:
                profiles[k] = one.side.profile / max(one.side.length, 1.0)
        a, b = profiles[first], profiles[second]
        b = np.where(turned[:, None], b[:, ::-1], b)
        both = known[first] & known[second]
        bend = np.array([one.side.bend / 90.0 for one in self.measured])
        same, meets = np.abs(a - b).max(axis=1), np.abs(a + b).max(axis=1)
        return [
            both, np.where(both, np.minimum(same, 0.3), 0.3) * 10.0, np.where(both, np.minimum(meets, 0.3), 0.3) * 10.0,
            np.where(both, np.log(1e-4 + same), 0.0), np.where(both, np.log(1e-4 + meets), 0.0),
            np.abs(bend[first] - bend[second]), np.abs(bend[first] + bend[second]), bend[first] * bend[second],
        ]  # fmt: skip

    def _notches(
        self, first: Ints, second: Ints, turned: npt.NDArray[np.bool_], la: Floats, lb: Floats
    ) -> list[Floats]:
        stations, counts = self._stations()
        joints = self._joints()
        notched, parted = np.isfinite(stations).sum(axis=1), np.isfinite(joints).sum(axis=1)
        na, nb, count = notched[first], notched[second], parted[first]
        some = np.flatnonzero((nb > 0) & (na + count > 0))  # nothing meets along the others
        one, other, way = first[some], second[some], turned[some, None]
        a, b, ca, cb, ja = stations[one], stations[other], counts[one], counts[other], joints[one]
        b = np.where(way, np.sort(lb[some, None] - b, axis=1), b)
        cb = np.where(way, _flipped(cb), cb)
        la, lb = la[some, None, None], lb[some, None, None]
        allowed = NOTCH_FIT + 0.02 * la * (np.abs(la - lb) > NOTCH_FIT)
        x, y = a[:, :, None], b[:, None, :]
        gap = np.minimum(np.abs(x - y), np.abs((la - x) - (lb - y)))
        gap = np.minimum(gap, np.abs(x / la - y / lb) * la)
        meets = np.nan_to_num(gap, nan=np.inf) < allowed
        like = meets & (ca[:, :, None] == cb[:, None, :])
        found = np.zeros((5, len(first)))
        found[:, some] = [
            like.any(axis=2).sum(axis=1),
            (like & (ca[:, :, None] > 1)).any(axis=2).sum(axis=1),
            np.where(like, gap, 0.0).max(axis=(1, 2), initial=0.0),
            (meets & ~like).any(axis=2).sum(axis=1),
            (np.nan_to_num(np.abs(ja[:, :, None] - y), nan=np.inf) < 4.0).any(axis=2).sum(axis=1),
        ]
        matched, doubles, worst, unlike, at_joint = found
        return [
            matched, na + nb - 2 * matched, np.abs(na - nb), np.minimum(na, nb) - matched, doubles, worst, unlike,
            (na + nb == 0), at_joint, count - at_joint,
        ]  # fmt: skip

    def _stations(self) -> tuple[Floats, Floats]:
        stations = np.full((len(self.measured), MOST_NOTCHES), np.nan)
        counts = np.zeros((len(self.measured), MOST_NOTCHES))
        for k, one in enumerate(self.measured):
            for n, (station, count) in enumerate(one.side.notches[:MOST_NOTCHES]):
                stations[k, n], counts[k, n] = station, count
        return stations, counts

    def _joints(self) -> Floats:
        joints = np.full((len(self.measured), MOST_NOTCHES), np.nan)
        for k, one in enumerate(self.measured):
            some = one.side.joints[:MOST_NOTCHES]
            joints[k, : len(some)] = some
        return joints

    def _pieces(self, first: Ints, second: Ints) -> list[Floats]:
        classes = self.classes
        line = np.array([one.side.uses[0].line for one in self.measured], dtype=np.int64)
        piece = np.array([classes.lines[k].piece for k in line], dtype=np.int64)
        pa, pb = piece[first], piece[second]
        count = len(classes.parts)
        twins = np.zeros((count, count))
        shared = np.zeros((count, count))
        for pair in classes.twins:
            i, k = sorted(pair)
            twins[i, k] = twins[k, i] = 1.0
        for i, one in enumerate(classes.parts):
            for k, other in enumerate(classes.parts):
                either = one.words.own | other.words.own
                shared[i, k] = len(one.words.own & other.words.own) / len(either) if either else 0.0
        same = pa == pb
        beside = np.array([one.beside for one in self.measured], dtype=np.int64).reshape(-1, 2)
        adjacent = (beside[first] == line[second][:, None]).any(axis=1)
        words = np.array([one.words for one in self.measured]).reshape(-1, len(WORDS))[:, len(KINDS) :]
        a, b = words[first], words[second]
        return [same, same & adjacent, twins[pa, pb], shared[pa, pb], *(a * b).T, *np.abs(a - b).T]


def _distinct(a: Ints, b: Ints) -> Ints:
    """Pairs of numbers (K, 2), each once and in order."""
    count = int(b.max(initial=0)) + 1
    return np.stack(np.divmod(np.unique(a * count + b), count), axis=1)


def _flipped(counts: Floats) -> Floats:
    """The counts of notches told from the other end, those that are missing behind."""
    flipped = counts[:, ::-1]
    order = np.argsort(flipped == 0, axis=1, kind="stable")
    return np.take_along_axis(flipped, order, axis=1)


def _words(words: NameWords) -> list[float]:
    return [float(words.kind == kind) for kind in KINDS] + [float(one in words.qualities) for one in QUALITIES]
