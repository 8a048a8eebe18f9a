"""Proposals for tests, made of plans that are true: some of their seams are put as questions."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from functools import cache
from pathlib import Path

import judging
from drafted import drafted

from seamcheck.pairing.proposal import Proposal, ProposedSeam, Reason, Standing
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import DartPlan, EdgeUse, Plan, SeamPlan

FIXTURES = Path(__file__).parents[2] / "fixtures"
DEMO = FIXTURES / "ferryhand"
CORPUS = drafted("corpus")
DEMO_TEXT = (DEMO / "ferryhand.seams.toml").read_text(encoding="utf-8")

AGREE = Reason(term="length", weight=2.0, words="the lengths agree within 0.1 mm")
NO_MATE = Reason(term="notches", weight=-0.5, words="one notch of the first side has no mate")

# Names out of a file that means no good.
BAD = (
    '</script><img src=x onerror="boom=1">',
    "a & b <i>",
    'say "hem"\\ \u2028 \x07 é 縫',
    "{{data}} ${x}",
    "\u202eturned \u2066round",
)


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


def hostile() -> Proposal:
    """The demo with names from a file that means no good."""
    good = demo("waist-back")
    pieces = {piece.name: f"{piece.name} {bad}" for piece, bad in zip(good.plan.pieces, BAD * 2, strict=False)}
    edges = {("front", "hem"): BAD[0], ("back", "hem"): BAD[2]}

    def use(one):
        return EdgeUse(pieces[one.piece], edges.get((one.piece, one.edge), one.edge), one.backwards)

    def piece_plan(piece):
        named = {edges.get((piece.name, name), name): way for name, way in piece.edges.items()}
        unsewn = tuple(edges.get((piece.name, name), name) for name in piece.unsewn)
        return replace(piece, name=pieces[piece.name], in_file=piece.in_file, edges=named, unsewn=unsewn)

    plan = replace(
        good.plan,
        name="Kit room </title><script>boom=1</script>",
        pieces=tuple(map(piece_plan, good.plan.pieces)),
        darts=tuple(DartPlan(piece=pieces[dart.piece], corners=dart.corners) for dart in good.plan.darts),
        seams=tuple(
            replace(seam, name=f"{seam.name} {BAD[0]}", sides=tuple(tuple(map(use, side)) for side in seam.sides))
            for seam in good.plan.seams
        ),
    )
    pattern = replace(
        good.pattern,
        name=plan.name,
        pieces=tuple(
            replace(
                piece,
                name=pieces[piece.name],
                edges=tuple(
                    replace(edge, name=edges.get((piece.name, edge.name), edge.name)) for edge in piece.edges
                ),
            )
            for piece in good.pattern.pieces
        ),
    )
    return proposed(pattern, plan, [f"waist-back {BAD[0]}"])
