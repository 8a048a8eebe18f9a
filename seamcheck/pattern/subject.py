"""What something that is found is about: a thing of the pattern in one size, by its name and its number and never by its place.

mouth   two corners that are laid on one another when a dart or a pleat is closed
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from seamcheck.pattern.model import Edge, Grainline, Notch, Piece

Kind = Literal[
    "pattern", "piece", "edge", "seam", "junction", "corner", "mouth", "notch", "grain", "fold", "hole", "line"
]


@dataclass(frozen=True, slots=True)
class Subject:
    """What a finding or a skip is about.

    `names` are those of the thing: "outseam" of a seam, "front.hem" of an edge, "front.side-hem" of a corner, all corners of a
    junction, the edge of a notch, the piece of what is drawn in it. `number` counts what has no name of its own, from 0: a
    junction among those of its size, a notch on its edge, an arrow, fold line, drill hole or inside line in its piece.
    """

    kind: Kind
    names: tuple[str, ...] = ()
    number: int | None = None

    @classmethod
    def named(cls, seam: str | None = None, edges: Sequence[str] = (), pieces: Sequence[str] = ()) -> Subject:
        """The seam, else the edges, else the pieces; the pattern where none is named."""
        if seam:
            return cls("seam", (seam,))
        if edges:
            return cls("edge", tuple(edges))
        return cls("piece", tuple(pieces)) if pieces else cls("pattern")

    @classmethod
    def corner(cls, piece: str, corner: str) -> Subject:
        """A corner of a piece."""
        return cls("corner", (f"{piece}.{corner}",))

    @classmethod
    def mouth(cls, piece: str, corners: tuple[str, str]) -> Subject:
        """The mouth of a dart or a pleat, by its corners in outline order."""
        return cls("mouth", tuple(f"{piece}.{corner}" for corner in corners))

    @classmethod
    def notch(cls, piece: Piece, edge: Edge, notch: Notch) -> Subject:
        """A notch of an edge."""
        return cls("notch", (f"{piece.name}.{edge.name}",), edge.notches.index(notch))

    @classmethod
    def drawn(cls, kind: Kind, piece: str, number: int) -> Subject:
        """A fold line, drill hole or inside line of a piece."""
        return cls(kind, (piece,), number)

    @classmethod
    def grain(cls, piece: Piece, grain: Grainline) -> Subject:
        """A grain arrow of a piece."""
        return cls("grain", (piece.name,), piece.grainlines.index(grain))


PATTERN = Subject("pattern")  # what is about no one thing
