"""Lines of one piece redrawn together, so that lengths come out exactly and nothing is bent more than it must be.

The outline is taken for a frame: its lines are thin rods, its corners are stiff, so that a corner that moves or turns takes
the ends of both its lines along. Wanted lengths are met exactly; of all ways to meet them the one is taken in which
the rods bend least.

knot     a mark on the outline, a corner or a notch: held, or free to move and turn
stretch  the line from one knot to the next
stub     the straight beginning of a stretch at a corner that has to stay square; it moves with the knot as it is

A redrawn line is a clamped beam. What its new ends ask for is met by the displacement that is a cubic of the arc
length: among all that meet ends and directions it changes the curvature least in the square mean. An outline that
is trued is a frame of such beams with stiff corners; wanted lengths are constraints, met by Newton steps, and free
corners settle where the frame bends least. So one solver serves a lengthened seam, a turned band end, an angle at a
junction and a dart's leg.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from seamcheck.geometry.curve import Affine, Curve, lengths
from seamcheck.truing.lines import End, Rod, bending

Reals = npt.NDArray[np.float64]

STRETCHING = 1e-5  # 1/mm2: what a share of its length costs a rod, beside what bending costs
FREE_STRETCHING = 1e-3  # 1/mm2: the same for a line whose length nothing else holds, such as a hem
STIFF = 30.0  # times as stiff as a curve is a straight line, which should stay one
EXACT = 1e-9  # mm
ENOUGH = 0.02  # mm: lengths met this nearly will do where nothing can be met exactly
FARTHEST = 60.0  # mm that a corner may go
STEPS = 40
FLAT = 1e-8  # of the steepest slope: what is flatter changes nothing, and is known from slopes to no better than that


@dataclass(frozen=True, slots=True)
class Knot:
    """A corner or a notch, by its station, and whether it may move and turn.

    `to` is where it is put and `turn` by how many radians it is turned before that, where it has a place to go to. One that is
    `steady` may move and does not turn.
    """

    station: float
    at: complex
    free: bool = False
    to: complex | None = None
    turn: float = 0.0
    steady: bool = False

    @property
    def pose(self) -> tuple[complex, float]:
        """Where it is, and its turn, before anything is solved."""
        return self.at if self.to is None else self.to, self.turn


@dataclass(frozen=True, slots=True, kw_only=True)
class RedrawnStretch:
    """The line between two knots, clockwise.

    `curve` is what is redrawn: the old line between the stubs, without its kinks, led on where it is. `first` and `last` are the knots'
    numbers; `turns` are what its directions at both ends are to change by beyond what its knots turn, in radians;
    `lag` is what the direction at the end of `curve` is behind that of the old line. A `ruled` stretch is drawn anew
    with a ruler, whichever way its ends turn.
    """

    curve: Curve
    first: int
    last: int
    turns: tuple[float, float] = (0.0, 0.0)
    lag: float = 0.0
    stubs: tuple[Curve | None, Curve | None] = (None, None)
    straight: bool = False
    ruled: bool = False
    stretching: float = STRETCHING

    @property
    def stub_length(self) -> float:
        """The length in mm of both stubs."""
        return sum(stub.length for stub in self.stubs if stub is not None)


@dataclass(frozen=True, slots=True)
class Wanted:
    """A length in mm that some stretches must add to."""

    stretches: tuple[int, ...]
    length: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """The new lines of all stretches, what they bend in 1/mm (the integral of the change of curvature, squared), and the
    places of the knots."""

    curves: tuple[Curve, ...]
    bending: float
    knots: tuple[complex, ...]


def draw(knots: Sequence[Knot], stretches: Sequence[RedrawnStretch], wanted: Sequence[Wanted]) -> Drawn | None:
    """Redraw all stretches; None where the lengths cannot be met."""
    problem = _Problem(knots, stretches, wanted)
    found = problem.solved()
    if found is None:
        return None
    poses, bumps = problem.split(found)
    curves = tuple(problem.whole(k, poses, bumps) for k in range(len(stretches)))
    bent = float((problem.strain(found, stiff=1.0) ** 2).sum())
    return Drawn(curves, bent, tuple(at for at, _ in poses))


class _Problem:
    """The unknowns: for each free knot its shift and its turn, for each stretch its bump."""

    def __init__(self, knots: Sequence[Knot], stretches: Sequence[RedrawnStretch], wanted: Sequence[Wanted]) -> None:
        self.knots, self.stretches, self.wanted = knots, stretches, wanted
        self.free = [k for k, knot in enumerate(knots) if knot.free]
        self.count = 3 * len(self.free) + len(stretches)
        self.rods = [Rod(stretch.curve) for stretch in stretches]
        self.may_swell = np.array([0.0 if stretch.ruled else 1.0 for stretch in stretches])
        self.measured = sorted({k for want in wanted for k in want.stretches})
        # Unknowns of one size: a turn counts as what it moves at this distance.
        self.arm = 100.0

    def split(self, unknowns: Reals) -> tuple[list[tuple[complex, float]], Reals]:
        """The poses of all knots (place, turn) and the bumps of all stretches."""
        poses = [knot.pose for knot in self.knots]
        for place, k in enumerate(self.free):
            x, y, turn = unknowns[3 * place : 3 * place + 3]
            at, turned = poses[k]
            turned += 0.0 if self.knots[k].steady else float(turn) / self.arm
            poses[k] = (at + complex(x, y), turned)
        return poses, unknowns[3 * len(self.free) :] * self.may_swell

    def ends(self, k: int, poses: Sequence[tuple[complex, float]]) -> tuple[End, End]:
        """Where the redrawn part of a stretch begins and ends, turns against its own curve."""
        stretch = self.stretches[k]
        found = []
        for side, number in enumerate((stretch.first, stretch.last)):
            at, turn = poses[number]
            stub = stretch.stubs[side]
            if stub is not None:
                arm = stub.end - stub.start if side == 0 else stub.start - stub.end
                at = at + arm * np.exp(1j * turn)
            found.append(End(complex(at), turn + stretch.turns[side] + (stretch.lag if side else 0.0)))
        if stretch.ruled:
            turned = float(np.angle((found[1].at - found[0].at) / (stretch.curve.end - stretch.curve.start)))
            return End(found[0].at, turned), End(found[1].at, turned)
        return found[0], found[1]

    def line(self, k: int, poses: Sequence[tuple[complex, float]], bumps: Reals) -> Curve:
        """The redrawn part of a stretch."""
        start, end = self.ends(k, poses)
        return Curve(self.rods[k].bent(start, end, float(bumps[k])))

    def whole(self, k: int, poses: Sequence[tuple[complex, float]], bumps: Reals) -> Curve:
        """A stretch with its stubs."""
        stretch = self.stretches[k]
        parts = [self.line(k, poses, bumps)]
        for side, number in enumerate((stretch.first, stretch.last)):
            stub = stretch.stubs[side]
            if stub is not None:
                at, turn = poses[number]
                old = self.knots[number].at
                moved = stub.transformed(Affine.translation(at - old) @ Affine.rotation(np.degrees(turn), about=old))
                parts.insert(len(parts) if side else 0, moved)
        rows = np.concatenate([part.segments for part in parts])
        rows[1:, 0] = rows[:-1, 3]
        rows[0, 0], rows[-1, 3] = poses[stretch.first][0], poses[stretch.last][0]
        return Curve(rows)

    def missing(self, unknowns: Reals) -> Reals:
        """By how much every wanted length is missed, in mm."""
        missed: Reals = self.missing_by([unknowns])[0]
        return missed

    def missing_by(self, trials: Sequence[Reals]) -> Reals:
        """The same for several trials, a row each: all their lines are measured at once."""
        rows = []
        for poses, bumps in map(self.split, trials):
            rows += [self.rods[k].bent(*self.ends(k, poses), float(bumps[k])) for k in self.measured]
        ends = np.cumsum([0, *map(len, rows)])
        parts = lengths(np.concatenate(rows)) if rows else np.zeros(0)
        sums = iter([float(parts[low:high].sum()) for low, high in pairwise(ends.tolist())])
        missed = np.empty((len(trials), len(self.wanted)))
        for trial in range(len(trials)):
            found = {k: next(sums) + self.stretches[k].stub_length for k in self.measured}
            missed[trial] = [sum(found[k] for k in want.stretches) - want.length for want in self.wanted]
        return missed

    def strain(self, unknowns: Reals, stiff: float = STIFF) -> Reals:
        """What is to be kept small: the bends of all stretches, straight ones `stiff` times, and the stretch of their chords."""
        poses, bumps = self.split(unknowns)
        found: list[float] = []
        for k, stretch in enumerate(self.stretches):
            start, end = self.ends(k, poses)
            factor, first, last = self.rods[k].carried(start, end)
            length = self.rods[k].length
            share = stiff if stretch.straight else 1.0
            found += [share * part for part in bending(length, first, last, float(bumps[k]))]
            found.append(float(np.sqrt(stretch.stretching * length) * (abs(factor) - 1.0)))
        return np.array(found)

    def solved(self) -> Reals | None:
        """The unknowns that meet the wanted lengths at the least strain; None where there are none."""
        unknowns = np.zeros(self.count)
        missing = self.missing(unknowns)
        for _ in range(STEPS):
            strain = self.strain(unknowns)
            by_length, by_strain = self._slopes(unknowns, missing, strain)
            step = _least(by_strain, strain, by_length, missing)
            longest = float(np.abs(step).max(initial=0.0))
            unknowns = unknowns + step * min(1.0, 20.0 / longest if longest else 1.0)
            if np.abs(unknowns).max(initial=0.0) > FARTHEST * 4:
                return None
            missing = self.missing(unknowns)
            if longest < 1e-5 and np.abs(missing).max(initial=0.0) < EXACT:
                break
        missed = float(np.abs(missing).max(initial=0.0))
        shifts = unknowns[: 3 * len(self.free)].reshape(-1, 3)
        if missed > ENOUGH or np.abs(shifts[:, :2]).max(initial=0.0) > FARTHEST:
            return None
        return unknowns

    def _slopes(self, unknowns: Reals, missing: Reals, strain: Reals) -> tuple[Reals, Reals]:
        small = 1e-3
        moved = [unknowns + small * one for one in np.eye(self.count)]
        by_strain = np.array([(self.strain(trial) - strain) / small for trial in moved]).T
        by_length = ((self.missing_by(moved) - missing) / small).T
        return by_length, by_strain


def _least(by_strain: Reals, strain: Reals, by_length: Reals, missing: Reals) -> Reals:
    """The step of least strain among those that meet the lengths, as far as slopes tell."""
    if not len(missing):
        return np.asarray(np.linalg.lstsq(by_strain, -strain, rcond=FLAT)[0])
    left, sizes, right = np.linalg.svd(by_length)
    rank = int((sizes > 1e-7 * max(float(sizes.max(initial=0.0)), 1e-3)).sum())
    meets = right[:rank].T @ ((left[:, :rank].T @ -missing) / sizes[:rank])
    open_ways = right[rank:].T
    if not open_ways.size:
        return np.asarray(meets)
    along = np.linalg.lstsq(by_strain @ open_ways, -(strain + by_strain @ meets), rcond=FLAT)[0]
    return np.asarray(meets + open_ways @ along)
