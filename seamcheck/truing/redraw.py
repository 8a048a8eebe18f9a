"""Redraw a piece at its corners: from the mark that moves or turns to the next one that stays.

An edge that has to be longer is led on past its end; what crosses there is blended into the new corner. Lines are redrawn between the nearest marks that stay, a notch or a corner: lengths exactly, the directions at both
ends kept, the bend spread as evenly as can be.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from seamcheck.checks.edges import MEANT
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import SHORT_CHORD, arriving, straight
from seamcheck.geometry.exact_arrays import least_at
from seamcheck.geometry.kinks import AT_END, STEP_LENGTH, Kink, kinks_of
from seamcheck.pattern.model import Corner, Edge, Piece
from seamcheck.pieces.corners import CORNER_ANGLE
from seamcheck.truing.frame import FREE_STRETCHING, STRETCHING, Knot, RedrawnStretch, Wanted, draw
from seamcheck.truing.lines import unbent
from seamcheck.truing.state import Replacement, State
from seamcheck.truing.stray import led_on

NEAR = 30.0  # mm: a line is not bent within less than this; a notch nearer than it is passed over
BESIDE_KINK = 15.0  # mm: nor is a kink blended within less than this on either side
SAME_BLEMISH = 12.0  # mm: kinks this near to where a blemish was found are its own
ROUND_KINK = 2  # vertices on either side of a digitised kink that share it
STUB = 6.0  # mm: a straight beginning of at least this at a fold or centre line stays square
LONGEST_STUB = 12.7  # mm of it that are held
RULED = 1e-3  # mm: what keeps this near to its chord was drawn with a ruler

BLEND = 60.0  # mm on either side over which a hand blends a kink (common practice, no source)

Ray = tuple[str, str]  # a corner, and "in" or "out": the line that arrives there clockwise, or leaves


@dataclass(frozen=True, slots=True)
class Lead:
    """An edge led on past its end at a corner by `amount` mm, straight; or cut back along its own line, for a negative amount.

    The corner travels the whole amount and keeps its angle. Where it `slides` it also leaves the led line by as little as lets the
    edge beside it keep its length. The edge `carried`, which ends there too, goes along whole, as it is.
    """

    edge: str
    amount: float
    slides: bool = False
    carried: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What is to become of a piece.

    `led` edges are led on at the corners that they go by. `free` corners may move and turn. `turns` are changes of direction in
    degrees at the beginning or end of a line, left positive in mathematical axes. `lengths` are wanted for edges in mm; other sewn
    edges keep theirs, unless they are `loose`. In the edges `blended`, kinks are taken out, within `reach` mm if no mark is nearer:
    those that are found, or `kinks`, stations of the outline, where they are known. With `far` a line is redrawn up to the next
    corner, over its notches. `ruled` edges are drawn straight.
    """

    led: Mapping[str, Lead] = field(default_factory=dict)
    free: frozenset[str] = frozenset()
    turns: Mapping[Ray, float] = field(default_factory=dict)
    lengths: Mapping[str, float] = field(default_factory=dict)
    loose: frozenset[str] = frozenset()
    blended: Mapping[str, float | None] = field(default_factory=dict)  # edge -> station of one kink, or all
    kinks: tuple[float, ...] = ()
    reach: float | None = None
    ruled: frozenset[str] = frozenset()
    far: bool = False


@dataclass(frozen=True, slots=True)
class _Travel:
    """Where a corner goes and by how many radians it turns, and whether it is free to slide from there."""

    to: complex
    turn: float
    free: bool = False


def redraw(state: State, name: str, change: Change) -> tuple[State, float] | None:
    """The pattern with one piece redrawn and what that bends; None where it cannot be done.

    A piece whose corners are not sure is left alone, and so is one that is drawn by a cut line which cannot follow.
    """
    piece = state.pieces[name]
    if piece.unsure or piece.lost_edges or piece.outline is not state.shapes[name].outline:
        return None
    return _Redrawing(state, name, change).done()


def way_of(edge: Edge, corner: str) -> str:
    """Whether an edge lies before ("in") or behind ("out") one of its corners, clockwise."""
    return ("out" if edge.forward else "in") if corner == edge.start else ("in" if edge.forward else "out")


class _Redrawing:
    def __init__(self, state: State, name: str, change: Change) -> None:
        self.state, self.name, self.change = state, name, change
        self.piece: Piece = state.pieces[name]
        self.ring: Curve = self.piece.outline
        self.total = self.ring.length
        self.sewn = sewn_lengths(state, name)
        self.edges = self._intervals()
        self.knots = self._known_points()
        self.travels: dict[str, _Travel] = {}
        self.led: dict[
            Ray, float
        ] = {}  # by how much the line at a corner is led on, along the outline as it is drawn

    def _known_points(self) -> list[tuple[float, str]]:
        """Stations of corners (by name) and notches (without), clockwise."""
        found = [
            (corner.station % self.total, corner.name) for corner in self.piece.corners if self._is_meant(corner)
        ]
        if not self.change.far:
            found += [(notch.station % self.total, "") for notch in self.state.shapes[self.name].notches]
        return sorted(found)

    def _is_meant(self, corner: Corner) -> bool:
        """Whether a corner is one of the pattern's: named, or in an edge without a name, or sharp and by itself.

        What is found inside a named edge else is what a slash has left there.
        """
        if corner.named:
            return True
        if abs(180.0 - corner.angle) < CORNER_ANGLE:
            return False
        if not any(edge.named for edge in self.piece.edges if corner.name in dict(edge.inner)):
            return True
        beside = (
            min((corner.station - other.station) % self.total, (other.station - corner.station) % self.total)
            for other in self.piece.corners
            if other is not corner and not other.named
        )
        if abs(180.0 - corner.angle) < MEANT or min(beside, default=self.total) <= STEP_LENGTH:
            return False
        return not self._is_of_a_step(corner)

    def _is_of_a_step(self, corner: Corner) -> bool:
        """Whether the line turns back as much beside a corner: one of the two is all that is found of a step of a few mm."""
        here = corner.station % self.total
        line = self.ring.between((here - STEP_LENGTH) % self.total, (here + STEP_LENGTH) % self.total)
        turns = [kink.turn for kink in kinks_of(line) if AT_END <= kink.station <= line.length - AT_END]
        return bool(turns) and min(max(turns), -min(turns)) > MEANT / 2

    def _intervals(self) -> dict[str, list[tuple[float, float]]]:
        """The stretches of ring that every edge covers, clockwise; dart legs as edges of their own."""
        stations = {corner.name: corner.station % self.total for corner in self.piece.corners}
        found: dict[str, list[tuple[float, float]]] = {}
        for edge in self.piece.edges:
            if edge.inside:
                continue
            stops = [edge.start, *(corner for pair in edge.breaks for corner in pair), edge.end]
            pairs = [(stations[a], stations[b]) for a, b in zip(stops[::2], stops[1::2], strict=True)]
            found[edge.name] = [pair if edge.forward else pair[::-1] for pair in pairs]
        for dart in self.piece.darts:
            mouth, tip, other = dart.corners
            if tip in stations:
                for corner in (mouth, other):
                    a, b = stations[corner], stations[tip]
                    found[leg_name(corner)] = [(a, b) if (b - a) % self.total <= (a - b) % self.total else (b, a)]
        return found

    def edge_at(self, station: float) -> str | None:
        """The edge that covers a station."""
        for name, intervals in self.edges.items():
            for a, b in intervals:
                if (station - a) % self.total < ((b - a) % self.total or self.total) - 1e-6:
                    return name
        return None

    def _next(self, station: float, *, ahead: bool, least: float) -> tuple[float, str] | None:
        """The next notch or corner from a station; notches nearer than `least` are passed over, corners never."""
        way = 1.0 if ahead else -1.0
        away = [(round(way * (knot[0] - station), 6) % self.total, knot) for knot in self.knots]
        for distance, knot in sorted(away):
            if distance > 1e-3 and (knot[1] or distance >= least):
                return knot
        return None

    def _lead(self) -> bool:
        """Find where the corners go at which edges are led on; False where one cannot be."""
        stations = {name: station for station, name in self.knots if name}
        for corner, lead in self.change.led.items():
            edge = self.piece.edge(lead.edge)
            if corner not in stations or corner not in (edge.start, edge.end):
                return False
            way, amount = way_of(edge, corner), lead.amount / edge.smoothing
            tip = self._tip(corner, way, stations)
            if tip is None or -amount >= tip.length:
                return False
            new = led_on(tip, amount)
            turn = float(np.angle(arriving(new) / arriving(tip))) if amount < 0.0 else 0.0
            self.led[corner, way] = amount
            self.travels[corner] = _Travel(new.end, turn, lead.slides)
            if lead.carried is not None and not self._carry(self.piece.edge(lead.carried), corner, stations):
                return False
        return True

    def _carry(self, carried: Edge, corner: str, stations: Mapping[str, float]) -> bool:
        """Let an edge go whole with one of its corners, and lead on or cut back the line beyond it to where it ends then."""
        other = carried.end if carried.start == corner else carried.start
        if other not in stations:
            return False
        travel, here = self.travels[corner], self.ring.point(stations[corner])
        at = self.ring.point(stations[other])
        to = travel.to + (at - here) * complex(np.exp(1j * travel.turn))
        way = "out" if way_of(carried, other) == "in" else "in"
        tip = self._tip(other, way, stations)
        if tip is None:
            return False
        along = float(((to - at) / arriving(tip)).real)
        if along < 0.0:
            along = tip.nearest(to).station - tip.length
        if -along >= tip.length:
            return False
        self.led[other, way] = along
        self.travels[other] = _Travel(to, travel.turn)
        return True

    def _tip(self, corner: str, way: str, stations: Mapping[str, float]) -> Curve | None:
        """The line from the next mark that stays to a corner, the way it runs to the corner."""
        station = stations[corner]
        other = self._next(station, ahead=way == "out", least=NEAR)
        if other is None:
            return None
        return (
            self.ring.between(station, other[0]).reversed() if way == "out" else self.ring.between(other[0], station)
        )

    def _active(self) -> list[tuple[float, float]] | None:
        """The stretches to redraw as (from, to), clockwise, without overlaps."""
        stations = {name: station for station, name in self.knots if name}
        found: list[tuple[float, float]] = []
        for corner in (*self.change.free, *self.travels):
            if corner not in stations:
                return None
            for ahead in (True, False):
                other = self._next(stations[corner], ahead=ahead, least=NEAR)
                if other is None:
                    return None
                found.append((stations[corner], other[0]) if ahead else (other[0], stations[corner]))
        for corner, way in self.change.turns:
            if corner not in stations:
                return None
            other = self._next(stations[corner], ahead=way == "out", least=NEAR)
            if other is None:
                return None
            found.append((stations[corner], other[0]) if way == "out" else (other[0], stations[corner]))
        # A kink that a blend would end beside is blended with it.
        near = SAME_BLEMISH if self.change.reach is None else self.change.reach + BESIDE_KINK
        for edge_name, station in self.change.blended.items():
            for a, b in self.edges.get(edge_name, ()):
                run = self.ring.between(a, b)
                for at in self._kinked(a, run):
                    if station is not None and abs(self._along(edge_name, at) - station) > near:
                        continue
                    before = self._next(at, ahead=False, least=BESIDE_KINK)
                    after = self._next(at, ahead=True, least=BESIDE_KINK)
                    if before is None or after is None:
                        return None
                    found.append((self._within_reach(at, before[0], -1), self._within_reach(at, after[0], 1)))
        for edge_name in self.change.ruled:
            found += self.edges.get(edge_name, [])
        return self._merged(found)

    def _kinked(self, start: float, run: Curve) -> list[float]:
        """The stations of the outline at which a run that begins at `start` has kinks."""
        if self.change.kinks:
            return [at for at in self.change.kinks if AT_END < (at - start) % self.total < run.length - AT_END]
        return [(start + kink.station) % self.total for kink in kinks_of(run)]

    def _within_reach(self, at: float, mark: float, way: int) -> float:
        """The mark that stays on one side of a kink, or a place that is nearer: it becomes a mark then."""
        reach = self.change.reach
        if reach is None or (way * (mark - at)) % self.total <= reach + BESIDE_KINK:
            return mark
        place = (at + way * reach) % self.total
        self.knots = sorted([*self.knots, (place, "")])
        return place

    def _along(self, edge_name: str, station: float) -> float:
        """A ring station as a station of an edge."""
        edge = self.piece.edge(edge_name)
        covered = 0.0
        for (a, b), run in zip(self.edges[edge_name], edge.runs, strict=True):
            if (station - a) % self.total <= (b - a) % self.total:
                into = (station - a) % self.total
                return covered + (into if edge.forward else run.length - into)
            covered += run.length
        return covered

    def _merged(self, stretches: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        """Stretches that overlap made one; those that only touch stay apart."""
        merged: list[tuple[float, float]] = []
        for start, end in sorted(set(stretches)):
            length = (end - start) % self.total or self.total
            for other in list(merged):
                ahead, behind = (start - other[0]) % self.total, (other[0] - start) % self.total
                its = (other[1] - other[0]) % self.total or self.total
                if ahead < its - 1e-6:
                    start, length = other[0], max(its, ahead + length)
                elif behind < length - 1e-6:
                    length = max(length, behind + its)
                else:
                    continue
                merged.remove(other)
            merged.append((start, self._mark_at((start + length) % self.total)))
        return merged

    def _mark_at(self, station: float) -> float:
        """The station of the mark at a place, to the last bit."""
        return min(
            (knot[0] for knot in self.knots),
            key=lambda s: round(min((s - station) % self.total, (station - s) % self.total), 6),
        )

    def done(self) -> tuple[State, float] | None:
        active = self._active() if self._lead() else None
        if not active:
            return None
        names = dict(self.knots)
        places: list[float] = []
        for a, b in active:
            for station in (a, b):
                if all(abs(station - other) > 1e-6 for other in places):
                    places.append(station)
        number = {round(station, 6): k for k, station in enumerate(places)}
        knots = [self._knot(station, names.get(station, "")) for station in places]
        stretches = [self._stretch(a, b, number[round(a, 6)], number[round(b, 6)], names) for a, b in active]
        wanted = self._wanted(active)
        if wanted is None:
            return None
        drawn = draw(knots, stretches, wanted)
        if drawn is None:
            return None
        replacements = [Replacement(a, b, curve) for (a, b), curve in zip(active, drawn.curves, strict=True)]
        try:
            made = self.state.with_lines(self.name, replacements)
        except (ValueError, KeyError):
            return None
        piece = made.pieces[self.name]  # whose corners may be not sure any more
        return None if piece.unsure or piece.lost_edges else (made, drawn.bending)

    def _knot(self, station: float, name: str) -> Knot:
        at, travel = self.ring.point(station), self.travels.get(name) if name else None
        if travel is not None:
            return Knot(station, at, travel.free, travel.to, travel.turn, steady=True)
        return Knot(station, at, bool(name) and name in self.change.free)

    def _stretch(self, a: float, b: float, first: int, last: int, names: Mapping[float, str]) -> RedrawnStretch:
        curve = self.ring.between(a, b)
        edge = self.edge_at((a + 1e-3) % self.total)
        leg = edge is not None and edge.startswith(LEG)
        ruled = leg or edge in self.change.ruled
        turns = [0.0, 0.0]
        for side, station, way in ((0, a, "out"), (1, b, "in")):
            ray = names.get(station, ""), way
            turns[side] = float(np.radians(self.change.turns.get(ray, 0.0)))
            if ray in self.led:
                old = curve.reversed() if side == 0 else curve
                new = led_on(old, self.led[ray])
                # Where a bent line is cut back its end points elsewhere already.
                turns[side] -= float(np.angle(arriving(new) / arriving(old))) if self.led[ray] < 0.0 else 0.0
                curve = new.reversed() if side == 0 else new
        stubs = self._stubs(curve, a, b, names, turns)
        rest = curve.between(
            stubs[0].length if stubs[0] else 0.0, curve.length - (stubs[1].length if stubs[1] else 0.0)
        )
        lag = 0.0
        if edge in self.change.blended:
            rest_old = rest
            rest = unbent(rest, self._turns(rest, a + (stubs[0].length if stubs[0] else 0.0)))
            lag = float(np.angle(rest_old.tangent(rest_old.length, -1) / rest.tangent(rest.length, -1)))
        if ruled:
            rest = Curve.line(rest.start, rest.end)
        return RedrawnStretch(
            curve=rest,
            first=first,
            last=last,
            turns=(turns[0], turns[1]),
            lag=lag,
            stubs=stubs,
            straight=curve.is_straight(RULED),
            ruled=ruled,
            stretching=STRETCHING if edge in self.sewn or edge in self.change.loose else FREE_STRETCHING,
        )

    def _turns(self, rest: Curve, start: float) -> list[tuple[float, float]]:
        """The kinks to be taken out of a line that begins at a station of the outline: where on it, and how many degrees."""
        if self.change.kinks:
            known = [(at - start) % self.total for at in self._kinked(start, rest)]
            return [(at, float(np.degrees(np.angle(rest.tangent(at, 1) / rest.tangent(at, -1))))) for at in known]
        kinks = [kink for kink in kinks_of(rest) if AT_END <= kink.station <= rest.length - AT_END]
        return [part for kink in kinks for part in turns_of(rest, kink)]

    def _stubs(
        self, curve: Curve, a: float, b: float, names: Mapping[float, str], turns: Sequence[float]
    ) -> tuple[Curve | None, Curve | None]:
        """The straight beginnings at folds and at seams to a piece's own twin."""
        found: list[Curve | None] = [None, None]
        if curve.is_straight(RULED):
            return None, None
        centred = self._centred_corners()
        for side, station in ((0, a), (1, b)):
            if (
                names.get(station, "") not in centred
                or turns[side]
                or (names[station], ("out", "in")[side]) in self.led
            ):
                continue
            segment = Curve([curve.segments[0 if side == 0 else -1]])
            if segment.length >= STUB and segment.is_straight(RULED):
                held = min(segment.length, LONGEST_STUB)
                found[side] = (
                    curve.between(0.0, held) if side == 0 else curve.between(curve.length - held, curve.length)
                )
        return found[0], found[1]

    def _centred_corners(self) -> set[str]:
        plan = self.state.plans.get(self.name)
        edges = {plan.fold} if plan and plan.fold else set()
        for seam in self.state.judges.plan.seams:
            if seam.sides[0] == seam.sides[1]:
                edges |= {use.edge for use in seam.sides[0] if use.piece == self.name}
        return {corner for edge in self.piece.edges if edge.name in edges for corner in (edge.start, edge.end)}

    def _smoothing(self, edge: str) -> float:
        """What is sewn of a mm of an edge's line as it is drawn: less than 1 where a traced line goes to and fro."""
        return 1.0 if edge.startswith(LEG) else self.piece.edge(edge).smoothing

    def _wanted(self, active: Sequence[tuple[float, float]]) -> list[Wanted] | None:
        touched: dict[str, list[int]] = {}
        for k, (a, _) in enumerate(active):
            edge = self.edge_at((a + 1e-3) % self.total)
            if edge is not None:
                touched.setdefault(edge, []).append(k)
        if any(edge not in touched for edge in self.change.lengths):
            return None
        wanted = []
        for edge, numbers in touched.items():
            target = self.change.lengths.get(edge)
            if target is None:
                if edge in self.change.loose or edge not in self.sewn:
                    continue
                led = sum(lead.amount for lead in self.change.led.values() if lead.edge == edge)
                target = self.sewn[edge] + led
            target /= self._smoothing(edge)
            whole = sum((b - a) % self.total or self.total for a, b in self.edges[edge])
            redrawn = sum((active[k][1] - active[k][0]) % self.total or self.total for k in numbers)
            rest = target - (whole - redrawn)
            if rest <= 0.0:
                return None
            wanted.append(Wanted(tuple(numbers), rest))
        return wanted


def turns_of(curve: Curve, kink: Kink) -> list[tuple[float, float]]:
    """The turns (station in mm, degrees) that make up a kink: itself, or what the vertices round it turn too much.

    A kink in a digitised line seldom falls on a vertex, so those beside it share it.
    """
    stations, turns = curve.joint_stations[1:-1], curve.joint_turns()[: len(curve.segments) - 1]
    nearest = least_at(np.abs(stations - kink.station))
    chords = np.diff(curve.joint_stations)
    around = chords[max(nearest - ROUND_KINK, 0) : nearest + ROUND_KINK + 2]
    lines = straight(curve.segments[max(nearest - ROUND_KINK, 0) : nearest + ROUND_KINK + 2])
    if len(around) < 2 * ROUND_KINK + 2 or around.max() > SHORT_CHORD or not lines.all():
        return [(kink.station, kink.turn)]
    low, high = nearest - ROUND_KINK, nearest + ROUND_KINK + 1
    beside = np.concatenate([turns[max(low - 4, 0) : low], turns[high : high + 4]])
    usual = float(np.median(beside)) if beside.size else 0.0
    return [(float(stations[k]), float(turns[k]) - usual) for k in range(low, high)]


LEG = "leg to "


def leg_name(corner: str) -> str:
    """What the leg of a dart to one of its mouth corners is called among the edges."""
    return f"{LEG}{corner}"


def sewn_lengths(state: State, name: str) -> dict[str, float]:
    """The lengths in mm of the edges of a piece that are sewn, and of its dart legs.

    Also of those that are sewn to their own twin: a crotch keeps the length that it was cut to.
    """
    piece = state.pieces[name]
    seams = state.judges.plan.seams
    sewn = {use.edge for seam in seams for side in seam.sides for use in side if use.piece == name}
    found = {edge.name: edge.length for edge in piece.edges if edge.name in sewn and not edge.inside}
    for dart in piece.darts:
        found |= {leg_name(dart.corners[0]): dart.legs[0].length, leg_name(dart.corners[2]): dart.legs[1].length}
    return found
