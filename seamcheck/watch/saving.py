"""Files that were saved: which, and when they are whole."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable, Iterable
from pathlib import Path

STEP = 20  # milliseconds between two looks
GATHERED = 60  # milliseconds in which changes are taken as one save
STILL = 0.05  # seconds that a file is as long and as old as it was, to be whole
BACK = 2.0  # seconds that an editor may take to put a file back that it took away
AGAIN = 0.5  # seconds after which what could not be read is read once more


async def changes(
    paths: Callable[[], Awaitable[Iterable[Path]]], folders: Iterable[Path], stop: asyncio.Event
) -> AsyncIterator[set[Path]]:
    """The files that were saved, put there or taken away since the last time: among some, and in some folders and below all of them.

    `paths` is asked anew each time; those of them that were saved are whole again when they are told.
    """
    from watchfiles import awatch

    folders = list(folders)
    above = {path.parent for path in await paths() if path.parent.is_dir()}
    flat = [one for one in above if not any(one.is_relative_to(folder) for folder in folders)]
    batches: asyncio.Queue[set[Path] | None] = asyncio.Queue()

    async def pump(where: list[Path], *, deep: bool) -> None:
        async for batch in awatch(*where, recursive=deep, step=STEP, debounce=GATHERED, stop_event=stop):
            batches.put_nowait({Path(name) for _, name in batch})

    pumps = [asyncio.create_task(pump(where, deep=deep)) for where, deep in ((flat, False), (folders, True)) if where]
    for task in pumps:
        task.add_done_callback(lambda _: batches.put_nowait(None))
    try:
        while (batch := await batches.get()) is not None:
            wanted = set(await paths())
            changed = {one for one in batch if one in wanted or any(one.is_relative_to(each) for each in folders)}
            if changed:
                await whole(changed & wanted)
                yield changed
        for task in pumps:
            if task.done():
                task.result()
    finally:
        for task in pumps:
            task.cancel()


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
