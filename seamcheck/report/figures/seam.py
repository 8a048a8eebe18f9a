"""A seam as it is walked: both sides straightened and laid beside one another, from their common start to their ends.

rail    one side of the seam, drawn as a straight line with its notches and the joints of its edges
tie     the line between two marks that belong together; it leans where one side has run ahead
factor  by how much a difference is drawn larger than it is

The second side is drawn to scale. A mark of the first that has a mate lies beside it, moved along by the factor times what
the two differ by up to there; what lies between such marks is drawn in proportion.

So what is out can be seen in a seam of a metre, and the drawing says the factor.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from seamcheck.amounts import Fact, Length, Phrase, PlainLength, joined, phrase
from seamcheck.pattern.walk import end_name, side_marks
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
from seamcheck.report.figures.parts import (
    Walked,
    dimension,
    levels,
    pieces_in,
    round_up,
    scale_bar,
    side_name,
    side_told,
    thumbnail,
    walked,
)
from seamcheck.report.layout import printable

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult
    from seamcheck.pattern.seams import Side
    from seamcheck.pattern.walk import NotchOrJoint

WIDTH = 180.0
LEFT = 36.0  # where the rails begin; the pieces stand before them
LONGEST = 140.0
NARROW_WIDTH = 80.0  # on a page as narrow as a hand; the pieces stand above and below the rails
NARROW_LEFT = 2.0
SEEN = 7.0  # a difference that was found is drawn at least so wide
ROW = 5.0  # from row to row of words between the rails
LEVEL = 6.4  # from one dimension line to the next
CLOTH = 3.0  # the strip of cloth that is drawn along a rail
TICK = 2.2
EDGE = 1.5  # left free beside all that is drawn, for dots at its ends
NONE = 0.05  # mm: what is less is no difference to draw


class Rails(NamedTuple):
    """Where the marks of both sides lie along their rails: `scale` units to a mm, `factor` times the differences."""

    scale: float
    factor: float
    knots: tuple[tuple[float, float], ...]  # stations on the first and on the second side that belong together
    left: float = LEFT
    width: float = WIDTH

    @property
    def narrow(self) -> bool:
        """Whether there is no room beside the rails."""
        return self.width < WIDTH

    def first(self, station: float) -> float:
        """Where a station of the first side is drawn, from the start of the rail."""
        own = [one for one, _ in self.knots]
        drawn = [self.scale * (other + self.factor * (one - other)) for one, other in self.knots]
        return float(np.interp(station, own, drawn))

    def second(self, station: float) -> float:
        """Where a station of the second side is drawn."""
        return self.scale * station


def rails(one: Walked, *, narrow: bool = False) -> Rails:
    """Scale and factor for a walked seam: as large as fits, differences so that they can be seen."""
    left, width = (NARROW_LEFT, NARROW_WIDTH) if narrow else (LEFT, WIDTH)
    longest = width - 2 * left if narrow else LONGEST
    seam = one.seam
    joints = [(jog.first.station, jog.second.station) for jog in one.jogs]
    knots = sorted({*matched(one), *joints})
    knots = [knot for knot, after in pairwise([*knots, (np.inf, np.inf)]) if after[0] > knot[0]]
    whole = max(seam.first.length, seam.second.length, 1e-6)
    factor = wanted_factor(one, longest / whole, longest)
    reach = max([whole, *(other + factor * (own - other) for own, other in knots)])
    reach = max(reach, seam.second.length + factor * max(seam.allowed))
    return Rails(longest / reach, factor, tuple(knots), left, width)


def wanted_factor(one: Walked, scale: float, longest: float) -> float:
    """By how much the differences of a seam must be drawn larger to be seen: 1 where nothing was found."""
    walk, seam = one.walk, one.seam
    off = [abs(walk.deviation), *(abs(span.deviation) for span in walk.spans), *(abs(m.off) for m in walk.matches)]
    off += [abs(jog.amount) for jog in one.jogs]
    if not one.findings or walk.seam.plan.ratio is not None or max(off) < NONE:
        return 1.0
    factor = round_up(SEEN / (scale * max(off)))
    # What is meant to differ is drawn larger with it; the picture must not be of that alone.
    meant = max(abs(seam.difference), *(abs(end) for end in seam.allowed))
    while factor > 1.0 and factor * meant * scale > longest / 3:
        factor = max(1.0, factor / 2)
    return factor if factor >= 1.0 else 1.0


@dataclass(slots=True)
class _Drawing:
    """The picture as it grows; `top` and `bottom` are what it takes up, `left` where words begin that are too wide for it."""

    parts: list[str] = field(default_factory=list)
    top: float = 0.0
    bottom: float = 0.0
    left: float = 0.0

    def reach(self, *heights: float) -> None:
        self.top, self.bottom = min(self.top, *heights), max(self.bottom, *heights)


def seam_figure(file: FileResult, seam: str, size: str, *, narrow: bool = False) -> Figure:
    """A seam in one size, also half as wide for narrow pages; KeyError where it was not walked."""
    one = walked(file, seam, size)
    laid = rails(one, narrow=narrow)
    between = list(_between(one, laid))
    rows = levels([(low, high) for low, high, _, _ in between])
    gap = 7.0 + ROW * (max(rows, default=0) + 1)
    drawing = _Drawing(bottom=gap, left=min([0.0, *(low for low, _, _, _ in between)]))
    drawing.parts += _cloth(one, laid, gap)
    drawing.parts += _highlights(one, laid, gap)
    drawing.parts += _ties(one, laid, gap)
    for row, (low, high, words, kind) in zip(rows, between, strict=True):
        at = complex((low + high) / 2, 5.6 + ROW * row)
        wide = high - low
        drawing.parts.append(
            stroke(
                pen.polyline([at + complex(x, y) for x, y in _plate(wide)], closed=True),
                "plate",
            )
        )
        drawing.parts.append(text(at, words, TEXT, f"middle {kind}".strip()))
    for side, y, outward in ((one.walk.seam.first, 0.0, -1), (one.walk.seam.second, gap, 1)):
        _rail(drawing, one, laid, side, y, outward)
    _pieces(drawing, file, one, laid, gap)
    _foot(drawing, one, laid)
    return Figure(
        parts=(f'<g class="grade-{one.grade or "none"}">\n{"".join(drawing.parts)}</g>\n',),
        box=(
            drawing.left - EDGE,
            drawing.top - 1.0,
            laid.width - drawing.left + 2 * EDGE,
            drawing.bottom - drawing.top + 2.0,
        ),
        title=_title(file, seam, size),
        description=_description(one),
        exaggerated=laid.factor,
    )


def _foot(drawing: _Drawing, one: Walked, laid: Rails) -> None:
    """The scale and what the looks mean: in a row, or one below the other where there is no room for that."""
    foot = drawing.bottom + 6.0
    bar, _ = scale_bar(complex(laid.left, foot), laid.scale, 22.0)
    drawing.parts.append(bar)
    if _ends_told(one, laid):
        at = complex(laid.left + 52.0, foot)
        drawing.parts.append(line(at, at + 6.0, "ought"))
        drawing.parts.append(text(at + complex(7.5, 0.6), plain("ought to end"), SMALL, "ought-text"))
    told = plain(_factor_told(laid.factor))
    if laid.narrow:
        foot += ROW
        drawing.parts.append(text(complex(laid.left, foot + 0.6), told, SMALL, "quiet"))
    else:
        drawing.parts.append(text(complex(laid.width, foot + 0.6), told, SMALL, "end quiet"))
    drawing.reach(foot + 2.0)


def _plate(wide: float) -> list[tuple[float, float]]:
    return [(-wide / 2, -TEXT), (wide / 2, -TEXT), (wide / 2, 0.9), (-wide / 2, 0.9)]


def _factor_told(factor: float) -> str:
    if factor == 1.0:
        return "lengths and differences to one scale"
    return f"lengths to scale, differences drawn {pen.number(factor)} times as large"


def _title(file: FileResult, seam: str, size: str) -> str:
    return f"Seam {seam}, size {size}" if len(file.sizes) > 1 else f"Seam {seam}"


def _description(one: Walked) -> Phrase:
    first, second = (side_told(side) for side in (one.walk.seam.first, one.walk.seam.second))
    lengths = {"a": Length(one.seam.first.length), "b": Length(one.seam.second.length)}
    if one.walk.seam.twin:
        return phrase("{first} is sewn to its own twin: {a} long.", first=first, **lengths)
    told = phrase("{first} is {a} long, {second} {b}.", first=first, second=second, **lengths)
    return joined((told, *_verdict(one)), " ")


def _verdict(one: Walked) -> Iterator[Fact]:
    difference, deviation = one.seam.difference, one.walk.deviation
    if abs(difference) < NONE:
        yield "They are of one length."
    else:
        name = side_name(one.walk.seam.first, one.walk.seam.second)
        way = "longer" if difference > 0 else "shorter"
        yield phrase("{name} is {difference} {way}.", name=name, difference=Length(difference), way=way)
    if one.seam.allowed != (0.0, 0.0):
        planned = _planned(*one.seam.allowed)
        if abs(deviation) >= NONE:
            yield phrase("Planned is {planned}, so it is off by {by}.", planned=planned, by=Length(deviation))
        else:
            yield phrase("Planned is {planned}.", planned=planned)


def _planned(low: float, high: float) -> Phrase:
    """A range of differences in words."""
    if low < 0.0 < high:
        return phrase("from {low} shorter to {high} longer", low=Length(low), high=Length(high))
    way = "longer" if high > 0.0 else "shorter"
    least, most = sorted((abs(low), abs(high)))
    if most - least < NONE:
        return phrase("{most} {way}", most=Length(most), way=way)
    if least:
        return phrase("{least} to {most} {way}", least=PlainLength(least, None), most=Length(most), way=way)
    return phrase("up to {most} {way}", most=Length(most), way=way)


def _cloth(one: Walked, laid: Rails, gap: float) -> Iterator[str]:
    """A strip of cloth outside of each rail."""
    ends = laid.first(one.seam.first.length), laid.second(one.seam.second.length)
    for end, y, outward, kind in ((ends[0], 0.0, -1, "cloth"), (ends[1], gap, 1, "cloth second")):
        corners = [complex(laid.left, y), complex(laid.left + end, y)]
        corners += [corner + outward * CLOTH * 1j for corner in reversed(corners)]
        yield stroke(pen.polyline(corners, closed=True), kind)


def _tolerance(one: Walked) -> float:
    """The least tolerance that anything was found by."""
    return min((found.tolerance for found in one.findings if found.tolerance is not None), default=0.0)


def _off(one: Walked, amount: float) -> bool:
    """Whether an amount is what was found, or part of it: beyond half of the tolerance."""
    return bool(one.findings) and abs(amount) > max(_tolerance(one) / 2, NONE)


def _off_spans(one: Walked) -> Iterator[tuple[int, float]]:
    """The stretches that are out, and by how much; not those between notches that only slipped."""
    slips = [0.0, *(match.off for match in one.walk.matches), 0.0]
    for k, span in enumerate(one.walk.spans):
        if _off(one, span.deviation) and _off(one, span.deviation - (slips[k + 1] - slips[k])):
            # Where one stretch has all of the difference, the two are one amount.
            whole = abs(span.difference - one.seam.difference) < NONE
            yield k, one.seam.difference if whole else span.difference


def _highlights(one: Walked, laid: Rails, gap: float) -> Iterator[str]:
    """Hatching between the rails where the difference lies."""
    for k, _ in _off_spans(one):
        (a0, b0), (a1, b1) = matched(one)[k : k + 2]
        corners = [
            complex(laid.left + laid.first(a0), 0.0),
            complex(laid.left + laid.first(a1), 0.0),
            complex(laid.left + laid.second(b1), gap),
            complex(laid.left + laid.second(b0), gap),
        ]
        yield stroke(hatch(corners, 2.0), "hatch")


def matched(one: Walked) -> list[tuple[float, float]]:
    """The stations on both sides that belong together: where spans begin and end."""
    inner = [(m.first.station, m.second.station) for m in one.walk.matches]
    return [(0.0, 0.0), *inner, (one.seam.first.length, one.seam.second.length)]


def _ties(one: Walked, laid: Rails, gap: float) -> Iterator[str]:
    slips = [0.0, *(match.off for match in one.walk.matches), 0.0]
    for (a, b), slip in zip(matched(one), slips, strict=True):
        ends = complex(laid.left + laid.first(a), 0.0), complex(laid.left + laid.second(b), gap)
        yield line(*ends, "off" if _off(one, slip) else "fine")
    for jog in one.jogs:
        if _off(one, jog.amount):
            ends = laid.first(jog.first.station), laid.second(jog.second.station)
            yield line(complex(laid.left + ends[0], 0.0), complex(laid.left + ends[1], gap), "off")
    if _ends_told(one, laid):
        yield from _end(one, laid, gap)


def _ends_told(one: Walked, laid: Rails) -> bool:
    """Whether it is drawn where the first side ought to end: where it does not, or where there is a range for it."""
    if one.walk.seam.twin:
        return False
    low, high = one.seam.allowed
    return laid.scale * laid.factor * max(abs(one.walk.deviation), high - low) > 0.4


def _end(one: Walked, laid: Rails, gap: float) -> Iterator[str]:
    """Where the first side ought to end, and what it is beyond that or short of it."""

    def end(difference: float) -> float:
        return laid.left + laid.scale * (one.seam.second.length + laid.factor * difference)

    low, high = one.seam.allowed
    near = min(max(one.seam.difference, low), high)
    mate, first = laid.left + laid.second(one.seam.second.length), laid.left + laid.first(one.seam.first.length)
    if high - low < NONE:
        yield line(complex(mate, gap), complex(end(near), -CLOTH), "ought")
    else:
        bracket = [end(low) - CLOTH * 1j, end(low) + 1.4j, end(high) + 1.4j, end(high) - CLOTH * 1j]
        yield stroke(pen.polyline(bracket), "ought")
    if one.findings and abs(one.walk.deviation) > NONE:
        yield line(complex(min(end(near), first), 0.0), complex(max(end(near), first), 0.0), "off")


Between = tuple[float, float, Words, str]  # from and to, what is said, and its class


def _between(one: Walked, laid: Rails) -> Iterator[Between]:
    """What is written between the rails: the names of the ends, and where the sides differ and by how much."""
    seam = one.walk.seam
    ends = end_name(seam, 0), end_name(seam, -1)
    last = laid.left + min(laid.first(one.seam.first.length), laid.second(one.seam.second.length))
    widths = [width_of(plain(name), TEXT) + 2.0 for name in ends]
    yield laid.left + 1.0, laid.left + 1.0 + widths[0], plain(printable(ends[0])), "quiet"
    yield last - 1.0 - widths[1], last - 1.0, plain(printable(ends[1])), "quiet"
    told = list(_off_spans(one))
    for k, difference in told:
        (a0, b0), (a1, b1) = matched(one)[k : k + 2]
        middle = laid.left + (laid.first(a0) + laid.first(a1) + laid.second(b0) + laid.second(b1)) / 4
        yield _centred(laid, middle, _difference(one, difference), "told")
    for match in one.walk.matches:
        at = laid.left + max(laid.first(match.first.station), laid.second(match.second.station))
        if _off(one, match.off):
            yield _behind(laid, at, length(match.off, "notches ", " apart"))
        counts = match.first.count, match.second.count
        if one.findings and counts[0] != counts[1] and 0 not in counts:
            yield _behind(laid, at, plain(f"{_counted(counts[0])} notch meets {_counted(counts[1])}"))
    for jog in one.jogs:
        if _off(one, jog.amount):
            at = laid.left + max(laid.first(jog.first.station), laid.second(jog.second.station))
            yield _behind(laid, at, length(jog.amount, "joints ", " apart"))
    if not told and _off(one, one.walk.deviation) and not seam.twin:
        yield _centred(laid, (laid.left + laid.width) / 2, _difference(one, one.seam.difference), "told")
    for marks, place in zip(one.walk.alone, (laid.first, laid.second), strict=True):
        for mark in marks:
            yield _behind(
                laid, laid.left + place(mark.station), plain(f"notch on {printable(mark.edge)} has no mate")
            )


def _behind(laid: Rails, at: float, words: Words) -> Between:
    """Words behind a mark that is out, before it where there is no room, and across it where there is none there either."""
    wide = width_of(words, TEXT) + 2.0
    low = at + 1.5 if at + 1.5 + wide <= laid.width else at - 1.5 - wide
    if low < laid.left:
        low, _ = _beside(laid, at, wide)
    return low, low + wide, words, "told"


def _counted(count: int) -> str:
    return {1: "single", 2: "double", 3: "triple"}.get(count, f"{count}-fold")


def _centred(laid: Rails, middle: float, words: Words, kind: str) -> Between:
    wide = width_of(words, TEXT) + 2.0
    return *_beside(laid, middle, wide), words, kind


def _difference(one: Walked, difference: float) -> Words:
    name = side_name(one.walk.seam.first, one.walk.seam.second)
    return length(difference, f"{name} ", " longer" if difference > 0 else " shorter")


def _rail(drawing: _Drawing, one: Walked, laid: Rails, side: Side, y: float, outward: int) -> None:
    """One side with its marks, and its dimensions outside of it."""
    place = laid.first if outward < 0 else laid.second
    end = place(side.length)
    stations = sorted({0.0, side.length, *(knot[0 if outward < 0 else 1] for knot in laid.knots)})
    drawing.parts.append(
        f'<path class="sewn" data-side="{"first" if outward < 0 else "second"}" '
        f'data-stations="{_numbers(stations)}" data-xs="{_numbers(laid.left + place(one) for one in stations)}" '
        f'd="{pen.polyline([complex(laid.left, y), complex(laid.left + end, y)])}"/>\n'
    )
    drawing.parts.append(disc(complex(laid.left, y), 1.1, "dot"))
    marks = side_marks(side)
    for mark in marks:
        alone = bool(one.findings) and mark in one.walk.alone[0 if outward < 0 else 1]
        drawing.parts += _mark(mark, laid.left + place(mark.station), y, outward, "off" if alone else "notch")
    base = 0  # each kind of dimension begins a row of its own
    for group in _dimensions(side, marks, one, first=outward < 0):
        lines = [(laid.left + place(a), laid.left + place(b)) for a, b, _ in group]
        words = [
            _beside(laid, (a + b) / 2, width_of(told, SMALL))
            for (a, b), (_, _, told) in zip(lines, group, strict=True)
        ]
        rows = levels(words, lines)
        drawing.left = min([drawing.left, *(low for low, _ in words)])
        for (a, b), (low, high), (_, _, told), row in zip(lines, words, group, rows, strict=True):
            height = y + outward * (CLOTH + 3.0 + LEVEL * (base + row))
            drawing.parts.append(dimension(a, b, height))
            below = -0.9 if outward < 0 else SMALL + 0.5
            drawing.parts.append(text(complex((low + high) / 2, height + below), told, SMALL, "middle"))
            drawing.reach(height + outward * 3.6)
        base += max(rows, default=-1) + 1


def _numbers(values: Iterable[float]) -> str:
    return " ".join(pen.number(value) for value in values)


def _beside(laid: Rails, middle: float, wide: float) -> tuple[float, float]:
    """Where words of a width stand in a row, as near to a place as the paper lets them."""
    low = min(max(middle - wide / 2, laid.left), laid.width - wide)
    return low, low + wide


def _mark(mark: NotchOrJoint, x: float, y: float, outward: int, kind: str) -> Iterator[str]:
    if mark.joint:
        yield disc(complex(x, y), 1.0, "ring")
        return
    for k in range(max(1, min(mark.count, 3))):
        at = x + 1.1 * (k - (max(1, min(mark.count, 3)) - 1) / 2)
        yield line(complex(at, y), complex(at, y + outward * TICK), kind)


def _dimensions(
    side: Side, marks: Sequence[NotchOrJoint], one: Walked, *, first: bool
) -> Iterator[list[tuple[float, float, Words]]]:
    """Lengths to write outside of a rail: between matched marks, of each edge, and of the whole."""
    knots = [a if first else b for a, b in matched(one)]
    if one.walk.seam.twin:
        knots = [0.0, *(mark.station for mark in marks if not mark.joint), side.length]
    if len(knots) > 2:
        yield [(a, b, length(b - a)) for a, b in pairwise(knots)]
    yield list(_edges(side))
    if len(side.edges) > 1:
        yield [(0.0, side.length, length(side.length, "together "))]


def _edges(side: Side) -> Iterator[tuple[float, float, Words]]:
    """Each edge with its length; an edge that comes several times in a row once for all."""
    uses = list(zip(side.uses, side.edges, side.offsets, strict=True))
    for name, group in groupby(uses, key=lambda use: f"{use[0].piece}.{use[0].edge}"):
        same = list(group)
        (_, edge, begin), (_, _, last) = same[0], same[-1]
        times = f"{len(same)} × " if len(same) > 1 else ""
        yield begin, last + edge.length, length(edge.length, f"{times}{printable(name)} ")


def _pieces(drawing: _Drawing, file: FileResult, one: Walked, laid: Rails, gap: float) -> None:
    """The pieces of both sides, small, with the edges that are sewn: before the rails, or above and below them."""
    pieces = pieces_in(file, one.seam.size)
    seam = one.walk.seam
    tops = (drawing.top - 26.0, drawing.bottom + 3.0) if laid.narrow else (-25.0, gap + 1.0)
    for side, top in zip((seam.first, seam.second), tops, strict=True):
        names = side.pieces[:3]
        room = min(LEFT - 6.0, laid.width / len(names)) if laid.narrow else (LEFT - 6.0) / len(names)
        for k, name in enumerate(names):
            edges = [
                (edge, use.backwards) for use, edge in zip(side.uses, side.edges, strict=True) if use.piece == name
            ]
            drawing.parts.append(thumbnail(pieces[name], complex(k * room, top), room - 2.0, 24.0, edges))
        drawing.reach(top, top + 25.0)
