"""The oldest versions that pyproject.toml allows of what the program needs at run time, as constraints of pip: `python tests/oldest.py`."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

PROJECT = Path(__file__).parents[1] / "pyproject.toml"
_AT_LEAST = re.compile(r"([A-Za-z0-9._-]+)(?:\[[^\]]*\])?\s*>=\s*([0-9][0-9.]*)\s*(?:[,;].*)?")


def oldest(dependencies: list[str]) -> list[str]:
    """Each dependency at its lower bound, "NAME==VERSION"; ValueError for one that has none."""
    found = []
    for dependency in dependencies:
        match = _AT_LEAST.fullmatch(dependency)
        if match is None:
            raise ValueError(f"{dependency!r} says no oldest version; write NAME>=VERSION")
        found.append(f"{match[1]}=={match[2]}")
    return found


def constraints() -> str:
    """The text of a constraints file, a line for each dependency."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    return "".join(f"{line}\n" for line in oldest(project["dependencies"]))


if __name__ == "__main__":
    print(constraints(), end="")  # noqa: T201
