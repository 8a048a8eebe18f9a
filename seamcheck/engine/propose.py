"""The seams of a pattern that has no plan, proposed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypeAlias

from seamcheck.engine.read import Reading, Request, read_whole
from seamcheck.errors import InputError

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.pairing.asking import Question, Reply
    from seamcheck.pairing.like import Lent, Memory
    from seamcheck.pairing.proposal import Proposal
    from seamcheck.pattern.model import Pattern
    from seamcheck.pattern.plan import Plan

Memories: TypeAlias = "Callable[[Pattern], Sequence[Memory]]"


def propose_seams(
    path: str,
    request: Request,
    registry: Registry,
    settings: Settings,
    reply: Callable[[Question], Reply] | None = None,
    like: Memories | None = None,
) -> Proposal:
    """Read a pattern and propose its seams, behind those of its plan if it has one; SeamcheckError when it cannot be read.

    `reply` answers questions of single edges, by which the rest is settled; `like` gives patterns that lend their plans.
    """
    reading = read_whole(path, replace(request, sizes=()), registry, settings)
    proposal = proposed(reading, request, registry, settings, reply, like)
    if not proposal.pattern.pieces:
        raise InputError(
            "no piece was found, so there is nothing to pair",
            path=path,
            remedy="see what was read with: seamcheck pieces FILE",
        )
    return proposal


def proposed(
    reading: Reading,
    request: Request,
    registry: Registry,
    settings: Settings,
    reply: Callable[[Question], Reply] | None = None,
    like: Memories | None = None,
) -> Proposal:
    """The seams that are proposed for what was read, behind those of its plan."""
    from seamcheck.pairing.asking import asked
    from seamcheck.pairing.plans import proposal_of
    from seamcheck.pairing.propose import propose, solution_of
    from seamcheck.pieces.build import build_pattern

    allowance = request.allowance if request.allowance is not None else settings.allowance

    def build(plan: Plan | None, width: float | None = allowance) -> Pattern:
        return build_pattern(reading.drawing, reading.sheet, plan, line=request.line, allowance=width)

    solution = propose(
        reading.drawing, reading.sheet, line=request.line, allowance=allowance, hints=registry.pairing_hints
    )
    offset = any(part.piece.outline is not part.piece.drawn for part in solution.parts)
    drawn = build(None, None) if offset or reading.plan is not None else reading.pattern
    lent: tuple[Lent, ...] = ()
    if like is not None:
        from seamcheck.pairing.like import lend

        memories = like(drawn)
        solution, lent = lend(memories, solution, drawn, build, reading.plan)
        if not lent:
            others = memories[0].name if len(memories) == 1 else "the patterns there"
            raise InputError(
                f"no piece of it is like one of {others}, so nothing can be lent",
                path=drawn.path,
                remedy="name a pattern of the same family with --like, or leave --like out",
            )
    if reply is not None and asked(solution.solver, reply):
        solution = replace(solution_of(solution.solver, solution.size), allowance=solution.allowance)
    return proposal_of(solution, drawn, build, reading.plan, lent)
