"""A dart made deeper, longer, or moved along its edge; drawn as part of the outline, or by lines within the piece.

Both legs stay as long as one another. The edge that it opens on stays as long as it was but for what the mouth takes up; where a dart is
moved along a bent edge, to within half a mm.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, replace

from seamcheck.altering.cutting import CannotCutError
from seamcheck.altering.redrawing import TIP, TOUCHES, spanned
from seamcheck.altering.solving import NoSolutionError, root
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.model import Dart, Edge, Piece
from seamcheck.pattern.recipe import DartMove
from seamcheck.pattern.spots import NoSpotError
from seamcheck.spelling import UnknownNameError
from seamcheck.truing.lines import End, Rod
from seamcheck.truing.redraw import NEAR
from seamcheck.truing.state import Replacement, State
from seamcheck.truing.stray import led_on

ON_OUTLINE = 0.5  # mm
LEAST_MOUTH = 1.0  # mm


def darted(state: State, step: DartMove) -> State:
    """The pattern with one dart changed; CannotCutError where that cannot be drawn, NoSpotError where there is no such dart."""
    if step.deeper:
        state = _Mouth(state, step).deeper(step.deeper)
    if step.longer:
        state = _Mouth(state, step).longer(step.longer)
    if step.moved:
        state = _Mouth(state, step).moved(step.moved, step.towards)
    return state


def dart_of(piece: Piece, name: str) -> Dart:
    """The dart with a corner of that name; NoSpotError where the piece has none."""
    for dart in piece.darts:
        if name in dart.corners:
            return dart
    known = tuple(dict.fromkeys(corner for dart in piece.darts for corner in dart.corners))
    raise NoSpotError(str(UnknownNameError(f"piece {piece.name}", "dart", name, known)))


@dataclass(frozen=True, slots=True)
class _Places:
    """Where the two mouth corners and the tip of a dart are."""

    first: complex
    tip: complex
    last: complex


class _Mouth:
    """A dart on the outline, clockwise: its first mouth corner, its tip, its last mouth corner."""

    def __init__(self, state: State, step: DartMove) -> None:
        self.state, self.name = state, step.piece
        self.piece: Piece = state.pieces[step.piece]
        self.dart = dart_of(self.piece, step.dart)
        self.ring, self.total = self.piece.outline, self.piece.outline.length
        self.edge = self._own_edge()
        stations = [self.ring.nearest(at).station for at in self.dart.points]
        self.drawn = self.ring.nearest(self.dart.points[1]).distance < ON_OUTLINE
        order = [0, 1, 2]
        between = (stations[1] - stations[0]) % self.total < (stations[2] - stations[0]) % self.total
        short = (stations[2] - stations[0]) % self.total < self.total / 2
        if not (between if self.drawn else short):
            order = [2, 1, 0]
        self.corners = [self.dart.corners[k] for k in order]
        self.at = _Places(*(self.dart.points[k] for k in order))
        self.stations = [stations[k] for k in order]

    def _own_edge(self) -> Edge:
        mouth = {self.dart.corners[0], self.dart.corners[2]}
        for edge in self.piece.edges:
            if any(mouth == set(pair) for pair in edge.breaks):
                return edge
        raise CannotCutError(f"the dart {self.dart.corners[1]} of {self.piece.name} opens on no edge of the plan")

    def _room(self) -> tuple[float, float]:
        """How much of the edge lies before the mouth and behind it, clockwise."""
        mouth = {self.corners[0], self.corners[2]}
        k = next(k for k, pair in enumerate(self.edge.breaks) if mouth == set(pair))
        lengths = [run.length for run in self.edge.runs]
        return (lengths[k], lengths[k + 1]) if self.edge.forward else (lengths[k + 1], lengths[k])

    def _before(self, reach: float) -> Curve:
        """So much of the edge before the mouth, towards it."""
        return self.ring.between((self.stations[0] - reach) % self.total, self.stations[0] % self.total)

    def _behind(self, reach: float) -> Curve:
        """So much of the edge behind the mouth, towards it."""
        return self.ring.between(self.stations[2] % self.total, (self.stations[2] + reach) % self.total).reversed()

    def deeper(self, amount: float) -> State:
        """The mouth wider by `amount` mm, its legs as long as one another."""
        if self.dart.intake + amount < LEAST_MOUTH:
            raise CannotCutError(
                f"the dart is {self.dart.intake:.1f} mm deep, so it cannot be made {-amount:.1f} mm less deep"
            )
        room = self._room()
        reach = [min(one, max(amount, 0.0) + TIP) for one in room]
        if amount >= min(room):
            raise CannotCutError(f"there is no room on {self.edge.name} for a mouth wider by {amount:.1f} mm")
        before, behind = self._before(reach[0]), self._behind(reach[1])
        self._no_notch(before.length, behind.length, max(amount, 0.0))

        def uneven(first: float) -> float:
            one, two = led_on(before, -first).end, led_on(behind, first - amount).end
            return abs(one - self.at.tip) - abs(two - self.at.tip) - self._was_uneven()

        try:
            first = root(uneven, amount / 2, abs(amount) / 2)
        except NoSolutionError:
            first = amount / 2
        one, two = led_on(before, -first), led_on(behind, first - amount)
        return self._laid(one, two, _Places(one.end, self.at.tip, two.end), reach)

    def _was_uneven(self) -> float:
        return abs(self.at.first - self.at.tip) - abs(self.at.last - self.at.tip)

    def _no_notch(self, before: float, behind: float, amount: float) -> None:
        shape = self.state.shapes[self.name]
        for notch in shape.notches:
            ahead = (self.stations[0] - notch.station) % self.total
            after = (notch.station - self.stations[2]) % self.total
            if 0.0 < ahead <= min(before, amount) or 0.0 < after <= min(behind, amount):
                raise CannotCutError(f"a notch of {self.edge.name} lies where the mouth of the dart would come")

    def longer(self, amount: float) -> State:
        """The tip farther from the mouth by `amount` mm."""
        middle = (self.at.first + self.at.last) / 2
        depth = abs(self.at.tip - middle)
        if amount <= -depth + LEAST_MOUTH:
            raise CannotCutError(f"the dart is {depth:.1f} mm long, so it cannot be made {-amount:.1f} mm shorter")
        tip = self.at.tip + amount * (self.at.tip - middle) / depth
        reach = [min(TIP, one / 2) for one in self._room()]
        return self._laid(
            self._before(reach[0]), self._behind(reach[1]), _Places(self.at.first, tip, self.at.last), reach
        )

    def moved(self, amount: float, towards: str) -> State:
        """The whole dart so many mm along its edge, towards one of the edge's ends."""
        if towards not in (self.edge.start, self.edge.end):
            raise NoSpotError(
                f"{self.piece.name}.{self.edge.name}, on which the dart opens, runs from {self.edge.start} to {self.edge.end}; "
                f"say towards which of them it is to be moved"
            )
        back = (towards == self.edge.start) == self.edge.forward  # against the clock
        back = back if amount > 0 else not back
        amount, room = abs(amount), self._room()
        if amount + TIP >= room[0 if back else 1]:
            raise CannotCutError(
                f"there is no room on {self.edge.name} to move the dart by {amount:.1f} mm towards {towards}"
            )
        self._no_notch(*((amount, 0.0) if back else (0.0, amount)), amount)
        return self._slid(-amount if back else amount) if not self.drawn else self._shifted(amount, room, back=back)

    def _shifted(self, amount: float, room: tuple[float, float], *, back: bool) -> State:
        """A dart that the outline is drawn round, moved as it is: `back` is against the clock.

        It lies to the edge as it lay. What it passes is turned about its tip, from before its mouth to behind it, and run on into what
        lies there, up to the next mark.
        """
        here, there = (self.at.first, self.at.last) if back else (self.at.last, self.at.first)
        ahead = self._before(amount) if back else self._behind(amount)
        rest = min(room[1] if back else room[0], self._mark_behind(back=back))
        behind = self._behind(rest) if back else self._before(rest)
        lean = ahead.tangent(0.0) / ahead.tangent(ahead.length, -1)
        goes = Affine(lean, 0j, ahead.start - lean * here)
        tip, far = complex(goes.apply(self.at.tip)), complex(goes.apply(there))
        turn = (far - tip) / (ahead.start - tip)
        passed = ahead.transformed(Affine(turn, 0j, tip - turn * tip))
        passed = passed.transformed(Affine.translation(there - passed.end))
        line = Curve.join([behind, passed.reversed()])
        led = Curve(Rod(line).bent(End(line.start), End(far)))
        reach = [amount + TIP, rest] if back else [rest, amount + TIP]
        short = self._before(reach[0]) if back else self._behind(reach[1])
        kept = short.between(0.0, short.length - amount)
        if back:
            return self._laid(kept, led, _Places(kept.end, tip, far), reach)
        return self._laid(led, kept, _Places(far, tip, kept.end), reach)

    def _mark_behind(self, *, back: bool) -> float:
        """How far it is from the mouth to the next notch, on the side that a dart moves away from."""
        away = [
            ((notch.station - self.stations[2]) if back else (self.stations[0] - notch.station)) % self.total
            for notch in self.state.shapes[self.name].notches
        ]
        return min((one for one in away if one >= NEAR), default=self.total)

    def _slid(self, along: float) -> State:
        one, two = (self.ring.point((self.stations[k] + along) % self.total) for k in (0, 2))
        return self._with_lines_within(_Places(one, self._tip_over(one, two), two))

    def _tip_over(self, one: complex, two: complex) -> complex:
        """The tip over another mouth: as deep, and as far beside its middle, as it was."""
        was = self.at.last - self.at.first
        off = (self.at.tip - (self.at.first + self.at.last) / 2) / (was / abs(was))
        return (one + two) / 2 + off * (two - one) / abs(two - one)

    def _laid(self, before: Curve, behind: Curve, to: _Places, reach: list[float]) -> State:
        """The pattern with the dart at other places, and the ends of the edge before and behind its mouth as they are now."""
        if not self.ring.contains(to.tip):
            raise CannotCutError(f"the tip of the dart would lie outside {self.piece.name}")
        if not self.drawn:
            return self._with_lines_within(to)
        s1, st, s2 = self.stations
        legs = (
            self.ring.between(s1 % self.total, st % self.total),
            self.ring.between(st % self.total, s2 % self.total),
        )
        new = [
            Replacement((s1 - reach[0]) % self.total, s1, before),
            Replacement(s1, st, spanned(legs[0], to.first, to.tip)),
            Replacement(st, s2, spanned(legs[1], to.tip, to.last)),
            Replacement(s2, (s2 + reach[1]) % self.total, behind.reversed()),
        ]
        try:
            return self.state.with_lines(self.name, new)
        except (ValueError, KeyError) as error:
            raise CannotCutError(f"the dart cannot be drawn so ({error})") from error

    def _with_lines_within(self, to: _Places) -> State:
        goes = {self.at.first: to.first, self.at.tip: to.tip, self.at.last: to.last}
        shape = self.state.shapes[self.name]
        lines = tuple(replace(line, curve=_led_to(line.curve, goes)) for line in shape.inside)
        corners = dict(self.state.plans[self.name].corners)
        corners |= dict(zip(self.corners, (to.first, to.tip, to.last), strict=True))
        return self.state.laid_anew(self.name, replace(shape, inside=lines), corners, _same)


def _same(station: float) -> float:
    return station


def _led_to(curve: Curve, goes: Mapping[complex, complex]) -> Curve:
    """A line within the piece with the places of a dart on it led to where they go."""
    on = [(near.station, to) for at, to in goes.items() if (near := curve.nearest(at)).distance < TOUCHES]
    on.sort(key=lambda stop: stop[0])
    if not on or curve.is_closed:
        return curve
    stops = list(on)
    if stops[0][0] > TOUCHES:
        stops.insert(0, (0.0, curve.start))
    if stops[-1][0] < curve.length - TOUCHES:
        stops.append((curve.length, curve.end))
    if len(stops) < 2:
        return curve
    return Curve.join(
        [spanned(curve.between(a, b), start, end) for (a, start), (b, end) in itertools.pairwise(stops)]
    )
