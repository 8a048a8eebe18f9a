"""The picture of a trued pattern as a PDF of tiles for a home printer, to be laid edge to edge.

Written by hand (ISO 32000-1: pages, paths of cubic Bezier curves, the standard font Helvetica), since so little of the
format is needed: curves stay exact and no library has to be there.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from seamcheck.exact import steady
from seamcheck.report.lettering import helvetica_width
from seamcheck.report.truing.picture import STRONG, Ink, Picture, PictureLine, PictureWords

POINT = 72 / 25.4  # per mm
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN = 12.7  # mm that printers leave white
OVERLAP = 10.0  # mm that neighbouring tiles share
CROSS = 4.0  # mm: half of a registration mark

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


def pdf(picture: Picture, scale: float, text: float, paper: str, title: str) -> bytes:
    """The picture in tiles of a paper ("a4" or "letter"), `scale` mm on paper for a mm of cloth.

    Tiles on which nothing is drawn are left out. `text` is the height of writing in mm of cloth.
    """
    width, height = PAPERS[paper]
    window = width - 2 * MARGIN, height - 2 * MARGIN
    tiles = _tiles(picture, scale, window)
    pages = [_page(picture, scale, text, tile, (width, height), window, f"{title}, {tile.name}, {k} of {len(tiles)}")
             for k, tile in enumerate(tiles, 1)]  # fmt: skip
    return _document(pages, (width, height), title)


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


def _page(
    picture: Picture,
    scale: float,
    text: float,
    tile: Tile,
    paper: tuple[float, float],
    window: tuple[float, float],
    foot: str,
) -> bytes:
    """The content of one page. All coordinates in it are points, y up."""

    def at(point: complex) -> str:
        x = (point.real * scale - tile.x + MARGIN) * POINT
        y = (paper[1] - (point.imag * scale - tile.y + MARGIN)) * POINT
        return f"{steady(x):.3f} {steady(y):.3f}"

    def on_paper(x: float, y: float) -> str:
        return f"{steady(x * POINT):.3f} {steady((paper[1] - y) * POINT):.3f}"

    parts = ["1 J 1 j", "q"]
    left, top = MARGIN * POINT, (paper[1] - MARGIN - window[1]) * POINT
    parts.append(f"{left:.3f} {top:.3f} {window[0] * POINT:.3f} {window[1] * POINT:.3f} re W n")
    for ink in Ink:
        parts += [_ink(ink), *(_path(line, at) for line in picture.lines if line.ink is ink)]
    parts += [_words(words, text * scale, scale, at) for words in picture.words]
    parts.append("Q")
    parts.append(_ink(Ink.FINE))
    half = OVERLAP / 2
    for x in (MARGIN + half, MARGIN + window[0] - half):
        for y in (MARGIN + half, MARGIN + window[1] - half):
            parts.append(f"{on_paper(x - CROSS, y)} m {on_paper(x + CROSS, y)} l S")
            parts.append(f"{on_paper(x, y - CROSS)} m {on_paper(x, y + CROSS)} l S")
    a, b = MARGIN + half, MARGIN + half
    c, d = MARGIN + window[0] - half, MARGIN + window[1] - half
    parts.append("[1 3] 0 d")
    parts.append(f"{on_paper(a, b)} m {on_paper(c, b)} l {on_paper(c, d)} l {on_paper(a, d)} l h S")
    parts.append(f"BT /F1 8 Tf 0 g {on_paper(MARGIN, paper[1] - MARGIN + 4)} Td ({_escaped(foot)}) Tj ET")
    return "\n".join(parts).encode("cp1252", "replace")


def _ink(ink: Ink) -> str:
    (red, green, blue), thick, dash = INKS[ink]
    dashes = " ".join(f"{part * POINT:.3f}" for part in dash)
    return f"{red} {green} {blue} RG {thick * POINT:.3f} w [{dashes}] 0 d"


def _path(line: PictureLine, place: Callable[[complex], str]) -> str:
    rows = line.curve.segments
    parts = [f"{place(complex(rows[0, 0]))} m"]
    parts += [f"{place(complex(r[1]))} {place(complex(r[2]))} {place(complex(r[3]))} c" for r in rows]
    return " ".join([*parts, "S"])


def _words(words: PictureWords, height: float, scale: float, at: Callable[[complex], str]) -> str:
    red, green, blue = INKS[words.ink][0]
    size = height * POINT * (STRONG if words.strong else 1.0)
    font = "F2" if words.strong else "F1"
    begin = words.at - helvetica_width(words.text, size / POINT / scale) / 2
    return f"BT {red} {green} {blue} rg /{font} {size:.3f} Tf {at(begin)} Td ({_escaped(words.text)}) Tj ET"


def _escaped(text: str) -> str:
    return text.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")


def _document(pages: Sequence[bytes], paper: tuple[float, float], title: str) -> bytes:
    """The objects of the file, numbered from 1, with their table of places."""
    objects: list[bytes] = []
    first = 6
    kids = " ".join(f"{first + 2 * k} 0 R" for k in range(len(pages)))
    box = f"0 0 {paper[0] * POINT:.3f} {paper[1] * POINT:.3f}"
    objects.append(b"<< /Type /Catalog /Pages 2 0 R >>")
    objects.append(f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} /MediaBox [{box}] >>".encode())
    objects += [
        f"<< /Type /Font /Subtype /Type1 /BaseFont /{font} /Encoding /WinAnsiEncoding >>".encode()
        for font in ("Helvetica", "Helvetica-Bold")
    ]
    objects.append(f"<< /Title ({_escaped(title)}) >>".encode("cp1252", "replace"))
    for k, content in enumerate(pages):
        fonts = "/Resources << /Font << /F1 3 0 R /F2 4 0 R >> >>"
        objects.append(f"<< /Type /Page /Parent 2 0 R {fonts} /Contents {first + 2 * k + 1} 0 R >>".encode())
        packed = zlib.compress(content, 9)
        head = f"<< /Length {len(packed)} /Filter /FlateDecode >>\nstream\n".encode()
        objects.append(head + packed + b"\nendstream")
    return b"".join(_file(objects))


def _file(objects: Sequence[bytes]) -> Iterator[bytes]:
    begin = b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n"
    yield begin
    at, places = len(begin), []
    for number, body in enumerate(objects, 1):
        part = f"{number} 0 obj\n".encode() + body + b"\nendobj\n"
        places.append(at)
        at += len(part)
        yield part
    yield f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n".encode()
    for place in places:
        yield f"{place:010d} 00000 n \n".encode()
    yield f"trailer\n<< /Size {len(objects) + 1} /Root 1 0 R /Info 5 0 R >>\nstartxref\n{at}\n%%EOF\n".encode()
