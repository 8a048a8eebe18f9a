"""What numpy does, quicker for the short arrays of a pattern: most of a curve's arrays are so short that its calls cost more than their work."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

Reals = npt.NDArray[np.float64]
Number = TypeVar("Number", bound=np.generic)


def differences(values: npt.NDArray[Number]) -> npt.NDArray[Number]:
    """What `numpy.diff` tells: each value less the one before it, along the last axis."""
    return np.asarray(values[..., 1:] - values[..., :-1])  # type: ignore[operator]


def rolled(values: npt.NDArray[Number]) -> npt.NDArray[Number]:
    """For each value of a ring the one behind it, as `numpy.roll` by -1 tells."""
    return np.concatenate((values[1:], values[:1]))


def median(values: Reals) -> float:
    """What `numpy.median` tells of a row."""
    ordered = np.sort(values)
    return float(ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2
