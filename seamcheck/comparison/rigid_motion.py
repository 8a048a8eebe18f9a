"""Which stretches of an outline moved as one rigid thing.

A motion is guessed from corners (their place and the direction of either line) and from where a stretch that is known
ends (beyond a hinge the line goes on at the same length). Each guess is bettered by least squares on the distances of
the moved line from the new one, and holds wherever these distances stay within a tolerance.

Amounts come from stations that both lines share, hinges from the point that two motions leave where it is;
`tests/comparison` holds them to the drafted moves. A straight or round line slides along itself, so a stretch of it
never makes a part alone, and behind a hinge it is held by going on at the same length.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from seamcheck.comparison.footpoints import Feet, Target
from seamcheck.exact import EXACT
from seamcheck.geometry.bezier import Flags, Points, Reals
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.end_directions import arriving, leaving
from seamcheck.geometry.exact_arrays import median_of
from seamcheck.geometry.short_arrays import each_once

LOOSEST = 0.5  # mm: lines further apart than this are not the same line, however they were digitised
CLOSEST = 0.05  # mm: lines this close are the same line
NODE = 4.0  # mm between the places of the old line that are followed
MOST_NODES = 1000
FEW = 200  # joints that are followed too; a digitised line has one every few mm
REACH = 60.0  # mm of line from which the direction at a corner is taken at most
SHORTEST = 12.0  # mm: a shorter stretch tells nothing of how a part moved
HELD = 10.0  # mm of line that must hold a part against sliding, unless two stretches do
SPREAD = 7.0  # times the median distance that two drawings of one line may be apart (some 5 standard deviations)
NOISIER = 4.0  # times the noise of the surest part that another may have
STIFF = 0.002  # mm of noise that any part may have
NEARLY_ALL = 0.995  # of what is to be explained; nothing better is looked for
TOGETHER = 40.0  # mm that two stretches of one part must have at least
WINDOWS = ((1.0, 8.0), (2.0, 20.0), (4.0, 60.0))  # mm of line behind a break from which a motion is guessed


@dataclass(frozen=True, slots=True)
class RigidRun:
    """A stretch of the old line, from station `start` to `stop` > start (which may pass the total), and the new stations."""

    start: float
    stop: float
    new_start: float
    new_stop: float

    @property
    def length(self) -> float:
        """Its length in mm."""
        return self.stop - self.start

    @property
    def offset(self) -> float:
        """What the new stations are ahead of the old ones."""
        return self.new_start - self.start


@dataclass(frozen=True, slots=True)
class Guess:
    """A motion to begin from. With an anchor (an old and a new station) it goes on behind a hinge there."""

    motion: Affine
    anchor: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class Rigid:
    """A motion and the runs that it explains; `noise` is the median distance in mm that it leaves there.

    `directions` are those of the new line at the feet of all places that are followed.
    """

    motion: Affine
    runs: tuple[RigidRun, ...]
    noise: float
    directions: Points

    @property
    def length(self) -> float:
        """The length of line that it explains."""
        return sum(run.length for run in self.runs)


class Search:
    """The search for the motions between two closed outlines that both run the same way round.

    `corners` are pairs of stations, old and new, that belong to one corner. Stations in mm.
    """

    def __init__(self, old: Curve, new: Curve, corners: Sequence[tuple[float, float]]) -> None:
        """Choose the places of the old line that are followed."""
        self.old, self.new = old, new
        self.corners = sorted(corners)
        self.target = Target(new)
        self.total, self.new_total = old.length, new.length
        count = int(min(MOST_NODES, max(64, self.total / NODE)))
        even = np.arange(count) * (self.total / count)
        joints = old.joint_stations[:-1] if len(old.segments) <= FEW else even[:1]
        named = np.array([pair[0] for pair in self.corners])
        self.stations: Reals = each_once(np.round(np.concatenate([even, joints, named]) % self.total, 9))
        close = np.flatnonzero(np.diff(self.stations) < 0.2)
        self.stations = np.delete(self.stations, close + 1)
        self.nodes: Points = old.points(self.stations)
        ahead = np.diff(np.append(self.stations, self.stations[0] + self.total))
        self.weights: Reals = (ahead + np.roll(ahead, 1)) / 2
        self.ahead: Reals = ahead
        self.tolerance = LOOSEST
        self.noise = 0.0
        self._tried: dict[Guess, Rigid | None] = {}

    @cached_property
    def surest(self) -> Rigid | None:
        """The motion that explains most, as far as it can be seen before it is known how alike the lines are."""
        explained = np.zeros(len(self.stations), dtype=bool)
        return self._unmoved(explained) or self._best(
            self._guesses, explained, every=max(1, len(self.stations) // 200)
        )

    def found(self, noise: float) -> list[Rigid]:
        """The rigid parts, the one that explains most first.

        `noise` is what two drawings of the same line differ by in these files, in mm.
        """
        if self.surest is None:
            return []
        self.noise = noise
        self.tolerance = min(LOOSEST, max(CLOSEST, SPREAD * noise))
        self._tried.clear()
        parts: list[Rigid] = []
        explained = np.zeros(len(self.stations), dtype=bool)
        best = self._unmoved(explained)
        guesses = [Guess(self.surest.motion), *self._guesses] if best is None else []
        best = best or self._best(guesses, explained)
        while best is not None:
            runs = self._fresh_runs(best, ~explained)
            parts.append(replace(best, runs=runs))
            explained |= self._covered(runs)
            if float(self.weights[~explained].sum()) < SHORTEST:
                break
            more = [*guesses, *(guess for part in parts for guess in self._onward(part))]
            best = self._best(more, explained)
        return parts

    def _unmoved(self, explained: Flags) -> Rigid | None:
        """No motion, where the line is drawn again to the last bit, as most of an altered file is: nothing needs to be searched."""
        whole = self._drawn_again
        return whole if whole is not None and self._trusted(whole, ~explained) else None

    @cached_property
    def _drawn_again(self) -> Rigid | None:
        if self.old != self.new:
            return None
        runs = (RigidRun(0.0, self.total, 0.0, self.new_total),)
        return Rigid(Affine.identity(), runs, 0.0, self.old.tangents(self.stations))

    # Guesses

    @cached_property
    def _guesses(self) -> list[Guess]:
        """Motions to begin from: none at all, and those that lay one corner on its mate by one of its lines."""
        guesses = [Guess(Affine.identity())]
        for a, b in self.corners:
            old_in, old_out = self._directions(self.old, a, [pair[0] for pair in self.corners])
            new_in, new_out = self._directions(self.new, b, [pair[1] for pair in self.corners])
            for before, after in ((old_out, new_out), (old_in, new_in)):
                guesses.append(Guess(_motion(self.old.point(a), before, self.new.point(b), after)))
        return guesses

    @staticmethod
    def _directions(curve: Curve, station: float, corners: Sequence[float]) -> tuple[complex, complex]:
        total = curve.length
        gaps = [(other - station) % total for other in corners]
        ahead = min([gap for gap in gaps if gap > 1e-6], default=total)
        back = min([total - gap for gap in gaps if gap > 1e-6], default=total)
        going = curve.between(station % total, (station + min(ahead, REACH)) % total)
        coming = curve.between((station - min(back, REACH)) % total, station % total)
        return arriving(coming), leaving(going)

    def _onward(self, part: Rigid) -> Iterator[Guess]:
        """Motions that go on behind the ends of the runs of a part as behind a hinge: at the same length of line."""
        for run in part.runs:
            if run.length >= self.total - 1.0:
                continue
            for near, far in WINDOWS:
                steps = np.linspace(near, far, 6)
                for at, to, way in ((run.stop, run.new_stop, 1), (run.start, run.new_start, -1)):
                    old = self.old.points((at + way * steps) % self.total)
                    yield Guess(_fitted(old, self._new(to + way * steps)), (at, to))

    def _new(self, stations: Reals) -> Points:
        return self.new.points(stations % self.new_total)

    # Bettering

    def _best(self, guesses: Iterable[Guess], explained: Flags, every: int = 1) -> Rigid | None:
        """The motion that explains most of what is not explained yet, if it explains enough."""
        fresh = ~explained
        chosen = np.flatnonzero(fresh)[::every]
        best: Rigid | None = None
        most = 0.0
        ranked: list[tuple[float, int, Guess]] = []
        seen: list[Affine] = []
        for guess in guesses:
            if any(self._alike(guess.motion, other) for other in seen):
                continue
            seen.append(guess.motion)
            apart = self.target.distances(guess.motion.apply(self.nodes[chosen]))
            close = chosen[apart <= 4 * max(self.tolerance, CLOSEST)]
            ranked.append((-round(float(self.weights[close].sum()), 3), len(ranked), guess))
        for share, _, guess in sorted(ranked, key=lambda item: item[:2])[:12]:
            if share == 0.0 or -share * every < most / 4:
                break
            if guess not in self._tried:
                self._tried[guess] = self._bettered(guess)
            rigid = self._tried[guess]
            if rigid is None:
                continue
            gained = self._gain(rigid, fresh)
            if gained > most and self._trusted(rigid, fresh):
                best, most = rigid, gained
            if best is not None and most >= NEARLY_ALL * float(self.weights[fresh].sum()):
                break
        return best

    def _alike(self, one: Affine, other: Affine) -> bool:
        corners = self.nodes[:: max(1, len(self.nodes) // 8)]
        return bool(np.abs(one.apply(corners) - other.apply(corners)).max() < self.tolerance / 4)

    def _gain(self, rigid: Rigid, fresh: Flags) -> float:
        return float(self.weights[self._covered(rigid.runs) & fresh].sum())

    def _bettered(self, guess: Guess) -> Rigid | None:
        """The motion after least squares on the distances along its own runs, and those runs."""
        free = self._settled(guess.motion, None)
        if free is None or guess.anchor is None or self._held(free, free.runs) >= HELD:
            return free
        # Arcs and straight lines slide along themselves, so that only the hinge tells where they are.
        return self._settled(guess.motion, guess.anchor)

    def _settled(self, motion: Affine, anchor: tuple[float, float] | None) -> Rigid | None:
        for step, reach in enumerate((4.0, 2.0, *[1.0] * 8)):
            feet = self.target.feet(motion.apply(self.nodes))
            runs = self._runs(feet, reach * self.tolerance)
            if not runs:
                return None
            correction = self._correction(motion, feet, runs, anchor)
            if step >= 2 and float(np.abs(correction.apply(self.nodes) - self.nodes).max()) < 1e-9:
                break  # the feet are those of this motion
            motion = correction @ motion
        else:
            feet = self.target.feet(motion.apply(self.nodes))
        runs = self._runs(feet, self.tolerance)
        if not runs:
            return None
        noise = median_of(np.abs(feet.distances[self._covered(runs)]))
        return Rigid(motion, runs, noise, feet.directions)

    def _correction(
        self, motion: Affine, feet: Feet, runs: Sequence[RigidRun], anchor: tuple[float, float] | None
    ) -> Affine:
        """The small turn and move that lessens the distances; what they do not determine stays as it is."""
        inside = self._covered(runs)
        points = motion.apply(self.nodes)
        normals, distances = 1j * feet.directions[inside], feet.distances[inside]
        scale = 3 * median_of(np.abs(distances)) + 1e-6
        weights = np.sqrt(self.weights[inside] / (1 + (distances / scale) ** 2))
        arms = points[inside]
        if anchor is not None:
            hinged = self._covered([run for run in runs if self._ends_at(run, anchor[0])])
            wanted = self._new(self.stations[hinged] + anchor[1] - anchor[0])
            along = feet.directions[hinged]
            gaps = ((points[hinged] - wanted) * along.conjugate()).real
            arms = np.concatenate([arms, points[hinged]])
            normals, distances = np.concatenate([normals, along]), np.concatenate([distances, gaps])
            weights = np.concatenate([weights, np.sqrt(self.weights[hinged])])
        middle = complex(arms.mean())
        arms = arms - middle
        size = max(float(np.abs(arms).max()), 1.0)
        columns = np.stack([normals.real, normals.imag, (1j * arms / size * normals.conjugate()).real], axis=1)
        solution = np.linalg.lstsq(columns * weights[:, None], -distances * weights, rcond=2e-3)[0]
        turn = complex(np.exp(1j * float(solution[2]) / size))
        return Affine(turn, 0j, middle + complex(solution[0], solution[1]) - turn * middle)

    def _ends_at(self, run: RigidRun, station: float) -> bool:
        gaps = (abs((end - station + self.total / 2) % self.total - self.total / 2) for end in (run.start, run.stop))
        return min(gaps) <= 2 * SHORTEST

    def _held(self, rigid: Rigid, runs: Iterable[RigidRun]) -> float:
        """How many mm of some runs hold a part against sliding in the direction in which it slides most easily."""
        inside = self._covered(runs)
        normals = 1j * rigid.directions[inside]
        weights = self.weights[inside]
        squares = float((weights * normals.real**2).sum()), float((weights * normals.imag**2).sum())
        mixed = float((weights * normals.real * normals.imag).sum())
        return float(sum(squares) / 2 - np.hypot((squares[0] - squares[1]) / 2, mixed))

    def _fresh_runs(self, rigid: Rigid, fresh: Flags) -> tuple[RigidRun, ...]:
        """The runs where no other part is: straight lines lie on each other, and others may by chance.

        A run may reach a little into its neighbour, since near a hinge both fit.
        """
        if fresh.all() and [run.length for run in rigid.runs] == [self.total]:
            return rigid.runs
        found = []
        for run in rigid.runs:
            ahead = (self.stations - run.start + EXACT) % self.total - EXACT
            within = np.flatnonzero(ahead <= run.length + EXACT)
            within = within[np.argsort(np.round(ahead[within], 6), kind="stable")]
            new = fresh[within]
            edges = np.flatnonzero(np.diff(np.concatenate([[False], new, [False]]).astype(int)))
            for first, last in zip(edges[::2].tolist(), (edges[1::2] - 1).tolist(), strict=True):
                low, high = float(ahead[within[max(first - 1, 0)]]), float(ahead[within[min(last + 1, len(new) - 1)]])
                if float(self.weights[within[first : last + 1]].sum()) >= SHORTEST / 2:
                    found.append(
                        RigidRun(run.start + low, run.start + high, run.new_start + low, run.new_start + high)
                    )
        return tuple(found)

    def _trusted(self, rigid: Rigid, fresh: Flags) -> bool:
        """Whether the new runs tell enough of the motion: a single straight stretch fits anywhere along its line."""
        runs = self._fresh_runs(rigid, fresh)
        if not runs or (self.tolerance < LOOSEST and rigid.noise > NOISIER * self.noise + STIFF):
            return False
        # The first, by which it is told how alike the lines are, is only held as a narrow band's short end can hold it.
        loose = 1.0 if self.tolerance >= LOOSEST and not self.noise else max(1.0, np.sqrt(self.tolerance / CLOSEST))
        if self._held(rigid, runs) >= HELD * loose:
            return True
        starts = np.array([pair[0] for pair in self.corners])
        lines = {
            int(np.searchsorted(starts, (run.start + run.stop) / 2 % self.total)) % max(1, len(starts))
            for run in runs
        }
        return len(lines) >= 2 and sum(run.length for run in runs) >= TOGETHER

    # Runs

    def _runs(self, feet: Feet, tolerance: float) -> tuple[RigidRun, ...]:
        """Where the moved old line keeps within the tolerance of the new one and runs along it at the same pace."""
        close = np.abs(feet.distances) <= tolerance
        offsets = feet.stations - self.stations
        steps = (np.roll(offsets, -1) - offsets + self.new_total / 2) % self.new_total - self.new_total / 2
        steps[-1] = (offsets[0] - self.total - offsets[-1] + self.new_total / 2) % self.new_total - self.new_total / 2
        together = close & np.roll(close, -1) & (np.abs(steps) <= 2 * tolerance + 0.02)
        if together.all():
            return (RigidRun(0.0, self.total, float(feet.stations[0]), float(feet.stations[0]) + self.new_total),)
        runs = []
        count = len(close)
        begins = np.flatnonzero(together & ~np.roll(together, 1))
        goes_on, gaps, paces = (
            together.tolist(),
            self.ahead.tolist(),
            steps.tolist(),
        )  # plain numbers are read fastest
        for begin in begins.tolist():
            node = begin
            along = [float(self.stations[begin])]
            ahead = [0.0]  # of the new station, beyond what the old one went on
            while goes_on[node]:
                along.append(along[-1] + gaps[node])
                ahead.append(ahead[-1] + paces[node])
                node = (node + 1) % count
            if along[-1] - along[0] >= SHORTEST:
                # Rigid lines keep pace; the median is free of what happens at the very ends.
                new = float(feet.stations[begin]) + median_of(ahead)
                runs.append(RigidRun(along[0], along[-1], new, new + along[-1] - along[0]))
        return tuple(runs)

    def _covered(self, runs: Iterable[RigidRun]) -> Flags:
        covered = np.zeros(len(self.stations), dtype=bool)
        for run in runs:
            covered |= (self.stations - run.start + EXACT) % self.total <= run.length + 2 * EXACT
        return covered


def _motion(at: complex, direction: complex, to: complex, new_direction: complex) -> Affine:
    turn = new_direction / direction
    turn /= abs(turn)
    return Affine(turn, 0j, to - turn * at)


def _fitted(source: Points, target: Points) -> Affine:
    """The rigid motion that fits points to points best (least squares, in closed form)."""
    here, there = complex(source.mean()), complex(target.mean())
    turn = complex((np.conj(source - here) * (target - there)).sum())
    turn = turn / abs(turn) if turn else 1 + 0j
    return Affine(turn, 0j, there - turn * here)
