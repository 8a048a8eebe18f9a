"""A proposal: the seams that are taken, sorted into those that are sure, best guesses and what is only asked about.

An allowance that nobody knows is tried: with the right one far more edges are as long as each other, and lengths
are round. What an offset takes from a length is reckoned from its corners and its turning, so that only the four
likeliest are drawn and solved. It is told as found by trying.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from seamcheck.pairing.alike import Classes, Seam
from seamcheck.pairing.candidates import Kind
from seamcheck.pairing.lines import Line, Part, Use, survey
from seamcheck.pairing.proposal import Reason, Standing
from seamcheck.pairing.reasons import reasons
from seamcheck.pairing.solver import Found, Solver

if TYPE_CHECKING:
    from seamcheck.pairing.hints import PairingHint
    from seamcheck.pattern.drawing import Drawing
    from seamcheck.pattern.model import Pattern
    from seamcheck.pieces.outline import Sheet

ALLOWANCES = (5.0, 6.0, 6.35, 7.0, 8.0, 9.525, 10.0, 12.0, 12.7, 15.0, 15.875, 20.0, 25.0)  # mm
SLACK = 0.2  # mm: lengths that differ by less are taken for equal
ROUND_STEPS = (5.0, 6.35, 12.7, 25.4)  # mm: what drafters make lengths multiples of
CLEARLY = 6.0  # points that an allowance must bring to be believed
SEAM_WORTH = 4.0  # points of a seam whose sides are as long as each other
ROUND_LENGTH = 1.5  # points of a length that is a round number
MOST_WIDTHS = 4  # allowances that are tried
MOST_TRIED = 40  # pieces of one size with which allowances are tried
GUESS = 0.5  # how likely a best guess is at least; below it, it is asked about
WORTH_TELLING = 0.03  # how likely what else could be sewn is at least, to be told
GATHERED = 1.15  # sides whose lengths differ by more are gathered or stretched


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedSeam:
    """A seam that is proposed. `difference` is first minus second in mm; `runner_up` what would be taken in its stead."""

    first: tuple[Use, ...]
    second: tuple[Use, ...]
    standing: Standing
    confidence: float
    reasons: tuple[Reason, ...]
    runner_up: Seam | None
    lengths: tuple[float, float]
    ratio: float | None = None

    @property
    def difference(self) -> float:
        """The first side less the second, in mm."""
        return self.lengths[0] - self.lengths[1]

    @property
    def sure(self) -> bool:
        """Whether it is walked and judged without being asked about."""
        return self.standing is Standing.SURE

    @property
    def twin(self) -> bool:
        """Whether an edge is sewn to itself: its mirror twin or the next copy."""
        return self.first == self.second


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """What is proposed for a pattern, made in one of its sizes."""

    size: str
    solver: Solver
    seams: tuple[SolvedSeam, ...]
    allowance: float | None = None  # mm, where it was found by trying

    @property
    def classes(self) -> Classes:
        """The lines and which of them are alike."""
        return self.solver.classes

    @property
    def parts(self) -> tuple[Part, ...]:
        """The pieces as pairing sees them."""
        return self.solver.classes.parts

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of all pieces."""
        return self.solver.classes.lines

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
        return pairs + sum(_is_round(one) for one in lengths)

    return sorted(sorted(ALLOWANCES, key=lambda width: -agreeing(width))[:MOST_WIDTHS])


def _is_round(length: float) -> bool:
    return any(abs(length / step - round(length / step)) * step < 0.02 for step in ROUND_STEPS)


def _fits(solution: Solution) -> float:
    """How well an allowance fits, in points: what is sewn together agrees, and lengths are round as they were drafted."""
    agree = sum(seam.confidence for seam in solution.seams if not seam.twin and abs(seam.difference) < SLACK)
    return SEAM_WORTH * agree + ROUND_LENGTH * sum(_is_round(one) for one in {line.length for line in solution.lines})


def solve_pattern(pattern: Pattern, hints: Iterable[PairingHint] = ()) -> Solution:
    """The best set of seams for a pattern as it is read, in the middle one of its sizes."""
    size = pattern.sizes[len(pattern.sizes) // 2] if pattern.sizes else ""
    parts, lines = survey(pattern.in_size(size))
    known = {f"{parts[line.piece].name}.{edge}": line.index for line in lines for edge in line.edges}
    told = {}
    for hint in hints:
        a, b = (known.get(name.removeprefix("-")) for name in (hint.first, hint.second))
        if a is not None and b is not None and a != b:
            told[min(a, b), max(a, b)] = hint
    return solution_of(Solver(parts, lines, told), size)


def solution_of(solver: Solver, size: str) -> Solution:
    """What a solver has found so far, seam by seam on the lines that are drawn."""
    seams = []
    for one in solver.found:
        why = reasons(solver.classes, one.candidate, solver.hint(one.candidate))
        for first, second in solver.classes.spread(one.candidate.seam):
            lengths = tuple(solver.classes.side(side).length for side in (first, second))
            seams.append(
                SolvedSeam(
                    first=first,
                    second=second,
                    standing=_standing(one),
                    confidence=one.likely,
                    reasons=why,
                    runner_up=one.rival.seam if one.rival is not None and one.rival_likely >= WORTH_TELLING else None,
                    lengths=(lengths[0], lengths[1]),
                    ratio=_ratio(one, lengths[0] / max(lengths[1], 1e-9)),
                )
            )
    return Solution(size=size, solver=solver, seams=tuple(seams))


def _standing(one: Found) -> Standing:
    if one.sure:
        return Standing.SURE
    return Standing.GUESS if one.likely >= GUESS else Standing.QUESTION


def _ratio(one: Found, ratio: float) -> float | None:
    """The ratio of a seam that is gathered or stretched."""
    return ratio if one.candidate.kind is not Kind.TWIN and max(ratio, 1.0 / ratio) > GATHERED else None
