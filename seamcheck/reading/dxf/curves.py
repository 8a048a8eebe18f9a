"""One DXF entity as an exact curve, in its own coordinate system.

Group codes, the bulge of a polyline segment and the arbitrary axis of an extruded entity are those of the DXF
reference. `size` is the number of mm that one unit comes to in the end, so that arcs are split finely enough.
"""

from __future__ import annotations

from cmath import exp, phase
from itertools import pairwise
from math import atan, degrees, hypot
from typing import NamedTuple

import numpy as np

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.short_arrays import differences
from seamcheck.reading.dxf.records import Alike, Entity

LINE_KINDS = frozenset(("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"))
SMALLEST_EDGE = 1e-6  # mm; shorter steps between two vertices are rounding
_FLAT = 1e-6
_ONE_CUBIC = 0.1  # radians; up to here one cubic is an arc within 4e-10 of its chord


class NotDrawableError(ValueError):
    """An entity that cannot be a line on paper; the text says why, in the plural: "do not lie flat"."""


class Vertices(NamedTuple):
    """The vertices of a line or polyline in file units, with the bulge of the segment that follows each.

    `closed` is the flag in the file. `smoothed` tells that the writer put rounded corners of its own making
    in place of the points that were drawn.
    """

    points: tuple[complex, ...]
    bulges: tuple[float, ...]
    closed: bool
    smoothed: bool = False


def vertices(entity: Entity) -> Vertices:
    """The vertices of a LINE, POLYLINE or LWPOLYLINE. NotDrawableError for meshes and lines that do not lie flat."""
    if entity.kind == "LINE":
        return Vertices((entity.point(10), entity.point(11)), (0.0, 0.0), closed=False)
    flags = entity.integer(70)
    if entity.kind == "LWPOLYLINE":
        return _light_vertices(entity, closed=bool(flags & 1))
    if flags & (16 | 64):
        raise NotDrawableError("are meshes")
    # Vertices of the frame that a spline was fitted to (16) are no points of the line.
    parts = entity.parts
    if not isinstance(parts, Alike) or any(map((16).__and__, parts.integers(70))):
        parts = [part for part in parts if not part.integer(70) & 16]
    if not parts:
        return Vertices((), (), closed=bool(flags & 1), smoothed=bool(flags & 4))
    x, y, height, bulges = (
        parts.numbers(code) if isinstance(parts, Alike) else [part.number(code) for part in parts]
        for code in (10, 20, 30, 42)
    )
    if flags & 8 and _spread(height) > _FLAT:
        raise NotDrawableError("do not lie flat")
    return Vertices(
        tuple(map(complex, x, y)),
        (0.0,) * len(parts) if flags & 8 else tuple(bulges),
        closed=bool(flags & 1),
        smoothed=bool(flags & 4),
    )


def _light_vertices(entity: Entity, *, closed: bool) -> Vertices:
    points: list[complex] = []
    bulges: list[float] = []
    for code, number in entity.figures:
        if code == 10:
            points.append(complex(number, 0.0))
            bulges.append(0.0)
        elif code == 20 and points:
            points[-1] = complex(points[-1].real, number)
        elif code == 42 and points:
            bulges[-1] = number
    return Vertices(tuple(points), tuple(bulges), closed)


def _spread(values: list[float]) -> float:
    return max(values) - min(values) if values else 0.0


def axes(entity: Entity) -> Affine:
    """From the coordinate system of an extruded entity to the drawing's. NotDrawableError when it is tilted."""
    if entity.kind not in ("ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "TEXT", "ATTRIB", "ATTDEF", "INSERT"):
        return Affine.identity()  # the others stand in the drawing's own coordinates
    x, y, z = entity.number(210, 0.0), entity.number(220, 0.0), entity.number(230, 1.0)
    if hypot(x, y) > _FLAT * abs(z):
        raise NotDrawableError("do not lie flat")
    return Affine.identity() if z > 0 else Affine.scaling(-1.0, 1.0)


def curve_of(entity: Entity, size: float) -> Curve:
    """The exact curve of a line entity, `size` times as large as in the file.

    NotDrawableError when it has no length, does not lie flat or is not complete.
    """
    if entity.kind in ("LINE", "POLYLINE", "LWPOLYLINE"):
        if entity.kind == "LINE" and abs(entity.number(31) - entity.number(30)) > _FLAT:
            raise NotDrawableError("do not lie flat")
        return polyline_curve(vertices(entity), size)
    if entity.kind == "SPLINE":
        return _spline(entity, size)
    if entity.kind == "ELLIPSE":
        return _ellipse(entity, size)
    centre, radius = entity.point() * size, entity.number(40) * size
    if radius <= SMALLEST_EDGE:
        raise NotDrawableError("have no length")
    if entity.kind == "CIRCLE":
        return Curve.arc(centre, radius)
    start = entity.number(50)
    return Curve.arc(centre, radius, start=start, sweep=(entity.number(51) - start) % 360.0 or 360.0)


def polyline_curve(line: Vertices, size: float) -> Curve:
    """The curve of a polyline, bulges as exact arcs; a closed one ends where it began."""
    points = [point * size for point in line.points]
    bulges = list(line.bulges)
    if line.closed and points:
        points.append(points[0])
    if len(points) > 1 and not any(bulges):
        at = np.array(points)
        if (np.abs(differences(at)) > SMALLEST_EDGE).all():
            return Curve.polyline(at)
    corners = points[:1]
    bends: list[float] = []
    for there, bulge in zip(points[1:], bulges, strict=False):
        if abs(there - corners[-1]) > SMALLEST_EDGE:
            corners.append(there)
            bends.append(bulge)
    if not bends:
        raise NotDrawableError("have no length")
    if not any(bends):
        return Curve.polyline(corners)
    steps = pairwise(corners)
    return Curve.join([bulge_curve(a, b, bulge) for (a, b), bulge in zip(steps, bends, strict=True)])


def bulge_curve(start: complex, end: complex, bulge: float) -> Curve:
    """The arc from one vertex to the next; `bulge` is the tangent of a quarter of its angle, positive to the left."""
    if bulge == 0.0:
        return Curve.line(start, end)
    angle, chord = 4.0 * atan(bulge), end - start
    if abs(angle) <= _ONE_CUBIC:
        # The centre of a shallow arc is too far off to reckon from.
        handle = chord * (1.0 + bulge * bulge) / 3.0
        turn = exp(-0.5j * angle)
        return Curve.cubic(start, start + handle * turn, end - handle / turn, end)
    centre = (start + end) / 2 + 1j * chord * (1.0 - bulge * bulge) / (4.0 * bulge)
    arc = Curve.arc(centre, abs(start - centre), start=degrees(phase(start - centre)), sweep=degrees(angle))
    segments = arc.segments.copy()
    segments[0, 0], segments[-1, 3] = start, end
    return Curve(segments)


def _ellipse(entity: Entity, size: float) -> Curve:
    major = entity.point(11) * size
    if abs(entity.number(31)) > _FLAT or hypot(entity.number(210), entity.number(220)) > _FLAT:
        raise NotDrawableError("do not lie flat")
    ratio = entity.number(40, 1.0)
    if abs(major) * min(abs(ratio), 1.0) <= SMALLEST_EDGE:
        raise NotDrawableError("have no length")
    start = degrees(entity.number(41, 0.0))
    sweep = (degrees(entity.number(42)) - start) % 360.0 if entity.has(42) else 360.0
    if abs(sweep) < 1e-9:
        sweep = 360.0
    # Seen from below the angles run the other way.
    hand = 1.0 if entity.number(230, 1.0) > 0 else -1.0
    return Curve.arc(
        entity.point() * size,
        abs(major),
        abs(major * ratio),
        rotation=degrees(phase(major)),
        start=hand * start,
        sweep=hand * sweep,
    )


def _spline(entity: Entity, size: float) -> Curve:
    if max(_spread(entity.numbers(30)), _spread(entity.numbers(31))) > _FLAT:
        raise NotDrawableError("do not lie flat")
    control = [point * size for point in entity.points(10)]
    if not control:
        return _through_fit_points(entity, size)
    degree = entity.integer(71, 3)
    knots = entity.numbers(40)
    weights = entity.numbers(41) or None
    if len(knots) != len(control) + degree + 1 or not 1 <= degree < len(control):
        raise NotDrawableError("are not complete (control points and knots do not fit)")
    if weights is not None and (len(weights) != len(control) or min(weights) <= 0):
        raise NotDrawableError("are not complete (weights and control points do not fit)")
    if weights is not None and _spread(weights) == 0.0:
        weights = None
    try:
        return Curve.bspline(control, knots, degree, weights)
    except ValueError as error:
        raise NotDrawableError(f"cannot be drawn ({error})") from None


def fit_points_only(entity: Entity) -> bool:
    """Whether a spline gives the points it runs through and not its control points."""
    return entity.kind == "SPLINE" and not entity.has(10) and entity.has(11)


def _through_fit_points(entity: Entity, size: float) -> Curve:
    """Draw the curve the way CAD programs do when a file gives no more than the points."""
    fit = [point * size for point in entity.points(11)]
    points = [point for index, point in enumerate(fit) if not index or point != fit[index - 1]]
    if len(points) < 2:
        raise NotDrawableError("have no length")
    given = entity.has(12) and entity.has(13)
    return Curve.through(points, ends=(entity.point(12), entity.point(13)) if given else "natural")
