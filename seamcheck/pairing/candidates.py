"""Possible seams: every two sides that might be sewn together, with all that speaks for and against each.

pair    two lines, or a line and a stretch of another between two of its notches
twin    a line and the same line of the mirrored or next copy of its piece
row     lines one after the other, of one piece or of pieces that other seams join, against one side
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import TypeAlias

from seamcheck.pairing import evidence
from seamcheck.pairing.evidence import Term
from seamcheck.pairing.lines import Line, Part, Side, Use, atoms, correspondences, side_of
from seamcheck.pairing.names import layer_on, layered

PAIR_PRICE, PART_PRICE, TWIN_PRICE = 2.6, 3.0, 2.6  # points against a seam that nothing is known of
WITHIN_PRICE = 2.0  # points against a seam within one piece
STRETCH = 1.35  # lines that differ by more are compared only where names speak for them
RING_ON_RING = "a ring on a ring"
DOUBLE = 1.08  # an outer and an inner layer differ by no more
STRIP = 4.0  # a strip is at least this many times as long as wide
ENCLOSING = frozenset(["cuff", "collar", "stand"])  # folded over an edge, and sewn on along one side only
MOST_COPIES = 8  # copies of a piece that are told apart
ALTERED = 16.0  # mm: more is seldom taken or added at once
LAYER = MOST_COPIES  # stands for the place of a facing or lining, the next for that of an under collar
CASINGS = frozenset(["casing", "channel", "tunnel", "coulisse", "cordon", "tunnelzug", "jareta"])
RIB_CLOSES = 7.5  # points for the ends of ribbing, which runs round
GATHERED = frozenset(["frill", "cuff", "band", "strip", "yoke"])
HANDS = frozenset(
    [
        "left",
        "right",
        "links",
        "rechts",
        "gauche",
        "droite",
        "izquierda",
        "derecha",
        "sinistra",
        "destra",
        "linker",
        "rechter",
    ]
)

Atom: TypeAlias = tuple[int, int, int]  # a line, a stretch of it, and the copy or layer of it that is taken
SeamSides: TypeAlias = tuple[tuple[Use, ...], tuple[Use, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A possible seam, or two that belong together, and the reasons.

    `leans_on` are seams that must be sewn too if this one is to make sense, as pairs of sides.
    """

    kind: str
    seams: tuple[SeamSides, ...]
    terms: tuple[Term, ...]
    atoms: frozenset[Atom]
    ratio: float | None = None
    leans_on: tuple[SeamSides, ...] = ()
    score: float = field(init=False)

    def __post_init__(self) -> None:
        """Add the terms up, once."""
        object.__setattr__(self, "score", sum(term.points for term in self.terms))

    @property
    def first(self) -> tuple[Use, ...]:
        """The first side of its first seam."""
        return self.seams[0][0]

    @property
    def second(self) -> tuple[Use, ...]:
        """The second side of its first seam."""
        return self.seams[0][1]

    @property
    def lines(self) -> frozenset[int]:
        """The lines it would use up, or parts of which."""
        return frozenset(line for line, _, _ in self.atoms)

    @property
    def order(self) -> tuple[object, ...]:
        """A fixed place among candidates of one score."""
        return (self.kind, self.seams)

    def with_terms(self, terms: Iterable[Term]) -> Candidate:
        """The same seam with more reasons."""
        return replace(self, terms=(*self.terms, *terms))


class Field:
    """The parts and lines of one size and what of them is alike."""

    def __init__(self, parts: Sequence[Part], lines: Sequence[Line]) -> None:
        """Look for copies and mirror images among the parts."""
        self.parts, self.lines = tuple(parts), tuple(lines)
        self.alike: set[frozenset[int]] = set()  # pieces that are one another's copy or mirror image
        self.copies: set[frozenset[int]] = set()  # lines that are equal because their pieces are
        self.group = {
            line.index: (line.index, False) for line in lines
        }  # its class, and whether it is mirrored in it
        self.either_way: set[int] = set()  # lines that are their own mirror image, with all of their piece
        self.sides: dict[tuple[Use, ...], Side] = {}
        self.inner = any(part.words.kind == "band" and "inner" in part.words.qualities for part in parts)
        self.lined = any(part.words.kind == "lining" for part in parts)
        self.framed = any(part.words.kind in ("gusset", "strip") for part in parts)  # it may lie between two copies
        self._find_copies()

    def part(self, line: Line | int) -> Part:
        """The part a line belongs to."""
        return self.parts[(self.lines[line] if isinstance(line, int) else line).piece]

    def beside(self, line: int) -> tuple[int, int]:
        """The lines before and after a line on its piece, clockwise."""
        own = self.part(line).lines
        at = own.index(line)
        return own[at - 1], own[(at + 1) % len(own)]

    def _find_copies(self) -> None:
        for a in self.parts:
            mine = [self.lines[k] for k in a.lines]
            for b in self.parts[a.index :]:
                theirs = [self.lines[k] for k in b.lines]
                for flipped in (False, True):
                    for match in correspondences(mine, theirs, flipped=flipped, notched=False, but=_leeway(a, b)):
                        self.copies.update(frozenset(pair) for pair in match.items() if pair[0] != pair[1])
                        if a.index != b.index:
                            self.alike.add(frozenset((a.index, b.index)))
                    for match in correspondences(mine, theirs, flipped=flipped, notched=True):
                        if _interchangeable(a, b):
                            for i, j in match.items():
                                self._class(i, j, flipped)
                                if i == j and flipped:
                                    self.either_way.add(i)

        for part in self.parts:  # opposite sides of a four-sided piece are as long as each other by its shape
            if len(part.lines) == 4:
                one, two, three, four = part.lines
                for i, j in ((one, three), (two, four)):
                    if abs(self.lines[i].length - self.lines[j].length) < 2.0:
                        self.copies.add(frozenset((i, j)))

    def _class(self, i: int, j: int, flipped: bool) -> None:
        (root, hand), (other, turned) = self.group[i], self.group[j]
        if root == other:
            if hand ^ turned ^ flipped:  # it is also its own mirror image
                self.either_way.update(k for k, (name, _) in self.group.items() if name == root)
            return
        low, high = min(root, other), max(root, other)
        turn = hand ^ turned ^ flipped
        for k, (name, way) in self.group.items():
            if name == high:
                self.group[k] = (low, way ^ turn)

    def seam_key(self, seam: SeamSides) -> tuple[object, ...]:
        """The same for seams that differ only by which of several like lines they take."""
        turned = tuple(tuple(use.turned() for use in reversed(side)) for side in seam)
        ways = (seam, seam[::-1], turned, turned[::-1])
        return min(tuple(tuple(self._use_key(use) for use in side) for side in way) for way in ways)

    def _use_key(self, use: Use) -> tuple[int, int, int, bool]:
        root, hand = self.group[use.line]
        low, high = use.low, use.high
        if hand and not use.whole:  # on the mirror image the marks count from the other end
            last = len(self.lines[use.line].marks) - 1
            low, high = last - (last if high == -1 else high), last - low
            high = -1 if high == last else high
        return root, low, high, use.line not in self.either_way and use.backwards ^ hand

    def slack(self, *uses: Use) -> float:
        """How exactly two lengths must agree to be called equal, in mm."""
        return evidence.SLACK + sum(self.lines[use.line].rough for use in uses)

    def _rings(self, row: tuple[Use, ...], target: Use) -> tuple[SeamSides, ...]:
        """The seam that must close a strip which is sewn on round a closed line."""
        for ring, strip in ((row, target), (target, row[0])):
            if isinstance(ring, Use):
                ring = (ring,)
            if (
                len(ring) == 1
                and self.lines[ring[0].line].closed
                and strip.whole
                and not self.lines[strip.line].closed
            ):
                before, after = self.beside(strip.line)
                if before != after:
                    low, high = sorted((before, after))
                    return (((Use(low),), (Use(high, True),)),)
        return ()

    def cuts(self, use: Use) -> int:
        """How many of its ends lie at notches."""
        return (use.low != 0) + (use.high != -1)

    def rivals(self, *uses: Use) -> int:
        """How many other lines, unlike these, are as long as one whole line."""
        mine = {self.group[use.line][0] for use in uses}
        length = self.side((uses[0],)).length
        return len(
            {
                self.group[line.index][0]
                for line in self.lines
                if self.group[line.index][0] not in mine
                and not line.fold
                and abs(line.length - length) <= self.slack(uses[0], Use(line.index))
            }
        )

    def contested(self, use: Use, *others: Use) -> list[int]:
        """The lines of other pieces that fit a stretch of this one between its notches, so that it may be sewn in parts."""
        line = self.lines[use.line]
        pieces = {self.lines[one.line].piece for one in (use, *others)}
        last = len(line.marks) - 1
        stretches = [
            line.marks[high] - line.marks[low]
            for low, high in combinations(range(last + 1), 2)
            if (low, high) != (0, last)
        ]
        return [
            other.index
            for other in self.lines
            if other.piece not in pieces
            and not other.fold
            and any(abs(other.length - length) <= self.slack(use) for length in stretches)
        ]

    def doubled(self, line: int) -> bool:
        """Whether another line of the same piece is as long, so that the length alone does not tell which is meant."""
        return any(
            line in pair and all(self.lines[k].piece == self.lines[line].piece for k in pair) for pair in self.copies
        )

    def marked_opposite(self, line: int) -> int | None:
        """The edge opposite one without notches on a four-sided piece, if it has some: it is the one that is sewn."""
        own = self.part(line).lines
        if len(own) != 4 or self.lines[line].notches:
            return None
        opposite = own[(own.index(line) + 2) % 4]
        return opposite if self.lines[opposite].notches else None

    def opposite(self, line: int) -> bool:
        """Whether another line of the same piece is as long by the shape of the piece, and not its mirror image."""
        return any(
            line in pair
            and all(self.lines[k].piece == self.lines[line].piece for k in pair)
            and len({self.group[k][0] for k in pair}) > 1
            for pair in self.copies
        )

    def nearly_alike(self, line: int) -> list[int]:
        """The other lines of the same piece that differ by no more than one alteration takes, and are not its mirror image."""
        return [
            k
            for k in self.part(line).lines
            if k != line
            and self.group[k][0] != self.group[line][0]
            and not self.lines[k].fold
            and abs(self.lines[k].length - self.lines[line].length) <= ALTERED
        ]

    def is_copy(self, a: Use, b: Use) -> bool:
        """Whether two lines are equal because their pieces are."""
        return a.whole and b.whole and frozenset((a.line, b.line)) in self.copies

    # Pairs

    def pairs(self) -> Iterator[Candidate]:
        """Every two lines that might be a seam, each in the ways they may be walked."""
        for i, line in enumerate(self.lines):
            if line.fold:
                continue
            for other in self.lines[i + 1 :]:
                if not other.fold:
                    yield from self.pair(Use(line.index), Use(other.index))
        yield from self._parts_of_lines()

    def _parts_of_lines(self) -> Iterator[Candidate]:
        """A whole line against a stretch of another between two notches, or a notch and an end."""
        for line in self.lines:
            marks = line.marks
            if line.fold or len(marks) < 3:
                continue
            for low, high in combinations(range(len(marks)), 2):
                if low == 0 and high == len(marks) - 1:
                    continue
                length = marks[high] - marks[low]
                stretch = Use(line.index, False, low, -1 if high == len(marks) - 1 else high)
                for other in self.lines:
                    if other.fold or other.piece == line.piece:
                        continue
                    if abs(other.length - length) <= self.slack(stretch, Use(other.index)):
                        yield from self.pair(Use(other.index), stretch)

    def pair(self, a: Use, b: Use) -> Iterator[Candidate]:
        """Two lines, or stretches of them, in the ways they may be walked."""
        line, other = self.lines[a.line], self.lines[b.line]
        first, second = self.part(line), self.part(other)
        within = line.piece == other.piece
        mine, theirs = self.side((a,)), self.side((b,))
        ratio = max(mine.length, theirs.length) / min(mine.length, theirs.length)
        base = [Term(-PAIR_PRICE - 0.5 * math.log(max(len(self.lines), 8) / 8.0))]
        copy = self.is_copy(a, b)
        double = layered(first.words, second.words)
        if double and ratio > DOUBLE:
            return  # two layers of one thing are as large as each other
        swapped = False
        found = None
        if ratio > 1.04 and not within and a.whole and b.whole:
            found = self.fullness(mine, theirs)
            if found is None:
                found, swapped = self.fullness(theirs, mine), True
        fullness: float | None = None
        if found is not None and (ratio > STRETCH or len(found[0]) > 1 or found[0][0].points > -0.5):
            base += found[0]
            fullness = 1.0 / found[1] if swapped else found[1]
        elif ratio > STRETCH:
            return
        elif copy:
            explained = "the two halves of a symmetric piece" if within else "copies of one piece"
            worth = 0.4 if within or self.hands(first, second) else 0.8 if first.words.silent else 1.8
            base += evidence.length_terms(
                mine.length, theirs.length, slack=self.slack(a, b), explained=explained, worth=worth
            )
        else:
            base += evidence.length_terms(mine.length, theirs.length, slack=self.slack(a, b))
        base += [Term(-PART_PRICE * self.cuts(use)) for use in (a, b) if not use.whole]
        boxed = within and b.line in self.beside(a.line)  # round a notched-out corner all else is different
        if not boxed:
            base += evidence.grain_terms(line, other, first.words.kind, second.words.kind)
        if within:
            base += self._within(line, other)
        else:
            base += evidence.across_terms(first, second, line, other) + evidence.hollow_terms(
                first, second, line, other
            )
            base += evidence.level_terms(first, second, line, other)
            base += evidence.name_terms(first, second, copy=copy) + self._faced(first, second)
            if not copy and frozenset((first.index, second.index)) in self.alike and first.words.kind != "gore":
                base.append(Term(-4.0, "pieces that are alike are sewn like to like"))
        if sum(term.points for term in base) < -4.0:
            return
        for backwards in (True, False):
            turned = Use(b.line, backwards, b.low, b.high)
            theirs = self.side((turned,))
            worth = 1.0 if not copy else 0.2 if within or self.framed else 0.6
            terms = [*base, *evidence.notch_terms(mine, theirs, worth, ratio=fullness)]
            solid = bool((first.words.own | second.words.own) & evidence.BAGS)
            double = layered(first.words, second.words)
            cap = {first.words.kind, second.words.kind} == {"sleeve", "body"}  # its ends meet at any angle
            terms += [] if boxed or double else evidence.angle_terms(mine, theirs, solid=solid or cap)
            rings = self._rings((a,), turned)
            if rings:
                terms.append(Term(2.0, "a strip runs round a closed edge", "shape"))
            if not within or not copy:
                terms += evidence.rise_terms(line, other, backwards)
            terms += [] if rings else evidence.shape_terms(mine, theirs, copy=copy)
            terms += self._turn(first, second, backwards, within)
            terms += [] if within else self.centres((a,), (turned,))
            one = self.candidate(
                "pair", [((a,), (turned,))], terms, ratio=fullness, leans_on=self._rings((a,), turned)
            )
            yield from [one] if within else self.shared(one)

    def hands(self, first: Part, second: Part) -> bool:
        """Whether two pieces may be the left and the right of one: their words tell them apart by no more."""
        apart = first.words.own ^ second.words.own
        return bool(first.words.own) and all(word in HANDS for word in apart)

    def fullness(self, first: Side, second: Side) -> tuple[list[Term], float] | None:
        """Whether the first side may be gathered or stretched on to the second."""
        kinds = [{self.part(use.line).words.kind for use in side.uses} for side in (first, second)]
        gathered = kinds[0] == {"frill"} or kinds[1] <= {"cuff", "yoke", "band"}
        found = evidence.fullness_terms(
            first.length, second.length, gathered=gathered, stretched=kinds[0] <= {"band", "cuff", "strip"}
        )
        stretched = None if found is None else first if found[1] < 1.0 else second
        if (
            found is not None
            and stretched is not None
            and all(self.part(use.line).words.ribbed for use in stretched.uses)
        ):
            return [*found[0], Term(1.6, "ribbing is stretched on", "names")], found[1]
        return found

    def candidate(
        self,
        kind: str,
        seams: Sequence[SeamSides],
        terms: Iterable[Term],
        *,
        ratio: float | None = None,
        leans_on: Iterable[SeamSides] = (),
    ) -> Candidate:
        """A candidate with the stretches it uses up, of every copy of them."""
        taken = frozenset(
            (*atom, copy)
            for sides in seams
            for side in sides
            for use in side
            for atom in atoms(use, self.lines[use.line])
            for copy in range(self.copies_of(self.part(use.line)))
        )
        return Candidate(
            kind=kind, seams=tuple(seams), terms=tuple(terms), atoms=taken, ratio=ratio, leans_on=tuple(leans_on)
        )

    def copies_of(self, part: Part) -> int:
        """How many seams of its own each line of a piece may have: one for every copy, and for both halves on a fold."""
        words = part.words
        if words.copies is None or words.kind in ENCLOSING:
            return 2 if words.on_fold and words.kind in ENCLOSING else 1
        return min(words.copies * (2 if words.on_fold else 1), MOST_COPIES)

    def shared(self, one: Candidate) -> Iterator[Candidate]:
        """A seam of a piece that is cut more often than its mate, with each of the copies that it may take; or on a layer of its own.

        A side panel that is cut twice is sewn to the front and to the back; a neck edge to its collar and to its facing.
        """
        (a,), (b,) = one.seams[0]
        parts = [self.part(use.line) for use in (a, b)]
        cut = [self.copies_of(part) for part in parts]
        free = [range(copies) for copies in cut]
        few = min(cut)
        options = [(free[0], free[1])]
        for mine, theirs in ((0, 1), (1, 0)):
            layer = layer_on(parts[theirs].words, parts[mine].words)
            if layer is not None:
                on = range(LAYER + layer, LAYER + layer + 1)
                options = [(on, free[1]) if mine == 0 else (free[0], on)]
                break
            if cut[mine] > few and cut[mine] % few == 0 and parts[theirs].words.kind not in ENCLOSING:
                starts = range(0, cut[mine], few)
                options = [
                    (range(k, k + few), free[1]) if mine == 0 else (free[0], range(k, k + few)) for k in starts
                ]
        for option in options:
            taken = frozenset(
                (*atom, copy)
                for use, copies in zip((a, b), option, strict=True)
                for atom in atoms(use, self.lines[use.line])
                for copy in copies
            )
            yield replace(one, atoms=taken)

    def layered(self, row: Candidate) -> Candidate:
        """A row to a side that lies as a layer of its own on all its pieces: it leaves them free for what else they are sewn to."""
        (target,) = row.second
        words = self.part(target.line).words
        layers = {layer_on(words, self.part(use.line).words) for use in row.first}
        layer = layers.pop()
        if layers or layer is None:
            return row
        taken = frozenset(
            (line, mark, copy if line == target.line else LAYER + layer) for line, mark, copy in row.atoms
        )
        return replace(row, atoms=taken)

    def side(self, uses: tuple[Use, ...]) -> Side:
        """What can be measured of lines walked one after the other."""
        if uses not in self.sides:
            self.sides[uses] = side_of(uses, self.lines)
        return self.sides[uses]

    def _faced(self, first: Part, second: Part) -> list[Term]:
        """A facing that is cut like another piece belongs to that piece and to no other; an inner band to the lining."""
        kinds = {first.words.kind, second.words.kind}
        inner = any("inner" in part.words.qualities for part in (first, second))
        if self.lined and (
            (kinds == {"body", "band"} and inner) or (kinds == {"lining", "band"} and not inner and self.inner)
        ):
            return [Term(-3.0, "a lining is sewn to the inner band", "names")]
        for facing, other in ((first, second), (second, first)):
            if facing.words.kind == "facing" and other.words.kind != "facing":
                own = self._model(facing)
                if own is not None and own != other.index:
                    return [Term(-2.0, f"the facing is cut like {self.parts[own].name}", "names")]
        return []

    def _model(self, facing: Part) -> int | None:
        """The piece that a facing is a copy of."""
        for pair in sorted(sorted(pair) for pair in self.copies if pair & set(facing.lines)):
            for line in pair:
                part = self.part(line)
                if part.words.kind != "facing":
                    return part.index
        return None

    def _within(self, a: Line, b: Line) -> list[Term]:
        """Two lines of one piece: a sleeve or a strip that closes to a ring, a leg without outseam, copies in a row."""
        part = self.part(a)
        kind = part.words.kind
        price = Term(-WITHIN_PRICE)
        if b.index in self.beside(a.index):
            shared = a.end if a.end == b.start else a.start
            angle = a.angles[1] if a.end == b.start else a.angles[0]
            if 200.0 < angle < 300.0 and abs(a.length - b.length) < 1.0:
                return [Term(4.0, f"they meet at {shared} like the two sides of a notched-out corner", "shape")]
            if (
                part.words.copies is not None
                and part.words.copies > 2
                and frozenset((a.index, b.index)) in self.copies
            ):
                return [price, Term(3.0, f"it is cut {part.words.copies} times, to be joined in a round", "names")]
            return [price, Term(-2.5)]
        mirrored = frozenset((a.index, b.index)) in self.copies
        shorter = a.length <= min(self.lines[k].length for k in part.lines) + 1.0
        ringed = {
            "sleeve": 4.5,
            "cuff": 4.0,
            "gore": 4.0,
            "crown": 3.5,
            "gusset": 1.0,
            "band": 3.0,
            "strip": 3.5,
        }.get(kind, 0.0)
        long_edges = len(part.lines) == 4 and not self.short_ends(a, b)
        if ((mirrored and not shorter) or long_edges) and kind in ("cuff", "gusset", "panel", "band", "strip"):
            ringed = 0.0
        if part.words.ribbed and self.short_ends(a, b):
            ringed = RIB_CLOSES
        if part.words.own & CASINGS:
            ringed = 0.0  # its ends mostly stay open for the cord
        terms = [price]
        if ringed:
            terms.append(Term(ringed, f"a {kind} closes to a ring or meets its like", "names"))
        if self.slender(a) and self.slender(b):
            terms.append(Term(1.0, "the ends of a strip", "shape"))
        elif mirrored and not ringed:
            terms.append(Term(-2.0))
        if (part.words.copies or 1) > 2 and (mirrored or abs(a.length - b.length) < evidence.EASE * a.length):
            terms.append(Term(2.0, f"it is cut {part.words.copies} times", "names"))
        return terms

    def short_ends(self, a: Line, b: Line) -> bool:
        """Whether two lines are the shorter pair of a four-sided piece."""
        own = self.part(a).lines
        return len(own) == 4 and max(a.length, b.length) <= min(self.lines[k].length for k in own) + 1.0

    def slender(self, line: Line) -> bool:
        """Whether a line is the short end of a strip."""
        own = [self.lines[k].length for k in self.part(line).lines]
        return len(own) == 4 and max(own) > STRIP * line.length

    def _turn(self, first: Part, second: Part, backwards: bool, within: bool) -> list[Term]:
        if within:
            return [] if backwards else [Term(-1.5)]
        if first.twin or second.twin or first.mirror or second.mirror or first.words.on_fold or second.words.on_fold:
            return []
        return [Term(0.5)] if backwards else [Term(-0.5)]

    def centres(self, first: Sequence[Use], second: Sequence[Use]) -> list[Term]:
        """Where two sides that end at a fold are sewn together, fold meets fold."""
        ends = [[self._at_fold(side[-1 if last else 0], last) for last in (False, True)] for side in (first, second)]
        if not (any(ends[0]) and any(ends[1])) or all(ends[0]) or all(ends[1]):
            return []
        if ends[0] != ends[1]:
            return [Term(-2.5, "a fold would meet no fold", "joins")]
        kinds = {self.part(use.line).words.kind for use in (*first, *second)}
        if kinds <= {"body", "gore", ""}:  # hems, waists and necks
            points = -2.5 if kinds == {"body"} else -1.0
            return [Term(points, "both are cut on the fold there, as hems and necks are", "joins")]
        return [Term(0.8, "the folds meet", "joins")]

    def _at_fold(self, use: Use, last: bool) -> bool:
        """Whether a use starts, or ends if `last`, at a fold of its piece."""
        at_end = last != use.backwards
        if (at_end and use.high != -1) or (not at_end and use.low != 0):
            return False
        before, after = self.beside(use.line)
        return self.lines[after if at_end else before].fold


def _leeway(a: Part, b: Part) -> int:
    """How many edges of a copy may differ: those that meet at one altered corner, on pieces that are cut whole."""
    whole = all((part.words.copies or 1) == 1 and not part.words.on_fold and not part.words.paired for part in (a, b))
    return 2 if whole and a.index != b.index else 0


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
