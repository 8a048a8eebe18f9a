"""The keys of the files that people write, each declared once: the reader takes what is declared, and `explain` tells it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple


class Key(NamedTuple):
    """One key: a value as it may be written, in TOML, and what it means."""

    value: str
    meaning: str


class TableKeys(NamedTuple):
    """One table: its head as written, "" for the top of the file, what it is, and its keys.

    In a table that is `open` the keys are names that the writer chooses or knows; those given are examples.
    """

    head: str
    meaning: str
    keys: Mapping[str, Key]
    open: bool = False

    @property
    def path(self) -> tuple[str, ...]:
        """The names in the head: ("pieces", "front", "corners")."""
        return tuple(self.head.strip("[]").split("."))


def below(tables: Iterable[TableKeys], depth: int = 0) -> tuple[str, ...]:
    """The keys that tables themselves are of what they stand in, `depth` names down, each once."""
    return tuple(dict.fromkeys(table.path[depth] for table in tables))
