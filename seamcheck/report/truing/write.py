"""The picture or the print of a truing written to a file."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from seamcheck.errors import SeamcheckError
from seamcheck.files import replacing, unwritten
from seamcheck.pattern.model import UNSIZED
from seamcheck.truing.run import TruedFile
from seamcheck.truing.writing import free

if TYPE_CHECKING:
    from collections.abc import Callable

    from seamcheck.report.truing.pages import Page
    from seamcheck.report.truing.picture import Subject

Shown = Literal["changed", "all"]
WRITING = 3.0  # mm on paper
TRUE_WRITING = 4.0  # mm at true scale, where it is read on a table
MOST_LETTERS = 12  # that are told of those in no font
FITTED = 260.0  # mm on paper of a picture whose scale is not told


class Sheets(NamedTuple):
    """What a print of something else than a truing holds: its work sheet, by heading and paper, and its pieces."""

    work_sheet: Callable[[str, str], list[Page]]
    subjects: Sequence[Subject]


def draw_picture(
    trued: TruedFile,
    suffix: str,
    scale: float | None,
    paper: str,
    shown: Shown = "changed",
    sheets: Sheets | None = None,
) -> tuple[bytes, str]:
    """The pieces that were drawn anew, or all, as ".svg" or as a ".pdf" to print on a paper, and letters that no font has.

    `scale` is mm on paper for a mm of cloth. An SVG without one is fitted to a page; a PDF is at true scale.
    """
    from seamcheck.report.truing.picture import subjects

    if not trued.changes and shown == "changed":
        raise SeamcheckError(
            "nothing is redrawn, so there is no picture", path=trued.path, remedy="print the pieces with --print all"
        )
    pieces = subjects(trued.sizes, trued.changes, every=shown == "all")
    if sheets is not None:
        pieces = list(sheets.subjects)
    if suffix == ".pdf":
        return _print(trued, scale or 1.0, paper, pieces, sheets)
    return as_svg(pieces, scale).encode(), ""


def as_svg(pieces: Sequence[Subject], scale: float | None) -> str:
    """The picture of some pieces as SVG, fitted to a page where no scale is told."""
    from seamcheck.report.truing.picture import picture
    from seamcheck.report.truing.picture_svg import svg

    if scale is None:
        rough = picture(pieces, squares=False, text=20.0)
        scale = FITTED / max(rough.width, rough.height)
    text = (TRUE_WRITING if scale >= 0.99 else WRITING) / scale
    return svg(picture(pieces, squares=abs(scale - 1.0) < 1e-9, text=text), scale, text)


def _print(
    trued: TruedFile, scale: float, paper: str, pieces: list[Subject], sheets: Sheets | None
) -> tuple[bytes, str]:
    """The first sheet, the work sheet, then the tiles."""
    from seamcheck.report.truing.front_sheet import Heading, cut_words, front_sheet, line_words
    from seamcheck.report.truing.picture_pdf import pdf
    from seamcheck.report.truing.tiles import lay, tile_pages
    from seamcheck.report.truing.work_sheet import work_sheet

    plan = trued.reading.plan
    assert plan is not None
    writing = TRUE_WRITING if scale >= 0.99 else WRITING
    told = [replace(one, below=_below(one, cut_words(one.piece, plan), line_words(one.piece))) for one in pieces]
    made = lay(told, scale, writing / scale, paper, trued.path)
    name = Path(trued.path).name
    pattern = plan.name or trued.reading.pattern.name or name
    heading = Heading(pattern, name, day_of(trued.path), scale)
    of = f"{pattern}, file {name}"
    steps = work_sheet(trued.sizes, of, paper) if sheets is None else sheets.work_sheet(of, paper)
    front = front_sheet(made, heading, plan, 1 + len(steps))
    before = len(front) + len(steps)
    front = front_sheet(made, heading, plan, before)
    tiles = tile_pages(made, writing, pattern, before + 1, before + len(made.tiles))
    return pdf([*front, *steps, *tiles], paper, name)


def _below(one: Subject, cut: str, line: str) -> tuple[str, ...]:
    size = one.after.size
    return (cut if size == UNSIZED else f"size {size}, {cut}", line)


def day_of(path: str) -> str:
    """The day in UTC that a print bears: of `SOURCE_DATE_EPOCH` (reproducible-builds.org) where that is set, else that on which the file was saved.

    So the same file gives the same print on any day. SeamcheckError where the variable is no number of seconds.
    """
    stated = os.environ.get("SOURCE_DATE_EPOCH")
    try:
        seconds = Path(path).stat().st_mtime if stated is None else int(stated)
        return datetime.fromtimestamp(seconds, UTC).date().isoformat()
    except (ValueError, OverflowError, OSError):
        if stated is None:
            return ""
        raise SeamcheckError(
            f'SOURCE_DATE_EPOCH is "{stated}"', remedy="set it to a number of seconds since 1970, or unset it"
        ) from None


def write_picture(
    trued: TruedFile,
    output: str,
    scale: float | None,
    paper: str,
    *,
    force: bool,
    shown: Shown = "changed",
    sheets: Sheets | None = None,
) -> tuple[str, ...]:
    """Draw the picture into a file whose name ends in .svg or .pdf, and give what is to be said of it, a sentence each."""
    target = free(output, force=force)
    suffix = target.suffix.lower()
    if suffix not in (".svg", ".pdf"):
        raise SeamcheckError(
            "a picture is drawn as SVG or as PDF", path=output, remedy="name a file that ends in .svg or .pdf"
        )
    drawn, boxes = draw_picture(trued, suffix, scale, paper, shown, sheets)
    try:
        with replacing(target, drawn):
            pass
    except OSError as error:
        raise unwritten(error, output) from None
    return (_of_boxes(boxes, output),) if boxes else ()


def _of_boxes(letters: str, output: str) -> str:
    shown = " ".join(letters[:MOST_LETTERS]) + (" ..." if len(letters) > MOST_LETTERS else "")
    stand = "letter stands" if len(letters) == 1 else "letters stand"
    return (
        f"{output}: {len(letters)} {stand} in no font of this machine and {'is a box' if len(letters) == 1 else 'are boxes'} "
        f"in the picture: {shown}; install a font that has {'it' if len(letters) == 1 else 'them'} and draw it again"
    )
