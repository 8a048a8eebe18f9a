"""How long the program takes beside a library that does the least that has to be done with the same file.

Each figure is the processor time of a process of its own, the median of five, those of a ratio taken in turn; that of `--jobs` is
time on the clock and wants two idle cores. What Python compiles is kept from a first run that does not count, whatever
PYTHONDONTWRITEBYTECODE says: a library that pip has compiled is measured against a program that it has compiled too. Nothing is
taken from what earlier runs found (`--no-cache`); what that spares, `bench_cache.py` measures. The nests are those of the Ferryhand trousers, drafted in 28 sizes and as dense as said.

Run by hand, some minutes: python tests/benchmarks/bench_speed.py [--runs 5] [--only WORD]
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FIXTURES = ROOT / "fixtures"
sys.path[:0] = [str(FIXTURES), str(ROOT)]

SMALL = FIXTURES / "ferryhand" / "ferryhand.svg"
ALTERED = FIXTURES / "ferryhand" / "altered" / "prominent-calf-left.svg"
PLAN = FIXTURES / "ferryhand" / "ferryhand.seams.toml"
COMPILED = tempfile.TemporaryDirectory()
SIZES = tuple(str(size) for size in range(26, 54))
Command = Sequence[str]


def drafted(folder: Path, name: str, sizes: Sequence[str], *, share: float = 1.0, copies: int = 1) -> Path:
    """A nest with its plan: `share` is how long the steps between its points are, `copies` how often each piece is there."""
    from drafting import write_apparel_dxf as writer
    from drafting.ferryhand import SAMPLE, STYLE, ferryhand

    usual = writer.CURVE_STEP, writer.CLOSE_STEP, writer.ARC_STEP
    writer.CURVE_STEP, writer.CLOSE_STEP, writer.ARC_STEP = (step * share for step in usual)
    text = writer.apparel_dxf(STYLE, {size: ferryhand(size) for size in sizes}, SAMPLE)
    writer.CURVE_STEP, writer.CLOSE_STEP, writer.ARC_STEP = usual
    plan = (FIXTURES / "ferryhand" / "ferryhand-nest.seams.toml").read_text(encoding="utf-8")
    path = folder / f"{name}.dxf"
    path.write_text(_copied(text, copies), encoding="utf-8")
    path.with_suffix(".seams.toml").write_text(_planned(plan, copies), encoding="utf-8")
    return path


def _copied(text: str, copies: int) -> str:
    """Every block so many times, the copies under names of their own."""
    before, start, rest = text.partition("0\nBLOCK\n")
    blocks, end, after = (start + rest).partition("0\nENDSEC\n0\nSECTION\n2\nENTITIES\n")
    more = [
        re.sub(r"(1\nPiece Name: [^\n]*)", rf"\1 {k}", re.sub(r"(0\nBLOCK\n8\n1\n2\n[^\n]*)", rf"\1_{k}", blocks))
        for k in range(2, copies + 1)
    ]
    return before + blocks + "".join(more) + end + after


def _planned(plan: str, copies: int) -> str:
    """The plan with the pieces, darts and seams of every copy."""
    head, _, body = plan.partition("[pieces.")
    body = f"[pieces.{body}"
    pieces = re.findall(r"^\[pieces\.([\w-]+)\]", body, re.MULTILINE)
    names = "|".join(sorted(pieces, key=len, reverse=True))
    parts = [body]
    for k in range(2, copies + 1):
        part = re.sub(rf"^\[pieces\.({names})(?=[\].])", rf"[pieces.\1-{k}", body, flags=re.MULTILINE)
        part = re.sub(rf'"(-?)({names})\.', rf'"\1\2-{k}.', part)
        part = re.sub(rf'^piece = "({names})"', rf'piece = "\1-{k}"', part, flags=re.MULTILINE)
        part = re.sub(r'^in-file = "(.*)"', rf'in-file = "\1 {k}"', part, flags=re.MULTILINE)
        parts.append(re.sub(r'^name = "(.*)"', rf'name = "\1-{k}"', part, flags=re.MULTILINE))
    return head + "\n".join(parts)


def check(*words: object) -> Command:
    return [sys.executable, "-m", "seamcheck", "check", "--no-cache", *map(str, words)]


def python(code: str) -> Command:
    return [sys.executable, "-c", code]


def surroundings() -> dict[str, str]:
    """The environment of a process that finds what Python has compiled in a folder of our own."""
    given = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return given | {"PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": COMPILED.name}


def used(command: Command) -> tuple[float, float]:
    """Processor time, and time on the clock, of a process."""
    start = time.perf_counter()
    process = subprocess.Popen(
        command,
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=surroundings(),
    )
    _, status, usage = os.wait4(process.pid, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit(f"failed: {' '.join(command)}")
    return usage.ru_utime + usage.ru_stime, time.perf_counter() - start


def peak(command: Command) -> int:
    """The most memory in bytes that a process had; begun by a small one, for a new process counts that of its parent."""
    code = "import resource, subprocess, sys; subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL)\n"
    code += "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    words = [*python(code), *command]
    told = subprocess.run(words, cwd=ROOT, env=surroundings(), capture_output=True, text=True, check=True)
    return int(told.stdout) * 1024


def ratio(one: Command, other: Command, runs: int, of: int = 0) -> tuple[float, float, float]:
    """The medians of both, taken in turn, and their ratio."""
    used(one), used(other)  # what they compile is kept
    pairs = [(used(one)[of], used(other)[of]) for _ in range(runs)]
    first, second = (statistics.median(values) for values in zip(*pairs, strict=True))
    return first, second, first / second


def rows(folder: Path, runs: int, wanted: str) -> Iterator[str]:
    """The lines of the table, each as soon as it is measured."""
    nest = drafted(folder, "nest", SIZES, share=0.55)
    dense = drafted(folder, "dense", SIZES, share=0.131)
    one = drafted(folder, "one", ("40",))
    many = drafted(folder, "many", ("40",), copies=10)
    fine = drafted(folder, "fine", ("40",), share=0.29)
    sizes = drafted(folder, "sizes", SIZES)
    tiny = folder / "tiny.svg"
    tiny.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
        '<path d="M5 5H95V95H5Z"/></svg>\n',
        encoding="utf-8",
    )

    def readfile(path: Path) -> Command:
        return python(f"import ezdxf; ezdxf.readfile({str(path)!r})")

    bare = "import click\n@click.command()\ndef bare(): pass\nbare()"
    judged, drawn = f"pieces of {nest.stat().st_size / 1e6:.1f} MB", f"pieces of {dense.stat().st_size / 1e6:.1f} MB"
    known = ("--plan", str(PLAN), "--before", str(SMALL))
    true = [*check()[:3], "true", str(ALTERED), *known]
    table = [
        (f"check of 28 sizes of 7 {judged} / ezdxf.readfile", check(nest), readfile(nest), 0),
        (f"the same, 28 sizes of 7 {drawn}", check(dense), readfile(dense), 0),
        ("check of a small SVG / import numpy", check(SMALL), python("import numpy"), 0),
        ("--help / bare click", [sys.executable, "-m", "seamcheck", "--help"], [*python(bare), "--help"], 0),
        ("10 times the pieces / time", check(many), check(one), 0),
        ("28 times the sizes / time", check(sizes), check(one), 0),
        ("3.3 times the points of an outline / time", check(fine), check(one), 0),
        ("compare / check", [*check()[:3], "compare", str(SMALL), str(ALTERED)], check(SMALL), 0),
        ("true / check of the same file, which tries recipes", true, check(ALTERED, *known), 0),
        ("true / check of the file as drafted, which has none", true, check(SMALL), 0),
        ("HTML / text", check(SMALL, "--format", "html"), check(SMALL), 0),
    ]
    for name, command, beside, of in table:
        if wanted in name:
            first, second, share = ratio(command, beside, runs, of)
            yield f"{name:<70} {first:8.3f} s {second:8.3f} s {share:7.2f}"
    if wanted in "peak memory":
        for path in (nest, dense):
            above = peak(check(path)) - peak(check(tiny))
            name = f"peak memory above that of an empty check / file of {path.stat().st_size / 1e6:.1f} MB"
            yield f"{name:<70} {above / 1e6:7.1f} MB {path.stat().st_size / 1e6:7.1f} MB {above / path.stat().st_size:7.2f}"
    if wanted in "jobs":
        altered = sorted(path for path in ALTERED.parent.glob("*.svg") if "digitised" not in path.name)
        files = [str(shutil.copy(altered[k % len(altered)], folder / f"of-24-{k}.svg")) for k in range(24)]
        alone, both = check(*files, "--plan", PLAN, "--jobs", 1), check(*files, "--plan", PLAN, "--jobs", 2)
        first, second, share = ratio(alone, both, runs, 1)
        yield f"{f'one process / --jobs 2 on {len(files)} files, on the clock':<70} {first:8.3f} s {second:8.3f} s {share:7.2f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--only", default="", metavar="WORD", help="lines with this word in them")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as work:
        for line in rows(Path(work), given.runs, given.only):
            sys.stdout.write(f"{line}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
