"""The similarity that brings most of some points to others, though a few of them moved."""

from __future__ import annotations

import numpy as np

from seamcheck.geometry.bezier import Flags, Points, Reals
from seamcheck.geometry.curve import Affine

LARGEST_SCALE = 1.12  # between neighbouring sizes of a piece; wider runs are still found, at a cost


def best_fit(plan: Points, target: Points, *, mirrored: bool, scaled: bool, start: Reals | None = None) -> Affine:
    """The similarity (rigid unless `scaled`) that brings most of the plan points to their targets; see `best_fits`."""
    (fit,) = best_fits(
        plan,
        target[None],
        mirrored=np.array([mirrored]),
        scaled=np.array([scaled]),
        start=None if start is None else start[None],
    )
    return fit


def best_fits(
    plan: Points, targets: Points, *, mirrored: Flags, scaled: Flags, start: Reals | None = None
) -> list[Affine]:
    """For each row of targets the similarity (rigid unless `scaled`) that brings most of the plan points to them.

    `mirrored` and `scaled` tell of each row whether it may be so. Iteratively reweighted least squares for the long-tailed error law,
    from the weights `start` on, with its scale narrowed step by step (Holland and Welsch, "Robust regression using iteratively
    reweighted least-squares", 1977).
    """
    mirrored, scaled = mirrored[:, None], scaled[:, None]
    source = np.where(mirrored, np.conj(plan), plan)
    weights = np.ones(targets.shape) if start is None else start
    turn, shift = np.ones(mirrored.shape, dtype=np.complex128), np.zeros(mirrored.shape, dtype=np.complex128)
    for scale in (30.0, 12.0, 5.0, 2.0, 1.0, 1.0, 0.5, 0.5):
        weights = weights / _sums(weights)
        from_middle, to_middle = _sums(weights * source), _sums(weights * targets)
        spread = source - from_middle
        turn = _sums(weights * np.conj(spread) * (targets - to_middle))
        size, power = np.abs(turn), _sums(weights * (spread.real**2 + spread.imag**2))
        untold = (power < 1e-9) | (size < 1e-12)
        grown = np.clip(size / np.where(untold, 1.0, power), 1 / LARGEST_SCALE, LARGEST_SCALE)
        turn = np.where(untold, 1.0, turn / np.where(untold, 1.0, size) * np.where(scaled, grown, 1.0))
        shift = to_middle - turn * from_middle
        weights = 1 / (1 + (np.abs(turn * source + shift - targets) / scale) ** 2)
    told = zip(mirrored.ravel().tolist(), turn.ravel().tolist(), shift.ravel().tolist(), strict=True)
    return [Affine(0j, a, c) if mirrors else Affine(a, 0j, c) for mirrors, a, c in told]


def _sums(values: np.ndarray) -> np.ndarray:
    return np.asarray(values.sum(axis=1, keepdims=True))
