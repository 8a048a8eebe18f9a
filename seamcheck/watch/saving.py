"""Files that were saved: which, and when they are whole."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterable
from pathlib import Path

STEP = 20  # milliseconds between two looks
GATHERED = 60  # milliseconds in which changes are taken as one save
STILL = 0.05  # seconds that a file is as long and as old as it was, to be whole
BACK = 2.0  # seconds that an editor may take to put a file back that it took away
AGAIN = 0.5  # seconds after which what could not be read is read once more


async def saves(paths: Iterable[Path], stop: asyncio.Event) -> AsyncIterator[set[Path]]:
    """The files among some that were saved, each time that some were and all of them are whole again."""
    from watchfiles import awatch

    wanted = set(paths)
    folders = {path.parent for path in wanted if path.parent.is_dir()}
    async for changes in awatch(*folders, recursive=False, step=STEP, debounce=GATHERED, stop_event=stop):
        saved = {path for _, name in changes if (path := Path(name)) in wanted}
        if saved:
            await whole(saved)
            yield saved


async def whole(paths: Iterable[Path]) -> None:
    """Wait until nobody writes to some files any more; for one that is gone, a while."""
    waited, before = 0.0, None
    while True:
        now = [_state(path) for path in paths]
        gone = None in now and waited < BACK
        if now == before and not gone:
            return
        before = now
        await asyncio.sleep(STILL)
        waited += STILL


def _state(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns
