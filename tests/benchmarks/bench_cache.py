"""How much of a run is left where a first run over the same styles is kept: `python tests/benchmarks/bench_cache.py`.

The styles are those of the drafted sets, all four of them where none is named. Processor seconds of the run and all its processes, as shares of the first run.
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "fixtures"))

from drafted import SETS, drafted

CHANGED = 5  # styles that are drawn otherwise before the third run


def used(folder: Path, *options: str) -> tuple[float, str]:
    """Processor seconds, and what is told."""
    environment = os.environ | {"XDG_CACHE_HOME": str(folder / "cache")}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "seamcheck", "check", str(folder / "styles"), *options]
    told = subprocess.run(command, env=environment, capture_output=True, text=True, check=False).stdout
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, told


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """Print a line for each run."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--format", default="text")
    parser.add_argument("--jobs", default="1")
    parser.add_argument("--sets", nargs="+", default=SETS)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for one in given.sets:
            shutil.copytree(drafted(one), folder / "styles" / one)
        plans = sorted((folder / "styles").rglob("*.seams.toml"))
        options = ("--format", given.format, "--jobs", given.jobs)
        first, told = used(folder, *options)
        say(f"{len(plans)} styles, {given.format}, --jobs {given.jobs}: first run {first:.1f} s of the processor")
        second, again = used(folder, *options)
        say(f"second run: {second / first:.3f} of it, {'the same told' if again == told else 'ANOTHER RESULT'}")
        for plan in plans[:: len(plans) // CHANGED][:CHANGED]:
            plan.write_text(plan.read_text() + "# looked at\n")
        third, _ = used(folder, *options)
        say(f"with {CHANGED} plans changed: {third / first:.3f} of it")
        anew, bare = used(folder, *options, "--no-cache")
        say(f"with --no-cache: {anew / first:.3f} of it, {'the same told' if bare == told else 'ANOTHER RESULT'}")
        kept = [file.stat().st_size for file in (folder / "cache").rglob("*") if file.is_file()]
        say(f"kept: {len(kept)} files, {sum(kept) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
