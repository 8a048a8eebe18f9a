"""A thousand styles by one process, by two, and by a cluster of two workers of which one is killed in the middle.

The styles are drafted by the grammar of garments (`fixtures/garments`), each with measures of its own. Told are processor seconds, of all
processes together, and whether every result came, once, in order, and as the one process has it.

Run by hand: nice python tests/benchmarks/bench_cluster.py [--styles 1000] [--family skirts]
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "fixtures")]

import psutil  # noqa: E402  distributed brings it

import seamcheck  # noqa: E402
from seamcheck.engine.result import FileResult  # noqa: E402

LOST = [0.0]  # processor seconds of workers that were killed


def drafted(folder: Path, count: int, families: list[str]) -> list[str]:
    """So many styles with their plans."""
    from garments.compose import composed

    paths = []
    for seed in range(count):
        style = composed(seed, families)
        path = folder / f"style-{seed:04}{style.suffix}"
        path.write_text(style.text)
        path.with_suffix(".seams.toml").write_text(style.plan)
        paths.append(str(path))
    return paths


def say(line: str) -> None:
    """Print a line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def seconds(process: psutil.Process) -> float:
    """The processor time of a process so far, with that of the children it has waited for."""
    times = process.cpu_times()
    return float(times.user + times.system + times.children_user + times.children_system)


def told(
    name: str, each: Iterable[FileResult], paths: list[str], alone: list[int], used: Iterator[float]
) -> list[int]:
    """Take all results, say what came of them, and give what stands for each: a number of its findings and failures."""
    begun, before = time.perf_counter(), next(used)
    came, marks, first = [], [], 0.0
    for result in each:
        first = first or time.perf_counter() - begun
        came.append(result.path)
        marks.append(hash((result.path, result.findings, result.seams, result.failures)))
    spent, clock = next(used) - before, time.perf_counter() - begun
    same = "as alone" if marks == (alone or marks) else "DIFFERENT"
    order = "once each, in order" if came == paths else "NOT ALL, OR NOT IN ORDER"
    say(
        f"{name:44} {len(came):5} results, {order}, {same}; {spent:7.1f} s of processors, {clock:7.1f} s on the clock, first after {first:.1f} s"
    )
    return marks


def of_this(*, children: bool = False) -> Iterator[float]:
    """The processor time of this process, and at the end that of its children that were waited for."""
    while True:
        yield seconds(psutil.Process()) if children else time.process_time()


def main() -> None:
    """Run all three."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--styles", type=int, default=1000)
    parser.add_argument("--family", action="append", default=[])
    chosen = parser.parse_args()
    import distributed

    with tempfile.TemporaryDirectory() as folder:
        paths = drafted(Path(folder), chosen.styles, chosen.family)
        size = sum(path.stat().st_size for path in Path(folder).iterdir())
        say(f"{len(paths)} styles, {size / 1e6:.1f} MB with their plans")
        alone = told("one process", seamcheck.check_each(paths), paths, [], of_this())
        told("two processes", seamcheck.check_each(paths, jobs=2), paths, alone, of_this(children=True))
        for send in ("bytes", "paths"):
            with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
                address = cluster.scheduler_address
                each = seamcheck.check_each(paths, scheduler=address, send=send)
                spent = of_cluster(address)
                told(
                    f"a cluster of two, one killed, {send} sent",
                    killing(each, address, len(paths) // 2),
                    paths,
                    alone,
                    spent,
                )


def of_cluster(address: str) -> Iterator[float]:
    """The processor time of this process, which is the scheduler too, and of the workers, dead or alive."""
    while True:
        yield time.process_time() + LOST[0] + sum(seconds(psutil.Process(pid)) for pid in workers(address))


def workers(address: str) -> list[int]:
    """The processes of the workers."""
    import distributed

    with distributed.Client(address, set_as_default=False) as client:
        return sorted(client.run(os.getpid).values())


def killing(each: Iterable[FileResult], address: str, at: int) -> Iterator[FileResult]:
    """The results as they come; behind so many of them a worker is killed."""
    for number, result in enumerate(each, 1):
        yield result
        if number == at:
            worker = workers(address)[0]
            LOST[0] += seconds(psutil.Process(worker))
            os.kill(worker, signal.SIGKILL)


if __name__ == "__main__":
    main()
