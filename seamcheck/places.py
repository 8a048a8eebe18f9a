"""A place in a file, in words and as data."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a file something stands: words to find it by ("line 210", "element path7"), line and column from 1, and the entity of the file that it is part of."""

    words: str
    line: int | None = None
    column: int | None = None
    entity: str = ""

    def __str__(self) -> str:
        """The words."""
        return self.words

    def __bool__(self) -> bool:
        """Whether there are words."""
        return bool(self.words)


NOWHERE = Place("")  # what no file draws
