"""The file of a pattern of which one side alone is altered: the altered pieces in place, the other sides of them beside the sheet."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator, Sequence
from html import escape

from seamcheck.altering.one_side import OTHER, OtherSide, amid
from seamcheck.altering.run import AlteredFile
from seamcheck.errors import SeamcheckError
from seamcheck.geometry.curve import Affine
from seamcheck.pattern.drawing import LineMark
from seamcheck.reading.svg.tree import GZIP
from seamcheck.truing.dxf_pairs import Pairs, number
from seamcheck.truing.write_dxf import Handles
from seamcheck.truing.write_svg import path_data, svg_number

LETTER = 8.0  # mm
ASIDE = 10.0  # mm from the middle of a piece, where an arrow may stand
STROKE = 0.5  # mm
PROBE = "seamcheck-probe"
MARGIN = 0.02  # of the width of a sheet
_ROOT = re.compile(rb"<(?:[\w.-]+:)?svg\b[^>]*>")
_BOX = re.compile(rb"(\sviewBox\s*=\s*[\"'])([-+.\d]+)([\s,]+[-+.\d]+[\s,]+)([.\d]+)([\s,]+[.\d]+[\"'])")
_WIDTH = re.compile(rb"(\swidth\s*=\s*[\"'])([.\d]+)((?:mm|cm|in|pt|px|pc|q)?[\"'])", re.IGNORECASE)
NOTES = "notes"  # a layer on which writing names no piece


def with_sides_svg(data: bytes, frame: Affine, altered: AlteredFile, sides: Sequence[OtherSide], only: str) -> bytes:
    """The SVG with a group more for each other side, and beside it which side the altered piece is.

    `frame` leads from numbers at the end of the sheet to mm.
    """
    packed = data.startswith(GZIP)
    text = gzip.decompress(data) if packed else data
    to_sheet = frame.inverse()
    groups = "".join(
        line + "\n" for line in (*_notes(altered, sides, to_sheet, only), *(_group(side, to_sheet) for side in sides))
    )
    at = text.rindex(b"</", 0, text.rindex(b">"))
    result = text[:at] + groups.encode("ascii", errors="xmlcharrefreplace") + text[at:]
    result = _widened(
        result, max(curve.transformed(to_sheet).bounds()[2] for side in sides for _, curve in side.lines)
    )
    return gzip.compress(result, mtime=0) if packed else result


def _widened(text: bytes, x: float) -> bytes:
    """The SVG with a sheet wide enough for what lies as far right as `x`, at the scale that it has; as it is where it does not say both."""
    root = _ROOT.search(text)
    box, width = (one.search(root[0]) if root is not None else None for one in (_BOX, _WIDTH))
    if root is None or box is None or width is None:
        return text
    left, wide = float(box[2]), float(box[4])
    more = (x + MARGIN * wide - left) / wide
    if more <= 1.0:
        return text
    tag = root[0]
    tag = tag.replace(box[0], box[1] + box[2] + box[3] + svg_number(wide * more).encode() + box[5])
    tag = tag.replace(width[0], width[1] + svg_number(float(width[2]) * more).encode() + width[3])
    return text[: root.start()] + tag + text[root.end() :]


def probed(data: bytes) -> bytes:
    """The SVG with a line of one by nothing at its end, by which a reader tells what numbers mean there."""
    text = gzip.decompress(data) if data.startswith(GZIP) else data
    at = text.rindex(b"</", 0, text.rindex(b">"))
    line = f'<path data-name="{PROBE}" fill="none" stroke="#000" d="M0,0 L100,0"/>'
    return text[:at] + line.encode() + text[at:]


def frame_of(lines: Sequence[LineMark], path: str) -> Affine:
    """The frame at the end of a sheet, by the line that was drawn there to tell it."""
    for mark in lines:
        if mark.label == PROBE and mark.frame is not None:
            return mark.frame
    raise SeamcheckError(
        "nothing can be drawn beside the sheet", path=path, remedy="take out what hides or clips all of it"
    )


def _group(side: OtherSide, to_sheet: Affine) -> str:
    scale = abs(to_sheet.a) + abs(to_sheet.b)
    paths = "".join(f'<path data-name="{role}" d="{path_data(curve, to_sheet)}"/>' for role, curve in side.lines)
    words = "".join(
        _text(line, side.middle + (k * 1.5 * LETTER) * 1j, to_sheet) for k, line in enumerate(_words(side))
    )
    return (
        f'<g data-name="{escape(side.in_file)}" fill="none" stroke="#202020" '
        f'stroke-width="{svg_number(STROKE * scale)}">{paths}{words}</g>'
    )


def _words(side: OtherSide) -> Iterator[str]:
    yield side.in_file
    if side.shape.size:
        yield f"Size {side.shape.size}"
    yield "Cut 1"


def _notes(altered: AlteredFile, sides: Sequence[OtherSide], to_sheet: Affine, only: str) -> Iterator[str]:
    """Which side the altered pieces are, written on them where it names no piece."""
    written = "".join(
        _text(f"{only} side, cut 1", amid(altered.sizes[0].after.shapes[side.piece]) + ASIDE, to_sheet)
        for side in sides
    )
    yield f'<g data-name="{NOTES}">{written}</g>'


def _text(words: str, at: complex, to_sheet: Affine) -> str:
    here = complex(to_sheet.apply(at))
    size = LETTER * (abs(to_sheet.a) + abs(to_sheet.b))
    return (
        f'<text x="{svg_number(here.real)}" y="{svg_number(here.imag)}" font-size="{svg_number(size)}" font-family="sans-serif" '
        f'fill="#202020" stroke="none">{escape(words)}</text>'
    )


def with_names_dxf(data: bytes, altered: AlteredFile, sides: Sequence[OtherSide], only: str) -> bytes:
    """The DXF with the names of the other sides on them, and on the altered pieces which side they are."""
    pairs = Pairs(data, altered.path)
    handles = Handles(pairs)
    texts = [record for record in pairs.records if record.kind in ("TEXT", "MTEXT")]
    for side in sides:
        like = next((one for one in texts if _decoded(one.text(1)).casefold() == side.shape.name.casefold()), None)
        mark = next(
            (mark for mark in (*side.shape.members, *side.shape.other_members) if mark.frame is not None), None
        )
        if like is None or mark is None or mark.frame is None:
            raise SeamcheckError(
                f"{side.shape.name} has no text with its name, so its {OTHER[only]} side cannot be named",
                path=altered.path,
                remedy="write the name of the piece into it",
            )
        to_file = mark.frame.inverse()
        middle = amid(altered.sizes[0].after.shapes[side.piece]) + ASIDE
        for words, at, layer in (
            (f"{like.text(1)} {OTHER[only]}", side.middle, like.text(8, "0")),
            (f"{only} side, cut 1", middle, NOTES.upper()),
        ):
            made = like.copy()
            here = complex(to_file.apply(at))
            made.put(1, words)
            made.put(8, layer)
            for code in (10, 11):
                if made.first(code) is not None:
                    made.put(code, number(here.real))
                    made.put(code + 10, number(here.imag))
            if made.first(5) is not None:
                made.put(5, handles.next())
            like.added.append(made)
    handles.close()
    return pairs.data()


def _decoded(text: str) -> str:
    """A text of a record, which holds bytes as they stand in the file."""
    try:
        return text.encode("latin-1").decode("utf-8")
    except UnicodeError:
        return text
