"""Where in its file a finding is: the place of the line, notch or arrow that it is about, for whoever opens the file itself."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.engine.result import Finding
from seamcheck.pattern.drawing import LineMark, Mark, Place

if TYPE_CHECKING:
    from seamcheck.pattern.model import Pattern, Piece

# Checks of what is drawn on and in an outline; all others are about the outline.
OF_MARKS = ("fold-", "grain-", "marks-", "notch-")
ON_IT = 0.05  # mm from a line that is taken to be on it


def located(findings: Iterable[Finding], pattern: Pattern) -> list[Finding]:
    """The findings, each with its place as far as the reader of the file told it."""
    pieces = {(piece.name, piece.size): piece for piece in pattern.pieces}
    opened = {(line.name, line.size): line.place for line in pattern.open_outlines}
    return [replace(finding, place=_place(finding, pieces, opened)) for finding in findings]


def _place(
    finding: Finding, pieces: dict[tuple[str, str], Piece], opened: dict[tuple[str, str], str]
) -> Place | None:
    named = finding.pieces or tuple(edge.lstrip("-").rpartition(".")[0] for edge in finding.edges)
    keys = [(name, finding.size) for name in named]
    mine = [pieces[key] for key in keys if key in pieces]
    if mine:
        return _of_piece(finding, mine)
    return next((place for key in keys if isinstance(place := opened.get(key), Place)), None)


def _of_piece(finding: Finding, pieces: list[Piece]) -> Place | None:
    lines: list[Mark] = [mark for piece in pieces for mark in piece.members]
    marks: list[Mark] = [mark for piece in pieces for mark in piece.marks]
    place: str = pieces[0].place
    if finding.at is not None:
        if finding.check.startswith(OF_MARKS) and marks:
            place = _nearest(marks, finding.at).place
        elif len(lines) > 1:
            place = _nearest(lines, finding.at).place
    return place if isinstance(place, Place) else None


def _nearest(marks: list[Mark], at: complex) -> Mark:
    """The first mark that the point lies on, or else the nearest."""
    best, least = marks[0], float("inf")
    for mark in marks:
        distance = mark.curve.nearest(at).distance if isinstance(mark, LineMark) else abs(mark.at - at)
        if distance <= ON_IT:
            return mark
        if distance < least:
            best, least = mark, distance
    return best
