"""What an importer found on the sheet, before anyone decides what is a piece.

An importer turns a file into a `Drawing`: lines, points and texts in mm, each with the layer, label and
place that the file gives it, and a role where the file or its words say what the mark is for. `outline`
makes pieces of it.

mark    one thing that is drawn: a line, a point or a text
role    what a mark is for (sew line, notch, grain ...); None while only geometry can tell
block   the named group that holds one piece in one size, in files that have such groups
place   where in the file the mark stands, in words a user can find it by ("line 210", "element path7")
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from seamcheck.amounts import Phrase
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.second_reading import SecondReading
from seamcheck.places import NOWHERE
from seamcheck.places import Place as Place  # whoever reads a drawing gives places


class Role(StrEnum):
    """What a mark is for."""

    OUTLINE = "outline"  # the closed line of a piece; the file does not say which line it is
    SEW = "sew line"
    CUT = "cut line"
    NOTCH = "notch"
    GRAIN = "grainline"
    FOLD = "fold line"
    DART = "dart"
    DRILL = "drill hole"
    INTERNAL = "internal line"
    CUTOUT = "cutout"
    LABEL = "label"
    CORNER = "corner"
    GRADE = "grading mark"
    FURNITURE = "dimension or note"  # dimension lines, leaders, frames: part of no piece
    TEST_SQUARE = "test square"
    OLD = "line before truing"  # kept beside the line that was drawn in its stead


class LengthSource(StrEnum):
    """Where the length of an edge comes from."""

    DRAWN = "drawn curve"
    VALIDATION = "validation curve"
    SPLINE = "spline through the curve points"
    CHORDS = "chords"
    SMOOTHED = "the curve that noisy chords sample"


@dataclass(frozen=True, slots=True)
class Note:
    """Something a reader of the report should know that is nobody's fault: `code` is stable, `said` a sentence or two."""

    code: str
    said: str | Phrase

    @property
    def message(self) -> str:
        """What is said, in words."""
        return str(self.said)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleReading:
    """How large something was drawn and how large it should be, in mm.

    `what` is "square" for a test square, where `drawn` is its side and `stated` what its words say, or "pieces", where
    `drawn` is the longest side of a piece and `stated` the longest or shortest that clothes have. `slip` tells the mistake
    that makes just this difference, "" where none is known; `why` what made it a test square; `remedy` what mends it.
    """

    what: str
    drawn: float
    stated: float
    right: bool
    slip: str = ""
    why: str = ""
    remedy: str = ""
    at: complex | None = None
    words: str = ""  # all of it in one sentence, for where nothing is judged


@dataclass(frozen=True, slots=True, kw_only=True)
class LineMark:
    """A drawn line.

    `turn_points` are the corners that the file itself marks on the line, in mm; None when it marks none.
    `chords` is the polyline that stands in the file where a curve that does not end a segment at each of its vertices is a smoother reading of it.
    `groups` are the names of the enclosing groups or layers, outermost first; `label` is the mark's own name, which may be no more
    than the id that the file tells it by.
    """

    curve: Curve
    closed: bool
    place: Place
    role: Role | None = None
    why: str = ""
    layer: str = ""
    label: str = ""
    groups: tuple[str, ...] = ()
    block: str | None = None
    label_is_id: bool = False
    hidden: bool = False
    dashed: bool = False
    arrow: bool = False
    turn_points: tuple[complex, ...] | None = None
    source: LengthSource = LengthSource.DRAWN
    chords: Curve | None = None
    strokes: tuple[LineMark, ...] = field(
        default=(), compare=False
    )  # the marks it was made of, where it is none of the file
    head_of: Place = field(default=NOWHERE, compare=False)  # the place of the line that it is an arrowhead of
    cloned: bool = field(default=False, compare=False)  # shown by an element that copies it
    span: tuple[int, int] | None = field(default=None, compare=False)  # the bytes of the file that draw it alone
    frame: Affine | None = field(default=None, compare=False)  # from the numbers in those bytes to mm
    stroke: float = field(default=0.0, compare=False)  # mm: how wide an SVG draws it

    @property
    def is_smoothed(self) -> bool:
        """Whether `curve` is a smoother reading of a polyline."""
        return self.chords is not None or self.source is LengthSource.SPLINE

    def in_file(self) -> Curve:
        """The line that stands in the file; that of a spline leads from end to end of its segments, and is made when it is asked for."""
        if self.chords is None and self.source is LengthSource.SPLINE:
            return Curve.polyline(self.curve.vertices())
        return self.chords or self.curve


@dataclass(frozen=True, slots=True, kw_only=True)
class PointMark:
    """A single point: notch, drill hole or corner. Depth and width in mm, `angle` in degrees in the file's axes."""

    at: complex
    place: Place
    role: Role | None = None
    why: str = ""
    layer: str = ""
    label: str = ""
    groups: tuple[str, ...] = ()
    block: str | None = None
    hidden: bool = False
    depth: float | None = None
    width: float | None = None
    angle: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TextMark:
    """A piece of writing and where it stands."""

    at: complex
    text: str
    place: Place
    role: Role | None = None
    label: str = ""
    layer: str = ""
    groups: tuple[str, ...] = ()
    block: str | None = None
    hidden: bool = False


Mark = LineMark | PointMark | TextMark


def drawn_marks(mark: Mark) -> Iterator[Mark]:
    """The marks of the file that a mark was made of; itself where it is one of them."""
    if isinstance(mark, LineMark) and mark.strokes:
        for stroke in mark.strokes:
            yield from drawn_marks(stroke)
    else:
        yield mark


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A group of marks that the file itself calls one piece in one size.

    `labels` holds what the file states about the piece, by plain lower-case key: "quantity", "material",
    "annotation", "category" and so on.
    """

    name: str
    piece: str
    size: str = ""
    labels: Mapping[str, str] = field(default_factory=dict)
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """How many entities a reader met, used and kept aside; `aside` counts the last by kind and layer, in words.

    `left_out` are those kinds and layers of a DXF, for each of which the reader made no mark of one entity or more.
    """

    read: int = 0
    used: int = 0
    aside: Mapping[str, int] = field(default_factory=dict)
    left_out: frozenset[tuple[str, str]] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """All marks of one file.

    `y_down` tells the handedness of the file's axes, `units` is what the file is in; `dpi` is how many px were
    taken for one inch where the file gives no other size. `second` is what a second reader found, where it was asked.
    """

    path: str
    format: str
    y_down: bool
    units: str
    lines: tuple[LineMark, ...]
    points: tuple[PointMark, ...] = ()
    texts: tuple[TextMark, ...] = ()
    blocks: tuple[Block, ...] = ()
    name: str = ""
    sample_size: str = ""
    dpi: float | None = None
    notes: tuple[Note, ...] = ()
    ledger: Ledger = field(default_factory=Ledger)
    second: SecondReading | None = None
