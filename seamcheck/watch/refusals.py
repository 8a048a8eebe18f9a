"""What somebody refused, kept until the next run: sides that are no seam, and edges that nobody knows anything of.

A plan says what is sewn, and has no place for what is not; so this lies in the folder of what its user decided, one file for each plan,
and is of this user alone. It counts as long as the plan is there and names the edges. A file that cannot be read says nothing, and one
that cannot be written is left: then the same is asked once more.
"""

from __future__ import annotations

import contextlib
import json
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.config.user_folders import configuration_folder
from seamcheck.errors import SeamcheckError
from seamcheck.files import write_text
from seamcheck.pattern.plan import EdgeUse

if TYPE_CHECKING:
    from collections.abc import Iterable

    from seamcheck.pairing.again import Sides

LARGEST = 4 * 2**20  # bytes


class Refusals(NamedTuple):
    """Sides that are no seam, and edges as "piece.edge" of which nothing is known."""

    refused: tuple[Sides, ...] = ()
    unknown: tuple[str, ...] = ()


def keep(plan: Path, refusals: Refusals) -> None:
    """Keep what was refused beyond a plan; nothing is kept where that is nothing."""
    path = _store(plan)
    told = {
        "plan": str(plan.resolve()),
        "refused": [[[str(use) for use in side] for side in sides] for sides in refusals.refused],
        "unknown": list(refusals.unknown),
    }
    with contextlib.suppress(OSError, SeamcheckError):
        if not any(refusals):
            path.unlink(missing_ok=True)
            return
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_text(json.dumps(told, indent=1) + "\n", str(path))


def kept(plan: Path) -> Refusals:
    """What was refused beyond a plan; nothing where there is no plan."""
    path = _store(plan)
    try:
        if not plan.is_file() or path.stat().st_size > LARGEST:
            return Refusals()
        told = json.loads(path.read_text(encoding="utf-8"))
        return Refusals(tuple(map(_sides, told["refused"])), tuple(map(_word, told["unknown"])))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return Refusals()


def _store(plan: Path) -> Path:
    return (
        configuration_folder()
        / "refused"
        / f"{sha256(str(plan.resolve()).encode('utf-8', 'replace')).hexdigest()[:32]}.json"
    )


def _sides(both: list[list[str]]) -> Sides:
    first, second = (tuple(_uses(side)) for side in both)
    return first, second


def _uses(side: Iterable[str]) -> Iterable[EdgeUse]:
    for word in map(_word, side):
        piece, dot, edge = word.removeprefix("-").partition(".")
        if not dot:
            raise ValueError(word)
        yield EdgeUse(piece, edge, word.startswith("-"))


def _word(told: object) -> str:
    if not isinstance(told, str):
        raise TypeError(told)
    return told
