"""Marks, drawings and pieces for tests, with as few words as can be."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from typing import Any

from seamcheck.config.plan_file import parse_plan
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Drawing, LineMark, PointMark, Role, TextMark
from seamcheck.pattern.model import Pattern, Piece
from seamcheck.pattern.plan import Plan
from seamcheck.pattern.seam_graph import SeamGraph, build_graph
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import Shape, Sheet, assemble
from seamcheck.places import NOWHERE, Place


def line_mark(
    curve: Curve | Sequence[complex], role: Role | None = None, *, place: Place = NOWHERE, **more: Any
) -> LineMark:
    curve = curve if isinstance(curve, Curve) else Curve.polyline(curve)
    return LineMark(
        curve=curve,
        closed=more.pop("closed", curve.is_closed),
        role=role,
        place=place or Place("element line"),
        **more,
    )


def loop(*points: complex) -> Curve:
    """The closed line through points, in their order."""
    return Curve.polyline([*points, points[0]])


def box(width: float = 200, height: float = 300, at: complex = 0j) -> Curve:
    """A rectangle from its top left corner, clockwise as seen with y down."""
    return loop(at, at + width, at + complex(width, height), at + complex(0, height))


def tick(curve: Curve, station: float, length: float = 5.0) -> LineMark:
    """A notch drawn inwards across a clockwise line, y down."""
    at = curve.point(station)
    return line_mark([at, at + length * curve.tangent(station) * 1j], Role.NOTCH)


def drawing(
    lines: Iterable[LineMark],
    *,
    points: Iterable[PointMark] = (),
    texts: Iterable[TextMark] = (),
    y_down: bool = True,
    **more: Any,
) -> Drawing:
    return Drawing(
        path="made.svg",
        format="made",
        y_down=y_down,
        units="mm",
        lines=tuple(lines),
        points=tuple(points),
        texts=tuple(texts),
        **more,
    )


def sheet(lines: Iterable[LineMark], **more: Any) -> Sheet:
    return assemble(drawing(lines, **more))


def shape(lines: Iterable[LineMark], **more: Any) -> Shape:
    (only,) = sheet(lines, **more).shapes
    return only


def pattern(lines: Iterable[LineMark], plan: str | Plan | None = None, **more: Any) -> Pattern:
    made = drawing(lines, **more)
    return build_pattern(made, assemble(made), planned(plan))


def planned(plan: str | Plan | None) -> Plan | None:
    return parse_plan("format = 1\n" + plan) if isinstance(plan, str) else plan


def piece(lines: Iterable[LineMark], plan: str | Plan | None = None, **more: Any) -> Piece:
    (only,) = pattern(lines, plan, **more).pieces
    return only


def graph(lines: Iterable[LineMark], plan: str) -> SeamGraph:
    made = pattern(lines, plan)
    return build_graph({one.name: one for one in made.pieces}, planned(plan))


def corners(shape_: Shape) -> list[complex]:
    """Where the corners of a shape are, to a tenth of a micron."""
    return [rounded(shape_.outline.point(station), 4) for station in shape_.corners]


def rounded(point: complex, digits: int = 6) -> complex:
    return complex(round(point.real, digits) + 0.0, round(point.imag, digits) + 0.0)


def chords(curve: Curve, step: float) -> Curve:
    """A curve as a digitiser would give it: vertices every `step` mm along it, ends kept."""
    count = max(1, round(curve.length / step))
    vertices = [curve.point(curve.length * k / count) for k in range(count + 1)]
    return Curve.polyline(vertices)


def arc_from(at: complex, heading: float, radius: float, length: float) -> Curve:
    """A circular arc from a point and heading (degrees); a positive radius bends to the left, mathematically."""
    centre = at + radius * 1j * cmath.exp(1j * math.radians(heading))
    start = math.degrees(cmath.phase(at - centre))
    return Curve.arc(centre, abs(radius), start=start, sweep=math.degrees(length / radius))


def heading(curve: Curve, station: float, side: int = 1) -> float:
    return math.degrees(cmath.phase(curve.tangent(station, side=side)))
