"""A reader for names of the shop's own: SVG drawings whose lines are called "K10 front", "K20 front" and so on.

The number says what a line is for and the word which piece it belongs to. Seamcheck cannot know that; the settings' `[layers]` could
tell it the first half, not the second. The reader lets the built-in one do the reading and only says more about each mark.

Readers are asked in the order of their names, and the first that recognises a file reads it: "kit-layers" comes before "svg".
"""

from __future__ import annotations

import re
from dataclasses import replace

from seamcheck.plugin import Drawing, Importer, InputError, LineMark, Role, Source, builtin_importer

ROLES = {"10": Role.SEW, "20": Role.NOTCH, "30": Role.GRAIN, "40": Role.INTERNAL}
_NAME = re.compile(r"K(\d\d) (\S.*)")
_IN_FILE = re.compile(rb"[\"']K\d\d \S")
_SVG = builtin_importer("svg")


def recognises(source: Source) -> bool:
    """Whether the file is an SVG in which a line has such a name; this looks at the content and never fails."""
    return _SVG.recognises(source) and _IN_FILE.search(source.data) is not None


def read(source: Source) -> Drawing:
    """Read the drawing; InputError, one sentence with its place, for a number that means nothing."""
    drawing = _SVG.read(source)
    return replace(drawing, format="kit layers", lines=tuple(_told(line, source) for line in drawing.lines))


def _told(line: LineMark, source: Source) -> LineMark:
    match = _NAME.fullmatch(line.label)
    if match is None:
        return line
    number, piece = match.groups()
    if number not in ROLES:
        raise InputError(
            f'the line "{line.label}" has the number {number}, which means nothing',
            path=source.path,
            place=line.place,
            remedy=f"the numbers are {', '.join(ROLES)}",
        )
    return replace(line, role=ROLES[number], why=f"number {number}", label="", groups=(*line.groups, piece))


IMPORTER = Importer("kit-layers", 'SVG with lines called "K10 front"', recognises, read)
