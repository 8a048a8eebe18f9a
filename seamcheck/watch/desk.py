"""The table of a run: one pattern or several, judged a step after the other, and the news of it for whoever looks on."""

from __future__ import annotations

import asyncio
import contextlib
import os
from collections import Counter, defaultdict
from collections.abc import AsyncGenerator, Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from seamcheck.errors import SeamcheckError, internal_error
from seamcheck.watch import table as tables
from seamcheck.watch.altering import Altering
from seamcheck.watch.job import content, digest, folders_of, jobs_for, jobs_there
from seamcheck.watch.judging import is_open, judged, paired
from seamcheck.watch.pairs import Pairs
from seamcheck.watch.plan_edit import Conflict, write_plan
from seamcheck.watch.refusals import Refusals, keep
from seamcheck.watch.table import Solved, Table
from seamcheck.watch.trying import Moves, Trying

if TYPE_CHECKING:
    from seamcheck.engine.read import Request
    from seamcheck.engine.workspace import Shops
    from seamcheck.pairing.again import Sides
    from seamcheck.watch.job import Job

    News = (
        Mapping[str, int] | Mapping[str, list[tuple[int, str]]]
    )  # a newer state of a pattern, or the patterns that are there

T = TypeVar("T")
AT_REST = 0.25  # seconds without another step, after which a plan is judged
KEPT_PICTURES = 4


class NotThereError(Exception):
    """A file, a size or an edge that is asked for is none of this run."""


@dataclass(frozen=True, slots=True)
class PlanStep:
    """A plan as a page writes it: its text, the digest of the file that the page has seen, and what it knows beyond the plan.

    With `aside` what is written over is kept in a file of its own.
    """

    text: str
    base: str
    refused: tuple[Sides, ...] = ()
    unknown: tuple[str, ...] = ()
    aside: bool = False


@contextlib.contextmanager
def told_only() -> Iterator[None]:
    """Go on after what goes wrong: with --debug it is told on the terminal."""
    try:
        yield
    except SeamcheckError:
        pass
    except Exception as error:
        internal_error(error)


class Desk:
    """All patterns of a run; what is said here is said in one thread, and worked out in two others."""

    def __init__(self, named: Sequence[str], request: Request, shops: Shops) -> None:
        """Nothing is judged yet; SeamcheckError where files, plans or folders that are named stand for nothing."""
        self.named, self.request, self.shops = named, request, shops
        self.folders = folders_of(named)
        self.jobs = dict(
            enumerate(jobs_for(named, request, shops))
        )  # by numbers that they keep, also when they are gone
        self.there = tuple(self.jobs)
        self.tables: dict[int, Table] = {}
        self.version = 0
        self._pairs: dict[int, tuple[str, Pairs]] = {}
        self._trying: dict[int, Trying] = {}
        self._pictures: dict[tuple[int, int, str], dict[str, Any]] = {}
        self._papers: dict[int, int] = {}  # the sheets that were large enough, so that pieces stay where they lay
        self._moves: dict[tuple[int, int, str], Moves] = {}
        self._settings: dict[int, tuple[str, ...]] = {}
        self._judging = ThreadPoolExecutor(1, "judging")
        self._pairing = ThreadPoolExecutor(1, "pairing")
        self._locks: defaultdict[int, asyncio.Lock] = defaultdict(asyncio.Lock)
        self._resting: dict[int, asyncio.Task[None]] = {}
        self._listeners: set[asyncio.Queue[News | None]] = set()

    def close(self) -> None:
        """Let whoever listens go, and end what still runs."""
        for task in self._resting.values():
            task.cancel()
        for queue in self._listeners:
            queue.put_nowait(None)
        for executor in (self._judging, self._pairing):
            executor.shutdown(wait=False, cancel_futures=True)

    # News

    async def news(self) -> AsyncGenerator[News | None]:
        """What is new, as it comes; None now and then, so that a page that has gone is noticed."""
        queue: asyncio.Queue[News | None] = asyncio.Queue()
        self._listeners.add(queue)
        try:
            yield self._files()
            for number, table in self.tables.items():
                yield {"number": number, "version": table.version}
            while True:
                try:
                    told = await asyncio.wait_for(queue.get(), 15.0)
                except TimeoutError:
                    yield None
                    continue
                if told is None:
                    return
                yield told
        finally:
            self._listeners.discard(queue)

    def _tell(self, number: int, table: Table) -> None:
        self.tables[number] = table
        self._pictures = {key: value for key, value in self._pictures.items() if key[0] != number}
        self._moves = {key: value for key, value in self._moves.items() if key[0] != number}
        for queue in self._listeners:
            queue.put_nowait({"number": number, "version": table.version})

    def _next(self) -> int:
        self.version += 1
        return self.version

    async def _judge_in(self, work: Callable[..., T], *given: Any) -> T:
        return await asyncio.get_running_loop().run_in_executor(self._judging, work, *given)

    async def _pair_in(self, work: Callable[..., T], *given: Any) -> T:
        return await asyncio.get_running_loop().run_in_executor(self._pairing, work, *given)

    # Judging

    def job(self, number: int) -> Job:
        """A pattern of this run."""
        if number not in self.jobs:
            raise NotThereError
        return self.jobs[number]

    def _files(self) -> dict[str, list[tuple[int, str]]]:
        """The patterns that are there, each by its number and as short as it can be told from the others."""
        paths = [self.jobs[number].path for number in self.there]
        told = Counter(path.name for path in paths)
        root = os.path.commonpath([path.parent for path in paths]) if paths else ""
        names = (path.name if told[path.name] == 1 else os.path.relpath(path, root) for path in paths)
        return {"files": list(zip(self.there, names, strict=True))}

    def has_all(self, numbers: Iterable[int]) -> bool:
        """Whether all these patterns are there."""
        return set(numbers) <= set(self.there)

    async def look_again(self) -> None:
        """Take up the patterns that came into the folders, and let go of those that have gone."""
        with told_only():
            found = await self._judge_in(jobs_there, self.named, self.request, self.shops)
            numbers = {job.path: number for number, job in self.jobs.items()}
            there = tuple(numbers.setdefault(job.path, len(numbers)) for job in found)
            self.jobs |= dict(zip(there, found, strict=True))
            if there == self.there:
                return
            for gone in set(self.there) - set(there):
                self._pairs.pop(gone, None)
                self._trying.pop(gone, None)
            self.there = there
            for queue in self._listeners:
                queue.put_nowait(self._files())

    async def reads(self) -> dict[Path, list[int]]:
        """All files that are read, each with the patterns that it is read for."""
        return await self._judge_in(self._reads)

    def _reads(self) -> dict[Path, list[int]]:
        found: dict[Path, list[int]] = {}
        for number, job in self.jobs.items():
            for path in job.reads(self.shops):
                found.setdefault(path.absolute(), []).append(number)
        return found

    async def table(self, number: int) -> Table:
        """A pattern as it lies on the table, judged if nobody has yet."""
        self.job(number)
        if number not in self.tables:
            await self.judge(number)
        return self.tables[number]

    async def judge(self, number: int) -> Table:
        """Judge a pattern anew if a file of it is another than when it was judged last; then what follows for its seams."""
        job = self.job(number)
        async with self._locks[number]:
            now = await self._judge_in(self._state_of, job)
            before = self.tables.get(number)
            if before is not None and self._settings.get(number) == now:
                return before
            self.shops = self.shops.afresh()
            table = await self._judge_in(judged, job, self.shops, before, self._next())
            if self.tables.get(number) is not before:  # a step was written meanwhile, and is judged when at rest
                return self.tables[number]
            self._settings[number] = now
            self._tell(number, table)
            if not table.trouble and is_open(table) and (before is None or table.solved is not before.solved):
                with told_only():
                    pairs = await self._pairs_of(number)
                    more = await self._pair_in(paired, job, replace(table, version=self._next()), pairs)
                    if self.tables[number] is table:
                        self._tell(number, more)
        return self.tables[number]

    def _state_of(self, job: Job) -> tuple[str, ...]:
        return tuple(digest(content(path)) for path in job.reads(self.shops))

    async def _pairs_of(self, number: int) -> Pairs:
        """The pairing of the drawing as it is, made once."""
        drawing = digest(content(self.job(number).path))
        if number not in self._pairs or self._pairs[number][0] != drawing:
            self._pairs.pop(number, None)
            self._pairs[number] = drawing, await self._pair_in(Pairs, self.job(number), self.shops)
        return self._pairs[number][1]

    def _judge_when_at_rest(self, number: int) -> None:
        if number in self._resting:
            self._resting[number].cancel()

        async def rest() -> None:
            await asyncio.sleep(AT_REST)
            del self._resting[number]
            with told_only():
                await self.judge(number)

        self._resting[number] = asyncio.create_task(rest())

    # What the page asks

    async def told(self, number: int, size: str | None = None) -> dict[str, Any]:
        """A pattern as the page takes it, in a size of its own choice."""
        table = await self.table(number)
        data = await self._judge_in(self._told, number, table, size) if table.shown is not None else _nothing(table)
        plan = self.job(number).plan.name
        return {**data, "number": number, "file": plan, **self._files()}

    def _told(self, number: int, table: Table, size: str | None) -> dict[str, Any]:
        from seamcheck.report.table.found import verdict
        from seamcheck.report.table.told import picture

        assert table.shown is not None
        wanted = self._size(table, size)
        key = number, table.version, wanted
        if key not in self._pictures:
            drawn, sheet = picture(table.shown, wanted, self._papers.get(number, 0))
            self._papers[number] = sheet.paper
            found = None if table.result is None else verdict(table.result, sheet)
            if len(self._pictures) >= KEPT_PICTURES:
                self._pictures.clear()
                self._moves.clear()
            self._moves[key] = {piece.name: piece.move for piece in sheet.pieces}
            self._pictures[key] = tables.told(table, drawn, found, sheet.size)
        return self._pictures[key]

    @staticmethod
    def _size(table: Table, size: str | None) -> str:
        assert table.shown is not None
        return size if size is not None and size in table.shown.pattern.sizes else _first_size(table)

    async def mates(self, number: int, edge: str) -> list[dict[str, Any]]:
        """What an edge may be sewn to."""
        table = await self.table(number)
        if table.shown is None:
            return []
        pairs = await self._pairs_of(number)
        return tables.mates(await self._pair_in(pairs.mates, table.shown.plan, edge))

    async def write(self, number: int, step: PlanStep) -> tuple[dict[str, Any], bool]:
        """Write a step of the plan; what follows from it, and whether it was written: it is not where the file is another by now."""
        job, table = self.job(number), await self.table(number)
        done = write_plan(job.plan, step.text, step.base, aside=step.aside)
        if isinstance(done, Conflict):
            return {"text": done.text, "base": done.base}, False
        keep(job.plan, Refusals(step.refused, step.unknown))
        solved = Solved()
        with told_only():  # the step stands, whatever becomes of what follows from it
            pairs = await self._pairs_of(number)
            solved = await self._pair_in(pairs.solved, done.plan, step.refused, step.unknown)
        table = replace(
            self.tables.get(number, table),
            version=self._next(),
            base=done.base,
            text=step.text,
            solved=solved,
            refused=step.refused,
            unknown=step.unknown,
        )
        self.tables[number] = table
        self._judge_when_at_rest(number)
        return {"base": done.base, "version": table.version, **tables.solved(table)}, True

    # Lines drawn anew

    async def truing(self, number: int, size: str, act: Callable[[Trying, Moves], dict[str, Any]]) -> dict[str, Any]:
        """Ask for new lines of a size, take some or take some back."""
        table = await self.table(number)
        if table.shown is None or table.trouble:
            raise SeamcheckError("nothing is read that could be trued", path=str(self.job(number).path))
        state = table.drawing, table.base
        if number not in self._trying or self._trying[number].state != state:
            before = self._trying.get(number)
            self._trying[number] = await self._judge_in(Trying, self.job(number), self.shops, state, before)
        await self._judge_in(self._told, number, table, size)
        return await self._judge_in(
            act, self._trying[number], self._moves[number, table.version, self._size(table, size)]
        )

    async def altering(
        self, number: int, size: str, act: Callable[[Altering, str, Moves], dict[str, Any]]
    ) -> dict[str, Any]:
        """Ask what fits there are, rehearse one in a size, or carry one out."""
        table = await self.table(number)
        if table.shown is None or table.trouble:
            raise SeamcheckError("nothing is read that could be altered", path=str(self.job(number).path))
        await self._judge_in(self._told, number, table, size)
        shown = self._size(table, size)
        moves = self._moves[number, table.version, shown]
        return await self._judge_in(act, Altering(self.job(number), self.shops), shown, moves)

    async def printed(self, number: int, made: Callable[[Table], str]) -> str:
        """What is made of a table to be sent."""
        table = await self.table(number)
        if table.shown is None:
            raise SeamcheckError("nothing is read that could be printed", path=str(self.job(number).path))
        return await self._judge_in(made, table)


def _nothing(table: Table) -> dict[str, Any]:
    """What the page shows while nothing could be read."""
    from seamcheck.report.table.told import nothing

    return {
        **nothing(),
        "version": table.version,
        "base": table.base,
        "text": table.text,
        "trouble": table.trouble,
        "verdict": None,
    }


def _first_size(table: Table) -> str:
    """The size that is shown first: in which the worst is told, else the middle one."""
    from seamcheck.engine.causes import causes_of
    from seamcheck.report.pairing.sheet import shown_size

    assert table.shown is not None
    causes = [cause for cause in causes_of(table.result) if cause.counts] if table.result is not None else []
    worst = causes[0].worst.size if causes else ""
    return worst if worst in table.shown.pattern.sizes else shown_size(table.shown.pattern)
