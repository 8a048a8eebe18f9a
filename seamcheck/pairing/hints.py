"""What a plugin knows of edges that are sewn together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class PairingHint:
    """What a plugin knows of two edges: that they are sewn together, how surely (0 to 1), and why.

    Edges are named as in a plan, "piece.edge"; "-" before a name walks the edge backwards.
    """

    first: str
    second: str
    confidence: float
    why: str
