"""Run every command on spoiled files: `python tests/fuzz/mutate.py --count 10000 --seed 1`.

Every input is a folder of its own. Its pattern is one of the fixtures (or of the sample drawings, where they are there), with its plan, rule table,
and at times a recipe, settings with rules, an earlier file, or a record of known findings. One or several of them are spoiled: as what they are
(`structures`), or in their bytes and lines (`spoil`). Then one command runs on it, as from the command line, with options and a format
that are drawn as well. Whatever is wrong has to end in one sentence, in 5 s of processor time and 500 MB.

Counted are exceptions, faults that the program tells of itself, results that are not what their format says, warnings of libraries, and
what takes too long or too much; the seeds of all failures are printed, and `--only SEED` runs one of them again and keeps the
folder.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import random
import re
import resource
import shutil
import sys
import tempfile
import time
import tomllib
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

CHECKOUT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(CHECKOUT), str(CHECKOUT / "fixtures"), str(Path(__file__).parent)]
from spoil import SPOIL  # noqa: E402  a script finds its neighbours so
from structures import SPOILERS, dumped, random_recipe, random_rule, spoil_toml  # noqa: E402

FIXTURES = CHECKOUT / "fixtures"
FOLDERS = (
    *(FIXTURES / name for name in ("ferryhand", "lookalikes", "as-drawn", "sewline")),
    CHECKOUT.parent / "shared" / "samples",
)
SLOW = 5.0  # s of processor time
LARGE = 500  # MB
COUNTED = 1_000_000  # bytes: what is larger may take longer
STUCK = 60  # s of processor time, after which a worker is ended
ASLEEP = 3600.0  # s on the clock, after which it is
KINDS = ("faults", "warnings", "slow", "large")


class Outcome(NamedTuple):
    """What became of one input: the command, its exit code, what is wrong, warnings, processor time in s, memory in MB, size in bytes.

    `told` says whether there was a result, and not only why there is none.
    """

    command: str
    code: int
    fault: str = ""
    warned: str = ""
    seconds: float = 0.0
    memory: float = 0.0
    size: int = 0
    told: bool = False


# Spoiling a folder


def sources() -> list[Path]:
    """The files that are spoiled, in a stable order."""
    from drafted import drafted

    return sorted(
        path
        for folder in (*FOLDERS, drafted("corpus"))
        for path in folder.glob("*")
        if path.suffix in (".svg", ".dxf")
    )


def _chosen(rng: random.Random, files: list[Path]) -> Path:
    # Small files go faster and are taken more often; so are those with a plan, which come further.
    planned = [4.0 if path.with_suffix(".seams.toml").exists() else 1.0 for path in files]
    return rng.choices(files, [k / (4000 + path.stat().st_size) for k, path in zip(planned, files, strict=True)])[0]


def _spoiled(data: bytes, suffix: str, rng: random.Random) -> bytes:
    for _ in range(rng.choice((1, 1, 2, 3, 5))):
        if suffix in SPOILERS and rng.random() < 0.75:
            data = SPOILERS[suffix](data, rng) or data
        else:
            data = rng.choices(list(SPOIL), list(SPOIL.values()))[0](data, rng) or b" "
    return data


def spoiled(seed: int, files: list[Path], folder: Path) -> Path:
    """Write the files of a seed into a folder, which is emptied, and return the path of the pattern."""
    rng = random.Random(seed)
    source = _chosen(rng, files)
    for old in folder.iterdir():
        shutil.rmtree(old) if old.is_dir() else old.unlink()
    pattern = folder / source.name
    pattern.write_bytes(_spoiled(source.read_bytes(), source.suffix, rng))
    (folder / f"earlier{source.suffix}").write_bytes(source.read_bytes())
    for beside in (source.with_suffix(".seams.toml"), source.with_suffix(".rul")):
        if beside.is_file():
            data = beside.read_bytes()
            (folder / beside.name).write_bytes(_spoiled(data, beside.suffix, rng) if rng.random() < 0.35 else data)
    if rng.random() < 0.25:
        data = dumped(_settings(folder, rng)).encode("utf-8", "backslashreplace")
        for _ in range(rng.choice((0, 1, 1, 2))):
            data = spoil_toml(data, rng) or data
        (folder / "seamcheck.toml").write_bytes(data)
    plan = source.with_suffix(".seams.toml")
    if plan.exists() and rng.random() < 0.3:
        data = dumped(random_recipe(tomllib.loads(plan.read_text("utf-8")), rng)).encode()
        (folder / "new.alter.toml").write_bytes(_spoiled(data, ".toml", rng) if rng.random() < 0.2 else data)
    if rng.random() < 0.1:
        (folder / "known.json").write_bytes(_spoiled(_record(pattern.name, rng), ".json", rng))
    return pattern


def _settings(folder: Path, rng: random.Random) -> dict[str, object]:
    """Settings of a shop with rules about what the plan names."""
    names = ["front.hem", "back.hem", "front.outseam", "outseam", '"a b".c']
    for plan in folder.glob("*.seams.toml"):
        names += re.findall(r"[\w-]+\.[\w-]+", plan.read_text("utf-8", "replace"))[:40]
    rules = [
        {
            "name": f"rule-{k}",
            "holds": random_rule(names, rng),
            **rng.choice(
                ({}, {"missing": "error"}, {"tolerance": 0.5}, {"severity": "note"}, {"message": "{left} {amount}"})
            ),
        }
        for k in range(rng.choice((1, 3, 20)))
    ]
    checks = ("seam-length", "labels", "corner-blend", "edge-blend/step", "grain-straight", "notch-match", "rule-0")
    return {
        "units": rng.choice(("mm", "cm", "in")),
        "allowance": rng.choice((0, 10, 1e9)),
        "tolerances": {rng.choice(checks): rng.choice((0, 0.1, 3, 1e9))},
        "severity": {rng.choice(checks): rng.choice(("error", "note", "off", "warning"))},
        "layers": {rng.choice(("sew-line", "cut-line", "notch", "grain")): ["*", "NET*", "1"][: rng.randrange(4)]},
        "measures": {"hem.width": random_rule(names, rng).partition(" =")[0]},
        "rules": rules,
        **(
            {"limits": {"corners": rng.choice((1, 30, 400)), "bytes": rng.choice((1000, 10**6))}}
            if rng.random() < 0.2
            else {}
        ),
    }


def _record(name: str, rng: random.Random) -> bytes:
    known = {"check": "seam-length", "code": "long", "about": "outseam", "severity": "error", "count": 1}
    return json.dumps({"schema": "seamcheck.known/1", "files": {name: {"findings": [known]}}}).encode()


# The commands


def _of_check(rng: random.Random, pattern: Path) -> list[str]:
    options = [
        *(("--before", f"earlier{pattern.suffix}") if rng.random() < 0.2 else ()),
        *(("--guess",) if rng.random() < 0.3 else ()),
        *(("--partial",) if rng.random() < 0.2 else ()),
        *(("--verbose",) if rng.random() < 0.3 else ()),
        *(("--second-reading",) if rng.random() < 0.1 else ()),
        *(("--only-new", "known.json") if pattern.with_name("known.json").exists() else ()),
        *(("--record", "new.json") if rng.random() < 0.1 else ()),
        *(("--plan", "nothing.seams.toml") if rng.random() < 0.02 else ()),
    ]
    kinds = ("text", "json", "jsonl", "html", "svg", "junit", "sarif", "github", "markdown", "table")
    for kind in rng.sample(kinds, 2):
        options += ["--format", kind, *(("--output", f"told.{kind}") if "--output" not in options else ())]
    if rng.random() < 0.1:
        options += [
            rng.choice(("--select", "--ignore")),
            rng.choice(("seam-length", "grain-straight,labels", "x", "seam-length/long")),
        ]
    return ["check", pattern.name, *options, "--jobs", "1", *(("--no-cache",) if rng.random() < 0.8 else ())]


def _of_true(rng: random.Random, pattern: Path) -> list[str]:
    choices = ("1a", "1b", "2c", "0a", "9z", "1", "b1", "1bb", "１b", "")
    options = [
        *(("--output", f"trued{pattern.suffix}") if rng.random() < 0.6 else ()),
        *(("--picture", rng.choice(("told.svg", "told.pdf"))) if rng.random() < 0.3 else ()),
        *(("--print", "all") if rng.random() < 0.3 else ()),
        *(("--choose", rng.choice(choices)) if rng.random() < 0.4 else ()),
        *(("--before", f"earlier{pattern.suffix}") if rng.random() < 0.2 else ()),
    ]
    return ["true", pattern.name, "--format", rng.choice(("text", "json")), *options]


def _of_pair(rng: random.Random, pattern: Path) -> list[str]:
    kind = rng.choice(("toml", "json", "svg", "html"))
    return ["pair", pattern.name, "--format", kind, *(("--output", f"new.{kind}") if rng.random() < 0.3 else ())]


def _of_compare(rng: random.Random, pattern: Path) -> list[str]:
    both = [f"earlier{pattern.suffix}", pattern.name]
    rng.shuffle(both)
    return ["compare", *both, "--format", rng.choice(("text", "json"))]


def _of_pieces(rng: random.Random, pattern: Path) -> list[str]:
    return ["pieces", pattern.name, "--format", rng.choice(("text", "json", "svg"))]


def _of_alter(rng: random.Random, pattern: Path) -> list[str]:
    fits = ("full-seat", "prominent-calf", "sway-back", "no-such-fit")
    what = ["new.alter.toml"] if pattern.with_name("new.alter.toml").exists() else [rng.choice(fits)]
    options = [
        *(("--output", f"altered{pattern.suffix}") if rng.random() < 0.6 else ()),
        *(
            ("--amount", rng.choice(("1/4 in", "0", "-5", "2 m", "1/0 in")))
            if what[0] in fits and rng.random() < 0.5
            else ()
        ),
        *(("--piece", rng.choice(("back", "front", "x"))) if what[0] in fits and rng.random() < 0.3 else ()),
        *(("--leave",) if rng.random() < 0.2 else ()),
        *((rng.choice(("--only-left", "--only-right")),) if rng.random() < 0.15 else ()),
        *(("--picture", rng.choice(("told.svg", "told.pdf"))) if rng.random() < 0.2 else ()),
    ]
    return ["alter", pattern.name, *what, "--format", rng.choice(("text", "json", "svg")), *options]


def _of_settings(rng: random.Random, pattern: Path) -> list[str]:
    return rng.choice(
        (
            ["explain", "rules"],
            ["explain", "settings"],
            ["explain", "seam-length"],
            ["plugins", "--format", "json"],
            ["check", "."],
        )
    )


COMMANDS: dict[Callable[[random.Random, Path], list[str]], int] = {
    _of_check: 10,
    _of_true: 4,
    _of_alter: 4,
    _of_pair: 3,
    _of_compare: 3,
    _of_pieces: 3,
    _of_settings: 1,
}


def command(seed: int, pattern: Path) -> list[str]:
    """The command line of a seed."""
    rng = random.Random(-1 - seed)
    words = rng.choices(list(COMMANDS), list(COMMANDS.values()))[0](rng, pattern)
    if (
        words[0] in ("true", "alter") and not pattern.with_suffix(".seams.toml").exists()
    ):  # there is nothing to true by
        words = _of_check(rng, pattern)
    if words[0] in ("check", "true", "pair", "compare", "pieces", "alter"):
        words += [
            *(
                ("--line", rng.choice(("sew", "cut")), "--allowance", rng.choice(("0", "6", "10", "400")))
                if rng.random() < 0.2
                else ()
            ),
            *(("--units", rng.choice(("mm", "cm", "in"))) if rng.random() < 0.1 else ()),
            *(("--size", rng.choice(("40", "M", "x"))) if rng.random() < 0.05 else ()),
            *(("--dpi", rng.choice(("72", "1e-300", "1e300"))) if rng.random() < 0.05 else ()),
            *(("--encoding", rng.choice(("cp1252", "utf-16", "x"))) if rng.random() < 0.05 else ()),
        ]
    return words


# Running one


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


def _peak(*, forget: bool = False) -> float:
    """The most memory in MB that this process had since that was last forgotten; 0 where the system does not tell (proc(5))."""
    try:
        if forget:
            Path("/proc/self/clear_refs").write_text("5")
        status = Path("/proc/self/status").read_text()
    except OSError:
        return 0.0
    found = re.search(r"VmHWM:\s*(\d+) kB", status)
    return int(found[1]) / 1024 if found else 0.0


def run(pattern: Path, seed: int) -> Outcome:
    """Run the command of a seed in the folder of its pattern."""
    from click.testing import CliRunner

    from seamcheck.cli.main import main

    words = command(seed, pattern)
    before = Path.cwd()
    size = sum(path.stat().st_size for path in pattern.parent.iterdir())
    os.chdir(pattern.parent)
    _peak(forget=True)
    begun = time.process_time()
    fault = ""
    try:
        with _watched() as said:
            result = CliRunner().invoke(main, words)
        seconds, memory = time.process_time() - begun, _peak()
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            fault = "".join(traceback.format_exception(result.exception))
        else:
            fault = _wrong(words, result.exit_code, result.stdout, result.stderr)
    finally:
        os.chdir(before)
    line = " ".join(words)
    return Outcome(
        line, result.exit_code, fault, "\n".join(dict.fromkeys(said)), seconds, memory, size, bool(result.stdout)
    )


def _wrong(words: list[str], code: int, out: str, err: str) -> str:
    """What is wrong with what a command said; "" where nothing is."""
    if code not in (0, 1, 2):
        return f"exit code {code}"
    for line in err.splitlines():
        if "itself failed" in line or " crashed in " in line or not line.startswith("seamcheck: "):
            return f"on stderr: {line}"
    if code == 2 and not err and "--partial" not in words and "no plan" not in out and not out:
        return "exit code 2, and nothing is said"
    texts = [
        (words[k + 1], words[k + 3] if words[k + 2 : k + 3] == ["--output"] else None)
        for k, word in enumerate(words)
        if word == "--format"
    ]
    for kind, output in texts:
        path = Path(output) if output else None
        if (words[0] in ("true", "alter") and path is not None) or (path is not None and not path.exists()):
            continue
        text = out if path is None else path.read_text("utf-8")
        try:
            _read_back(kind, text)
        except (ValueError, ElementTree.ParseError) as error:
            return f"what is told as {kind} is no {kind}: {type(error).__name__}: {error}"
    return ""


def _read_back(kind: str, text: str) -> None:
    """Read a result as what it is to be; ValueError or ParseError where it is not."""
    if not text:
        return
    if kind in ("json", "sarif"):
        json.loads(text, parse_constant=lambda name: int(name))
    elif kind in ("jsonl", "table"):
        for line in text.splitlines():
            json.loads(line, parse_constant=lambda name: int(name))
    elif kind in ("svg", "junit"):
        ElementTree.fromstring(text)
    elif kind == "toml":
        from seamcheck.config.plan_file import parse_plan
        from seamcheck.errors import PlanError

        try:
            tomllib.loads(text)
            parse_plan(text)
        except PlanError as error:
            raise ValueError(str(error)) from error


# Running many


def _work(pipe: Connection) -> None:
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as own:
        os.environ["XDG_CACHE_HOME"] = os.environ["XDG_CONFIG_HOME"] = own
        files = sources()
        while (seed := pipe.recv()) is not None:
            most = resource.getrlimit(resource.RLIMIT_CPU)[1]
            resource.setrlimit(resource.RLIMIT_CPU, (int(time.process_time()) + STUCK, most))  # SIGXCPU ends it
            pipe.send(run(spoiled(seed, files, Path(folder)), seed))


class Worker:
    """A process that takes one seed after the other, and is replaced when it is stuck."""

    def __init__(self) -> None:
        """Start it."""
        self.pipe, other = multiprocessing.Pipe()
        self.process = multiprocessing.get_context("spawn").Process(target=_work, args=(other,), daemon=True)
        self.process.start()
        other.close()

    def take(self, seed: int) -> Outcome | None:
        """The outcome of a seed, or None when it does not come to an end or the process dies of it."""
        self.pipe.send(seed)
        try:
            if self.pipe.poll(ASLEEP):
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


def faults_of(outcome: Outcome) -> dict[str, str]:
    """What is wrong with an outcome, by kind."""
    small = outcome.size <= COUNTED
    wrong = {
        "faults": outcome.fault,
        "warnings": outcome.warned,
        "slow": f"{outcome.seconds:.1f} s" if outcome.seconds > SLOW and small else "",
        "large": f"{outcome.memory:.0f} MB" if outcome.memory > LARGE and small else "",
    }
    return {kind: what for kind, what in wrong.items() if what}


def fuzz(count: int, seed: int, *, told: Callable[[str], object] = print) -> dict[str, list[int]]:
    """Run so many seeds; the seeds of each kind of failure."""
    failed: dict[str, list[int]] = {kind: [] for kind in KINDS}
    ends: Counter[str] = Counter()
    slowest = largest = 0.0
    worker = Worker()
    for number in range(seed * 1_000_000, seed * 1_000_000 + count):
        outcome = worker.take(number)
        if outcome is None:
            told(f"seed {number}: no end within {STUCK} s of processor time, or the process died")
            failed["slow"].append(number)
            worker = Worker()
            continue
        ends[f"{outcome.command.split()[0]} {'told' if outcome.told else 'refused'}"] += 1
        slowest, largest = max(slowest, outcome.seconds), max(largest, outcome.memory)
        for kind, what in faults_of(outcome).items():
            failed[kind].append(number)
            told(f"seed {number}: {outcome.command}\n  {kind}: {what}")
        done = number + 1 - seed * 1_000_000
        if done % 500 == 0 or done == count:
            wrong = ", ".join(f"{len(seeds)} {kind}" for kind, seeds in failed.items())
            told(
                f"{done} inputs: {wrong}; slowest {slowest:.1f} s, largest {largest:.0f} MB; {dict(sorted(ends.items()))}"
            )
    worker.stop()
    return failed


def main() -> int:
    """Run from the command line; 1 when anything failed."""
    parser = argparse.ArgumentParser(description="Run every command on spoiled files.")
    parser.add_argument("--count", type=int, default=10_000, help="how many inputs")
    parser.add_argument("--seed", type=int, default=1, help="which row of them")
    parser.add_argument("--only", type=int, metavar="SEED", help="one input again, kept in a folder that is named")
    chosen = parser.parse_args()
    if chosen.only is not None:
        folder = Path(tempfile.mkdtemp())
        outcome = run(spoiled(chosen.only, sources(), folder), chosen.only)
        wrong = "".join(f"{kind}: {what}\n" for kind, what in faults_of(outcome).items())
        told = f"in {folder}: seamcheck {outcome.command}\nexit code {outcome.code} in {outcome.seconds:.2f} s, {outcome.memory:.0f} MB\n"
        sys.stdout.write(told + wrong)
        return int(bool(wrong))
    failed = fuzz(chosen.count, chosen.seed, told=lambda text: sys.stdout.write(f"{text}\n") and sys.stdout.flush())
    for kind, seeds in failed.items():
        sys.stdout.write(f"{len(seeds)} {kind} in {chosen.count} inputs{': ' if seeds else ''}{seeds or ''}\n")
    return int(any(failed.values()))


if __name__ == "__main__":
    sys.exit(main())
