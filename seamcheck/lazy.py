"""Names that a module hands on and imports when they are first asked for, so that importing the module costs nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from sys import modules


def handed_on(
    module: str, names_of: Mapping[str, tuple[str, ...]]
) -> tuple[Callable[[str], object], Callable[[], list[str]]]:
    """`__getattr__` and `__dir__` of a module that hands on names of others; `names_of` gives those of each other."""
    homes = {name: home for home, names in names_of.items() for name in names}

    def get(name: str) -> object:
        if name not in homes:
            raise AttributeError(f"module {module!r} has no attribute {name!r}")
        value: object = getattr(import_module(homes[name]), name)
        setattr(modules[module], name, value)
        return value

    def every() -> list[str]:
        return sorted({*vars(modules[module]), *homes})

    return get, every
