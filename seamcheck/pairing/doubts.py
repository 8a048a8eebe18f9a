"""Why a seam of the best set is asked about and not walked and judged: each way in which it could be sure and wrong.

A seam is sure only if it has points enough, leads over every other reading by enough, and no trap holds for it: a
notch without a mate, ends of which only the way the pieces lie tells which meet, a ring without notches to begin
at, ends that may stay open where a garment fastens, two edges of one piece that one alteration could make alike and
no notch to tell them apart, copies that something may lie between, a third edge of the same length, a stretch
between notches that another piece fits, a closed edge without a place to begin, a front crotch that may have a fly.
`tests/benchmarks/bench_pairing.py` measures it on the corpus; the traps were completed with both halves of it in
sight, so new figures need new patterns.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from seamcheck.pairing import evidence
from seamcheck.pairing.candidates import RING_ON_RING, Field, SeamSides
from seamcheck.pairing.evidence import TRUE, kinds_for
from seamcheck.pairing.junctions import CLOSES_FLAT, CORNERS_MEET, THEY_CLOSE, THEY_MEET, THEY_RING
from seamcheck.pairing.lines import Part, Use, side_of
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
SAME_WAY = 0.9  # cosine between two grain arrows that were drawn the same way
RUNS_ON = 3.0  # degrees from a straight angle: no corner
HOLLOW = 30.0  # degrees that a neck turns, at least
ALONG = 10.0  # degrees: what runs along the grain
MEASURE_ALONE = frozenset(["length", "way", "way up", "grain"])  # tell little by themselves


WHICH_ENDS = "which ends meet is told only by how the pieces lie"
WHICH_START = "where the walk round the ring begins only notches tell"
LEFT_OPEN = frozenset(
    ["band", "strip", "collar", "stand", "cuff", "flap", "facing"]
)  # its ends meet where it fastens, or nowhere
FLIES = frozenset(
    ["fly", "underlap", "hosenschlitz", "schlitzbeleg", "untertritt", "braguette", "bragueta", "patta", "gulp"]
)
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

    def firm(self) -> list[tuple[Found, bool]]:
        """The seams that may tell which corners meet, and whether it is known which ends of each do."""
        strong = [one for ones in self.firmly.values() for one in ones]
        told = [(one, {self.of(one, sides) for sides in one.candidate.seams} - {""}) for one in self.found]
        return [
            (one, not doubts & {WHICH_ENDS, WHICH_START})
            for one, doubts in told
            if not doubts or any(one is other for other in strong)
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
        if not notched and any(
            len(side) == 1 < len(other) and self._parallel(side[0].line) for side, other in (sides, sides[::-1])
        ):
            return "which of two edges of nearly one length is meant only notches tell"
        a, b = sides[0][0], sides[1][0]
        if len(sides[0]) == len(sides[1]) == 1 and not twin:
            whole = named >= NAMED and met >= CLOSES_FLAT
            if not whole and (self._contested(found, a, b) or self._contested(found, b, a)):
                return "another piece fits a stretch between its notches"
            if not notched and (self._may_be_fold(a.line) or self._may_be_fold(b.line)):
                return "it may be the fold, which is not marked"
            boxed = field.lines[a.line].piece == field.lines[b.line].piece and b.line in field.beside(a.line)
            if not told and not boxed and field.rivals(a, b):
                return "a third edge is as long"
            apart = field.lines[a.line].piece != field.lines[b.line].piece
            words = [field.part(use.line).words for use in (a, b)]
            lined = [one.kind == "lining" for one in words]
            hung = any(one.kind == "facing" or "inner" in one.qualities for one in words)
            if not kinds & {"notches", "hint"} and lined.count(True) == 1 and not hung:
                return "a lining is as large as what it lines, and mostly hangs free of it"
            if apart and not kinds & {"notches", "hint"} and met < 2.0 * CORNERS_MEET:
                mistaken = (
                    self._mistaken(found, a, b) or self._mistaken(found, b, a)
                    if told or met >= CORNERS_MEET
                    else field.doubled(a.line) or field.doubled(b.line)
                )
                if mistaken:
                    return "which of two edges of nearly one length is meant only notches tell"
                if field.is_copy(a, b) and not layered(*words):
                    return "its sides are equal because their pieces are, and no notch tells whether another lies between"
            if self._either_way(found, a, b):
                return WHICH_ENDS
            if not notched and all(self._within_a_line(use.line) for use in (a, b)):
                return "between two stretches of one line it may be a slit or a pocket's mouth"
            if apart and not notched and all(self._centre(use.line) for use in (a, b)) and self._joined(found, a, b):
                return "both may be the centre of their piece"
            if self._neck(a, b):
                return "an upper collar may lie between a neck and its facing"
            ends = words[0].kind == "band" and field.short_ends(field.lines[a.line], field.lines[a.line])
            if layered(*words) and (ends or not self._attached(a, b)):
                return "where its two layers are sewn on is not known"
            if kinds <= MEASURE_ALONE:
                least = SURE_ALONE
            if layered(*words) or field.opposite(a.line) or field.opposite(b.line):
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
        elif twin and not notched and "front" in field.part(a.line).words.qualities:
            return "a front may be open where it fastens"
        elif twin and named < NAMED and met < CLOSES_FLAT:
            return "only its notches and its quantity speak for it"
        if named < NAMED and found.candidate.kind == "crotch":
            return "no words tell that the pieces are trousers"
        ring = a.line == b.line or field.lines[a.line].piece == field.lines[b.line].piece
        own = field.part(a.line).words
        if ring and not notched and own.kind in LEFT_OPEN and not own.ribbed and not own.own & BINDINGS:
            return "it may stay open there"
        if self._neck(*(use for side in sides for use in side)):
            return "an under collar may lie between the neck and the upper one"
        if not notched and any(term.words == RING_ON_RING for term in terms):
            return WHICH_START
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
        rounded = any(
            lines[one.line].piece == lines[next_.line].piece for side in sides for one, next_ in pairwise(side)
        )
        others = kinds - MEASURE_ALONE
        return rounded or len(others) < 2 or not others & {"names", "notches"}

    def _either_way(self, found: Found, a: Use, b: Use) -> bool:
        """Whether the seam could as well be walked the other way, but for the way up that its pieces lie."""
        lying = sum(term.points for term in found.candidate.terms if term.kind == "way up")
        if any(term.words == THEY_RING for term in found.candidate.terms):
            return False
        if lying <= 0.0 or {a.line, b.line} & self.field.either_way or self._one_way_up(found, a, b):
            return False
        own = sum(term.points for term in found.candidate.terms if term.kind != "way up")
        return any(
            one.second[0].backwards != b.backwards
            and sum(term.points for term in one.terms if term.kind != "way up") > own - LEADS[1]
            for one in self.field.pair(Use(a.line, False, a.low, a.high), Use(b.line, False, b.low, b.high))
        )

    def _one_way_up(self, found: Found, a: Use, b: Use) -> bool:
        """Whether two pieces are known to lie the same way up: their grain arrows were drawn alike, or another firm seam tells."""
        pieces = {self.field.lines[use.line].piece for use in (a, b)}
        drawn = [_drawn(self.field.parts[piece]) for piece in pieces]
        if all(drawn) and (drawn[0] * drawn[-1].conjugate()).real > SAME_WAY * abs(drawn[0]) * abs(drawn[-1]):
            return True  # whoever turns a piece turns its arrow
        return any(
            one is not found
            and {self.field.lines[line].piece for line in one.candidate.lines} == pieces
            and "notches" in kinds_for(one.candidate.terms)
            and sum(term.points for term in one.candidate.terms if term.kind == "way up") > 0.0
            for line in self.field.part(a.line).lines
            for one in self.firmly.get(line, ())
        )

    def _elsewhere(self, line: int, found: Found) -> bool:
        """Whether another firm seam takes a line."""
        return any(one is not found for one in self.firmly.get(line, ()))

    def _attached(self, *uses: Use) -> bool:
        """Whether one of some pieces is firmly sewn to a piece of another kind, along another of its lines."""
        field = self.field
        kind = field.part(uses[0].line).words.kind
        return any(
            field.part(other).words.kind != kind
            for use in uses
            for line in field.part(use.line).lines
            if line != use.line
            for one in self.firmly.get(line, ())
            for other in one.candidate.lines
        )

    def _marked_opposite(self, found: Found, line: int) -> bool:
        """Whether only the opposite edge has notches, and they have no mates elsewhere."""
        if all(
            layered(self.field.part(line).words, self.field.part(other).words)
            for other in found.candidate.lines - {line}
        ):
            return False
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
        by_chance = evidence.by_rule(lengths[0]) or self._parallel(use.line)
        if abs(lengths[0] - lengths[1]) <= field.slack(use, mate) and not by_chance:
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

    def _parallel(self, line: int) -> bool:
        """Whether a straight edge has a straight one of nearly its length opposite, as long strips have."""
        field = self.field
        own = field.part(line).lines
        other = own[(own.index(line) + len(own) // 2) % len(own)]
        return (
            len(own) == 4
            and other in field.nearly_alike(line)
            and field.lines[line].straight
            and field.lines[other].straight
        )

    def _centre(self, line: int) -> bool:
        """Whether a line is straight, along the grain and square at both ends, as the centre of a front or back is."""
        one = self.field.lines[line]
        body = self.field.part(line).words.kind in ("body", "gore", "")
        square = all(abs(angle - 90.0) < RUNS_ON for angle in one.angles)
        return body and square and one.straight and one.slant is not None and one.slant < RUNS_ON

    def _joined(self, found: Found, a: Use, b: Use) -> bool:
        """Whether another firm seam joins two pieces already."""
        pieces = {self.field.lines[use.line].piece for use in (a, b)}
        return any(
            one is not found and {self.field.lines[line].piece for line in one.candidate.lines} == pieces
            for line in self.field.part(a.line).lines
            for one in self.firmly.get(line, ())
        )

    def _within_a_line(self, line: int) -> bool:
        """Whether the outline runs straight on at both ends of a line."""
        return all(abs(angle - 180.0) < RUNS_ON for angle in self.field.lines[line].angles)

    def _neck(self, *uses: Use) -> bool:
        """Whether an upper collar or a facing is sewn to a neck, though an under collar is there that may come first."""
        words_of_all = [part.words for part in self.field.parts]
        words = [self.field.part(use.line).words for use in uses]
        if not any(one.kind == "collar" and "under" in one.qualities for one in words_of_all):
            return False
        if not any(one.kind == "facing" for one in words_of_all):
            return False
        upper = any(one.kind == "collar" and "under" not in one.qualities for one in words)
        hollow = any(one.kind == "facing" for one in words) and all(
            self.field.lines[use.line].bend < -HOLLOW for use in uses
        )
        return (upper or hollow) and any(one.kind in ("body", "yoke") for one in words)

    def _no_fly(self) -> bool:
        """Whether words tell what every piece is, and none is a fly's."""
        return all(part.words.kind not in ("", "placket") and not part.words.own & FLIES for part in self.field.parts)


def _drawn(part: Part) -> complex:
    """The way in which the grain arrow of a piece was drawn on the sheet; 0 where it has none."""
    grainlines = part.piece.grainlines
    return grainlines[0].points[-1] - grainlines[0].points[0] if grainlines else 0j
