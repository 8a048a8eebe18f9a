"""A DXF read once more by ezdxf: every line of the model space, or of every block where the blocks are the pieces.

The library loads the file by its own recovering reader. Curves are taken as the Bezier segments that it draws them with, sixteen to a
circle, which keeps within a millionth of the radius.
"""

from __future__ import annotations

import io
import itertools
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from seamcheck.pattern.drawing import Role
from seamcheck.pattern.scale import unit_factor
from seamcheck.reading.second.lines import Again, Points, SecondLine, Segment, measured

if TYPE_CHECKING:
    from seamcheck.pattern.drawing import Block, Drawing
    from seamcheck.reading.base import Source

READER = "ezdxf"
_LINES = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"})
_NOTHING = 1e-6  # mm: a step shorter than this is rounding
# What the first reading notes of a file that the library does not put up with.
_BY_NOTE = {
    "decimal-comma": "it takes a decimal comma for the end of a number",
    "repaired": "it loses what stands after an end that is missing in the file",
}
_RETURNS = "it reads no lines that end in carriage returns alone"
_ENCODINGS = ("utf-8", "cp1252", "gbk", "cp932", "big5", "cp949")  # that names of blocks are looked for in
_BY_RULE = "sizes that are computed from a rule table stand in no file"
_CARRIED = "fold lines that the base size alone draws are carried over to the others"
_ASIDE = "lines that the first reading keeps aside, and tells so in its ledger"
_BINARY = b"AutoCAD Binary DXF"
_HEADER = re.compile(rb"^[ \t]*2[ \t]*\r?\n[ \t]*HEADER[ \t]*\r?\n", re.MULTILINE)
_NAMED_HERE = re.compile(r"block~\d+")  # what the first reading calls a block without a name
_UNNAMED = "it leaves out blocks without a name"
_PERIODIC = "it draws a spline that runs round and round beyond the stretch of knots that is its own"
_VALIDATION = "validation curves on layers 84 to 87 give the lengths of other lines and are no lines of their own"


def read_again(source: Source, drawing: Drawing) -> Again:
    """The lines that ezdxf finds, in mm; whatever it raises where it cannot."""
    document = _document(source.data)
    factor = unit_factor(drawing.units)
    reasons = [why for code, why in _BY_NOTE.items() if any(note.code == code for note in drawing.notes)]
    reasons += [_RETURNS] if b"\r" in source.data and b"\n" not in source.data else []
    if drawing.blocks:
        again = _of_blocks(document, drawing, factor)
        names = {bucket for bucket in again.buckets if bucket is not None}
        return replace(again, reasons=dict.fromkeys(names, tuple(reasons)))
    layouts = [document.modelspace()]
    if any(note.code == "paper-space" for note in drawing.notes):
        layouts = [layout for layout in document.layouts if layout.name != "Model"]
    lines = tuple(line for layout in layouts for line in _lines(layout, "", factor, drawing))
    return Again(lines=lines, buckets=("",) * len(drawing.lines), reasons={"": tuple(reasons)})


def _document(data: bytes) -> Any:
    """The file as ezdxf loads it. A file that states no version is taken for an old one, and else for one of 2000."""
    from ezdxf import recover
    from ezdxf.document import Drawing as Document
    from ezdxf.lldxf.const import DXFError
    from ezdxf.lldxf.tagger import binary_tags_loader

    if data.startswith(_BINARY):
        return Document.load(binary_tags_loader(data))
    try:
        return recover.read(io.BytesIO(data), errors="ignore")[0]
    except DXFError:
        header = _HEADER.search(data)
        if header is None or b"$ACADVER" in data:
            raise
        stated = data[: header.end()] + b"  9\n$ACADVER\n  1\nAC1015\n" + data[header.end() :]
        return recover.read(io.BytesIO(stated), errors="ignore")[0]


def _of_blocks(document: Any, drawing: Drawing, factor: float) -> Again:
    """The lines of every block that is a piece, in the block's own coordinates; those of several blocks of one name are one."""
    by_name = {block.name: block for block in drawing.blocks}
    theirs: dict[str, Any] = {}
    for block in document.blocks:
        for name in _spellings(block.name, document.encoding):
            theirs.setdefault(name, block)
    found = {name: theirs[key] for name in by_name if (key := _plain(name)) in theirs}
    lines = [line for key in dict.fromkeys(map(_plain, found)) for line in _lines(theirs[key], key, factor, drawing)]
    buckets: list[str | None] = []
    excused: dict[int, str] = {}
    for number, mark in enumerate(drawing.lines):
        block = by_name[mark.block or ""]
        if "graded" in block.labels:
            excused[number] = _BY_RULE
        elif mark.role is Role.FOLD and _holder(drawing.blocks, mark.place.line or 0) is not block:
            excused[number] = _CARRIED
        elif block.name not in found and _NAMED_HERE.fullmatch(block.name):
            excused[number] = _UNNAMED
        buckets.append(None if number in excused else _plain(block.name))
    return Again(lines=tuple(lines), buckets=tuple(buckets), excused=excused)


def _plain(name: str) -> str:
    """The name of a block as the file has it, without what tells a second one of that name apart."""
    return name.partition("~")[0].casefold()


def _spellings(name: str, encoding: str) -> Iterator[str]:
    """A name as the library has it, and as its bytes read in other encodings."""
    yield name.casefold()
    try:
        data = name.encode(encoding, errors="surrogateescape")
    except UnicodeEncodeError:
        return
    for other in _ENCODINGS:
        with suppress(UnicodeDecodeError):
            yield data.decode(other).casefold()


def _holder(blocks: Iterable[Block], line: int) -> Block | None:
    """The block of the file that a line of the file stands in."""
    before = [block for block in blocks if "graded" not in block.labels and (block.place.line or 0) <= line]
    return max(before, key=lambda block: block.place.line or 0, default=None)


def _lines(layout: Any, bucket: str, factor: float, drawing: Drawing) -> Iterator[SecondLine]:
    from ezdxf.disassemble import recursive_decompose
    from ezdxf.path import make_path

    for entity in recursive_decompose(layout):
        kind, layer = entity.dxftype(), entity.dxf.layer
        if kind not in _LINES:
            continue
        segments = list(_segments(make_path(entity, segments=16, level=8), factor))
        if not segments:
            continue
        reasons = [_ASIDE] if (kind, layer) in drawing.ledger.left_out else []
        if bucket and layer.strip() in ("84", "85", "86", "87"):
            reasons.append(_VALIDATION)
        if kind == "SPLINE" and not _clamped(entity):
            reasons.append(_PERIODIC)
        yield SecondLine(figures=measured(segments), bucket=bucket, kind=kind, layer=layer, reasons=tuple(reasons))


def _clamped(spline: Any) -> bool:
    """Whether a spline begins and ends at its outermost control points."""
    knots, order = list(spline.knots), spline.dxf.degree + 1
    return not knots or (knots[0] == knots[order - 1] and knots[-order] == knots[-1])


def _segments(path: Any, factor: float) -> Iterator[Segment | tuple[complex, complex]]:
    """The segments of a path of ezdxf, in mm."""
    from ezdxf.path import Command

    here = complex(path.start.x, path.start.y) * factor
    for command in path.commands():
        there = complex(command.end.x, command.end.y) * factor
        if command.type is Command.MOVE_TO or command.type is Command.LINE_TO:
            if command.type is Command.LINE_TO and abs(there - here) > _NOTHING:
                yield here, there
        elif command.type is Command.CURVE3_TO:
            yield _bezier(here, complex(command.ctrl.x, command.ctrl.y) * factor, there)
        else:
            first, second = (complex(one.x, one.y) * factor for one in (command.ctrl1, command.ctrl2))
            yield _bezier(here, first, second, there)
        here = there


def _bezier(*points: complex) -> Segment:
    """A Bezier curve by repeated interpolation between its points."""

    def along(at: npt.NDArray[np.float64]) -> Points:
        row: list[Points] = [np.full(len(at), point, dtype=complex) for point in points]
        while len(row) > 1:
            row = [a + at * (b - a) for a, b in itertools.pairwise(row)]
        return row[0]

    return along
