"""Laying prose out for a terminal: paragraphs wrapped to a width, a word set off in colour, counts in words.

The width of a letter is that of the Unicode database that comes with Python: `wcwidth` knows it too, but takes 3.6 MB and
a quarter of the time that numpy takes to import.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Collection, Sequence

from seamcheck.engine.report_format import RenderOptions
from seamcheck.spelling import unturned

WIDEST = 120  # longer lines are hard to read
NARROWEST = 30

# Colour only helps the eye along: the word itself always says the same.
_COLOURS = {"error": "1;31", "warning": "1;33", "note": "1;36", "good": "1;32", "strong": "1"}

_SECOND = "\ufdd0"  # a code point that is no letter (Unicode Standard, section 23.7): the second column of a wide one
_AMOUNT = re.compile(r"(?<=\d) (?=(?:mm|in)\b|\d+/\d+ in\b)")
# What is not allowed is written out: compiled ten times as fast as all that is.
_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")


def printable(text: str) -> str:
    """The text without control characters, so that a name in a file cannot steer the terminal or turn what stands behind it."""
    return _CONTROL.sub("\N{REPLACEMENT CHARACTER}", unturned(text))


def in_xml(text: str) -> str:
    """The text without what has no place in XML 1.0 (section 2.2), and unable to turn what stands behind it."""
    return _NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", unturned(text))


def paint(text: str, kind: str, options: RenderOptions) -> str:
    """The text set off for its kind: a severity, "good" or "strong"."""
    return f"\x1b[{_COLOURS[kind]}m{text}\x1b[0m" if options.colour else text


def width_of(options: RenderOptions) -> int:
    """The letters of a line."""
    return max(NARROWEST, min(options.width, WIDEST))


def wrap(text: str, options: RenderOptions, *, indent: str = "", hanging: str | None = None) -> str:
    """One paragraph, amounts kept whole; `hanging` is the indent of all lines after the first."""
    lines = textwrap.fill(
        _widened(_AMOUNT.sub("\N{NO-BREAK SPACE}", printable(text))),
        width=width_of(options),
        initial_indent=indent,
        subsequent_indent=indent if hanging is None else hanging,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return lines.replace("\N{NO-BREAK SPACE}", " ").replace(_SECOND, "")


def _widened(text: str) -> str:
    """A text in which what takes two columns of a terminal is two letters (Unicode Standard Annex 11), for `textwrap` to count."""
    if text.isascii():
        return text
    return "".join(letter + _SECOND * (unicodedata.east_asian_width(letter) in "WF") for letter in text)


def aligned(rows: Sequence[Sequence[str]], *, right: Collection[int] = ()) -> list[str]:
    """Rows of cells as lines whose columns stand below one another; those named by their numbers end alike, the others begin so."""
    rows = [[printable(cell) for cell in row] for row in rows]
    widths = [max(map(_columns, column)) for column in zip(*rows, strict=True)]
    return [
        "  "
        + "  ".join(
            f"{' ' * (width - _columns(cell))}{cell}" if k in right else f"{cell}{' ' * (width - _columns(cell))}"
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _columns(text: str) -> int:
    return len(_widened(text))


def headline(text: str, kind: str, options: RenderOptions) -> str:
    """What all comes to, set off; its lines are painted one by one, so that no colour runs past the end of one."""
    return "\n".join(paint(line, kind, options) for line in wrap(text, options, hanging="  ").split("\n"))
