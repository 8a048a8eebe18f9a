"""A whole file on one sheet: what is sewn to what, what was found, and a drawing of each thing that is wrong.

Figures stand in columns; a number in a ring is the same in the list and on the pieces.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import PurePath
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.engine.causes import causes_of
from seamcheck.engine.report_format import made_anew
from seamcheck.report import pen, telling
from seamcheck.report.figures.base import SMALL, TEXT, Figure, disc, headed, plain, text, wrapped
from seamcheck.report.figures.graph import graph_figure
from seamcheck.report.figures.junction import found_at, junction_figure, misses_at
from seamcheck.report.figures.marks import marked
from seamcheck.report.figures.parts import geometry_of
from seamcheck.report.figures.piece import COMPACT, drawn_piece, piece_figure
from seamcheck.report.figures.seam import seam_figure
from seamcheck.report.figures.sizes import sizes_figure

if TYPE_CHECKING:
    from seamcheck.engine.causes import Cause
    from seamcheck.engine.report_format import Kept
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.pattern.model import Pattern, Piece
    from seamcheck.report.figures.marks import Marked

COLUMN = 180.0
GAP = 16.0
BETWEEN = 12.0  # from figure to figure
MOST = 24  # things that are drawn; the list has all
INDENT = 9.0


class Columns(NamedTuple):
    """How many columns of what width figures stand in."""

    many: int
    width: float

    @property
    def across(self) -> float:
        """The width of all."""
        return self.many * self.width + (self.many - 1) * GAP


WIDE, NARROW = Columns(2, COLUMN), Columns(3, COMPACT[0])
WIDTH = WIDE.across


def sheet(files: Sequence[FileResult], kept: Kept = made_anew) -> Figure:
    """All files of a run, one below the other; `kept` as in RenderOptions."""
    parts, y = [], 0.0
    several = len(files) > 1
    for file in files:
        ends, _, drawn = kept(file, ("svg", y, several), partial(_drawn, file, y, headed_too=several)).partition("\n")
        parts.append(drawn)
        y = float(ends)
    return Figure(
        parts=tuple(parts),
        box=(0.0, -2.0, WIDTH, max(y - BETWEEN + 4.0, 4.0)),
        title=_name(files[0]) if len(files) == 1 else f"{len(files)} patterns",
        description=_described(files[0]) if len(files) == 1 else "",
    )


def _drawn(file: FileResult, top: float, *, headed_too: bool) -> str:
    """How far down a file reaches that begins at `top`, and below that line its drawings."""
    heading, y = "", top
    if headed_too:
        told, high = headed(
            Figure(parts=(), box=(0, 0, 0, 0), title=_name(file), description=_described(file)), WIDTH
        )
        heading = f'<g transform="translate(0 {pen.number(y)})">\n{told}</g>\n'
        y += high + 4.0
    drawings = ""
    if file.geometry is not None:
        drawings, y = _columns(list(_figures(file)), y)
    return f"{float(y)!r}\n{heading}{drawings}"


def pattern_sheet(pattern: Pattern, *, compact: bool = False) -> Figure:
    """All pieces of a pattern as they were read, each with its other sizes faint behind the last; `compact` ones stand in three narrow columns."""
    stacks: dict[str, list[Piece]] = {}
    for piece in pattern.pieces:
        stacks.setdefault(piece.name, []).append(piece)
    figures = []
    for *others, piece in stacks.values():
        told = f"size {piece.size}" if len(pattern.sizes) > 1 else ""
        figures.append(drawn_piece(piece, None, told, others=others, compact=compact))
    columns = NARROW if compact else WIDE
    body, height = _columns(figures, 0.0, columns)
    count = f"{len(stacks)} piece{'' if len(stacks) == 1 else 's'}"
    sizes = f", {len(pattern.sizes)} sizes; the last is named, the others are faint" if len(pattern.sizes) > 1 else ""
    return Figure(
        parts=(body,),
        box=(0.0, 0.0, columns.across, max(height, 10.0)),
        title=pattern.name or PurePath(pattern.path).name,
        description=f"What was read: {count}{sizes}.",
    )


def _name(file: FileResult) -> str:
    return file.pattern or PurePath(file.path).name


def _causes(file: FileResult) -> list[Cause]:
    return [cause for cause in causes_of(file) if cause.counts]


def _described(file: FileResult) -> str:
    """What a file comes to, and what was looked at."""
    failed = " ".join(one.where_named(file.path) for one in file.failures)
    verdict = telling.verdict(file, _causes(file))[0]
    return f"{PurePath(file.path).name}: {verdict}. {failed} {telling.looked_at(file)}"


def _columns(figures: Sequence[Figure], top: float, columns: Columns = WIDE) -> tuple[str, float]:
    """Figures in columns, each below the column that is shortest so far, and how far down they reach."""
    ends = [top] * columns.many
    parts = []
    for figure in figures:
        y = min(ends)
        column = ends.index(y)
        heading, high = headed(figure, columns.width)
        x = column * (columns.width + GAP)
        shift = complex(x - figure.box[0], y + high + 2.0 - figure.box[1])
        parts.append(
            f'<g class="drawn"><g transform="translate({pen.point(complex(x, y))})">{heading}</g>\n'
            f'<g transform="translate({pen.point(shift)})">\n{figure.body}</g></g>\n'
        )
        ends[column] = y + high + 2.0 + figure.box[3] + BETWEEN
    return "".join(parts), max(ends)


def _figures(file: FileResult) -> Iterator[Figure]:
    causes = _causes(file)
    if causes:
        yield _list(file, causes)
    yield graph_figure(file)
    drawn: set[tuple[str, object]] = set()
    for finding in (one.worst for cause in causes[:MOST] for one in cause.groups):
        for key, figure in _drawings(file, finding):
            if key not in drawn:
                drawn.add(key)
                yield figure
    yield from _pieces(file, causes[:MOST])


def _drawings(file: FileResult, worst: Finding) -> Iterator[tuple[tuple[str, object], Figure]]:
    """What a finding is seen in: its seam, in all sizes and in the worst, or its junction."""
    sewn = {(seam.name, seam.size) for seam in file.seams}
    if worst.seam is not None and worst.unit != "degrees" and (worst.seam, worst.size) in sewn:
        yield ("seam", worst.seam), seam_figure(file, worst.seam, worst.size)
        if len(file.sizes) > 1:
            yield ("sizes", worst.seam), sizes_figure(file, worst.seam)
    for k in range(len(file.junctions)):
        if worst in found_at(file, k) or misses_at(file, k, worst):
            yield ("junction", k), junction_figure(file, k)


def _pieces(file: FileResult, causes: Sequence[Cause]) -> Iterator[Figure]:
    """Every piece that something was found on, with the numbers of the list; all pieces where nothing was."""
    marks: dict[tuple[str, str], dict[int, Marked]] = {}
    for number, cause in enumerate(causes, 1):
        at = marked(file, cause.worst)
        if at is not None:
            name, mark = at
            marks.setdefault((name, cause.worst.size), {})[number] = mark
    if not causes:
        marks = {(piece.name, piece.size): {} for piece in geometry_of(file).pieces if piece.size == file.sizes[0]}
    for (name, size), places in marks.items():
        yield piece_figure(file, name, size, places)


def _list(file: FileResult, causes: Sequence[Cause]) -> Figure:
    """What was found, in words, numbered."""
    parts, y = [], 0.0
    for number, cause in enumerate(causes, 1):
        where = telling.place(cause.head, file)
        head = f"{cause.severity.value.capitalize()}{f', {where}' if where else ''}"
        parts.append(f'<g class="entry grade-{cause.severity.value}" data-finding="{number}">\n')
        parts.append(disc(complex(3.0, y + 2.6), 2.7, "ring"))
        parts.append(
            text(complex(3.0, y + 3.7), plain(str(number)), TEXT if number < 100 else SMALL, "middle strong")
        )
        y += TEXT * 1.2
        parts.append(text(complex(INDENT, y), plain(head), TEXT, "told"))
        steps = list(map(str, telling.steps(cause)))
        numbered = [f"{k}. {step}" for k, step in enumerate(steps, 1)] if len(steps) > 1 else steps
        told = [(f"Why: {telling.ended(cause.probably)}", "quiet")] if cause.probably is not None else []
        told += [(f"Do: {step}" if k == 0 else step, "quiet") for k, step in enumerate(numbered)]
        told += [(f"With it: {telling.describe(sign)}", "quiet") for sign in cause.signs]
        for said, kind in ((str(telling.describe(cause.head)), ""), *told):
            for row in wrapped(said, COLUMN - INDENT, TEXT):
                y += TEXT * 1.35
                parts.append(text(complex(INDENT, y), plain(row), TEXT, kind))
        parts.append("</g>\n")
        y += TEXT * 1.5
    more = f" The first {MOST} are drawn." if len(causes) > MOST else ""
    return Figure(
        parts=tuple(parts),
        box=(0.0, -1.0, COLUMN, y),
        title="What was found",
        description=f"Numbers in rings mark the places on the pieces.{more}",
    )
