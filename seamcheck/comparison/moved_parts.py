"""From rigid runs to parts, breaks and cuts: where the paper was slashed, what turned about what, and by how much."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from seamcheck.comparison.alignment import View
from seamcheck.comparison.changes import Break, Cut, MovedPart
from seamcheck.comparison.parting import parting
from seamcheck.comparison.rigid_motion import Rigid, RigidRun, Search
from seamcheck.exact import EXACT, most
from seamcheck.geometry.bezier import Reals
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.exact_arrays import least_at, most_at

UNSTEADY = 20.0  # times the noise by which the length of a line may differ
SHAKEN = 60.0  # times the noise by which it may where parts turned about a point of the line
UNMOVED = 0.15  # of the outline: a part that large which lies where it lay is the one that the others moved against
NOTHING = 0.1  # mm: a line that changed by less did not change there
CROSSES = 0.01  # mm: lines that cross elsewhere than where the new one became shorter cross by chance
SHARP = 12.0  # mm: parts that come nearer than this to each other meet at a cut, else a line was drawn between them
OVER = 0.3  # mm that a run may seem to end before the joint at which it does
AT_CORNER = 1.0  # mm beyond a corner up to which lines that turn there may be taken for one
APART = 12.0  # mm between points of a digitised line at most: between them it was not drawn, but joined
WIDEST = 60.0  # mm that a part may seem to go on behind a hinge
SIDEWAYS = 5.0  # mm: how far a centre may lie from the line and still be a hinge on it
AT = 1e-3  # mm: a part that ends this near a corner holds it
TURNED = 0.02  # degrees: parts that turned by less only moved against each other


@dataclass(frozen=True, slots=True)
class Laid:
    """A run with its part, in walking order along both outlines (new stations never fall)."""

    part: int
    run: RigidRun


@dataclass(frozen=True, slots=True)
class Gap:
    """What lies between two neighbouring runs: old stations from `start` to `stop`, new ones likewise.

    At a cut the old line from `start` to `stop` is what was overlapped, the new one what bridges a spread.
    """

    first: int
    second: int
    start: float
    stop: float
    new_start: float
    new_stop: float
    amount: float
    cut: bool

    @property
    def middle(self) -> float:
        """The middle of the old stretch."""
        return (self.start + self.stop) / 2


class Division:
    """An outline divided into the rigid parts that were found; stations are those of the frame."""

    def __init__(self, search: Search, rigid: Sequence[Rigid], *, in_place: bool) -> None:
        """Order the runs and find where they meet. `in_place`: files in which a part may lie where it lay."""
        self.search = search
        laid = _in_order(search, rigid)
        used = sorted({one.part for one in laid})
        motions = [rigid[index].motion for index in used]
        lengths = [sum(one.run.length for one in laid if one.part == index) for index in used]
        first = _reference(search, motions, lengths, in_place=in_place)
        ranks = [first, *(k for k in range(len(used)) if k != first)]
        self.motions = [motions[k] for k in ranks]
        number = {used[k]: rank for rank, k in enumerate(ranks)}
        self.laid = [Laid(number[one.part], one.run) for one in laid]
        self.gaps = [self._gap(*pair) for pair in self._pairs()]
        self.stretches = list(self._stretches())

    def _pairs(self) -> Iterator[tuple[Laid, Laid]]:
        if len(self.laid) == 1 and self.laid[0].run.length >= self.search.total - 1e-6:
            return
        yield from pairwise(self.laid)
        last, first = self.laid[-1], self.laid[0].run
        total, new_total = self.search.total, self.search.new_total
        again = RigidRun(
            first.start + total, first.stop + total, first.new_start + new_total, first.new_stop + new_total
        )
        yield last, Laid(self.laid[0].part, again)

    def turn(self, part: int, against: int = 0) -> float:
        """By how much a part turned against another, in degrees, anticlockwise positive."""
        return float(np.degrees(np.angle(self.motions[part].a / self.motions[against].a)))

    def between(self, first: int, second: int) -> Affine:
        """The move of the second part against the first, on the old outline."""
        return self.motions[first].inverse() @ self.motions[second]

    def centre(self, first: int, second: int) -> complex | None:
        """The point of the old piece that stayed the same to both parts."""
        move = self.between(first, second)
        return move.c / (1 - move.a) if abs(np.degrees(np.angle(move.a))) > TURNED else None

    # Where parts meet

    def _gap(self, one: Laid, two: Laid) -> Gap:
        a, b = one.run, two.run
        amount = b.offset - a.offset
        if one.part == two.part:
            return self._open(one, two, amount)
        apart = max(b.start - a.stop - max(-amount, 0.0), b.new_start - a.new_stop - max(amount, 0.0))
        if apart > SHARP:
            return self._open(one, two, amount)
        # An unsteady hand makes every line a little longer, so that small changes of length tell nothing.
        hinge = self._hinge(one, two)
        nothing = max(NOTHING, (UNSTEADY if hinge is None else SHAKEN) * self.search.noise)
        if amount < -nothing:
            # Where the lines run side by side one was led over to the other, and they cross nowhere near.
            start, stop = self._crossing(one, two, amount) or (a.stop, a.stop - amount)
            amount = start - stop
        elif amount <= nothing:
            start = stop = (a.stop + b.start) / 2 if hinge is None else hinge
            amount = 0.0
        else:
            start = stop = self._spread(one, two, amount)
            at = self.search.old.point(start % self.search.total)
            amount = abs(complex(self.motions[two.part].apply(at) - self.motions[one.part].apply(at)))
        return Gap(one.part, two.part, start, stop, start + a.offset, stop + b.offset, amount, cut=True)

    def _open(self, one: Laid, two: Laid, amount: float) -> Gap:
        """The gap between two runs that do not meet: a line was drawn anew there."""
        a, b = one.run, two.run
        start, stop = self._end(one, 1, b.start), self._end(two, -1, a.stop)
        return Gap(one.part, two.part, start, stop, start + a.offset, stop + b.offset, amount, cut=False)

    def _end(self, laid: Laid, way: int, limit: float) -> float:
        """Where a run really ends: at the last joint of either line that it reaches.

        Two smooth lines that part company do so at a joint, and stay close for a while behind it. Where every point
        of a digitised line is a joint, the growing distance tells. `limit` is where the next run begins.
        """
        search, run = self.search, laid.run
        inside = run.stop if way > 0 else run.start
        good, bad = inside, inside + way * float(search.ahead.max())
        for _ in range(30):
            middle = (good + bad) / 2
            if self._along(laid, middle):
                good = middle
            else:
                bad = middle
        joints = search.old.joint_stations[:-1], search.new.joint_stations[:-1]
        end = good - way * self._behind(good, run, way, joints)
        if self._on_points(good, good + run.offset):
            end = self._end_on_points(laid, good, way, limit, end)
        low, high = (run.start, run.stop + SHARP) if way > 0 else (run.start - SHARP, run.stop)
        return min(max(end, low), high)

    def _end_on_points(self, laid: Laid, good: float, way: int, limit: float, joint: float) -> float:
        """Where a run ends that is good up to a place: at a corner, or where the distance begins to grow; else at a joint."""
        corners = tuple(np.array([pair[side] for pair in self.search.corners]) for side in (0, 1))
        behind = self._behind(good, laid.run, way, (corners[0], corners[1]))
        if behind <= AT_CORNER:
            return good - way * behind
        ahead = parting(
            lambda ahead: self._distances(laid.part, good + way * ahead),
            laid.run.length / 2,
            way * (limit - good),
            self.search.tolerance,
        )
        return joint if ahead is None else good + way * ahead

    def _behind(self, good: float, run: RigidRun, way: int, marks: tuple[Reals, Reals]) -> float:
        """How far behind a place of a run the last of the old and new stations lies, which may be a little ahead of it."""
        totals = ((self.search.total, 0.0), (self.search.new_total, run.offset))
        gaps = [
            way * (good + way * OVER + offset - stations) % total
            for stations, (total, offset) in zip(marks, totals, strict=True)
        ]
        return float(np.concatenate(gaps).min(initial=self.search.total)) - OVER

    def _on_points(self, station: float, new_station: float) -> bool:
        """Whether either line was digitised about a place."""
        search = self.search
        return _is_of_points(search.old, station % search.total) or _is_of_points(
            search.new, new_station % search.new_total
        )

    def _distances(self, part: int, stations: Reals) -> Reals:
        """How far the new line lies from the old one as a part carried it, with signs."""
        search = self.search
        return search.target.feet(self.motions[part].apply(search.old.points(stations % search.total))).distances

    def _along(self, laid: Laid, station: float) -> bool:
        search = self.search
        there = search.new.point((station + laid.run.offset) % search.new_total)
        moved = complex(self.motions[laid.part].apply(search.old.point(station % search.total)))
        # By place, not by the nearest point: behind a corner the nearest point stays at the corner.
        return abs(there - moved) <= max(search.tolerance, 3 * search.noise) * 1.5

    def _hinge(self, one: Laid, two: Laid) -> float | None:
        """The place of the old line that stayed the same to both parts, None where none does."""
        centre = self.centre(one.part, two.part)
        if centre is None:
            return None
        low, high = self._window(one, two)
        stretch = self.search.old.between(low % self.search.total, high % self.search.total)
        near = stretch.nearest(centre)
        return low + near.station if near.distance <= SIDEWAYS else None

    def _window(self, one: Laid, two: Laid) -> tuple[float, float]:
        """Where on the old line two parts meet: about the ends of their runs, as far as both may fit beyond."""
        turn = abs(np.radians(self.turn(two.part, one.part)))
        reach = SHARP + min(self.search.tolerance / max(float(turn), 1e-3), WIDEST)
        ends = one.run.stop, two.run.start
        return min(ends) - reach, max(ends) + reach

    def _crossing(self, one: Laid, two: Laid, amount: float) -> tuple[float, float] | None:
        """Where the line of the one part crosses that of the other, as stations of the old line on both.

        None where they do not, by the amount by which the line became shorter, as surely as that is known.
        """
        search = self.search
        low, high = self._window(one, two)
        reach = abs(amount) + (high - low) / 2 + SHARP
        middle = (one.run.stop + two.run.start) / 2
        low = middle - reach
        stretch = search.old.between(low % search.total, (middle + reach) % search.total)
        first, second = (stretch.transformed(self.motions[laid.part]) for laid in (one, two))
        fitting = [
            (abs(v - u + amount), u, v)
            for u, v in first.crossings(second)
            if abs(v - u + amount) <= max(CROSSES, UNSTEADY * search.noise)
        ]
        if not fitting:
            return None
        _, u, v = min(fitting)
        return low + u, low + v

    def _spread(self, one: Laid, two: Laid, amount: float) -> float:
        """Where a line was cut that now stands open: from there a straight stub leads to the same place beyond."""
        search, a = self.search, one.run
        low, high = self._window(one, two)
        joints = search.new.joint_stations[:-1]
        starts = [low + float(g) for g in (joints - a.offset - low) % search.new_total if g <= high - low]
        stations = np.array(sorted({*starts, *np.linspace(low, high, 49).tolist()}))
        misses = [self._stub_miss(one, two, float(s), amount) for s in stations]
        best = least_at(misses)
        # Between the places that were tried the miss falls and rises once.
        left, right = float(stations[max(best - 1, 0)]), float(stations[min(best + 1, len(stations) - 1)])
        here = float(stations[best])
        for _ in range(40):
            u, v = left + (right - left) * 0.382, left + (right - left) * 0.618
            if self._stub_miss(one, two, u, amount) < self._stub_miss(one, two, v, amount):
                right = v
            else:
                left = u
        found = (left + right) / 2
        return found if self._stub_miss(one, two, found, amount) < misses[best] else here

    def _stub_miss(self, one: Laid, two: Laid, station: float, amount: float) -> float:
        """How far the new line keeps from the path along the one part, straight across, and along the other."""
        search = self.search
        at = search.old.point(station % search.total)
        here, there = (complex(self.motions[laid.part].apply(at)) for laid in (one, two))
        steps = np.linspace(0.0, 1.0, 9)
        across = here + steps * (there - here)
        new = search.new.points((station + one.run.offset + steps * amount) % search.new_total)
        return float(np.abs(new - across).max())

    def _stretches(self) -> Iterator[tuple[int | None, float, float, float, float]]:
        """Part (None: drawn anew), old start and stop, new start and stop, all round and in order."""
        if not self.gaps:
            run = self.laid[0].run
            yield self.laid[0].part, run.start, run.stop, run.new_start, run.new_stop
            return
        total, new_total = self.search.total, self.search.new_total
        last = self.gaps[-1]
        start, new_start = last.stop - total, last.new_stop - new_total
        for laid, gap in zip(self.laid, self.gaps, strict=True):
            yield laid.part, start, gap.start, new_start, gap.new_start
            yield None, gap.start, gap.stop, gap.new_start, gap.new_stop
            start, new_start = gap.stop, gap.new_stop

    def _carried(self, part: int, station: float, new_station: float) -> float:
        """The new station to which a part carried a place of the old line; noise makes one line longer than the other."""
        search = self.search
        near = search.new.nearest(complex(self.motions[part].apply(search.old.point(station % search.total))))
        ahead = (near.station - new_station + search.new_total / 2) % search.new_total - search.new_total / 2
        there = near.distance <= 2 * search.tolerance and abs(ahead) <= SHARP
        return new_station + ahead if there else new_station

    def new_station(self, station: float) -> tuple[float, int | None, tuple[float, float]]:
        """Where a place of the old line is on the new one, on which part, and the window it may lie in.

        On a stretch that was drawn anew it lies in proportion, and anywhere between its ends.
        """
        total = self.search.total
        for part, start, stop, new_start, new_stop in self.stretches:
            ahead = (station - start + EXACT) % total - EXACT
            if ahead <= stop - start + EXACT:
                if part is not None:
                    there = self._carried(part, station, new_start + ahead)
                    return there, part, (there, there)
                share = ahead / (stop - start) if stop > start else 0.0
                return new_start + share * (new_stop - new_start), None, (new_start, new_stop)
        part, start, _, new_start, _ = self.stretches[0]
        return new_start + (station - start), part, (new_start, new_start)

    # What is told

    def parts(self, old: View) -> tuple[MovedPart, ...]:
        """The parts for people: the motions in the axes of the frame are left to the caller."""
        total = self.search.total
        parts = []
        for index, motion in enumerate(self.motions):
            mine = [(start, stop) for part, start, stop, _, _ in self.stretches if part == index]
            length = sum(stop - start for start, stop in mine)
            middle = sum(
                old.curve.points((start + np.linspace(0.0, 1.0, 24) * (stop - start)) % total).mean() * (stop - start)
                for start, stop in mine
            ) / max(length, 1e-9)
            longest = most(mine, key=lambda stretch: stretch[1] - stretch[0])
            held = tuple(
                name
                for name, station in old.corners.items()
                if any((station - start + AT) % total <= stop - start + 2 * AT for start, stop in mine)
            )
            parts.append(
                MovedPart(
                    motion=motion,
                    turn=self.turn(index),
                    length=length,
                    middle=complex(middle),
                    amid=old.place(sum(longest) / 2),
                    corners=held,
                )
            )
        return tuple(parts)

    def breaks(self, old: View, new: View) -> tuple[Break, ...]:
        """The places where parts meet."""
        found = []
        for gap in self.gaps:
            if gap.first != gap.second:
                before = old.place(gap.middle)
                after = new.place((gap.new_start + gap.new_stop) / 2, before.edge)
                amount = gap.amount if abs(gap.amount) > NOTHING else 0.0
                found.append(
                    Break(
                        first=gap.first,
                        second=gap.second,
                        amount=amount,
                        before=before,
                        after=after,
                        sharp=gap.cut,
                    )
                )
        return tuple(found)

    def cuts(self, breaks: Sequence[Break], from_frame: Affine) -> tuple[Cut, ...]:
        """The breaks two and two: those between the same parts belong to one cut."""
        pairs: dict[tuple[int, int], list[Break]] = {}
        for one in breaks:
            # What turned less is what the other turned against.
            fixed, moved = sorted((one.first, one.second), key=lambda part: (round(abs(self.turn(part)), 6), part))
            pairs.setdefault((fixed, moved), []).append(one)
        cuts = []
        for (fixed, moved), mine in pairs.items():
            centre = self.centre(fixed, moved)
            at = None if centre is None else complex(from_frame.apply(centre))
            hinge = None
            if at is not None:
                near = [one for one in mine if abs(one.before.at - at) <= SIDEWAYS and not one.amount]
                hinge = min(near, key=lambda one: round(abs(one.before.at - at), 6), default=None)
            move = self.between(fixed, moved)
            cuts.append(
                Cut(
                    fixed=fixed,
                    moved=moved,
                    turn=self.turn(moved, fixed),
                    shift=abs(move.c) if at is None else 0.0,
                    centre=at,
                    breaks=tuple(mine),
                    hinge=hinge,
                )
            )
        return tuple(cuts)


def _is_of_points(curve: Curve, station: float) -> bool:
    """Whether the line there runs from one point to the next, as a curve that was digitised does."""
    index, _ = curve.locate(station)
    return bool(curve.joint_stations[index + 1] - curve.joint_stations[index] <= APART)


def _reference(search: Search, motions: Sequence[Affine], lengths: Sequence[float], *, in_place: bool) -> int:
    """The part that the others moved against: the one that stayed where it was, else the largest."""
    longest = most_at(lengths)
    if not in_place:
        return longest
    for index in np.argsort(-np.round(lengths, 6), kind="stable").tolist():
        still = float(np.abs(motions[index].apply(search.nodes) - search.nodes).max()) <= search.tolerance
        if still and lengths[index] >= UNMOVED * search.total:
            return int(index)
    return longest


def _in_order(search: Search, rigid: Sequence[Rigid]) -> list[Laid]:
    """The runs in the order of the old line, without those that would lie out of order on the new one."""
    runs = sorted(
        (Laid(index, run) for index, one in enumerate(rigid) for run in one.runs),
        key=lambda laid: -round(laid.run.length, 6),
    )
    base = runs[0].run
    total, new_total = search.total, search.new_total
    kept: list[Laid] = []
    for laid in runs:
        run = laid.run
        start = base.start + (run.start - base.start) % total
        new_start = base.new_start + (run.new_start - base.new_start) % new_total
        moved = Laid(
            laid.part, RigidRun(start, start + run.length, new_start, new_start + run.new_stop - run.new_start)
        )
        if all(_orderly(moved.run, other.run) for other in kept):
            kept.append(moved)
    return sorted(kept, key=lambda laid: laid.run.start)


def _orderly(one: RigidRun, other: RigidRun) -> bool:
    """Whether two runs follow each other alike on both lines; a hinge lets them overlap a little."""
    first, second = (one, other) if one.start <= other.start else (other, one)
    slack = 3 * SHARP
    return first.stop <= second.start + slack and first.new_stop <= second.new_start + slack
