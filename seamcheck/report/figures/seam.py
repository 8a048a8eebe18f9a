"""A seam as it is walked: both sides straightened and laid beside one another, from their common start to their ends.

rail    one side of the seam, drawn as a straight line with its notches and the joints of its edges
tie     the line between two marks that belong together; it leans where one side has run ahead
factor  by how much a difference is drawn larger than it is

The second side is drawn to scale. A mark of the first that has a mate lies beside it, moved along by the factor times what
the two differ by up to there; what lies between such marks is drawn in proportion.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from seamcheck import pen, wording
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
    thumbnail,
    walked,
)
from seamcheck.walk import end_name, side_marks

if TYPE_CHECKING:
    from seamcheck.graph import Side
    from seamcheck.result import FileResult
    from seamcheck.walk import Mark, Span

WIDTH = 180.0
LEFT = 36.0  # where the rails begin; the pieces stand before them
LONGEST = 140.0
SEEN = 7.0  # a difference that was found is drawn at least so wide
ROW = 5.0  # from row to row of words between the rails
LEVEL = 6.4  # from one dimension line to the next
CLOTH = 3.0  # the strip of cloth that is drawn along a rail
TICK = 2.2
NONE = 0.05  # mm: what is less is no difference to draw


@dataclass(frozen=True, slots=True)
class Rails:
    """Where the marks of both sides lie along their rails: `scale` units to a mm, `factor` times the differences."""

    scale: float
    factor: float
    knots: tuple[tuple[float, float], ...]  # stations on the first and on the second side that belong together

    def first(self, station: float) -> float:
        """Where a station of the first side is drawn, from the start of the rail."""
        own = [one for one, _ in self.knots]
        drawn = [self.scale * (other + self.factor * (one - other)) for one, other in self.knots]
        return float(np.interp(station, own, drawn))

    def second(self, station: float) -> float:
        """Where a station of the second side is drawn."""
        return self.scale * station


def rails(one: Walked, longest: float = LONGEST, factor: float | None = None) -> Rails:
    """Scale and factor for a walked seam: as large as fits, differences so that they can be seen."""
    walk, seam = one.walk, one.seam
    knots = [(0.0, 0.0), *((m.first.station, m.second.station) for m in walk.matches)]
    knots.append((seam.first.length, seam.second.length))
    knots = [knot for knot, after in pairwise([*knots, (np.inf, np.inf)]) if after[0] > knot[0]]
    whole = max(seam.first.length, seam.second.length, 1e-6)
    if factor is None:
        factor = wanted_factor(one, longest / whole)
    reach = max([whole, *(other + factor * (own - other) for own, other in knots)])
    reach = max(reach, seam.second.length + factor * max(seam.allowed) if _within(seam.allowed, whole) else 0.0)
    return Rails(longest / reach, factor, tuple(knots))


def wanted_factor(one: Walked, scale: float) -> float:
    """By how much the differences of a seam must be drawn larger to be seen: 1 where nothing was found."""
    walk, seam = one.walk, one.seam
    off = [abs(walk.deviation), *(abs(span.deviation) for span in walk.spans), *(abs(m.off) for m in walk.matches)]
    if not one.findings or walk.seam.plan.ratio is not None or max(off) < NONE:
        return 1.0
    factor = round_up(SEEN / (scale * max(off)))
    # What is meant to differ is drawn larger with it; the picture must not be of that alone.
    meant = max(abs(seam.difference), *(abs(end) for end in seam.allowed))
    while factor > 1.0 and factor * meant * scale > LONGEST / 3:
        factor = max(1.0, factor / 2)
    return factor if factor >= 1.0 else 1.0


def _within(allowed: tuple[float, float], whole: float) -> bool:
    return max(abs(end) for end in allowed) < whole / 4


@dataclass(slots=True)
class _Drawing:
    """The picture as it grows; `top` and `bottom` are what it takes up."""

    parts: list[str] = field(default_factory=list)
    top: float = 0.0
    bottom: float = 0.0

    def reach(self, *heights: float) -> None:
        self.top, self.bottom = min(self.top, *heights), max(self.bottom, *heights)


def seam_figure(file: FileResult, seam: str, size: str) -> Figure:
    """A seam in one size; KeyError where it was not walked."""
    one = walked(file, seam, size)
    laid = rails(one)
    between = list(_between(one, laid))
    rows = levels([(low, high) for low, high, _, _ in between])
    gap = 7.0 + ROW * (max(rows, default=0) + 1)
    drawing = _Drawing(bottom=gap)
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
    _pieces(drawing, file, one, gap)
    foot = drawing.bottom + 6.0
    bar, _ = scale_bar(complex(LEFT, foot), laid.scale)
    drawing.parts.append(bar)
    drawing.parts.append(text(complex(WIDTH, foot + 0.6), plain(_factor_told(laid.factor)), SMALL, "end quiet"))
    drawing.reach(foot + 2.0)
    return Figure(
        body=f'<g class="grade-{one.grade or "none"}">\n{"".join(drawing.parts)}</g>\n',
        box=(0.0, drawing.top - 1.0, WIDTH, drawing.bottom - drawing.top + 2.0),
        title=_title(file, seam, size),
        description=_description(one),
        exaggerated=laid.factor,
    )


def _plate(wide: float) -> list[tuple[float, float]]:
    return [(-wide / 2, -TEXT), (wide / 2, -TEXT), (wide / 2, 0.9), (-wide / 2, 0.9)]


def _factor_told(factor: float) -> str:
    if factor == 1.0:
        return "lengths and differences to one scale"
    return f"lengths to scale, differences drawn {pen.number(factor)} times as large"


def _title(file: FileResult, seam: str, size: str) -> str:
    return f"Seam {seam}, size {size}" if len(file.sizes) > 1 else f"Seam {seam}"


def _description(one: Walked) -> str:
    first, second = (" + ".join(side.edges) for side in (one.seam.first, one.seam.second))
    if one.walk.seam.twin:
        return f"{first} is sewn to its own twin: {wording.length(one.seam.first.length)} long."
    told = (
        f"{first} is {wording.length(one.seam.first.length)} long, {second} {wording.length(one.seam.second.length)}."
    )
    return f"{told} {_verdict(one)}"


def _verdict(one: Walked) -> str:
    difference, deviation = one.seam.difference, one.walk.deviation
    name = side_name(one.walk.seam.first, one.walk.seam.second)
    if abs(difference) < NONE:
        whole = "They are of one length."
    else:
        whole = f"{name} is {wording.length(difference)} {'longer' if difference > 0 else 'shorter'}."
    if one.seam.allowed != (0.0, 0.0):
        low, high = one.seam.allowed
        meant = wording.length(low) if low == high else f"{wording.millimetres(low)} to {wording.length(high)}"
        whole += f" Planned is {meant}"
        whole += f", so it is off by {wording.length(deviation)}." if abs(deviation) >= NONE else "."
    return whole


def _cloth(one: Walked, laid: Rails, gap: float) -> Iterator[str]:
    """A strip of cloth outside of each rail."""
    ends = laid.first(one.seam.first.length), laid.second(one.seam.second.length)
    for end, y, outward, kind in ((ends[0], 0.0, -1, "cloth"), (ends[1], gap, 1, "cloth second")):
        corners = [complex(LEFT, y), complex(LEFT + end, y)]
        corners += [corner + outward * CLOTH * 1j for corner in reversed(corners)]
        yield stroke(pen.polyline(corners, closed=True), kind)


def _tolerance(one: Walked) -> float:
    """The least tolerance that anything was found by."""
    return min((found.tolerance for found in one.findings if found.tolerance is not None), default=0.0)


def _off_spans(one: Walked) -> Iterator[tuple[int, Span]]:
    """The stretches that are out: where something was found, those beyond half its tolerance."""
    if one.findings:
        for k, span in enumerate(one.walk.spans):
            if abs(span.deviation) > max(_tolerance(one) / 2, NONE):
                yield k, span


def _highlights(one: Walked, laid: Rails, gap: float) -> Iterator[str]:
    """Hatching between the rails where the difference lies."""
    for k, _ in _off_spans(one):
        (a0, b0), (a1, b1) = _knots(one)[k : k + 2]
        corners = [
            complex(LEFT + laid.first(a0), 0.0),
            complex(LEFT + laid.first(a1), 0.0),
            complex(LEFT + laid.second(b1), gap),
            complex(LEFT + laid.second(b0), gap),
        ]
        yield stroke(hatch(corners, 2.0), "hatch")


def _knots(one: Walked) -> list[tuple[float, float]]:
    """The ends of the spans on both sides."""
    inner = [(m.first.station, m.second.station) for m in one.walk.matches]
    return [(0.0, 0.0), *inner, (one.seam.first.length, one.seam.second.length)]


def _ties(one: Walked, laid: Rails, gap: float) -> Iterator[str]:
    tolerance = _tolerance(one)
    matches = one.walk.matches
    for k, (a, b) in enumerate(_knots(one)):
        off = bool(one.findings) and 0 < k <= len(matches) and abs(matches[k - 1].off) > max(tolerance / 2, NONE)
        yield line(complex(LEFT + laid.first(a), 0.0), complex(LEFT + laid.second(b), gap), "off" if off else "fine")
    if (
        _within(one.seam.allowed, max(one.seam.first.length, one.seam.second.length))
        and abs(one.walk.deviation) > NONE
    ):
        yield from _end(one, laid, gap)


def _end(one: Walked, laid: Rails, gap: float) -> Iterator[str]:
    """Where the first side ought to end, and what it is beyond that or short of it."""
    allowed = min(one.seam.allowed, key=lambda end: abs(one.seam.difference - end))
    ought = LEFT + laid.scale * (one.seam.second.length + laid.factor * allowed)
    end = LEFT + laid.first(one.seam.first.length)
    yield line(complex(LEFT + laid.second(one.seam.second.length), gap), complex(ought, -CLOTH), "ought")
    if one.findings:
        yield line(complex(min(ought, end), 0.0), complex(max(ought, end), 0.0), "off")


Between = tuple[float, float, Words, str]  # from and to, what is said, and its class


def _between(one: Walked, laid: Rails) -> Iterator[Between]:
    """What is written between the rails: the names of the ends, and where the sides differ and by how much."""
    seam = one.walk.seam
    ends = end_name(seam, 0), end_name(seam, -1)
    last = LEFT + min(laid.first(one.seam.first.length), laid.second(one.seam.second.length))
    widths = [width_of(plain(name), TEXT) + 2.0 for name in ends]
    yield LEFT + 1.0, LEFT + 1.0 + widths[0], plain(ends[0]), "quiet"
    yield last - 1.0 - widths[1], last - 1.0, plain(ends[1]), "quiet"
    told = list(_off_spans(one))
    for k, span in told:
        (a0, b0), (a1, b1) = _knots(one)[k : k + 2]
        middle = LEFT + (laid.first(a0) + laid.first(a1) + laid.second(b0) + laid.second(b1)) / 4
        yield _centred(middle, _difference(one, span.difference), "told")
    if not told and one.findings and not seam.twin and abs(one.walk.deviation) > NONE:
        yield _centred(LEFT + LONGEST / 2, _difference(one, one.seam.difference), "told")
    tolerance = _tolerance(one)
    for match in one.walk.matches:
        if one.findings and abs(match.off) > max(tolerance / 2, NONE) and not told:
            at = LEFT + (laid.first(match.first.station) + laid.second(match.second.station)) / 2
            yield _centred(at, length(match.off, "notches ", " apart"), "told")
    for side, marks, place in zip((seam.first, seam.second), one.walk.alone, (laid.first, laid.second), strict=True):
        for mark in marks:
            yield _centred(LEFT + place(mark.station), plain(f"notch on {mark.edge} has no mate"), "told")
            del side
            break


def _centred(middle: float, words: Words, kind: str) -> Between:
    wide = width_of(words, TEXT) + 2.0
    low = min(max(middle - wide / 2, LEFT), WIDTH - wide)
    return low, low + wide, words, kind


def _difference(one: Walked, difference: float) -> Words:
    name = side_name(one.walk.seam.first, one.walk.seam.second)
    return length(difference, f"{name} ", " longer" if difference > 0 else " shorter")


def _rail(drawing: _Drawing, one: Walked, laid: Rails, side: Side, y: float, outward: int) -> None:
    """One side with its marks, and its dimensions outside of it."""
    place = laid.first if outward < 0 else laid.second
    end = place(side.length)
    drawing.parts.append(
        f'<path class="sewn" data-side="{"first" if outward < 0 else "second"}" '
        f'd="{pen.polyline([complex(LEFT, y), complex(LEFT + end, y)])}"/>\n'
    )
    drawing.parts.append(disc(complex(LEFT, y), 1.1, "dot"))
    marks = side_marks(side)
    for mark in marks:
        drawing.parts += _mark(mark, LEFT + place(mark.station), y, outward)
    entries = list(_dimensions(side, marks, one, first=outward < 0))
    spans = []
    for a, b, words, _ in entries:
        wide = max(width_of(words, SMALL), 1.0)
        middle = LEFT + (place(a) + place(b)) / 2
        low = min(max(middle - wide / 2, LEFT), WIDTH - wide)
        spans.append((min(low, LEFT + place(a)), max(low + wide, LEFT + place(b))))
    # Each kind of dimension begins a row of its own.
    base = 0
    kinds = list(dict.fromkeys(kind for *_, kind in entries))
    for kind in kinds:
        chosen = [k for k, entry in enumerate(entries) if entry[3] == kind]
        rows = levels([spans[k] for k in chosen], 0.4)
        for k, row in zip(chosen, rows, strict=True):
            a, b, words, _ = entries[k]
            height = y + outward * (CLOTH + 3.0 + LEVEL * (base + row))
            drawing.parts.append(dimension(LEFT + place(a), LEFT + place(b), height))
            wide = width_of(words, SMALL)
            middle = LEFT + (place(a) + place(b)) / 2
            low = min(max(middle - wide / 2, LEFT), WIDTH - wide)
            below = -0.9 if outward < 0 else SMALL + 0.5
            drawing.parts.append(text(complex(low + wide / 2, height + below), words, SMALL, "middle"))
            drawing.reach(height + outward * 3.6)
        base += max(rows, default=-1) + 1


def _mark(mark: Mark, x: float, y: float, outward: int) -> Iterator[str]:
    if mark.joint:
        yield disc(complex(x, y), 1.0, "ring")
        return
    for k in range(max(1, min(mark.count, 3))):
        at = x + 1.1 * (k - (max(1, min(mark.count, 3)) - 1) / 2)
        yield line(complex(at, y), complex(at, y + outward * TICK), "notch")


def _dimensions(
    side: Side, marks: Sequence[Mark], one: Walked, *, first: bool
) -> Iterator[tuple[float, float, Words, str]]:
    """Lengths to write outside of a rail: between matched marks, of each edge, and of the whole."""
    knots = [a if first else b for a, b in _knots(one)]
    if one.walk.seam.twin:
        knots = [0.0, *(mark.station for mark in marks if not mark.joint), side.length]
    if len(knots) > 2:
        for a, b in pairwise(knots):
            yield a, b, length(b - a), "spans"
    for use, edge, offset in zip(side.uses, side.edges, side.offsets, strict=True):
        yield offset, offset + edge.length, length(edge.length, f"{use.piece}.{use.edge} "), "edges"
    if len(side.edges) > 1:
        yield 0.0, side.length, length(side.length, "together "), "whole"


def _pieces(drawing: _Drawing, file: FileResult, one: Walked, gap: float) -> None:
    """The pieces of both sides, small, with the edges that are sewn."""
    pieces = pieces_in(file, one.seam.size)
    seam = one.walk.seam
    for side, top in ((seam.first, -25.0), (seam.second, gap + 1.0)):
        names = side.pieces[:3]
        room = (LEFT - 6.0) / len(names)
        for k, name in enumerate(names):
            edges = [
                (edge, use.backwards) for use, edge in zip(side.uses, side.edges, strict=True) if use.piece == name
            ]
            drawing.parts.append(thumbnail(pieces[name], complex(k * room, top), room - 2.0, 24.0, edges))
        drawing.reach(top, top + 25.0)
