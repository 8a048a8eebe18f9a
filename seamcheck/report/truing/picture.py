"""The picture of a trued pattern, in mm of cloth: the old line light, the new one dark, the mate laid along the seam.

panel   one piece in one size that was drawn anew
laid    the part of a mate round the end of a seam, laid on the piece as it is when the seam is sewn and opened flat

Coordinates are mm, x to the right and y down, whatever axes the file has.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from seamcheck import amounts
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.model import Grainline, Piece
from seamcheck.pattern.seams import Side
from seamcheck.report.lettering import CORNER_TEXT, TITLE_TEXT, Label, Labels, helvetica_width, text_width
from seamcheck.truing.changes import NOTCH_MOVED, TruedPiece
from seamcheck.truing.state import State

GAP = 30.0  # mm of cloth between panels
WIDEST = 2400.0  # mm: what is wider begins a new row
LAID = 60.0  # mm of a mate that are laid on either side of the end of a seam
TICK = 6.0  # mm: how long a notch is drawn
HEAD = 12.0  # mm: the barbs of an arrow
BESIDE = 0.3  # mm: a line that leaves the old one by less has nothing written to it
GAPS = (0.8, 2.2, 4.0, 6.0, 9.0, 13.0, 18.0, 25.0)  # mm of paper from a place to what is written of it
STRONG = TITLE_TEXT / CORNER_TEXT
METRIC, IMPERIAL = 50.0, 50.8  # mm: the sides of the squares to check the printer by


class Ink(StrEnum):
    """What a line is."""

    OLD = "before"
    NEW = "after"
    MATE = "mate"
    FINE = "fine"  # leaders, squares


LEGEND = (
    (Ink.OLD, "as it was"),
    (Ink.NEW, "as trued"),
    (Ink.MATE, "the mate, as it lies along the seam"),
)


@dataclass(frozen=True, slots=True)
class PictureLine:
    """A line of the picture."""

    curve: Curve
    ink: Ink


@dataclass(frozen=True, slots=True)
class PictureWords:
    """Writing whose middle is at a place; `strong` is for the names of pieces, which are `STRONG` times as high."""

    at: complex
    text: str
    ink: Ink = Ink.NEW
    strong: bool = False


@dataclass(slots=True)
class Picture:
    """All lines and words, and the size of the whole in mm."""

    lines: list[PictureLine] = field(default_factory=list)
    words: list[PictureWords] = field(default_factory=list)
    width: float = 0.0
    height: float = 0.0


def picture(sizes: Sequence[tuple[State, State, Sequence[TruedPiece]]], *, squares: bool, text: float) -> Picture:
    """Every piece that was drawn anew, side by side; `text` is the height of writing in mm of cloth.

    With `squares` one of 50 mm and one of 2 in stand at the top left.
    """
    whole = Picture()
    x, y, row = GAP, GAP, 0.0
    if squares:
        whole.lines += [PictureLine(_square(complex(x, y), METRIC), Ink.FINE)]
        second = x + METRIC + GAP / 4
        whole.lines += [PictureLine(_square(complex(second, y), IMPERIAL), Ink.FINE)]
        whole.words.append(PictureWords(complex(x + METRIC / 2, y + METRIC / 2), "50 mm", Ink.FINE))
        whole.words.append(PictureWords(complex(second + IMPERIAL / 2, y + IMPERIAL / 2), "2 in", Ink.FINE))
        y += IMPERIAL + GAP
        whole.width = second + IMPERIAL + GAP
    for ink, what in LEGEND:
        end = complex(x + 6 * text, y)
        whole.lines.append(PictureLine(Curve.line(complex(x, y), end), ink))
        long = helvetica_width(what, text)
        whole.words.append(PictureWords(end + text + long / 2 + 0.35j * text, what, Ink.FINE))
        whole.width = max(whole.width, end.real + text + long + GAP)
        y += 1.6 * text
    y += GAP
    several = len(sizes) > 1
    for before, after, changes in sizes:
        for change in changes:
            panel = _panel(before, after, change, text, several=several)
            box = _box(panel, text)
            if x > GAP and x + box[2] - box[0] > WIDEST:
                x, y, row = GAP, y + row + GAP, 0.0
            move = Affine.translation(complex(x - box[0], y - box[1]))
            whole.lines += [PictureLine(line.curve.transformed(move), line.ink) for line in panel.lines]
            whole.words += [PictureWords(complex(move.apply(w.at)), w.text, w.ink, w.strong) for w in panel.words]
            x += box[2] - box[0] + GAP
            row = max(row, box[3] - box[1])
            whole.width = max(whole.width, x)
    whole.height = y + row + GAP
    return whole


def _square(at: complex, side: float) -> Curve:
    return Curve.polyline([at, at + side, at + side * (1 + 1j), at + side * 1j, at])


def _box(panel: Picture, text: float) -> tuple[float, float, float, float]:
    boxes = [line.curve.bounds() for line in panel.lines]
    for words in panel.words:
        size = text * (STRONG if words.strong else 1.0)
        half = text_width(words.text, size) / 2
        boxes.append((words.at.real - half, words.at.imag - size, words.at.real + half, words.at.imag + size / 3))
    array = np.array(boxes)
    return tuple(float(v) for v in (*array[:, :2].min(axis=0), *array[:, 2:].max(axis=0)))  # type: ignore[return-value]


def _panel(before: State, after: State, change: TruedPiece, text: float, *, several: bool) -> Picture:
    old, new = before.pieces[change.piece], after.pieces[change.piece]
    upright = Affine.identity() if new.y_down else Affine.scaling(1.0, -1.0)
    panel = Picture()
    panel.lines += [PictureLine(curve, Ink.OLD) for curve in _outlines(old)]
    panel.lines += [PictureLine(curve, Ink.OLD) for grain in old.grainlines for curve in _arrow(grain)]
    panel.lines += [PictureLine(curve, Ink.OLD) for curve in _ticks(old)]
    panel.lines += [line for seam_end in _seam_ends(after, change) for line in _laid(after, new, *seam_end)]
    panel.lines += [PictureLine(curve, Ink.NEW) for curve in _outlines(new)]
    panel.lines += [PictureLine(curve, Ink.NEW) for grain in new.grainlines for curve in _arrow(grain)]
    panel.lines += [PictureLine(curve, Ink.NEW) for curve in _ticks(new)]
    panel.lines = [PictureLine(line.curve.transformed(upright), line.ink) for line in panel.lines]
    paper = CORNER_TEXT / text  # names are laid out in mm of paper
    labels = Labels()
    for line in panel.lines:
        labels.avoid(line.curve.polygon(0.5) * paper)
    title = f"{change.piece} ({change.size})" if several else change.piece
    shape = new.outline.transformed(upright).polygon(0.5) * paper
    name, _ = labels.inside(shape, title, "", turns=(1 + 0j,))
    panel.words.append(_begun(name, paper, Ink.NEW))
    middle = sum(new.outline.transformed(upright).bounds()[::2]) / 2
    for place, words in _amounts(new, change):
        at = complex(upright.apply(place))
        outward = 1.0 if at.real >= middle else -1.0
        label = labels.led(at * paper, words, outward, GAPS)
        panel.words.append(_begun(label, paper, Ink.NEW))
        panel.lines.append(PictureLine(_leader(at, label, paper), Ink.FINE))
    return panel


def _begun(label: Label, paper: float, ink: Ink) -> PictureWords:
    """A label, whose place is its middle, as words in mm of cloth."""
    at = label.at + 0.35j * label.size
    return PictureWords(at / paper, label.text, ink, strong=label.size > CORNER_TEXT)


def _leader(at: complex, label: Label, paper: float) -> Curve:
    """A fine line from what words speak of to the nearest side of them."""
    half = helvetica_width(label.text, label.size) / 2 + 0.5, 0.7 * label.size
    off = at * paper - label.at
    near = complex(min(max(off.real, -half[0]), half[0]), min(max(off.imag, -half[1]), half[1]))
    return Curve.line(at, (label.at + near) / paper)


def _amounts(new: Piece, change: TruedPiece) -> Iterator[tuple[complex, str]]:
    """What changed, each where it is measured."""
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
        parts = [f"{edge.lengths[1]:.1f} mm"]
        if abs(by) > 0.05:
            parts.append(f"{amounts.length(abs(by))} {'longer' if by > 0 else 'shorter'}")
        yield line.point(line.length / 2), f"{edge.name} {', '.join(parts)}"
        if edge.stray.most > BESIDE:
            yield edge.stray.at, f"{edge.name} strays {amounts.millimetres(edge.stray.most)}"
    for notch in change.notches:
        if notch.moved > NOTCH_MOVED:
            yield notch.at[1], f"notch moved {amounts.length(notch.moved)}"


def _outlines(piece: Piece) -> tuple[Curve, ...]:
    """The line that is sewn and, where the file draws another one round it, that."""
    return (piece.outline,) if piece.drawn is piece.outline else (piece.outline, piece.drawn)


def _ticks(piece: Piece) -> Iterator[Curve]:
    """Notches, square into the piece."""
    for edge in piece.edges:
        for notch in edge.notches:
            near = piece.outline.nearest(notch.at)
            across = piece.outline.tangent(near.station) * (1j if piece.y_down else -1j)
            for shift in np.linspace(-2.5, 2.5, notch.count) if notch.count > 1 else (0.0,):
                along = near.point + piece.outline.tangent(near.station) * float(shift)
                yield Curve.line(along, along + across * TICK)


def _arrow(grain: Grainline) -> Iterator[Curve]:
    yield Curve.polyline(grain.points)
    back = grain.points[-2] - grain.points[-1]
    if abs(back):
        barb = back / abs(back) * HEAD
        tip = grain.points[-1]
        yield Curve.polyline([tip + barb * np.exp(0.35j), tip, tip + barb * np.exp(-0.35j)])


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


def _laid(state: State, piece: Piece, side: Side, mate: Side, end: int) -> Iterator[PictureLine]:
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
    yield PictureLine(around.transformed(move), Ink.MATE)


def _start(piece: Piece, side: Side, end: int) -> tuple[complex, complex, bool]:
    """The corner at an end of a side, the direction of the seam from there, and whether that is clockwise."""
    use, edge = side.uses[end], side.edges[end]
    at_start = (end == 0) != use.backwards
    run = edge.runs[0] if at_start else edge.runs[-1].reversed()
    return run.start, run.tangent(0.0), edge.forward == at_start
