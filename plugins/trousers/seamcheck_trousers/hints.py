"""Which edges of a front and a back leg are sewn together, told by shape alone: no edge need have a name.

A leg is longer than it is wide. Its two longest edges are outseam and inseam; of these the outseam is the longer, for it goes up to
the waist. The edge between their lower ends is the hem.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from seamcheck_trousers.pairs import side

from seamcheck.plugin import PairingHint

if TYPE_CHECKING:
    from seamcheck.plugin import Edge, Pattern, Piece

LEAST = 300.0  # mm: the seams of a leg are longer
RISE = 1.1  # how much longer an outseam is than the inseam: it has the height of the seat as well
ALIKE = 0.1  # of the length: how far the seams of front and back may differ and still be meant for one another
SURE = {True: 0.9, False: 0.6}  # whether the lengths are within a fiftieth


class _Seams(NamedTuple):
    piece: Piece
    outseam: Edge
    inseam: Edge
    hem: Edge


def hints(pattern: Pattern) -> Iterator[PairingHint]:
    """Hints for the first size: outseams and inseams of front and back, both walked from the hem."""
    pieces = pattern.in_size(pattern.sizes[0]) if pattern.sizes else ()
    found: dict[str, list[_Seams]] = {"front": [], "back": []}
    for piece in pieces:
        part = side(f"{piece.name} {piece.in_file}")
        seams = _seams(piece) if part else None
        if part and seams:
            found[part].append(seams)
    for front in found["front"]:
        for back in found["back"]:
            for name in ("outseam", "inseam"):
                one, other = getattr(front, name), getattr(back, name)
                apart = abs(one.length - other.length) / max(one.length, other.length)
                if apart <= ALIKE:
                    yield PairingHint(
                        first=_from_hem(front, one),
                        second=_from_hem(back, other),
                        confidence=SURE[apart <= 0.02],
                        why=f"{front.piece.name} and {back.piece.name} are trouser legs, and these are their {name}s",
                    )


def _seams(piece: Piece) -> _Seams | None:
    """Outseam, inseam and hem of a leg; None where the piece is no leg, or it is not sure which edge is which."""
    long = sorted(
        (edge for edge in piece.edges if edge.length >= LEAST and not edge.inside), key=lambda edge: -edge.length
    )
    if len(long) < 2 or long[0].length < RISE * long[1].length:
        return None
    outseam, inseam = long[:2]
    for edge in piece.edges:
        ends = {edge.start, edge.end}
        touches = [ends & {one.start, one.end} for one in (outseam, inseam)]
        if edge not in (outseam, inseam) and all(touches) and touches[0] != touches[1]:
            others = [one for one in piece.edges if one not in (outseam, inseam, edge)]
            return _Seams(piece, outseam, inseam, edge) if others else None
    return None


def _from_hem(seams: _Seams, edge: Edge) -> str:
    at_hem = edge.start in (seams.hem.start, seams.hem.end)
    return f"{'' if at_hem else '-'}{seams.piece.name}.{edge.name}"
