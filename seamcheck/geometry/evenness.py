"""Does a measure run evenly from size to size? Numbers alone, in whatever unit.

step     what a measure grows by from one size to the next
rate     a step for one unit of the sizes' positions, so that 36, 38, 42 may be compared
out      a size that breaks a run which is even without it
jump     a place where the run goes on with a step of more than twice the one before, or less than half of it

Steps of one sign and within twice their neighbour are even: common practice in grading, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

TWICE = 2.0  # how much more than its neighbour a step may be


@dataclass(frozen=True, slots=True)
class Uneven:
    """A size whose measure lies where its neighbours do not put it.

    `index` is the size, `before` and `after` its neighbours in the run (one is None at the run's end). `low` to
    `high` is what they allow, `even` what it would be if the run went on evenly. `out` tells a size that is out from
    a jump.
    """

    index: int
    before: int | None
    after: int | None
    value: float
    low: float
    high: float
    even: float
    out: bool

    @property
    def deviation(self) -> float:
        """How far the measure lies outside what is allowed; signed, 0 within."""
        return self.value - min(max(self.value, self.low), self.high)

    def of_groups(self, groups: Sequence[Sequence[int]]) -> Uneven:
        """The same, where each size of the run stands for a group of sizes."""
        before = None if self.before is None else groups[self.before][-1]
        after = None if self.after is None else groups[self.after][0]
        return replace(self, index=groups[self.index][0], before=before, after=after)


def uneven(positions: Sequence[float], values: Sequence[float], least: float) -> list[Uneven]:
    """The sizes that break an even run by more than `least`, in the order of the run.

    `positions` must rise; values are one for each. Fewer than three sizes are always even.
    """
    found = _uneven(list(range(len(values))), positions, values, least)
    return sorted(found, key=lambda one: one.index)


def _uneven(run: list[int], positions: Sequence[float], values: Sequence[float], least: float) -> list[Uneven]:
    inner = [_inside(run, k, positions, values) for k in range(1, len(run) - 1)]
    worst = max(inner, key=lambda one: round(abs(one.deviation), 6), default=None)
    if worst is None or abs(worst.deviation) <= least:
        return []
    k = run.index(worst.index)
    rates = _rates(run, positions, values)
    # Which of the three sizes is to blame: the one without which the run is smoothest. Of three sizes none can be
    # told, unless the middle one goes against the other two.
    without = {j: _roughness(_rates(run[:j] + run[j + 1 :], positions, values)) for j in (k, k - 1, k + 1)}
    blamed = min(without, key=lambda j: round(without[j], 6))
    explained = _roughness(rates) - without[blamed] >= abs(rates[k] - rates[k - 1]) / 2
    turns_back = rates[k - 1] * rates[k] < 0
    if explained and (len(run) > 3 or turns_back):
        blame = worst if blamed == k else _at_the_end(run, blamed, positions, values) or worst
        rest = [index for index in run if index != blame.index]
        return [blame, *_uneven(rest, positions, values, least)]
    jump = Uneven(
        worst.index, worst.before, worst.after, worst.value, worst.low, worst.high, worst.even, out=turns_back
    )
    return [
        jump,
        *_uneven(run[: k + 1], positions, values, least),
        *_uneven(run[k:], positions, values, least),
    ]


def _rates(run: Sequence[int], positions: Sequence[float], values: Sequence[float]) -> list[float]:
    return [(values[j] - values[i]) / (positions[j] - positions[i]) for i, j in pairwise(run)]


def _roughness(rates: Sequence[float]) -> float:
    return sum(abs(b - a) for a, b in pairwise(rates))


def _inside(run: Sequence[int], k: int, positions: Sequence[float], values: Sequence[float]) -> Uneven:
    """A size between two others: its steps may differ by twice, and both go the same way."""
    i, index, j = run[k - 1 : k + 2]
    first, second = positions[index] - positions[i], positions[j] - positions[index]
    whole = values[j] - values[i]
    # With rates r and s and r between s / 2 and 2 s, the first step is r * first of r * first + s * second.
    ends = [values[i] + whole * first / (first + second * share) for share in (TWICE, 1 / TWICE)]
    even = values[i] + whole * first / (first + second)
    return Uneven(index, i, j, values[index], min(ends), max(ends), even, out=True)


def _at_the_end(run: Sequence[int], k: int, positions: Sequence[float], values: Sequence[float]) -> Uneven | None:
    """The first or the last size: its one step may differ from the next by twice. None for a size inside the run."""
    if k not in (0, len(run) - 1):
        return _inside(run, k, positions, values)
    index, near, far = run[:3] if k == 0 else run[:-4:-1]
    rate = (values[near] - values[far]) / (positions[near] - positions[far])
    step = rate * (positions[index] - positions[near])
    ends = [values[near] + step / TWICE, values[near] + step * TWICE]
    before, after = (None, near) if k == 0 else (near, None)
    return Uneven(index, before, after, values[index], min(ends), max(ends), values[near] + step, out=True)
