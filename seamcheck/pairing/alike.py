"""Which lines of a pattern are alike, so that it makes no difference which of them is taken.

The two halves of a symmetric piece, the left and the right hand that are both drawn, copies of one piece: their lines
are one class. A seam is sought between classes; `Classes.spread` lays it on the lines that are drawn.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from dataclasses import replace

from seamcheck.pairing.cuts import Telling, cuts, told_apart
from seamcheck.pairing.lines import Line, Part, Side, Use, atoms, correspondences, reach, side_of

Seam = tuple[tuple[Use, ...], tuple[Use, ...]]
UNLIKE = 0.02  # share by which the outlines of like pieces may differ in length
BODIES = ("", "body", "panel", "gore", "frill")  # kinds of pieces in whose seams a pocket may lie
MOST_COPIES = 12  # copies of a piece that are told apart


class Classes:
    """The parts and lines of one size, and the classes of like lines."""

    def __init__(self, parts: Sequence[Part], lines: Sequence[Line]) -> None:
        """Look for copies and mirror images among the parts."""
        self.parts, self.lines = tuple(parts), tuple(lines)
        # line -> the first line of its class, and whether it is that one's mirror image
        self.group = {line.index: (line.index, False) for line in lines}
        self.either_way: set[int] = set()  # lines that are their own mirror image
        self.twins: set[frozenset[int]] = set()  # pieces of which one is the other's copy or mirror image
        self._beside = {
            line: (part.lines[k - 1], part.lines[(k + 1) % len(part.lines)])
            for part in self.parts
            for k, line in enumerate(part.lines)
        }
        self._copies: dict[int, int | None] = {}
        self._sides: dict[tuple[Use, ...], Side] = {}
        self._atoms: dict[Use, frozenset[tuple[int, int]]] = {}
        for a, b in self._of_one_size():
            self._compare(a, b)
        self.members: dict[int, list[int]] = {}
        for index, (root, _) in self.group.items():
            self.members.setdefault(root, []).append(index)
        telling = Telling(
            frozenset(part.index for part in self.parts if part.words.kind in BODIES),
            frozenset(part.index for part in self.parts if part.words.opening),
            frozenset(part.index for part in self.parts if part.words.in_seam),
            frozenset(part.index for part in self.parts if part.words.kind == "gusset"),
        )
        parted = cuts([self.lines[root] for root in self.members], frozenset(self.either_way), telling)
        self.lines = tuple(self._parted(line, parted) for line in self.lines)

    def parted(self, places: Mapping[int, Sequence[float]], most: int) -> Classes:
        """The same with more cuts, by line; at most `most` on a line."""
        parted = {
            root: told_apart(
                self.lines[root], at, either_way=root in self.either_way, most=len(self.lines[root].cuts) + most
            )
            for root, at in places.items()
        }
        result = copy(self)
        result._sides, result._atoms = {}, {}
        result.lines = tuple(self._parted(line, parted) for line in self.lines)
        return result

    def _parted(self, line: Line, parted: Mapping[int, tuple[float, ...]]) -> Line:
        """A line with the cuts of its class; on the mirror image of the line that stands for it they are told from the other end."""
        root, hand = self.group[line.index]
        if root not in parted:
            return line
        share = line.length / self.lines[root].length
        own = tuple(at * share for at in parted[root])
        return replace(line, cuts=tuple(line.length - at for at in reversed(own)) if hand else own)

    def _of_one_size(self) -> Iterator[tuple[Part, Part]]:
        """Pairs of parts that may be alike: as many lines, and about as long all round."""
        around = {part.index: sum(self.lines[k].length for k in part.lines) for part in self.parts}
        order = sorted(self.parts, key=lambda part: (len(part.lines), round(around[part.index], 6), part.index))
        found = []
        for number, a in enumerate(order):
            for b in order[number:]:
                if len(b.lines) != len(a.lines) or around[b.index] - around[a.index] > UNLIKE * around[b.index] + 1.0:
                    break
                found.append((a, b) if a.index <= b.index else (b, a))
        yield from sorted(found, key=lambda pair: (pair[0].index, pair[1].index))

    def _compare(self, a: Part, b: Part) -> None:
        mine, theirs = ([self.lines[k] for k in part.lines] for part in (a, b))
        if len(mine) != len(theirs) or not _interchangeable(a, b):
            return
        for flipped in (False, True):
            for match in correspondences(mine, theirs, flipped=flipped, notched=True):
                if any(self.lines[i].fold != self.lines[j].fold for i, j in match.items()):
                    continue  # a rectangle with one end on the fold is no mirror image of itself
                if a.index != b.index:
                    self.twins.add(frozenset((a.index, b.index)))
                for i, j in match.items():
                    self._join(i, j, flipped=flipped)
                    if i == j and flipped:
                        self.either_way.add(i)

    def _join(self, i: int, j: int, *, flipped: bool) -> None:
        (root, hand), (other, turned) = self.group[i], self.group[j]
        if root == other:
            if hand ^ turned ^ flipped:  # it is also its own mirror image
                self.either_way.update(k for k, (name, _) in self.group.items() if name == root)
            return
        low, high = min(root, other), max(root, other)
        for k, (name, way) in self.group.items():
            if name == high:
                self.group[k] = (low, way ^ hand ^ turned ^ flipped)

    def root(self, line: int) -> int:
        """The line that stands for its class."""
        return self.group[line][0]

    def part(self, line: int) -> Part:
        """The part a line belongs to."""
        return self.parts[self.lines[line].piece]

    def beside(self, line: int) -> tuple[int, int]:
        """The lines before and after a line on its piece, clockwise."""
        return self._beside[line]

    def next_to(self, use: Use, *, last: bool) -> int | None:
        """The line that meets a walked one where it ends (starts, if not `last`); None inside a line or on a closed one."""
        line = self.lines[use.line]
        at_end = last != use.backwards
        if line.closed or (use.high != -1 if at_end else use.low != 0):
            return None
        return self.beside(use.line)[1 if at_end else 0]

    def side(self, uses: tuple[Use, ...]) -> Side:
        """What is measured of lines walked one after the other."""
        if uses not in self._sides:
            self._sides[uses] = side_of(uses, self.lines)
        return self._sides[uses]

    def length(self, use: Use) -> float:
        """How long what a use takes up is, in mm."""
        low, high = reach(use, self.lines[use.line])
        return high - low

    def atoms(self, use: Use) -> frozenset[tuple[int, int]]:
        """The stretches that a use takes up, numbered on the line that stands for its class."""
        if use not in self._atoms:
            root, hand = self.group[use.line]
            last = len(self.lines[use.line].marks) - 2
            own = atoms(use, self.lines[use.line])
            self._atoms[use] = frozenset((root, last - k if hand else k) for _, k in own)
        return self._atoms[use]

    def copies(self, line: int) -> int | None:
        """How often the lines of a class are cut in all; None where nobody says."""
        root = self.root(line)
        if root not in self._copies:
            known = [self.part(k).words for k in self.members[root]]
            total = sum((words.copies or 1) * (2 if words.on_fold else 1) for words in known)
            self._copies[root] = None if any(words.copies is None for words in known) else min(total, MOST_COPIES)
        return self._copies[root]

    def spread(self, seam: Seam) -> Iterator[Seam]:
        """A seam of classes on every line that is drawn: left to left and right to right, each copy once."""
        if seam[0] == seam[1]:
            yield from self._twin(seam[0])
            return
        uses = [use for side in seam for use in side]
        count = Counter(self.root(use.line) for use in uses)
        options = {root: self._taken(root, [other for other in count if other != root]) for root in count}
        rounds = max(-(-options[root] // count[root]) for root in count)
        often = self._often(uses, count)
        seen = set()
        for k in range(rounds if often is None else min(rounds, often)):
            met: Counter[int] = Counter()
            placed = []
            for use in uses:
                root = self.root(use.line)
                choices = self._placed(use)
                placed.append(choices[(k * count[root] + met[root]) % len(choices)] if len(choices) > 1 else use)
                met[root] += 1
            one = tuple(placed[: len(seam[0])]), tuple(placed[len(seam[0]) :])
            if one not in seen:
                seen.add(one)
                yield one

    def _taken(self, root: int, others: list[int]) -> int:
        """How many lines of a class one seam takes: all, but of the two like edges of a strip no more than its mates have copies."""
        own = len(self.members[root])
        if root not in self.either_way or not others:
            return own
        mates = max(max(len(self.members[other]), self.copies(other) or 1) for other in others)
        return min(own, mates)

    def _often(self, uses: Sequence[Use], count: Counter[int]) -> int | None:
        """How many drawn lines stand for all that a seam is sewn: a line that is cut twice stands for two. None where nobody says."""
        cut = [(self.copies(root), uses_of) for root, uses_of in count.items()]
        if any(copies is None for copies, _ in cut):
            return None
        words = [self.part(use.line).words for use in uses]
        each = min((one.copies or 1) * (2 if one.on_fold else 1) for one in words)
        return max(min((copies or 1) // uses_of for copies, uses_of in cut) // each, 1)

    def _placed(self, use: Use) -> list[Use]:
        """A use on each line of its class, those of its own hand in front."""
        root, hand = self.group[use.line]
        placed = [self.like(use, k, flipped=self.group[k][1] ^ hand) for k in self.members[root]]
        return sorted(placed, key=lambda one: (self.group[one.line][1] ^ hand, one.line))

    def like(self, use: Use, line: int, *, flipped: bool) -> Use:
        """The same stretch of a like line."""
        if not flipped:
            return Use(line, use.backwards, use.low, use.high)
        last = len(self.lines[line].marks) - 1
        high = last if use.high == -1 else use.high
        low, high = last - high, last - use.low
        return Use(line, not use.backwards, low, -1 if high == last else high)

    def standing(self, use: Use) -> Use:
        """A use on the line that stands for its class; of a line that is its own mirror image the same whichever way it is walked."""
        root, hand = self.group[use.line]
        one = self.like(use, root, flipped=hand)
        return min(one, self.like(one, root, flipped=True)) if root in self.either_way else one

    def _twin(self, side: tuple[Use, ...]) -> Iterator[Seam]:
        """An edge and its like: the left and the right one where both are drawn, else itself."""
        placed = self._placed(side[0])
        if len(placed) == 1:
            yield side, side
        for one, other in zip(placed[::2], placed[1::2], strict=False):
            yield (one,), (other,)


def _interchangeable(a: Part, b: Part) -> bool:
    """Whether it makes no difference which of two like pieces is taken: the words do not tell them apart."""
    if a.index == b.index:
        return True
    hands = {"left", "right"}
    return (
        a.words.kind == b.words.kind
        and a.words.qualities - hands == b.words.qualities - hands
        and (a.words.silent or Counter(a.words.own - hands) == Counter(b.words.own - hands))
    )
