"""The similarity that brings most of some points to others, though a few of them moved."""

from __future__ import annotations

import numpy as np

from seamcheck.geometry.bezier import Points, Reals
from seamcheck.geometry.curve import Affine

LARGEST_SCALE = 1.12  # between neighbouring sizes of a piece; wider runs are still found, at a cost


def best_fit(plan: Points, target: Points, *, mirrored: bool, scaled: bool, start: Reals | None = None) -> Affine:
    """The similarity (rigid unless `scaled`) that brings most of the plan points to their targets.

    Iteratively reweighted least squares for the long-tailed error law, with its scale narrowed step by step
    (Holland and Welsch, "Robust regression using iteratively reweighted least-squares", 1977).
    """
    source = np.conj(plan) if mirrored else plan
    weights = np.ones(len(plan)) if start is None else start
    turn, shift = 1 + 0j, 0j
    for scale in (30.0, 12.0, 5.0, 2.0, 1.0, 1.0, 0.5, 0.5):
        weights = weights / weights.sum()
        from_middle, to_middle = complex(weights @ source), complex(weights @ target)
        spread = source - from_middle
        turn = complex((weights * np.conj(spread)) @ (target - to_middle))
        power = float(weights @ np.abs(spread) ** 2)
        if power < 1e-9 or abs(turn) < 1e-12:
            turn = 1 + 0j
        elif scaled:
            turn /= power
            size = abs(turn)
            turn *= min(max(size, 1 / LARGEST_SCALE), LARGEST_SCALE) / size
        else:
            turn /= abs(turn)
        shift = to_middle - turn * from_middle
        weights = 1 / (1 + (np.abs(turn * source + shift - target) / scale) ** 2)
    return Affine(0j, turn, shift) if mirrored else Affine(turn, 0j, shift)
