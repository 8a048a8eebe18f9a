"""Which candidates belong together: what lies beyond their ends, what joins a row, what sews the same pieces.

A side ends at a place of a line, with the line on one side of it; beyond that place lies the rest of the line, or the line
next to it. Where a seam ends, what lies beyond its two sides is often sewn together too: the corner closes.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from seamcheck.pairing.alike import Classes, Seam
from seamcheck.pairing.candidates import Candidate
from seamcheck.pairing.lines import Use

Ints = npt.NDArray[np.int64]
Atoms = tuple[tuple[int, int], ...]
SAME_PLACE = 3.0  # mm by which lines of two rows may end apart, besides what their lengths differ by
End = tuple[
    int, int, int
]  # the class of a line, a mark of it, and which way from there the cloth edge lies: 1 clockwise, -1 back


def closing(classes: Classes, candidates: Sequence[Candidate]) -> Ints:
    """Pairs (P, 2) of a candidate's end (2 i for the start of candidate i, 2 i + 1 for its end) and a candidate that closes its corner."""
    ends = _Ends(classes)
    at: dict[tuple[End, End], list[int]] = {}
    beyond: list[tuple[End, End] | None] = []
    for number, one in enumerate(candidates):
        for last in (False, True):
            a, b = (ends.of(side[-1] if last else side[0], last=last) for side in one.seam)
            at.setdefault(_pair(a, b), []).append(number)
            c, d = (ends.beyond(side[-1] if last else side[0], last=last) for side in one.seam)
            beyond.append(None if c is None or d is None else _pair(c, d))
    found = [
        (k, number)
        for k, pair in enumerate(beyond)
        if pair is not None
        for number in at.get(pair, ())
        if number != k // 2
    ]
    return np.array(found, dtype=np.int64).reshape(-1, 2)


def _pair(a: End, b: End) -> tuple[End, End]:
    return (a, b) if a <= b else (b, a)


class _Ends:
    """Where sides end, told on the line that stands for a class."""

    def __init__(self, classes: Classes) -> None:
        self.classes = classes
        self.known: dict[tuple[Use, bool], tuple[End, End | None]] = {}

    def of(self, use: Use, *, last: bool) -> End:
        return self._both(use, last)[0]

    def beyond(self, use: Use, *, last: bool) -> End | None:
        """What lies beyond; None on a closed line or where a fold lies there."""
        return self._both(use, last)[1]

    def _both(self, use: Use, last: bool) -> tuple[End, End | None]:
        if (use, last) not in self.known:
            line = self.classes.lines[use.line]
            top = len(line.marks) - 1
            at_end = last != use.backwards
            mark = (top if use.high == -1 else use.high) if at_end else use.low
            way = -1 if at_end else 1
            beside = self.classes.next_to(use, last=last)
            rest: End | None = None
            if 0 < mark < top:
                rest = self._told(use.line, mark, -way)
            elif beside is not None and not self.classes.lines[beside].fold:
                rest = self._told(beside, 0 if at_end else len(self.classes.lines[beside].marks) - 1, -way)
            self.known[use, last] = self._told(use.line, mark, way), rest
        return self.known[use, last]

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


def between(classes: Classes, candidates: Sequence[Candidate]) -> Ints:
    """For each candidate (M, 2) the number of all that sew the same two pieces with the same hands up, and with the other hand."""
    numbers: dict[tuple[int, int], int] = {}
    found = []
    for one in candidates:
        a, b = one.first[0], one.second[0]
        (root, hand), (other, turned) = classes.group[a.line], classes.group[b.line]
        low, high = sorted((classes.lines[root].piece, classes.lines[other].piece))
        number = 2 * numbers.setdefault((low, high), len(numbers))
        way = int((a.backwards == b.backwards) ^ hand ^ turned)
        found.append((number + way, number + 1 - way))
    return np.array(found, dtype=np.int64).reshape(-1, 2)


def parted(classes: Classes, candidates: Sequence[Candidate]) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """Rows sewn to rows whose lines end at the same places, each with the candidates that say the same line by line."""
    known: dict[tuple[Atoms, ...], list[int]] = {}
    for number, one in enumerate(candidates):
        known.setdefault(_atoms_of(classes, one.seam), []).append(number)
    found = []
    for number, one in enumerate(candidates):
        if min(map(len, one.seam)) > 1:
            own = [
                _same_way(classes, candidates, known.get(_atoms_of(classes, part), ()), part)
                for part in _parts_of(classes, one.seam)
            ]
            if len(own) > 1 and all(own):
                found.append((number, tuple(row[0] for row in own)))
    return tuple(found)


def _atoms_of(classes: Classes, seam: Seam) -> tuple[Atoms, ...]:
    """What the two sides take up, a line that is walked twice twice; the same whichever side is named first."""
    return tuple(sorted(tuple(sorted(atom for use in side for atom in classes.atoms(use))) for side in seam))


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
