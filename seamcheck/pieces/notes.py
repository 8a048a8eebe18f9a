"""What should be said of a drawing, though it was read: gaps, crossings, double contours, and what went into no piece."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from seamcheck.amounts import Name, PlainLength, joined, phrase
from seamcheck.pattern.drawing import Block, Drawing, Ledger, LineMark, Mark, Note, PointMark, TextMark
from seamcheck.pattern.model import Piece
from seamcheck.pieces.nesting import ClosedLine, Nested, is_double_contour

SILENT_GAP = 0.05  # mm: ends nearer than this meet as drawn
CROSSINGS_SHOWN = 3


def outline_notes(nested: Nested, block: Block | None) -> list[Note]:
    """Notes on every piece: what was bridged to close it, where it crosses itself, what runs beside it all round."""
    notes: list[Note] = []
    for piece in nested.pieces:
        called = block.piece if block else piece.mark.label or _at_the_head(str(piece.mark.place))
        notes += _gaps(piece, called)
        notes += _crossings(piece, called)
        if any(inner.piece is piece and is_double_contour(inner.line, piece) for inner in nested.inside):
            notes.append(
                Note(
                    "double-contour",
                    f"{called}: a second line runs inside the outline all round, less than 2 mm from it, as when a drawn line was "
                    "turned into a shape of its own. The outer edge is walked; draw the outline as one line to be exact.",
                )
            )
    return notes


def _gaps(piece: ClosedLine, called: str) -> list[Note]:
    wide = [(gap, at) for gap, at in piece.gaps if gap > SILENT_GAP]
    if not wide:
        return []
    places = joined(
        (joined((PlainLength(gap, 2), f" at ({at.real:.1f}, {at.imag:.1f})")) for gap, at in wide),
        "; ",
    )
    message = phrase(
        "{piece}: the outline was closed by joining ends that miss each other: {places}.",
        piece=Name(called),
        places=places,
    )
    return [Note("gap-bridged", message)]


def _crossings(piece: ClosedLine, called: str) -> list[Note]:
    stations = [first for first, _ in piece.curve.self_crossings()]
    if not stations:
        return []
    places: Sequence[complex] = [piece.curve.point(station) for station in stations[:CROSSINGS_SHOWN]]
    where = ", ".join(f"({at.real:.1f}, {at.imag:.1f})" for at in places)
    more = f" and {len(stations) - CROSSINGS_SHOWN} more places" if len(stations) > CROSSINGS_SHOWN else ""
    return [
        Note(
            "outline-crosses-itself",
            f"{called}: the outline crosses itself at {where}{more}. It was measured as drawn; it cannot be cut out like that.",
        )
    ]


def notes_on_lines(pieces: Sequence[Piece]) -> list[Note]:
    """Whether it is the sew line or the cut line that is walked, where the file or the plan leaves that open."""
    unknown = sorted({piece.name for piece in pieces if piece.line == "unknown"})
    cut = sorted(
        {piece.name for piece in pieces if piece.line == "cut" and piece.outline is piece.drawn and not piece.notes}
    )
    notes = []
    if unknown:
        notes.append(
            Note(
                "line-unknown",
                f"Neither file nor plan says whether {_all_or(unknown, pieces)} are drawn on the sew line or the cut line; "
                'seams are walked on what is drawn. Write line = "sew" or line = "cut" with an allowance in the plan.',
            )
        )
    if cut:
        notes.append(
            Note(
                "cut-line-walked",
                f"{_at_the_head(_all_or(cut, pieces))}: only the cut line is drawn and no allowance is known, so seams are walked on the "
                "cut line, which on a curve is longer or shorter than the sew line. Write allowance = ... in the plan.",
            )
        )
    return notes


def _at_the_head(words: str) -> str:
    return words[:1].upper() + words[1:]


def _all_or(names: Sequence[str], pieces: Sequence[Piece]) -> str:
    return (
        "the outlines"
        if len(names) == len({piece.name for piece in pieces})
        else "the outlines of " + ", ".join(names)
    )


def ledger_of(drawing: Drawing, used: Collection[int], laid_aside: Iterable[tuple[ClosedLine, str]]) -> Ledger:
    """The drawing's ledger with every entity moved aside of which no mark went into a shape.

    `used` are the marks that did, by identity, `laid_aside` the closed lines that are no part of any piece.
    """
    ledger = drawing.ledger
    if not ledger.read:
        return ledger
    why = {id(member): what for one, what in laid_aside for member in one.members}
    marks: list[Mark] = [*drawing.lines, *drawing.points, *drawing.texts]
    entities = {_entity(mark) for mark in marks if id(mark) in used}
    aside = Counter(ledger.aside)
    moved = 0
    for mark in marks:
        entity = _entity(mark)
        if entity not in entities and moved < ledger.used:
            entities.add(entity)
            aside[_kept_aside(mark, why.get(id(mark), ""))] += 1
            moved += 1
    return replace(ledger, used=ledger.used - moved, aside=dict(sorted(aside.items())))


def _entity(mark: Mark) -> str:
    return mark.place.entity or mark.place.words


def _kept_aside(mark: Mark, why: str) -> str:
    """A mark that is in no piece by kind and layer, and what it is as far as that is known."""
    kind = {LineMark: "line", PointMark: "point", TextMark: "text"}[type(mark)]
    where = f" on layer {mark.layer}" if mark.layer else ""
    if mark.hidden:
        return f"hidden {kind}{where}"
    why = why or (mark.role.value if mark.role else "in no piece")
    return f"{kind}{where}, {why}"
