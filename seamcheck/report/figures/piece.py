"""A piece in one size, upright as in its file: edges by name, notches, grain, darts and folds, and numbered marks."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from seamcheck import amounts
from seamcheck.geometry.curve import Affine
from seamcheck.pattern.junction_layout import bounds_upright, upright
from seamcheck.report import pen
from seamcheck.report.figures.base import (
    SMALL,
    TEXT,
    Box,
    Figure,
    Linked,
    Part,
    Words,
    disc,
    length,
    line,
    plain,
    said,
    stroke,
    text,
)
from seamcheck.report.figures.drawn import Line, edge_label, keep_off, lines, roles
from seamcheck.report.figures.looks import Kind
from seamcheck.report.figures.marks import around, farthest_off, leaving, turned
from seamcheck.report.figures.parts import geometry_of, pieces_in, planned, round_down, scale_bar
from seamcheck.report.layout import printable
from seamcheck.report.lettering import Label, Labels, text_width

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult
    from seamcheck.geometry.curve import Curve
    from seamcheck.pattern.model import Edge, Piece
    from seamcheck.pattern.plan import Plan
    from seamcheck.report.figures.marks import Bend, Marked

WIDTH = 180.0
HEIGHT = 190.0
BORDER = 22.0  # round the piece, for names and marks
COMPACT = (92.0, 124.0, 15.0)  # the same beside what is told of it, and on a page as narrow as a hand
SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0)
RING = 2.7
INSET = 11.0  # the radius of the circle in which a bend is drawn larger
ENLARGED = 4.0  # by how much it is larger there than on the piece
MOST_INSETS = 6  # bends of one piece that are drawn so
APART = 3.0  # mm that an old and a new line are drawn apart there
SEEN = 0.15  # mm of paper between lines that are seen as two
LEAST_NEW = 0.4  # mm: a new line that leaves the old one by less has no circle
PLAIN = 2.0  # mm of paper between lines that need no circle
BENT = 30.0  # degrees to which a bend is drawn at most; a larger one is drawn as it is
EARLIER_TOLD = " The dotted line is how it was in the earlier file, laid on the part that did not move."
RINGS = {"error": "heavy", "warning": "dashed", "note": "dotted"}  # as the looks of the figures draw them


def piece_figure(
    file: FileResult, piece: str, size: str, marks: Mapping[int, Marked], *, compact: bool = False
) -> Figure:
    """A piece with what is marked on it, by numbers, also small enough to stand beside words; KeyError where the size has no such piece."""
    drawn = pieces_in(file, size)[piece]
    told = f"size {size}" if len(file.sizes) > 1 else ""
    found = _found_edges(file, piece, size)
    earlier = geometry_of(file).earlier.get((piece, size))
    return drawn_piece(
        drawn,
        geometry_of(file).plan,
        told,
        found=found,
        marks=marks,
        earlier=earlier,
        nest=_nest(file, drawn) if compact else {},
        compact=compact,
    )


def drawn_piece(
    piece: Piece,
    plan: Plan | None,
    told: str,
    *,
    found: Collection[str] = (),
    marks: Mapping[int, Marked] | None = None,
    others: Sequence[Piece] = (),
    earlier: Curve | None = None,
    nest: Mapping[str, Curve] | None = None,
    compact: bool = False,
) -> Figure:
    """A piece, with the edges in `found` drawn heavy, numbered marks, and the outlines of other sizes faint behind it.

    `earlier` is its outline in an earlier file, laid on this one, and `nest` those of other sizes, which a page shows one at a time.

    `told` is written below its name: its size, where there are several.
    """
    room = COMPACT if compact else (WIDTH, HEIGHT, BORDER)
    drawing = _Drawing(piece, plan, found, others, earlier, room)
    drawing.draw(marks or {}, told)
    for size, outline in (nest or {}).items():
        data = pen.path(outline.transformed(drawing.move), closed=True, digits=1)
        drawing.parts.append(stroke(data, Kind.CHOSEN_SIZE, f' data-size="{pen.words(size)}"'))
    return Figure(
        parts=tuple(drawing.parts),
        box=drawing.box(),
        title=f"Piece {piece.name}" + (f", {told}" if told else ""),
        description=f"Drawn 1 : {pen.number(1 / drawing.scale)}, as it lies in the file.{_legend(marks or {}, new_line=drawing.new_line)}{EARLIER_TOLD if earlier else ''}",
        exaggerated=max(drawing.factors, default=1.0),
    )


def _nest(file: FileResult, piece: Piece) -> dict[str, Curve]:
    """The outlines of a piece in the other sizes, where the file draws them on one another."""
    x0, y0, x1, y1 = piece.outline.bounds()
    found = {}
    for other in geometry_of(file).pieces:
        if other.name == piece.name and other.size != piece.size:
            a0, b0, a1, b1 = other.outline.bounds()
            if abs(a0 + a1 - x0 - x1) < x1 - x0 and abs(b0 + b1 - y0 - y1) < y1 - y0:
                found[other.size] = other.outline
    return found


def _legend(marks: Mapping[int, Marked], *, new_line: bool) -> str:
    """How many places are marked, and what the rings of their numbers mean."""
    if not marks:
        return ""
    grades = {one.grade for one in marks.values()}
    rings = "; ".join(f"{ring} ring: {grade}" for grade, ring in RINGS.items() if grade in grades)
    told = f" {len(marks)} {'places are' if len(marks) > 1 else 'place is'} marked ({rings})."
    if any(one.stretch for one in marks.values()):
        told += " The barred line is where the seam differs."
    if any(one.slash for one in marks.values()):
        told += " The dashed line is where the slash was, presumably, with its hinge in the small ring."
    if new_line:
        told += " Dashed beside the old line is the new one, as the recipe draws it."
    if any(one.bend for one in marks.values()):
        told += f" In a circle a bend is {pen.number(ENLARGED)} times as large, and as many times as strong as is written there."
    return told


def _found_edges(file: FileResult, piece: str, size: str) -> set[str]:
    """The edges of a piece that something was found of."""
    return {
        edge.removeprefix(f"{piece}.")
        for found in file.findings
        if found.size == size and found.counts
        for edge in found.edges
        if edge.startswith(f"{piece}.")
    }


class _Drawing:
    """The picture as it grows."""

    def __init__(
        self,
        piece: Piece,
        plan: Plan | None,
        found: Collection[str],
        others: Sequence[Piece],
        earlier: Curve | None,
        room: tuple[float, float, float],
    ) -> None:
        self.piece, self.found, self.others, self.earlier = piece, found, others, earlier
        self.roles = roles(piece, planned(plan, piece.name))
        self.width, height, border = room
        self.factors: list[float] = []
        self.new_line = False  # whether a line is seen as it is once put right
        lines = [piece.drawn, *(other.outline for other in others)]
        lines += [] if earlier is None else [earlier]
        x0, y0, x1, y1 = bounds_upright(piece, *lines)
        needed = max((x1 - x0) / (self.width - 2 * border), (y1 - y0) / (height - 2 * border))
        self.scale = 1 / next((one for one in SCALES if one >= needed), float(np.ceil(needed / 10) * 10))
        self.height = (y1 - y0) * self.scale + 2 * border
        centre = complex(self.width / 2, self.height / 2)
        self.move = (
            Affine.translation(centre)
            @ Affine.scaling(self.scale)
            @ Affine.translation(-complex(x0 + x1, y0 + y1) / 2)
            @ upright(piece)
        )
        self.labels = Labels(self.width)  # what finds no room beside the piece may stand above or below it
        self.parts: list[Part] = []

    def draw(self, marks: Mapping[int, Marked], below: str) -> None:
        """Lines first, then marks, then names in what room is left."""
        piece, paper = self.piece, 1 / self.scale
        outline = piece.outline.transformed(self.move)
        vertices = outline.polygon(0.05)
        cloth = stroke(pen.path(outline, closed=True), "cloth").rstrip()
        self.parts += [Linked("cloth", (piece.name,), cloth), "\n"]
        for other in self.others:
            self._line(Line(other.outline.transformed(self.move), Kind.OTHER_SIZE))
        drawn = [one.transformed(self.move) for one in lines(piece, paper, self.roles)]
        if self.earlier is not None:
            drawn.insert(0, Line(self.earlier.transformed(self.move), Kind.EARLIER))
        for one in drawn:
            self._line(one)
        keep_off(self.labels, drawn)
        for number, marked in sorted(marks.items()):
            self._mark(number, marked, vertices)
        title, under = self.labels.inside(vertices, printable(piece.name), printable(below), spots=400)
        self._label(title, plain(title.text), "middle strong")
        if below:
            self._label(under, plain(under.text), "middle quiet")
        for edge in piece.edges:
            self._name_edge(edge)
        middle = complex(vertices.mean())
        for corner in piece.corners:
            at = complex(self.move.apply(corner.at))
            self.parts.append(disc(at, 0.6, "dot"))
            if corner.named:
                place = self.labels.beside(at, printable(corner.name), at - middle)
                if place is not None:
                    self._label(place, plain(place.text), "middle quiet")
        self.parts += list(
            islice((one for _, marked in sorted(marks.items()) for one in self._insets(marked, middle)), MOST_INSETS)
        )
        bar, _ = scale_bar(complex(2.0, self.labels.reaches()[3] + 5.0), self.scale, 30.0)
        self.parts.append(f'<g class="scale">{bar}</g>\n')

    def box(self) -> Box:
        """What is drawn, over the whole width, with the scale below it."""
        left, top, right, bottom = self.labels.reaches()
        left, right = min(0.0, left - 2.0), max(self.width, right + 2.0)
        return left, top - 2.0, right - left, bottom - top + 10.0

    def _line(self, one: Line) -> None:
        kinds, more = [str(one.kind)], ""
        if one.edge and one.kind is not Kind.NOTCH:
            kinds = [
                "edge",
                *(kind for kind in kinds if kind != "edge"),
                *("found" for _ in {one.edge} & {*self.found}),
            ]
            more = f' data-edge="{pen.words(one.edge)}" data-use="{pen.words(f"{self.piece.name}.{one.edge}")}"'
        self.parts.append(stroke(pen.path(one.curve, closed=one.curve.is_closed), " ".join(kinds), more))

    def _name_edge(self, edge: Edge) -> None:
        """The name of an edge, with its length where there is room; where there is none at all the table of the edges has it."""
        runs = [run.transformed(self.move).polygon(0.05) for run in edge.runs]
        role = self.roles[edge.name]
        name = printable(edge.name)
        after = f" ({role})" if role is not Kind.EDGE else ""
        wordings = {said(words): words for words in (length(edge.length, f"{name} ", after), plain(name))}
        place = edge_label(self.labels, runs, edge, list(wordings))
        if place is not None:
            self._label(place, wordings[place.text], "middle")

    def _mark(self, number: int, marked: Marked, outline: np.ndarray) -> None:
        """What is marked for a finding: the stretch, the slash, the bend in a circle, and a ring with its number beside the place."""
        at = complex(self.move.apply(marked.at))
        drawn = "".join(self._stretch(marked)) + self._slash(marked) + self._ought(marked)
        centre = complex(outline.mean())
        out = (at - centre) / abs(at - centre) if abs(at - centre) > 1e-9 else 1 + 0j
        turns = [0.0, 0.5, -0.5, 1.0, -1.0, 1.6, -1.6, 2.2, -2.2, 2.8, -2.8]
        spots = [
            (at + gap * out * complex(np.exp(1j * turn)), 1 + 0j) for gap in (6.0, 8.5, 11.5, 15.0) for turn in turns
        ]
        place, _ = self.labels.first_free(spots, 2 * RING + 0.8, 2 * RING + 0.8)
        self.labels.avoid(np.array([at, place]))
        told = str(number)
        mark = (
            f'<g class="mark grade-{marked.grade}" data-finding="{number}">{drawn}{line(at, place, "off")}{disc(at, 0.9, "spot")}'
            f"{disc(place, RING, 'ring')}{text(place + 1.1j, plain(told), TEXT if len(told) < 3 else SMALL, 'middle')}</g>"
        )
        self.parts += [Linked("finding", (told,), mark), "\n"]

    def _stretch(self, marked: Marked) -> Iterator[str]:
        """The line that a difference lies in, barred, so that it is seen without its colour too."""
        for run in marked.stretch:
            drawn = run.transformed(self.move)
            data = pen.path(drawn)
            for beside in (1.2, -1.2, 1.2j, -1.2j):  # it is as wide as that
                self.labels.avoid(drawn.polygon(0.05) + beside)
            yield stroke(data, "stretch") + stroke(data, "bars")

    def _ought(self, marked: Marked) -> str:
        """The line as the recipe draws it, dashed, where it is seen to leave the old one."""
        shown = [part.transformed(self.move) for part in leaving(marked.ought, self.piece.outline, SEEN / self.scale)]
        keep_off(self.labels, [Line(curve, Kind.OUGHT) for curve in shown])
        self.new_line |= bool(shown)
        return "".join(stroke(pen.path(curve), Kind.OUGHT) for curve in shown)

    def _slash(self, marked: Marked) -> str:
        """A presumed slash, dashed, with its hinge."""
        if marked.slash is None:
            return ""
        hinge, end = (complex(self.move.apply(one)) for one in marked.slash)
        self.labels.avoid(np.array([hinge, end]))
        return line(hinge, end, Kind.SLASH) + disc(hinge, 1.8, "hinge")

    def _insets(self, marked: Marked, middle: complex) -> Iterator[str]:
        """A bend and a new line in circles beside them; nothing where there is no room."""
        if marked.bend is not None:
            yield from self._bent(marked.bend, complex(self.move.apply(marked.at)), middle)
        farthest = farthest_off(marked.ought, self.piece.outline)
        if farthest is not None and farthest[1] > LEAST_NEW and farthest[1] * self.scale < PLAIN:
            yield from self._new_line(marked.ought, *farthest, middle)

    def _bent(self, bend: Bend, at: complex, middle: complex) -> Iterator[str]:
        """A bend larger and stronger."""
        arm = INSET / (ENLARGED * self.scale)
        lines = [own.between(0.0, min(arm, own.length)) for own in (bend.before.reversed(), bend.behind)]
        # Rather off the line that bends, away from the middle of the piece.
        along = complex(self.move.apply(lines[1].end)) - complex(self.move.apply(lines[0].end))
        turn, factor = turned(bend), max(1.0, round_down(BENT / bend.turn))
        stronger = f"drawn {pen.number(factor)} times" if factor > 1.0 else "as it is"
        centre, circle = self._circle(at, 1j * along, middle, f"bend {amounts.angle(bend.turn)}", stronger)
        if centre is None:
            return
        self.factors.append(factor)
        larger = self._larger(at, centre, ENLARGED)
        strong = (
            larger @ Affine.rotation(share * (factor - 1.0) * turn, about=bend.behind.start) for share in (-0.5, 0.5)
        )
        drawn = "".join(
            stroke(pen.path(part.transformed(move)), "edge") for part, move in zip(lines, strong, strict=True)
        )
        yield f'<g class="inset">{circle}{drawn}</g>'

    def _new_line(self, ought: Sequence[Curve], place: complex, off: float, middle: complex) -> Iterator[str]:
        """The old line and the new one larger, where they are farthest apart."""
        outline = self.piece.outline
        times = max(ENLARGED, round_down(APART / (off * self.scale)))
        on = outline.nearest(place)
        at, arm = complex(self.move.apply(on.point)), INSET / (times * self.scale)
        along = outline.tangent(on.station)
        aside = 1j * (along.conjugate() if self.move.determinant < 0 else along)
        centre, circle = self._circle(
            at, aside, middle, "dashed: the new line", f"{pen.number(times)} times as large"
        )
        if centre is None:
            return
        self.new_line = True
        larger = self._larger(at, centre, times)
        old = [outline.between((on.station - arm) % outline.length, (on.station + arm) % outline.length)]
        new = (part for line in ought for part in around(line, on.point, arm))
        parts = [*((part, Kind.EDGE) for part in old), *((part, Kind.OUGHT) for part in new)]
        drawn = "".join(stroke(pen.path(part.transformed(larger)), kind) for part, kind in parts)
        yield f'<g class="inset">{circle}{drawn}</g>'

    def _larger(self, at: complex, centre: complex, times: float) -> Affine:
        return Affine.translation(centre) @ Affine.scaling(times) @ Affine.translation(-at) @ self.move

    def _circle(self, at: complex, aside: complex, middle: complex, *words: str) -> tuple[complex | None, str]:
        """A circle with a line to a place and two lines of words, in what room is left; None where there is none.

        It stands rather to that side of the place, or the other one, that is away from the middle of the piece.
        """
        high_words = TEXT * 2.4
        wide = max(2 * INSET, *(text_width(one, SMALL) for one in words)) + 1.0
        high = 2 * INSET + 1.0 + high_words
        off = aside / (abs(aside) or 1.0)
        off = off if (off * (at - middle).conjugate()).real >= 0.0 else -off
        xs, ys = (
            np.arange(wide / 2, self.width - wide / 2 + 0.1, 3.0),
            np.arange(-2 * high, self.height + 2 * high, 3.0),
        )
        aim = at + off * (INSET + 5.0)
        spots = sorted((complex(x, y) for x in xs for y in ys), key=lambda spot: round(abs(spot - aim), 3))
        free = self.labels.led_if_free(at, spots, wide, high)
        if free is None:
            return None, ""
        # The words stand on the side that the line to the place does not leave by.
        side = 1.0 if at.imag <= free.imag else -1.0
        centre = free - side * 1j * high_words / 2
        leader = centre - at
        drawn = disc(centre, INSET, "lens") + line(at, at + leader * (1 - INSET / abs(leader)), "fine")
        first = centre + 1j * (INSET + TEXT if side > 0 else -INSET - TEXT * 1.5)
        for row, (told, kind) in enumerate(zip(words, ("middle", "middle quiet"), strict=True)):
            drawn += text(first + 1j * TEXT * 1.1 * row, plain(told), SMALL, kind)
        return centre, drawn

    def _label(self, label: Label, words: Words, kind: str) -> None:
        down = 1j * label.size * 0.35 * complex(np.exp(1j * np.radians(label.angle)))
        self.parts.append(text(label.at + down, words, label.size, kind, label.angle))
