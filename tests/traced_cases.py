"""Patterns traced by hand: the true curves of our drafts as rows of vertices, each a little beside its place.

Everything follows from the number of a case, so that every run makes the same cases. One case in three has a fault, which must
be found; the others are clean, and nothing may be said of them that is not said of the curves that they were traced from.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

import numpy as np
from drafting.shapes import Line, Piece
from seeded_kinds import KINDS
from seeded_patterns import FURTHER, MAKERS, OTHERS, Spoilt, clean, judged
from seeding import seed

from seamcheck.checks.base import Severity
from seamcheck.engine.result import FileResult

CHORDS = (1.0, 2.0, 3.0, 4.0, 5.0)  # mm
NOISES = (0.0, 0.02, 0.05, 0.1)  # mm, the standard deviation of either coordinate
UNEVEN = 0.25  # of a chord by which a hand puts a vertex before or behind its place along the line
EACH = 6  # cases of every chord and noise; two of them with a fault
SETS = {"tuning": MAKERS, "held out": OTHERS, "further": FURTHER}
FAULTY = (
    "edge lengthened at a free end",
    "spread between notches",
    "notch shifted forward",
    "corner with a point",
    "corner with a hollow",
    "kink, a point",
    "kink, a hollow",
    "step outwards",
)
NUMBERS = {kind.name: number for number, kind in enumerate(KINDS)}
FAULT_SIZE = 2.5  # tolerances
LENGTH_OFF = 0.5  # mm that the length of an edge may be read beside that of its curve


@dataclass(frozen=True, slots=True)
class Case:
    """A pattern, how it is traced, and which fault it has; "" for none."""

    pattern: str
    chord: float
    noise: float
    number: int
    fault: str = ""


class Judged(NamedTuple):
    """What was said of a case that should not have been, what was missed, and the worst length and angle read."""

    case: Case
    false: tuple[str, ...]
    missed: bool
    length_off: float
    angle_off: float
    within: bool  # the angle is off by no more than what the reading says of itself

    @property
    def right(self) -> bool:
        """Nothing false, nothing missed, every length as of the curve."""
        return not (self.false or self.missed or self.length_off > LENGTH_OFF)


def cases(name: str) -> Iterator[Case]:
    """The cases of a set, by its name in SETS."""
    patterns = list(SETS[name])
    number = 5000 * list(SETS).index(name)
    for chord in CHORDS:
        for noise in NOISES:
            for k in range(EACH):
                number += 1
                pattern = patterns[number % len(patterns)]
                fault = FAULTY[(number // 3) % len(FAULTY)] if k % 3 == 2 else ""
                if fault and not KINDS[NUMBERS[fault]].places(clean(pattern)):
                    fault = ""
                yield Case(pattern, chord, noise, number, fault)


@dataclass(frozen=True, kw_only=True)
class _Traced(Piece):
    """A piece with its outline traced; its notches are drawn at the places, and square to the lines, of the true one."""

    true: Piece

    def point(self, edge: str, station: float) -> tuple[complex, complex]:
        """The point of a true edge at a station, and the unit direction in which its outline runs there."""
        return self.true.point(edge, station)


def traced(spoilt: Spoilt, case: Case) -> Spoilt:
    """The pattern with every outline as chords; its notches stay on the true line."""
    chance = np.random.default_rng(case.number)
    ruled = chance.random() < 0.5  # whether straight lines are given by their ends alone
    return replace(spoilt, pieces={key: _traced(piece, case, chance, ruled) for key, piece in spoilt.pieces.items()})


def _traced(piece: Piece, case: Case, chance: np.random.Generator, ruled: bool) -> Piece:
    rows, count = [], len(piece.stretches)
    corners = [one.strokes[0].start + _beside(case, chance, 1)[0] for one in piece.stretches]
    for k, stretch in enumerate(piece.stretches):
        curve = stretch.curve
        if ruled and curve.is_straight(1e-6):
            inner = np.empty(0, dtype=np.complex128)
        else:
            steps = max(round(curve.length / case.chord), 1)
            uneven = chance.uniform(-UNEVEN, UNEVEN, steps - 1)
            inner = curve.points(curve.length * (np.arange(1, steps) + uneven) / steps)
            inner = inner + _beside(case, chance, len(inner))
        last = corners[(k + 1) % count] if piece.is_closed or k + 1 < count else curve.end
        points = [corners[k], *inner.tolist(), last]
        rows.append(replace(stretch, strokes=tuple(Line(a, b) for a, b in pairwise(points))))
    parts = {one.name: getattr(piece, one.name) for one in fields(Piece)}
    return _Traced(**{**parts, "stretches": tuple(rows)}, true=piece)


def _beside(case: Case, chance: np.random.Generator, count: int) -> np.ndarray:
    return case.noise * (chance.standard_normal(count) + 1j * chance.standard_normal(count))


def judge(case: Case) -> Judged:
    """One case, written, read and judged."""
    if case.fault:
        seen = seed(NUMBERS[case.fault], FAULT_SIZE, case.pattern, "curves", lambda spoilt: traced(spoilt, case))
        assert seen is not None
        failed = (seen.failed,) if seen.failed else ()
        return Judged(case, seen.others + failed, not seen.found, 0.0, 0.0, True)
    pattern = clean(case.pattern)
    with TemporaryDirectory() as folder:
        result = judged(traced(Spoilt(pattern, pattern.pieces), case), "curves", Path(folder))
    true = _true(case.pattern)
    known = {_key(one) for one in true.findings}
    false = [
        f"{one.severity} {one.check}/{one.code}: {one.message}" for one in result.findings if _key(one) not in known
    ]
    lengths = {(p.name, e.name): e.length for p in true.geometry.pieces for e in p.edges}
    read = {(p.name, e.name): e.length for p in result.geometry.pieces for e in p.edges}
    false += [f"edge {name} is read as none" for name in lengths if name not in read]
    false += [f"edge {name} is there too" for name in read if name not in lengths]
    off = max((abs(read[name] - lengths[name]) for name in lengths if name in read), default=0.0)
    angle_off, within = _angles(result, true)
    return Judged(case, tuple(false) + tuple(result.failures), False, off, angle_off, within)


def _angles(result: FileResult, true: FileResult) -> tuple[float, bool]:
    """By how many degrees the worst corner is read beside the curves', and whether all are within what is said of them."""
    worst, within = 0.0, True
    corners = {(p.name, c.name): c for p in true.geometry.pieces for c in p.corners}
    for piece in result.geometry.pieces:
        for corner in piece.corners:
            of = corners.get((piece.name, corner.name))
            if of is not None:
                off = abs(corner.angle - of.angle)
                worst = max(worst, off)
                within &= off <= getattr(corner, "uncertainty", 0.0) + 0.5
    return worst, within


@cache
def _true(name: str) -> FileResult:
    """What is said of the curves that a pattern's cases are traced from."""
    with TemporaryDirectory() as folder:
        return judged(Spoilt(clean(name), clean(name).pieces), "curves", Path(folder))


def _key(finding) -> tuple[object, ...]:
    return finding.check, finding.code, finding.seam, finding.edges, finding.pieces


def severe(said: str) -> bool:
    """Whether something false is a warning or an error, or a line that was read otherwise."""
    return not said.startswith(Severity.NOTE.value)
