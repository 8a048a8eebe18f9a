"""Judging files on a cluster that is there already: the scheduler and the workers of dask.distributed (extra `cluster`).

Files go out in batches, the first of one file and the later ones larger, so that results come soon and what a batch loads (settings,
plugins) pays. Results come in the order in which the files were named. What a worker takes with it when it is lost is judged by
another; where a batch loses several workers its files are tried one by one, with nothing else on the cluster, and only the one that loses
them again is named.

What a worker judges by comes from the one who runs the program: settings and trust are settled here and sent, of plugin files only
those bytes are run that lie here, and a worker with another seamcheck or other installed plugins refuses. It reads
neither settings of its own nor its environment. The other way round there is no guard: whoever owns the scheduler or a worker
can run programs as the one who named it, since results are pickled.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import tempfile
import warnings
from collections import deque
from collections.abc import Generator, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from seamcheck.engine.result import FileResult
from seamcheck.errors import Failure, SeamcheckError, internal_error
from seamcheck.files import at, named_in
from seamcheck.version import __version__

if TYPE_CHECKING:
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Request
    from seamcheck.engine.workspace import Shops

Send = Literal["bytes", "paths"]
LARGEST_BATCH = 16  # files: about two seconds of work
AHEAD = 2  # batches for each thread of the workers that are begun before the result of the first of them is given
SHARES = 4  # batches for each thread at least, where there are so many files, so that all end at about the same time
PATIENCE = 60.0  # s that a cluster without any worker is waited for
LOOK = 1.0  # s between looks at whether there still are workers
CONNECT = 10.0  # s


@dataclass(frozen=True, slots=True)
class Batch:
    """Files to judge elsewhere, and all that they are judged by.

    `folder` is where their names begin. `held` are the bytes of all that is read, by whole name; None where they lie on the worker, too.
    """

    paths: tuple[str, ...]
    request: Request
    shops: Shops
    version: str
    installed: tuple[tuple[str, str, str], ...]
    folder: str
    held: Mapping[str, bytes] | None


@dataclass(frozen=True, slots=True)
class _Begun:
    """A batch under way: its files, the results that are there already, and the task for the others."""

    paths: tuple[str, ...]
    here: Mapping[str, FileResult]
    task: Any


def judge_on(
    scheduler: str, paths: Sequence[str], request: Request, shops: Shops, *, send: Send = "bytes"
) -> Generator[FileResult, None, None]:
    """Judge files on the cluster of the scheduler at this address, and give their results in the order of `paths`.

    SeamcheckError when nobody answers there, or the extra is not installed. What cannot be judged is a failure of its file alone.
    """
    if not paths:
        return
    with _connected(scheduler) as client:
        yield from _Cluster(client, scheduler, request, shops, send).results(paths)


@contextlib.contextmanager
def _connected(scheduler: str) -> Iterator[Any]:
    try:
        import distributed
    except ImportError:
        raise SeamcheckError(
            "a cluster needs the library distributed", remedy="install it with: pip install 'seamcheck[cluster]'"
        ) from None
    import logging

    # The library tells programmers of every worker that comes and goes.
    levels = {logger: logger.level for logger in map(logging.getLogger, ("distributed", "distributed.client"))}
    for logger in levels:
        logger.setLevel(logging.CRITICAL + 1)
    client: Any = None
    try:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # what differs and matters here is told by the workers
                client = distributed.Client(scheduler, timeout=CONNECT, set_as_default=False, name="seamcheck")
        except (OSError, ValueError, TypeError) as error:
            raise SeamcheckError(
                f"no scheduler answers at {scheduler} ({type(error).__name__})",
                remedy='look at the address, say "tcp://10.0.0.5:8786", and whether the scheduler runs',
            ) from None
        yield client
    finally:
        if client is not None:
            client.close()  # what has not begun is not begun any more
        for logger, level in levels.items():
            logger.setLevel(level)


class _Cluster:
    """One run on a cluster."""

    def __init__(self, client: Any, scheduler: str, request: Request, shops: Shops, send: Send) -> None:
        self.client = client
        self.scheduler = scheduler
        self.request = request
        self.shops = shops
        self.send = send
        self.lost = ""  # why nothing more is to be had
        self._gone = f"the scheduler at {scheduler} was lost, so it was not judged"

    def results(self, paths: Sequence[str]) -> Iterator[FileResult]:
        """The results of all files, in their order."""
        rest, under_way, size = deque(paths), deque[_Begun](), 1
        while rest or under_way:
            threads = self._threads()
            most = max(1, min(LARGEST_BATCH, len(paths) // (SHARES * max(threads, 1))))
            while rest and len(under_way) < AHEAD * max(threads, 1):
                under_way.append(self._begin([rest.popleft() for _ in range(min(size, len(rest)))]))
                size = min(2 * size, most)
            yield from self._results_of(under_way.popleft(), under_way)

    def _threads(self) -> int:
        """How many batches the workers judge at once, as far as that can be known."""
        try:
            return sum(self.client.nthreads().values())
        except Exception:  # the scheduler is lost, which the next result tells
            return 0

    def _begin(self, paths: Sequence[str]) -> _Begun:
        """Send a batch on its way; what cannot be sent is judged here, which says what is wrong with it."""
        here: dict[str, FileResult] = {}
        held: dict[str, bytes] = {}
        for path in paths:
            try:
                registry = self.shops.tolerant(path)[1]
                if not Path(path).is_file():
                    raise OSError
                if self.send == "bytes":
                    held |= self._bytes_of(path)
            except (SeamcheckError, OSError, ValueError):
                here[path] = self.shops.judge(path, self.request)
        sent = tuple(path for path in paths if path not in here)
        if not sent:
            return _Begun(tuple(paths), here, None)
        batch = Batch(
            paths=sent,
            request=self.request,
            shops=self.shops.sent(sent),
            version=__version__,
            installed=_installed(registry),
            folder=str(Path.cwd()),
            held=held if self.send == "bytes" else None,
        )
        task = None
        if not self.lost:
            try:
                # What it gives depends on files, so that it is never to be taken from an earlier run.
                task = self.client.submit(judge_batch, batch, pure=False)
            except Exception:  # the library has one of its own for each way in which a scheduler is gone
                self.lost = self._gone
        return _Begun(tuple(paths), here, task)

    def _bytes_of(self, path: str) -> dict[str, bytes]:
        """All that judging a file reads, by whole name."""
        limit = self.shops.tolerant(path)[0].limits.bytes
        files = self.shops.read_for(path, self.request.plan)
        if self.request.before is not None:
            files += self.shops.read_for(str(self.request.before))
        files += [Path(plugin) for plugin in self.shops.tolerant(path)[0].plugins if plugin.endswith(".py")]
        pattern = Path(path)
        found: dict[Path, bytes] = {}
        for file in dict.fromkeys(files):
            if file == pattern or (file.is_file() and not _is_of_another(file, found.get(pattern, b""))):
                # One byte more than may be read: the worker refuses it as it would be refused here.
                with file.open("rb") as stream:
                    found[file] = stream.read(limit + 1)
        return {os.path.normpath(file.absolute()): data for file, data in found.items()}

    def _results_of(self, begun: _Begun, others: Iterable[_Begun]) -> Iterator[FileResult]:
        found = dict(begun.here)
        sent = [path for path in begun.paths if path not in found]
        if sent:
            try:
                found |= zip(sent, self._answer(begun.task), strict=True)
            except _LostError:
                # One by one and with nothing else on the cluster, so that what only suffered from another is judged in peace.
                for other in others:
                    self._wait(other.task)
                found |= {path: self._alone(path) for path in sent}
        yield from (found[path] for path in begun.paths)

    def _alone(self, path: str) -> FileResult:
        begun = self._begin([path])
        try:
            return begun.here.get(path) or self._answer(begun.task)[0]
        except _LostError as error:
            return FileResult(path=path, failures=(Failure(str(error), path),))

    def _wait(self, task: Any) -> None:
        with contextlib.suppress(_LostError):
            if task is not None:
                self._answer(task)

    def _answer(self, task: Any) -> list[FileResult]:
        """The results of a task; _LostError, with why, where there will be none."""
        from concurrent.futures import CancelledError

        from distributed.scheduler import KilledWorker

        waited = 0.0
        while not self.lost:
            try:
                answers: list[bytes] = task.result(timeout=LOOK)
                return [pickle.loads(answer) for answer in answers]
            except TimeoutError:
                waited = 0.0 if self._threads() else waited + LOOK
                if waited >= PATIENCE:
                    self.lost = f"no worker is left at {self.scheduler}, so it was not judged"
            except KilledWorker:
                raise _LostError("the workers that judged it were lost, one after another") from None
            except CancelledError:
                self.lost = self._gone
            except Exception as error:
                reason = " ".join(f"{type(error).__name__}: {error}".split())
                raise _LostError(
                    f"a worker cannot judge it ({reason}); install the same seamcheck, {__version__}, on all workers"
                ) from None
        raise _LostError(self.lost)


class _LostError(Exception):
    """There is no answer, and why."""


def _is_of_another(file: Path, data: bytes) -> bool:
    """Whether a rule table cannot belong to a drawing, neither having its name nor being named in it."""
    return file.suffix.lower() == ".rul" and file.stem.lower().encode() not in _flat(data)


@cache
def _flat(data: bytes) -> bytes:
    return data.replace(b"\x00", b"").lower()


def _installed(registry: Registry) -> tuple[tuple[str, str, str], ...]:
    """The plugins that are installed as packages, with their versions."""
    from seamcheck.engine.plugins import BUILTIN

    others = (one for one in registry.plugins if one.package and one.name != BUILTIN)
    return tuple(sorted((one.name, one.package, one.version) for one in others))


# On a worker


def judge_batch(batch: Batch) -> list[bytes]:
    """Judge a batch wherever this is, and give each result pickled, so that one that cannot be is a failure of its file alone."""
    if batch.version != __version__:
        return [
            _refused(path, f"a worker has seamcheck {__version__} and not {batch.version}") for path in batch.paths
        ]
    with contextlib.ExitStack() as stack:
        below = os.sep
        if batch.held is not None:
            below = stack.enter_context(tempfile.TemporaryDirectory(prefix="seamcheck-"))
            _lay_down(batch.held, Path(below))
        stack.enter_context(named_in(batch.folder, below))
        return [_judged(path, batch) for path in batch.paths]


def _judged(path: str, batch: Batch) -> bytes:
    with contextlib.suppress(SeamcheckError):  # what is wrong with a shop is told by the judging
        found = _installed(batch.shops.tolerant(path)[1])
        if found != batch.installed:
            names = sorted({name for name, *_ in set(found) ^ set(batch.installed)})
            return _refused(path, f"a worker has not the same plugins installed ({', '.join(names)})")
    if batch.held is None and not at(path).is_file():
        remedy = "share its folder with all workers under the same name, or send the files with --send bytes"
        return pickle.dumps(
            FileResult(path=path, failures=(Failure(f"a worker does not see this file; {remedy}", path),))
        )
    result = batch.shops.judge(path, batch.request)
    try:
        return pickle.dumps(result)
    except Exception as error:  # what a plugin found cannot be told to another process
        return pickle.dumps(FileResult(path=path, failures=(internal_error(error, path),)))


def _refused(path: str, what: str) -> bytes:
    failure = Failure(f"{what}; install the same on all workers as where the run is started", path)
    return pickle.dumps(FileResult(path=path, failures=(failure,)))


def _lay_down(held: Mapping[str, bytes], below: Path) -> None:
    """Write files under their whole names, in a folder of their own."""
    with named_in(os.sep, str(below)):
        for name, data in held.items():
            file = at(name)
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(data)
