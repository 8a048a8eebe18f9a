"""Which candidates belong together: what lies beyond their ends, what joins a row, what sews the same pieces.

A side ends at a place of a line, with the line on one side of it; beyond that place lies the rest of the line, or the line
next to it. Where a seam ends, what lies beyond its two sides is often sewn together too: the corner closes.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from seamcheck.pairing.alike import Classes, Seam
from seamcheck.pairing.candidates import Candidate, Sides
from seamcheck.pairing.lines import Use

Ints = npt.NDArray[np.int64]
Atoms = tuple[tuple[int, int], ...]
NOWHERE = -1
SAME_PLACE = 3.0  # mm by which lines of two rows may end apart, besides what their lengths differ by
End = tuple[
    int, int, int
]  # the class of a line, a mark of it, and which way from there the cloth edge lies: 1 clockwise, -1 back


def closing(classes: Classes, sides: Sides) -> Ints:
    """Pairs (P, 2) of a candidate's end (2 i for the start of candidate i, 2 i + 1 for its end) and a candidate that closes its corner."""
    ends = _Ends(classes)
    told = np.array([ends.of(side) for side in sides.each], dtype=np.int64).reshape(-1, 2, 2)[sides.seams]
    low, high = told.min(axis=1), told.max(axis=1)  # (M, 2, 2): of each end, where it is and what lies beyond
    pairs = low * (high.max(initial=0) + 1) + high
    at, beyond = pairs[:, :, 0].ravel(), np.where(low[:, :, 1] == NOWHERE, NOWHERE, pairs[:, :, 1]).ravel()
    order = np.argsort(at, kind="stable")
    found, place = met(beyond, at[order])
    numbers = order[place] // 2
    other = numbers != found // 2
    return np.stack([found[other], numbers[other]], axis=1)


def met(wanted: Ints, known: Ints) -> tuple[Ints, Ints]:
    """All pairs of places in `wanted` and in `known` with the same number, in order; `known` rises."""
    first = np.searchsorted(known, wanted)
    count = np.searchsorted(known, wanted, side="right") - first
    before = np.cumsum(count) - count
    return np.repeat(np.arange(len(wanted)), count), np.arange(count.sum()) + np.repeat(first - before, count)


class _Ends:
    """Where sides end, told on the line that stands for a class; each such end has a number."""

    def __init__(self, classes: Classes) -> None:
        self.classes = classes
        self.numbers: dict[End, int] = {}
        self.known: dict[tuple[Use, bool], tuple[int, int]] = {}

    def of(self, side: Sequence[Use]) -> tuple[tuple[int, int], tuple[int, int]]:
        """Where a side starts and what lies beyond, and the same of its end."""
        return self._both(side[0], last=False), self._both(side[-1], last=True)

    def _both(self, use: Use, *, last: bool) -> tuple[int, int]:
        """Where a use ends, and what lies beyond; NOWHERE on a closed line or where a fold lies there."""
        if (use, last) not in self.known:
            line = self.classes.lines[use.line]
            top = len(line.marks) - 1
            at_end = last != use.backwards
            mark = (top if use.high == -1 else use.high) if at_end else use.low
            way = -1 if at_end else 1
            beside = self.classes.next_to(use, last=last)
            rest = NOWHERE
            if 0 < mark < top:
                rest = self._number(use.line, mark, -way)
            elif beside is not None and not self.classes.lines[beside].fold:
                rest = self._number(beside, 0 if at_end else len(self.classes.lines[beside].marks) - 1, -way)
            self.known[use, last] = self._number(use.line, mark, way), rest
        return self.known[use, last]

    def _number(self, line: int, mark: int, way: int) -> int:
        return self.numbers.setdefault(self._told(line, mark, way), len(self.numbers))

    def _told(self, line: int, mark: int, way: int) -> End:
        root, hand = self.classes.group[line]
        last = len(self.classes.lines[line].marks) - 1
        other = (last - mark, -way)
        if root in self.classes.either_way:
            return root, *min((mark, way), other)
        return root, *(other if hand else (mark, way))


def joined(candidates: Sequence[Candidate]) -> Ints:
    """Pairs (L, 2) of a row and a candidate that joins its lines."""
    found = [(number, link) for number, one in enumerate(candidates) for link in one.links]
    return np.array(found, dtype=np.int64).reshape(-1, 2)


def between(classes: Classes, sides: Sides) -> Ints:
    """For each candidate (M, 2) the number of all that sew the same two pieces with the same hands up, and with the other hand."""
    told = [(classes.group[side[0].line], side[0].backwards) for side in sides.each]
    piece = np.array([classes.lines[root].piece for (root, _), _ in told], dtype=np.int64)[sides.seams]
    hand = np.array([turned ^ backwards for (_, turned), backwards in told], dtype=np.int64)[sides.seams]
    pairs = piece.min(axis=1) * len(classes.parts) + piece.max(axis=1)
    _, first, pair = np.unique(pairs, return_index=True, return_inverse=True)
    number = 2 * np.argsort(np.argsort(first))[pair]  # in the order in which the pieces are met
    way = hand[:, 0] == hand[:, 1]
    return np.stack([number + way, number + ~way], axis=1)


def parted(classes: Classes, candidates: Sequence[Candidate]) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """Rows sewn to rows whose lines end at the same places, each with the candidates that say the same line by line."""
    taken = _Taken(classes)
    known: dict[tuple[Atoms, Atoms], list[int]] = {}
    for number, one in enumerate(candidates):
        known.setdefault(taken.of(one.seam), []).append(number)
    found = []
    for number, one in enumerate(candidates):
        if min(map(len, one.seam)) > 1:
            own = [
                _same_way(classes, candidates, known.get(taken.of(part), ()), part)
                for part in _parts_of(classes, one.seam)
            ]
            if len(own) > 1 and all(own):
                found.append((number, tuple(row[0] for row in own)))
    return tuple(found)


class _Taken:
    """What seams take up, each side told once."""

    def __init__(self, classes: Classes) -> None:
        self.classes = classes
        self.known: dict[tuple[Use, ...], Atoms] = {}

    def of(self, seam: Seam) -> tuple[Atoms, Atoms]:
        """What the two sides take up, a line that is walked twice twice; the same whichever side is named first."""
        a, b = (self._side(side) for side in seam)
        return (a, b) if a <= b else (b, a)

    def _side(self, side: tuple[Use, ...]) -> Atoms:
        if side not in self.known:
            self.known[side] = tuple(sorted(atom for use in side for atom in self.classes.atoms(use)))
        return self.known[side]


def _parts_of(classes: Classes, seam: Seam) -> list[Seam]:
    """A seam parted where lines end on both its sides at one place."""
    ends = [np.cumsum([classes.side((use,)).length for use in side]) for side in seam]
    near = abs(float(ends[0][-1] - ends[1][-1])) + SAME_PLACE
    found, a, b = [], 0, 0
    for i, at in enumerate(ends[0], 1):
        k = int(np.abs(ends[1] - at).argmin()) + 1
        last = i == len(ends[0])
        if last or (abs(float(ends[1][k - 1] - at)) < near and b < k < len(ends[1])):
            found.append((seam[0][a:i], seam[1][b:] if last else seam[1][b:k]))
            a, b = i, k
    return found


def _same_way(classes: Classes, candidates: Sequence[Candidate], numbers: Sequence[int], part: Seam) -> list[int]:
    """Those of some candidates of the same lines that run along each other the same way."""
    return [number for number in numbers if _way(classes, candidates[number].seam) in (None, _way(classes, part))]


def _way(classes: Classes, seam: Seam) -> bool | None:
    """Whether two single lines run the same way round their pieces; None where it makes no difference, or for rows."""
    a, b = seam[0][0], seam[1][0]
    if max(map(len, seam)) > 1 or {classes.root(a.line), classes.root(b.line)} & classes.either_way:
        return None
    return (a.backwards == b.backwards) ^ classes.group[a.line][1] ^ classes.group[b.line][1]
