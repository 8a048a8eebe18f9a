"""A proposal: the seams of the best set, sorted into those that are sure, those to ask about and what stays open."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from seamcheck.pairing.candidates import Candidate, Field, SeamSides
from seamcheck.pairing.evidence import SLACK, STEPS, TRUE, Term, kinds_for
from seamcheck.pairing.junctions import CLOSES_FLAT, CORNERS_MEET, THEY_CLOSE, THEY_MEET
from seamcheck.pairing.lines import Line, Part, Use, side_of, survey
from seamcheck.pairing.rows import Rows
from seamcheck.pairing.solve import Found, solve
from seamcheck.pairing.twins import crotches, twins

if TYPE_CHECKING:
    from seamcheck.marks import Drawing
    from seamcheck.model import Pattern
    from seamcheck.outline import Sheet
    from seamcheck.registry import PairingHint

SURE = 3.5  # points a seam must have to be walked and judged without asking, and how far it must lead if one,
SURE_ALONE = 6.0  # of a pair for which lengths alone speak, and the way pieces lie on the sheet
SURE_ROW = 5.0  # of a row for which neither names nor notches speak
FIRM, FIRM_LEAD = 4.5, 2.0  # points of a seam that tells which corners meet, and how far it must lead
NAMED = 2.0  # points that words must bring for an edge that is sewn to itself
LEADS = (2.6, 2.0)  # two and more kinds of evidence speak for it
AMBIGUOUS_LEAD = 2.6
RINGED = 3.0  # points of joins: pieces in a row that close to a ring
MEASURE_ALONE = frozenset(["length", "way up", "grain"])  # tell little by themselves
ALLOWANCES = (5.0, 6.0, 6.35, 7.0, 8.0, 9.525, 10.0, 12.0, 12.7, 15.0, 15.875, 20.0, 25.0)  # mm
CLEARLY = 4.0  # points that an allowance must bring to be believed
ROUND_LENGTH = 1.5  # points of a length that is a round number
MOST_WIDTHS = 4  # allowances that are tried
MOST_TRIED = 40  # pieces of one size with which allowances are tried
LIKELY = 0.8  # the most confidence of what is only asked about
ASK = 0.3  # points from which it is asked about
HINT_WORTH = 4.0  # points of a hint of confidence 1


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedSeam:
    """A seam that is proposed. `difference` is first minus second in mm; `runner_up` what else was thought of."""

    first: tuple[Use, ...]
    second: tuple[Use, ...]
    sure: bool
    doubt: str  # why it is not sure
    confidence: float
    score: float
    margin: float
    terms: tuple[Term, ...]
    runner_up: SeamSides | None
    difference: float
    lengths: tuple[float, float]
    ratio: float | None = None

    @property
    def points(self) -> float:
        """What the sureness rests on."""
        return min(self.score, self.margin)

    @property
    def twin(self) -> bool:
        """Whether an edge is sewn to itself: its mirror twin or the next copy."""
        return self.first == self.second


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """What is proposed for a pattern, made in one of its sizes."""

    size: str
    parts: tuple[Part, ...]
    lines: tuple[Line, ...]
    seams: tuple[SolvedSeam, ...]
    groups: Mapping[int, tuple[int, bool]]
    either_way: frozenset[int]
    worth: float = 0.0
    allowance: float | None = None  # mm, where it was found by trying

    def told(self, seam: SolvedSeam) -> str:
        """A seam in words."""
        return " to ".join(
            " + ".join(use_name(use, self.parts, self.lines) for use in side) for side in (seam.first, seam.second)
        )


def use_name(use: Use, parts: tuple[Part, ...], lines: tuple[Line, ...]) -> str:
    """A line as it is walked: "-Front.e3"."""
    line = lines[use.line]
    return f"{'-' if use.backwards else ''}{parts[line.piece].name}.{line.name}"


def propose(
    drawing: Drawing,
    sheet: Sheet,
    *,
    line: str | None = None,
    allowance: float | None = None,
    hints: Callable[[Pattern], Iterable[PairingHint]] | None = None,
) -> Solution:
    """Propose seams for what was read of a file, in the middle one of its sizes.

    Where the outlines are cut lines and nobody knows the allowance, the usual ones are tried: mates are as long as each other on
    the sew line, so that with the right allowance far more fits than with any other.
    """
    from seamcheck.pieces import build_pattern

    size = sheet.sizes[len(sheet.sizes) // 2] if sheet.sizes else ""
    one_size = replace(sheet, shapes=tuple(shape for shape in sheet.shapes if shape.size == size), sizes=(size,))

    def solved(width: float | None) -> Solution:
        pattern = build_pattern(drawing, one_size, None, line=line, allowance=width)
        return solve_pattern(pattern, () if hints is None else hints(pattern))

    best = solved(allowance)
    unknown = [part for part in best.parts if part.piece.line == "cut" and part.piece.outline is part.piece.drawn]
    if not unknown or len(unknown) > MOST_TRIED:
        return best
    tried = sorted(((solved(width), width) for width in _likely(best)), key=lambda one: -round(_fits(one[0]), 6))
    (first, width), (second, _) = tried[:2]
    if _fits(first) > _fits(best) + CLEARLY and _fits(first) > _fits(second) + CLEARLY:
        return replace(first, allowance=width)
    return best


def _likely(drawn: Solution) -> list[float]:
    """The allowances with which most edges agree with one of another piece, or are round, reckoned without drawing the sew lines.

    An edge that is moved inward by w is shorter by w for each radian that it turns, and by w tan(t / 2) at a corner of
    180 - t degrees: exactly so where its neighbours are moved by as much.
    """
    lines = [line for line in drawn.lines if not line.closed]
    shrink = [
        math.radians(line.bend) + sum(math.tan(math.radians(180.0 - angle) / 2.0) for angle in line.angles)
        for line in lines
    ]

    def agreeing(width: float) -> float:
        lengths = [line.length - width * by for line, by in zip(lines, shrink, strict=True)]
        pairs = sum(
            a.piece != b.piece and abs(lengths[i] - lengths[k]) < SLACK
            for i, a in enumerate(lines)
            for k, b in enumerate(lines[:i])
        )
        return pairs + sum(
            any(abs(one / step - round(one / step)) * step < 0.02 for step in STEPS) for one in lengths
        )

    return sorted(sorted(ALLOWANCES, key=lambda width: -agreeing(width))[:MOST_WIDTHS])


def _fits(solution: Solution) -> float:
    """How well an allowance fits, in points: what is sewn together agrees, and lengths are round as they were drafted."""
    lengths = {round(line.length, 2) for line in solution.lines}
    whole = sum(
        1 for length in lengths if any(abs(length / step - round(length / step)) * step < 0.02 for step in STEPS)
    )
    return solution.worth + ROUND_LENGTH * whole


def solve_pattern(pattern: Pattern, hints: Iterable[PairingHint] = ()) -> Solution:
    """The best set of seams for a pattern as it is read, in the middle one of its sizes."""
    size = pattern.sizes[len(pattern.sizes) // 2] if pattern.sizes else ""
    parts, lines = survey(pattern.in_size(size))
    field = Field(parts, lines)
    pairs = list(_hinted(field.pairs(), _hints(hints, parts, lines)))
    simple = [*pairs, *twins(field, pairs), *crotches(field, pairs)]
    found, worth = solve(field, [*simple, *Rows(field, simple).candidates()], lambda one: _firm(one, field))
    seams = tuple(seam for one in found if one.points >= ASK for seam in _proposed(one, field))
    return Solution(
        size=size,
        parts=parts,
        lines=lines,
        seams=seams,
        groups=field.group,
        either_way=frozenset(field.either_way),
        worth=worth,
    )


def _hints(
    hints: Iterable[PairingHint], parts: tuple[Part, ...], lines: tuple[Line, ...]
) -> dict[tuple[tuple[int, int], bool], tuple[float, str]]:
    known = {f"{parts[line.piece].name}.{edge}": line.index for line in lines for edge in line.edges}
    found = {}
    for hint in hints:
        a, b = (known.get(name.removeprefix("-")) for name in (hint.first, hint.second))
        if a is not None and b is not None and a != b:
            turned = hint.first.startswith("-") ^ hint.second.startswith("-")
            found[(min(a, b), max(a, b)), turned] = (HINT_WORTH * hint.confidence, hint.why)
    return found


def _hinted(
    candidates: Iterable[Candidate], hints: Mapping[tuple[tuple[int, int], bool], tuple[float, str]]
) -> Iterator[Candidate]:
    """The candidates with what plugins know of them."""
    for one in candidates:
        if one.kind == "pair":
            a, b = one.first[0], one.second[0]
            low, high = min(a.line, b.line), max(a.line, b.line)
            found = hints.get(((low, high), a.backwards ^ b.backwards))
            if found:
                one = one.with_terms([Term(*found, "hint")])
        yield one


def _firm(found: Found, field: Field) -> bool:
    """Whether a seam may tell which corners meet."""
    if found.candidate.kind != "crotch" and found.score >= FIRM and found.margin >= FIRM_LEAD:
        return True
    return not any(_doubt(found, sides, field) for sides in found.candidate.seams)


def _doubt(found: Found, sides: SeamSides, field: Field) -> str:
    """Why a seam is not walked and judged without asking; "" where it is sure."""
    terms = found.candidate.terms
    kinds = kinds_for(terms)
    twin = sides[0] == sides[1]
    named = sum(term.points for term in terms if term.kind == "names")
    met = sum(term.points for term in terms if term.words in (THEY_MEET, THEY_CLOSE))
    if sum(term.points for term in terms if term.kind == "notches") < 0.0:
        return "some notches have no mate"
    if not kinds:
        return "nothing speaks for it clearly"
    lengths = [side_of(side, field.lines).length for side in sides]
    if found.candidate.ratio is None and abs(lengths[0] - lengths[1]) > TRUE:
        # An altered seam is known by all else; a row round the corners of one piece by its length alone.
        rounded = any(len(side) > 1 and len({field.lines[use.line].piece for use in side}) == 1 for side in sides)
        others = kinds - MEASURE_ALONE
        if rounded or len(others) < 2 or not others & {"names", "notches"}:
            return "its sides differ in length, and too little else speaks for it"
    notched = [term.points for term in terms if term.kind == "notches"]
    if any(field.lines[use.line].closed for side in sides for use in side) and (
        len(notched) < 2 or min(notched) < 0.0 or max(map(len, sides)) > 1
    ):
        return "where the walk begins on a closed edge is not known"
    if not twin and not notched and any(len(side) == 1 and field.marked_opposite(side[0].line) for side in sides):
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
        if field.contested(a, b) or field.contested(b, a):
            return "another piece fits a stretch between its notches"
        boxed = field.lines[a.line].piece == field.lines[b.line].piece and b.line in field.beside(a.line)
        if not told and not boxed and field.rivals(a, b):
            return "a third edge is as long"
        apart = field.lines[a.line].piece != field.lines[b.line].piece
        kind = [field.part(use.line).words.kind for use in (a, b)]
        if not kinds & {"notches", "hint"} and kind.count("lining") == 1:
            return "a lining is as large as what it lines, and mostly hangs free of it"
        if apart and not kinds & {"notches", "hint"} and met < 2.0 * CORNERS_MEET:
            alike = field.nearly_alike if told or met >= CORNERS_MEET else field.doubled
            if alike(a.line) or alike(b.line):
                return "which of two edges of nearly one length is meant only notches tell"
            if field.is_copy(a, b):
                return "its sides are equal because their pieces are, and no notch tells whether another lies between"
        if kinds <= MEASURE_ALONE:
            least = SURE_ALONE
        if field.opposite(a.line) or field.opposite(b.line):
            lead = max(lead, AMBIGUOUS_LEAD)  # which of two like edges is meant must be plain
    if found.candidate.kind == "crotch":
        lines = [use.line for first, _ in found.candidate.seams for use in first]
        apart = len({field.lines[line].piece for line in lines}) > 1
        if apart and field.lines[a.line].length < max(field.lines[line].length for line in lines):
            return "a front may be open for a fly"
    elif twin and named < NAMED and met < CLOSES_FLAT:
        return "only its notches and its quantity speak for it"
    if named < NAMED and found.candidate.kind == "crotch":
        return "no words tell that the pieces are trousers"
    ring = a.line == b.line or field.lines[a.line].piece == field.lines[b.line].piece
    if ring and not notched and field.part(a.line).words.kind in ("band", "strip"):
        return "it may stay open there"
    if found.score < least:
        return "too little speaks for it"
    return "another reading is nearly as likely" if found.margin < lead else ""


def _proposed(found: Found, field: Field) -> Iterator[SolvedSeam]:
    one, lines = found.candidate, field.lines
    runner_up = None if found.runner_up is None else found.runner_up.seams[0]
    for first, second in one.seams:
        doubt = _doubt(found, (first, second), field)
        sure = not doubt
        confidence = round(1.0 / (1.0 + math.exp(-(found.points - 1.0))), 3)
        lengths = tuple(side_of(side, lines).length for side in (first, second))
        yield SolvedSeam(
            first=first,
            second=second,
            sure=sure,
            doubt=doubt,
            confidence=confidence if sure else min(confidence, LIKELY),
            score=found.score,
            margin=found.margin,
            terms=tuple(sorted(one.terms, key=lambda term: -abs(term.points))),
            runner_up=runner_up,
            difference=lengths[0] - lengths[1],
            lengths=(lengths[0], lengths[1]),
            ratio=one.ratio,
        )
