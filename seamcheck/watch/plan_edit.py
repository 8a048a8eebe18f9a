"""A plan written to its file at each step: whole or not at all, and only over what the one who writes has seen."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from seamcheck.config.plan_file import parse_plan
from seamcheck.errors import SeamcheckError
from seamcheck.files import write_text
from seamcheck.pattern.plan import Plan
from seamcheck.watch.job import content, digest

BOM = "\ufeff"
MOST_ASIDE = 1000


@dataclass(frozen=True, slots=True)
class Written:
    """A plan that was written, and the digest of its file."""

    plan: Plan
    base: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """What stands in the file in the stead of what was seen, and its digest."""

    text: str
    base: str


def write_plan(path: Path, text: str, base: str, *, aside: bool = False) -> Written | Conflict:
    """Write a plan over the one whose digest is `base`, "" for none; PlanError for a text that is none.

    Where the file is another by now, nothing is written. With `aside` what is written over is kept in a file of its own first.
    """
    plan = parse_plan(text, str(path))
    there = content(path)
    if digest(there) != base:
        return Conflict((there or b"").decode("utf-8-sig", "replace"), digest(there))
    if aside and there is not None:
        _keep(path, there)
    if there is not None and there.startswith(BOM.encode()):
        text = BOM + text
    write_text(text, str(path))
    return Written(plan, digest(content(path)))


def _keep(path: Path, data: bytes) -> None:
    """Keep what is written over in a file beside it, under a name that is free."""
    for number in range(1, MOST_ASIDE):
        try:
            with path.with_name(f"{path.name}.{number}").open("xb") as kept:
                kept.write(data)
            return
        except FileExistsError:
            continue
    raise SeamcheckError("too many files are kept beside it", path=str(path), remedy="take the old ones away")
