"""The edges of a piece that was traced by hand: as long as the curves that their chords sample, and how far they may be off.

One hand drew all of a piece, so that the edges which are long enough to show noise tell that of those which are not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from seamcheck.exact import snapped
from seamcheck.geometry.traced_length import Traced
from seamcheck.pattern.drawing import LengthSource
from seamcheck.pattern.model import Edge, usual_noise


def as_curves(edges: Sequence[Edge], traced: Iterator[Traced]) -> tuple[Edge, ...]:
    """The edges of a piece with their noise, as long as what was `traced` of their runs; those inside it stay as they are."""
    found = [[] if edge.inside else [next(traced) for _ in edge.runs] for edge in edges]
    made = [_as_curve(edge, mine) if mine else edge for edge, mine in zip(edges, found, strict=True)]
    usual = usual_noise(made)
    return tuple(
        edge if edge.noise or not usual or any(one.tells for one in mine) else replace(edge, noise=usual)
        for edge, mine in zip(made, found, strict=True)
    )


def _as_curve(edge: Edge, found: Sequence[Traced]) -> Edge:
    """The edge as long as the curve that its chords sample, where they go to and fro beside it; its marks move with it."""
    noise = max(one.noise for one in found)
    if noise == 0.0:
        return edge
    drawn, smooth = edge.length, sum(one.length for one in found)
    share = smooth / drawn
    return replace(
        edge,
        smoothing=share,
        noise=noise,
        notches=tuple(replace(one, station=snapped(one.station * share)) for one in edge.notches),
        inner=tuple((name, snapped(station * share)) for name, station in edge.inner),
        source=LengthSource.SMOOTHED,
        chord_difference=snapped(smooth - drawn),
    )
