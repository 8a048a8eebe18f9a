"""Names that are not there: which of those that are there comes nearest."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterable
from typing import Protocol, TypeVar


def nearest(name: str, known: Collection[str], kind: str) -> str:
    """Say which of the known names comes nearest, or list them: the remedy of an unknown one."""
    if not known:
        return f"there are no {kind}s to choose from"
    close = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    if close:
        return f'the nearest {kind} is "{close[0]}"'
    listed = list(known)
    more = f" and {len(listed) - 12} more" if len(listed) > 12 else ""
    return f"the {kind}s are " + ", ".join(f'"{one}"' for one in listed[:12]) + more


class UnknownNameError(KeyError):
    """A name that its owner does not have; the text says which name comes nearest.

    `owner` is in words, "piece front"; `kind` is what was asked for, "edge"; `known` are the names there are.
    """

    def __init__(self, owner: str, kind: str, name: str, known: tuple[str, ...]) -> None:
        """Keep the parts: many a caller only wants to know that the name is not there, and never reads the text."""
        super().__init__(owner, kind, name, known)
        self.owner, self.kind, self.name, self.known = owner, kind, name, known

    def __str__(self) -> str:
        """Return the one sentence: a KeyError would quote it."""
        return f'{self.owner} has no {self.kind} "{self.name}"; {nearest(self.name, self.known, self.kind)}'


class _Named(Protocol):
    @property
    def name(self) -> str: ...


_Thing = TypeVar("_Thing", bound=_Named)


def by_name(things: Iterable[_Thing], name: str, owner: str, kind: str) -> _Thing:
    """The first thing of that name; UnknownNameError where there is none."""
    things = tuple(things)
    for thing in things:
        if thing.name == name:
            return thing
    raise UnknownNameError(owner, kind, name, tuple(dict.fromkeys(thing.name for thing in things)))


# Signs that turn the direction of all that follows them, and marks of direction (Unicode Standard Annex 9, section 2).
_TURNING = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")


def unturned(text: str) -> str:
    """The text with signs of direction as escapes, in which JSON and TOML say the same: no name can turn what stands beside it."""
    return _TURNING.sub(lambda sign: f"\\u{ord(sign[0]):04x}", text)
