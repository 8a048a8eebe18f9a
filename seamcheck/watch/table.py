"""One pattern as it lies on the table: what was read and found, and what is said and proposed of its seams. All of it is a value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult
    from seamcheck.pairing.again import Mate, Sides
    from seamcheck.pairing.proposal import Proposal, ProposedSeam
    from seamcheck.pattern.model import Edge, Piece

SEEN = 0.01  # mm by which a line lies elsewhere, to be told as changed


@dataclass(frozen=True, slots=True)
class Solved:
    """What follows from the plan so far: seams that are proposed beyond it, and the edge that it tells most to ask of, with its mates."""

    proposed: tuple[ProposedSeam, ...] = ()
    question: str | None = None
    mates: tuple[Mate, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A state of one pattern. `version` grows with each; `shown` is what is drawn, None where nothing could be.

    `text` is its plan, in the file if `base`, the digest of that file, is not "", else as it would be written first. `refused` are sides that
    are no seam, `unknown` the edges that nobody knows anything of. `changed` are the edges that the last save of the drawing
    changed, by size. `trouble` says in a sentence why what is shown is not the newest.
    """

    version: int
    drawing: str  # the digest of the pattern's file
    base: str
    text: str
    result: FileResult | None = None
    shown: Proposal | None = None
    solved: Solved = field(default_factory=Solved)
    refused: tuple[Sides, ...] = ()
    unknown: tuple[str, ...] = ()
    changed: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    trouble: str = ""


def changed_since(before: Proposal | None, after: Proposal) -> dict[str, tuple[str, ...]]:
    """The edges that lie otherwise on their pieces than before, by size; a piece that was only moved has not changed."""
    if before is None:
        return {}
    old = {(piece.name, piece.size): piece for piece in before.pattern.pieces}
    found: dict[str, tuple[str, ...]] = {}
    for piece in after.pattern.pieces:
        was = old.get((piece.name, piece.size))
        if was is not None:
            found[piece.size] = (*found.get(piece.size, ()), *_changed(was, piece))
    return found


def _changed(before: Piece, after: Piece) -> Iterator[str]:
    old = {edge.name: edge for edge in before.edges}
    for edge in after.edges:
        was = old.get(edge.name)
        if was is None or not _is_same(was, edge):
            yield f"{after.name}.{edge.name}"


def _is_same(one: Edge, other: Edge) -> bool:
    """Whether two edges are alike but for where they lie: same lines from their start, same notches."""
    if len(one.runs) != len(other.runs) or len(one.notches) != len(other.notches):
        return False
    if not one.runs:
        return True
    starts = one.runs[0].start, other.runs[0].start
    for a, b in zip(one.runs, other.runs, strict=True):
        if a.segments.shape != b.segments.shape:
            return False
        if float(np.abs((a.segments - starts[0]) - (b.segments - starts[1])).max()) > SEEN:
            return False
    pairs = zip(one.notches, other.notches, strict=True)
    return all(abs(a.station - b.station) <= SEEN and a.count == b.count for a, b in pairs)


def told(table: Table, picture: dict[str, Any], verdict: dict[str, Any] | None, size: str) -> dict[str, Any]:
    """A table as the page takes it, with the picture of one size and what was found there."""
    from seamcheck.report.table.told import of_plan

    assert table.shown is not None
    return {
        **picture,
        **of_plan(table.shown.plan, table.text, ""),
        "version": table.version,
        "base": table.base,
        "verdict": verdict,
        "changed": list(table.changed.get(size, ())),
        "trouble": table.trouble,
        "refused": [_sides(one) for one in table.refused],
        "unknown": list(table.unknown),
        **solved(table),
    }


def solved(table: Table) -> dict[str, Any]:
    """What is proposed beyond the plan, and what is asked."""
    from seamcheck.amounts import UNITS
    from seamcheck.report.table.told import evidence, sides

    unit = UNITS[table.shown.plan.units] if table.shown is not None else 1.0
    proposals = [
        {
            "name": one.seam.name,
            "sides": sides(one.seam.sides),
            "ease": [value / unit for value in one.seam.ease] if one.seam.ease else None,
            "ratio": list(one.seam.ratio) if one.seam.ratio else None,
            **evidence(one),
        }
        for one in table.solved.proposed
    ]
    asked = table.solved.question
    return {
        "proposals": proposals,
        "question": None if asked is None else {"edge": asked, "mates": mates(table.solved.mates)},
    }


def mates(found: tuple[Mate, ...]) -> list[dict[str, Any]]:
    """What an edge may be sewn to."""
    from seamcheck.exact import steady
    from seamcheck.report.layout import printable

    return [
        {
            "sides": _sides(one.sides),
            "likely": round(steady(one.likely), 4),
            "otherWay": one.other_way,
            "reasons": [
                f"{'but ' if why.weight < 0 else ''}{printable(why.words)}" for why in one.reasons if why.words
            ],
        }
        for one in found
    ]


def _sides(both: Sides) -> list[list[dict[str, Any]]]:
    from seamcheck.report.table.told import sides

    return sides(both)
