"""Which files are meant by the names that are given: files, plans, folders, and patterns with * in them.

What a person did not draw is not looked into: hidden folders, those that tools fill (AUTOMATIC), and environments of Python. A folder that is
named itself always is. What is left out for its name, but for what is hidden, is told.
"""

from __future__ import annotations

import glob
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from pathlib import Path

from seamcheck.files import is_seen

AUTOMATIC = ("build", "dist", "node_modules", "site-packages", "__pycache__", "venv")
ENVIRONMENT = "pyvenv.cfg"  # in the folder of every environment of Python (PEP 405)


@dataclass(frozen=True, slots=True)
class Search:
    """What is left out of a search, and what was: `excluded` are patterns for the names of files and folders, or for paths with / in them."""

    excluded: tuple[str, ...] = ()
    left_out: dict[str, None] = field(default_factory=dict)

    def takes(self, path: str) -> bool:
        """Whether a path is none that was to be left out, nor lies below such a folder; one that is, is noted."""
        parts = Path(path).parts
        for k, part in enumerate(parts):
            whole = "/".join(parts[: k + 1]).replace("//", "/")
            if any(fnmatchcase(whole if "/" in mask else part, mask) for mask in self.excluded):
                self.left_out[str(Path(*parts[: k + 1]))] = None
                return False
        return True

    def walked(self, folder: Path, unread: Callable[[OSError], None]) -> Iterator[tuple[str, list[str]]]:
        """Each folder below one, and itself, with the names of the files in it that are not hidden."""
        for parent, folders, files in os.walk(folder, onerror=unread):
            folders[:] = sorted(one for one in folders if self._is_looked_into(str(Path(parent, one))))
            shown = (one for one in files if not one.startswith("."))
            yield parent, [one for one in shown if self.takes(str(Path(parent, one)))]

    def matching(self, mask: str) -> list[str]:
        """The files and folders that a pattern with * stands for, in order; "**" goes through folders that are looked into."""
        fixed = len(Path(mask[: min(mask.find(sign) for sign in "*?[" if sign in mask)] + "x").parts) - 1
        found = []
        for path in sorted(glob.glob(mask, recursive=True)):  # noqa: PTH207  Path.glob takes no pattern from the root on
            parts = Path(path).parts
            between = (Path(*parts[: k + 1]) for k in range(fixed, len(parts) - 1))
            if all(self._is_looked_into(str(one)) for one in between) and self.takes(path):
                found.append(path)
        return found

    def _is_looked_into(self, folder: str) -> bool:
        name = Path(folder).name
        if name.startswith("."):
            return False
        if name in AUTOMATIC or is_seen(Path(folder, ENVIRONMENT)):
            self.left_out[str(Path(folder))] = None
            return False
        return self.takes(folder)


def is_mask(name: str) -> bool:
    """Whether a name is a pattern for others, and not itself the name of something that is there."""
    return any(sign in name for sign in "*?[") and not os.path.lexists(name)


def shown(left_out: Sequence[str], most: int = 5) -> str:
    """What was left out, as it is told."""
    told = ", ".join(left_out[:most])
    return told if len(left_out) <= most else f"{told} and {len(left_out) - most} more"
