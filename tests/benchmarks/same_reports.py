"""Whether two states of the program find the same: every drawing read and judged by one, and compared with what the other found.

    python tests/benchmarks/same_reports.py --write FOLDER          in the one state
    python tests/benchmarks/same_reports.py --against FOLDER        in the other: exit code 1 where anything differs

What is compared is the JSON of `check` and of `pieces`, for the drawings that are committed, drafted, and named after the options.
Words and order are to be the same, numbers within 1e-9.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "fixtures")]

NEAR = 1e-9
SETS = ("corpus", "heldout", "unseen")


def drawings(more: Sequence[Path]) -> list[tuple[str, Path]]:
    """Every drawing with the name that what is found in it is kept by."""
    from drafted import drafted, folder

    committed = sorted((ROOT / "fixtures").rglob("*"))
    made = sorted(path for name in SETS for path in drafted(name).iterdir())
    named = [(path.relative_to(ROOT / "fixtures").as_posix(), path) for path in committed]
    named += [(path.relative_to(folder()).as_posix(), path) for path in made]
    named += [(path.name, path.resolve()) for path in more]
    return [(name.replace("/", "~"), path) for name, path in named if path.suffix in (".svg", ".dxf")]


def found(drawing: Path) -> dict[str, object]:
    """What is told of a drawing, as JSON that no path of a machine is in."""
    import write_reports

    from seamcheck.config.settings import Settings
    from seamcheck.engine import plugins
    from seamcheck.engine.jobs import judge_one
    from seamcheck.engine.read import Request, read
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.engine.result import Report
    from seamcheck.engine.workspace import Shops
    from seamcheck.errors import SeamcheckError
    from seamcheck.report import json as report
    from seamcheck.report.pieces import render_json

    request = Request(plan=write_reports.plan_of(drawing))
    checked = report.render(Report(files=(judge_one(str(drawing), request, Shops(plugins=False)),)), RenderOptions())
    settings = Settings()
    try:
        pattern, _ = read(str(drawing), request, plugins.load(settings, plugins=False), settings)
        pieces = render_json(pattern, RenderOptions())
    except SeamcheckError as error:
        pieces = json.dumps(error.failure)
    texts = {"check": checked, "pieces": pieces}
    return {
        name: json.loads(text.replace(f"{drawing.parent}/", "").replace(f"{ROOT}/", ""))
        for name, text in texts.items()
    }


def write(folder: Path, drawing: tuple[str, Path]) -> None:
    """Keep what is found in one drawing."""
    name, path = drawing
    (folder / f"{name}.json").write_text(json.dumps(found(path), indent=1, sort_keys=True), encoding="utf-8")


def against(folder: Path, drawing: tuple[str, Path]) -> list[str]:
    """In what one drawing differs from what was kept, a line each."""
    name, path = drawing
    kept = folder / f"{name}.json"
    if not kept.is_file():
        return [f"{name}: nothing was kept of it"]
    before = json.loads(kept.read_text(encoding="utf-8"))
    return [f"{name}: {line}" for line in differing(before, found(path), "")]


def differing(before: object, after: object, place: str) -> Iterator[str]:
    """The places at which two readings of JSON differ."""
    numbers = (int, float)
    if isinstance(before, dict) and isinstance(after, dict) and list(before) == sorted(after):
        for key in before:
            yield from differing(before[key], after[key], f"{place}.{key}")
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for at, (one, other) in enumerate(zip(before, after, strict=True)):
            yield from differing(one, other, f"{place}[{at}]")
    elif isinstance(before, numbers) and isinstance(after, numbers):
        if not math.isclose(before, after, rel_tol=0.0, abs_tol=NEAR):
            yield f"{place}: {before!r} is now {after!r}"
    elif before != after:
        yield f"{place}: {str(before)[:300]!r} is now {str(after)[:300]!r}"


def main() -> int:
    """Keep what is found, or compare with what was kept."""
    parser = argparse.ArgumentParser(description=__doc__)
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--write", type=Path, metavar="FOLDER")
    way.add_argument("--against", type=Path, metavar="FOLDER")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--every", type=int, default=1, metavar="N", help="every N-th drawing alone")
    parser.add_argument("drawings", type=Path, nargs="*")
    given = parser.parse_args()
    looked_at = drawings(())[:: given.every] + drawings(given.drawings)[len(drawings(())) :]
    if given.write:
        given.write.mkdir(parents=True, exist_ok=True)
    work = partial(write, given.write) if given.write else partial(against, given.against)
    lines = 0
    with ProcessPoolExecutor(given.jobs) as pool:
        for told in pool.map(work, looked_at, chunksize=4):
            for line in told or ():
                lines += 1
                sys.stdout.write(f"{line}\n")
    sys.stdout.write(f"{len(looked_at)} drawings, {lines} differences\n")
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main())
