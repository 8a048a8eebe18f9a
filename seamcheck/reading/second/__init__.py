"""A file read once more by a library that shares no code with the readers here, and compared line by line.

Two readings that share no code are worth more than one. Only the unit of the drawing is taken from the first reading, for a library
knows no pattern that it could be plausible for. The library is imported when a second reading is asked for.

source = read_source("ferryhand.svg")
read_twice(source, drawing)        -> the drawing with its second reading and what is to be said of it; never fails
second_reading(source, drawing)    -> SecondReading; never fails
"""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module
from importlib.metadata import version
from typing import TYPE_CHECKING

from seamcheck.amounts import count
from seamcheck.pattern.drawing import Note
from seamcheck.pattern.second_reading import SecondReading
from seamcheck.reading.second.agreement import compared

if TYPE_CHECKING:
    from seamcheck.pattern.drawing import Drawing
    from seamcheck.reading.base import Source

_READERS = {"svg": "svg", "DXF": "dxf", "apparel DXF": "dxf"}  # by the format of a drawing


def read_twice(source: Source, drawing: Drawing) -> Drawing:
    """The drawing with what a second reader found, and a note on how the two agree."""
    second = second_reading(source, drawing)
    return replace(drawing, second=second, notes=(*drawing.notes, Note("second-reading", _told(second))))


def _told(second: SecondReading) -> str:
    if second.failure:
        return f"There was no second reading: {second.failure}."
    total = second.agreed + len(second.differences)
    alike = "all alike" if not second.differences else f"{second.agreed} alike and {len(second.differences)} not"
    told = f"Second reading by {second.reader} {second.version}: {count(total, 'line')} compared, {alike}."
    for known in second.explained:
        more = " and others" if known.count > len(known.places) else ""
        told += f" Not compared: {known.count}, for {known.reason} ({'; '.join(known.places)}{more})."
    return told


def second_reading(source: Source, drawing: Drawing) -> SecondReading:
    """The lines of a drawing compared with those that a library finds in the same file."""
    if drawing.format not in _READERS:
        return SecondReading(reader="none", failure=f'no second reader is known for the format "{drawing.format}"')
    module = import_module(f"seamcheck.reading.second.{_READERS[drawing.format]}")
    reader = SecondReading(reader=module.READER, version=version(module.READER))
    try:
        again = module.read_again(source, drawing)
    except Exception as error:  # a library may fail in any way, and that is all that there is to tell
        told = " ".join(str(error).split())[:200] or type(error).__name__
        return replace(reader, failure=f"{reader.reader} cannot read the file ({told})")
    return compared(drawing, again, reader)
