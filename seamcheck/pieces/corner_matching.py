"""Finding a plan's corners again on an outline that was moved, turned, mirrored, graded, altered or redrawn.

A hypothesis is a fit (a similarity, perhaps mirrored) from the plan's coordinates to the file's, and an order in
which the plan's corners follow each other along the outline. Under a hypothesis every plan corner has a few
candidate places: detected corners, and points of the line nearest to where the fit puts it. Dynamic programming
chooses one for each so that they stand in that order, at least cost.

The costs are those of a long-tailed error law (log(1 + (r / s)^2), as for a Cauchy distribution): an alteration
leaves most distances exactly as they were and changes a few by much, so what counts is how many relations are
broken, much more than by how far. The scales and penalties are from memory and trial, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT, snapped
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.exact_arrays import least_at, most_at, snapped_all
from seamcheck.geometry.fitting import LARGEST_SCALE
from seamcheck.geometry.short_arrays import rolled

Points = npt.NDArray[np.complex128]
Reals = npt.NDArray[np.float64]

STEP = 2.0  # mm between the points that stand for the outline while candidates are sought
MOST_POINTS = 4000
GATE = 120.0  # mm: no corner moves further from where the fit puts it (5 degrees over a leg make 90)
NEAR_LINE = 60.0  # mm: how far from the fitted place a point on a smooth line may be
ARM = 6.0  # mm on either side over which the turn at a corner is judged
OVERLOOKED = 35.0  # degrees: a turn this sharp is a corner, whoever detected none there
BLUNT = 15.0  # degrees: a corner that turns by less counts as partly smooth
SNAP = 1.5  # mm: a point of the line this near a detected corner is that corner

PLACE_SCALE = 1.0  # mm
SMOOTH = 1.5  # cost of a corner on a smooth line
SHARP_ON_SMOOTH = 12.0  # more, when the plan's corner is sharp and the line leaves a detected one unnamed beside it
UNNAMED = 10.0  # cost of a detected corner that stays without a name
MISSING = 24.0  # cost of a plan corner that is found nowhere
ELSEWHERE = 4.0  # cost of a fit that takes some corner further than STAYS from where the plan has it
STAYS = 45.0  # mm
MOVED, TURNED, MIRRORED, SCALED = 2.0, 4.0, 6.0, 8.0  # costs of a fit that is not the identity


@dataclass(frozen=True)
class SearchedOutline:
    """The outline as it is searched: its corners with their turns, and closely spaced points.

    `detected` are the stations of the corners that are known; `corners` adds sharp ones that were overlooked.
    """

    curve: Curve
    detected: Reals

    @cached_property
    def corners(self) -> Reals:
        """The stations of all corners, sorted."""
        arm = max(1, round(ARM * len(self.points) / self.length))
        ways = self.points - np.roll(self.points, arm)
        onward = np.roll(ways, -arm)
        turns = np.abs(np.angle(onward * np.conj(ways)))
        joints, joint_turns = self.curve.joint_stations[:-1], None
        found = list(self.detected)
        for index in np.argsort(-np.round(turns, 6), kind="stable"):
            if turns[index] < np.radians(OVERLOOKED):
                break
            station = float(self.stations[index])
            if any(abs(_gap(station, other, self.length)) <= ARM - EXACT for other in found):
                continue  # whichever joint it is moved to, it is that corner
            near = np.flatnonzero(np.abs(_gap(joints, station, self.length)) <= ARM + EXACT)
            if len(near):
                joint_turns = np.abs(self._turns(joints)) if joint_turns is None else joint_turns
                station = float(joints[near[most_at(joint_turns[near])]])
            if all(abs(_gap(station, other, self.length)) > 2 * ARM for other in found):
                found.append(station)
        return np.array(sorted(found), dtype=float)

    def _turns(self, stations: Reals) -> Reals:
        """By how much the outline turns at each station, in degrees, judged over a few mm of line."""
        reach = min(ARM, self.length / 50)
        around = np.concatenate([(stations + step) % self.length for step in (0.0, -reach, reach)])
        at, before, after = self.curve.points(around).reshape(3, -1)
        return snapped_all(np.degrees(np.angle((after - at) * np.conj(at - before))))

    @cached_property
    def length(self) -> float:
        """The length round the outline in mm."""
        return self.curve.length

    @cached_property
    def corner_points(self) -> Points:
        """Where the corners are."""
        return np.asarray(self.curve.points(self.corners), dtype=complex)

    @cached_property
    def turns(self) -> Reals:
        """By how much the outline turns at each corner, in degrees."""
        return self._turns(self.corners)

    @cached_property
    def weights(self) -> Reals:
        """The cost of leaving each detected corner without a name: the sharper it is, the more."""
        return UNNAMED * np.clip((np.abs(self.turns) - 10.0) / 30.0, 0.0, 1.0)

    @cached_property
    def stations(self) -> Reals:
        """The stations of the closely spaced points."""
        count = int(min(MOST_POINTS, max(32, self.length / STEP)))
        return np.asarray(np.arange(count) * (self.length / count), dtype=float)

    @cached_property
    def points(self) -> Points:
        """The closely spaced points."""
        return np.asarray(self.curve.points(self.stations))

    def near(self, at: complex, reach: float, most: int = 3) -> list[tuple[float, complex]]:
        """Up to `most` places of the line that are locally nearest to a point, as (station, point)."""
        distance = np.round(np.abs(self.points - at), 9)
        lowest = (distance <= np.roll(distance, 1)) & (distance < rolled(distance))
        found = np.flatnonzero(lowest)
        found = found[np.argsort(np.round(distance[found], 6), kind="stable")][:most]
        places = []
        for index in found:
            station, point = self._refined(int(index), at)
            if abs(point - at) <= reach:
                places.append((station, point))
        return places

    def _refined(self, index: int, at: complex) -> tuple[float, complex]:
        """The nearest place on the two stretches beside one of the closely spaced points."""
        count, step = len(self.points), self.length / len(self.points)
        here = complex(self.points[index])
        best = (abs(here - at), float(self.stations[index]), here)
        for other, way in ((index - 1, -step), ((index + 1) % count, step)):
            along = complex(self.points[other]) - here
            if along:
                t = min(1.0, max(0.0, ((at - here) * along.conjugate()).real / abs(along) ** 2))
                point = here + t * along
                station = (float(self.stations[index]) + way * t) % self.length
                best = min(best, (abs(point - at), station, point), key=lambda one: round(one[0], 6))
        return best[1], best[2]

    def unnamed(self, starts: Reals, ahead: Reals) -> Reals:
        """The weight of the corners strictly inside stretches (n, m) that start at (n,) and run `ahead` mm (n, m)."""
        round_twice = np.concatenate([self.corners, self.corners + self.length, self.corners + 2 * self.length])
        sums = np.concatenate([[0.0], np.cumsum(np.tile(self.weights, 3))])
        first = np.searchsorted(round_twice, starts + 2 * SNAP, side="right")[:, None]
        last = np.searchsorted(round_twice, starts[:, None] + ahead - 2 * SNAP, side="left")
        return np.asarray(sums[np.maximum(last, first)] - sums[first])


@dataclass(slots=True)
class CornerPlace:
    """A candidate for a corner: its station and point, and the index of the detected corner or -1 on a line."""

    station: float
    point: complex
    corner: int


@dataclass
class Hypothesis:
    """One reading of the outline: fit, order of the plan corners along it, the chosen places and what they cost.

    `price` is what the fit itself costs; None stands for a corner that is found nowhere.
    """

    fit: Affine
    order: list[int]
    places: list[CornerPlace | None] = field(default_factory=list)
    cost: float = np.inf
    price: float = 0.0

    @property
    def total(self) -> float:
        """The whole cost, by which readings are compared."""
        return self.cost + self.price


def _turn(coming: complex, going: complex) -> float:
    """The angle in degrees from one direction to the next, from -180 to 180."""
    return snapped(float(np.degrees(np.angle(going * np.conj(coming))))) if coming and going else 0.0


def _long_tailed(residual: Reals, scale: float) -> Reals:
    return np.log1p((residual / scale) ** 2)


def fit_cost(fit: Affine, plan: Points) -> float:
    """What a fit costs by itself: a piece that stays where it is goes before one that was turned or mirrored."""
    linear = fit.b if fit.mirrors else fit.a
    moved = float(np.abs(fit.apply(plan) - plan).max())
    cost = (MOVED if moved > 1e-6 else 0.0) + (ELSEWHERE if moved > STAYS else 0.0)
    cost += SCALED if abs(abs(linear) - 1) > 1e-6 else 0.0
    if fit.mirrors:
        return cost + MIRRORED
    return cost + TURNED * bool(abs(np.angle(fit.a)) > np.radians(10.0))


def likely_fits(plan: Points, target: SearchedOutline, most: int) -> list[Affine]:
    """Fits worth a closer look, best first: each brings two far-apart plan corners onto detected corners."""
    corners = target.corner_points
    if len(plan) < 2 or len(corners) < 2:
        return []
    first, second = np.triu_indices(len(plan), 1)
    apart = np.abs(plan[first] - plan[second])
    longest = np.argsort(-np.round(apart, 6), kind="stable")
    longest = longest[apart[longest] > 0.2 * apart.max()]
    longest = longest[:: max(1, len(longest) // 24)]
    p, q = plan[first[longest]], plan[second[longest]]
    a, b = (index.ravel() for index in np.indices((len(corners),) * 2))
    a, b = a[a != b], b[a != b]
    ratio = np.abs(corners[b] - corners[a])[None, :] / np.maximum(np.abs(q - p), 1e-9)[:, None]
    pair, along = np.nonzero((ratio > 1 / LARGEST_SCALE) & (ratio < LARGEST_SCALE))
    if not len(pair):
        return []
    closest = np.argsort(np.round(np.abs(np.log(ratio[pair, along])), 9), kind="stable")[:3000]
    pair, along = pair[closest], along[closest]
    turns, shifts, flips = [], [], []
    for mirrored in (False, True):
        source_p, source_q = (np.conj(p[pair]), np.conj(q[pair])) if mirrored else (p[pair], q[pair])
        turn = (corners[b[along]] - corners[a[along]]) / (source_q - source_p)
        size = np.abs(turn)
        turn = np.where(np.abs(size - 1) < 5e-3, turn / size, turn)
        turns.append(turn)
        shifts.append((corners[a[along]] + corners[b[along]] - turn * (source_p + source_q)) / 2)
        flips.append(np.full(len(turn), mirrored))
    turn, shift, flip = np.concatenate(turns), np.concatenate(shifts), np.concatenate(flips)
    source = np.where(flip[:, None], np.conj(plan)[None, :], plan[None, :])
    images = turn[:, None] * source + shift[:, None]
    to_corner = np.abs(images[:, :, None] - corners[None, None, :]).min(axis=2)
    score = np.minimum(_long_tailed(to_corner, 4 * PLACE_SCALE), 8.0).sum(axis=1)
    chosen = np.argsort(np.round(score, 6), kind="stable")[:60]
    line = target.points[:: max(1, len(target.points) // 256)]
    images = images[chosen]
    to_line = np.abs(images[:, :, None] - line[None, None, :]).min(axis=2)
    on_line = SMOOTH + _long_tailed(np.maximum(to_line - STEP, 0.0), 4 * PLACE_SCALE)
    at_corner = _long_tailed(to_corner[chosen], 4 * PLACE_SCALE)
    score = np.minimum(np.minimum(at_corner, on_line), 8.0).sum(axis=1)
    fits: list[tuple[Affine, Points]] = []
    for index in np.argsort(np.round(score, 6), kind="stable"):
        number = chosen[index]
        if all(np.abs(images[index] - other).max() > 15.0 for _, other in fits):
            a_, c_ = complex(turn[number]), complex(shift[number])
            fits.append((Affine(0j, a_, c_) if flip[number] else Affine(a_, 0j, c_), images[index]))
        if len(fits) == most:
            break
    return [fit for fit, _ in fits]


class Matching:
    """The places of the plan corners under one fit, and the cheapest choice among them."""

    def __init__(self, plan: Points, target: SearchedOutline, fit: Affine) -> None:
        """Collect the candidate places of every plan corner."""
        self.plan = plan
        self.target = target
        self.fit = fit
        self.images = fit.apply(plan)
        self.vectors = Affine(fit.a, fit.b, 0j)
        self.places = [self._candidates(complex(at)) for at in self.images]
        self.stations = [np.array([place.station for place in places]) for places in self.places]
        self.points = [np.array([place.point for place in places], dtype=complex) for places in self.places]
        self.on_line = [np.array([self._smoothness(place) for place in places]) for places in self.places]
        self._pairs: dict[tuple[int, int], tuple[Reals, Reals]] = {}

    def _candidates(self, at: complex) -> list[CornerPlace]:
        target = self.target
        distance = np.abs(target.corner_points - at)
        nearest = [int(i) for i in np.argsort(np.round(distance, 6), kind="stable")[:8] if distance[i] <= GATE]
        places = [CornerPlace(float(target.corners[i]), complex(target.corner_points[i]), i) for i in nearest]
        for station, point in target.near(at, NEAR_LINE):
            if all(abs(_gap(station, place.station, target.length)) > 2 * SNAP for place in places):
                places.append(CornerPlace(station, point, -1))
        return places

    def _smoothness(self, place: CornerPlace) -> float:
        """1 for a place on a smooth line, 0 at a corner; a corner that hardly turns is in between."""
        return 1.0 if place.corner < 0 else max(0.0, 1.0 - abs(float(self.target.turns[place.corner])) / BLUNT)

    def natural_order(self, *, corners_first: bool) -> list[int]:
        """The plan corners by the station of the place nearest to each: detected corners, or any place."""
        keys = []
        for index, places in enumerate(self.places):
            at = complex(self.images[index])
            far = [abs(one.point - at) + (30.0 if corners_first and one.corner < 0 else 0.0) for one in places]
            if far:
                keys.append((places[least_at(far)].station, index))
            else:
                keys.append((float(self.target.stations[least_at(np.abs(self.target.points - at))]), index))
        return [index for _, index in sorted((round(station, 6), index) for station, index in keys)]

    def plan_turns(self, order: Sequence[int]) -> Reals:
        """How much the polygon of the plan's corners turns at each, in degrees, as it lies in the file."""
        turns = np.zeros(len(self.plan))
        for position, index in enumerate(order):
            before, after = order[position - 1], order[(position + 1) % len(order)]
            turns[index] = _turn(
                complex(self.images[index] - self.images[before]), complex(self.images[after] - self.images[index])
            )
        return turns

    def own_costs(self, turns: Reals) -> list[Reals]:
        """The cost of each candidate by itself: how far it lies from its fitted place, and how it turns."""
        costs = []
        for index, places in enumerate(self.places):
            cost = _long_tailed(np.abs(self.points[index] - self.images[index]), PLACE_SCALE)
            for number, place in enumerate(places):
                if place.corner < 0:
                    cost[number] += SMOOTH
                else:
                    difference = (self.target.turns[place.corner] - turns[index] + 180.0) % 360.0 - 180.0
                    cost[number] += 0.5 * float(np.log1p((difference / 40.0) ** 2))
            costs.append(cost)
        return costs

    def pair_costs(self, first: int, second: int) -> tuple[Reals, Reals]:
        """For every pair of candidates of two corners that follow each other: cost, and cost of corners left unnamed."""
        if (first, second) not in self._pairs:
            vector = complex(self.vectors.apply(complex(self.plan[second] - self.plan[first])))
            size = abs(vector)
            change = (self.points[second][None, :] - self.points[first][:, None]) - vector
            if size > 1e-6:
                change = change * (vector.conjugate() / size)
            along = change.real / (1.0 + 0.004 * size)
            across = change.imag / (2.0 + 0.05 * size)
            ahead = (self.stations[second][None, :] - self.stations[first][:, None]) % self.target.length
            unnamed = self.target.unnamed(self.stations[first], ahead)
            self._pairs[first, second] = np.log1p(along**2 + across**2), unnamed
        return self._pairs[first, second]


class CornerChain:
    """Dynamic programming over the candidates of one hypothesis, in one cyclic order."""

    def __init__(self, matching: Matching, order: Sequence[int]) -> None:
        """Lay out the costs along the order."""
        self.matching = matching
        self.order = list(order)
        self.turns = matching.plan_turns(order)
        self.own = [costs.tolist() for costs in matching.own_costs(self.turns)]
        self.least = [min(costs, default=MISSING) for costs in self.own]
        self.stations = [stations.tolist() for stations in matching.stations]
        self.sharp = np.clip((np.abs(self.turns) - 20.0) / 30.0, 0.0, 1.0)
        self._pairs: dict[tuple[int, int], list[list[float]]] = {}

    def _pair(self, first: int, second: int) -> list[list[float]]:
        if (first, second) not in self._pairs:
            cost, unnamed = self.matching.pair_costs(first, second)
            on_line = self.matching.on_line
            sharp = self.sharp[first] * on_line[first][:, None] + self.sharp[second] * on_line[second][None, :]
            total = cost + unnamed + SHARP_ON_SMOOTH * sharp * np.minimum(unnamed / UNNAMED, 1.0)
            self._pairs[first, second] = total.tolist()
        return self._pairs[first, second]

    def best(self, limit: float = np.inf) -> tuple[float, list[CornerPlace | None]]:
        """The least cost, and the place of each corner or None when it is found nowhere; inf if none is below `limit`."""
        count = len(self.order)
        # The corner with fewest candidates starts the round; when it is found nowhere the next one does.
        start = min(range(count), key=lambda position: (len(self.stations[self.order[position]]) or 99, position))
        best_cost, best_choice = MISSING * count, [-1] * count
        if best_cost >= limit:
            best_cost = np.inf
        for skipped in range(min(3, count)):
            ring = (self.order[start:] + self.order[:start])[skipped:]
            missing = MISSING * skipped
            own = self.own[ring[0]]
            for number in sorted(range(len(own)), key=own.__getitem__):
                cost, choice = self.round(ring, number, min(limit, best_cost) - missing)
                if cost + missing < best_cost - 1e-9:
                    best_cost, best_choice = cost + missing, choice
        places: list[CornerPlace | None] = [
            None if number < 0 else self.matching.places[index][number] for index, number in enumerate(best_choice)
        ]
        return best_cost, places

    def alternatives(self, index: int, limit: float) -> list[float]:
        """For each candidate of a plan corner, the least cost of a whole round that uses it; inf beyond `limit`."""
        position = self.order.index(index)
        ring = self.order[position:] + self.order[:position]
        return [self.round(ring, number, limit)[0] for number in range(len(self.own[index]))]

    def round(self, ring: Sequence[int], number: int, limit: float) -> tuple[float, list[int]]:
        """The cheapest round that starts at candidate `number` of the first corner: cost, and candidate of each.

        The cost is inf when there is none below `limit`. Plain lists: the tables are so small that array calls
        would take longer than the sums.
        """
        length = self.matching.target.length
        first = ring[0]
        origin = self.stations[first][number]
        rest = [0.0]  # the least that the corners from each position on must cost
        for index in reversed(ring[1:]):
            rest.append(rest[-1] + min(self.least[index], MISSING))
        rest.reverse()
        costs = [[self.own[first][number]]]
        ahead = [[0.0]]
        came: list[list[tuple[int, int]]] = [[(-1, -1)]]
        for position in range(1, len(ring) + 1):
            closing = position == len(ring)
            index = first if closing else ring[position]
            here = [length] if closing else [(station - origin) % length for station in self.stations[index]]
            best = [np.inf] * len(here)
            source = [(-1, -1)] * len(here)
            for back in range(1, min(4, position) + 1):
                before = position - back
                missing = MISSING * (back - 1)
                worst = min(max(best, default=0.0), limit - rest[position - 1])
                if min(costs[before], default=np.inf) + missing >= worst:
                    continue
                table = self._pair(ring[before], index)
                for one, (cost, at) in enumerate(zip(costs[before], ahead[before], strict=True)):
                    if cost + missing >= worst:
                        continue
                    row = table[number if before == 0 else one]
                    for other, there in enumerate(here):
                        total = cost + missing + row[number if closing else other]
                        if there > at + 0.05 and total < best[other] - 1e-12:
                            best[other] = total
                            source[other] = (before, one)
            costs.append(best if closing else [sum(pair) for pair in zip(best, self.own[index], strict=True)])
            ahead.append(here)
            came.append(source)
        choice = [-1] * len(self.matching.plan)
        choice[first] = number
        if costs[-1][0] < np.inf:
            position, one = came[-1][0]
            while position > 0:
                choice[ring[position]] = one
                position, one = came[position][one]
        return costs[-1][0], choice


def _gap(a: Reals | float, b: float, length: float) -> Any:
    """The signed distance from one station to another, the shorter way round."""
    return (b - a + length / 2) % length - length / 2
