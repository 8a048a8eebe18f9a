"""A proposal: the seams of the best set, sorted into those that are sure, those to ask about and what stays open.

An allowance that nobody knows is tried: with the right one far more edges are as long as each other, and lengths
are round. What an offset takes from a length is reckoned from its corners and its turning, so that only the four
likeliest are drawn and solved. It is told as found by trying.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from seamcheck.exact import steady
from seamcheck.pairing.candidates import Candidate, Field, SeamSides
from seamcheck.pairing.doubts import Doubts
from seamcheck.pairing.evidence import SLACK, STEPS, Term
from seamcheck.pairing.lines import Line, Part, Use, side_of, survey
from seamcheck.pairing.rows import Rows
from seamcheck.pairing.solve import Found, solve
from seamcheck.pairing.twins import crotches, twins

if TYPE_CHECKING:
    from seamcheck.pairing.hints import PairingHint
    from seamcheck.pattern.drawing import Drawing
    from seamcheck.pattern.model import Pattern
    from seamcheck.pieces.outline import Sheet

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
    from seamcheck.pieces.build import build_pattern

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
    lengths = {round(steady(line.length), 2) for line in solution.lines}
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
    found, worth = solve(
        field, [*simple, *Rows(field, simple).candidates()], lambda found: Doubts(field, found).firm()
    )
    doubts = Doubts(field, found)
    seams = tuple(seam for one in found if one.points >= ASK for seam in _proposed(one, doubts))
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


def _proposed(found: Found, doubts: Doubts) -> Iterator[SolvedSeam]:
    one, lines = found.candidate, doubts.field.lines
    runner_up = None if found.runner_up is None else found.runner_up.seams[0]
    for first, second in one.seams:
        doubt = doubts.of(found, (first, second))
        sure = not doubt
        confidence = round(steady(1.0 / (1.0 + math.exp(-(found.points - 1.0)))), 3)
        lengths = tuple(side_of(side, lines).length for side in (first, second))
        yield SolvedSeam(
            first=first,
            second=second,
            sure=sure,
            doubt=doubt,
            confidence=confidence if sure else min(confidence, LIKELY),
            score=found.score,
            margin=found.margin,
            terms=tuple(sorted(one.terms, key=lambda term: -round(abs(term.points), 6))),
            runner_up=runner_up,
            difference=lengths[0] - lengths[1],
            lengths=(lengths[0], lengths[1]),
            ratio=one.ratio,
        )
