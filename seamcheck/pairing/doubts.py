"""Why a seam of the best set is asked about and not walked and judged: each way in which it could be sure and wrong."""

from __future__ import annotations

from collections.abc import Sequence

from seamcheck.pairing import evidence
from seamcheck.pairing.candidates import Field, SeamSides
from seamcheck.pairing.evidence import TRUE, kinds_for
from seamcheck.pairing.junctions import CLOSES_FLAT, CORNERS_MEET, THEY_CLOSE, THEY_MEET
from seamcheck.pairing.lines import Use, side_of
from seamcheck.pairing.names import layered
from seamcheck.pairing.solve import Found

SURE = 3.5  # points a seam must have to be walked and judged without asking, and how far it must lead if one,
SURE_ALONE = 6.0  # of a pair for which lengths alone speak, and the way pieces lie on the sheet
SURE_ROW = 5.0  # of a row for which neither names nor notches speak
FIRM, FIRM_LEAD = 4.5, 2.0  # points of a seam that tells which corners meet, and how far it must lead
NAMED = 2.0  # points that words must bring for an edge that is sewn to itself
LEADS = (2.6, 2.0)  # two and more kinds of evidence speak for it
AMBIGUOUS_LEAD = 2.6
RINGED = 3.0  # points of joins: pieces in a row that close to a ring
PLAINLY = 2.5  # points by which all but the length must speak more for one edge than for the next of about its length
ALONG = 10.0  # degrees: what runs along the grain
MEASURE_ALONE = frozenset(["length", "way up", "grain"])  # tell little by themselves


BINDINGS = frozenset(
    [
        "binding",
        "piping",
        "einfassung",
        "schragband",
        "paspel",
        "biais",
        "passepoil",
        "ribete",
        "vivo",
        "sbieco",
        "profilo",
        "bies",
    ]
)


class Doubts:
    """The best set of seams, and what may be wrong with each of them."""

    def __init__(self, field: Field, found: Sequence[Found]) -> None:
        """Note which lines firm seams take."""
        self.field, self.found = field, tuple(found)
        self.firmly: dict[int, list[Found]] = {}
        for one in self.found:
            if one.candidate.kind != "crotch" and one.score >= FIRM and one.margin >= FIRM_LEAD:
                for line in one.candidate.lines:
                    self.firmly.setdefault(line, []).append(one)

    def firm(self) -> list[Found]:
        """The seams that may tell which corners meet."""
        strong = [one for ones in self.firmly.values() for one in ones]
        return [
            one
            for one in self.found
            if any(one is other for other in strong) or not any(self.of(one, sides) for sides in one.candidate.seams)
        ]

    def of(self, found: Found, sides: SeamSides) -> str:
        """Why a seam is not walked and judged without asking; "" where it is sure."""
        field = self.field
        terms = found.candidate.terms
        kinds = kinds_for(terms)
        twin = sides[0] == sides[1]
        named = sum(term.points for term in terms if term.kind == "names")
        met = sum(term.points for term in terms if term.words in (THEY_MEET, THEY_CLOSE))
        if sum(term.points for term in terms if term.kind == "notches") < 0.0:
            return "some notches have no mate"
        if not kinds:
            return "nothing speaks for it clearly"
        if found.candidate.ratio is None and self._unequal(sides, kinds):
            return "its sides differ in length, and too little else speaks for it"
        notched = [term.points for term in terms if term.kind == "notches"]
        if any(field.lines[use.line].closed for side in sides for use in side) and (
            len(notched) < 2 or min(notched) < 0.0 or max(map(len, sides)) > 1
        ):
            return "where the walk begins on a closed edge is not known"
        if (
            not twin
            and not notched
            and met < CLOSES_FLAT
            and any(len(side) == 1 and self._marked_opposite(found, side[0].line) for side in sides)
        ):
            return "the notches are on the opposite edge"
        lead, least = LEADS[min(len(kinds), 2) - 1], SURE
        told = kinds & {"names", "notches", "hint"}
        joined = sum(term.points for term in terms if term.kind == "joins") >= RINGED
        if found.candidate.kind == "row" and not told and not joined:
            lead, least = LEADS[1], SURE_ROW  # of many rows one is as long by chance
        if (
            min(map(len, sides)) > 1
            and not notched
            and all(field.nearly_alike(use.line) for side in sides for use in side)
        ):
            return "which of two edges of nearly one length is meant only notches tell"
        a, b = sides[0][0], sides[1][0]
        if len(sides[0]) == len(sides[1]) == 1 and not twin:
            if self._contested(found, a, b) or self._contested(found, b, a):
                return "another piece fits a stretch between its notches"
            if not notched and (self._may_be_fold(a.line) or self._may_be_fold(b.line)):
                return "it may be the fold, which is not marked"
            boxed = field.lines[a.line].piece == field.lines[b.line].piece and b.line in field.beside(a.line)
            if not told and not boxed and field.rivals(a, b):
                return "a third edge is as long"
            apart = field.lines[a.line].piece != field.lines[b.line].piece
            kind = [field.part(use.line).words.kind for use in (a, b)]
            if not kinds & {"notches", "hint"} and kind.count("lining") == 1:
                return "a lining is as large as what it lines, and mostly hangs free of it"
            if apart and not kinds & {"notches", "hint"} and met < 2.0 * CORNERS_MEET:
                mistaken = (
                    self._mistaken(found, a, b) or self._mistaken(found, b, a)
                    if told or met >= CORNERS_MEET
                    else field.doubled(a.line) or field.doubled(b.line)
                )
                if mistaken:
                    return "which of two edges of nearly one length is meant only notches tell"
                if field.is_copy(a, b) and not layered(field.part(a.line).words, field.part(b.line).words):
                    return "its sides are equal because their pieces are, and no notch tells whether another lies between"
            if kinds <= MEASURE_ALONE:
                least = SURE_ALONE
            if field.opposite(a.line) or field.opposite(b.line):
                lead = max(lead, AMBIGUOUS_LEAD)  # which of two like edges is meant must be plain
        if found.candidate.kind == "crotch":
            lines = [use.line for first, _ in found.candidate.seams for use in first]
            apart = len({field.lines[line].piece for line in lines}) > 1
            if (
                apart
                and field.lines[a.line].length < max(field.lines[line].length for line in lines)
                and not self._no_fly()
            ):
                return "a front may be open for a fly"
        elif twin and named < NAMED and met < CLOSES_FLAT:
            return "only its notches and its quantity speak for it"
        if named < NAMED and found.candidate.kind == "crotch":
            return "no words tell that the pieces are trousers"
        ring = a.line == b.line or field.lines[a.line].piece == field.lines[b.line].piece
        words = field.part(a.line).words
        if ring and not notched and words.kind in ("band", "strip") and not words.own & BINDINGS:
            return "it may stay open there"
        if found.score < least:
            return "too little speaks for it"
        return "another reading is nearly as likely" if found.margin < lead else ""

    def _unequal(self, sides: SeamSides, kinds: frozenset[str]) -> bool:
        """Whether the sides differ in length and little else speaks for them.

        An altered seam is known by all else; a row round the corners of one piece by its length alone.
        """
        lines = self.field.lines
        lengths = [side_of(side, lines).length for side in sides]
        if abs(lengths[0] - lengths[1]) <= TRUE:
            return False
        rounded = any(len(side) > 1 and len({lines[use.line].piece for use in side}) == 1 for side in sides)
        others = kinds - MEASURE_ALONE
        return rounded or len(others) < 2 or not others & {"names", "notches"}

    def _elsewhere(self, line: int, found: Found) -> bool:
        """Whether another firm seam takes a line."""
        return any(one is not found for one in self.firmly.get(line, ()))

    def _marked_opposite(self, found: Found, line: int) -> bool:
        """Whether only the opposite edge has notches, and they have no mates elsewhere."""
        opposite = self.field.marked_opposite(line)
        return opposite is not None and not self._elsewhere(opposite, found)

    def _contested(self, found: Found, use: Use, *others: Use) -> bool:
        """Whether a free line of another piece fits a stretch of this one between its notches."""
        return any(not self._elsewhere(line, found) for line in self.field.contested(use, *others))

    def _mistaken(self, found: Found, use: Use, mate: Use) -> bool:
        """Whether another free line of the piece would be as likely for the mate, were it not for its length.

        If the true one was altered, the other may be the one that is as long as the mate.
        """
        field = self.field
        lengths = [field.side((one,)).length for one in (use, mate)]
        if abs(lengths[0] - lengths[1]) <= field.slack(use, mate) and not evidence.by_rule(lengths[0]):
            return False  # another would be as long as this by the rarest chance
        own = sum(term.points for term in found.candidate.terms if term.kind != "length")
        for other in field.nearly_alike(use.line):
            if self._elsewhere(other, found):
                continue
            for one in field.pair(Use(other), Use(mate.line)):
                if sum(term.points for term in one.terms if term.kind != "length") > own - PLAINLY:
                    return True
        return False

    def _may_be_fold(self, line: int) -> bool:
        """Whether a straight edge may be the one that its piece is folded along, where words tell of a fold and nothing shows it."""
        part = self.field.part(line)
        lines = self.field.lines
        along = (lines[line].slant or 0.0) < ALONG
        return part.words.on_fold and along and lines[line].straight and not any(lines[k].fold for k in part.lines)

    def _no_fly(self) -> bool:
        """Whether words tell what every piece is, and none is a fly's."""
        return all(part.words.kind not in ("", "placket") for part in self.field.parts)
