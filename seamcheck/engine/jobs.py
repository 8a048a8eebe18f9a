"""Judging many files at once: over processes of our own, on a cluster, or by any executor of `concurrent.futures`.

Results come in the order in which the files were named, whoever finishes first, and are the same however many work. Each is let
go of once it is given, and no more files are begun than keep the processes busy, so that memory does not grow with their number.

Processes are begun only from about four small files a process on (WORTH has the measure): before that, they cost more than they
save. Where this process runs no thread beside its own they are forked from it, with all that it has loaded; elsewhere they
are started anew, for a copy of a process in which threads run may stand still for ever. Each judges one file at a time. Where one
ends before its answer, its file is tried once more, apart from the others that were tried so; only where that ends too is it named.
None outlives the run: they are killed when it is over or interrupted, and end with their owner, however that ended.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import signal
import sys
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from functools import partial
from pathlib import Path
from threading import Lock, Thread
from typing import TYPE_CHECKING

from seamcheck.engine.result import FileResult
from seamcheck.engine.workspace import Shops
from seamcheck.errors import Failure, internal_error

if TYPE_CHECKING:
    from concurrent.futures import Executor, Future
    from multiprocessing.connection import Connection

    from seamcheck.engine.cluster import Send
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
    scheduler: str | None = None,
    send: Send = "bytes",
) -> Generator[FileResult, None, None]:
    """Judge files and give their results in the order of `paths`, each as soon as it and those before it are ready.

    `shops` is what this process has loaded already; others load the same for themselves. `jobs` is how many processes work; None takes as many as pay, which for a few small files is none but this one.
    An `executor` is used as it is and left open. A `scheduler` is the address of that of a cluster, to which files are sent as bytes, or by
    their paths. What cannot be judged is a failure of its file alone.
    """
    shops = shops or Shops()
    if scheduler is not None:
        from seamcheck.engine.cluster import judge_on

        yield from judge_on(scheduler, paths, request, shops, send=send)
        return
    if executor is not None:
        work = partial(judge_one, request=request, shops=shops.afresh())
        yield from _spread(executor, paths, work, ELSEWHERE)
        return
    jobs = process_count(paths) if jobs is None else min(jobs, len(paths))
    if jobs < 2:
        for path in paths:
            yield shops.judge(path, request)
        return
    from concurrent.futures import ThreadPoolExecutor

    forked = _is_alone()
    if forked:
        from seamcheck.engine import judge  # noqa: F401  what every process needs is loaded once for all
    workers = _Workers(jobs, shops, request, forked=forked)
    threads = ThreadPoolExecutor(jobs)  # each waits for one process
    atexit.register(workers.close)  # for whoever leaves the results half read
    try:
        yield from _spread(threads, paths, workers.judge, AHEAD * jobs)
    finally:
        atexit.unregister(workers.close)
        workers.close()
        threads.shutdown(cancel_futures=True)


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


class _Worker:
    """A process of our own that judges one file after another."""

    def __init__(self, method: str, shops: Shops, request: Request) -> None:
        import multiprocessing

        context = multiprocessing.get_context(method)
        self.here, there = context.Pipe()
        self.process = context.Process(target=_serve, args=(there, shops, request, os.getpid()))  # type: ignore[attr-defined]
        self.process.start()
        there.close()  # so that nothing can be read from here once the process is gone

    def judge(self, path: str) -> FileResult | None:
        """The result of one file; None where the process ended instead."""
        try:
            self.here.send(path)
            result: FileResult = self.here.recv()
        except (EOFError, OSError):
            self.process.join()
            return None
        except Exception as error:  # what a plugin found cannot be had from another process
            return FileResult(path=path, failures=(internal_error(error, path),))
        return result


class _Workers:
    """Processes of our own: one that ends is replaced, and its file tried once more."""

    def __init__(self, number: int, shops: Shops, request: Request, *, forked: bool) -> None:
        # What is forked has all that is loaded; what is started anew loads the same for itself.
        self._anew = partial(_Worker, "spawn", shops.afresh(), request)
        begin = partial(_Worker, "fork", shops, request) if forked else self._anew
        self._closed = False
        self._changing, self._again = Lock(), Lock()
        self._all = [begin() for _ in range(number)]
        self._idle: deque[_Worker | None] = deque(self._all)

    def judge(self, path: str) -> FileResult:
        """Judge one file in a process that has nothing else to do; as many threads may call this as there are processes."""
        worker = self._idle.popleft() or self._replacement()
        result = worker.judge(path)
        if result is None and not self._closed:
            with self._again:  # one by one, so that what only suffered from another is judged in peace
                worker = self._replacement()
                result = worker.judge(path)
        self._idle.append(None if result is None else worker)
        if result is None:
            result = FileResult(path=path, failures=(Failure(_ended(worker.process.exitcode), path),))
        return result

    def close(self) -> None:
        """End all processes at once, whatever they are at."""
        with self._changing:
            self._closed = True
            for worker in self._all:
                worker.process.kill()
        for worker in self._all:
            worker.process.join()

    def _replacement(self) -> _Worker:
        worker = self._anew()
        with self._changing:
            self._all = [one for one in self._all if one.process.is_alive()] + [worker]
            if self._closed:
                worker.process.kill()
        return worker


def _ended(code: int | None) -> str:
    """Why there is no result, by the exit code of a process."""
    how = f"with exit code {code}"
    if code is not None and code < 0:
        how = f"by {signal.Signals(-code).name}"
        if -code == getattr(signal, "SIGKILL", None):
            how += ", as happens where memory runs out"
    return f"the process that judged it was ended {how}, and so was another that tried it again"


def _serve(there: Connection, shops: Shops, request: Request, owner: int) -> None:
    """Judge files in a process of our own until it is killed."""
    # Who interrupts the run interrupts its owner, and that ends this process.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    _end_with(owner)
    sys.stdout = sys.stderr  # whatever a plugin or a library prints: stdout carries the result alone
    while True:
        path = there.recv()
        result = shops.judge(path, request)
        try:
            there.send(result)
        except Exception as error:  # what a plugin found cannot be told to another process
            there.send(FileResult(path=path, failures=(internal_error(error, path),)))


def _end_with(owner: int) -> None:
    """Let this process end with its owner, also where that was killed: nobody else would end it."""
    if sys.platform == "linux":
        import ctypes

        # The system itself sees to it, for a thread waits as long as a long calculation holds the interpreter.
        ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG, prctl(2)
        if os.getppid() != owner:
            os._exit(1)
    else:
        Thread(target=_wait_for_owner, daemon=True).start()


def _wait_for_owner() -> None:
    import multiprocessing

    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
