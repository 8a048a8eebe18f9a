"""What `exact` does, for whole arrays."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT, GRID

Reals = npt.NDArray[np.float64]


def snapped_all(values: Reals) -> Reals:
    """Lengths in mm or angles in degrees on the grid; what is not finite stays as it is."""
    return np.asarray(np.rint(values * GRID) / GRID + 0.0)


def median_of(amounts: npt.ArrayLike) -> float:
    """The middle one of some amounts, or the mean of the middle two; not a number where there are none.

    That of numpy first loads its masked arrays, which takes longer than most of what it is asked for here.
    """
    row = np.sort(np.asarray(amounts, dtype=np.float64))
    return float(row[(len(row) - 1) // 2] + row[len(row) // 2]) / 2 if len(row) else np.nan


def least_at(amounts: npt.ArrayLike) -> int:
    """Where in a row the least amount stands: the first place where it does within EXACT."""
    row = np.asarray(amounts, dtype=np.float64)
    return int(np.argmax(row <= row.min() + EXACT))


def most_at(amounts: npt.ArrayLike) -> int:
    """Where in a row the greatest amount stands: the first place where it does within EXACT."""
    return least_at(-np.asarray(amounts, dtype=np.float64))
