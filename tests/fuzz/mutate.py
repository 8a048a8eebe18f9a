"""Read, judge and tell spoiled pattern files: `python tests/fuzz/mutate.py --count 10000 --seed 1`.

Every file is one of the fixtures (or of the sample drawings, where they are there) with bytes flipped, lines dropped,
doubled or swapped, and numbers and words replaced by nasty ones; its plan and rule table go with it and are sometimes
spoiled too. Whatever is wrong with it has to end in one sentence. Counted are exceptions that are no SeamcheckError,
warnings of libraries, and runs of more than 5 s of processor time; the seeds of all failures are printed, and
`--only SEED` runs one of them again and keeps the file.
"""

from __future__ import annotations

import argparse
import bisect
import itertools
import multiprocessing
import random
import re
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from typing import NamedTuple

CHECKOUT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(CHECKOUT))
FOLDERS = (
    CHECKOUT / "fixtures" / "ferryhand",
    CHECKOUT / "fixtures" / "lookalikes",
    CHECKOUT.parent / "shared" / "samples",
)
SLOW = 5.0  # s of processor time
STUCK = 60.0  # s on the clock, after which a worker is ended
NUMBERS = (
    *(
        "nan",
        "inf",
        "-inf",
        "1e308",
        "-1e308",
        "1e-320",
        "1e7",
        "1e15",
        "0",
        "-0",
        "-1",
        "1",
        "2",
        "3",
        "0.5",
        "12,5",
    ),
    *("999999999999", "65536", "-32768", "1e400", "1.#QNAN", "0x10", "", ".", "1 2", "1e", "--1", "\x00", "½"),
)
WORDS = (
    *(
        "",
        "0",
        "1",
        "2",
        "3",
        "4",
        "7",
        "8",
        "14",
        "84",
        "sew line",
        "cut line",
        "notch",
        "grain",
        "fold",
        "dart",
        "#",
        "##",
    ),
    *(
        "none",
        "inherit",
        "url(#a)",
        "%s",
        "\ud7ff",
        "\x1b[2J",
        "é" * 40,
        "x" * 3000,
        "../../x",
        "Front",
        "test square 5 cm",
    ),
    *(
        "M0,0",
        "Z",
        "A",
        "matrix(0,0,0,0,0,0)",
        "scale(0)",
        "scale(1e9)",
        "rotate(1e300)",
        "skewX(90)",
        "translate(1e12)",
    ),
    *(
        "SECTION",
        "ENDSEC",
        "BLOCK",
        "ENDBLK",
        "INSERT",
        "SEQEND",
        "EOF",
        "VERTEX",
        "SPLINE",
        "ARC",
        "HATCH",
        "# 1",
        "NM",
    ),
)
_NUMBER = re.compile(rb"[-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?")
_WORD = re.compile(rb"[A-Za-z_][\w-]*")


class Outcome(NamedTuple):
    """What became of one file: "read" or "refused", a traceback, warnings, and the processor time in s."""

    end: str
    fault: str = ""
    warned: str = ""
    seconds: float = 0.0


# Spoiling a file


def _lines(data: bytes, rng: random.Random) -> tuple[list[bytes], int]:
    """The lines, and by how many they are taken: in most DXF files two, so that codes keep their values."""
    lines = data.split(b"\n")
    is_dxf = data[:400].lstrip()[:1] in (b"0", b"9")
    return lines, 2 if is_dxf and rng.random() < 0.85 else 1


def flip(data: bytes, rng: random.Random) -> bytes:
    """Change single bytes."""
    spoiled = bytearray(data)
    for _ in range(rng.choice((1, 3, 10))):
        spoiled[rng.randrange(len(spoiled))] = rng.randrange(256)
    return bytes(spoiled)


def drop(data: bytes, rng: random.Random) -> bytes:
    """Leave out a run of lines."""
    lines, step = _lines(data, rng)
    start, count = rng.randrange(0, len(lines), step), step * rng.choice((1, 2, 4, 20))
    return b"\n".join(lines[:start] + lines[start + count :])


def double(data: bytes, rng: random.Random) -> bytes:
    """Write a run of lines twice."""
    lines, step = _lines(data, rng)
    start, count = rng.randrange(0, len(lines), step), step * rng.choice((1, 2, 4, 20, 200))
    return b"\n".join(lines[: start + count] + lines[start:])


def swap(data: bytes, rng: random.Random) -> bytes:
    """Exchange two lines or pairs."""
    lines, step = _lines(data, rng)
    a, b = (rng.randrange(0, max(1, len(lines) - 1), step) for _ in range(2))
    lines[a : a + step], lines[b : b + step] = lines[b : b + step], lines[a : a + step]
    return b"\n".join(lines)


def move(data: bytes, rng: random.Random) -> bytes:
    """Take a stretch from one place to another."""
    size = rng.choice((1, 10, 100, 2000))
    start, to = rng.randrange(len(data)), rng.randrange(len(data))
    taken = data[start : start + size]
    rest = data[:start] + data[start + size :]
    return rest[:to] + taken + rest[to:]


def cut_off(data: bytes, rng: random.Random) -> bytes:
    """Break off anywhere."""
    return data[: rng.randrange(len(data))]


def _replace(data: bytes, rng: random.Random, token: re.Pattern[bytes], by: Callable[[bytes], bytes]) -> bytes:
    found = list(token.finditer(data))
    lines, step = _lines(data, rng)
    if step == 2:  # only in values
        ends = list(itertools.accumulate(len(line) + 1 for line in lines))
        found = [match for match in found if bisect.bisect_right(ends, match.start()) % 2]
    for match in sorted(rng.sample(found, min(len(found), rng.choice((1, 2, 8)))), key=lambda m: -m.start()):
        data = data[: match.start()] + by(match[0]) + data[match.end() :]
    return data


def spoil_numbers(data: bytes, rng: random.Random) -> bytes:
    """Replace numbers by nasty ones, or by others of the file."""
    own = _NUMBER.findall(data)
    return _replace(
        data, rng, _NUMBER, lambda _: rng.choice(own) if rng.random() < 0.3 else rng.choice(NUMBERS).encode()
    )


def nudge_numbers(data: bytes, rng: random.Random) -> bytes:
    """Change numbers a little, so that lines end beside each other, cross and fold back."""
    return _replace(
        data,
        rng,
        _NUMBER,
        lambda text: (
            f"{float(text) * rng.choice((1.0, 1.001, 1.1, -1.0, 10.0)) + rng.choice((0, 1e-9, 1e-3, 1, -20)):.6g}".encode()
        ),
    )


def spoil_words(data: bytes, rng: random.Random) -> bytes:
    """Replace words by nasty ones, or by others of the file."""
    own = _WORD.findall(data)
    return _replace(
        data,
        rng,
        _WORD,
        lambda _: rng.choice(own) if rng.random() < 0.5 else rng.choice(WORDS).encode("utf-8", "surrogatepass"),
    )


# What breaks a file at once is tried less often than what only bends its drawing.
SPOIL = {
    flip: 2,
    cut_off: 1,
    move: 1,
    drop: 4,
    double: 4,
    swap: 3,
    spoil_numbers: 3,
    nudge_numbers: 8,
    spoil_words: 3,
}


def sources() -> list[Path]:
    """The files that are spoiled, in a stable order."""
    return sorted(path for folder in FOLDERS for path in folder.glob("*") if path.suffix in (".svg", ".dxf"))


def spoiled(seed: int, files: list[Path], folder: Path) -> Path:
    """Write the file of a seed, with what belongs to it, and return its path."""
    rng = random.Random(seed)
    # Small files go faster and are taken more often.
    source = rng.choices(files, [1.0 / (4000 + path.stat().st_size) for path in files])[0]
    companions = [source.with_suffix(".seams.toml"), source.with_suffix(".rul")]
    for old in folder.iterdir():
        old.unlink()
    for number, path in enumerate([source, *(one for one in companions if one.is_file())]):
        data = path.read_bytes()
        if number == 0 or rng.random() < 0.2:
            for _ in range(rng.choice((1, 1, 2, 3, 5))):
                data = rng.choices(list(SPOIL), list(SPOIL.values()))[0](data, rng) or b" "
        (folder / path.name).write_bytes(data)
    return folder / source.name


# Reading it


@contextmanager
def _watched() -> Iterator[list[str]]:
    """Collect the warnings of libraries."""
    said: list[str] = []
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        yield said
    said += [
        f"{one.category.__name__}: {one.message} ({Path(one.filename).name} line {one.lineno})" for one in caught
    ]


def run(path: Path, seed: int) -> Outcome:
    """Go the whole way of `check` and of `pieces` with one file."""
    from seamcheck.config.settings import Settings
    from seamcheck.engine import plugins
    from seamcheck.engine.judge import judge
    from seamcheck.engine.read import Request, read
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.engine.result import Report
    from seamcheck.errors import SeamcheckError
    from seamcheck.report.pieces import RENDERERS

    registry = plugins.load(Settings())
    rng = random.Random(-seed)
    asked = Request()
    if rng.random() < 0.3:
        asked = Request(line="cut", allowance=rng.choice((0.0, 6.0, 10.0, 40.0)))
    started = time.process_time()
    end, fault = "read", ""
    with _watched() as said:
        try:
            pattern, plan = read(str(path), asked, registry, Settings())
            result = judge(pattern, plan, registry.checks, Settings(), plugin_of=registry.plugin_of)
            for report in registry.reports:
                report.render(Report(files=(result,)), RenderOptions())
            for render in RENDERERS.values():
                render(pattern, RenderOptions())
            crashed = [failure for failure in result.failures if " crashed in " in failure]
            fault = "\n".join(crashed)
            ledger = pattern.ledger
            if ledger.read != ledger.used + sum(ledger.aside.values()):
                fault += f"the ledger does not add up: {ledger}"
        except SeamcheckError as error:
            end = "refused"
            if "\n" in str(error):
                fault = f"more than one line: {error!r}"
        except Exception:
            fault = traceback.format_exc()
    return Outcome(end, fault, "\n".join(dict.fromkeys(said)), time.process_time() - started)


def _work(pipe: Connection) -> None:
    with tempfile.TemporaryDirectory() as folder:
        files = sources()
        while (seed := pipe.recv()) is not None:
            pipe.send(run(spoiled(seed, files, Path(folder)), seed))


class Worker:
    """A process that takes one seed after the other, and is replaced when it is stuck."""

    def __init__(self) -> None:
        """Start it."""
        self.pipe, other = multiprocessing.Pipe()
        self.process = multiprocessing.get_context("spawn").Process(target=_work, args=(other,), daemon=True)
        self.process.start()

    def take(self, seed: int) -> Outcome | None:
        """The outcome of a seed, or None when it does not come to an end or the process dies of it."""
        self.pipe.send(seed)
        try:
            if self.pipe.poll(STUCK):
                outcome: Outcome = self.pipe.recv()
                return outcome
        except EOFError:
            pass
        self.stop()
        return None

    def stop(self) -> None:
        """End it."""
        self.process.kill()
        self.process.join()


def fuzz(count: int, seed: int, *, told: Callable[[str], object] = print) -> dict[str, list[int]]:
    """Run so many seeds; the seeds of each kind of failure."""
    failed: dict[str, list[int]] = {"tracebacks": [], "warnings": [], "slow": []}
    ends = {"read": 0, "refused": 0}
    worker = Worker()
    for number in range(seed * 1_000_000, seed * 1_000_000 + count):
        outcome = worker.take(number)
        if outcome is None:
            told(f"seed {number}: no end within {STUCK:.0f} s, or the process died")
            failed["slow"].append(number)
            worker = Worker()
            continue
        ends[outcome.end] += 1
        for kind, bad in (
            ("tracebacks", outcome.fault),
            ("warnings", outcome.warned),
            ("slow", f"{outcome.seconds:.1f} s" if outcome.seconds > SLOW else ""),
        ):
            if bad:
                failed[kind].append(number)
                told(f"seed {number}: {kind}: {bad}")
        done = number + 1 - seed * 1_000_000
        if done % 500 == 0:
            told(f"{done} files: {ends}, " + ", ".join(f"{len(seeds)} {kind}" for kind, seeds in failed.items()))
    worker.stop()
    return failed


def main() -> int:
    """Run from the command line; 1 when anything failed."""
    parser = argparse.ArgumentParser(description="Read, judge and tell spoiled pattern files.")
    parser.add_argument("--count", type=int, default=10_000, help="how many files")
    parser.add_argument("--seed", type=int, default=1, help="which row of them")
    parser.add_argument("--only", type=int, metavar="SEED", help="one file again, kept in a folder that is named")
    chosen = parser.parse_args()
    if chosen.only is not None:
        folder = Path(tempfile.mkdtemp())
        path = spoiled(chosen.only, sources(), folder)
        outcome = run(path, chosen.only)
        sys.stdout.write(f"{path}\n{outcome.end} in {outcome.seconds:.2f} s\n{outcome.fault}\n{outcome.warned}\n")
        return int(bool(outcome.fault or outcome.warned))
    failed = fuzz(chosen.count, chosen.seed, told=lambda text: sys.stdout.write(f"{text}\n") and sys.stdout.flush())
    for kind, seeds in failed.items():
        sys.stdout.write(f"{len(seeds)} {kind} in {chosen.count} files{': ' if seeds else ''}{seeds or ''}\n")
    return int(any(failed.values()))


if __name__ == "__main__":
    sys.exit(main())
