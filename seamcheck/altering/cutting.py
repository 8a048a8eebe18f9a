"""A piece cut along a straight line from edge to edge, with relief cuts or without: its parts, and which of them a place belongs to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from seamcheck.altering.taping import Arc, Taped, retaped
from seamcheck.exact import least
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.model import Grainline

AT_END = 1e-3  # mm: crossings this near to an end of a cut are that end
NEAR = 1e-6
STILL = Affine()


class CannotCutError(ValueError):
    """A cut that paper does not allow; the text says why."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a piece: its stretch of outline from one station clockwise to another, all of its border, and its motion."""

    start: float
    end: float
    border: Curve
    motion: Affine = STILL


@dataclass(frozen=True, slots=True)
class Cutting:
    """The parts of a piece, clockwise, and the straight cuts between them."""

    outline: Curve
    parts: tuple[Part, ...]
    cuts: tuple[Curve, ...]

    def moved(self, motions: Sequence[Affine]) -> Cutting:
        """The same with other motions, a part each."""
        return replace(
            self, parts=tuple(replace(part, motion=one) for part, one in zip(self.parts, motions, strict=True))
        )

    def taped(self) -> Taped:
        """The outline of the parts where they moved to, as one line."""
        return Taped(self.outline, [Arc(part.start, part.end, part.motion) for part in self.parts])

    def motion_of(self, point: complex) -> Affine:
        """The motion of the part that a place within the piece lies in."""
        for part in self.parts:
            if part.border.contains(point):
                return part.motion
        return least(self.parts, key=lambda part: part.border.nearest(point).distance).motion

    def crossed(self, curve: Curve) -> list[float]:
        """The stations at which a line within the piece crosses the cuts, in order."""
        hits = sorted({round(here, 9) for cut in self.cuts for here, _ in curve.crossings(cut)})
        return [here for here in hits if NEAR < here < curve.length - NEAR]

    def carried(self, curve: Curve) -> Curve:
        """A line within the piece where it goes: in one, or bent where a cut crosses it; a closed one goes with its middle."""
        hits = [] if curve.is_closed else self.crossed(curve)
        if not hits:
            return curve.transformed(self.motion_of(_middle(curve)))
        ends = [0.0, *hits, curve.length]
        motions = [self.motion_of(curve.point((a + b) / 2)) for a, b in pairwise(ends)]
        return retaped(curve, hits, motions)

    def carried_arrow(self, grain: Grainline) -> Grainline:
        """A grain arrow where it goes, bent where a cut crosses it: at the point where its two lines meet, if that is near the cut."""
        line = Curve.polyline(grain.points)
        hits = self.crossed(line)
        if not hits:
            move = self.motion_of(line.point(line.length / 2))
            return replace(grain, points=tuple(move.apply(point) for point in grain.points))
        stops = [0.0, *hits, line.length]
        points: list[complex] = []
        for k, (a, b) in enumerate(pairwise(stops)):
            move = self.motion_of(line.point((a + b) / 2))
            ends = complex(move.apply(line.point(a))), complex(move.apply(line.point(b)))
            meet = None if not k else _meeting(points[-2], points[-1], *ends)
            if meet is None:
                points += ends
            else:
                points[-1:] = [meet, ends[1]]
        ends = points[0], points[-1]
        # What was only drawn out along itself is still one line.
        return replace(grain, points=ends if all(_lies_on(point, *ends) for point in points[1:-1]) else tuple(points))


def _lies_on(point: complex, a: complex, b: complex) -> bool:
    return abs(((point - a) * (b - a).conjugate()).imag) <= NEAR * abs(b - a) and _lies(point, a, b)


def _middle(curve: Curve) -> complex:
    if not curve.is_closed:
        return curve.point(curve.length / 2)
    x0, y0, x1, y1 = curve.bounds()
    return complex(x0 + x1, y0 + y1) / 2


def _meeting(a: complex, b: complex, c: complex, d: complex) -> complex | None:
    """Where the line from `a` to `b`, led on, meets that from `c` to `d`; None where that is beyond either by more than the gap."""
    first, second = b - a, d - c
    across = (first.conjugate() * second).imag
    if abs(across) < 1e-9 * abs(first) * abs(second):
        return None
    along = ((c - a).conjugate() * second).imag / across
    meet = a + along * first
    room = max(4.0 * abs(c - b), 1.0)
    within = min(abs(meet - b), abs(meet - c)) <= max(room, 0.0) or _lies(meet, a, b) or _lies(meet, c, d)
    ahead = ((meet - a) * first.conjugate()).real > 0.0 and ((d - meet) * second.conjugate()).real > 0.0
    return meet if within and ahead else None


def _lies(point: complex, a: complex, b: complex) -> bool:
    return 0.0 <= ((point - a) * (b - a).conjugate()).real <= abs(b - a) ** 2


def straight_cut(outline: Curve, start: float, end: float) -> Curve:
    """The straight cut from one station of an outline to another; CannotCutError where it leaves the piece."""
    a, b = outline.point(start), outline.point(end)
    if abs(a - b) < 1.0:
        raise CannotCutError("both ends of the cut are at one place")
    line = Curve.line(a, b)
    for here, _ in line.crossings(outline):
        if AT_END < here < line.length - AT_END:
            raise CannotCutError(
                "the cut leaves the piece on its way; lead it round what juts into it, a dart or a hollow edge"
            )
    if not outline.contains(line.point(line.length / 2)):
        raise CannotCutError("the cut runs outside the piece")
    return line


def halves(outline: Curve, opens: float, hinge: float) -> tuple[Curve, tuple[Part, Part]]:
    """The cut from one station to another, and the two parts on either side: clockwise from `opens`, and from `hinge`."""
    line = straight_cut(outline, opens, hinge)
    total = outline.length
    first = outline.between(opens % total, hinge % total)
    second = outline.between(hinge % total, opens % total)
    parts = (
        Part(opens, hinge, _closed([first, line.reversed()])),
        Part(hinge, opens, _closed([second, line])),
    )
    return line, parts


def _closed(curves: Sequence[Curve]) -> Curve:
    return Curve.join([*curves])


def with_reliefs(
    outline: Curve, line: Curve, part: Part, reliefs: Sequence[tuple[float, float]]
) -> tuple[tuple[Part, ...], tuple[Curve, ...]]:
    """A part of a piece beside a cut divided by relief cuts, in the order of its own stretch of outline, and these cuts.

    A relief is a station on `line` and one on the outline. CannotCutError where they cross, or end beside another part.
    """
    total = outline.length
    length = (part.end - part.start) % total
    forward = (
        abs(outline.point(part.start) - line.start) < AT_END
    )  # whether the line begins where the part's outline does
    order = sorted(((stop - part.start) % total, on_cut) for on_cut, stop in reliefs)
    if any(not AT_END < ahead < length - AT_END for ahead, _ in order):
        raise CannotCutError("a relief cut has to end on an edge of the part that moves, on the other side of no cut")
    shares = [on_cut if forward else line.length - on_cut for _, on_cut in order]
    if shares != sorted(shares):
        raise CannotCutError("the relief cuts cross one another")
    cuts = tuple(
        Curve.line(line.point(on_cut), outline.point((part.start + ahead) % total)) for ahead, on_cut in order
    )
    for cut in cuts:
        _inside(cut, outline)
    parts: list[Part] = []
    stops = [(0.0, None), *((ahead, k) for k, (ahead, _) in enumerate(order)), (length, None)]
    for (a, one), (b, two) in pairwise(stops):
        border = list(_border(outline, line, part, (a, b), (one, two), cuts, order, forward=forward))
        parts.append(Part((part.start + a) % total, (part.start + b) % total, _closed(border)))
    return tuple(parts), cuts


def _border(
    outline: Curve,
    line: Curve,
    part: Part,
    stretch: tuple[float, float],
    between: tuple[int | None, int | None],
    cuts: Sequence[Curve],
    order: Sequence[tuple[float, float]],
    *,
    forward: bool,
) -> Iterator[Curve]:
    total = outline.length
    yield outline.between((part.start + stretch[0]) % total, (part.start + stretch[1]) % total)
    first, last = between
    begin = 0.0 if forward else line.length
    end = line.length - begin
    if last is not None:
        yield cuts[last].reversed()
        end = order[last][1]
    if first is not None:
        begin = order[first][1]
    low, high = sorted((begin, end))
    along = line.between(low, high)
    yield along if end <= begin else along.reversed()
    if first is not None:
        yield cuts[first]


def _inside(cut: Curve, outline: Curve) -> None:
    for here, _ in cut.crossings(outline):
        if AT_END < here < cut.length - AT_END:
            raise CannotCutError("a relief cut leaves the piece on its way")
