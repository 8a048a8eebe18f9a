"""Measures of what never changes, worked out once: trying a correction on one piece measures the others no second time."""

from __future__ import annotations

from collections.abc import Callable
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
