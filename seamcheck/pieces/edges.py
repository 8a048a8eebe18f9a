"""The edges of a piece: what of its outline each of them runs along, and what stands on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from seamcheck.amounts import Listed, Name, Phrase, phrase
from seamcheck.exact import EXACT, least, snapped, snapped_point
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import LengthSource
from seamcheck.pattern.model import Edge, Notch
from seamcheck.pieces.markings import ShapeNotch
from seamcheck.pieces.outline import Shape
from seamcheck.pieces.way_round import Leg, Ring

ON_INSIDE_LINE = 1.5  # mm: how near a plan corner must lie to a line inside the piece to be on it
STRAIGHT = 1e-4  # mm: how near to its chord a line must keep to be straight
AT_CORNER = 0.5  # mm: a notch this near to a corner marks the corner


def edge_along(
    ring: Ring,
    shape: Shape,
    name: str,
    start: str,
    end: str,
    legs: Sequence[Leg],
    mouths: Sequence[tuple[float, float, str, str]],
    places: Mapping[str, float],
    *,
    named: bool,
) -> Edge:
    """The edge along some legs of an outline, with its notches, and the mouths of darts and pleats that it passes over."""
    walked: list[Curve] = []
    breaks: list[tuple[str, str]] = []
    run: list[Curve] = []
    whole: list[Curve] = []
    notches: list[Notch] = []
    inner: list[tuple[str, float]] = []
    along = 0.0
    for leg in legs:
        for part, after in _cut_at_mouths(ring, leg, mouths):
            if part is not None:
                curve = ring.stretch(part.a, part.b)
                notches += _notches_on(ring, shape.notches, part, along)
                inner += _corners_on(ring, places, part, along, (start, end))
                run.append(curve if part.forward else curve.reversed())
                whole.append(run[-1])
                along += curve.length
            if not after:
                continue
            if run:
                walked.append(Curve.join(run))
                breaks.append(after)
                run = []
            elif breaks:  # two mouths that touch
                breaks[-1] = (breaks[-1][0], after[1])
            else:  # a mouth at the very start: what is sewn begins behind it
                start = after[1]
    if run:
        walked.append(Curve.join(run))
    elif breaks:
        end = breaks.pop()[0]
    difference = _chord_difference(ring.chords, whole)
    return Edge(
        name=name,
        start=start,
        end=end,
        runs=tuple(walked),
        notches=tuple(notches),
        breaks=tuple(breaks),
        inner=tuple(inner),
        source=_source(shape, whole, difference),
        chord_difference=difference,
        named=named,
        forward=all(leg.forward for leg in legs),
    )


def _cut_at_mouths(
    ring: Ring, leg: Leg, mouths: Sequence[tuple[float, float, str, str]]
) -> list[tuple[Leg | None, tuple[str, str] | None]]:
    """The parts of a leg that are sewn, each with the mouth that follows it, in walking order."""
    length = ring.ahead(leg.a, leg.b) or ring.total
    within = []
    for a, b, first, last in mouths:
        opens, closes = ring.ahead(leg.a, a), ring.ahead(leg.a, b)
        if opens <= closes + 1e-9 and closes <= length + 1e-6:
            within.append((opens, closes, first, last))
    parts: list[tuple[Leg | None, tuple[str, str] | None]] = []
    at = 0.0
    for opens, closes, first, last in sorted(within):
        part = (
            Leg((leg.a + at) % ring.total, (leg.a + opens) % ring.total, leg.forward) if opens - at > 1e-6 else None
        )
        parts.append((part, (first, last)))
        at = closes
    rest = Leg((leg.a + at) % ring.total, leg.b, leg.forward) if length - at > 1e-6 else None
    parts.append((rest, None))
    if leg.forward:
        return parts
    # Walked back: the parts in reverse, and each mouth behind the part that now comes before it.
    reversed_parts = [part for part, _ in reversed(parts)]
    gaps = [(last, first) for _, gap in reversed(parts[:-1]) if gap for first, last in [gap]]
    return list(zip(reversed_parts, [*gaps, None], strict=True))


def _notches_on(ring: Ring, notches: Iterable[ShapeNotch], leg: Leg, along: float) -> list[Notch]:
    """The notches within a leg, in walking order; one at a corner is the corner's own mark."""
    length = ring.ahead(leg.a, leg.b) or ring.total
    found = []
    for notch in notches:
        ahead = ring.ahead(leg.a, notch.station)
        if AT_CORNER < ahead < length - AT_CORNER:
            station = along + (ahead if leg.forward else length - ahead)
            at = snapped_point(notch.at)
            found.append(Notch(at, snapped(station), notch.count, notch.why, notch.ticks, notch.place))
    return sorted(found, key=lambda notch: notch.station)


def _corners_on(
    ring: Ring, places: Mapping[str, float], leg: Leg, along: float, ends: tuple[str, str]
) -> list[tuple[str, float]]:
    length = ring.ahead(leg.a, leg.b) or ring.total
    found = []
    for name, station in places.items():
        ahead = ring.ahead(leg.a, station)
        if name not in ends and -1e-6 < ahead < length - 1e-6 and ahead > 1e-6:
            found.append((name, snapped(along + (ahead if leg.forward else length - ahead))))
    return sorted(found, key=lambda item: item[1])


def _source(shape: Shape, runs: Sequence[Curve], chord_difference: float) -> LengthSource:
    """Where the edge's length comes from: what of a smoothed outline is straight, or left as it was, is as long as it is drawn."""
    drawn = all(run.is_straight(STRAIGHT) for run in runs)
    if shape.source is LengthSource.SPLINE:
        drawn |= abs(chord_difference) <= EXACT
    return LengthSource.DRAWN if drawn else shape.source


def _chord_difference(chords: Curve | None, runs: Sequence[Curve]) -> float:
    """How much longer the edge is than the polyline that stands in the file for it."""
    if chords is None:
        return 0.0
    total = chords.length
    drawn = 0.0
    for run in runs:
        a, b = chords.nearest(run.start).station, chords.nearest(run.end).station
        ways = ((b - a) % total, (a - b) % total)
        drawn += least(ways, key=lambda way: abs(way - run.length))
    return snapped(sum(run.length for run in runs) - drawn)


def line_inside_piece(
    way: Sequence[str],
    shape: Shape,
    inside: Mapping[str, tuple[int, float]],
    on_outline: Mapping[str, complex],
) -> Curve | Phrase:
    """The stretch of a line inside the piece that passes the corners in order, or why there is no telling."""
    first = next(corner for corner in way if corner in inside)
    line = shape.internals[inside[first][0]]
    stations = []
    for corner in way:
        if corner in inside and inside[corner][0] == inside[first][0]:
            stations.append(inside[corner][1])
            continue
        at = shape.internals[inside[corner][0]].point(inside[corner][1]) if corner in inside else on_outline[corner]
        near = line.nearest(at)
        if near.distance > ON_INSIDE_LINE:
            return phrase(
                'corners "{first}" and "{other}" are not on one line inside the piece; draw it as one line',
                first=Name(first),
                other=Name(corner),
            )
        stations.append(near.station)
    steps = list(pairwise(stations))
    if line.is_closed:
        ahead = sum((b - a) % line.length for a, b in steps)
        back = sum((a - b) % line.length for a, b in steps)
        forward, straight_on = ahead < back, min(ahead, back) <= line.length and len(way) > 2
    else:
        forward = stations[0] < stations[-1]
        straight_on = all((a < b) == forward and a != b for a, b in steps)
    if not straight_on:
        why = "the line inside the piece does not pass {corners} in this order, or both ways round; name a corner in between"
        return phrase(why, corners=Listed(tuple(map(Name, way)), last=", "))
    return line.between(stations[0], stations[-1]) if forward else line.between(stations[-1], stations[0]).reversed()


def unnamed_edges(
    ring: Ring,
    shape: Shape,
    places: Mapping[str, float],
    covered: Sequence[Leg],
    mouths: Sequence[tuple[float, float, str, str]],
) -> list[Edge]:
    """The stretches between neighbouring corners that no named edge covers, numbered by their place."""
    in_order = sorted(places.items(), key=lambda item: item[1])
    if not in_order:
        return [edge_along(ring, shape, "e1", "c1", "c1", [Leg(0.0, 0.0, forward=True)], [], {}, named=False)]
    taken = [(leg.a, leg.b) for leg in covered] + [(a, b) for a, b, _, _ in mouths]
    edges = []
    for number, (start, a) in enumerate(in_order, 1):
        end, b = in_order[number % len(in_order)]
        length = ring.ahead(a, b) or ring.total
        middle = (a + length / 2) % ring.total
        if any(x == y or ring.ahead(x, middle) < ring.ahead(x, y) for x, y in taken):
            continue
        edges.append(
            edge_along(ring, shape, f"e{number}", start, end, [Leg(a, b, forward=True)], [], {}, named=False)
        )
    return edges
