"""The closed outline of a piece as a ring, and the ways on it.

ring      a place on it is a station, a way round is an interval of stations
route     the way an edge takes along the ring, corner by corner
mouth     the stretch of ring between the two mouth corners of a dart or a pleat; walking skips it
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Name, Phrase, phrase
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.kept import kept

if TYPE_CHECKING:
    from seamcheck.pattern.plan import DartPlan, PleatPlan

SAME_PLACE = 1.5  # mm: a detected corner this near a named one is that corner


@dataclass(frozen=True)
class Ring:
    """A closed outline and the places on it; `chords` is the polyline in the file where it is smoother."""

    curve: Curve
    chords: Curve | None = None

    @cached_property
    def total(self) -> float:
        """The length all round in mm."""
        return self.curve.length

    def ahead(self, a: float, b: float) -> float:
        """How far it is clockwise from `a` to `b`."""
        return (b - a) % self.total

    def passes(self, a: float, b: float, station: float) -> bool:
        """Whether the clockwise way from `a` to `b` passes a station between them."""
        return 1e-6 < self.ahead(a, station) < (self.ahead(a, b) or self.total) - 1e-6

    def stretch(self, a: float, b: float) -> Curve:
        """The curve clockwise from `a` to `b`; all round when they are one place."""
        if self.ahead(a, b) < 1e-9 or self.ahead(b, a) < 1e-9:
            return self.curve.with_start(a) if a else self.curve
        return _between(self.curve, a, b)


@kept
def _between(outline: Curve, a: float, b: float) -> Curve:
    """The stretch of an outline between two stations, which is both an edge and a line at a corner."""
    return outline.between(a, b)


class Leg(NamedTuple):
    """A stretch of an edge: clockwise from `a` to `b`, walked that way or back."""

    a: float
    b: float
    forward: bool


def all_corners(ring: Ring, detected: Iterable[float], named: Mapping[str, float]) -> dict[str, float]:
    """Every corner of the outline by name, clockwise; those without a name get a number by their place."""
    free = [
        station
        for station in detected
        if all(min(ring.ahead(station, s), ring.ahead(s, station)) > SAME_PLACE for s in named.values())
    ]
    in_order = sorted([(s, name) for name, s in named.items()] + [(s, "") for s in free])
    taken = set(named)
    places: dict[str, float] = {}
    for number, (station, name) in enumerate(in_order, 1):
        key = name or f"c{number}"
        while not name and key in taken:
            key += "'"
        taken.add(key)
        places[key] = station
    return places


def route(ring: Ring, way: Sequence[str], corners: Mapping[str, float]) -> list[Leg] | Phrase:
    """The legs of an edge, or why there is no telling which way round it goes."""
    legs = []
    for a, b in pairwise(way):
        sa, sb = corners[a], corners[b]
        if a == b:
            legs.append(Leg(sa, sa, forward=True))
            continue
        others = [s for name, s in corners.items() if name not in (a, b)]
        clockwise = not any(ring.passes(sa, sb, s) for s in others)
        back = not any(ring.passes(sb, sa, s) for s in others)
        if clockwise == back:
            which = "both ways round are free of" if clockwise else "both ways round pass"
            why = f'from corner "{{start}}" to "{{end}}" {which} other named corners; name a corner in between'
            return phrase(why, start=Name(a), end=Name(b))
        leg = Leg(sa, sb, forward=True) if clockwise else Leg(sb, sa, forward=False)
        last = legs[-1] if legs else None
        if last and last.forward == leg.forward and sa == (last.b if leg.forward else last.a):
            leg = Leg(last.a, leg.b, forward=True) if leg.forward else Leg(leg.a, last.b, forward=False)
            legs.pop()
        legs.append(leg)
    return legs


def mouths_on(
    ring: Ring, folded: Sequence[DartPlan | PleatPlan], named: Mapping[str, float]
) -> list[tuple[float, float, str, str]]:
    """The mouths of darts and pleats as clockwise intervals, with the corner names at both ends."""
    mouths = []
    for one in folded:
        first, *tip, last = one.corners
        if first not in named or last not in named:
            continue
        a, b = named[first], named[last]
        on_outline = [named[name] for name in tip if name in named]
        clockwise = ring.passes(a, b, on_outline[0]) if on_outline else ring.ahead(a, b) <= ring.ahead(b, a)
        mouths.append((a, b, first, last) if clockwise else (b, a, last, first))
    return mouths


def inner_leg(mouth: complex, tip: complex, lines: Iterable[Curve]) -> Curve:
    """The drawn line from a mouth corner to the tip, or the straight one where no line joins the two."""
    for line in lines:
        a, b = line.nearest(mouth), line.nearest(tip)
        if a.distance <= 0.5 and b.distance <= 0.5 and a.station != b.station:
            return (
                line.between(a.station, b.station)
                if a.station < b.station
                else line.between(b.station, a.station).reversed()
            )
    return Curve.line(mouth, tip)
