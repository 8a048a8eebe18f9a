"""Measures of what never changes, worked out once: trying a correction on one piece measures the others no second time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import wraps
from typing import TypeVar, TypeVarTuple


class Measured:
    """A thing that never changes, and keeps what was measured of it for as long as it lives itself."""

    __slots__ = ("_measures",)
    _measures: dict[tuple[object, ...], object]


Thing = TypeVar("Thing", bound=Measured)
Others = TypeVarTuple("Others")
Measure = TypeVar("Measure")


def kept(measure: Callable[[Thing, *Others], Measure]) -> Callable[[Thing, *Others], Measure]:
    """Make a measure of a thing be worked out once for the same further arguments; what was measured must be left as it is."""

    @wraps(measure)
    def once(thing: Thing, *others: *Others) -> Measure:
        key = (measure, *others)
        try:
            return thing._measures[key]  # type: ignore[return-value]  # by this very measure
        except AttributeError:
            object.__setattr__(thing, "_measures", {})
        except KeyError:
            pass
        found = thing._measures[key] = measure(thing, *others)
        return found

    return once


def kept_together(
    measure: Callable[[Sequence[tuple[Thing, *Others]]], list[Measure]],
) -> Callable[[Sequence[tuple[Thing, *Others]]], list[Measure]]:
    """The same of a measure that is worked out for many things at once: only what is not known yet is."""

    @wraps(measure)
    def once(asked: Sequence[tuple[Thing, *Others]]) -> list[Measure]:
        known = []
        for thing, *_ in asked:
            if not hasattr(thing, "_measures"):
                object.__setattr__(thing, "_measures", {})
            known.append(thing._measures)
        keys = [(measure, *others) for _, *others in asked]
        new = [k for k, key in enumerate(keys) if key not in known[k]]
        for k, found in zip(new, measure([asked[k] for k in new]) if new else (), strict=True):
            known[k][keys[k]] = found
        return [mine[key] for mine, key in zip(known, keys, strict=True)]  # type: ignore[misc]  # by this very measure

    return once
