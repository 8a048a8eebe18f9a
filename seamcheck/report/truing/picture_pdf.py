"""The picture of a trued pattern as a PDF of tiles for a home printer, to be laid edge to edge.

Written by reportlab (BSD, 4.9 MB, and 20 MB of Pillow that it asks for), which writes curves as they are, coordinates to
0.00001 points, fonts as far as they are used, and the same bytes each time. fpdf2 (LGPL, asks for Pillow too) was tried: it knows
more kinds of fonts, but takes five times as long to start, and a text in two fonts of two directions lost letters. Names that the shipped font has are written in it and can be
searched for; a name with any other letter is drawn as outlines (`shaping.py`), so that nothing hangs on what fonts a viewer has.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from seamcheck.exact import steady
from seamcheck.report.truing.fonts import Fonts, fonts_for, shipped
from seamcheck.report.truing.picture import STRONG, Ink, Picture, PictureWords
from seamcheck.report.truing.shaping import is_plain, outline

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from seamcheck.geometry.curve import Curve

POINT = 72 / 25.4  # per mm
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN = 12.7  # mm that printers leave white
OVERLAP = 10.0  # mm that neighbouring tiles share
CROSS = 4.0  # mm: half of a registration mark

_FONTS = {"Regular": "seamcheck-regular", "Bold": "seamcheck-bold"}  # as they are known to the library
_NONZERO = 1  # how shapes are filled, in the library's numbers

# Grey or colour, width in mm, dashes in mm.
INKS = {
    Ink.OLD: ((0.6, 0.63, 0.65), 0.35, ()),
    Ink.NEW: ((0.07, 0.07, 0.07), 0.5, ()),
    Ink.MATE: ((0.69, 0.32, 0.12), 0.35, (3.0, 1.5)),
    Ink.FINE: ((0.33, 0.38, 0.42), 0.18, ()),
}


@dataclass(frozen=True, slots=True)
class Tile:
    """One page: its row and column, and the top left of its window in mm on paper."""

    row: int
    column: int
    x: float
    y: float

    @property
    def name(self) -> str:
        """ "A1" is the first tile of the first row."""
        letters, number = "", self.row
        while True:
            letters = chr(ord("A") + number % 26) + letters
            number = number // 26 - 1
            if number < 0:
                return f"{letters}{self.column + 1}"


def pdf(picture: Picture, scale: float, text: float, paper: str, title: str) -> tuple[bytes, str]:
    """The picture in tiles of a paper ("a4" or "letter"), `scale` mm on paper for a mm of cloth, and letters that are in no font.

    Tiles on which nothing is drawn are left out. `text` is the height of writing in mm of cloth.
    """
    from reportlab.pdfgen.canvas import Canvas

    width, height = PAPERS[paper]
    window = width - 2 * MARGIN, height - 2 * MARGIN
    tiles = _tiles(picture, scale, window)
    fonts = fonts_for([title, *(words.text for words in picture.words)])
    _register()
    file = io.BytesIO()
    size = width * POINT, height * POINT
    canvas = Canvas(file, pagesize=size, invariant=1, pageCompression=1, initialFontName=_FONTS["Regular"])
    canvas.setTitle(title)
    canvas.setAuthor("")
    canvas.setCreator("seamcheck")
    canvas.setSubject("")
    boxes = [line.curve.bounds() for line in picture.lines]
    for number, tile in enumerate(tiles, 1):
        page = _Page(canvas, picture, fonts, scale, text, tile, (width, height), window)
        page.draw(boxes, f"{title}, {tile.name}, {number} of {len(tiles)}")
        canvas.showPage()
    canvas.save()
    return _undated(file.getvalue()), fonts.boxes


def _register() -> None:
    from reportlab.pdfbase.pdfmetrics import getRegisteredFontNames, registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    for style, name in _FONTS.items():
        if name not in getRegisteredFontNames():
            registerFont(TTFont(name, str(shipped(style).path)))


def _undated(data: bytes) -> bytes:
    """The file without its dates, which would be made up: blanks instead, so that every place in it stays."""
    return re.sub(rb"/(?:Creation|Mod)Date \(D:[^)]*\)", lambda found: b" " * len(found[0]), data)


def _tiles(picture: Picture, scale: float, window: tuple[float, float]) -> list[Tile]:
    step = window[0] - OVERLAP, window[1] - OVERLAP
    columns = max(1, math.ceil((picture.width * scale - OVERLAP) / step[0]))
    rows = max(1, math.ceil((picture.height * scale - OVERLAP) / step[1]))
    every = [Tile(r, c, c * step[0], r * step[1]) for r in range(rows) for c in range(columns)]
    return [tile for tile in every if _shows(picture, scale, tile, window)] or every[:1]


def _shows(picture: Picture, scale: float, tile: Tile, window: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = (v / scale for v in (tile.x, tile.y, tile.x + window[0], tile.y + window[1]))
    if any(x0 <= w.at.real <= x1 and y0 <= w.at.imag <= y1 for w in picture.words):
        return True
    for line in picture.lines:
        a, b, c, d = line.curve.bounds()
        if a <= x1 and c >= x0 and b <= y1 and d >= y0:
            points = line.curve.polygon(5.0)
            fine = [p + (q - p) * k / 16 for p, q in pairwise(points) for k in range(17)]
            if any(x0 <= p.real <= x1 and y0 <= p.imag <= y1 for p in fine):
                return True
    return False


@dataclass(frozen=True, slots=True)
class _Page:
    """One tile; all that is written to the canvas is in points, y up."""

    canvas: Canvas
    picture: Picture
    fonts: Fonts
    scale: float
    text: float
    tile: Tile
    paper: tuple[float, float]
    window: tuple[float, float]

    def draw(self, boxes: Sequence[tuple[float, float, float, float]], foot: str) -> None:
        """All of the picture that shows here; `boxes` are those of its lines."""
        canvas, (wide, high) = self.canvas, self.window
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        canvas.saveState()
        clip = canvas.beginPath()
        clip.rect(*self._on_paper(MARGIN, MARGIN + high), wide * POINT, high * POINT)
        canvas.clipPath(clip, stroke=0, fill=0)
        x0, y0 = self.tile.x / self.scale, self.tile.y / self.scale
        x1, y1 = x0 + wide / self.scale, y0 + high / self.scale
        beside = _reach(self.picture, self.text)
        for ink in Ink:
            self._ink(ink)
            for line, (a, b, c, d) in zip(self.picture.lines, boxes, strict=True):
                if line.ink is ink and a <= x1 and c >= x0 and b <= y1 and d >= y0:
                    canvas.drawPath(self._path(line.curve))
        for words in self.picture.words:
            if x0 - beside <= words.at.real <= x1 + beside and y0 - beside <= words.at.imag <= y1 + beside:
                self._words(words)
        canvas.restoreState()
        self._frame()
        canvas.setFillColorRGB(0, 0, 0)
        self._write(foot, 8.0, self._on_paper(MARGIN, self.paper[1] - MARGIN + 4))

    def _at(self, point: complex) -> tuple[float, float]:
        return self._on_paper(
            point.real * self.scale - self.tile.x + MARGIN, point.imag * self.scale - self.tile.y + MARGIN
        )

    def _on_paper(self, x: float, y: float) -> tuple[float, float]:
        return round(steady(x * POINT), 4) + 0.0, round(steady((self.paper[1] - y) * POINT), 4) + 0.0

    def _ink(self, ink: Ink) -> None:
        colour, thick, dash = INKS[ink]
        self.canvas.setStrokeColorRGB(*colour)
        self.canvas.setLineWidth(round(thick * POINT, 4))
        self.canvas.setDash([round(part * POINT, 4) for part in dash])

    def _path(self, curve: Curve) -> Any:
        path = self.canvas.beginPath()
        rows = curve.segments
        path.moveTo(*self._at(complex(rows[0, 0])))
        for row in rows:
            path.curveTo(*self._at(complex(row[1])), *self._at(complex(row[2])), *self._at(complex(row[3])))
        return path

    def _words(self, words: PictureWords) -> None:
        self.canvas.setFillColorRGB(*INKS[words.ink][0])
        size = self.text * self.scale * POINT * (STRONG if words.strong else 1.0)
        self._write(words.text, size, self._at(words.at), bold=words.strong, centred=True)

    def _write(
        self, text: str, size: float, at: tuple[float, float], *, bold: bool = False, centred: bool = False
    ) -> None:
        """Write a line with its base line at a place, which is its left end or its middle."""
        style, (x, y) = "Bold" if bold else "Regular", at
        told, own = self.fonts.printed(text), shipped(style).letters
        if is_plain(told) and all(ord(letter) in own for letter in told):
            self.canvas.setFont(_FONTS[style], round(size, 4))
            (self.canvas.drawCentredString if centred else self.canvas.drawString)(x, y, told)
            return
        drawn = outline(told, self.fonts.faces(bold=bold))
        left = x - drawn.width * size / 2 if centred else x
        path = self.canvas.beginPath()
        draw = {"M": path.moveTo, "L": path.lineTo, "C": path.curveTo, "Z": path.close}
        for kind, points in drawn.parts:
            draw[kind](*(round(steady(v), 4) + 0.0 for px, py in points for v in (left + px * size, y + py * size)))
        self.canvas.drawPath(path, stroke=0, fill=1, fillMode=_NONZERO)

    def _frame(self) -> None:
        """The registration marks that neighbouring tiles share, and the line to cut along between them."""
        self._ink(Ink.FINE)
        half = OVERLAP / 2
        left, right = MARGIN + half, MARGIN + self.window[0] - half
        top, bottom = MARGIN + half, MARGIN + self.window[1] - half
        for x in (left, right):
            for y in (top, bottom):
                self.canvas.line(*self._on_paper(x - CROSS, y), *self._on_paper(x + CROSS, y))
                self.canvas.line(*self._on_paper(x, y - CROSS), *self._on_paper(x, y + CROSS))
        self.canvas.setDash([1, 3])
        (x0, y0), (x1, y1) = self._on_paper(left, bottom), self._on_paper(right, top)
        self.canvas.rect(x0, y0, x1 - x0, y1 - y0)


def _reach(picture: Picture, text: float) -> float:
    """How far the longest words can reach to either side, in mm of cloth."""
    return max((STRONG * text * len(words.text) for words in picture.words), default=0.0)
