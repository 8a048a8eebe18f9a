"""Entities that a pattern piece may be drawn with and that are not read: a note for each kind, so that none is lost in silence.

A fill or a picture is no outline by itself; but where nothing else is drawn there, the piece is in it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from seamcheck.pattern.drawing import Note
from seamcheck.reading.dxf.records import Entity

# By kind: what it is, and what to do so that it is read.
_KINDS = {
    "HELIX": "a helix",
    "MLINE": "a line of several strands",
    "REGION": "a region",
    "BODY": "a solid",
    "3DSOLID": "a solid",
    "SURFACE": "a surface",
    "MESH": "a mesh",
    "3DFACE": "a face",
    "SOLID": "a filled shape",
    "TRACE": "a filled shape",
    "HATCH": "the boundary of a fill",
    "MPOLYGON": "a filled polygon",
    "ACAD_PROXY_ENTITY": "something of another program",
}
SMALLEST = 20.0  # mm: what is smaller is no piece
PAPER = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE", "INSERT"})


def unread_notes(entities: Iterable[Entity], factor: float) -> list[Note]:
    """A note on the entities of each kind that a piece may be in; `factor` is mm per file unit."""
    found: dict[str, list[Entity]] = {}
    for entity in entities:
        if entity.kind in _KINDS and _may_be_piece(entity, factor):
            found.setdefault(entity.kind, []).append(entity)
    notes = []
    for kind, these in sorted(found.items()):
        where = ", ".join(f"{one.place} on layer {one.layer}" for one in these[:3])
        more = f" and {len(these) - 3} more" if len(these) > 3 else ""
        message = (
            f"{kind} is {_KINDS[kind]} and is not read ({where}{more}); a piece may be in it. Turn it into plain polylines "
            "in the drawing program (explode it) if it is one."
        )
        notes.append(Note("entity-not-read", message))
    return notes


def paper_notes(paper: Iterable[Entity]) -> list[Note]:
    """A note on lines that stand on a paper layout beside a model that is read."""
    kinds = Counter(entity.kind for entity in paper if entity.kind in PAPER)
    if not kinds:
        return []
    listed = ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))
    message = (
        f"What stands on a paper layout is not read ({listed}); move a piece that is drawn there to the model space."
    )
    return [Note("paper-not-read", message)]


def _may_be_piece(entity: Entity, factor: float) -> bool:
    """Whether the places that an entity names lie as far apart as those of a piece, or are not told."""
    places = [point for code in (10, 11, 12, 13) for point in entity.points(code)]
    if len(places) < 2 or entity.kind == "HELIX":
        return True
    x, y = [p.real for p in places], [p.imag for p in places]
    return max(max(x) - min(x), max(y) - min(y)) * factor >= SMALLEST
