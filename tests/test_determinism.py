"""The same input gives the same bytes in every format: whatever the hash seed, however many work, scipy there or not."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from drafted import drafted

import seamcheck
from seamcheck import builtin

ROOT = Path(seamcheck.__file__).parents[1]
CORPUS = drafted("corpus").relative_to(ROOT)
# Without a plan beside it, so that its seams are inferred; with one; in several sizes; not there.
FILES = [
    str(CORPUS / "lifeboat-mitten-altered.svg"),
    str(CORPUS / "blade-cover.svg"),
    str(Path("fixtures") / "lookalikes" / "nest.dxf"),
    "gone.svg",
]
COMPARED = ["compare", str(CORPUS / "lifeboat-mitten.svg"), FILES[0], "--format", "json"]


def told(folder: Path, jobs: int, seed: str, *, scipy: bool) -> dict[str, bytes]:
    """Every format of one run over the files, and what changed between two, by name."""
    folder.mkdir()
    path = [str(ROOT)]
    if not scipy:
        (folder / "blocked" / "scipy").mkdir(parents=True)
        (folder / "blocked" / "scipy" / "__init__.py").write_text("raise ImportError('it is not installed here')\n")
        path.insert(0, str(folder / "blocked"))
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(path), "PYTHONHASHSEED": seed}
    results = {name: folder / f"result.{name}" for name in builtin.REPORTS}
    pairs = [word for name, place in results.items() for word in ("--format", name, "--output", str(place))]
    commands = {"stderr": ["check", *FILES, "--jobs", str(jobs), *pairs], "compare": COMPARED}
    found = {}
    for name, command in commands.items():
        run = subprocess.run(
            [sys.executable, "-m", "seamcheck", *command], cwd=ROOT, env=environment, capture_output=True, check=False
        )
        found[name] = run.stdout + run.stderr
    return found | {name: place.read_bytes() for name, place in results.items()}


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    return told(tmp_path_factory.mktemp("plain") / "run", 1, "0", scipy=True)


def test_every_format_tells_the_findings(plain):
    assert set(plain) == {*builtin.REPORTS, "stderr", "compare"}
    assert plain["stderr"] == b"seamcheck: gone.svg: there is no such file; check the name and the folder\n"
    assert all(plain.values())


@pytest.mark.parametrize(("jobs", "seed", "scipy"), [(2, "1", False), (3, "4242", True)])
def test_the_same_input_gives_the_same_bytes(plain, tmp_path, jobs, seed, scipy):
    again = told(tmp_path / "run", jobs, seed, scipy=scipy)
    assert [name for name in plain if again[name] != plain[name]] == []
