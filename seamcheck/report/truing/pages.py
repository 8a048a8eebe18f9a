"""The pages of a print, in mm of paper from the top left of each, x to the right and y down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from seamcheck.amounts import SHEETS
from seamcheck.report.figures.drawn import Line
from seamcheck.report.figures.looks import Tone
from seamcheck.report.truing.widths import width_of

PAPERS = {"a4": SHEETS["A4"], "letter": SHEETS["Letter"]}
MARGIN = 12.7  # mm that printers leave white
LEADING = 1.35  # heights of the letters from one line of writing to the next


@dataclass(frozen=True, slots=True)
class PageWords:
    """A line of writing with its base line at a place, which is its middle or its left end; `turn` is in degrees, anticlockwise."""

    at: complex
    text: str
    size: float
    bold: bool = False
    left: bool = False
    turn: float = 0.0
    tone: Tone = Tone.INK

    @property
    def width(self) -> float:
        """How wide it is printed."""
        return width_of(self.text, self.bold) * self.size


@dataclass(frozen=True, slots=True)
class Window:
    """The part of a page on which a drawing shows: its top left and its bottom right."""

    least: complex
    most: complex


@dataclass(slots=True)
class Page:
    """One page: a drawing that shows through its window alone, and lines and words anywhere."""

    drawing: list[Line] = field(default_factory=list)
    window: Window | None = None
    lines: list[Line] = field(default_factory=list)
    words: list[PageWords] = field(default_factory=list)


class Writing:
    """Writing that runs down pages from the top margin, and on to a further page where one is full."""

    def __init__(self, paper: str) -> None:
        """Begin with one empty page."""
        self.width, self.height = PAPERS[paper]
        self.pages = [Page()]
        self.y = MARGIN
        self.kept = 0.0  # mm at the right that are kept for a drawing

    @property
    def page(self) -> Page:
        """The page that is written on."""
        return self.pages[-1]

    @property
    def left(self) -> float:
        """The height that is left on the page."""
        return self.height - MARGIN - self.y

    def say(
        self, text: str, size: float = 3.6, *, bold: bool = False, indent: float = 0.0, mark: str = "", keep: int = 0
    ) -> None:
        """Write a paragraph, its first line with a `mark` before it; a page that has no room for it and `keep` lines more is turned."""
        lines = list(wrapped(text, self.width - 2 * MARGIN - indent - self.kept, size, bold=bold))
        if self.left < (min(len(lines), 12) + keep) * size * LEADING and self.y > MARGIN:
            self.turn()
        for number, line in enumerate(lines):
            if self.left < size * LEADING:
                self.turn()
            base = self.y + size
            if mark and number == 0:
                self.page.words.append(
                    PageWords(complex(MARGIN + indent - 1.6 * size, base), mark, size, bold, left=True)
                )
            self.page.words.append(PageWords(complex(MARGIN + indent, base), line, size, bold, left=True))
            self.y += size * LEADING

    def gap(self, high: float) -> None:
        """Leave some room, but not at the top of a page."""
        if self.y > MARGIN:
            self.y += high

    def turn(self) -> None:
        """Go on to a further page."""
        self.pages.append(Page())
        self.y = MARGIN


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> Iterator[str]:
    """The lines of a paragraph of some width; a word that is wider is broken."""
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if width_of(longer, bold) * size <= width:
            line = longer
            continue
        if line:
            yield line
        while width_of(word, bold) * size > width:
            fits = next(n for n in range(len(word), 0, -1) if n == 1 or width_of(word[:n], bold) * size <= width)
            yield word[:fits]
            word = word[fits:]
        line = word
    if line:
        yield line


def fitted(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """A line of some width at most: what does not fit gives way to dots."""
    if width_of(text, bold) * size <= width:
        return text
    end = next((n for n in range(len(text), 0, -1) if width_of(text[:n] + "...", bold) * size <= width), 0)
    return text[:end].rstrip() + "..."
