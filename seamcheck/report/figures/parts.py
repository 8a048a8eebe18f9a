"""What several figures are made of: what is looked up in a result, and small drawings that come again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seamcheck import pen
from seamcheck.checks.base import Severity
from seamcheck.curve import Affine
from seamcheck.meeting import upright
from seamcheck.report.figures.base import disc, length, line, stroke, text

if TYPE_CHECKING:
    from seamcheck.graph import Ray, Side
    from seamcheck.model import Edge, Piece
    from seamcheck.plan import Plan
    from seamcheck.result import FileGeometry, FileResult, Finding, WalkedSeam
    from seamcheck.walk import Walk

ROUND = (1.0, 2.0, 5.0)


@dataclass(frozen=True, slots=True)
class Walked:
    """A seam in one size: what the result tells of it, its walk, and what was found in it, the worst first."""

    seam: WalkedSeam
    walk: Walk
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
            return Walked(told, walk, found_in_seam(file, seam, size))
    raise KeyError(f"{seam}, size {size}")


def found_in_seam(file: FileResult, seam: str, size: str) -> tuple[Finding, ...]:
    """What was found along a seam in one size and nobody accepted, the worst first; not what was found where it ends."""
    return tuple(
        finding
        for finding in file.findings
        if finding.seam == seam and finding.size == size and finding.accepted is None and finding.unit != "degrees"
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


def fold_of(plan: Plan | None, piece: str) -> str | None:
    """The edge of a piece that the plan lays on a fold, None where it has none."""
    return next((one.fold for one in (plan.pieces if plan else ()) if one.name == piece), None)


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
    drawn = stroke(pen.path(piece.outline.transformed(move), closed=True), "cloth")
    drawn += stroke(pen.path(piece.outline.transformed(move), closed=True), "faint")
    for edge, backwards in edges:
        drawn += "".join(stroke(pen.path(run.transformed(move)), "sewn") for run in edge.runs)
        start = edge.runs[-1].end if backwards else edge.runs[0].start
        drawn += disc(complex(move.apply(start)), 0.9, "dot")
    return drawn


def fitted(pieces: Sequence[Piece], at: complex, width: float, height: float) -> Affine:
    """From a file's axes into a box, as large as it goes, in its middle."""
    flip = upright(pieces[0])
    boxes = [piece.outline.transformed(flip).bounds() for piece in pieces]
    x0, y0 = min(box[0] for box in boxes), min(box[1] for box in boxes)
    x1, y1 = max(box[2] for box in boxes), max(box[3] for box in boxes)
    scale = min(width / max(x1 - x0, 1e-9), height / max(y1 - y0, 1e-9))
    centre = at + complex(width, height) / 2
    return (
        Affine.translation(centre) @ Affine.scaling(scale) @ Affine.translation(-complex(x0 + x1, y0 + y1) / 2) @ flip
    )


def side_name(side: Side, other: Side) -> str:
    """What tells one side of a seam from the other: its pieces, or its edges where the pieces are the same."""
    if set(side.pieces).isdisjoint(other.pieces):
        return " + ".join(side.pieces)
    return " + ".join(dict.fromkeys(use.edge for use in side.uses))


def dimension(a: float, b: float, y: float) -> str:
    """A dimension line from a to b at a height, with ticks at its ends."""
    tick = 0.8
    drawn = line(complex(a, y), complex(b, y), "faint")
    return drawn + "".join(line(complex(x, y - tick), complex(x, y + tick), "faint") for x in (a, b))


def levels(spans: Sequence[tuple[float, float]], gap: float = 1.2) -> list[int]:
    """A level for each stretch of a row so that no two of one level overlap: each on the lowest that is free."""
    rows: list[list[tuple[float, float]]] = []
    found = []
    for low, high in spans:
        level = next(
            (k for k, row in enumerate(rows) if all(high + gap <= a or low >= b + gap for a, b in row)), len(rows)
        )
        if level == len(rows):
            rows.append([])
        rows[level].append((low, high))
        found.append(level)
    return found
