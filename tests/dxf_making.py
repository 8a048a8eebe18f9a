"""Small DXF files, put together in the tests from pairs of group code and value."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from seamcheck.config.limits import ReadOptions
from seamcheck.pattern.drawing import Drawing, LineMark, Role
from seamcheck.reading.base import Source
from seamcheck.reading.dxf import apparel as apparel_reader
from seamcheck.reading.dxf import plain as plain_reader

FRONT = (0j, 200 + 0j, 200 + 300j, 0 + 300j)


def pairs(*items: object) -> str:
    """Pairs of group code and value, one to a line each."""
    return "".join(f"{code:>3}\n{value}\n" for code, value in zip(items[::2], items[1::2], strict=True))


def line(layer: object, start: complex, end: complex, *extra: object) -> str:
    return pairs(0, "LINE", 8, layer, 10, start.real, 20, start.imag, 11, end.real, 21, end.imag, *extra)


def point(layer: object, at: complex, *extra: object) -> str:
    return pairs(0, "POINT", 8, layer, 10, at.real, 20, at.imag, *extra)


def text(value: str, at: complex = 0j, layer: object = 1, kind: str = "TEXT") -> str:
    return pairs(0, kind, 8, layer, 10, at.real, 20, at.imag, 40, 5.0, 1, value)


def polyline(
    layer: object,
    points: Sequence[complex],
    *extra: object,
    flags: int = 1,
    repeat: bool = False,
    bulges: Sequence[float] = (),
    seqend: bool = True,
) -> str:
    vertices = [*points, points[0]] if repeat else points
    bends = [*bulges, *[0.0] * (len(vertices) - len(bulges))]
    parts = [pairs(0, "POLYLINE", 8, layer, 66, 1, 70, flags, *extra)]
    for at, bend in zip(vertices, bends, strict=True):
        parts.append(pairs(0, "VERTEX", 8, layer, 10, at.real, 20, at.imag, *((42, bend) if bend else ())))
    return "".join(parts) + (pairs(0, "SEQEND", 8, layer) if seqend else "")


def marked(layer: object, points: Sequence[complex], curve_points: Iterable[int] = (), **options: object) -> str:
    """A polyline followed by its turn and curve points."""
    curved = set(curve_points)
    marks = (point(3 if index in curved else 2, at) for index, at in enumerate(points))
    return polyline(layer, points, **options) + "".join(marks)  # type: ignore[arg-type]


def block(name: str, *content: str, end: bool = True, layer: object = 1) -> str:
    start = pairs(0, "BLOCK", 8, layer, 2, name, 70, 64, 10, 0.0, 20, 0.0)
    return start + "".join(content) + (pairs(0, "ENDBLK", 8, layer) if end else "")


def insert(name: str, at: complex = 0j, *extra: object, layer: object = 1) -> str:
    return pairs(0, "INSERT", 8, layer, 2, name, 10, at.real, 20, at.imag, *extra)


def section(name: str, *content: str) -> str:
    return pairs(0, "SECTION", 2, name) + "".join(content) + pairs(0, "ENDSEC")


def header(**variables: tuple[int, object]) -> str:
    return section("HEADER", *(pairs(9, f"${name}", code, value) for name, (code, value) in variables.items()))


def layers(*rows: tuple[str, int, int]) -> str:
    """A layer table of rows (name, flags, colour)."""
    table = "".join(
        pairs(0, "LAYER", 2, name, 70, flags, 62, colour, 6, "CONTINUOUS") for name, flags, colour in rows
    )
    return section("TABLES", pairs(0, "TABLE", 2, "LAYER", 70, len(rows)), table, pairs(0, "ENDTAB"))


def piece(name: str, *content: str, size: str = "", block_name: str = "", outline: str | None = None) -> str:
    """A block that is one piece in one size; by default a rectangle of 200 by 300 with its corners marked."""
    return block(
        block_name or f"{name}{'_' if size else ''}{size}",
        marked(1, FRONT) if outline is None else outline,
        text(f"Piece Name: {name}"),
        *((text(f"Size Name: {size}"),) if size else ()),
        *content,
    )


def apparel(*blocks: str, style: str = "", units: str = "METRIC", inserts: str = "", start: str = "") -> str:
    stated = (text("Style Name: Ferryhand") + (text(f"Units: {units}") if units else "")) + style
    return start + section("BLOCKS", *blocks) + section("ENTITIES", stated, inserts) + pairs(0, "EOF")


def plain(*entities: str, blocks: Sequence[str] = (), start: str | None = None) -> str:
    start = header(INSUNITS=(70, 4)) if start is None else start
    return start + section("BLOCKS", *blocks) + section("ENTITIES", *entities) + pairs(0, "EOF")


def source(content: str | bytes, path: str = "ferryhand.dxf", **options: object) -> Source:
    data = content.encode("utf-8") if isinstance(content, str) else content
    return Source(path, data, ReadOptions(**options))  # type: ignore[arg-type]


def read(content: str | bytes, path: str = "ferryhand.dxf", **options: object) -> Drawing:
    """Read with whichever of the two readers recognises the content."""
    file = source(content, path, **options)
    reader = next(module for module in (apparel_reader, plain_reader) if module.recognises(file))
    return reader.read(file)


def codes(drawing: Drawing) -> list[str]:
    return [note.code for note in drawing.notes]


def message(drawing: Drawing, code: str) -> str:
    return next(note.message for note in drawing.notes if note.code == code)


def outline(drawing: Drawing, block_name: str | None = None) -> LineMark:
    found = [
        mark
        for mark in drawing.lines
        if mark.role in (Role.OUTLINE, Role.CUT, Role.SEW) and (block_name is None or mark.block == block_name)
    ]
    assert len(found) == 1, [(mark.role, mark.block) for mark in found]
    return found[0]
