"""A junction as it is sewn: the pieces laid together at the point and opened flat, true to shape.

base    the ray that the ruler is laid along: a fold, or the border of the piece that is nearer to square
ought   the heading at which the ray at the other end of the cloth should leave the point, by the angle expected
wedge   what lies between that and where the ray really leaves

The pieces are laid together by the angles that were measured, each moved rigidly, so that what is missing or too
much shows as a wedge of just that angle.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from seamcheck import amounts
from seamcheck.checks.places import shape
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.junction_layout import meet
from seamcheck.report import pen
from seamcheck.report.figures.base import (
    SMALL,
    TEXT,
    Figure,
    Words,
    disc,
    hatch,
    length,
    line,
    plain,
    stroke,
    text,
    width_of,
)
from seamcheck.report.figures.parts import edge_at, geometry_of, pieces_in, planned, worst
from seamcheck.report.lettering import Labels

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Finding, JudgedJunction
    from seamcheck.pattern.junction_layout import Meeting, Sector
    from seamcheck.pattern.junctions import Junction
    from seamcheck.pattern.model import Piece
    from seamcheck.pattern.plan import Plan
    from seamcheck.pattern.seams import Ray

REACH = 40.0  # mm of cloth round the point
BEYOND = REACH + 1e-6  # mm; what leaves the circle by less lies on it
SCALE = 1.25  # units to a mm
RADIUS = REACH * SCALE
ROOM = 104.0  # from the middle to the edge of the paper
STRAIGHT = 0.2  # mm: a line that leaves the ruler by less covers it
INCH = 25.4
SEEN = 0.05  # degrees: what is less is no difference to draw
LINE = 4.4


class _Laid(NamedTuple):
    """A junction laid together, in units with the point in the middle of the paper."""

    told: JudgedJunction
    junction: Junction
    pieces: Mapping[str, Piece]
    meeting: Meeting
    plan: Plan | None
    base_first: bool  # whether the ruler lies along the first ray, not the last
    off: float  # angle found less angle expected, in degrees
    grade: str  # the worst that was found of it, "" where nothing was

    @property
    def base(self) -> float:
        """The heading of the ray that the ruler is laid along."""
        return self.meeting.sectors[0].start if self.base_first else self.meeting.sectors[-1].end

    @property
    def ought(self) -> float:
        """Where the other end of the cloth should be."""
        return self.base + self.told.expected * (1 if self.base_first else -1)

    @property
    def found(self) -> float:
        """Where it is."""
        return self.meeting.sectors[-1].end if self.base_first else self.meeting.sectors[0].start

    @property
    def twin(self) -> Affine | None:
        """The mirror on the fold at the base, where the cloth goes on behind it; None where there is no such fold."""
        if not self.junction.halved or self.meeting.closed or not self._mirrored(self.base_ray):
            return None
        if self._mirrored(self.found_ray):
            return None  # the fold runs on across the point; both halves of the cloth meet all along it
        return Affine(0j, _unit(2 * self.base), 0j)

    @property
    def base_ray(self) -> Ray:
        """The ray at the base."""
        return self.meeting.sectors[0].first if self.base_first else self.meeting.sectors[-1].last

    @property
    def found_ray(self) -> Ray:
        """The ray at the other end."""
        return self.meeting.sectors[-1].last if self.base_first else self.meeting.sectors[0].first

    def _mirrored(self, ray: Ray) -> bool:
        return ray in self.junction.mirrored


def junction_figure(file: FileResult, junction: int) -> Figure:
    """A junction by its place in the result's list; IndexError where there is none."""
    told = file.junctions[junction]
    geometry = geometry_of(file)
    grade = worst(found_at(file, junction))
    missed = worst(found for found in file.findings if found.counts and misses_at(file, junction, found))
    laid = _laid(told, geometry.junctions[junction], pieces_in(file, told.size), geometry.plan, grade)
    drawing = _Drawing()
    drawing.draw(laid)
    many = f", size {told.size}" if len(file.sizes) > 1 else ""
    return Figure(
        parts=(f'<g class="grade-{grade or missed or "none"}">\n{"".join(drawing.parts)}</g>\n',),
        box=drawing.box(),
        title=f"Where {amounts.listed(told.corners)} come together{many}"
        if len(told.corners) > 1
        else f"Corner {told.corners[0]}{many}",
        description=_description(laid),
    )


def found_at(file: FileResult, junction: int) -> list[Finding]:
    """What was found of the sum of the angles at a junction and nobody accepted, the worst first."""
    closes_dart = geometry_of(file).junctions[junction].dart
    return [
        found
        for found in file.findings
        if found.counts
        and found.unit == "degrees"
        # Other things may be found at the same corner; of the sum is also what is found of a dart that is closed there.
        and found.subject.kind in (("junction", "mouth") if closes_dart else ("junction",))
        and file.junction_of(found) == junction
        and found.measured is not None
        and abs(found.measured) >= SEEN
    ]


def misses_at(file: FileResult, junction: int, finding: Finding) -> bool:
    """Whether a finding is of two joints of a seam that should come together at a junction and miss each other."""
    return finding.subject.kind == "junction" and finding.unit == "mm" and file.junction_of(finding) == junction


def _laid(
    told: JudgedJunction, junction: Junction, pieces: Mapping[str, Piece], plan: Plan | None, grade: str
) -> _Laid:
    meeting = meet(junction, pieces)
    first, last = meeting.sectors[0], meeting.sectors[-1]
    at_fold = first.first in junction.mirrored, last.last in junction.mirrored
    base_first = at_fold[0] if at_fold[0] != at_fold[1] else abs(first.angle - 90.0) <= abs(last.angle - 90.0) + 1e-06
    laid = _Laid(told, junction, pieces, meeting, plan, base_first, told.angle - told.expected, grade)
    # The ruler lies level or upright, as near to how the file shows the cloth as it goes.
    level = 90.0 * round(laid.base / 90.0)
    return laid._replace(meeting=meeting.turned(level - laid.base))


def _description(laid: _Laid) -> str:
    told = laid.told
    half = " on the drawn half" if laid.junction.halved else ""
    parts = f"The angles add to {amounts.angle(told.angle)}{half}; "
    if abs(laid.off) < SEEN:
        return f"{parts}that is what they should add to."
    return f"{parts}they should add to {amounts.angle(told.expected)}: {', '.join(_verdict(laid))}."


def _verdict(laid: _Laid) -> tuple[str, str]:
    """By how much the sum is off, and what that comes to."""
    by = f"{amounts.angle(abs(laid.off))} too {'little' if laid.off < 0 else 'much'}"
    if not laid.grade:
        return by, "which is within what is allowed"
    if laid.meeting.closed:
        return by, "the cloth cannot lie flat"
    return by, shape(-laid.off)


def _unit(degrees: float) -> complex:
    return cmath.rect(1.0, math.radians(degrees))


class _Drawing:
    """The picture as it grows, the point in the middle of the paper; what it takes up is known at the end."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.labels = Labels(2 * ROOM, 2 * ROOM)
        self.centre = complex(ROOM, ROOM)
        self.move = Affine.translation(self.centre) @ Affine.scaling(SCALE)
        self._x: list[float] = [ROOM]
        self._y: list[float] = [ROOM]

    def box(self) -> tuple[float, float, float, float]:
        """What is drawn, and a little round it."""
        x, y = min(self._x) - 1.5, min(self._y) - 1.5
        return x, y, max(self._x) + 1.5 - x, max(self._y) + 1.5 - y

    def reach(self, *points: complex) -> None:
        """The picture takes in these points."""
        self._x += [one.real for one in points]
        self._y += [one.imag for one in points]

    def draw(self, laid: _Laid) -> None:
        """Cloth, seams, the ruler, what is off, and then words where they cover nothing."""
        lines = [[_within(one).transformed(self.move) for one in sector.lines] for sector in laid.meeting.sectors]
        for k, (sector, pair) in enumerate(zip(laid.meeting.sectors, lines, strict=True)):
            self._cloth(sector, pair, second=k % 2 == 1)
        if laid.twin is not None:
            self._twin(laid, lines)
        rays = [
            (ray, *_parted(curve, end * SCALE))
            for sector, pair in zip(laid.meeting.sectors, lines, strict=True)
            for ray, curve, end in zip((sector.first, sector.last), pair, sector.ends, strict=True)
        ]
        self._ruler(laid, rays)
        for ray, own, rest in rays:
            self._ray(laid, ray, own, rest)
        if laid.grade:
            self._wedge(laid)
        self._jogs(laid)
        self.parts.append(disc(self.centre, 0.9, "dot"))
        self._arcs(laid)
        for sector in laid.meeting.sectors:
            self._name(sector)
        if laid.grade:
            self._at_one_inch(laid)
        self._names_of_rays(laid, rays)
        self._told(laid)

    def _arcs(self, laid: _Laid) -> None:
        """The angle of every sector."""
        for k, sector in enumerate(laid.meeting.sectors):
            radius = 6.0 + 1.2 * (k % 2)
            ends = [self.centre + _unit(heading) * radius for heading in (sector.start, sector.end)]
            large = 1 if sector.angle > 180.0 else 0
            arc = f"M{pen.point(ends[0])}A{pen.number(radius)} {pen.number(radius)} 0 {large} 1 {pen.point(ends[1])}"
            self.parts.append(stroke(arc, "fine"))

    def _cloth(self, sector: Sector, pair: Sequence[Curve], *, second: bool) -> None:
        begin, end = pair
        large = 1 if sector.angle > 180.0 else 0
        radius = pen.number(RADIUS)
        data = f"{pen.path(begin.reversed())}{pen.path(end, go_on=True)}A{radius} {radius} 0 {large} 0 {pen.point(begin.end)}Z"
        kind = "cloth second" if second else "cloth"
        over = ' data-turned="over"' if sector.turned_over else ""
        self.parts.append(stroke(data, kind, f' data-piece="{pen.words(sector.piece)}"{over}'))
        self.reach(begin.end, end.end)
        for heading in range(math.ceil(sector.start / 15) * 15, math.floor(sector.end) + 1, 15):
            self.reach(self.centre + _unit(heading) * RADIUS)

    def _twin(self, laid: _Laid, lines: Sequence[Sequence[Curve]]) -> None:
        """The other half of the cloth behind the fold, in outline."""
        assert laid.twin is not None
        mirror = Affine.translation(self.centre) @ laid.twin @ Affine.translation(-self.centre)
        for pair in lines:
            for curve in pair:
                other = curve.transformed(mirror)
                self.parts.append(stroke(pen.path(other), "fine"))
                self.labels.avoid(other.polygon(0.05))
                self.reach(other.end)

    def _ray(self, laid: _Laid, ray: Ray, own: Curve, rest: Curve | None) -> None:
        """A line that leaves the point: a border that runs on across it, a fold, or a seam; behind its corner just outline."""
        kind = "fold" if ray in laid.junction.mirrored else "seam" if _sewn(laid.junction, ray) else "sewn"
        self.parts.append(stroke(pen.path(own), kind, f' data-ray="{pen.words(".".join(ray[:2]))} {ray[2]}"'))
        self.labels.avoid(own.polygon(0.05))
        if rest is not None:
            self.parts.append(stroke(pen.path(rest), "outline"))
            self.labels.avoid(rest.polygon(0.05))

    def _ruler(self, laid: _Laid, rays: Sequence[tuple[Ray, Curve, Curve | None]]) -> None:
        """Where the border should run, and the wedge that it leaves there."""
        reach = RADIUS + 5.0
        ought = _unit(laid.ought)
        ruled = abs(laid.told.expected - 180.0) < 1e-9 and not laid.meeting.closed
        if not laid.meeting.closed or laid.grade:
            ends = [self.centre + ought * reach, self.centre]
            bent = next(own for ray, own, _ in rays if ray == laid.base_ray)
            if ruled and not bent.is_straight(STRAIGHT):
                ends[1] += _unit(laid.base) * reach
            elif ruled:  # the border itself lies there
                begin = self.centre + _unit(laid.base) * RADIUS
                beyond = begin + 5.0 * _unit(laid.base)
                self.parts.append(line(begin, beyond, "ought"))
                self.labels.avoid(np.array([begin, beyond]))
                self.reach(beyond)
            self.parts.append(
                f'<path class="ought" data-heading="{pen.number(laid.ought)}" d="{pen.polyline(ends)}"/>\n'
            )
            self.labels.avoid(np.array(ends))
            self.reach(*ends)

    def _wedge(self, laid: _Laid) -> None:
        """What lies between where the border should run and where it runs."""
        ought, found = _unit(laid.ought), _unit(laid.found)
        wedge = [self.centre, self.centre + ought * RADIUS, self.centre + found * RADIUS]
        self.parts.append(stroke(hatch(wedge, 1.1), "hatch"))
        self.parts.append(
            f'<path class="off" data-heading="{pen.number(laid.found)}" d="{pen.polyline([wedge[0], wedge[2]])}"/>\n'
        )
        self.labels.avoid(np.array([wedge[0], wedge[2]]))

    def _at_one_inch(self, laid: _Laid) -> None:
        """What the line is off by an inch from the point, measured square to where it should run."""
        amount = INCH * math.tan(math.radians(min(abs(laid.off), 80.0)))
        foot = self.centre + _unit(laid.ought) * INCH * SCALE
        side = 1 if (laid.off > 0) == laid.base_first else -1
        tip = foot + side * 1j * _unit(laid.ought) * amount * SCALE
        self.parts.append(line(foot, tip, "off"))
        # The words stand off the cloth, where there is room for them, with a line to what they measure.
        words = length(amount, "", " off, an inch from the point")
        wide = width_of(words, SMALL)
        away = 1j * _unit(laid.ought) * (1 if laid.base_first else -1)  # from the cloth
        middle = (foot + tip) / 2
        spots = [
            (middle + away * out + along * _unit(laid.ought) + sideways, 1 + 0j)
            for out in (7.0, 10.0, 13.0, 17.0, -7.0, -10.0, -14.0, 22.0)
            for along in (0.0, 8.0, -8.0, 16.0, -16.0)
            for sideways in (0.0, wide / 2, -wide / 2)
        ]
        at, _ = self.labels.first_free(spots, wide + 1.0, SMALL + 0.8)
        near = complex(min(max(middle.real, at.real - wide / 2), at.real + wide / 2), at.imag)
        near += 1j * math.copysign(SMALL / 2 + 0.3, middle.imag - at.imag)
        self.parts.append(line(middle, near, "fine"))
        self.parts.append(text(at + 1j * SMALL * 0.36, words, SMALL, "middle told"))
        self.reach(at - wide / 2, at + wide / 2, at - 2j, at + 2j)

    def _jogs(self, laid: _Laid) -> None:
        """Where seams that should meet in one point miss each other, the distance between them."""
        for join in laid.junction.joins:
            if not join.seam or join.beyond <= SEEN:
                continue
            sector = next((one for one in laid.meeting.sectors if join.first in (one.first, one.last)), None)
            mate = next((one for one in laid.meeting.sectors if join.second in (one.first, one.last)), None)
            if sector is None or mate is None:
                continue
            ends = [complex(self.move.apply(one.lines[0].start)) for one in (sector, mate)]
            if abs(ends[1] - ends[0]) < 0.1:
                continue
            self.parts.append(line(ends[0], ends[1], "off jog"))
            words = length(join.beyond, "", " apart")
            wide = width_of(words, SMALL)
            middle = (ends[0] + ends[1]) / 2
            spots = [
                (middle + cmath.rect(out, math.radians(turn)), 1 + 0j)
                for out in (10.0, 14.0, 19.0, 25.0)
                for turn in range(0, 360, 15)
            ]
            at, _ = self.labels.first_free(spots, wide + 1.0, SMALL + 0.8)
            self.parts.append(line(middle, at, "fine"))
            self._plate(at, wide, SMALL)
            self.parts.append(text(at + 1j * SMALL * 0.36, words, SMALL, "middle told"))

    def _plate(self, at: complex, wide: float, high: float) -> None:
        corners = [
            at + complex(x * (wide / 2 + 0.4), y * (high / 2 + 0.4)) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        self.parts.append(stroke(pen.polyline(corners, closed=True), "plate"))

    def _told(self, laid: _Laid) -> None:
        """The sum beside the drawing."""
        told = laid.told
        rows: list[tuple[Words, str]] = [(plain(f"together {amounts.angle(told.angle)}"), "strong")]
        if laid.junction.halved:
            rows.append((plain("on the drawn half"), "quiet"))
        rows.append((plain(f"should be {amounts.angle(told.expected)}"), "ought-text"))
        if abs(laid.off) >= SEEN:
            rows += [(plain(part), "told") for part in _verdict(laid)]
        wide = max(width_of(words, TEXT) for words, _ in rows)
        high = len(rows) * LINE
        low, deep = min(self._y), max(self._y)
        spots = [
            (complex(self.centre.real + across + wide / 2, y), 1 + 0j)
            for across in (0.72 * RADIUS, 0.8 * RADIUS, 0.9 * RADIUS, RADIUS + 4.0, RADIUS + 12.0, RADIUS + 36.0)
            for y in (low + high / 2, deep - high / 2, (low + deep) / 2)
        ]
        at, _ = self.labels.first_free(spots, wide + 3.0, high + 1.0)
        corner = at - complex(wide, high) / 2
        for k, (words, kind) in enumerate(rows):
            self.parts.append(text(corner + complex(0.0, TEXT + k * LINE), words, TEXT, kind))
        self.reach(corner, corner + complex(wide, high))

    def _names_of_rays(self, laid: _Laid, rays: Sequence[tuple[Ray, Curve, Curve | None]]) -> None:
        """The seam, fold or edge that each line is, once, where the line ends."""
        written: set[str] = set()
        for ray, own, rest in rays:
            name = _ray_name(laid, ray)
            if not name or name in written:
                continue
            written.add(name)
            wide = width_of(plain(name), SMALL)
            out = (own.end - self.centre) / max(abs(own.end - self.centre), 1e-9)
            place = own.end if rest is None else self.centre + out * RADIUS
            spots = [
                (place + out * gap + _off_box(out, wide, SMALL) + slide * 1j * out, 1 + 0j)
                for gap in (1.2, 3.0, 5.0, 8.0)
                for slide in (0.0, 3.0, -3.0, 6.0, -6.0, 10.0, -10.0)
            ]
            at, _ = self.labels.first_free(spots, wide + 0.8, SMALL + 0.6)
            self.parts.append(text(at + 1j * SMALL * 0.36, plain(name), SMALL, "middle quiet"))
            self.reach(at - wide / 2, at + wide / 2, at - 2j, at + 2j)

    def _name(self, sector: Sector) -> None:
        """Piece, corner and angle within the sector, or beside it where it is narrow."""
        rows: list[tuple[Words, float, str]] = [(plain(sector.piece), TEXT, "middle strong")]
        if sector.corner:
            rows.append((plain(sector.corner), SMALL, "middle"))
        rows.append((plain(amounts.angle(sector.angle)), TEXT, "middle"))
        if sector.turned_over:
            rows.append((plain("turned over"), SMALL, "middle quiet"))
        wide = max(width_of(words, size) for words, size, _ in rows)
        high = sum(size * 1.3 for _, size, _ in rows)
        middle = sector.start + sector.angle / 2
        spread = sector.angle / 2
        spots = [
            (self.centre + _unit(middle + share * spread) * RADIUS * out, 1 + 0j)
            for out in (0.6, 0.7, 0.5, 0.78, 0.42)
            for share in (0.0, 0.25, -0.25, 0.45, -0.45)
        ]
        spots += [(self.centre + _unit(middle) * RADIUS * out, 1 + 0j) for out in (1.2, 1.3, 1.45)]
        at, _ = self.labels.first_free(spots, wide + 0.8, high)
        y = at.imag - high / 2
        for words, size, kind in rows:
            y += size * 1.3
            self.parts.append(text(complex(at.real, y - size * 0.4), words, size, kind))
        self.reach(at - wide / 2, at + wide / 2, at - 0.5j * high, at + 0.5j * high)


def _within(curve: Curve) -> Curve:
    """A line from the point up to where it leaves the circle that is drawn."""
    for k, row in enumerate(curve.segments.tolist()):
        leaves = _leaves(row)
        if leaves is not None:
            return curve.between(0.0, curve.station_of(k, leaves))
    return curve


def _leaves(segment: Sequence[complex]) -> float | None:
    """The parameter at which a segment leaves the circle first; None for one that stays in it, as do all its control points."""
    parts = [(segment, 0.0, 1.0)]
    while parts:
        (a, b, c, d), low, high = parts.pop()
        if max(abs(a), abs(b), abs(c), abs(d)) <= BEYOND:
            continue
        if abs(a) > BEYOND or high - low <= 1e-12:
            return low
        ab, bc, cd, middle = (a + b) / 2, (b + c) / 2, (c + d) / 2, (low + high) / 2
        abc, bcd = (ab + bc) / 2, (bc + cd) / 2
        half = (abc + bcd) / 2
        parts += [((half, bcd, cd, d), middle, high), ((a, ab, abc, half), low, middle)]
    return None


def _parted(curve: Curve, end: float) -> tuple[Curve, Curve | None]:
    """A line up to the next corner, and what lies behind that."""
    if end >= curve.length - 1e-6:
        return curve, None
    own, rest = curve.split(end)
    return own, rest


def _sewn(junction: Junction, ray: Ray) -> bool:
    return any(ray in (join.first, join.second) for join in junction.joins)


def _ray_name(laid: _Laid, ray: Ray) -> str:
    """What a line at the point is, by the name of its seam or of its edge."""
    for join in laid.junction.joins:
        if ray in (join.first, join.second):
            return f"seam {join.seam}" if join.seam else "dart or pleat, closed"
    edge = edge_at(laid.pieces[ray[0]], ray)
    if edge is None:
        return ""
    if ray not in laid.junction.mirrored:
        return f"{ray[0]}.{edge}"
    plan = planned(laid.plan, ray[0])
    return f"fold of {ray[0]}" if plan is not None and plan.fold == edge else f"{ray[0]}.{edge}, sewn to its twin"


def _off_box(direction: complex, wide: float, high: float) -> complex:
    """From the edge of a box, met in a direction, to its middle."""
    reach = min(
        wide / 2 / abs(direction.real) if abs(direction.real) > 1e-9 else math.inf,
        high / 2 / abs(direction.imag) if abs(direction.imag) > 1e-9 else math.inf,
    )
    return direction * reach
