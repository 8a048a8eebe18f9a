"""What numpy does, quicker for the short arrays of a pattern.

Most arrays of a curve are so short that a call of numpy costs more than its work. So what is asked of many rows is asked of them
together (`batches`), and what is asked of one is put in fewer calls.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from typing import TypeVar

import numpy as np
import numpy.typing as npt

Reals = npt.NDArray[np.float64]
T = TypeVar("T")
Number = TypeVar("Number", bound=np.inexact)
Value = TypeVar("Value", bound=np.generic)

UNLIKE = 1.25  # rows that are longer than others by so much are not put together with them
MOST = 1 << 12  # values that are looked at together, so that they stay in the processor's cache


def differences(values: npt.NDArray[Number]) -> npt.NDArray[Number]:
    """What `numpy.diff` tells: each value less the one before it, along the last axis."""
    return np.asarray(values[..., 1:] - values[..., :-1])


def largest(values: npt.NDArray[Number]) -> npt.NDArray[Number]:
    """What `numpy.max` tells along the last axis, where that is short: of rows of few values each."""
    return np.asarray(reduce(np.maximum, [values[..., k] for k in range(values.shape[-1])]))


def each_once(values: Reals) -> Reals:
    """What `numpy.unique` tells of numbers, without all that it loads to ask whether some are masked."""
    ordered = np.sort(values)
    return np.concatenate([ordered[:1], ordered[1:][differences(ordered) > 0]])


def rolled(values: npt.NDArray[Value]) -> npt.NDArray[Value]:
    """For each value of a ring the one behind it, as `numpy.roll` by -1 tells."""
    return np.concatenate((values[1:], values[:1]))


def batches(
    rows: Sequence[npt.NDArray[Number]],
) -> Iterator[tuple[list[int], npt.NDArray[Number], npt.NDArray[np.intp]]]:
    """Rows of about one length together: their numbers, the rows one under the other, and how long each is.

    Shorter rows are filled up with their last value. What a row is filled up with never tells anything of another row.
    """
    order = sorted(range(len(rows)), key=lambda k: len(rows[k]))
    start = 0
    while start < len(order):
        longest = len(rows[order[start]]) * UNLIKE
        stop = start + 1
        while stop < len(order) and len(rows[order[stop]]) <= longest and (stop - start) * longest < MOST:
            stop += 1
        numbers = order[start:stop]
        lengths = np.array([len(rows[k]) for k in numbers])
        stacked = np.empty((len(numbers), lengths[-1]), dtype=rows[numbers[0]].dtype)
        for place, (k, length) in enumerate(zip(numbers, lengths.tolist(), strict=True)):
            stacked[place, :length], stacked[place, length:] = rows[k], rows[k][-1]
        yield numbers, stacked, lengths
        start = stop


def medians(values: Reals, counts: npt.NDArray[np.intp]) -> Reals:
    """The medians of rows, each of the first values of a row, so many as said."""
    asked = np.arange(values.shape[1]) < counts[:, None]
    ordered, each = np.sort(np.where(asked, values, np.inf), axis=1), np.arange(len(values))
    return np.asarray((ordered[each, (counts - 1) // 2] + ordered[each, counts // 2]) / 2)


def in_parts(rows: Sequence[T], sizes: Iterable[int], most: int = MOST) -> Iterator[Sequence[T]]:
    """Things in a row, of the given sizes, no more of them at a time than `most` allows."""
    start, total = 0, 0
    for k, size in enumerate(sizes):
        if total and total + size > most:
            yield rows[start:k]
            start, total = k, 0
        total += size
    if start < len(rows):
        yield rows[start:]
