"""From a file to its marks: one module per format, picked by content and not by the file's name."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from seamcheck.config.limits import ReadOptions
from seamcheck.errors import InputError
from seamcheck.places import Place
from seamcheck.reading.base import Importer, read_source

if TYPE_CHECKING:
    from seamcheck.pattern.drawing import Block, Drawing, LineMark, PointMark, TextMark

_Placed = TypeVar("_Placed", "LineMark", "PointMark", "TextMark", "Block")

# What other files begin with, so that a wrong or wrongly named file is called by its name.
_SIGNATURES = (
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"%PDF", "a PDF document"),
    (b"%!PS", "a PostScript document"),
    (b"PK\x03\x04", "a zip archive"),
    (b"\x1f\x8b", "a compressed file that holds no SVG"),
    (b"AC10", "a DWG drawing"),
)


def read_drawing(path: str, options: ReadOptions | None, importers: Sequence[Importer]) -> Drawing:
    """Read the marks of a file with the first of `importers` that recognises its content.

    InputError when the file cannot be opened, when no importer knows it, or when its importer cannot read it.
    """
    source = read_source(path, options)
    for importer in importers:
        if importer.recognises(source):
            with _collector_at_rest():
                return _measured(_placed(importer.read(source)))
    looks = next((name for start, name in _SIGNATURES if source.data.startswith(start)), None)
    what = f"this is {looks}, not a pattern" if looks else "this is no pattern file of a kind that can be read"
    known = " or ".join(sorted({importer.meaning for importer in importers}))
    raise InputError(what, path=path, remedy=f"save the pattern as {known}")


def _placed(drawing: Drawing) -> Drawing:
    """The drawing with places as data, also where its importer gave mere words."""
    return replace(
        drawing,
        lines=tuple(map(_at_place, drawing.lines)),
        points=tuple(map(_at_place, drawing.points)),
        texts=tuple(map(_at_place, drawing.texts)),
        blocks=tuple(map(_at_place, drawing.blocks)),
    )


def _measured(drawing: Drawing) -> Drawing:
    """The drawing with the lengths of all its lines known, which costs less at once than line by line."""
    from seamcheck.geometry.curve import measure

    measure(curve for line in drawing.lines for curve in (line.curve, line.chords) if curve is not None)
    return drawing


def _at_place(one: _Placed) -> _Placed:
    place: object = one.place
    return replace(one, place=Place(place)) if isinstance(place, str) else one


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Keep the garbage collector from looking through what is being built, again and again, for cycles it has not."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
