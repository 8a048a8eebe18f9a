"""The sheets of a print, which are cut along their trims and joined edge to edge.

block  a piece on sheets of its own, or several small ones that share sheets
tile   one sheet; A1 is the first of the first row
trim   the dotted line round a tile, that neighbours share
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from seamcheck.errors import SeamcheckError
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.report.figures.drawn import Line
from seamcheck.report.figures.looks import Kind, Tone
from seamcheck.report.lettering import Labels, dense
from seamcheck.report.truing.pages import MARGIN, PAPERS, Page, PageWords, Window, fitted
from seamcheck.report.truing.picture import (
    STRONG,
    Picture,
    Subject,
    Trims,
    block,
    upright,
)
from seamcheck.report.truing.widths import width_of

OVERLAP = 10.0  # mm that neighbouring tiles share: half of it on either side of the trim
INSET = 8.0  # mm that words stay away from a trim; tiles have their own names there
CROSS = 4.0  # mm: half of a registration mark
LOZENGE = 3.0  # mm: half of the mark in the middle of a joint
WIDEST = 12  # columns of tiles; what is wider stands in rows of its own
MOST_TILES = 300
NAME, JOINT, FOOT = 9.0, 2.8, 2.8  # mm: heights of the letters

Cell = tuple[int, int]  # row and column


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet: its row and column among all sheets, the same among those of its block, and which block that is."""

    row: int
    column: int
    within: Cell
    block: int

    @property
    def name(self) -> str:
        """ "A1" is the first tile of the first row."""
        return cell_name(self.row, self.column)


@dataclass(frozen=True, slots=True)
class Block:
    """Pieces that share sheets: all that is drawn, in mm of paper from the first trims, and the row and column of the first sheet."""

    subjects: tuple[Subject, ...]
    drawn: Picture
    row: int
    column: int


@dataclass(frozen=True, slots=True)
class Print:
    """All sheets of a print; those on which nothing is drawn are left out."""

    blocks: tuple[Block, ...]
    tiles: tuple[Tile, ...]
    paper: str

    @property
    def step(self) -> tuple[float, float]:
        """The width and height between trims, in mm."""
        return step_of(self.paper)


def cell_name(row: int, column: int) -> str:
    """A row as letters and a column as a number."""
    letters, number = "", row
    while True:
        letters = chr(ord("A") + number % 26) + letters
        number = number // 26 - 1
        if number < 0:
            return f"{letters}{column + 1}"


def step_of(paper: str) -> tuple[float, float]:
    """The width and height between the trims of a paper, in mm."""
    width, height = PAPERS[paper]
    return width - 2 * MARGIN - OVERLAP, height - 2 * MARGIN - OVERLAP


def lay(subjects: Sequence[Subject], scale: float, text: float, paper: str, path: str) -> Print:
    """Lay pieces on sheets; SeamcheckError where that takes more than `MOST_TILES`. `text` is the height of writing in mm of cloth."""
    step = step_of(paper)
    trims = Trims(
        (step[0] / scale, step[1] / scale),
        INSET / scale,
        lambda words, strong: width_of(words, strong) * text * (STRONG if strong else 1.0),
    )
    shared = list(_shared(subjects, trims, text))
    least = sum(columns * rows for _, columns, rows in shared)
    if least > MOST_TILES:
        raise SeamcheckError(
            f"the print would take about {least} sheets of {paper}, and {MOST_TILES} are the most",
            path=path,
            remedy="print one size with --size, only what changed with --print changed, or smaller with --scale",
        )
    taken: set[Cell] = set()
    blocks, tiles = [], []
    for number, (placed, columns, rows) in enumerate(shared):
        drawn = _scaled(block(placed, text, replace(trims, columns=columns, rows=rows)), scale)
        row, column = _free(taken, rows, columns)
        taken |= {(row + r, column + c) for r in range(rows) for c in range(columns)}
        blocks.append(Block(tuple(one for one, _ in placed), drawn, row, column))
        used = sorted(_cells(drawn, step) & {(r, c) for r in range(rows) for c in range(columns)})
        tiles += [Tile(row + r, column + c, (r, c), number) for r, c in used]
    return Print(tuple(blocks), tuple(tiles), paper)


def _shared(
    subjects: Sequence[Subject], trims: Trims, text: float
) -> Iterator[tuple[list[tuple[Subject, complex]], int, int]]:
    """Pieces that share sheets, each with its top left, and how many columns and rows they take.

    Pieces of one row of sheets lie below one another where there is room; every other has sheets of its own.
    """
    stacks: list[tuple[list[tuple[Subject, float, float]], int, int]] = []
    for one in subjects:
        x0, y0, x1, y1 = upright(one, text)[0].box
        wide, high = x1 - x0, y1 - y0
        columns, rows = trims.count(wide, high)
        for placed, its_columns, its_rows in stacks:
            full = sum(h + 2 * trims.inset for _, _, h in placed)
            if rows == its_rows == 1 and columns == its_columns and full + high + 2 * trims.inset <= trims.step[1]:
                placed.append((one, wide, high))
                break
        else:
            stacks.append(([(one, wide, high)], columns, rows))
    for placed, columns, rows in stacks:
        room = rows * trims.step[1] - sum(high for _, _, high in placed)
        gap, y = room / (len(placed) + 1), 0.0
        laid = []
        for one, wide, high in placed:
            y += gap
            laid.append((one, complex((columns * trims.step[0] - wide) / 2, y)))
            y += high
        yield laid, columns, rows


def _free(taken: set[Cell], rows: int, columns: int) -> Cell:
    """The first place in reading order where so many rows and columns are free."""
    row = 0
    while True:
        for column in range(max(WIDEST - columns, 0) + 1):
            if not any((row + r, column + c) in taken for r in range(rows) for c in range(columns)):
                return row, column
        row += 1


def _scaled(drawn: Picture, scale: float) -> Picture:
    by = Affine.scaling(scale, scale)
    return Picture(
        [line.transformed(by) for line in drawn.lines],
        [replace(words, at=words.at * scale) for words in drawn.words],
        drawn.width * scale,
        drawn.height * scale,
    )


def _cells(drawn: Picture, step: tuple[float, float]) -> set[Cell]:
    """The sheets on which something is drawn or written."""
    points = np.concatenate(
        [*(dense(line.curve.polygon(0.5)) for line in drawn.lines), np.array([words.at for words in drawn.words])]
    )
    rows, columns = np.floor(points.imag / step[1]), np.floor(points.real / step[0])
    return {(int(r), int(c)) for r, c in zip(rows, columns, strict=True)}


def tile_pages(made: Print, text: float, title: str, first: int, total: int) -> Iterator[Page]:
    """A page for each tile; `text` is the height of writing in mm of paper, `first` the number of the first page of all."""
    there = {(tile.block, tile.within) for tile in made.tiles}
    for number, tile in enumerate(made.tiles, first):
        names = ", ".join(one.title for one in made.blocks[tile.block].subjects)
        yield _page(made, tile, there, text, f"{tile.name}, page {number} of {total}: {title}, {names}")


def _page(made: Print, tile: Tile, there: set[tuple[int, Cell]], text: float, foot: str) -> Page:
    paper, step, drawn = PAPERS[made.paper], made.step, made.blocks[tile.block].drawn
    near = MARGIN + OVERLAP / 2
    page = Page(window=Window(complex(MARGIN, MARGIN), complex(paper[0] - MARGIN, paper[1] - MARGIN)))
    row, column = tile.within
    move = Affine.translation(complex(near - column * step[0], near - row * step[1]))
    box = (column * step[0] - near, row * step[1] - near, (column + 1) * step[0] + near, (row + 1) * step[1] + near)
    labels = Labels()
    for line in drawn.lines:
        a, b, c, d = line.curve.bounds()
        if a <= box[2] and c >= box[0] and b <= box[3] and d >= box[1]:
            there_line = line.curve.transformed(move)
            page.drawing.append(Line(there_line, line.kind))
            labels.avoid(there_line.polygon(0.5))
    for words in drawn.words:
        if (int(words.at.imag // step[1]), int(words.at.real // step[0])) == tile.within:
            size = text * (STRONG if words.strong else 1.0) * words.shrunk
            one = PageWords(complex(move.apply(words.at)), words.text, size, words.strong, tone=words.tone)
            page.words.append(one)
            labels.avoid_box(one.at - 0.35j * size, one.width, size)
    corner, far = complex(near, near), complex(near + step[0], near + step[1])
    _frame(page, corner, far)
    for side, name in _joints(tile, there).items():
        _joint(page, labels, corner, far, side, name)
    wide = width_of(tile.name, True) * NAME
    spots = [
        (complex(x, y), 1 + 0j)
        for y in (near + INSET + NAME / 2, far.imag - INSET - NAME / 2, (corner + far).imag / 2)
        for x in (near + INSET + wide / 2, far.real - INSET - wide / 2, (corner + far).real / 2)
    ]
    at, _ = labels.first_free(spots, wide, NAME)
    page.words.append(PageWords(at + 0.35j * NAME, tile.name, NAME, bold=True, tone=Tone.FAINT))
    page.words.append(
        PageWords(
            complex(MARGIN, paper[1] - MARGIN + 4),
            fitted(foot, paper[0] - 2 * MARGIN, FOOT),
            FOOT,
            left=True,
            tone=Tone.FAINT,
        )
    )
    return page


def _frame(page: Page, least: complex, most: complex) -> None:
    """The trim, and the registration marks at its corners that neighbouring tiles share."""
    for x in (least.real, most.real):
        for y in (least.imag, most.imag):
            at = complex(x, y)
            page.lines.append(Line(Curve.line(at - CROSS, at + CROSS), Kind.FINE))
            page.lines.append(Line(Curve.line(at - 1j * CROSS, at + 1j * CROSS), Kind.FINE))
    corners = [least, complex(most.real, least.imag), most, complex(least.real, most.imag)]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        page.lines.append(Line(Curve.line(a, b), Kind.TRIM))


SIDES = {"left": (0, -1), "right": (0, 1), "top": (-1, 0), "bottom": (1, 0)}


def _joints(tile: Tile, there: set[tuple[int, Cell]]) -> dict[str, str]:
    """The neighbour on each side; "" where the piece has none."""
    row, column = tile.within
    return {
        side: cell_name(tile.row + down, tile.column + on) if (tile.block, (row + down, column + on)) in there else ""
        for side, (down, on) in SIDES.items()
    }


def _joint(page: Page, labels: Labels, least: complex, most: complex, side: str, name: str) -> None:
    """What is written along one side of a tile, and the mark over the middle of the trim that the neighbour has too."""
    middle = (least + most) / 2
    at, along, inward, turn = {
        "left": (complex(least.real, middle.imag), 1j, 1 + 0j, 90.0),
        "right": (complex(most.real, middle.imag), 1j, -1 + 0j, 90.0),
        "top": (complex(middle.real, least.imag), 1 + 0j, 1j, 0.0),
        "bottom": (complex(middle.real, most.imag), 1 + 0j, -1j, 0.0),
    }[side]
    told = f"join {name} here" if name else "nothing joins here"
    if name:
        ring = [at + along * LOZENGE, at + inward * LOZENGE, at - along * LOZENGE, at - inward * LOZENGE]
        page.lines.append(Line(Curve.polyline([*ring, ring[0]]), Kind.FINE))
        labels.avoid_box(at, 2 * LOZENGE, 2 * LOZENGE)
    wide = width_of(told) * JOINT
    long = abs(((most - least) / along).real if along == 1 else (most - least).imag)
    off = inward * (0.8 + JOINT / 2)
    direction = 1 + 0j if along == 1 else -1j
    reach = long / 2 - wide / 2 - CROSS - 1
    shares = (0.3, -0.3, 0.5, -0.5, 0.7, -0.7, 0.15, -0.15, 0.9, -0.9)
    spots = [(at + along * share * reach + off, direction) for share in shares]
    place, _ = labels.first_free(spots, wide, JOINT)
    base = place + (0.35j * JOINT if along == 1 else 0.35 * JOINT)
    page.words.append(PageWords(base, told, JOINT, turn=turn, tone=Tone.FAINT))
