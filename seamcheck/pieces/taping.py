"""Pieces that are printed on several sheets and drawn in parts: closed lines that share an edge which words say is taped or joined."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from seamcheck.exact import least
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.pattern.drawing import TextMark
from seamcheck.pattern.words import says_taped
from seamcheck.pieces.nesting import SMALLEST_PIECE, ClosedLine, closed_line

MEETS = 0.2  # mm: how near the ends of the two edges must lie
BESIDE = 20.0  # mm from the edge: how far the words may stand


def taped(candidates: Sequence[ClosedLine], texts: Sequence[TextMark]) -> list[ClosedLine]:
    """The closed lines, with those that are taped along an edge made one; the larger one speaks for both."""
    lines = list(candidates)
    for text in texts:
        if not says_taped(text.text):
            continue
        shared = [
            (edge.nearest(text.at).distance, one, other, k, j)
            for one, other, k, j, edge in _shared_edges(lines)
            if edge.nearest(text.at).distance <= BESIDE
        ]
        if shared:
            _, one, other, k, j = least(shared, key=lambda found: found[0])
            lines = [line for line in lines if line is not one and line is not other]
            lines.append(_joined(one, other, k, j))
    return lines


def _shared_edges(lines: Sequence[ClosedLine]) -> list[tuple[ClosedLine, ClosedLine, int, int, Curve]]:
    """Pairs of lines with a straight edge in common: which segments, and where."""
    large = [line for line in lines if line.area >= SMALLEST_PIECE]
    found = []
    for number, one in enumerate(large):
        for other in large[number + 1 :]:
            for k, j in _common(one.curve, other.curve):
                found.append((one, other, k, j, Curve(one.curve.segments[k : k + 1].copy())))
    return found


def _common(one: Curve, other: Curve) -> list[tuple[int, int]]:
    here = np.flatnonzero(straight(one.segments))
    there = np.flatnonzero(straight(other.segments))
    a, b = one.segments[here][:, [0, 3]], other.segments[there][:, [0, 3]]
    same = np.abs(a[:, None, :] - b[None, :, :]).max(axis=2) <= MEETS
    turned = np.abs(a[:, None, :] - b[None, :, ::-1]).max(axis=2) <= MEETS
    return [(int(here[k]), int(there[j])) for k, j in zip(*np.nonzero(same | turned), strict=True)]


def _joined(one: ClosedLine, other: ClosedLine, k: int, j: int) -> ClosedLine:
    """One line round both: each without the edge that they share."""
    first, second = (np.roll(line.curve.segments, -(at + 1), axis=0)[:-1] for line, at in ((one, k), (other, j)))
    if abs(first[-1, 3] - second[0, 0]) > abs(first[-1, 3] - second[-1, 3]):
        second = Curve(second).reversed().segments
    second = second.copy()
    second[0, 0], second[-1, 3] = first[-1, 3], first[0, 0]
    leader = one if one.named or one.area >= other.area else other
    return closed_line(
        Curve(np.concatenate([first, second])),
        leader.mark,
        (*one.members, *other.members),
        (),
        min(one.order, other.order),
    )
