"""A trued pattern written into its SVG: old lines into groups of their own, new ones beside them, all else byte for byte.

Both groups are layers to a vector editor. They stand where the old line stood, so that its transforms and styles hold for the
new one too. Old lines are dashed by their group, new ones are twice as heavy as the old, so that a print without colours tells
them apart. An old line that has dashes of its own keeps those.
"""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterable, Sequence

from seamcheck.errors import InputError
from seamcheck.exact import steady
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import LineMark
from seamcheck.pattern.words import NEW_LINES, OLD_LINES
from seamcheck.reading.svg.tree import GZIP, tag_end
from seamcheck.truing.edits import Edit

_UNLINK = "a copy that another element shows", "unlink the clone in the drawing program"
_NO_STYLE = "drawn by a style and not by the element itself", "write its shape as the d of the path"
DECIMALS = 6  # of the file's own numbers
DASHES = (3.0, 2.0)  # mm
HEAVIER, HEAVIEST = 2.0, 1.0  # times, and mm beyond which no line is made heavier: it may have been before
INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"
_TAG = re.compile(rb"<\s*([\w.-]+:)?([\w.-]+)")
_ATTRIBUTE = re.compile(rb"\s+([\w:.-]+)\s*=\s*(\"[^\"]*\"|'[^']*')")
# What says where a line runs, or names one element only: the new line has its own.
_OWN = frozenset((
    b"d", b"points", b"x", b"y", b"x1", b"y1", b"x2", b"y2", b"cx", b"cy", b"r", b"rx", b"ry", b"width", b"height",
    b"id", b"pathLength",
))  # fmt: skip


def write_svg(data: bytes, path: str, lines: Sequence[LineMark], edits: Iterable[Edit]) -> bytes:
    """The file with the edits in it; `lines` are all lines that were read from it.

    InputError for a line that does not stand in the file by itself: one that a `use` shows, or a file in an encoding
    whose letters are not single bytes.
    """
    packed = data.startswith(GZIP)
    text = gzip.decompress(data) if packed else data
    if text[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in text[:64]:
        raise InputError("the file is in UTF-16", path=path, remedy="save it as UTF-8, then try again")
    changed: dict[tuple[int, int], list[tuple[LineMark, list[tuple[Curve, LineMark]]]]] = {}
    for edit in edits:
        for number, mark in enumerate(edit.old):
            if mark.span is None or mark.frame is None:
                what, remedy = _UNLINK if mark.cloned else _NO_STYLE
                raise InputError(
                    f"{edit.piece}: a line to be redrawn is {what}",
                    path=path,
                    place=mark.place,
                    remedy=f"{remedy}, then try again",
                )
            news = [(curve, like) for curve, like in edit.new if like is mark]
            if number == 0:
                news += [(curve, like) for curve, like in edit.new if all(like is not m for m in edit.old)]
            changed.setdefault(mark.span, []).append((mark, news))
    label = b"inkscape:label" if _declared(text) else b"id"
    pieces: list[bytes] = []
    at = 0
    for number, (span, drawn) in enumerate(sorted(changed.items(), key=lambda item: item[0]), 1):
        # An element may hold several lines; those that stay are drawn again beside the new ones.
        replaced = {mark.place for mark, _ in drawn}
        news = [new for _, lines_of in drawn for new in lines_of]
        news += [(mark.curve, mark) for mark in lines if mark.span == span and mark.place not in replaced]
        old = drawn[0][0]
        pieces += [text[at : span[0]], _written(text[span[0] : span[1]], old, news, label, number)]
        at = span[1]
    result = b"".join([*pieces, text[at:]])
    return gzip.compress(result, mtime=0) if packed else result


def _declared(text: bytes) -> bool:
    return b"xmlns:inkscape" in text and INKSCAPE.encode() in text


def _written(old: bytes, like: LineMark, news: Sequence[tuple[Curve, LineMark]], label: bytes, number: int) -> bytes:
    """The old element in its group, the new ones in theirs."""
    tag = _TAG.match(old)
    prefix = (tag[1] or b"") if tag else b""

    def group(name: str, inside: bytes, more: str = "") -> bytes:
        word = name.encode()
        told = b' inkscape:groupmode="layer" inkscape:label="' + word + b'"'
        if label == b"id":
            told = b' id="' + word.replace(b" ", b"_x20_") + b"_" + str(number).encode() + b'_"'
        return b"<" + prefix + b"g" + told + more.encode() + b">" + inside + b"</" + prefix + b"g>"

    assert like.frame is not None
    scale = like.frame.scale
    kept = _style_of(old, _width(like.stroke, scale))
    if like.label_is_id and like.label and b"data-name" not in kept:
        kept += (
            b' data-name="' + _escaped(like.label) + b'"'
        )  # an id is one element's own; as a name it says what the line is
    paths = b"".join(
        b"<" + prefix + b'path d="' + path_data(curve, _to_file(mark)).encode() + b'"' + kept + b"/>"
        for curve, mark in news
    )
    dashes = f' stroke-dasharray="{" ".join(svg_number(part / scale) for part in DASHES)}"'
    return group(OLD_LINES, old, dashes) + (group(NEW_LINES, paths) if paths else b"")


def _escaped(text: str) -> bytes:
    for sign, name in (("&", "&amp;"), ("<", "&lt;"), ('"', "&quot;")):
        text = text.replace(sign, name)
    return text.encode("ascii", errors="xmlcharrefreplace")


def _width(stroke: float, scale: float) -> str:
    """The width of a new line, in the numbers of the element; "" where it stays as it is."""
    wider = min(HEAVIER * stroke, max(stroke, HEAVIEST))
    return svg_number(wider / scale) if wider > stroke else ""


def _style_of(element: bytes, width: str) -> bytes:
    """The attributes of an element's tag that say how it looks and what it is called, with another width of its line."""
    tag = element[: tag_end(element, 0)]
    found = {name: value for name, value in _ATTRIBUTE.findall(tag) if name not in _OWN and b"nodetypes" not in name}
    if width:
        # In the style, since that goes before attributes and style sheets; last, since the last counts.
        style = found.get(b"style", b'""')
        told = style[1:-1].rstrip().rstrip(b";")
        found[b"style"] = style[:1] + (told + b";" if told else b"") + f"stroke-width:{width}".encode() + style[-1:]
    return b"".join(b" " + name + b"=" + value for name, value in found.items())


def _to_file(mark: LineMark) -> Affine:
    """From mm to the numbers of an element: its own transform stays on the new one, and `frame` holds it and all those around it."""
    assert mark.frame is not None
    return mark.frame.inverse()


def path_data(curve: Curve, to_file: Affine) -> str:
    """A line in mm in the numbers of a file: straight segments as lines, the others as cubics."""
    rows = to_file.apply(curve.segments)
    words = [f"M{_point(rows[0, 0])}"]
    for old, row in zip(curve.segments, rows, strict=True):
        one = Curve([old])
        if one.is_straight(1e-9):
            words.append(f"L{_point(row[3])}")
        else:
            words.append("C" + " ".join(_point(point) for point in row[1:]))
    return " ".join(words) + (" Z" if curve.is_closed else "")


def _point(point: complex) -> str:
    return f"{svg_number(point.real)},{svg_number(point.imag)}"


def svg_number(value: float) -> str:
    """A number as a file has it."""
    text = f"{steady(value):.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text
