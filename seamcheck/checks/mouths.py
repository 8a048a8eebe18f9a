"""The edge across the mouth of a dart or a pleat: what lies in the fold must reach the seam that catches it.

roof    the stretch of edge that is drawn across the mouth; folded, it lies on the edge beside the mouth and must end where that does
peak    where the roof meets the fold line, which halves the dart or the pleat
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Reason, phrase

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Affine, Curve
    from seamcheck.pattern.model import Edge, Piece

NO_ROOF = Reason("no-roof", phrase("no line is drawn across it, so how the cloth in its fold ends is not judged"))
STRAIGHT = 0.2  # mm: a leg or fold line that bends more has no straight fold beside it
LONGEST_PEAK = 3.0  # times the mouth's width: a peak further out than that is none that anyone draws


def opening_edge(piece: Piece, corners: tuple[str, str]) -> Edge | None:
    """The edge that a dart or a pleat opens on: the one whose walk skips its mouth."""
    mouth = set(corners)
    return next((edge for edge in piece.edges if any(set(pair) == mouth for pair in edge.breaks)), None)


def side_of(edge: Edge, corner: str) -> str:
    """The end of the edge that lies on the side of a mouth corner, by name."""
    return edge.start if any(corner == before for before, _ in edge.breaks) else edge.end


class Roof(NamedTuple):
    """How far the drawn roof reaches beyond where it should, in mm: negative where cloth is missing.

    `toward` is the mouth corner towards which the fold is laid for that; the other way the roof is further off.
    """

    beyond: float
    toward: str
    at: complex


def roof(piece: Piece, corners: tuple[str, str], legs: tuple[Curve, Curve]) -> Roof | Reason:
    """The roof across a mouth that is drawn on the outline, or why there is none to judge: legs bend, or no line crosses the fold.

    Folded towards one side, the half of the fold next to that side is turned over about its leg, so the roof above it is the
    edge beside the mouth, mirrored in the leg. Its peak lies on the fold line.
    """
    if not all(leg.is_straight(STRAIGHT) for leg in legs):
        return Reason("bent-legs", phrase("its legs bend, so that the cloth in it is folded along no straight line"))
    inner, width = (legs[0].end + legs[1].end) / 2, abs(legs[1].start - legs[0].start)
    outward = sum(((leg.start - leg.end) / abs(leg.start - leg.end) for leg in legs), 0j)
    if width < 1e-6 or abs(outward) < 1e-6:
        return NO_ROOF
    outward /= abs(outward)
    first, last = (piece.corner(name).station for name in corners)
    total = piece.outline.length
    clockwise = (last - first) % total <= (first - last) % total
    start, end = (first, last) if clockwise else (last, first)
    drawn = _peak(piece.outline.between(start, end), inner, outward, width)
    if drawn is None:
        return NO_ROOF
    reach = min(2.0 * width, total / 8)
    found = []
    for name, leg in zip(corners, legs, strict=True):
        station = piece.corner(name).station
        before = piece.outline.between((station - reach) % total, station)
        beside = before.reversed() if station == start else piece.outline.between(station, (station + reach) % total)
        wanted = _peak(beside.transformed(_mirrored_in(leg)), inner, outward, width)
        if wanted is not None:
            found.append(Roof(beyond=drawn - wanted, toward=name, at=inner + drawn * outward))
    return min(found, key=lambda one: (round(abs(one.beyond), 6), one.toward)) if found else NO_ROOF


def _peak(line: Curve, inner: complex, outward: complex, width: float) -> float | None:
    """How far out along the fold line, counted from its inner end, a line first crosses it beyond the mouth."""
    from seamcheck.geometry.curve import Curve
    from seamcheck.geometry.intersections import crossings

    along = max((abs(point - inner) for point in (line.start, line.end)), default=0.0) + LONGEST_PEAK * width
    fold = Curve.line(inner, inner + along * outward)
    _, _, j, u = crossings(line.segments, fold.segments)
    if not len(j):
        return None
    return float(u.min()) * along


def _mirrored_in(leg: Curve) -> Affine:
    from seamcheck.geometry.curve import Affine

    along = (leg.end - leg.start) / abs(leg.end - leg.start)
    turned = along * along
    return Affine(0j, turned, leg.start - turned * leg.start.conjugate())
