"""Which corner is which: the plan's named corners on the outline of the file at hand.

A plan gives every corner a name and the coordinates it has in the file the plan was written for. In another
file, another size or after an alteration the piece may lie elsewhere, turned or mirrored, be a little larger, or
have some of its corners moved. `assign_corners` finds them again, and says of which it is not sure.

A corner is never guessed. Named corners go to detected corners by order, distance and chords; one on a smooth line
is taken where its neighbours put it, and doubted as soon as they disagree. `tests/pieces/test_corner_names.py`
moves, turns, mirrors, grades, alters and digitises pieces and lets none be wrong and sure. In a graded nest the
plan's corners are given in one size; the others follow by the order in which the file marks its corners.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from seamcheck.amounts import Name, Phrase, PlainLength, PlanPoint, phrase
from seamcheck.exact import least
from seamcheck.geometry.affine import Affine
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.exact_arrays import least_at
from seamcheck.geometry.fitting import best_fit, best_fits
from seamcheck.pieces.corner_matching import (
    GATE,
    NEAR_LINE,
    UNNAMED,
    CornerChain,
    CornerPlace,
    Hypothesis,
    Matching,
    Points,
    SearchedOutline,
    fit_cost,
    likely_fits,
)

HYPOTHESES = 8  # fits that get a closer look when a piece is not where the plan has it
WORTH_BETTERING = 40.0  # how much dearer than the best reading another may be at first sight
EXACT = 0.5  # mm: a corner this near its place is just where the plan has it
ALONE = 12.0  # mm: with no other corner so near, a corner just where the plan has it is beyond doubt
IN_PLACE = 10.0  # what it is worth that some corners are just where the plan has them
DIFFERENT = 3.0  # mm: two places further apart than this are two answers
MARGIN = 5.0  # how much dearer the next best answer must be
WINDOW = 4  # corners in a row that a fit may start from
FAR = 60.0  # mm: no alteration moves a corner further against both its neighbours
GRADE = 0.06  # by what share more than the fit a graded piece may grow in length or width
SPREAD = 4.0  # mm: how far the neighbours may disagree on a corner between them
LOOSE = 30.0  # mm: a neighbour whose distance changed by more than this does not vouch for a corner


@dataclass(frozen=True, slots=True)
class Assignment:
    """Where the plan's corners are on an outline.

    `stations` holds the corners that are sure, in mm along the outline from its start; `unsure` holds the others,
    each with why. `fit` brings plan coordinates to those of the file, as far as one similarity can;
    `residual` is the root mean square distance in mm that it leaves between the sure corners and their places.
    """

    stations: Mapping[str, float]
    unsure: Mapping[str, Phrase] = field(default_factory=dict)
    fit: Affine = field(default_factory=Affine)
    residual: float = 0.0


def assign_corners(
    plan_corners: Mapping[str, complex], outline: Curve, corner_stations: Sequence[float]
) -> Assignment:
    """Find the plan's corners (mm, in any order) on a closed outline, given the stations of its own corners.

    Every sure corner gets a place of its own, in the cyclic order of the plan. A piece that looks the same in two
    positions, so that no edge tells them apart, counts as unturned rather than turned or mirrored. ValueError for
    an outline that is not closed.
    """
    if not outline.is_closed:
        raise ValueError("corners are named on closed outlines only")
    if not plan_corners:
        return Assignment({})
    return (
        _just_there(plan_corners, outline, corner_stations)
        or _Naming(plan_corners, outline, corner_stations).result()
    )


def _just_there(
    plan_corners: Mapping[str, complex], outline: Curve, corner_stations: Sequence[float]
) -> Assignment | None:
    """Each of the plan's corners at the outline's own corner that lies in its very place; None where any has none, or another near it.

    No search would choose others: this is how a pattern that nobody touched is read, and every size of a nest.
    """
    stations = np.mod(np.asarray(corner_stations, dtype=float), outline.length)
    if not len(stations):
        return None
    points = outline.points(stations)
    far = np.abs(np.array(list(plan_corners.values()))[:, None] - points)
    nearest = far.argmin(axis=1)
    off = far.min(axis=1)
    if (off > EXACT).any() or ((far < ALONE).sum(axis=1) > 1).any() or len(set(nearest.tolist())) < len(nearest):
        return None
    found = dict(zip(plan_corners, stations[nearest].tolist(), strict=True))
    return Assignment(found, residual=float(np.sqrt((off**2).mean())))


class _Naming:
    def __init__(self, plan_corners: Mapping[str, complex], outline: Curve, corner_stations: Sequence[float]) -> None:
        self.names = list(plan_corners)
        self.plan: Points = np.array([plan_corners[name] for name in self.names], dtype=complex)
        stations = np.array(sorted({float(one) % outline.length for one in corner_stations}), dtype=float)
        self.target = SearchedOutline(outline, stations)
        self._matchings: dict[Affine, Matching] = {}
        self.readings = [self.read(Affine.identity(), np.inf)]
        if not self.in_place(0.5, least=3):
            if self.in_place(0.3, least=2):
                self.readings[0].price -= IN_PLACE
            for fit in likely_fits(self.plan, self.target, HYPOTHESES):
                if not any(self.alike(fit, reading) for reading in self.readings):
                    reading = self.read(fit, min(one.total for one in self.readings) + WORTH_BETTERING)
                    self.readings += [reading] if reading.places else []
        self.readings.sort(key=lambda one: round(one.total, 6))
        self.best = self.readings[0]

    def matching(self, fit: Affine) -> Matching:
        """The candidates under a fit, found once: they are chosen among, and then held against what was chosen."""
        if fit not in self._matchings:
            self._matchings[fit] = Matching(self.plan, self.target, fit)
        return self._matchings[fit]

    def alike(self, fit: Affine, reading: Hypothesis) -> bool:
        """Whether a fit would lead to a reading that is there: it puts most corners near the places chosen there."""
        if fit.mirrors != reading.fit.mirrors:
            return False
        far = np.abs(fit.apply(self.plan)[:, None] - self.target.corner_points[None, :])
        nearest = np.round(far, 6).argmin(axis=1)
        same = [
            place is not None and bool(place.corner == number)
            for place, number in zip(reading.places, nearest, strict=True)
            if place is None or place.corner >= 0
        ]
        return 2 * same.count(True) > len(same)

    def read(self, fit: Affine, limit: float) -> Hypothesis:
        """The best reading of the outline that starts from a fit, the fit itself being bettered on the way."""
        best = self.choose(fit, limit)
        for _ in range(3):
            if not best.places or bool((self.distances(best) <= EXACT).all()):
                break
            bettered = self.refit(best)
            if float(np.abs(bettered.apply(self.plan) - best.fit.apply(self.plan)).max()) < 0.01:
                break
            reading = self.choose(bettered, best.total)
            if reading.total >= best.total - 1e-9:
                break
            best = reading
        return best

    def choose(self, fit: Affine, limit: float) -> Hypothesis:
        """The cheapest places under a fit, in the best order that swapping neighbours leads to.

        A reading without places when there is none whose total is below `limit`.
        """
        matching = self.matching(fit)
        price = fit_cost(fit, self.plan)
        best = Hypothesis(fit, [])
        tried: set[tuple[int, ...]] = set()
        orders = [matching.natural_order(corners_first=True), matching.natural_order(corners_first=False)]
        while orders:
            order = orders.pop()
            pivot = order.index(0)
            key = tuple(order[pivot:] + order[:pivot])
            if key in tried:
                continue
            tried.add(key)
            cost, places = CornerChain(matching, order).best(min(limit - price, best.cost))
            if cost < best.cost - 1e-9:
                best = Hypothesis(fit, order, places, cost, price)
                if bool((self.distances(best) <= EXACT).all()):
                    break
                orders += self.swapped(best)
        return best

    def swapped(self, reading: Hypothesis) -> list[list[int]]:
        """The orders in which two neighbours changed places, where one of them sits badly."""
        orders = []
        images = reading.fit.apply(self.plan)
        bad = [
            place is None or abs(place.point - image) > 5.0
            for place, image in zip(reading.places, images, strict=True)
        ]
        for position, index in enumerate(reading.order):
            following = (position + 1) % len(reading.order)
            if len(reading.order) > 3 and (bad[index] or bad[reading.order[following]]):
                order = list(reading.order)
                order[position], order[following] = order[following], order[position]
                orders.append(order)
        return orders

    def refit(self, reading: Hypothesis) -> Affine:
        """The fit that suits the chosen places best."""
        found = [index for index, place in enumerate(reading.places) if place is not None and place.corner >= 0]
        if len(found) < 3:  # places on a line give way along it, so they only help where corners are few
            found = [index for index, place in enumerate(reading.places) if place is not None]
        if len(found) < 2:
            return reading.fit
        source = self.plan[found]
        target = np.array([self._point(reading, index) for index in found])
        starts = [1 / (1 + (np.abs(reading.fit.apply(source) - target) / 5.0) ** 2)]
        # What an alteration left alone may be any few corners in a row.
        ring = [found.index(index) for index in reading.order if index in found]
        for position in range(len(ring) if len(ring) > WINDOW else 0):
            weights = np.full(len(found), 1e-3)
            weights[[ring[(position + step) % len(ring)] for step in range(WINDOW)]] = 1.0
            starts.append(weights)
        scaled = (False, True) if len(found) > 2 else (False,)
        start = np.repeat(starts, len(scaled), axis=0)
        bettered = best_fits(
            source,
            np.broadcast_to(target, start.shape),
            mirrored=np.full(len(start), reading.fit.mirrors),
            scaled=np.tile(scaled, len(starts)),
            start=start,
        )

        def misfit(fit: Affine) -> float:
            distance = np.abs(fit.apply(source) - target)
            return float(np.log1p((distance / EXACT) ** 2).sum()) + fit_cost(fit, self.plan)

        return least([reading.fit, *bettered], key=misfit)

    @staticmethod
    def _point(reading: Hypothesis, index: int) -> complex:
        place = reading.places[index]
        return complex(np.nan, np.nan) if place is None else place.point

    def distances(self, reading: Hypothesis) -> np.ndarray:
        """How far each corner is from where the fit puts it, in mm; inf for those found nowhere."""
        points = np.array([self._point(reading, index) for index in range(len(self.names))])
        return np.asarray(np.nan_to_num(np.abs(reading.fit.apply(self.plan) - points), nan=np.inf))

    def in_place(self, share: float, least: int) -> bool:
        """Whether that share of all corners, and `least` at corners of the outline, are just where the plan has them."""
        reading = self.readings[0]
        if float(np.abs(reading.fit.apply(self.plan) - self.plan).max()) > EXACT:
            return False
        exact = self.distances(reading) <= EXACT
        at_corner = [place is not None and place.corner >= 0 for place in reading.places]
        return bool(exact.all()) or (int((exact & at_corner).sum()) >= least and bool(exact.mean() >= share))

    # --- how sure it is -----------------------------------------------------------------------------------

    def result(self) -> Assignment:
        """The assignment, with the corners that are not sure kept apart."""
        unsure = self.doubts()
        stations = {}
        for index, (name, place) in enumerate(zip(self.names, self.best.places, strict=True)):
            if place is not None and name not in unsure:
                stations[name] = place.station if place.corner >= 0 else self.on_line(index, place)[0]
        sure = [index for index, name in enumerate(self.names) if name in stations]
        points = np.array([self.target.curve.point(stations[self.names[index]]) for index in sure])
        distance = np.abs(self.best.fit.apply(self.plan[sure]) - points)
        residual = float(np.sqrt((distance**2).mean())) if sure else 0.0
        return Assignment(stations, unsure, self.best.fit, residual)

    def on_line(self, index: int, place: CornerPlace) -> tuple[float, Phrase | None]:
        """The station of a corner on a smooth line, and why it is doubted (None when it is not).

        It stays where it was if the line still runs there. Otherwise its neighbours tell: between them, at
        its old distance from the one, at its old distance from the other. When those disagree it is doubted.
        """
        fit, order, here = self.best.fit, self.best.order, complex(self.plan[index])
        image = fit.apply(here)
        in_line = abs(place.point - image) <= 2 * EXACT
        if in_line and abs(image - here) <= EXACT:
            return self.nearest_station(image, place), self.carried(index, place)
        position = order.index(index)
        anchors: list[tuple[complex, complex]] = []
        for way in (-1, 1):
            for step in range(1, len(order)):
                other = order[(position + way * step) % len(order)]
                found = self.best.places[other]
                if found is not None and found.corner >= 0:
                    anchors.append((complex(self.plan[other]), found.point))
                    break
        if len(anchors) < 2 or abs(anchors[0][0] - anchors[1][0]) < 1.0:
            kept = bool(anchors) and abs(fit.apply(anchors[0][0]) - anchors[0][1]) <= 2 * EXACT
            doubt = phrase("it lies on a smooth line with no corners near enough to tell its place")
            return self.nearest_station(image, place), None if in_line and kept else doubt
        (p, at_p), (q, at_q) = anchors
        graded = self.graded()
        vectors = Affine(fit.a, fit.b, 0j) if graded is None else Affine(graded.a, graded.b, 0j)
        stretch = (at_q - at_p) / vectors.apply(q - p)
        guesses = [
            at_p + vectors.apply(here - p) * stretch,
            at_p + vectors.apply(here - p) * stretch / abs(stretch),
            at_q + vectors.apply(here - q) * stretch / abs(stretch),
            at_p + vectors.apply(here - p),
            at_q + vectors.apply(here - q),
        ]
        exact = [abs(fit.apply(one) - at) <= 2 * EXACT for one, at in anchors]
        if in_line and self.exact_corners() >= 3:
            guesses.insert(0 if any(exact) else len(guesses), image)
        misfit = 0.0
        if graded is not None:
            guesses.append(graded.apply(here))
            misfit = self.misfit(graded)
        stations = [self.nearest_station(guess, place) for guess in guesses]
        length = self.target.length
        ahead = [self.gap(stations[0], station) for station in stations]
        off = abs(self.target.curve.point(stations[0] % length) - guesses[0])
        spread = max(ahead) - min(ahead) + 3 * misfit
        if spread <= SPREAD < off:
            return stations[0], phrase(
                "no corner of the piece is left for it, and the outline passes it {off} away, nearest at {near}",
                off=PlainLength(off, 0),
                near=PlanPoint(self.target.curve.point(stations[0] % length)),
            )
        if spread <= SPREAD:
            return stations[0], None
        ends = (stations[ahead.index(min(ahead))], stations[ahead.index(max(ahead))])
        places = [PlanPoint(self.target.curve.point(station % length)) for station in ends]
        return stations[0], phrase(
            "it lies on a smooth line between corners that are not as far apart as they were, so it may be "
            "anywhere from {first} to {last}",
            first=places[0],
            last=places[1],
        )

    def carried(self, index: int, place: CornerPlace) -> Phrase | None:
        """Why a corner is doubted that would stay where it was: the two corners to one side moved as one thing, and it may have gone with them."""
        fit, order = self.best.fit, self.best.order
        image, position, at_corners = fit.apply(complex(self.plan[index])), order.index(index), self.at_corners()
        for way in (-1, 1):
            beyond = [order[(position + way * step) % len(order)] for step in range(1, len(order))]
            pair = [other for other in beyond if other in at_corners][:2]
            was = [fit.apply(complex(self.plan[other])) for other in pair]
            now = [self._point(self.best, other) for other in pair]
            if len(pair) < 2 or min(abs(a - b) for a, b in zip(was, now, strict=True)) <= 2 * EXACT:
                continue
            apart = abs(was[1] - was[0]), abs(now[1] - now[0])
            if min(apart) == 0.0 or abs(apart[1] - apart[0]) > 2 * EXACT:
                continue
            moved = now[0] + (image - was[0]) * (now[1] - now[0]) / (was[1] - was[0])
            there = self.target.curve.nearest(moved)
            if there.distance <= 2 * EXACT and abs(there.point - image) > DIFFERENT:
                return self.between(place, CornerPlace(there.station, there.point, -1))
        return None

    def exact_corners(self) -> int:
        """How many corners of the outline are just where the fit puts them; any fit can bring two there."""
        return int((self.distances(self.best)[self.at_corners()] <= 2 * EXACT).sum())

    def at_corners(self) -> list[int]:
        """The plan corners that are placed at corners of the outline."""
        return [i for i, place in enumerate(self.best.places) if place is not None and place.corner >= 0]

    def misfit(self, fit: Affine) -> float:
        """The greatest distance in mm that a map leaves between those corners and their places."""
        found = self.at_corners()
        target = np.array([self._point(self.best, index) for index in found])
        return float(np.abs(fit.apply(self.plan[found]) - target).max())

    def nearest_station(self, at: complex, place: CornerPlace) -> float:
        """The station of the outline nearest to a point, on the stretch of line where a place is."""
        length = self.target.length
        exact = self.target.curve.nearest(at).station
        return exact % length if abs(self.gap(exact, place.station)) < NEAR_LINE else place.station

    def graded(self) -> Affine | None:
        """The affine map of a graded piece, which grows by different shares in length and width; None for others."""
        found = self.at_corners()
        if len(found) < 4 or 5 * self.exact_corners() >= 2 * len(found):
            return None
        source, target = self.plan[found], np.array([self._point(self.best, index) for index in found])
        basis = np.stack([source.real, source.imag, np.ones(len(found))], axis=1)
        solution, _, rank, _ = np.linalg.lstsq(basis, target, rcond=None)
        if rank < 3:
            return None
        x, y, c = (complex(one) for one in solution)
        grown = Affine((x - 1j * y) / 2, (x + 1j * y) / 2, c)
        beyond_fit = grown @ self.best.fit.inverse()
        return grown if abs(beyond_fit.a - 1) <= GRADE and abs(beyond_fit.b) <= GRADE else None

    def doubts(self) -> dict[str, Phrase]:
        """The corners that are not sure, with why."""
        best = self.best
        doubts: dict[str, Phrase] = {}
        distance = self.distances(best)
        chain = CornerChain(self.matching(best.fit), best.order)
        for index, name in enumerate(self.names):
            place = best.places[index]
            if place is None:
                doubts[name] = self.nowhere(index)
            elif distance[index] > EXACT and self.loose(index):
                doubts[name] = self.moved_far(index, float(distance[index]))
            elif distance[index] > EXACT or place.corner < 0:
                costs = chain.alternatives(index, best.cost + MARGIN)
                for number in np.argsort(np.round(costs, 6), kind="stable"):
                    other = chain.matching.places[index][number]
                    if costs[number] > best.cost + MARGIN:
                        break
                    if abs(other.point - place.point) > DIFFERENT:
                        doubts[name] = self.between(place, other)
                        break
                if place.corner < 0 and name not in doubts:
                    doubt = self.left_unnamed(index, chain) or self.on_line(index, place)[1]
                    doubts |= {name: doubt} if doubt is not None else {}
        self.doubt_neighbours(chain, doubts)
        # A whole piece that only grew is not taken for one that was turned as well; a poor fit needs a longer lead.
        longer, altered = max(MARGIN, best.cost / 4), self.altered()
        for other in self.readings[1:]:
            only_grew = not altered and other.cost >= best.cost - 0.5
            if other.total < best.total + (MARGIN / 3 if only_grew else longer):
                self.compare(other, doubts)
        return doubts

    def doubt_neighbours(self, chain: CornerChain, doubts: dict[str, Phrase]) -> None:
        """Doubt what lies beside a sharp corner that was not found: it may have been taken for that corner."""
        order = self.best.order
        distance = self.distances(self.best)
        for position, index in enumerate(order):
            place = self.best.places[index]
            if self.names[index] in doubts and chain.sharp[index] > 0.5 and (place is None or place.corner < 0):
                for other in (order[position - 1], order[(position + 1) % len(order)]):
                    if distance[other] > 2 * EXACT and self.names[other] not in doubts:
                        doubts[self.names[other]] = phrase(
                            'its neighbour "{corner}" was not found for sure', corner=Name(self.names[index])
                        )

    def altered(self) -> bool:
        """Whether some corner is elsewhere than a moved or graded copy of the plan's piece would have it."""
        found = self.at_corners()
        if len(found) < len(self.names) // 2 or len(found) < 4:
            return True
        return self.misfit(self.graded() or self.best.fit) > 2 * EXACT

    def left_unnamed(self, index: int, chain: CornerChain) -> Phrase | None:
        """Why a corner on a smooth line is doubted: a corner without a name is beside it, where it may have gone."""
        place, order = self.best.places[index], self.best.order
        if place is None:
            return None
        in_place = bool((self.distances(self.best) <= EXACT).all())
        widest = GATE if chain.sharp[index] > 0.3 and not in_place else NEAR_LINE
        position = order.index(index)
        beside = [self.best.places[order[position - 1]], self.best.places[order[(position + 1) % len(order)]]]
        reach = [widest if one is None else abs(self.gap(place.station, one.station)) for one in beside]
        taken = {one.corner for one in self.best.places if one is not None}
        for number, station in enumerate(self.target.corners):
            ahead = self.gap(place.station, float(station))
            free = number not in taken and self.target.weights[number] >= UNNAMED / 2
            if free and -min(reach[0], widest) < ahead < min(reach[1], widest):
                corner = CornerPlace(float(station), complex(self.target.corner_points[number]), number)
                return phrase("{why}; name that corner too if it is another one", why=self.between(place, corner))
        return None

    def gap(self, a: float, b: float) -> float:
        """The signed distance from one station to another, the shorter way round."""
        length = self.target.length
        return (b - a + length / 2) % length - length / 2

    def loose(self, index: int) -> bool:
        """Whether a corner lies far from where it is expected and neither neighbour vouches for it."""
        if self.distances(self.best)[index] <= FAR:
            return False
        order, position = self.best.order, self.best.order.index(index)
        for other in (order[position - 1], order[(position + 1) % len(order)]):
            if other != index and self.best.places[other] is not None:
                before = abs(self.plan[index] - self.plan[other])
                now = abs(self._point(self.best, index) - self._point(self.best, other))
                if abs(now - before) <= LOOSE:
                    return False
        return True

    def compare(self, other: Hypothesis, doubts: dict[str, Phrase]) -> None:
        """Doubt the corners that an equally good reading puts elsewhere, unless the piece looks the same that way."""
        apart = [
            index
            for index, (one, two) in enumerate(zip(self.best.places, other.places, strict=True))
            if one is not None and (two is None or abs(one.point - two.point) > DIFFERENT)
        ]
        if not apart or self.congruent(other):
            return
        for index in apart:
            one, two = self.best.places[index], other.places[index]
            if self.names[index] not in doubts and one is not None:
                doubts[self.names[index]] = self.turned(one, two)

    def congruent(self, other: Hypothesis) -> bool:
        """Whether a turn or flip of the outline onto itself leads from one reading to the other."""
        pairs = [
            (one.point, two.point)
            for one, two in zip(self.best.places, other.places, strict=True)
            if one is not None and two is not None
        ]
        if len(pairs) < len(self.names):
            return False
        here, there = (np.array(points) for points in zip(*pairs, strict=True))
        flips = self.best.fit.mirrors != other.fit.mirrors
        motion = other.fit @ self.best.fit.inverse()
        if len(pairs) > 1:
            motion = best_fit(here, there, mirrored=flips, scaled=False)
        if float(np.abs(motion.apply(here) - there).max()) > EXACT:
            return False
        moved = motion.apply(self.target.points[:: max(1, len(self.target.points) // 200)])
        return all(self.target.curve.nearest(complex(point)).distance <= EXACT for point in moved)

    # --- in words -----------------------------------------------------------------------------------------

    def nowhere(self, index: int) -> Phrase:
        """Why a corner has no place."""
        at = complex(self.plan[index])
        image = complex(self.best.fit.apply(at))
        distance = self.target.curve.nearest(image).distance
        where = "{at}" if abs(image - at) <= EXACT else "{at} in the plan, here {image},"
        return phrase(
            f"{where} is {{distance}} from the outline{{nearest}}",
            at=PlanPoint(at),
            image=PlanPoint(image),
            distance=PlainLength(distance, 0),
            nearest=self.nearest_corner(image),
        )

    def moved_far(self, index: int, distance: float) -> Phrase:
        """Why a corner that has a place is doubted."""
        place = self.best.places[index]
        image = complex(self.best.fit.apply(complex(self.plan[index])))
        return phrase(
            "it would be the corner at {at}, {distance} from where the plan has it ({image}) "
            "and at other distances from its neighbours{nearest}",
            at=PlanPoint(place.point) if place is not None else "",
            distance=PlainLength(distance, 0),
            image=PlanPoint(image),
            nearest=self.nearest_corner(image),
        )

    def nearest_corner(self, at: complex) -> Phrase:
        """The nearest corner to a point, by name where it has one."""
        if not len(self.target.corners):
            return phrase("")
        number = least_at(np.abs(self.target.corner_points - at))
        point = complex(self.target.corner_points[number])
        names = [
            name
            for name, place in zip(self.names, self.best.places, strict=True)
            if place is not None and place.corner == number
        ]
        return phrase(
            "; the nearest corner is {corner} at {place}, {distance} away",
            corner=phrase('"{name}"', name=Name(names[0])) if names else "one without a name",
            place=PlanPoint(point),
            distance=PlainLength(abs(point - at), 0),
        )

    def between(self, place: CornerPlace, other: CornerPlace) -> Phrase:
        """Why a corner with two possible places is doubted."""
        return phrase(
            "it may be {one} or {other}, {distance} apart",
            one=_what(place),
            other=_what(other),
            distance=PlainLength(abs(place.point - other.point), 0),
        )

    def turned(self, place: CornerPlace, other: CornerPlace | None) -> Phrase:
        """Why a corner of a piece that fits in two ways is doubted."""
        if other is None:
            return phrase("it may be {one}, or nowhere on this outline", one=_what(place))
        why = "the piece fits almost as well another way round: it may be {one} or {other}"
        return phrase(why, one=_what(place), other=_what(other))


def _what(place: CornerPlace) -> Phrase:
    what = "the corner" if place.corner >= 0 else "the point of the line"
    return phrase(f"{what} at {{place}}", place=PlanPoint(place.point))
