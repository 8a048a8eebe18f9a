"""The patterns that lend their plans to one like them: a file, or those of a shop's folder that come nearest."""

from __future__ import annotations

import contextlib
import tomllib
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from seamcheck.engine.read import Request, read_whole
from seamcheck.engine.searching import Search
from seamcheck.engine.workspace import SUFFIX, Shops
from seamcheck.errors import InputError, SeamcheckError
from seamcheck.pairing.like import Memory
from seamcheck.pattern.model import Pattern, Piece

if TYPE_CHECKING:
    from seamcheck.engine.propose import Memories

READ = 4  # patterns of a folder that are read: those whose plans come nearest
MOST = 3000  # plans of a folder that are looked into
SIZE = 0.2  # logarithm of a ratio of sizes at which two pieces are a third as like
WRITE_ONE = "propose one and confirm it: seamcheck pair {path} --output {plan}"


def memories(like: str, path: str, shops: Shops, shown: Callable[[Sequence[str]], Iterable[str]] = iter) -> Memories:
    """What gives the patterns that a file or a folder remembers, by the pattern at hand, which was read from `path`.

    `shown` goes through the plans of a folder and may say how far it is. SeamcheckError where there is none.
    """

    def found(pattern: Pattern) -> list[Memory]:
        if not Path(like).is_dir():
            return [_memory(like, path, shops)]
        plans = _plans(like)
        if not plans:
            raise _none(like, "no pattern with a seam plan is in this folder, so it has nothing to lend")
        ranked = sorted((round(-_nearness(Path(plan), pattern), 6), plan) for plan in shown(plans))
        kept: list[Memory] = []
        faults = []
        for _, plan in ranked:
            try:
                kept += [
                    _memory(str(one), path, shops, Path(like))
                    for one in shops.beside(Path(plan))
                    if one.resolve() != Path(path).resolve()
                ]
            except SeamcheckError as error:  # one that cannot be read is none that lends
                faults.append(error)
            if len(kept) >= READ:
                break
        if not kept:
            raise faults[0] if faults else _none(like, "no pattern but this one has a seam plan in this folder")
        return kept

    return found


def _none(path: str, what: str) -> InputError:
    return InputError(what, path=path, remedy="name the folder of patterns that are sewn, or one of them")


def _memory(other: str, path: str, shops: Shops, folder: Path | None = None) -> Memory:
    """A pattern with its plan; SeamcheckError where it has none, or is the pattern at hand itself."""
    if Path(other).resolve() == Path(path).resolve():
        raise InputError(
            "the pattern is to be paired like itself, which tells nothing",
            path=other,
            remedy="name another pattern with --like, whose plan is right",
        )
    settings, registry = shops.tolerant(other)
    reading = read_whole(other, Request(), registry, settings)
    if reading.plan is None:
        plan = Path(other).with_suffix("").name + SUFFIX
        raise SeamcheckError(
            "there is no seam plan beside it, so it has nothing to lend",
            path=other,
            remedy=WRITE_ONE.format(path=other, plan=Path(other).with_name(plan)),
        )
    name = Path(other).relative_to(folder).as_posix() if folder is not None else Path(other).name
    return Memory(name, reading.pattern, reading.plan)


def _plans(folder: str) -> list[str]:
    found = [
        str(Path(parent, name))
        for parent, names in Search().walked(Path(folder), lambda error: None)
        for name in names
        if name.endswith(SUFFIX)
    ]
    return sorted(found)[:MOST]


class _Key(NamedTuple):
    """What is known of pieces without a look at their outlines: names, and logarithms of how long and wide the corners lie."""

    names: list[str]
    sizes: np.ndarray


def _nearness(plan: Path, pattern: Pattern) -> float:
    """How near the pieces of a plan come to those of a pattern, by the places of their corners and by their names; 0 to 2."""
    own = _key([(piece.name, [corner.at for corner in piece.corners]) for piece in _middle(pattern)])
    there = _key(_cornered(plan))
    if not own.names or not there.names:
        return 0.0
    apart = np.abs(own.sizes[:, None] - there.sizes).sum(axis=2)
    same = np.array([[a == b for b in there.names] for a in own.names])
    like = np.maximum(np.exp(-apart / SIZE), 0.8 * same)
    return float(like.max(axis=1).mean() + like.max(axis=0).mean())


def _middle(pattern: Pattern) -> Sequence[Piece]:
    return pattern.in_size(pattern.sizes[len(pattern.sizes) // 2]) if pattern.sizes else ()


def _cornered(plan: Path) -> list[tuple[str, list[complex]]]:
    """The pieces of a plan with the places of their corners, in mm; none where it cannot be read."""
    found = []
    with contextlib.suppress(OSError, ValueError, AttributeError, TypeError):
        whole = tomllib.loads(plan.read_text(encoding="utf-8"))
        unit = {"cm": 10.0, "in": 25.4}.get(whole.get("units", "mm"), 1.0)
        for name, piece in whole.get("pieces", {}).items():
            corners = [complex(x, y) * unit for x, y in piece.get("corners", {}).values()]
            found.append((piece.get("in-file", name), corners))
    return found


def _key(pieces: Iterable[tuple[str, Sequence[complex]]]) -> _Key:
    names, sizes = [], []
    for name, corners in pieces:
        at = np.array(corners, dtype=np.complex128)
        if len(at) < 2:
            continue
        far = np.abs(at[:, None] - at)
        i, j = divmod(int(np.argmax(np.round(far, 6))), len(at))
        along = (at - at[i]) * (at[j] - at[i]).conjugate() / max(float(far[i, j]), 1e-9)
        names.append(name.casefold())
        sizes.append(np.log([max(float(far[i, j]), 1.0), max(float(np.ptp(along.imag)), 1.0)]))
    return _Key(names, np.array(sizes).reshape(-1, 2))
