"""What should be said of the outlines of a drawing, though they were read: gaps, crossings, double contours."""

from __future__ import annotations

from collections.abc import Sequence

from seamcheck.marks import Block, Note
from seamcheck.nesting import Candidate, Nested, is_double_contour

SILENT_GAP = 0.05  # mm: ends nearer than this meet as drawn
CROSSINGS_SHOWN = 3


def outline_notes(nested: Nested, block: Block | None) -> list[Note]:
    """Notes on every piece: what was bridged to close it, where it crosses itself, what runs beside it all round."""
    notes: list[Note] = []
    for piece in nested.pieces:
        called = block.piece if block else piece.mark.label or piece.mark.place
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


def _gaps(piece: Candidate, called: str) -> list[Note]:
    wide = [(gap, at) for gap, at in piece.gaps if gap > SILENT_GAP]
    if not wide:
        return []
    places = "; ".join(f"{gap:.2f} mm at ({at.real:.1f}, {at.imag:.1f})" for gap, at in wide)
    return [Note("gap-bridged", f"{called}: the outline was closed by joining ends that miss each other: {places}.")]


def _crossings(piece: Candidate, called: str) -> list[Note]:
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
