"""What the lines of all our drawings look like, on a page, in a file and in print: one table.

Weight and dash say all that colour says, so that drawings serve in grey and for eyes that do not tell red from green.
"""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple


class Tone(StrEnum):
    """A colour by what it is for, as style sheets name it."""

    INK = "ink"
    FAINT = "faint"
    ACCENT = "accent"
    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


# By day and by night. Each has a contrast of at least 4.5 to 1 to its paper (WCAG 2.2, success criterion 1.4.3).
TONES: dict[Tone, tuple[str, str]] = {
    Tone.INK: ("#1c2126", "#e6e3dc"),
    Tone.FAINT: ("#5b636b", "#a3a9af"),
    Tone.ACCENT: ("#0b4f8a", "#8cc4f2"),
    Tone.ERROR: ("#9c1f1f", "#f2a0ac"),
    Tone.WARNING: ("#7a4b00", "#e8bf6a"),
    Tone.NOTE: ("#2f5573", "#93c3e6"),
}


class Kind(StrEnum):
    """What a line is; a later one lies over an earlier one."""

    OTHER_SIZE = "other-size"
    CHOSEN_SIZE = "chosen-size"  # another size that is laid on a piece when it is asked for
    CUT = "cut"  # the cut line round a sew line that is judged
    OLD = "old"  # as it was before it was drawn anew
    EARLIER = "earlier"  # as it was in an earlier file
    MATE = "mate"  # the piece that it is sewn to
    SEW = "sew"  # the sew line inside a cut line that is cut along
    INNER = "inner"  # what is drawn within a piece
    GRAIN = "grain"
    OUTLINE = "outline"
    EDGE = "edge"  # the line that is judged, or cut along
    UNSEWN = "unsewn"
    FOLD = "fold"
    OPEN = "open"  # in no seam yet
    SEWN = "sewn"  # an edge that a picture is about
    SEAM = "seam"  # where two pieces are joined
    NOTCH = "notch"
    SLASH = "slash"  # where a piece was presumably opened or overlapped
    OUGHT = "ought"  # as it is once put right
    TIGHT = "tight"  # a fold in cloth that is pulled
    LOOSE = "loose"  # a fold in cloth that hangs
    FINE = "fine"  # leaders, scales, squares
    TRIM = "trim"  # where a sheet is cut


class Look(NamedTuple):
    """Width and dashes in mm of paper, and the colour, which only helps; a dash of 0 is a dot."""

    width: float
    dashes: tuple[float, ...] = ()
    tone: Tone = Tone.INK


LOOKS: dict[Kind, Look] = {
    Kind.OTHER_SIZE: Look(0.15, tone=Tone.FAINT),
    Kind.CHOSEN_SIZE: Look(0.5, (3.0, 1.0), Tone.ACCENT),
    Kind.CUT: Look(0.25, tone=Tone.FAINT),
    Kind.OLD: Look(0.25, (2.0, 1.5), Tone.FAINT),
    Kind.EARLIER: Look(0.6, (0.0, 1.3), Tone.ACCENT),
    Kind.MATE: Look(0.35, (6.0, 1.5, 0.8, 1.5), Tone.ACCENT),
    Kind.SEW: Look(0.35, (8.0, 2.0)),
    Kind.INNER: Look(0.3, tone=Tone.FAINT),
    Kind.GRAIN: Look(0.35, tone=Tone.FAINT),
    Kind.OUTLINE: Look(0.22),  # under its edges, whose dashes it must not fill
    Kind.EDGE: Look(0.55),
    Kind.UNSEWN: Look(0.55, (0.5, 1.1)),
    Kind.FOLD: Look(0.7, (7.0, 1.2, 1.2, 1.2)),
    Kind.OPEN: Look(0.9, (2.6, 2.6)),
    Kind.SEWN: Look(0.8),
    Kind.SEAM: Look(0.3, (2.4, 1.2)),
    Kind.NOTCH: Look(0.5),
    Kind.SLASH: Look(0.5, (2.6, 1.3)),
    Kind.OUGHT: Look(0.45, (1.4, 0.9), Tone.ACCENT),
    Kind.TIGHT: Look(0.4),
    Kind.LOOSE: Look(1.1, tone=Tone.FAINT),
    Kind.FINE: Look(0.2, tone=Tone.FAINT),
    Kind.TRIM: Look(0.2, (0.35, 1.05), Tone.FAINT),
}


def colour(tone: Tone) -> str:
    """A colour on white paper."""
    return TONES[tone][0]


def rule(selector: str, kind: Kind) -> str:
    """The rule of a style sheet for lines of a kind; the page may set its own colours by their names."""
    width, dashes, tone = LOOKS[kind]
    dashed = ";stroke-dasharray:" + (" ".join(f"{one:g}" for one in dashes) or "none")
    capped = ";stroke-linecap:round" if dashes and min(dashes) < width else ""
    return f"{selector}{{fill:none;stroke:var(--{tone},{colour(tone)});stroke-width:{width:g}{dashed}{capped}}}"


def rules(within: str) -> str:
    """The rules for all kinds, within what a selector chooses."""
    return "\n".join(rule(f"{within} .{kind}", kind) for kind in Kind)


def palette(*, dark: bool = False) -> str:
    """The colours by their names, as declarations."""
    return "".join(f"--{tone}:{both[dark]};" for tone, both in TONES.items())
