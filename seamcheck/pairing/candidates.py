"""Every seam that could be: two sides, each a line, a stretch of one between two marks, or a row of lines.

pair      a line to another
stretch   a line to a part of another, or a part to a part
twin      a line to its like: the mirrored or next copy, or the other half of its piece
row       lines one after the other, of one piece or joined by other seams, to one line or stretch, or to another row

Candidates speak of classes of like lines (`alike`). How many there are is bounded, so that no drawing takes long.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from heapq import heappop, heappush
from itertools import combinations, islice
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.pairing.alike import MOST_COPIES, Classes, Seam
from seamcheck.pairing.lines import Line, Use

SHORTEST = 8.0  # mm: what is shorter is not looked at
GATHERED = 2.6  # a line is sewn to one that is at most so many times as long
STRETCHED = 1.45  # a row is at most so many times as long as what is stretched or drawn up on it
GATHERED_LESS = 1.45  # where there are very many lines
MANY = 90  # classes from which on only lines of about one length are compared
ALTERED = 16.0  # mm: more is seldom taken off or added at once
FEW_MARKS = 9  # between any two of so many marks of a line a stretch is looked for
MOST_MARKS = 25  # and of so many between an end and a mark, or two neighbours
MOST_PAIRS = 6000  # pairs of lines, the nearest in length
MOST_STRETCHES = 4000
STRETCH_FIT = 0.03  # share by which a stretch between drawn marks may differ from its mate
STRETCH_OFF = 5.0  # mm by which it may at least
EXACT = 1.5  # mm by which another stretch may
MOST_IN_ROW = 16
MOST_ROWS = 3000  # rows that are grown
MOST_ROW_SEAMS = 600  # rows with a mate that are kept, either way round
SHORT_END = 0.1  # share of a row that a line at its end may be short of, to be left out where it does not fit
A_MATE = 12  # rows for one mate
DRAWN_UP = 6  # and those that are gathered or stretched on it: all of an opening first
ON_STRIP = 30  # those on the edge of a strip, which is what mostly goes round an opening
MOST_DRAWN_UP = 200
BEHIND = frozenset(("facing", "lining", "placket"))  # kinds of pieces that lie behind others
LINKS = 3  # seams by which a row may go on from one corner
LIKELY_LINK = 0.04
GOES_ON = 0.5  # how likely a row goes on along its piece, or ends inside a line, where nothing tells
TARGETS = 4  # mates of about its length that are tried for a row
LOOSE = 16  # and others, for a row whose links are likely:
WELL_JOINED = 0.25
RUNS_ON = (60.0, 300.0)  # degrees at a corner across which a row goes on along its piece, a strip round a box too
MOST_TURNS = 2  # corners of pieces that a row turns
MOST_STRONG = 400  # rows that other rows are tried with
BEYOND = 0.3  # what a row is worth less for each end at which it goes on, and each corner of a piece that it turns
MOST_TO_ROWS = 60  # rows with rows that are kept
ROW_FIT = 0.003  # share by which a row may differ from its mate, where it is neither gathered nor stretched
ROW_OFF = 1.0  # mm by which it may at least
OFF_WORTH = 20.0  # what a row is worth less for each share of its length by which it differs from its mate
AT_ONCE = 512  # rows that are compared with all targets at once
STRIP = 0.5  # the ends of a strip are shorter than this share of its edge
CUTS = 2  # places at which a line is parted where rows end inside it, or others along it
MOST_CUTS = 12  # such places in all
ROUND_THE_BODY = frozenset(("", "band", "collar", "stand", "hood", "cuff"))  # kinds of strips that go round it


Row = tuple[Use, ...]
Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Mates = tuple[Ints, Ints, Floats]  # rows, the targets that they may be sewn to, and by how many mm they differ
Links = tuple[int, ...]  # the candidates that join the lines of a row
Step = tuple[Use, Links, float]  # a line on which a row may go on, what joins it, and how likely it is
Corner = tuple[int, bool]  # a class of lines, and whether it is the end of the line that stands for it, clockwise


class Kind(IntEnum):
    """What a candidate brings together."""

    PAIR = 0
    STRETCH = 1
    TWIN = 2
    ROW = 3


@dataclass(frozen=True, slots=True)
class Candidate:
    """A possible seam: two sides as they are walked, and for a row the candidates that join its lines."""

    kind: Kind
    first: tuple[Use, ...]
    second: tuple[Use, ...]
    links: tuple[int, ...] = ()
    atoms: frozenset[tuple[int, int]] = field(default=frozenset())

    @property
    def seam(self) -> Seam:
        """Its two sides."""
        return self.first, self.second


class Sides(NamedTuple):
    """The sides of some candidates, each once, and the numbers of the two sides of each candidate (M, 2)."""

    each: list[tuple[Use, ...]]
    seams: Ints


def sides_of(candidates: Iterable[Candidate]) -> Sides:
    """The sides of some candidates, in the order in which they are met."""
    numbers: dict[tuple[Use, ...], int] = {}
    seams = [[numbers.setdefault(side, len(numbers)) for side in one.seam] for one in candidates]
    return Sides(list(numbers), np.array(seams, dtype=np.int64).reshape(-1, 2))


def simple(classes: Classes) -> list[Candidate]:
    """All pairs, twins and stretches, in a fixed order."""
    lines = lines_of(classes)
    twins = [use for line in lines for use in _sewn_to_its_like(classes, line)]
    return whole_lines(classes, lines, twins) + list(_stretches(classes))


def lines_of(classes: Classes) -> list[Line]:
    """The lines that stand for their classes and may be sewn, in order."""
    lines = [classes.lines[k] for k in sorted(classes.members)]
    return [line for line in lines if not line.fold and line.length > SHORTEST]


def whole_lines(classes: Classes, lines: Sequence[Line], twins: Iterable[Use]) -> list[Candidate]:
    """The twins, and all pairs of lines."""
    many = len(lines) > MANY
    found = [made(classes, Kind.TWIN, (use,), (use,)) for use in twins]
    for a_index, b_index in sorted(_near_in_length(lines, GATHERED_LESS if many else GATHERED)):
        ways = ways_of(classes, Use(a_index), Use(b_index))
        found += [made(classes, Kind.PAIR, (Use(a_index),), (way,)) for way in ways]
    return found


def _sewn_to_its_like(classes: Classes, line: Line) -> list[Use]:
    """What of a line may be sewn to its like: all of it, how it begins or ends, and what lies between notches."""
    parts = _parts(classes, line.index)
    if line.closed:
        return [use for use in parts if _drawn(classes, use)]
    return [Use(line.index), *(use for use in parts if _at_end(use) or _drawn(classes, use))]


def _near_in_length(lines: Sequence[Line], ratio: float) -> list[tuple[int, int]]:
    """Pairs of lines of about one length, at most MOST_PAIRS of them: neighbours in the order of length first."""
    order = sorted(lines, key=lambda line: (round(line.length, 6), line.index))
    found: list[tuple[int, int]] = []
    for apart in range(1, len(order)):
        pairs = zip(order, order[apart:], strict=False)
        near = [(a, b) for a, b in pairs if b.length - a.length < ALTERED or b.length < ratio * a.length]
        if not near or len(found) >= MOST_PAIRS:
            break
        found += [(min(a.index, b.index), max(a.index, b.index)) for a, b in near]
    return found


def made(
    classes: Classes, kind: Kind, first: tuple[Use, ...], second: tuple[Use, ...], links: tuple[int, ...] = ()
) -> Candidate:
    """A candidate of two sides, with what it takes up."""
    used = frozenset[tuple[int, int]]().union(*[classes.atoms(use) for use in (*first, *second)])
    return Candidate(kind, first, second, links, used)


def named(classes: Classes, seam: Seam) -> Candidate:
    """The candidate of a seam that a person names, walked as it is."""
    first, second = (tuple(map(classes.standing, side)) if len(side) == 1 else side for side in seam)
    if len(first) == len(second) == 1 and classes.atoms(first[0]) == classes.atoms(second[0]):
        return made(classes, Kind.TWIN, first, first)
    if max(len(first), len(second)) > 1:
        return made(classes, Kind.ROW, first, second)
    return made(classes, Kind.PAIR if first[0].whole and second[0].whole else Kind.STRETCH, first, second)


def ways_round(classes: Classes, seam: Seam) -> list[Seam]:
    """The ways in which two sides may be sewn: the second walked either way, its lines in either order; one where they are the same edge."""
    first, second = seam
    if len(first) == len(second) == 1 and classes.atoms(first[0]) == classes.atoms(second[0]):
        return [seam]
    orders = dict.fromkeys((second, second[::-1]))
    return [(first, way) for order in orders for way in (tuple(use.turned() for use in reversed(order)), order)]


def ways_of(classes: Classes, a: Use, b: Use) -> tuple[Use, ...]:
    """The ways in which a second side may run along the first; one where it makes no difference."""
    either = (a.line in classes.either_way and a.whole) or (b.line in classes.either_way and b.whole)
    return (b.turned(),) if either else (b.turned(), b)


def _parts(classes: Classes, line: int) -> list[Use]:
    """The stretches of a line between two of its marks, but the whole."""
    marks = classes.lines[line].marks
    last = len(marks) - 1
    if not 2 <= last < MOST_MARKS:
        return []
    parts = [
        Use(line, False, low, -1 if high == last else high)
        for low, high in combinations(range(last + 1), 2)
        if (low, high) != (0, last) and marks[high] - marks[low] > 2.0 * SHORTEST
    ]
    few = last < FEW_MARKS
    return [use for use in parts if few or _at_end(use) or use.high == use.low + 1 or _drawn(classes, use)]


def _at_end(use: Use) -> bool:
    """Whether a stretch begins or ends with its line."""
    return use.low == 0 or use.high == -1


def _drawn(classes: Classes, use: Use) -> bool:
    """Whether all that marks the ends of a stretch is drawn."""
    line = classes.lines[use.line]
    return not {line.marks[use.low], line.marks[use.high]} & set(line.cuts)


def _stretches(classes: Classes) -> Iterator[Candidate]:
    """A whole line on a part of another, and two parts that end with their lines or between notches; the closest first."""
    lines = lines_of(classes)
    parts = {
        line.index: [(use, classes.length(use), _drawn(classes, use)) for use in _parts(classes, line.index)]
        for line in lines
    }
    found: list[tuple[float, Use, Use]] = []
    for part, length, drawn in (row for rows in parts.values() for row in rows):
        fit = max(STRETCH_OFF, STRETCH_FIT * length) if drawn else EXACT
        for line in lines:
            off = abs(line.length - length)
            if off < fit and line.index != part.line and not line.closed:
                found.append((round(off / length, 9), Use(line.index), part))
    for a, b in combinations(lines, 2):
        for one, length, drawn in parts[a.index]:
            for mate, other_length, drawn_too in parts[b.index]:
                off, both, at_ends = abs(other_length - length), drawn and drawn_too, _at_end(one) and _at_end(mate)
                fit = max(STRETCH_OFF, STRETCH_FIT * length) if both and at_ends else EXACT
                if off < fit and (both or (at_ends and a.piece != b.piece)):
                    found.append((round(off / length, 9), one, mate))
    ways = ((one, way) for _, one, mate in sorted(found) for way in ways_of(classes, one, mate))
    return (made(classes, Kind.STRETCH, (one,), (way,)) for one, way in islice(ways, MOST_STRETCHES))


def _rank(numbers: Ints) -> Ints:
    """How many with the same number stand before each."""
    order = np.argsort(numbers, kind="stable")
    ordered = numbers[order]
    rank = np.empty(len(numbers), dtype=np.int64)
    rank[order] = np.arange(len(numbers)) - np.searchsorted(ordered, ordered)
    return rank


def _nearest(off: Floats, wanted: Bools, most: int, start: int) -> Mates:
    """Of each row (N) the first few of the wanted targets (N, T), those that are least off first; rows are numbered from `start`."""
    row, mate = np.nonzero(wanted)
    order = np.lexsort((off[row, mate], row))
    order = order[_rank(row[order]) < most]
    row, mate = row[order], mate[order]
    return row + start, mate, off[row, mate]


def _together(mates: Sequence[Mates]) -> Mates:
    row, mate, off = (np.concatenate(each) for each in zip(*mates, strict=True))
    return row, mate, off


def _few_a_mate(row: Ints, mate: Ints, few: int, most: int) -> list[tuple[int, int]]:
    """The first rows with their mates, as (row, mate): no more than a few of one mate, and than most of all."""
    kept = np.flatnonzero(_rank(mate) < few)[:most]
    return list(zip(row[kept].tolist(), mate[kept].tolist(), strict=True))


def _turned(row: Row) -> Row:
    """The same lines walked the other way."""
    return tuple([use.turned() for use in reversed(row)])


class Rows:
    """Grows rows of lines by the seams that are likely to join them, and finds what they may be sewn to."""

    def __init__(self, classes: Classes, candidates: Sequence[Candidate], likely: Floats) -> None:
        """`likely` says of each candidate how likely it is, 0 to 1."""
        self.classes, self.simple, self.likely = classes, candidates, likely.tolist()
        self._onward: dict[Use, list[Step]] = {}
        self._openings: dict[tuple[Row, Links], tuple[int, int]] = {}
        self._begins: dict[Use, list[Use]] = {}
        self.joins: dict[Corner, list[tuple[int, Corner]]] = {}
        order = sorted(range(len(candidates)), key=lambda k: (-round(float(likely[k]), 6), k))
        for number in order:
            one = candidates[number]
            if likely[number] < LIKELY_LINK:
                break
            a, b = one.first[0], one.second[0]
            for last in (False, True):
                mine, theirs = self._corner(a, last=last), self._corner(b, last=last)
                if mine is not None and theirs is not None:
                    for one_end, other in dict.fromkeys(((mine, theirs), (theirs, mine))):
                        known = self.joins.setdefault(one_end, [])
                        if len(known) < LINKS and all(other != end for _, end in known):
                            known.append((number, other))

    def _corner(self, use: Use, *, last: bool) -> Corner | None:
        """The corner of a line at which a walked one ends (starts, if not `last`); None inside the line."""
        at_end = last != use.backwards
        if (use.high != -1) if at_end else (use.low != 0):
            return None
        root, hand = self.classes.group[use.line]
        return root, at_end != hand

    def candidates(self) -> list[Candidate]:
        """The rows with their mates, the best fitting first."""
        classes = self.classes
        lines = lines_of(classes)
        targets = [Use(line.index) for line in lines]
        targets += [part for line in lines for part in _parts(classes, line.index)]
        if not targets:
            return []
        longest = max(classes.length(use) for use in targets)
        rows = list(self._once(self._grown(len(lines), longest * STRETCHED)))
        seams = []
        for number, k in self._mates(rows, targets) if rows else ():
            row, links = rows[number]
            ways = (targets[k],) if classes.lines[targets[k].line].closed else (targets[k], targets[k].turned())
            seams += [made(classes, Kind.ROW, row, (way,), links) for way in ways]
        seams += self._to_rows(rows)
        # What joins the lines of a row takes edges up itself: a seam that sews those elsewhere says two things at once.
        return [one for one in seams if not any(one.atoms & self.simple[k].atoms for k in one.links)]

    def _mates(self, rows: Sequence[tuple[Row, Links]], targets: Sequence[Use]) -> Iterable[tuple[int, int]]:
        """Rows with what they may be sewn to, as (row, target): the best fitting, and what is drawn up on it of all of an opening."""
        classes = self.classes
        strip = np.array([use.whole and self._is_strip(classes.lines[use.line]) for use in targets])
        folds = np.array([sum(self._at_fold(use, last=last) for last in (False, True)) for use in targets])
        length = np.array([sum(classes.length(use) for use in row) for row, _ in rows])
        worth = np.array([self._worth(links, 0.5) for _, links in rows])
        fitting, loose = self._fitting([row for row, _ in rows], length, worth >= WELL_JOINED, targets, strip)
        number, mate, off = fitting
        fit = np.round(OFF_WORTH * off / np.maximum(length[number], 1.0) - worth[number], 9)
        order = np.lexsort((mate, number, fit))
        kept = _few_a_mate(number[order], mate[order], A_MATE, MOST_ROW_SEAMS)
        number, mate, off = loose
        some, place = np.unique(number, return_inverse=True)
        beyond = np.array([self._beyond(*rows[k]) for k in some.tolist()], dtype=np.int64).reshape(-1, 2)[place]
        tenths = np.array([round(one, 1) for one in worth.tolist()])
        unlike = beyond[:, 0] + np.abs(folds[mate] - beyond[:, 1]) - tenths[number]
        order = np.lexsort((mate, number, off, unlike))
        for on, few in ((True, ON_STRIP), (False, DRAWN_UP)):
            which = order[strip[mate[order]] == on]
            kept += _few_a_mate(number[which], mate[which], few, MOST_DRAWN_UP)
        return dict.fromkeys(kept)

    def _fitting(
        self, rows: Sequence[Row], length: Floats, joined: Bools, targets: Sequence[Use], strip: Bools
    ) -> tuple[Mates, Mates]:
        """The nearest mates of each row, and those that are gathered or stretched on it; `joined` are rows whose links are likely."""
        classes = self.classes
        lengths = np.array([classes.length(use) for use in targets])
        roots = np.array([classes.root(use.line) for use in targets])
        whole = np.array([use.whole for use in targets])
        ends = np.array([[classes.length(use) for use in (row[0], row[-1])] for row in rows])
        all_whole = np.array([all(use.whole for use in row) for row in rows])
        taken = np.zeros((len(rows), len(classes.lines)), dtype=bool)
        for number, row in enumerate(rows):
            taken[number, [classes.root(use.line) for use in row]] = True
        fitting: list[Mates] = []
        loose: list[Mates] = []
        for start in range(0, len(rows), AT_ONCE):
            part = slice(start, start + AT_ONCE)
            own = length[part, None]
            apart: Floats = np.abs(lengths - own)
            off = np.round(apart, 6)
            other = ~taken[part][:, roots]
            for end in ends[part].T[:, :, None]:  # it may fit better without a short line at one of its ends
                other &= (end >= SHORT_END * own) | (np.abs(lengths - own + end) + 1e-6 >= apart)
            close = np.maximum(ROW_OFF, ROW_FIT * lengths)
            drawn_up = other & whole & (all_whole & joined)[part, None] & (off >= close)
            drawn_up &= (lengths < GATHERED * own) & (own < GATHERED * lengths)
            fitting.append(_nearest(off, other & (off < close), TARGETS, start))
            loose += [_nearest(off, drawn_up & which, LOOSE, start) for which in (strip, ~strip)]
        return _together(fitting), _together(loose)

    def _worth(self, links: Links, alone: float = 0.0) -> float:
        """How likely the least likely of the seams is that join a row; `alone` where none does."""
        return min((self.likely[k] for k in links), default=alone)

    def ends_inside(self) -> dict[int, list[float]]:
        """Where lines are to be parted because a row ends inside them that is as long as the edge of a strip (class -> stations in mm).

        So a collar begins inside the edge of a neck, and a band ends inside that of a lap.
        """
        classes = self.classes
        lines = [classes.lines[k] for k in sorted(classes.members)]
        strips = [line for line in lines if not line.fold and not line.closed and self._is_strip(line)]
        strips = [line for line in strips if not classes.part(line.index).words.ribbed]  # it is stretched
        lengths = np.array([line.length for line in strips])
        roots = np.array([classes.root(line.index) for line in strips])
        places: list[tuple[float, int, int, float]] = []
        longest = float(lengths.max(initial=0.0)) * STRETCHED
        for row, links in self._once(self._grown(len(lines), longest, whole=True)):
            worth = self._worth(links)
            if worth < GOES_ON or self._turns(row, links):
                continue
            own = [classes.root(use.line) for use in row]
            other = ~np.isin(roots, own)
            both = own[0] == own[-1]
            for walked in (row,) if both else (row, _turned(row)):
                last, rest = walked[-1], walked[1:-1] if both else walked[:-1]
                line = classes.lines[last.line]
                if line.darts or classes.root(last.line) in [classes.root(use.line) for use in rest]:
                    continue
                left = (lengths - sum(classes.length(use) for use in rest)) / (1 + both)
                root, hand = classes.group[last.line]
                for at in left[other & (left > SHORTEST) & (left < line.length - SHORTEST)].tolist():
                    from_start = last.backwards == hand
                    places.append((-round(worth, 2), len(row), root, at if from_start else line.length - at))
        found: dict[int, list[float]] = {}
        for _, _, root, at in sorted(places)[:MOST_CUTS]:
            found.setdefault(root, []).append(at)
        return found

    def _is_strip(self, line: Line) -> bool:
        """Whether a line is a long edge of a strip, such as a band or a collar: the lines beside it are much shorter."""
        if self.classes.part(line.index).words.kind not in ROUND_THE_BODY:
            return False
        around = [self.classes.lines[k] for k in self.classes.beside(line.index)]
        return all(one.length < STRIP * line.length for one in around)

    def _to_rows(self, rows: Sequence[tuple[Row, Links]]) -> Iterator[Candidate]:
        """Rows sewn to rows, where the links of both are likely; the closest first."""
        classes = self.classes
        strong = []
        for row, links in rows:
            worth = self._worth(links)
            if worth >= WELL_JOINED and all(use.whole for use in row):
                roots = frozenset(classes.root(use.line) for use in row)
                worth -= BEYOND * self._beyond(row, links)[0]
                strong.append((sum(classes.length(use) for use in row), worth, row, links, roots))
        strong = sorted(strong, key=lambda one: (-round(one[1], 6), one[2]))[:MOST_STRONG]
        strong.sort(key=lambda one: (round(one[0], 6), one[2]))
        found = []
        for k, (length, worth, _, _, roots) in enumerate(strong):
            for n in range(k + 1, len(strong)):
                off = strong[n][0] - length
                if off > max(ROW_OFF, ROW_FIT * length):
                    break
                if not roots & strong[n][4]:
                    found.append((round(OFF_WORTH * off / length - min(worth, strong[n][1]), 9), k, n))
        for _, k, n in sorted(found)[:MOST_TO_ROWS]:
            (_, _, row, links, _), (_, _, other, more, _) = strong[k], strong[n]
            yield made(classes, Kind.ROW, row, other, (*links, *more))
            yield made(classes, Kind.ROW, row, _turned(other), (*links, *more))

    def _beyond(self, row: Row, links: Links) -> tuple[int, int]:
        """How far a row is from an opening from end to end, and at how many of its ends lies a fold.

        Counted are corners of a piece that it turns, and ends at which it likely goes on across a seam; behind an edge that is
        faced an opening ends all the same.
        """
        if (row, links) in self._openings:
            return self._openings[row, links]
        back = _turned(row)
        goes_on = sum(
            any(
                link and likely >= GOES_ON and use != way[0] and self._may_repeat(way, use)
                and self.classes.part(use.line).words.kind not in BEHIND
                for use, link, likely in self._next(way[-1])
            )
            for way in (row, back)
        )  # fmt: skip
        folds = sum(self._at_fold(way[-1], last=True) for way in (row, back))
        self._openings[row, links] = self._turns(row, links) + goes_on, folds
        return self._openings[row, links]

    def _turns(self, row: Row, links: Links) -> int:
        """How many corners of a piece a row turns, which are not those across a seam or a fold."""
        return len(row) - 1 - len(links) - sum(self._at_fold(use, last=True) for use in row[:-1])

    def _at_fold(self, use: Use, *, last: bool) -> bool:
        beside = self.classes.next_to(use, last=last)
        return beside is not None and self.classes.lines[beside].fold

    def _once(self, rows: Iterable[tuple[Row, Links]]) -> Iterator[tuple[Row, Links]]:
        """Each row once, though it was grown from both its ends."""
        seen: set[Row] = set()
        for row, links in rows:
            if row not in seen:
                seen.add(row)
                seen.add(_turned(row))
                yield row, links

    def _grown(self, count: int, longest: float, *, whole: bool = False) -> Iterator[tuple[Row, Links]]:
        """Rows and the candidates that join them, the likeliest of each start first; of whole lines alone if `whole`."""
        classes = self.classes
        budget = max(MOST_ROWS // max(2 * count, 1), 12)
        for line in sorted(classes.members):
            if classes.lines[line].fold or classes.lines[line].closed or classes.lines[line].length <= SHORTEST:
                continue
            parts = [] if whole else _parts(classes, line)
            onward, back = ([part for part in parts if part.high == -1], [part for part in parts if not part.low])
            for start in (Use(line), *onward, Use(line, True), *(part.turned() for part in back)):
                left, number = budget, 0
                rows: list[tuple[float, int, Row, Links, float]] = [(0.0, 0, (start,), (), classes.length(start))]
                while rows and left > 0:
                    price, _, row, links, length = heappop(rows)
                    if len(row) > 1:
                        left -= 1
                        yield row, links
                    if len(row) == MOST_IN_ROW or (len(row) > 1 and not row[-1].whole):
                        continue
                    turns = self._turns(row, links)
                    for use, link, likely in self._next(row[-1]):
                        if not self._may_repeat(row, use) or self._comes_round(row, use):
                            continue
                        if turns == MOST_TURNS and not link and use != row[-1].turned():
                            continue
                        for last in (use,) if whole else (use, *self._begun(use)):
                            more = length + classes.length(last)
                            if more <= longest:
                                number += 1
                                worth = likely if last is use else likely * GOES_ON
                                step = round(price - math.log(worth), 6)
                                heappush(rows, (step, number, (*row, last), (*links, *link), more))

    def _comes_round(self, row: Row, use: Use) -> bool:
        """Whether a row of unlike lines is back where it began: a ring is walked once."""
        return use == row[0] and any(self.classes.root(other.line) != self.classes.root(use.line) for other in row)

    def _begun(self, use: Use) -> list[Use]:
        """The stretches with which a row may end inside a line."""
        if use not in self._begins:
            parts = _parts(self.classes, use.line) if use.whole else []
            if use.backwards:
                self._begins[use] = [part.turned() for part in parts if part.high == -1]
            else:
                self._begins[use] = [part for part in parts if part.low == 0]
        return self._begins[use]

    def _may_repeat(self, row: Row, use: Use) -> bool:
        root = self.classes.root(use.line)
        copies = self.classes.copies(use.line)
        return [self.classes.root(other.line) for other in row].count(root) < (copies or MOST_COPIES)

    def _next(self, use: Use) -> list[Step]:
        """What a row may go on to, and how likely: the mirrored line across a fold, the next of its piece, one across a seam."""
        if use not in self._onward:
            self._onward[use] = list(self._steps(use))
        return self._onward[use]

    def _steps(self, use: Use) -> Iterator[Step]:
        classes = self.classes
        beside = classes.next_to(use, last=True)
        if beside is None:
            return
        line = classes.lines[use.line]
        if classes.lines[beside].fold:
            yield use.turned(), (), 1.0
            return
        angle = line.angles[0] if use.backwards else line.angles[1]
        if RUNS_ON[0] < angle < RUNS_ON[1]:
            yield Use(beside, use.backwards), (), GOES_ON
        root, hand = classes.group[beside]
        at_end = use.backwards  # walked clockwise, the row comes to the start of the line beside
        for number, (other, their_end) in self.joins.get((root, at_end != hand), ()):
            before, after = classes.beside(other)
            if root == other and classes.root(use.line) == classes.root(after if their_end else before):
                yield use.turned(), (number,), self.likely[number]
                continue
            onward = Use(after, False) if their_end else Use(before, True)
            if not classes.lines[onward.line].fold and onward.line != other:
                yield onward, (number,), self.likely[number]
