"""The picture of a trued pattern, in mm of cloth: the old line thin and dashed, the new one heavy, the mate laid along the seam.

panel   one piece in one size, with what was drawn anew on it
trims   the lines along which the sheets of a print are cut: no words are put across them
laid    the part of a mate round the end of a seam, laid on the piece as it is when the seam is sewn and opened flat

Coordinates are mm, x to the right and y down, whatever axes the file has.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from seamcheck import amounts
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.junction_layout import upright as layout_upright
from seamcheck.pattern.model import Piece
from seamcheck.pattern.seams import Side
from seamcheck.report.figures.drawn import Line, keep_off, lines_to_cut
from seamcheck.report.figures.looks import Kind, Tone
from seamcheck.report.lettering import (
    CLEAR,
    CORNER_TEXT,
    TITLE_TEXT,
    Label,
    Labels,
    Points,
    helvetica_width,
    text_width,
)
from seamcheck.truing.changes import NOTCH_MOVED, TruedPiece
from seamcheck.truing.propose import Truing
from seamcheck.truing.state import State

GAP = 30.0  # mm of cloth between panels
WIDEST = 2400.0  # mm: what is wider begins a new row
LAID = 60.0  # mm of a mate that are laid on either side of the end of a seam
SPOTS = 16  # places across a piece that are tried for its name
BESIDE = 0.3  # mm: a line that leaves the old one by less has nothing written to it
STRONG = TITLE_TEXT / CORNER_TEXT
METRIC, IMPERIAL = 50.0, 50.8  # mm: the sides of the squares to check the printer by


LEGEND = (
    (Kind.EDGE, "as trued"),
    (Kind.OLD, "as it was"),
    (Kind.MATE, "the mate, as it lies along the seam"),
)
MORE_LEGEND = (
    (Kind.SEW, "sew line, inside its cut line"),
    (Kind.INNER, "drawn within the piece"),
    (Kind.SLASH, "where it is cut, with a ring round the hinge"),
)


@dataclass(frozen=True, slots=True)
class PictureWords:
    """Writing whose middle is at a place; `strong` is for the names of pieces, which are `STRONG` times as high.

    `shrunk` is by how much less high it is, where it would not fit on its sheet.
    """

    at: complex
    text: str
    tone: Tone = Tone.INK
    strong: bool = False
    shrunk: float = 1.0


@dataclass(slots=True)
class Picture:
    """All lines and words, and the size of the whole in mm."""

    lines: list[Line] = field(default_factory=list)
    words: list[PictureWords] = field(default_factory=list)
    width: float = 0.0
    height: float = 0.0

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the lines."""
        array = np.array([line.curve.bounds() for line in self.lines])
        x0, y0, x1, y1 = (float(v) for v in (*array[:, :2].min(axis=0), *array[:, 2:].max(axis=0)))
        return x0, y0, x1, y1


@dataclass(frozen=True, slots=True)
class Trims:
    """The sheets that pieces lie on: their width and height, how far from their sides words stay, all in mm of cloth.

    `columns` and `rows` are how many there are; the first begins at 0. `width` says how wide a text is, in mm of cloth, by its words and whether they are strong.
    """

    step: tuple[float, float]
    inset: float
    width: Callable[[str, bool], float]
    columns: int = 1
    rows: int = 1

    def count(self, wide: float, high: float) -> tuple[int, int]:
        """How many columns and rows of sheets a box takes, with room for words round it."""
        columns, rows = (
            max(1, math.ceil((size + 2 * self.inset) / step))
            for size, step in zip((wide, high), self.step, strict=True)
        )
        return columns, rows

    def kept(self, at: complex, wide: float, high: float) -> tuple[complex, float]:
        """The middle of words, put where they lie on one sheet, and by how much they are to be shrunk for that."""
        room = self.step[0] - 2 * self.inset
        shrunk = min(1.0, room / (wide or 1.0))
        halves = shrunk * wide / 2, shrunk * high / 2
        placed = []
        for value, step, half, count in zip(
            (at.real, at.imag), self.step, halves, (self.columns, self.rows), strict=True
        ):
            first = min(max(math.floor(value / step), 0), count - 1) * step
            placed.append(min(max(value, first + self.inset + half), first + step - self.inset - half))
        return complex(*placed), shrunk


@dataclass(frozen=True, slots=True)
class Subject:
    """What one panel shows: a piece before and after, and what was drawn anew on it, if anything.

    `title` is its name, `below` are the lines that stand under it. `cuts` are where the piece before was cut.
    """

    before: State
    after: State
    name: str
    change: TruedPiece | None
    title: str
    below: tuple[str, ...] = ()
    cuts: tuple[Curve, ...] = ()

    @property
    def piece(self) -> Piece:
        """The piece as trued."""
        return self.after.pieces[self.name]


def subjects(sizes: Sequence[Truing], changes: Sequence[TruedPiece], *, every: bool) -> list[Subject]:
    """The pieces to show, size by size: those that were drawn anew, or `every` one."""
    several = len(sizes) > 1
    found = []
    for one in sizes:
        changed = {change.piece: change for change in changes if change.size == one.before.size}
        for piece in one.after.pattern.pieces:
            if every or piece.name in changed:
                title = f"{piece.name} ({one.before.size})" if several else piece.name
                found.append(Subject(one.before, one.after, piece.name, changed.get(piece.name), title))
    return found


def picture(shown: Sequence[Subject], *, squares: bool, text: float) -> Picture:
    """The panels side by side; `text` is the height of writing in mm of cloth.

    With `squares` one of 50 mm and one of 2 in stand at the top left.
    """
    whole = Picture()
    x, y, row = GAP, GAP, 0.0
    if squares:
        whole.lines += [Line(square(complex(x, y), METRIC), Kind.FINE)]
        second = x + METRIC + GAP / 4
        whole.lines += [Line(square(complex(second, y), IMPERIAL), Kind.FINE)]
        whole.words.append(PictureWords(complex(x + METRIC / 2, y + METRIC / 2), "50 mm", Tone.FAINT))
        whole.words.append(PictureWords(complex(second + IMPERIAL / 2, y + IMPERIAL / 2), "2 in", Tone.FAINT))
        y += IMPERIAL + GAP
        whole.width = second + IMPERIAL + GAP
    panels = [panel(one, text) for one in shown]
    for kind, what in legend(panels):
        end = complex(x + 6 * text, y)
        whole.lines.append(Line(Curve.line(complex(x, y), end), kind))
        long = helvetica_width(what, text)
        whole.words.append(PictureWords(end + text + long / 2 + 0.35j * text, what, Tone.FAINT))
        whole.width = max(whole.width, end.real + text + long + GAP)
        y += 1.6 * text
    y += GAP
    for one in panels:
        box = _box(one, text)
        if x > GAP and x + box[2] - box[0] > WIDEST:
            x, y, row = GAP, y + row + GAP, 0.0
        move = Affine.translation(complex(x - box[0], y - box[1]))
        whole.lines += [line.transformed(move) for line in one.lines]
        whole.words += [replace(words, at=complex(move.apply(words.at))) for words in one.words]
        x += box[2] - box[0] + GAP
        row = max(row, box[3] - box[1])
        whole.width = max(whole.width, x)
    whole.height = y + row + GAP
    return whole


def legend(panels: Sequence[Picture]) -> list[tuple[Kind, str]]:
    """What the lines of some panels are; only those that are there."""
    there = {line.kind for one in panels for line in one.lines}
    return [(kind, what) for kind, what in (*LEGEND, *MORE_LEGEND) if kind in there]


def square(at: complex, side: float) -> Curve:
    """A square from its top left."""
    return Curve.polyline([at, at + side, at + side * (1 + 1j), at + side * 1j, at])


def _box(panel: Picture, text: float) -> tuple[float, float, float, float]:
    boxes = [line.curve.bounds() for line in panel.lines]
    for words in panel.words:
        size = text * (STRONG if words.strong else 1.0)
        half = text_width(words.text, size) / 2
        boxes.append((words.at.real - half, words.at.imag - size, words.at.real + half, words.at.imag + size / 3))
    array = np.array(boxes)
    return tuple(float(v) for v in (*array[:, :2].min(axis=0), *array[:, 2:].max(axis=0)))  # type: ignore[return-value]


def panel(shown: Subject, text: float) -> Picture:
    """One piece upright, with what was drawn anew on it."""
    made, move = upright(shown, text)
    labels = Labels()
    _avoid(labels, made, text)
    paper = CORNER_TEXT / text  # names are laid out in mm of paper
    shape = shown.piece.outline.transformed(move).polygon(0.5) * paper
    name, _ = labels.inside(shape, shown.title, "", turns=(1 + 0j,))
    made.words.append(_begun(name, paper))
    _lead(made, labels, _amounts(shown), shown, move, text)
    return made


def block(shown: Sequence[tuple[Subject, complex]], text: float, trims: Trims) -> Picture:
    """Pieces upright on sheets, each with its top left at a place, with all that a print says of them."""
    whole, labels, paper = Picture(), Labels(), CORNER_TEXT / text
    placed = []
    for one, at in shown:
        made, move = upright(one, text)
        x0, y0, _, _ = made.box
        shift = Affine.translation(at - complex(x0, y0))
        made = Picture([line.transformed(shift) for line in made.lines])
        placed.append((one, made, shift @ move))
        _avoid(labels, made, text)
        whole.lines += made.lines
    for across in _strips(trims, whole.box):
        labels.avoid(across * paper)
    for one, made, move in placed:
        _title(made, labels, one, move, text, trims)
        _lead(made, labels, [*_amounts(one), *_marks(one)], one, move, text, trims)
        whole.lines += [line for line in made.lines if line.kind is Kind.FINE]
        whole.words += made.words
    return whole


def upright(shown: Subject, text: float) -> tuple[Picture, Affine]:
    """The lines of a panel as they are printed, and what turns the axes of the file into those."""
    move = layout_upright(shown.piece)
    return Picture([line.transformed(move) for line in _lines(shown, text / CORNER_TEXT)]), move


def _avoid(labels: Labels, made: Picture, text: float) -> None:
    keep_off(labels, [line.transformed(Affine.scaling(CORNER_TEXT / text)) for line in made.lines])


def _title(made: Picture, labels: Labels, shown: Subject, move: Affine, text: float, trims: Trims) -> None:
    """The name with the lines under it, on one sheet and as near to the middle of the piece as there is room."""
    paper, leading = CORNER_TEXT / text, 1.3 * text
    lines = [(shown.title, True), *((line, False) for line in shown.below)]
    wide = max(trims.width(*line) for line in lines)
    high = STRONG * text + leading * len(shown.below)
    outline = shown.piece.outline.transformed(move)
    x0, y0, x1, y1 = outline.bounds()
    grid = [
        complex(x, y)
        for x in np.linspace(x0, x1, SPOTS + 2)[1:-1].tolist()
        for y in np.linspace(y0, y1, 2 * SPOTS + 2)[1:-1].tolist()
    ]
    middle = complex(x0 + x1, y0 + y1) / 2
    spots = [at for at in sorted(grid, key=lambda at: round(abs(at - middle), 3)) if outline.contains(at)]
    # Beside a piece that is too narrow for it.
    aside = complex(x1 - x0 + wide, y1 - y0 + high) / 2 + text * (1 + 1j)
    spots += [middle + way for way in (1j * aside.imag, -1j * aside.imag, aside.real, -aside.real)]
    at, _ = labels.first_free([(spot * paper, 1 + 0j) for spot in spots], wide * paper + CLEAR, high * paper + CLEAR)
    at, shrunk = trims.kept(at / paper, wide, high)
    base = at.imag - shrunk * (high / 2 - 0.85 * STRONG * text)
    for words, strong in lines:
        made.words.append(PictureWords(complex(at.real, base), words, Tone.INK, strong, shrunk))
        base += shrunk * leading


def _lead(
    made: Picture,
    labels: Labels,
    places: Iterable[tuple[complex, str]],
    shown: Subject,
    move: Affine,
    text: float,
    trims: Trims | None = None,
) -> None:
    """Words, each with a fine line to the place in the file's axes that they speak of."""
    paper = CORNER_TEXT / text
    x0, _, x1, _ = shown.piece.outline.transformed(move).bounds()
    for place, words in places:
        at = complex(move.apply(place))
        outward = 1.0 if at.real >= (x0 + x1) / 2 else -1.0
        label, shrunk = labels.led(at * paper, words, outward), 1.0
        if trims is not None:
            middle, shrunk = trims.kept(label.at / paper, trims.width(words, False), text)
            label = label._replace(at=middle * paper)
        made.words.append(_begun(label, paper, shrunk))
        if label.leader is not None:
            a, b = label.leader
            made.lines.append(Line(Curve.line(a / paper, b / paper), Kind.FINE))


def _strips(trims: Trims, box: tuple[float, float, float, float]) -> Iterator[Points]:
    """Lines along both sides of all trims round a box, so near to one another that no words find room between them."""
    (wide, high), (x0, y0, x1, y1) = trims.step, box
    left, right = math.floor(x0 / wide) - 1, math.ceil(x1 / wide) + 1
    top, bottom = math.floor(y0 / high) - 1, math.ceil(y1 / high) + 1
    for off in np.linspace(-trims.inset, trims.inset, 7).tolist():
        for k in range(left, right + 1):
            yield np.array([k * wide + off + 1j * top * high, k * wide + off + 1j * bottom * high])
        for k in range(top, bottom + 1):
            yield np.array([left * wide + 1j * (k * high + off), right * wide + 1j * (k * high + off)])


def _lines(shown: Subject, paper: float) -> Iterator[Line]:
    """All lines of a panel in the file's axes: what is as it was is drawn once."""
    old, new, change = shown.before.pieces[shown.name], shown.piece, shown.change
    if change is not None:
        yield from (Line(one.curve, Kind.OLD) for one in lines_to_cut(old, paper) if one.kind is not Kind.INNER)
        for seam_end in _seam_ends(shown.after, change):
            yield from _laid(shown.after, new, *seam_end)
    yield from lines_to_cut(new, paper)
    yield from (Line(cut, Kind.SLASH) for cut in shown.cuts)


def _marks(shown: Subject) -> Iterator[tuple[complex, str]]:
    """What a person finds the way by on a print: the corners that have names, the fold, and which arrow is the grain."""
    new, change = shown.piece, shown.change
    told = {corner.name for corner in change.corners} if change is not None else set()
    yield from ((corner.at, corner.name) for corner in new.corners if corner.named and corner.name not in told)
    for grain in new.grainlines:
        yield (2 * grain.points[0] + grain.points[-1]) / 3, "grain"
    plan = shown.after.plans.get(new.name)
    for edge in new.edges:
        if plan is not None and edge.name == plan.fold:
            yield edge.point(edge.length / 2), "place on the fold"


def _begun(label: Label, paper: float, shrunk: float = 1.0) -> PictureWords:
    """A label, whose place is its middle, as words in mm of cloth."""
    at = label.at + 0.35j * label.size * shrunk
    return PictureWords(at / paper, label.text, Tone.INK, label.size > CORNER_TEXT, shrunk)


def _amounts(shown: Subject) -> Iterator[tuple[complex, str]]:
    """What changed, each where it is measured."""
    new, change = shown.piece, shown.change
    if change is None:
        return
    for corner in change.corners:
        parts = []
        if abs(corner.after - corner.before) > 0.05:
            parts.append(f"moved {amounts.length(abs(corner.after - corner.before))}")
        if abs(corner.angles[1] - corner.angles[0]) > 0.05:
            parts.append(f"{corner.angles[0]:.1f}° to {corner.angles[1]:.1f}°")
        if parts:
            yield corner.after, f"{corner.name} {', '.join(parts)}"
    for edge in change.edges:
        line = new.edge(edge.name)
        by = edge.lengths[1] - edge.lengths[0]
        parts = [f"{edge.lengths[1]:.1f} mm ({amounts.inches(edge.lengths[1])})"]
        if abs(by) > 0.05:
            parts.append(f"{amounts.length(abs(by))} {'longer' if by > 0 else 'shorter'}")
        yield line.point(line.length / 2), f"{edge.name} {', '.join(parts)}"
        if edge.stray.most > BESIDE and not shown.cuts:  # a part that was cut off goes as a whole and does not stray
            yield edge.stray.at, f"{edge.name} strays {amounts.length(edge.stray.most)}"
    for notch in change.notches:
        if notch.moved > NOTCH_MOVED:
            yield notch.at[1], f"notch moved {amounts.length(notch.moved)}"


def _seam_ends(state: State, change: TruedPiece) -> Iterator[tuple[Side, Side, int]]:
    """The ends of the seams that run along edges that were redrawn: this side, the mate's, and which end."""
    redrawn = {edge.name for edge in change.edges}
    for walk in state.walks:
        if walk.seam.twin:
            continue
        for side, mate in ((walk.seam.first, walk.seam.second), (walk.seam.second, walk.seam.first)):
            for end in (0, -1):
                use = side.uses[end]
                if use.piece == change.piece and use.edge in redrawn:
                    yield side, mate, end


def _laid(state: State, piece: Piece, side: Side, mate: Side, end: int) -> Iterator[Line]:
    """The outline of the mate round the end of a seam, laid on the piece along the seam."""
    here, direction, clockwise = _start(piece, side, end)
    other = state.pieces[mate.uses[end].piece]
    there, its, its_clockwise = _start(other, mate, end)
    move = Affine.translation(-there)
    if clockwise == its_clockwise:  # opened flat, the mate lies on the other side of the seam
        move = Affine(0j, its / np.conj(its), 0j) @ move
    move = Affine.translation(here) @ Affine(direction / its, 0j, 0j) @ move
    station, total = other.outline.nearest(there).station, other.outline.length
    reach = min(LAID, total / 4)
    around = other.outline.between((station - reach) % total, (station + reach) % total)
    yield Line(around.transformed(move), Kind.MATE)


def _start(piece: Piece, side: Side, end: int) -> tuple[complex, complex, bool]:
    """The corner at an end of a side, the direction of the seam from there, and whether that is clockwise."""
    use, edge = side.uses[end], side.edges[end]
    at_start = (end == 0) != use.backwards
    run = edge.runs[0] if at_start else edge.runs[-1].reversed()
    return run.start, run.tangent(0.0), edge.forward == at_start
