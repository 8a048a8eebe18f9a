"""The band of a seam, and how the sides of a walked seam are named."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck.amounts import Fact, Listed, Name, Unit
from seamcheck.checks.base import ROUNDED, Context, Skip, Tolerance
from seamcheck.exact import least

if TYPE_CHECKING:
    from seamcheck.checks.base import Context
    from seamcheck.pattern.seams import Side
    from seamcheck.pattern.walk import Span, Walk

SIXTEENTH = 1.6  # mm: 1/16 in, what a meticulous fitting teacher allows between two sides of a seam
ROUNDING_STEPS = 3  # a seam between two points moved by a rounded rule table may be off by this many of its steps


def without_seams(context: Context) -> Iterator[Skip]:
    """The skip of a pattern of which no seam could be walked; nothing where one could."""
    if not context.walks:
        yield Skip(reason="no-seams", why="no seam could be walked")


def seam_tolerance(context: Context, walk: Walk) -> Tolerance | None:
    """The band of a seam: its own, else the plan's; None leaves it to the shop's settings and the default.

    In a size that was computed from a rule table the band is at least three rounding steps of the table.
    """
    stated = _stated(context, walk)
    steps = [float(context.pieces[name].labels.get("rounding", 0.0)) for name in pieces_of(walk)]
    least = ROUNDING_STEPS * max(steps, default=0.0)
    if least > (stated.value if stated else _general(context, walk)):
        return Tolerance(least, Unit.LENGTH, ROUNDED, f"size {context.size}")
    return stated


def _stated(context: Context, walk: Walk) -> Tolerance | None:
    """What the plan states, for the seam or for all."""
    path, own = context.plan.path if context.plan else "", walk.seam.plan.tolerance
    if own is not None:
        return Tolerance(own, Unit.LENGTH, path, f"seam {walk.name}")
    if context.plan is not None and context.plan.states_tolerance:
        return Tolerance(context.plan.tolerance, Unit.LENGTH, path)
    return None


def band(context: Context, walk: Walk) -> float:
    """The tolerance in force for a seam's length, in mm."""
    own = seam_tolerance(context, walk)
    return own.value if own else _general(context, walk)


def _general(context: Context, walk: Walk) -> float:
    """The band of seams that have none of their own: the shop's for being short or long, or for both, or the default."""
    code = "short" if walk.deviation < 0 else "long"
    tolerance = context.settings.tolerance
    return tolerance(f"seam-length/{code}", "mm") or tolerance("seam-length", "mm") or SIXTEENTH


def culprit(walk: Walk, tolerance: float) -> Span | None:
    """The one span that carries a seam's whole difference, if one does."""
    if abs(walk.deviation) <= tolerance / 2 or len(walk.spans) < 2:
        return None
    span = least(walk.spans, key=lambda span: abs(span.deviation - walk.deviation))
    rest = abs(span.deviation - walk.deviation)
    return span if rest <= tolerance / 2 and rest < abs(walk.deviation) / 2 else None


def pieces_of(walk: Walk) -> tuple[str, ...]:
    """The pieces of both sides, each once."""
    return tuple(dict.fromkeys((*walk.seam.first.pieces, *walk.seam.second.pieces)))


def edges_of(walk: Walk) -> tuple[str, ...]:
    """The edges of both sides, each once, as "piece.edge"."""
    return tuple(dict.fromkeys(use.name for use in (*walk.seam.first.uses, *walk.seam.second.uses)))


def sides_of(walk: Walk, *, first_is_short: bool) -> tuple[Fact, Fact]:
    """The short and the long side of a seam by the names of their edges."""
    names = named(walk.seam.first), named(walk.seam.second)
    return names if first_is_short else (names[1], names[0])


def named(side: Side) -> Fact:
    """A side by the names of its edges, whichever way they are walked."""
    return Listed(tuple(Name(use.name) for use in side.uses), between=" + ", last=" + ")
