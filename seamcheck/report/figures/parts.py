"""What several figures are made of: what is looked up in a result, and small drawings that come again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.checks.base import Severity
from seamcheck.geometry.curve import Affine
from seamcheck.pattern.junction_layout import bounds_upright, upright
from seamcheck.report import pen
from seamcheck.report.figures.base import disc, length, line, stroke, text
from seamcheck.report.layout import printable

if TYPE_CHECKING:
    from seamcheck.engine.result import FileGeometry, FileResult, Finding, WalkedSeam
    from seamcheck.pattern.junctions import Jog
    from seamcheck.pattern.model import Edge, Piece
    from seamcheck.pattern.plan import PiecePlan, Plan
    from seamcheck.pattern.seams import Ray, Side
    from seamcheck.pattern.walk import Walk

ROUND = (1.0, 2.0, 5.0)
APART = 1.2  # between words in a row
NEAR = 1e-6


class Walked(NamedTuple):
    """A seam in one size: what the result tells of it, its walk, the joints that miss each other, and what was found in it.

    The worst finding comes first.
    """

    seam: WalkedSeam
    walk: Walk
    jogs: tuple[Jog, ...]
    findings: tuple[Finding, ...]

    @property
    def grade(self) -> str:
        """The worst severity, "" where nothing was found."""
        return str(self.findings[0].severity) if self.findings else ""


def geometry_of(file: FileResult) -> FileGeometry:
    """The geometry of a result; ValueError where it was not asked for."""
    if file.geometry is None:
        raise ValueError("the result was made without its geometry, so nothing can be drawn of it")
    return file.geometry


def walked(file: FileResult, seam: str, size: str) -> Walked:
    """A seam in one size; KeyError where it was not walked."""
    for told, walk in zip(file.seams, geometry_of(file).walks, strict=True):
        if told.name == seam and told.size == size:
            jogs = tuple(jog for at, jog in geometry_of(file).jogs if at == size and jog.seam == seam)
            return Walked(told, walk, jogs, found_in_seam(file, seam, size))
    raise KeyError(f"{seam}, size {size}")


def found_in_seam(file: FileResult, seam: str, size: str) -> tuple[Finding, ...]:
    """What was found along a seam in one size and nobody accepted, the worst first; not what was found where it ends."""
    return tuple(
        finding
        for finding in file.findings
        if finding.seam == seam and finding.size == size and finding.counts and finding.unit != "degrees"
    )


def pieces_in(file: FileResult, size: str) -> dict[str, Piece]:
    """The pieces of one size by their names."""
    return {piece.name: piece for piece in geometry_of(file).pieces if piece.size == size}


def edge_at(piece: Piece, ray: Ray) -> str | None:
    """The name of the edge that leaves a corner by a ray, None where a dart's leg does."""
    for edge in piece.edges:
        first, last = ("out", "in") if edge.forward else ("in", "out")
        if (edge.start, first) == ray[1:] or (edge.end, last) == ray[1:]:
            return edge.name
    return None


def planned(plan: Plan | None, piece: str) -> PiecePlan | None:
    """What the plan says of a piece, None where it says nothing."""
    return next((one for one in (plan.pieces if plan else ()) if one.name == piece), None)


def worst(findings: Iterable[Finding]) -> str:
    """The worst severity among findings, "" where there are none."""
    grades = [finding.severity for finding in findings]
    return str(min(grades, key=lambda one: Severity(one).rank)) if grades else ""


def round_up(value: float) -> float:
    """The next of 1, 2, 5, 10, 20 ... that is not below a value."""
    power = 1.0
    while True:
        for mantissa in ROUND:
            if mantissa * power >= value * (1 - 1e-9):
                return mantissa * power
        power *= 10.0


def round_down(value: float) -> float:
    """The last of 1, 2, 5, 10, 20 ... that is not above a value; 1 at least."""
    best, power = 1.0, 1.0
    while power <= value:
        best = max(best, *(mantissa * power for mantissa in ROUND if mantissa * power <= value * (1 + 1e-9)))
        power *= 10.0
    return best


def scale_bar(at: complex, scale: float, room: float = 40.0) -> tuple[str, float]:
    """A round length of cloth drawn to scale, beginning at a point, and how much room it takes.

    `scale` is how many units a mm of cloth takes.
    """
    mm = round_down(room / scale)
    end = at + mm * scale
    drawn = stroke(pen.polyline([at - 1j, at, end, end - 1j]), "fine")
    drawn += text(end + 1.2 + 0.6j, length(mm), 2.6, "quiet")
    return drawn, mm * scale


def thumbnail(piece: Piece, at: complex, width: float, height: float, edges: Sequence[tuple[Edge, bool]]) -> str:
    """A small picture of a piece in a box with its top left corner at a point: some edges strong, a dot where each begins.

    Each edge comes with whether it is walked backwards.
    """
    move = fitted([piece], at, width, height)
    outline = pen.path(piece.outline.transformed(move), closed=True)
    drawn = stroke(outline, "cloth") + stroke(outline, "fine")
    for edge, backwards in edges:
        name = pen.words(f"{piece.name}.{edge.name}")
        drawn += "".join(stroke(pen.path(run.transformed(move)), "sewn", f' data-use="{name}"') for run in edge.runs)
        start = edge.runs[-1].end if backwards else edge.runs[0].start
        drawn += disc(complex(move.apply(start)), 0.9, "dot")
    return drawn


def fitted(pieces: Sequence[Piece], at: complex, width: float, height: float) -> Affine:
    """From a file's axes into a box, as large as it goes, in its middle."""
    boxes = [bounds_upright(piece) for piece in pieces]
    x0, y0 = min(box[0] for box in boxes), min(box[1] for box in boxes)
    x1, y1 = max(box[2] for box in boxes), max(box[3] for box in boxes)
    scale = min(width / max(x1 - x0, 1e-9), height / max(y1 - y0, 1e-9))
    centre = at + complex(width, height) / 2
    return (
        Affine.translation(centre)
        @ Affine.scaling(scale)
        @ Affine.translation(-complex(x0 + x1, y0 + y1) / 2)
        @ upright(pieces[0])
    )


def side_name(side: Side, other: Side) -> str:
    """What tells one side of a seam from the other: its pieces, or its edges where the pieces are the same."""
    if set(side.pieces).isdisjoint(other.pieces):
        return " + ".join(printable(piece) for piece in side.pieces)
    return " + ".join(dict.fromkeys(printable(use.edge) for use in side.uses))


def side_told(side: Side) -> str:
    """The edges of a side, those that come again and again counted: "6 × panel.lower"."""
    runs = [(name, len(list(same))) for name, same in groupby(f"{use.piece}.{use.edge}" for use in side.uses)]
    return printable(" + ".join(f"{times} × {name}" if times > 1 else name for name, times in runs))


def dimension(a: float, b: float, y: float) -> str:
    """A dimension line from a to b at a height, with ticks at its ends."""
    tick = 0.8
    drawn = line(complex(a, y), complex(b, y), "fine")
    return drawn + "".join(line(complex(x, y - tick), complex(x, y + tick), "fine") for x in (a, b))


def levels(spans: Sequence[tuple[float, float]], lines: Sequence[tuple[float, float]] | None = None) -> list[int]:
    """A level for each stretch of a row so that no two words of one level touch: each on the lowest that is free.

    `spans` are what the words take up; `lines`, where given, what is drawn with them, which may end where the next begins.
    """
    lines = spans if lines is None else lines
    rows: list[list[tuple[float, float, float, float]]] = []
    found = []
    for (low, high), (begin, end) in zip(spans, lines, strict=True):

        def free(row: Sequence[tuple[float, float, float, float]], here: tuple[float, float, float, float]) -> bool:
            low, high, begin, end = here
            return all(
                (high + APART <= a or low >= b + APART)  # words from words
                and (end <= c + NEAR or begin >= d - NEAR)  # lines from lines
                and (high <= c + NEAR or low >= d - NEAR)  # words from lines, and lines from words
                and (end <= a + NEAR or begin >= b - NEAR)
                for a, b, c, d in row
            )

        here = low, high, begin, end
        level = next((k for k, row in enumerate(rows) if free(row, here)), len(rows))
        if level == len(rows):
            rows.append([])
        rows[level].append(here)
        found.append(level)
    return found
