"""Proposals for tests, made of plans that are true: some of their seams are put as questions."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache
from pathlib import Path

import judging
from drafted import drafted

from seamcheck.pairing.proposal import Proposal, ProposedSeam, Reason, Standing
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import Plan, SeamPlan

FIXTURES = Path(__file__).parents[2] / "fixtures"
DEMO = FIXTURES / "ferryhand"
CORPUS = drafted("corpus")
DEMO_TEXT = (DEMO / "ferryhand.seams.toml").read_text(encoding="utf-8")

AGREE = Reason(term="length", weight=2.0, words="the lengths agree within 0.1 mm")
NO_MATE = Reason(term="notches", weight=-0.5, words="one notch of the first side has no mate")


def read_true(path: Path, plan: Path) -> tuple[Pattern, Plan]:
    pattern, read_plan = judging.opened(path, plan=plan)
    assert read_plan is not None
    return pattern, read_plan


def proposed(pattern: Pattern, plan: Plan, asked: Collection[str] = ()) -> Proposal:
    """The plan's seams as sure, those named in `asked` as questions."""
    used = {(use.piece, use.edge) for seam in plan.seams for side in seam.sides for use in side}
    return Proposal(
        pattern=pattern,
        plan=plan,
        seams=tuple(_seam(seam, pattern, asked=seam.name in asked) for seam in plan.seams),
        open_edges=tuple(
            f"{piece.name}.{edge}"
            for piece in plan.pieces
            for edge in piece.edges
            if (piece.name, edge) not in used and edge not in piece.unsewn and edge != piece.fold
        ),
    )


def _seam(seam: SeamPlan, pattern: Pattern, *, asked: bool) -> ProposedSeam:
    pieces = {piece.name: piece for piece in pattern.in_size(pattern.sizes[0])}
    first, second = (sum(pieces[use.piece].edge(use.edge).length for use in side) for side in seam.sides)
    return ProposedSeam(
        seam=seam,
        standing=Standing.QUESTION if asked else Standing.SURE,
        confidence=0.62 if asked else 0.97,
        lengths=(first, second),
        reasons=(AGREE, NO_MATE) if asked else (AGREE,),
        runner_up="back.hem, 12.0 mm shorter" if asked else "",
    )


@cache
def demo(*asked: str, form: str = "ferryhand.svg") -> Proposal:
    path = DEMO / form
    return proposed(*read_true(path, path.with_suffix(".seams.toml")), asked)


def corpus(name: str, *asked: str) -> Proposal:
    path = next(path for path in CORPUS.glob(f"{name}.*") if path.suffix in (".svg", ".dxf"))
    return proposed(*read_true(path, path.with_suffix(".seams.toml")), asked)


def asking(text: str, *names: str) -> str:
    """A plan's text with some of its seams put behind "#"."""
    blocks = text.split("\n\n")
    for i, block in enumerate(blocks):
        if any(f'name = "{name}"' in block for name in names):
            blocks[i] = "\n".join(["# Is this a seam?", *(f"# {line}" for line in block.splitlines())])
    return "\n\n".join(blocks)
