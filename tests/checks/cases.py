"""What a case in the tables of seeded faults says: what was done to a skirt, and what must be found of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from skirt_making import Sheet
from skirt_nest import SkirtNest


@dataclass(frozen=True)
class Fault:
    """What was done, how, and what must be found of it: once, and nothing else above a note."""

    check: str
    code: str
    done: str
    sheet: Callable[[], Sheet | SkirtNest]
    severity: str
    amount: float | None = None
    seam: str | None = None
    piece: str | None = None
    edge: str | None = None
    says: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.check}/{self.code}: {self.done}".replace(" ", "-")


@dataclass(frozen=True)
class Passing:
    """A skirt in which a check has something to judge and nothing to say."""

    check: str
    done: str
    sheet: Callable[[], Sheet | SkirtNest]

    def __str__(self) -> str:
        return f"{self.check}: {self.done}".replace(" ", "-")
