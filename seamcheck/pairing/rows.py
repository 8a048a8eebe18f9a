"""Lines that come to lie one after the other: round a corner of one piece, or across a seam that joins two.

link    from an end of a line to the line that runs on from there, with the seam that it leans on
row     lines joined by links, as one side of a seam: front and back waist under a band, panels round a crown
"""

from __future__ import annotations

import math
from collections import Counter, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, islice, pairwise

from seamcheck.exact import least
from seamcheck.pairing import evidence
from seamcheck.pairing.candidates import GATHERED, PART_PRICE, RING_ON_RING, Candidate, Field, SeamSides
from seamcheck.pairing.evidence import Term
from seamcheck.pairing.lines import Use

LEAST_SUPPORT = -1.5  # points of a seam that a link may lean on
BRANCHES = 4  # links that are followed from one end
LONGEST = 5  # lines in a row, if no copies repeat
MOST_COPIES = 12  # copies of one line in a row
MOST_ROWS = 6000  # rows that are looked at in all
KEPT = 12  # rows that are kept for one target
ROW_PRICE = 1.8  # points against a row, and more the more rows of as many lines there are


@dataclass(frozen=True, slots=True)
class Link:
    """Where a line runs on: the next line as it is walked, how well, in points, and the seam it leans on."""

    following: Use
    points: float
    support: SeamSides | None
    smooth: bool


@dataclass(frozen=True, slots=True)
class Row:
    """Lines one after the other, the points of their links and the seams these lean on."""

    uses: tuple[Use, ...]
    length: float
    points: float
    supports: tuple[SeamSides, ...]


class Rows:
    """All rows that the likely seams make possible."""

    def __init__(self, field: Field, simple: Iterable[Candidate]) -> None:
        """Link the lines of a field by pairs and twins."""
        self.field = field
        self.links: dict[tuple[int, bool], list[Link]] = {}
        supports: dict[int, list[tuple[float, Use, Use, SeamSides]]] = {}
        for one in simple:
            if one.score < LEAST_SUPPORT:
                continue
            for sides in one.seams:
                a, b = sides[0][0], sides[1][0]
                if len(sides[0]) > 1 or len(sides[1]) > 1 or not (a.whole and b.whole):
                    continue
                supports.setdefault(a.line, []).append((one.score, a, b, sides))
                if a.line != b.line:
                    supports.setdefault(b.line, []).append((one.score, b, a, sides))
        for line in field.lines:
            if line.fold or line.closed:
                continue
            for end in (False, True):
                self.links[line.index, end] = self._links(line.index, end, supports)
        self.tried: Counter[tuple[int, bool]] = Counter()  # rows of so many lines, with and without repeats
        self.longest = max((line.length for line in field.lines), default=0.0)

    def _links(
        self, index: int, end: bool, supports: dict[int, list[tuple[float, Use, Use, SeamSides]]]
    ) -> list[Link]:
        field = self.field
        line = field.lines[index]
        angle = line.angles[end]
        before, after = field.beside(index)
        neighbour = after if end else before
        if neighbour == index:
            return []
        at_corner = not end  # which end of the neighbour lies at this corner: its start behind our end
        if field.lines[neighbour].fold:
            return [_link(Use(index, backwards=end), 2.0 * angle, None, 0.0)]
        found = [_link(Use(neighbour, backwards=not end), angle, None, -0.4)]
        for score, own, mate, sides in supports.get(neighbour, ()):
            if own.line == mate.line:  # its own twin
                found.append(_link(Use(index, backwards=end), 2.0 * angle, sides, min(score, 3.0) / 6.0))
                continue
            walked_last = at_corner != own.backwards
            mate_end = walked_last != mate.backwards
            mate_line = field.lines[mate.line]
            previous, following = field.beside(mate.line)
            other = following if mate_end else previous
            if other == mate.line or field.lines[other].fold:
                continue
            found.append(
                _link(
                    Use(other, backwards=not mate_end),
                    angle + mate_line.angles[mate_end],
                    sides,
                    min(score, 6.0) / 6.0,
                )
            )
        found.sort(key=lambda link: (-round(link.points, 9), link.following, link.support or ()))
        return [*(link for link in found if link.support is None), *(link for link in found if link.support)][
            :BRANCHES
        ]

    def rows(self) -> list[Row]:
        """Every row of two lines or more, each in one direction of the two."""
        found: dict[tuple[Use, ...], Row] = {}
        each = MOST_ROWS // max(2 * len(self.field.lines), 1)
        for line in self.field.lines:
            if line.fold or line.closed:
                continue
            for backwards in (False, True):
                start = Row((Use(line.index, backwards),), line.length, 0.0, ())
                for row in islice(self._grown(start), each):
                    turned = tuple(use.turned() for use in reversed(row.uses))
                    if turned not in found and (row.uses not in found or found[row.uses].points < row.points):
                        found[row.uses] = row
        return [found[uses] for uses in sorted(found)]

    def _grown(self, start: Row) -> Iterator[Row]:
        """The rows that begin with one, the shortest first, so that a limit cuts off the longest."""
        waiting = deque([start])
        while waiting:
            row = waiting.popleft()
            last = row.uses[-1]
            used = [use.line for use in row.uses]
            repeats = len(set(used)) < len(used)
            if len(used) >= (MOST_COPIES if repeats else LONGEST):
                continue
            for link in self.links.get((last.line, not last.backwards), ()):
                following = link.following
                if used.count(following.line) >= self._copies(following.line) or (repeats and not link.smooth):
                    continue
                if following.line in used and self._copies(following.line) == MOST_COPIES and len(set(used)) > 1:
                    continue  # how many are cut is not known
                if following == row.uses[0] and following.line != last.line:
                    continue  # once round
                if len(used) > 3 and link.points < 0.0:
                    continue
                length = row.length + self.field.lines[following.line].length
                if length > 1.25 * self.longest:
                    continue
                supports = row.supports
                if link.support is not None and link.support not in supports:
                    supports = (*supports, link.support)
                grown = Row((*row.uses, following), length, row.points + link.points, supports)
                yield grown
                waiting.append(grown)

    def _copies(self, line: int) -> int:
        """How often a line may come in a row: as many copies as are cut, and both halves of what is cut on the fold."""
        part = self.field.part(line)
        words = part.words
        if words.copies is None:
            return MOST_COPIES if not words.on_fold and part.mirror else 1
        return max(words.copies, 2 if words.on_fold else 1)

    def candidates(self) -> Iterator[Candidate]:
        """Rows against every line or stretch of line that may be as long, and rows of two against each other."""
        rows = self.rows()
        field = self.field
        for row in rows:
            distinct = len({use.line for use in row.uses})
            self.tried[distinct, distinct < len(row.uses)] += 1
        targets: list[Use] = []
        for line in field.lines:
            if line.fold:
                continue
            targets.append(Use(line.index))
            marks = line.marks
            targets += [
                Use(line.index, False, low, -1 if high == len(marks) - 1 else high)
                for low, high in combinations(range(len(marks)), 2)
                if (low, high) != (0, len(marks) - 1) and len(marks) < 9
            ]
        for target in targets:
            found: list[Candidate] = []
            length = field.side((target,)).length
            part = field.part(target.line)
            kind, halved = part.words.kind, part.words.on_fold or any(field.lines[k].fold for k in part.lines)
            for row in rows:
                ratio = row.length / length
                near = 0.94 < ratio < 1.06 if target.whole else abs(row.length - length) < 0.6
                gathered = target.whole and kind in GATHERED and (0.3 < ratio < 1.55)
                if not near and not gathered:
                    continue
                pieces = {field.lines[use.line].piece for use in row.uses}
                if field.lines[target.line].piece in pieces:
                    continue
                if halved and len({use.line for use in row.uses}) < len(row.uses):
                    continue  # one half is sewn to one half
                found += self._against(row, target, near=near)
            found.sort(key=lambda one: (-round(one.score, 9), one.order))
            yield from found[:KEPT]
        yield from self._rows_on_rows([row for row in rows if len(row.uses) == 2 and row.supports])

    def _against(self, row: Row, target: Use, *, near: bool) -> Iterator[Candidate]:
        field = self.field
        first = field.side(row.uses)
        part = field.part(target.line)
        other = field.side((target,))
        terms = [self._price(row), Term(row.points, "", "joins")]
        ratio: float | None = None
        if near:
            terms += evidence.length_terms(first.length, other.length, slack=field.slack(*set(row.uses), target))
        else:
            fullness = field.fullness(first, other)
            if fullness is not None:
                ratio = fullness[1]
            else:
                fullness = field.fullness(other, first)
                if fullness is None:
                    return
                ratio = 1.0 / fullness[1]
            terms += fullness[0]
        if not target.whole:
            terms.append(Term(-PART_PRICE * field.cuts(target)))
        kin = [
            evidence.name_terms(field.parts[piece], part)
            for piece in dict.fromkeys(field.lines[use.line].piece for use in row.uses)
        ]
        told = [found[0] for found in kin if found]
        if told:
            worst = least(told, key=lambda term: term.points)
            terms.append(Term(sum(term.points for term in told) / len(kin), worst.words, "names"))
        for piece in dict.fromkeys(field.lines[use.line].piece for use in row.uses):
            mine = next(use for use in row.uses if field.lines[use.line].piece == piece)
            terms += evidence.level_terms(field.parts[piece], part, field.lines[mine.line], field.lines[target.line])[
                :1
            ]
        if part.words.kind == "band" and any(
            a.line != b.line and field.lines[a.line].piece == field.lines[b.line].piece for a, b in pairwise(row.uses)
        ):
            terms.append(Term(-2.0, "a band seldom runs round a corner", "shape"))
        if first.bend * other.bend < 0.0 and min(abs(first.bend), abs(other.bend)) > 20.0:
            terms.append(Term(0.8, "one side is hollow where the other is full", "shape"))
        supports = row.supports
        closing = self._closing(row.uses)
        if closing is not None and target.whole:
            line = field.lines[target.line]
            round_about = [] if line.closed else self._closing((target,))
            # A waistband often stays open for a fastening; what is stretched or gathered on does not.
            open_band = part.words.kind in ("band", "") and ratio is None and not line.closed
            if round_about is not None and not open_band:
                terms.append(Term(2.0, RING_ON_RING, "joins"))
                terms.append(Term(self._begins(closing), "", "joins"))
                supports = tuple(dict.fromkeys((*supports, *round_about)))
        cap = part.words.kind == "sleeve" and {field.part(use.line).words.kind for use in row.uses} == {"body"}
        for backwards in (False, True):
            turned = Use(target.line, backwards, target.low, target.high)
            theirs = field.side((turned,))
            own = [*terms, *evidence.notch_terms(first, theirs, ratio=ratio)]
            if closing is None:
                own += evidence.angle_terms(first, theirs, solid=cap) + field.centres(row.uses, (turned,))
            yield field.layered(field.candidate("row", [(row.uses, (turned,))], own, ratio=ratio, leans_on=supports))

    def _begins(self, closing: Sequence[SeamSides]) -> float:
        """The longer the seam at which a ring begins, the better: bindings and ribbing are closed at the side, not on the shoulder."""
        if not closing:
            return 0.0
        return self.field.side(closing[0][0]).length / self.longest

    def _price(self, row: Row) -> Term:
        distinct = len({use.line for use in row.uses})
        tried = self.tried[distinct, distinct < len(row.uses)]
        return Term(-ROW_PRICE - 0.7 * math.log(max(tried, 8)))

    def _closing(self, row: Sequence[Use]) -> list[SeamSides] | None:
        """The seams that close a row to a ring, at its ends or at folds there; None where it stays open."""
        last, first = row[-1], row[0]
        for link in self.links.get((last.line, not last.backwards), ()):
            if link.following == first and (link.support is not None or len(row) > 1):
                return [] if link.support is None else [link.support]
        ends = []
        for use, end in ((last, not last.backwards), (first, first.backwards)):
            back = next(
                (link for link in self.links.get((use.line, end), ()) if link.following.line == use.line
                 and link.following.backwards == end and link.smooth),
                None,
            )  # fmt: skip
            if back is None:
                return None
            ends += [] if back.support is None else [back.support]
        return ends

    def _rows_on_rows(self, rows: Sequence[Row]) -> Iterator[Candidate]:
        field = self.field
        rows = [row for row in rows if len({use.line for use in row.uses}) == len(row.uses)]
        for number, row in enumerate(rows):
            for other in rows[number + 1 :]:
                if abs(row.length - other.length) > 0.6 or {u.line for u in row.uses} & {u.line for u in other.uses}:
                    continue
                pieces = [{field.lines[use.line].piece for use in one.uses} for one in (row, other)]
                if pieces[0] & pieces[1]:
                    continue
                for uses in (other.uses, tuple(use.turned() for use in reversed(other.uses))):
                    first, second = field.side(row.uses), field.side(uses)
                    terms = [self._price(row), Term(-2.0), Term(row.points + other.points, "", "joins")]
                    terms += evidence.length_terms(first.length, second.length, slack=field.slack(*row.uses, *uses))
                    terms += evidence.notch_terms(first, second) + evidence.angle_terms(first, second)
                    if abs(first.joints[0] - second.joints[0]) > 0.6:
                        continue
                    terms.append(Term(2.0, "their pieces meet at one place", "joins"))
                    for a, b in zip(row.uses, uses, strict=True):
                        terms += evidence.across_terms(
                            field.part(a.line), field.part(b.line), field.lines[a.line], field.lines[b.line]
                        )
                    kin = [
                        evidence.name_terms(field.part(a.line), field.part(b.line))
                        for a, b in zip(row.uses, uses, strict=True)
                    ]
                    told = [found[0] for found in kin if found]
                    if told:
                        terms.append(Term(sum(term.points for term in told) / 2.0, told[0].words, "names"))
                    supports = tuple(dict.fromkeys((*row.supports, *other.supports)))
                    yield field.candidate("row", [(row.uses, uses)], terms, leans_on=supports)


def _link(following: Use, joint: float, support: SeamSides | None, worth: float) -> Link:
    off = abs(joint - 180.0)
    if support is None and worth < 0.0:  # round a corner of the piece itself
        return Link(following, worth if 45.0 < joint < 170.0 else worth - 1.0, None, False)
    points = 0.6 if off <= 1.5 else 0.3 if off <= 4.0 else -0.3 if off <= 15.0 else -1.2
    return Link(following, points + worth, support, off <= 15.0)
