"""The page of `watch` used whole: plans paired by mouse, keys and finger; save after save; how soon a save is shown.

    python tests/benchmarks/bench_watch.py [--pieces 7 12 30] [--means mouse keys touch] [--saves 200] [--pictures FOLDER]

For each sheet of so many pieces without names it tells how many clicks, taps or strokes of Enter a whole plan takes. Then the demo is
saved again and again while a page is open: the memory of the server is told after the first saves and after the last; and how long a save
takes until the page shows it, as a share of what `seamcheck check` takes for the same file by the side. A Chromium must be there.
"""

from __future__ import annotations

import argparse
import gc
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [
    str(ROOT / "tests" / "watch"),
    str(ROOT / "tests" / "report"),
    str(ROOT / "tests"),
    str(ROOT / "fixtures"),
]

from browser import Browser, browser, find_browser  # noqa: E402
from kits import kit  # noqa: E402
from person import Person, edges_on, truth_of  # noqa: E402
from serving import DEMO, demo_in, serving  # noqa: E402

from seamcheck.config.plan_file import parse_plan  # noqa: E402
from seamcheck.engine.read import Request  # noqa: E402
from seamcheck.engine.workspace import Shops  # noqa: E402
from seamcheck.truing.recipes import with_recipes  # noqa: E402

WIDTHS = {"mouse": 1400, "keys": 1400, "touch": 380}
FIRST = 10  # saves after which memory is told for the first time


def tell(*words: object) -> None:
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


def shot(window: Browser, folder: Path | None, name: str) -> None:
    if folder is not None:
        window.picture(folder / f"{name}.png")


def pairing(window: Browser, pieces: int, means: str, pictures: Path | None) -> None:
    with tempfile.TemporaryDirectory() as folder:
        drawing, parts = kit(pieces, Path(folder))
        with serving(drawing) as served, window.as_wide_as(WIDTHS[means], touch=means == "touch"):
            served.until(lambda state: state["proposals"] or state["question"])
            window.go("about:blank")
            window.go(served.address)
            truth = truth_of(drawing, edges_on(window), *parts)
            person = Person(window, truth, means)
            person.rest()
            proposed = len(person.seams()[0]), len(person.seams()[1])
            shot(window, pictures, f"{pieces}-{means}-begun")
            acts = person.pair_all()
            shot(window, pictures, f"{pieces}-{means}-done")
            plan = parse_plan(drawing.with_name(f"{drawing.stem}.seams.toml").read_text(encoding="utf-8"))
            sewn = {frozenset(frozenset(use.name for use in side) for side in seam.sides) for seam in plan.seams}
            right = "as it should be" if sewn == truth.seams else f"{len(sewn ^ truth.seams)} seams off"
            tell(
                f"{pieces} pieces by {means}: {acts} acts for {len(truth.seams)} seams, {right};",
                f"{proposed[0]} sure and {proposed[1]} asked at first; {len(truth.lost)} seams without names on the page;",
                "errors:",
                window.errors,
            )
            tell("   ", ", ".join(person.log))


def memory() -> float:
    gc.collect()
    told = Path("/proc/self/status").read_text(encoding="ascii")
    return int(next(line for line in told.splitlines() if line.startswith("VmRSS")).split()[1]) / 1024


def saving(window: Browser, saves: int) -> None:
    good, altered = (
        (DEMO / f"{name}.svg").read_text(encoding="utf-8") for name in ("ferryhand", "ferryhand-altered")
    )
    with tempfile.TemporaryDirectory() as folder:
        drawing = demo_in(Path(folder))
        with serving(drawing) as served:
            window.go("about:blank")
            window.go(served.address)
            first = 0.0
            for k in range(saves):
                drawing.write_text((altered, good)[k % 2], encoding="utf-8")
                told = ("1 thing to put right", "othing to put right")[k % 2]
                window.wait(f"document.getElementById('verdict').textContent.includes('{told}')")
                if k + 1 == FIRST:
                    first = memory()
            heap = window.js("performance.memory ? performance.memory.usedJSHeapSize / 1048576 : 0")
            tell(
                f"{saves} saves: {first:.0f} MB after {FIRST}, {memory():.0f} MB after all; the page holds {heap:.0f} MB; errors: {window.errors}"
            )


def shown(window: Browser, times: int = 7) -> None:
    """How long from a save until the page has it, beside a check in this process and one on the command line."""
    altered = (DEMO / "ferryhand-altered.svg").read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        drawing = demo_in(Path(folder), altered=True)
        shops = Shops(recipes=with_recipes)
        with serving(drawing) as served:
            window.go("about:blank")
            window.go(served.address)
            waits, checks, commands = [], [], []
            for k in range(times):
                begun = time.perf_counter()
                shops.afresh().judge(str(drawing), Request(geometry=True))
                checks.append(time.perf_counter() - begun)
                begun = time.perf_counter()
                subprocess.run(
                    [sys.executable, "-m", "seamcheck", "check", str(drawing)], capture_output=True, check=False
                )
                commands.append(time.perf_counter() - begun)
                version = window.js("version")
                drawing.write_text(altered.replace("</svg>", f"<!-- {k} --></svg>"), encoding="utf-8")
                begun = time.perf_counter()
                window.wait(f"version > {version}")
                waits.append(time.perf_counter() - begun)
            wait, check, command = map(statistics.median, (waits, checks, commands))
            tell(
                f"a save is shown within {wait / check:.2f} checks in one process, {wait / command:.2f} on the command line"
            )


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--pieces", type=int, nargs="*", default=[7, 12, 30])
    asked.add_argument("--means", nargs="*", default=list(WIDTHS), choices=list(WIDTHS))
    asked.add_argument("--saves", type=int, default=200)
    asked.add_argument("--pictures", type=Path)
    given = asked.parse_args()
    executable = find_browser()
    if executable is None:
        sys.exit("no Chromium is installed to open the page in")
    with tempfile.TemporaryDirectory() as own, browser(executable) as window:
        os.environ["XDG_CONFIG_HOME"] = own  # what is refused here concerns nobody
        for pieces in given.pieces:
            for means in given.means:
                pairing(window, pieces, means, given.pictures)
        if given.saves:
            shown(window)
            saving(window, given.saves)


if __name__ == "__main__":
    main()
