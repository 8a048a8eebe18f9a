"""The pages of a print as a PDF.

Written by reportlab (BSD, 4.9 MB, and 20 MB of Pillow that it asks for), which writes curves as they are, coordinates to
0.00001 points, fonts as far as they are used, and the same bytes each time. fpdf2 (LGPL, asks for Pillow too) was tried: it knows
more kinds of fonts, but takes five times as long to start, and a text in two fonts of two directions lost letters. Names that the shipped font has are written in it and can be
searched for; a name with any other letter is drawn as outlines (`shaping.py`), so that nothing hangs on what fonts a viewer has.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from seamcheck.exact import steady
from seamcheck.report.figures.looks import LOOKS, Tone, colour
from seamcheck.report.truing.fonts import Fonts, fonts_for, shipped
from seamcheck.report.truing.pages import PAPERS, Page, PageWords
from seamcheck.report.truing.shaping import is_plain, outline

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from seamcheck.geometry.curve import Curve
    from seamcheck.report.figures.drawn import Line

POINT = 72 / 25.4  # per mm

_FONTS = {"Regular": "seamcheck-regular", "Bold": "seamcheck-bold"}  # as they are known to the library
_NONZERO = 1  # how shapes are filled, in the library's numbers


def pdf(pages: Sequence[Page], paper: str, title: str) -> tuple[bytes, str]:
    """The pages on a paper ("a4" or "letter"), and letters that are in no font."""
    from reportlab.pdfgen.canvas import Canvas

    width, height = PAPERS[paper]
    fonts = fonts_for([title, *(words.text for page in pages for words in page.words)])
    _register()
    file = io.BytesIO()
    size = width * POINT, height * POINT
    canvas = Canvas(file, pagesize=size, invariant=1, pageCompression=1, initialFontName=_FONTS["Regular"])
    canvas.setTitle(title)
    canvas.setAuthor("")
    canvas.setCreator("seamcheck")
    canvas.setSubject("")
    for page in pages:
        _Drawn(canvas, fonts, height).draw(page)
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


@dataclass(frozen=True, slots=True)
class _Drawn:
    """One page; all that is written to the canvas is in points, y up."""

    canvas: Canvas
    fonts: Fonts
    height: float

    def draw(self, page: Page) -> None:
        """All of a page."""
        canvas = self.canvas
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        if page.window is not None:
            canvas.saveState()
            clip = canvas.beginPath()
            x0, y1 = self._on_paper(page.window.least)
            x1, y0 = self._on_paper(page.window.most)
            clip.rect(x0, y0, x1 - x0, y1 - y0)
            canvas.clipPath(clip, stroke=0, fill=0)
            self._lines(page.drawing)
            canvas.restoreState()
        self._lines(page.lines)
        for words in page.words:
            self._words(words)

    def _lines(self, lines: Sequence[Line]) -> None:
        for kind, (thick, dash, tone) in LOOKS.items():
            mine = [line for line in lines if line.kind is kind]
            if mine:
                self.canvas.setStrokeColorRGB(*_rgb(tone))
                self.canvas.setLineWidth(round(thick * POINT, 4))
                self.canvas.setDash([round(part * POINT, 4) for part in dash])
            for line in mine:
                self.canvas.drawPath(self._path(line.curve))

    def _on_paper(self, at: complex) -> tuple[float, float]:
        return round(steady(at.real * POINT), 4) + 0.0, round(steady((self.height - at.imag) * POINT), 4) + 0.0

    def _path(self, curve: Curve) -> Any:
        path = self.canvas.beginPath()
        rows = curve.segments
        path.moveTo(*self._on_paper(complex(rows[0, 0])))
        for row in rows:
            path.curveTo(*(v for point in row[1:] for v in self._on_paper(complex(point))))
        return path

    def _words(self, words: PageWords) -> None:
        self.canvas.setFillColorRGB(*_rgb(words.tone))
        at, size = self._on_paper(words.at), words.size * POINT
        if not words.turn:
            self._write(words.text, size, at, bold=words.bold, centred=not words.left)
            return
        self.canvas.saveState()
        self.canvas.translate(*at)
        self.canvas.rotate(words.turn)
        self._write(words.text, size, (0.0, 0.0), bold=words.bold, centred=not words.left)
        self.canvas.restoreState()

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


def _rgb(tone: Tone) -> tuple[float, float, float]:
    red, green, blue = (round(int(colour(tone)[k : k + 2], 16) / 255, 3) for k in (1, 3, 5))
    return red, green, blue
