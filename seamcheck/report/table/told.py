"""What the page shows, as plain data: pieces on a sheet, edges and what is known of them, seams and why they are proposed, findings and where.

Lengths are mm of cloth, places mm of paper on the sheet; `back` takes a place on the sheet to the file's axes, in the order of SVG's `matrix()`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from seamcheck.amounts import UNITS
from seamcheck.exact import steady
from seamcheck.pairing.plans import lengths_of
from seamcheck.pairing.proposal import Proposal, ProposedSeam, Standing
from seamcheck.pattern.model import UNSIZED, Pattern
from seamcheck.pattern.plan import DEFAULT_TOLERANCE, Plan
from seamcheck.report.layout import printable
from seamcheck.report.pairing.marks import ARROW, ARROW_AT, DASHES, HUES, SHAPES
from seamcheck.report.pairing.sheet import PLATE, REPEATED_AT, DrawnEdge, PairingSheet, PlatePlace, lay_out
from seamcheck.report.pairing.svg import drawing_of, drawn_as

if TYPE_CHECKING:
    from collections.abc import Mapping

    from seamcheck.engine.result import FileResult
    from seamcheck.geometry.curve import Affine
    from seamcheck.pattern.model import Edge, Piece
    from seamcheck.pattern.plan import EdgeUse

DIGITS = 2


def style() -> dict[str, Any]:
    """How seams are marked."""
    return {
        "shapes": SHAPES,
        "dashes": DASHES,
        "hues": len(HUES),
        "arrow": ARROW,
        "arrowAt": ARROW_AT,
        "plate": PLATE,
        "repeated": REPEATED_AT,
    }


def picture(proposal: Proposal, size: str | None = None, smallest: int = 0) -> tuple[dict[str, Any], PairingSheet]:
    """The pieces of one size as they lie on the table, and the sheet that they are drawn on; `smallest` is that of the last time."""
    sheet = lay_out(proposal, size, smallest)
    pieces = {piece.name: piece for piece in proposal.pattern.in_size(sheet.size)}
    edges = {f"{piece.name}.{edge.name}": (piece, edge) for piece in pieces.values() for edge in piece.edges}
    told = {edge.key: _edge(edge, *edges[edge.key]) for edge in sheet.edges()}
    named = [f"{piece.name}.{edge}" for piece in proposal.plan.pieces for edge in piece.edges]
    data = {
        "about": drawn_as(sheet),
        "width": _number(sheet.width),
        "height": _number(sheet.height),
        "scale": sheet.scale,
        "size": sheet.size,
        "sizes": [one for one in proposal.pattern.sizes if one != UNSIZED],
        "drawing": drawing_of(sheet, for_choosing=True),
        "edges": told,
        "order": list(told),
        "lost": [key for key in named if key not in told],
        "planned": {piece.name: list(piece.edges) for piece in proposal.plan.pieces},
        "pieces": {
            piece.name: {
                "box": [_number(value) for value in piece.box],
                "back": _matrix(piece.move.inverse()),
                "corners": {
                    corner.name: point(complex(piece.move.apply(corner.at))) for corner in pieces[piece.name].corners
                },
            }
            for piece in sheet.pieces
        },
    }
    return data, sheet


def of_plan(plan: Plan, text: str, file: str) -> dict[str, Any]:
    """A plan: its text, the name of its file, and its units."""
    return {
        "file": file,
        "text": text,
        "units": plan.units,
        "unit": UNITS[plan.units],
        "tolerance": plan.tolerance / UNITS[plan.units],
    }


def evidence(seam: ProposedSeam) -> dict[str, Any]:
    """Why a seam is proposed, and what else could be meant."""
    return {
        "confidence": round(steady(seam.confidence), 4),
        "reasons": [
            f"{'Against: ' if reason.weight < 0 else ''}{printable(reason.words)}"
            for reason in seam.reasons
            if reason.words
        ],
        "runnerUp": printable(seam.runner_up),
    }


def sides(both: tuple[tuple[EdgeUse, ...], tuple[EdgeUse, ...]]) -> list[list[dict[str, Any]]]:
    """Both sides of a seam, edge by edge."""
    return [[{"edge": use.name, "back": use.backwards} for use in side] for side in both]


def _edge(drawn: DrawnEdge, piece: Piece, edge: Edge) -> dict[str, Any]:
    return {
        "name": printable(drawn.name),
        "start": drawn.start,
        "end": drawn.end,
        "length": round(steady(drawn.length), 4),
        "drawn": _number(drawn.drawn_length),
        "forward": drawn.forward,
        "bands": drawn.bands,
        "track": [_place(place) for place in drawn.track],
        "stack": [_place(place) for place in drawn.stack],
        "ends": [point(end) for end in drawn.ends],
        "notches": [[round(steady(notch.station), 2), notch.count] for notch in edge.notches],
        "inner": [[name, round(steady(station), 2)] for name, station in edge.inner],
        "slant": _slant(piece, edge),
    }


def _slant(piece: Piece, edge: Edge) -> int | None:
    """The chord of an edge against the grain in degrees, 0 along to 90 across; None where there is no grain or no chord."""
    chord = edge.runs[-1].end - edge.runs[0].start
    grain = piece.grainlines[0].points[-1] - piece.grainlines[0].points[0] if piece.grainlines else 0j
    if abs(chord) < 1.0 or abs(grain) < 1.0:
        return None
    along = abs((chord * grain.conjugate()).real) / abs(chord) / abs(grain)
    return round(math.degrees(math.acos(min(steady(along), 1.0))))


def _place(place: PlatePlace) -> list[float]:
    return [_number(value) for value in (place.at.real, place.at.imag, place.foot.real, place.foot.imag, place.angle)]


def point(at: complex) -> list[float]:
    """A place on the sheet."""
    return [_number(at.real), _number(at.imag)]


def _number(value: float) -> float:
    return round(steady(value), DIGITS) + 0.0


def _matrix(move: Affine) -> list[float]:
    """A map as six numbers, in the order of SVG's `matrix()` (SVG 2, section 8.3)."""
    origin = complex(move.apply(0j))
    right, down = complex(move.apply(1 + 0j)) - origin, complex(move.apply(1j)) - origin
    return [round(steady(value), 9) for one in (right, down, origin) for value in (one.real, one.imag)]


def numbered(proposal: Proposal) -> Mapping[str, int]:
    """The number of every seam, by its name."""
    return {seam.seam.name: i for i, seam in enumerate(proposal.seams, 1)}


def proposal_of(file: FileResult) -> Proposal | None:
    """What was judged as a proposal in which all is written; None where nothing could be drawn."""
    if file.geometry is None or not file.geometry.pieces:
        return None
    pattern = Pattern(
        path=file.path,
        name=file.pattern,
        format="",
        units=file.units,
        y_down=file.geometry.pieces[0].y_down,
        sizes=file.sizes,
        pieces=file.geometry.pieces,
    )
    plan = file.geometry.plan or Plan(name=file.pattern)
    return written(pattern, plan, file.open_edges)


def written(pattern: Pattern, plan: Plan, open_edges: tuple[str, ...]) -> Proposal:
    """A plan with its pattern as a proposal that proposes nothing."""
    seams = tuple(
        ProposedSeam(seam=seam, standing=Standing.WRITTEN, confidence=1.0, lengths=lengths_of(seam, pattern))
        for seam in plan.seams
    )
    return Proposal(pattern=pattern, plan=plan, seams=seams, open_edges=open_edges)


def nothing() -> dict[str, Any]:
    """An empty table."""
    lists = ("sizes", "order", "lost", "proposals", "changed", "refused", "unknown")
    sheet = {"width": 100.0, "height": 60.0, "scale": 5.0, "unit": 1.0, "tolerance": DEFAULT_TOLERANCE}
    words = {"about": "", "size": "", "drawing": "", "units": "mm"}
    return {
        "edges": {},
        "planned": {},
        "pieces": {},
        "question": None,
        **{name: [] for name in lists},
        **sheet,
        **words,
    }
