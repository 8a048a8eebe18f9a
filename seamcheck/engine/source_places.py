"""Where in its file a finding is: the place of the line, notch or arrow that it is about, for whoever opens the file itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.engine.result import Finding
from seamcheck.places import NOWHERE, Place

if TYPE_CHECKING:
    from seamcheck.pattern.drawing import LineMark
    from seamcheck.pattern.model import Pattern, Piece
    from seamcheck.pattern.subject import Subject

ON_IT = 0.05  # mm from a line that is taken to be on it


def located(findings: Iterable[Finding], pattern: Pattern) -> list[Finding]:
    """The findings, each with its place as far as the reader of the file told it."""
    pieces = {(piece.name, piece.size): piece for piece in pattern.pieces}
    opened = {(line.name, line.size): line.place for line in pattern.open_outlines}
    return [replace(finding, place=_place(finding, pieces, opened)) for finding in findings]


def _place(
    finding: Finding, pieces: Mapping[tuple[str, str], Piece], opened: Mapping[tuple[str, str], Place]
) -> Place | None:
    named = finding.pieces or tuple(edge.lstrip("-").rpartition(".")[0] for edge in finding.edges)
    keys = [(name, finding.size) for name in named]
    mine = [pieces[key] for key in keys if key in pieces]
    if mine:
        place = _drawn(finding.subject, finding.size, pieces) or _of_outline(finding, mine)
    else:
        place = next((opened[key] for key in keys if key in opened), NOWHERE)
    return place if place.line is not None else None


def _drawn(subject: Subject, size: str, pieces: Mapping[tuple[str, str], Piece]) -> Place:
    """The place of what is drawn on or in an outline, by its number."""
    number = subject.number
    if number is None:
        return NOWHERE
    if subject.kind == "notch":
        name, _, edge = subject.names[0].rpartition(".")
        piece = pieces.get((name, size))
        return piece.edge(edge).notches[number].place if piece is not None else NOWHERE
    piece = pieces.get((subject.names[0], size))
    if piece is None:
        return NOWHERE
    places: Mapping[str, Sequence[Place]] = {
        "grain": [grain.place for grain in piece.grainlines],
        "fold": piece.fold_places,
        "hole": piece.hole_places,
        "line": [line.place for line in piece.inside],
    }
    return dict(enumerate(places.get(subject.kind, ()))).get(number, NOWHERE)


def _of_outline(finding: Finding, pieces: Sequence[Piece]) -> Place:
    """The line of an outline: where it is drawn with several, the one that the finding lies on."""
    lines = [line for piece in pieces for line in piece.members]
    if finding.at is None or len(lines) < 2:
        return pieces[0].place
    return _nearest(lines, finding.at).place


def _nearest(lines: Sequence[LineMark], at: complex) -> LineMark:
    """The first line that a point lies on, or else the nearest."""
    best, least = lines[0], float("inf")
    for line in lines:
        distance = line.curve.nearest(at).distance
        if distance <= ON_IT:
            return line
        if distance < least:
            best, least = line, distance
    return best
