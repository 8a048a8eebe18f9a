"""Judging many files at once: over processes of our own, or by any executor of `concurrent.futures`.

Results come in the order in which the files were named, whoever finishes first, and are the same however many work. Each is let
go of once it is given, and no more files are begun than keep the processes busy, so that memory does not grow with their number.

Processes are begun only from about four small files a process on (WORTH has the measure): before that, they cost more than they
save. Where this process runs no thread beside its own they are forked from it, with all that it has loaded; elsewhere they
are started anew, for a copy of a process in which threads run may stand still for ever.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from seamcheck.engine.result import FileResult
from seamcheck.engine.workspace import Shops
from seamcheck.errors import Failure

if TYPE_CHECKING:
    from concurrent.futures import Executor, Future

    from seamcheck.engine.read import Request

# A process of our own costs about as much as judging two small files, before it judges its first.
WORTH = 4.0
BYTES = 100_000  # a file of this size weighs as much as one more small file
AHEAD = 4  # files for each process that are begun before the result of the first of them is given
ELSEWHERE = 1000  # files that are begun ahead by an executor of which nobody knows how many work for it


def judge_files(
    paths: Sequence[str],
    request: Request,
    *,
    shops: Shops | None = None,
    jobs: int | None = None,
    executor: Executor | None = None,
) -> Iterator[FileResult]:
    """Judge files and give their results in the order of `paths`, each as soon as it and those before it are ready.

    `shops` is what this process has loaded already; others load the same for themselves. `jobs` is how many processes work; None takes as many as pay, which for a few small files is none but this one.
    An `executor` is used as it is and left open. What cannot be judged is a failure of its file alone.
    """
    shops = shops or Shops()
    if executor is not None:
        work = partial(judge_one, request=request, shops=shops.afresh())
        yield from _spread(executor, paths, work, ELSEWHERE)
        return
    jobs = process_count(paths) if jobs is None else min(jobs, len(paths))
    if jobs < 2:
        for path in paths:
            yield shops.judge(path, request)
        return
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    forked = _is_alone()
    if forked:
        from seamcheck.engine import judge  # noqa: F401  what every process needs is loaded once for all
    else:
        shops = shops.afresh()
    context = multiprocessing.get_context("fork" if forked else "spawn")
    pool = ProcessPoolExecutor(jobs, mp_context=context, initializer=_begin, initargs=(shops,))
    try:
        yield from _spread(pool, paths, partial(_judge_here, request=request), AHEAD * jobs)
    finally:
        pool.shutdown(cancel_futures=True)


def process_count(paths: Sequence[str], processors: int | None = None) -> int:
    """How many processes pay for these files; 1 when none but this one does."""
    weight = 0.0
    for path in paths:
        with contextlib.suppress(OSError, ValueError):  # a file that is not there weighs nothing
            weight += 1.0 + Path(path).stat().st_size / BYTES
    return max(1, min(processors or _processors(), len(paths), int(weight / WORTH)))


def _processors() -> int:
    affinity = getattr(os, "sched_getaffinity", None)  # what this process may use, where the system tells
    return len(affinity(0)) if affinity else os.cpu_count() or 1


def _is_alone() -> bool:
    """Whether this process runs one thread and no other, also none of a library; only Linux tells."""
    with contextlib.suppress(OSError):
        return sys.platform == "linux" and len(list(Path("/proc/self/task").iterdir())) == 1
    return False


def _spread(
    executor: Executor, paths: Sequence[str], judge: Callable[[str], FileResult], ahead: int
) -> Iterator[FileResult]:
    from concurrent.futures import BrokenExecutor

    tasks: deque[Future[FileResult] | None] = deque()
    begun = 0
    for number, path in enumerate(paths):
        while begun < min(number + ahead, len(paths)):
            try:
                tasks.append(executor.submit(judge, paths[begun]))
            except BrokenExecutor:
                tasks.append(None)
            begun += 1
        yield _result(tasks.popleft(), path)


def _result(task: Future[FileResult] | None, path: str) -> FileResult:
    """The result of a task, or, where it has none and never will, the failure of its file."""
    from concurrent.futures import BrokenExecutor

    if task is not None:
        with contextlib.suppress(BrokenExecutor):
            return task.result()
    return FileResult(path=path, failures=(Failure("the process that judged it was ended from outside", path),))


def judge_one(path: str, request: Request, shops: Shops) -> FileResult:
    """Judge one file in whatever thread or process this is, by the shop as it is then."""
    return shops.afresh().judge(path, request)


_shops: Shops | None = None  # in a process of our own, what it has loaded for the files before


def _begin(shops: Shops) -> None:
    """Begin a process of our own: whatever a plugin or a library prints goes to stderr, for stdout carries the result alone."""
    global _shops
    sys.stdout = sys.stderr
    _shops = shops
    # A pool whose owner was killed waits for ever: nobody would end its processes.
    Thread(target=_end_with_owner, daemon=True).start()


def _end_with_owner() -> None:
    import multiprocessing

    owner = multiprocessing.parent_process()
    if owner is not None:
        owner.join()
        os._exit(1)


def _judge_here(path: str, request: Request) -> FileResult:
    """Judge one file in a process of our own, with the settings and plugins that it has loaded once."""
    assert _shops is not None
    return _shops.judge(path, request)
