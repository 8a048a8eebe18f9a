"""The seam graph: pieces round an oval, seams as links between them; what is broken is told by weight, dash and words.

The pieces stand in the order that makes the fewest links cross and keeps them short, found by exchanging two at a time from the
order of their names, so that the same pattern is always drawn alike. Pieces in no seam stand below.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.checks.base import Severity
from seamcheck.geometry.bezier import point_of
from seamcheck.geometry.curve import Curve
from seamcheck.report import pen
from seamcheck.report.figures.base import (
    SMALL,
    TEXT,
    Box,
    Figure,
    Linked,
    Part,
    Words,
    length,
    plain,
    stroke,
    text,
    width_of,
)
from seamcheck.report.figures.parts import fitted, found_in_seam, geometry_of, worst
from seamcheck.report.layout import printable
from seamcheck.report.lettering import Labels, text_width

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.pattern.model import Piece

WIDTH, BESIDE, RISE = (
    180.0,
    12.0,
    1.0,
)  # how wide it is, the room for words on either side, and how much higher an oval is
NARROW = (92.0, 6.0, 1.25)  # the same on a page as narrow as a hand
NODE = complex(26.0, 24.0)  # the room of a piece, without its name
SMALLEST = 9.0  # the longer side of the smallest piece; otherwise all are to one scale
BEND = 9.0  # between links of the same two pieces
LOOP = 6.0


class _Link(NamedTuple):
    """A seam between two pieces, or of a piece with its own twin, with the worst that was found in it."""

    seam: str
    a: str
    b: str
    worst: Finding | None
    broken_in: int
    sizes: int


def graph_figure(file: FileResult, *, narrow: bool = False) -> Figure:
    """All pieces and the seams between them, in all sizes, also half as wide for narrow pages."""
    room = NARROW if narrow else (WIDTH, BESIDE, RISE)
    pieces: dict[str, Piece] = {}
    for piece in geometry_of(file).pieces:
        pieces.setdefault(piece.name, piece)
    links = _links(file)
    sewn = [name for name in sorted(pieces) if any(name in (link.a, link.b) for link in links)]
    order = _order(sewn, [(link.a, link.b) for link in links])
    alone = [name for name in sorted(pieces) if name not in sewn]
    places, height = _places(order, alone, room)
    drawing = _Drawing(pieces, places, room[0], height)
    drawing.draw(links, set(alone))
    broken = {link.seam: link for link in links if link.worst is not None}
    return Figure(
        parts=tuple(drawing.parts),
        box=drawing.box(),
        title="What is sewn to what",
        description=_described(file, len({link.seam for link in links}), broken),
    )


def _links(file: FileResult) -> list[_Link]:
    found: dict[tuple[str, str, str], _Link] = {}
    for told, walk in zip(file.seams, geometry_of(file).walks, strict=True):
        sizes = [one.size for one in file.seams if one.name == told.name]
        each = {size: found_in_seam(file, told.name, size) for size in sizes}
        broken = [findings for findings in each.values() if findings]
        gravest = min((one[0] for one in broken), key=_gravity, default=None)
        first, second = walk.seam.first.pieces, walk.seam.second.pieces
        for a in first:
            for b in second:
                if a != b or walk.seam.twin or (len(first) == 1 and len(second) == 1):
                    one, other = min(a, b), max(a, b)
                    link = _Link(told.name, one, other, gravest, len(broken), len(sizes))
                    found.setdefault((told.name, one, other), link)
    return list(found.values())


def _gravity(finding: Finding) -> tuple[int, float]:
    return Severity(finding.severity).rank, -abs(finding.measured or 0.0)


def _described(file: FileResult, seams: int, broken: Mapping[str, _Link]) -> str:
    if not seams:
        return "No seam was walked."
    counted = f"{seams} seam{'s' if seams > 1 else ''}"
    if not broken:
        return f"{counted}, and nothing was found in any of them."
    return f"{counted}; something was found in {', '.join(broken)}: drawn heavy and dashed."


def _order(names: Sequence[str], links: Sequence[tuple[str, str]]) -> list[str]:
    """The order round the oval: exchanges of two names as long as one makes it better."""
    pairs = sorted({(a, b) for a, b in links if a != b})
    order = list(names)
    best = _tangle(order, pairs)
    better = len(order) > 3
    while better:
        better = False
        for i, j in combinations(range(len(order)), 2):
            order[i], order[j] = order[j], order[i]
            cost = _tangle(order, pairs)
            if cost < best:
                best, better = cost, True
            else:
                order[i], order[j] = order[j], order[i]
    return order


def _tangle(order: Sequence[str], pairs: Sequence[tuple[str, str]]) -> tuple[int, int]:
    """How many links cross, and how far round they reach in all."""
    at = {name: k for k, name in enumerate(order)}
    spans = [tuple(sorted((at[a], at[b]))) for a, b in pairs]
    crossed = sum(a < c < b < d or c < a < d < b for (a, b), (c, d) in combinations(spans, 2))
    return crossed, sum(min(b - a, len(order) - b + a) for a, b in spans)


def _places(
    order: Sequence[str], alone: Sequence[str], room: tuple[float, float, float]
) -> tuple[dict[str, complex], float]:
    """Where the middle of each piece stands, and how high the picture is."""
    count = len(order)
    wide, beside, higher = room
    across = wide / 2 - NODE.real / 2 - beside
    rise = {0: 0.0, 1: 0.0, 2: 0.0, 3: 34.0, 4: 38.0}.get(count, min(26.0 + 5.5 * count, 92.0)) * higher
    top = NODE.imag / 2 + 12.0
    centre = complex(wide / 2, top + rise)
    # Two stand side by side; of four none stands at the very top, so that links have room for their names.
    begin = math.pi if count == 2 else -math.pi / 2 - (math.pi / count if count % 2 == 0 and count > 2 else 0.0)
    places = {}
    for k, name in enumerate(order):
        turn = cmath.rect(1.0, begin + 2 * math.pi * k / count)
        reach = complex(across * turn.real, rise * turn.imag) if count > 1 else 0j
        places[name] = centre + reach
    height = (top + 2 * rise + NODE.imag / 2 + 18.0) if count else 2.0
    in_row = max(1, int(wide // (NODE.real + 8.0)))
    for k, name in enumerate(alone):
        row, column = divmod(k, in_row)
        places[name] = complex((column + 0.5) * wide / in_row, height + NODE.imag / 2 + row * (NODE.imag + 12.0))
    rows = -(-len(alone) // in_row)
    return places, height + rows * (NODE.imag + 12.0)


class _Drawing:
    """The picture as it grows."""

    def __init__(
        self, pieces: Mapping[str, Piece], places: Mapping[str, complex], width: float, height: float
    ) -> None:
        self.pieces, self.places, self.width, self.height = pieces, places, width, height
        self.labels = Labels(width, height)
        self.parts: list[Part] = []
        self.boxes = {name: self._box(piece) for name, piece in pieces.items()}
        for name, box in self.boxes.items():
            self.labels.avoid_box(places[name], box.real, box.imag)

    def _box(self, piece: Piece) -> complex:
        """How large a piece is drawn."""
        sizes = []
        for one in self.pieces.values():
            x0, y0, x1, y1 = one.outline.bounds()
            sizes.append((max((x1 - x0) / NODE.real, (y1 - y0) / NODE.imag), x1 - x0, y1 - y0, one is piece))
        scale = 1 / max(size[0] for size in sizes)
        _, wide, high, _ = next(size for size in sizes if size[3])
        scale = max(scale, min(SMALLEST / max(wide, high), 1 / max(wide / NODE.real, high / NODE.imag)))
        return complex(wide, high) * scale

    def box(self) -> Box:
        """What is drawn, over the whole width."""
        if not self.places:
            return 0.0, 0.0, self.width, self.height
        _, top, _, bottom = self.labels.reaches()
        return 0.0, top - 2.0, self.width, bottom - top + 4.0

    def draw(self, links: Sequence[_Link], alone: set[str]) -> None:
        """Links below, then pieces, then the names of pieces and of seams."""
        beside: dict[tuple[str, str], list[_Link]] = {}
        for link in links:
            beside.setdefault((link.a, link.b), []).append(link)
        curves: list[tuple[list[_Link], Curve]] = []
        for (a, b), group in beside.items():
            if a == b:
                whole = [link for link in group if link.worst is None]
                rows = [[link] for link in group if link.worst is not None] + ([whole] if whole else [])
                curves += [(row, self._loop(a, k)) for k, row in enumerate(rows)]
            else:
                middle = (len(group) - 1) / 2
                curves += [([link], self._bow(a, b, BEND * (k - middle))) for k, link in enumerate(group)]
        for row, curve in curves:
            kind = "link broken" if row[0].worst is not None else "link"
            grade = worst([row[0].worst]) if row[0].worst is not None else "none"
            names = tuple(link.seam for link in row)
            seams = pen.words(" ".join(names))
            drawn = stroke(pen.path(curve), kind, f' data-seam="{seams}"').rstrip()
            self.parts += [f'<g class="grade-{grade}">', Linked("seams", names, drawn), "\n</g>\n"]
            self.labels.avoid(curve.polygon(0.05))
        for name in self.places:
            self._node(name, alone=name in alone)
        for row, curve in sorted(curves, key=lambda one: one[0][0].worst is None):
            self._name(row, curve)

    def _bow(self, a: str, b: str, bend: float) -> Curve:
        start, end = self.places[a], self.places[b]
        along = (end - start) / abs(end - start)
        # A second link between two pieces bows away from the first.
        first, second = (start + (end - start) * share + 1j * along * bend * 1.33 for share in (0.3, 0.7))
        whole = Curve.cubic(start, first, second, end)
        return whole.between(self._edge_of(a, whole), whole.length - self._edge_of(b, whole.reversed()))

    def _edge_of(self, name: str, curve: Curve) -> float:
        """How far a line from the middle of a piece runs within the piece's room."""
        half = self.boxes[name] / 2 + complex(1.5, 1.5)
        row = curve.segments[0].tolist()

        def within(share: float) -> bool:
            off = point_of(row, share) - self.places[name]
            return abs(off.real) < half.real and abs(off.imag) < half.imag

        if within(1.0):
            return 0.0
        inside, outside = 0.0, 1.0
        while outside - inside > 1e-12:
            middle = (inside + outside) / 2
            inside, outside = (middle, outside) if within(middle) else (inside, middle)
        return min(curve.station_of(0, outside), curve.length * 0.4)

    def _loop(self, name: str, number: int) -> Curve:
        """A loop beside a piece, away from the middle of the picture."""
        at, box = self.places[name], self.boxes[name]
        left = at.real < self.width / 2 - 1.0
        side = -1.0 if left else 1.0
        foot = at + complex(side * (box.real / 2 + 1.5), -box.imag / 4 + number * 1.6 * LOOP)
        out = complex(side * LOOP * 1.6, 0.0)
        return Curve.cubic(foot - 2.2j, foot - 2.2j + out - 3j, foot + 2.2j + out + 3j, foot + 2.2j)

    def _node(self, name: str, *, alone: bool) -> None:
        at, box = self.places[name], self.boxes[name]
        piece = self.pieces[name]
        move = fitted([piece], at - box / 2, box.real, box.imag)
        outline = pen.path(piece.outline.transformed(move), closed=True)
        words = printable(name)
        wide = text_width(words, TEXT) * 1.06
        down, aside = box.imag / 2 + 1.2 + TEXT / 2, (box.real + wide) / 2 + 1.2
        slides = (0.0, 6.0, -6.0, 10.0, -10.0, 14.0, -14.0)
        spots = [(at + complex(slide, side * down), 1 + 0j) for side in (1, -1) for slide in slides]
        spots += [(at + side * aside, 1 + 0j) for side in (1, -1)]
        place, _ = self.labels.first_free(spots, wide, TEXT + 0.4)
        told, said = text(place + 1j * TEXT * 0.36, plain(words), TEXT, "middle strong"), words
        if alone:
            below = at + complex(0.0, box.imag / 2 + 9.0)
            told += text(below, plain("in no seam"), SMALL, "middle quiet")
            said += " in no seam"
            self.labels.avoid_box(below - 1j, text_width("in no seam", SMALL), SMALL)
        drawn = stroke(outline, "plate") + stroke(outline, "cloth outline")
        node = f'<g class="node" data-piece="{pen.words(name)}">{drawn}{told}</g>'
        self.parts += [Linked("piece", (name,), node, said), "\n"]

    def _name(self, row: Sequence[_Link], curve: Curve) -> None:
        """The name of a seam beside its link, and what is wrong with it."""
        told = list(_words(row))
        wide = max(width_of(words, SMALL) * 1.04 for words, _ in told)
        high = len(told) * SMALL * 1.3
        place, _ = self.labels.first_free(_spots(curve, wide, high), wide, high)
        grade = worst([row[0].worst]) if row[0].worst is not None else "none"
        lines = "".join(
            text(
                complex(place.real, place.imag - high / 2 + (k + 1) * SMALL * 1.3 - SMALL * 0.35), words, SMALL, kind
            )
            for k, (words, kind) in enumerate(told)
        )
        self.parts.append(f'<g class="grade-{grade}">{lines}</g>\n')


def _spots(curve: Curve, wide: float, high: float) -> Iterator[tuple[complex, complex]]:
    """Places beside a line for a box of words, the nearest first."""
    for gap in (0.8, 2.4, 4.5, 7.0, 11.0, 16.0):
        for share in (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74):
            at, along = curve.point(share * curve.length), curve.tangent(share * curve.length)
            for side in (1, -1):
                out = side * 1j * along
                yield at + out * (gap + _half(out, wide, high)), 1 + 0j


def _half(out: complex, wide: float, high: float) -> float:
    """How far the middle of a box is from a line that it touches, in a direction square to the line."""
    return abs(out.real) * wide / 2 + abs(out.imag) * high / 2


def _words(row: Sequence[_Link]) -> Iterator[tuple[Words, str]]:
    finding = row[0].worst
    twin = ", to its twin" if row[0].a == row[0].b else ""
    if finding is None:
        for k, link in enumerate(row):
            yield plain(printable(link.seam) + ("," if k < len(row) - 1 else twin)), "middle"
        return
    yield plain(printable(row[0].seam) + twin), "middle strong"
    amount = finding.measured
    if amount is not None and finding.unit == "mm":
        yield length(abs(amount), "", " off"), "middle told"
    else:
        yield plain(finding.check), "middle told"
    if row[0].sizes > 1:
        yield plain(f"in {row[0].broken_in} of {row[0].sizes} sizes"), "middle told"
