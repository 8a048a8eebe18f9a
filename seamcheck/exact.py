"""What is measured comes out the same on every processor, and what is equal is chosen among alike.

Processors, and libraries of mathematics, round the last bit of a length or an angle differently. Two things keep that from
the result. What leaves the geometry is snapped to a grid, so that what is equal is equal to the bit and sums are exact in any order.
And who chooses by an amount takes what is equal to EXACT for equal: the first of them is taken, in an order that hangs on no amount.
The same for whole arrays is in `exact_arrays`.

So what leaves the geometry as a measure is `snapped`; who chooses by an amount uses `least`, `most`, `least_at` or a
rounded key; what is printed goes through `steady` before it is rounded. `tests/test_processors.py` drafts, judges
and writes under several sets of processor features, and once with every result that may be rounded otherwise moved
by a last bit (`tests/shaken.py`), and compares bytes. `python tests/processors.py` does so with every drawing,
which takes long, with `--shaken SEED` also moved.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TypeVar

EXACT = 1e-6  # mm (or degrees): amounts that differ by no more are equal
GRID = 2.0**33  # to the millimetre (degree): far finer than EXACT, and whole multiples of it add up without a loss

T = TypeVar("T")


def snapped(value: float) -> float:
    """A length in mm or an angle in degrees on the grid; what is not finite stays as it is."""
    return round(value * GRID) / GRID if math.isfinite(value) else value


def snapped_point(at: complex) -> complex:
    """A point with both coordinates on the grid."""
    return complex(snapped(at.real), snapped(at.imag))


def steady(value: float) -> float:
    """An amount as it is printed, whatever its last bits are: to 9 decimals, so that they tip no half, and never -0."""
    return round(float(value), 9) + 0.0


def root_of_squares(values: Iterable[float]) -> float:
    """The root of the sum of the squares of lengths or angles, on the grid: what uncertainties add up to."""
    return snapped(math.sqrt(sum(value * value for value in values)))


def least(items: Iterable[T], key: Callable[[T], float]) -> T:
    """The first of the items whose amount is least within EXACT; ValueError when there is none."""
    pairs = [(key(item), item) for item in items]
    low = min(amount for amount, _ in pairs)
    return next(item for amount, item in pairs if amount <= low + EXACT)


def most(items: Iterable[T], key: Callable[[T], float]) -> T:
    """The first of the items whose amount is greatest within EXACT; ValueError when there is none."""
    return least(items, key=lambda item: -key(item))
