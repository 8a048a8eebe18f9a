"""What follows from a plan so far: a pattern's pairing, kept while its drawing stays, and solved again with what the plan says."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.engine.read import read_whole
from seamcheck.pairing.again import Again
from seamcheck.pairing.plans import proposal_of
from seamcheck.pairing.propose import propose
from seamcheck.pieces.build import build_pattern
from seamcheck.watch.table import Solved

if TYPE_CHECKING:
    from collections.abc import Iterable

    from seamcheck.engine.workspace import Shops
    from seamcheck.pairing.again import Mate, Sides
    from seamcheck.pairing.proposal import Proposal
    from seamcheck.pattern.model import Pattern
    from seamcheck.pattern.plan import Plan
    from seamcheck.watch.job import Job


class Pairs:
    """The pairing of one drawing. SeamcheckError where it cannot be read."""

    def __init__(self, job: Job, shops: Shops) -> None:
        """Read the drawing and measure all that could be sewn."""
        settings, registry = shops.tolerant(str(job.path))
        self._reading = read_whole(str(job.path), replace(job.request, sizes=()), registry, settings)
        self._line = job.request.line
        self._allowance = job.request.allowance if job.request.allowance is not None else settings.allowance
        self._solution = propose(
            self._reading.drawing,
            self._reading.sheet,
            line=self._line,
            allowance=self._allowance,
            hints=registry.pairing_hints,
        )
        self._drawn = self._build(None, None)
        self._again: tuple[object, Again] | None = None

    def _build(self, plan: Plan | None, width: float | None = None) -> Pattern:
        return build_pattern(self._reading.drawing, self._reading.sheet, plan, line=self._line, allowance=width)

    def proposal(self, plan: Plan | None) -> Proposal:
        """The proposal that names all pieces and edges, behind a plan if there is one."""
        return proposal_of(self._solution, self._drawn, lambda one: self._build(one, self._allowance), plan)

    def solved(self, plan: Plan, refused: Iterable[Sides] = (), unknown: Iterable[str] = ()) -> Solved:
        """What is proposed beyond a plan, and what is asked next."""
        again = self._told(plan)
        again.tell(plan, unknown, refused)
        asked = again.question(plan)
        return Solved(again.proposed(plan), asked, again.mates(asked) if asked else ())

    def mates(self, plan: Plan, edge: str) -> tuple[Mate, ...]:
        """What an edge may be sewn to, by what was told last."""
        return self._told(plan).mates(edge)

    def _told(self, plan: Plan) -> Again:
        key = (plan.pieces, plan.darts, plan.pleats)
        if self._again is None or self._again[0] != key:
            self._again = key, Again(self._solution, self._drawn, self._build(plan, self._allowance))
        return self._again[1]
