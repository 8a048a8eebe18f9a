"""From the cut line of a shape to its sew line: which stretch has which allowance, and what moves with the line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.amounts import Phrase
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.exact_arrays import least_at
from seamcheck.geometry.intersections import crossings
from seamcheck.pattern.drawing import Note
from seamcheck.pattern.model import UNSIZED
from seamcheck.pieces.markings import ShapeNotch
from seamcheck.pieces.outline import Shape
from seamcheck.pieces.sew_line import AllowanceStretch, NoSewLineError, SewLine, sew_line, turn_up_hems
from seamcheck.pieces.way_round import Leg, Ring, all_corners, inner_leg, route

if TYPE_CHECKING:
    from seamcheck.pattern.plan import DartPlan, PiecePlan, PleatPlan

Stations = Mapping[str, float]
_SAME_STATION = 1e-6  # mm


def on_sew_line(
    shape: Shape,
    plan: PiecePlan | None,
    named: Stations,
    inside: Mapping[str, tuple[int, float]],
    darts: Sequence[DartPlan],
    pleats: Sequence[PleatPlan],
    default: float | None,
) -> tuple[Shape, dict[str, float], tuple[Note, ...]]:
    """The shape on its sew line, the stations of its named corners there, and what should be said.

    `shape` is drawn on the cut line, `inside` are the corners on lines within it (line, station), `default` is the
    allowance in mm of edges for which the plan has none. Where no allowance is known the shape comes back as it was.
    """
    ring = Ring(shape.outline)
    places = all_corners(ring, shape.corners, named)
    whole = plan.allowance if plan and plan.allowance is not None else default
    own = plan.allowances if plan else {}
    stretches = allowance_stretches(shape, plan, named, darts, pleats, default)
    if not stretches:
        return shape, dict(named), ()
    name = (plan.name if plan else shape.name) + ("" if shape.size == UNSIZED else f", size {shape.size}")
    try:
        sew = sew_line(shape.outline, stretches, y_down=shape.y_down)
    except NoSewLineError as error:
        message = f"{name}: no sew line could be drawn, {error}; its seams are walked on the cut line."
        return shape, dict(named), (Note("sew-line-swallowed", message),)
    stations = {corner: _moved(ring, station, stretches, sew) for corner, station in named.items()}
    stations |= _dart_mouths(ring, shape, sew, named, inside, darts)
    moved = replace(
        shape,
        outline=sew.outline,
        corners=tuple(sorted(set(sew.corners))) if places else (),
        notches=tuple(_moved_notch(ring, notch, stretches, sew, shape.y_down) for notch in shape.notches),
        smoothed=None,
    )
    notes = [_swallowed(name, shape.outline.point(station), why) for station, why in sew.swallowed]
    if whole is None:
        message = (
            f"{name}: the plan gives an allowance for {', '.join(sorted(own))} only; along the other edges seams are "
            "walked on the cut line. Write allowance = ... in the plan."
        )
        notes.append(Note("cut-line-walked", message))
    return moved, stations, tuple(notes)


def allowance_stretches(
    shape: Shape,
    plan: PiecePlan | None,
    named: Stations,
    darts: Sequence[DartPlan],
    pleats: Sequence[PleatPlan],
    default: float | None,
) -> tuple[AllowanceStretch, ...]:
    """The stretches of a cut line with their allowances, as `on_sew_line` takes them; none where no allowance is known."""
    whole = plan.allowance if plan and plan.allowance is not None else default
    if whole is None and not (plan and plan.allowances):
        return ()
    ring = Ring(shape.outline)
    places = all_corners(ring, shape.corners, named)
    found = _stretches(ring, places, _ways(ring, plan, named, darts, pleats), whole or 0.0)
    return tuple(turn_up_hems(shape.outline, found, list(named.values()), y_down=shape.y_down))


def _swallowed(name: str, at: complex, why: str) -> Note:
    return Note("sew-line-swallowed", f"{name}: at ({at.real:.1f}, {at.imag:.1f}) {why}.")


# Which stretch has which allowance


def _ways(
    ring: Ring,
    plan: PiecePlan | None,
    named: Stations,
    darts: Sequence[DartPlan],
    pleats: Sequence[PleatPlan],
) -> list[tuple[Sequence[Leg], float]]:
    """The ways along the ring that have an allowance of their own, the last that covers a place being in force.

    A dart is folded and not cut: its legs, where the outline runs along them, are sew lines unless the plan gives
    them an allowance.
    """
    ways: list[tuple[Sequence[Leg], float]] = []
    for dart in darts:
        if all(corner in named for corner in dart.corners):
            first, tip, last = (named[corner] for corner in dart.corners)
            mouth = (first, last) if ring.passes(first, last, tip) else (last, first)
            ways.append(([Leg(*mouth, forward=True)], 0.0))
    folded: list[DartPlan | PleatPlan] = [*darts, *pleats]
    folded_away = {corner for one in folded for corner in one.corners}
    for edge, allowance in plan.allowances.items() if plan else ():
        way = plan.edges[edge] if plan else ()
        if all(corner in named for corner in way):
            legs = route(ring, way, {n: s for n, s in named.items() if n not in folded_away or n in way})
            if not isinstance(legs, Phrase):
                ways.append((legs, allowance))
    return ways


def _stretches(
    ring: Ring, places: Stations, ways: Sequence[tuple[Sequence[Leg], float]], whole: float
) -> list[AllowanceStretch]:
    """The stretches between neighbouring corners with their allowances."""
    stations: list[float] = []
    for station in sorted(places.values()) or [0.0]:
        if not stations or min(ring.ahead(s, station) for s in (stations[0], stations[-1])) > _SAME_STATION:
            stations.append(station)
    stretches = []
    for k, start in enumerate(stations):
        end = stations[(k + 1) % len(stations)]
        middle = (start + (ring.ahead(start, end) or ring.total) / 2) % ring.total
        allowance = whole
        for legs, own in ways:
            if any(ring.ahead(leg.a, middle) < (ring.ahead(leg.a, leg.b) or ring.total) for leg in legs):
                allowance = own
        stretches.append(AllowanceStretch(start, end, allowance))
    return stretches


# What moves with the line


def _moved(ring: Ring, station: float, stretches: Sequence[AllowanceStretch], sew: SewLine) -> float:
    """The station on the sew line of a corner of the cut line."""
    k = min(
        range(len(stretches)),
        key=lambda k: round(min(ring.ahead(stretches[k].start, station), ring.ahead(station, stretches[k].start)), 6),
    )
    return sew.corners[k]


def _moved_notch(
    ring: Ring, notch: ShapeNotch, stretches: Sequence[AllowanceStretch], sew: SewLine, y_down: bool
) -> ShapeNotch:
    """A notch, moved square to the cut line onto the sew line of its stretch."""
    total = sew.outline.length
    k = next((k for k, stretch in enumerate(stretches) if _holds(ring, stretch, notch.station)), None)
    if k is None:  # beyond the fold of a hem: its place is the end of what lies above
        station = sew.outline.nearest(notch.at).station
    else:
        inward = ring.curve.tangent(notch.station) * (1j if y_down else -1j)
        target = ring.curve.point(notch.station) + stretches[k].allowance * inward
        start, end = sew.corners[k], sew.corners[(k + 1) % len(stretches)]
        vanished = len(stretches) > 1 and abs(end - start) <= _SAME_STATION
        part = None if vanished else sew.outline.between(start, end or total)
        station = start if part is None else (start + part.nearest(target).station) % total
    return replace(notch, at=sew.outline.point(station), station=station)


def _holds(ring: Ring, stretch: AllowanceStretch, station: float) -> bool:
    return ring.ahead(stretch.start, station) < (ring.ahead(stretch.start, stretch.end) or ring.total)


def _dart_mouths(
    ring: Ring,
    shape: Shape,
    sew: SewLine,
    named: Stations,
    inside: Mapping[str, tuple[int, float]],
    darts: Sequence[DartPlan],
) -> dict[str, float]:
    """The mouth corners of darts whose tip lies inside: where the legs cross the sew line."""
    found = {}
    for dart in darts:
        first, tip, last = dart.corners
        if tip not in inside:
            continue
        line, station = inside[tip]
        for corner in (first, last):
            if corner in named:
                leg = inner_leg(
                    ring.curve.point(named[corner]), shape.internals[line].point(station), shape.internals
                )
                crossed = _first_crossing(leg, sew.outline)
                if crossed is not None:
                    found[corner] = crossed
    return found


def _first_crossing(line: Curve, outline: Curve) -> float | None:
    """The station on the outline where a line first crosses it."""
    i, t, j, u = crossings(line.segments, outline.segments)
    if not i.size:
        return None
    first = least_at(i + t)
    return outline.station_of(int(j[first]), float(u[first]))
