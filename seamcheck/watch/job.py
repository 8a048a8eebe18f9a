"""Which files are watched, and what was asked for."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.config.plan_file import SUFFIX, find_plan
from seamcheck.errors import SeamcheckError

if TYPE_CHECKING:
    from seamcheck.engine.read import Request
    from seamcheck.engine.workspace import Shops


SETTINGS = "seamcheck.toml"


@dataclass(frozen=True, slots=True)
class Job:
    """One pattern: its file, and what its user asked for on top of it."""

    path: Path
    request: Request

    @property
    def plan(self) -> Path:
        """Where its plan is, or will be."""
        return self.request.plan or find_plan(self.path) or self.path.with_name(self.path.stem + SUFFIX)

    def reads(self, shops: Shops) -> list[Path]:
        """All files that judging it reads, and its plan and the settings of its folder also where they are not there yet."""
        before = [] if self.request.before is None else [self.request.before]
        settings = self.path.with_name(SETTINGS)
        return list(dict.fromkeys([*shops.read_for(str(self.path), self.request.plan), self.plan, settings, *before]))


def jobs_for(named: Sequence[str], request: Request, shops: Shops) -> tuple[Job, ...]:
    """The patterns that are meant by files, plans and folders; those of a folder with a plan first, then those that have none yet.

    SeamcheckError where one is not there, or nothing is.
    """
    for path in meant(named, shops):
        if not _is_pattern(path):
            raise SeamcheckError("no pattern is there to be watched", path=str(path), remedy="name the file itself")
    return jobs_there(named, request, shops)


def jobs_there(named: Sequence[str], request: Request, shops: Shops) -> tuple[Job, ...]:
    """The same as far as it is there now."""
    return tuple(Job(path, request) for path in meant(named, shops) if _is_pattern(path))


def meant(named: Sequence[str], shops: Shops) -> list[Path]:
    """What files, plans and folders stand for, there or not; for a folder without any pattern the folder itself."""
    planned, unplanned = shops.meant(named)
    found = [Path(one) for one in planned]
    if unplanned:
        found = [one for one in found if not one.is_dir()]
    return [*found, *map(Path, unplanned)]


def folders_of(named: Sequence[str]) -> tuple[Path, ...]:
    """The folders in which patterns may come and go."""
    return tuple(path.absolute() for path in map(Path, named) if path.is_dir())


def _is_pattern(path: Path) -> bool:
    return path.is_file() and not path.name.endswith(SUFFIX)


def digest(data: bytes | None) -> str:
    """What tells one state of a file from another; "" where there is none."""
    return "" if data is None else hashlib.sha256(data).hexdigest()


def content(path: Path) -> bytes | None:
    """What a file holds; None where it is not there."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
