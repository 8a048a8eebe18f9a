"""What a proposal of seams holds. The plan file, the picture and the page to confirm it by are made from this alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from seamcheck.amounts import count

if TYPE_CHECKING:
    from seamcheck.pattern.model import Pattern
    from seamcheck.pattern.plan import Plan, SeamPlan

FORMATS = ("toml", "json", "svg", "html")  # what one is written as


class Standing(StrEnum):
    """How a proposed seam stands: walked and judged, a best guess, put as a question, or written by a person."""

    SURE = "sure"
    GUESS = "guess"
    QUESTION = "question"
    WRITTEN = "written"  # it was in the plan already


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One piece of evidence: what it speaks of, whether for (1) or against (-1) the seam, and in words."""

    term: str
    weight: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedSeam:
    """A seam that is proposed, with its confidence (0 to 1), the reasons, and what else could be meant.

    `lengths` are those of the two sides in mm. `runner_up` says the next best partner in words, "" when there is none.
    """

    seam: SeamPlan
    standing: Standing
    confidence: float
    lengths: tuple[float, float]
    reasons: tuple[Reason, ...] = ()
    runner_up: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """The seams proposed for a pattern.

    `plan` names every corner and edge of every piece and lists all seams that are sure, were written by a person or
    are questions; `pattern` is the file read with that plan, so that both speak of the same names. `open_edges` are the
    edges ("piece.edge") for which no seam is proposed and that are neither unsewn nor a fold. `unnamed` tells in words of
    seams along edges that an older plan does not name, so that they cannot stand in it. `lent` tells of pieces that another
    pattern lent names, cut and edges which of its pieces they were taken for, and by what.
    """

    pattern: Pattern
    plan: Plan
    seams: tuple[ProposedSeam, ...]
    open_edges: tuple[str, ...] = ()
    unnamed: tuple[str, ...] = ()
    lent: Mapping[str, str] = field(default_factory=dict)

    def __repr__(self) -> str:
        """Return one line."""
        asked = sum(one.standing in (Standing.GUESS, Standing.QUESTION) for one in self.seams)
        told = f"{count(len(self.seams), 'seam')}, {asked} in question, {count(len(self.open_edges), 'open edge')}"
        return f"<Proposal {self.pattern.name}: {told}>"
