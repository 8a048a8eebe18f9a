"""A run that is killed, interrupted, or loses a process: nothing lives on, nothing is half written, only the culprit is named.

No time is measured; what must come is waited for, with a limit that only a fault reaches.
"""

import contextlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

import seamcheck
from seamcheck.testing import FAULTS, good_draft

ROOT = Path(seamcheck.__file__).parents[1]
LIMIT = 60  # seconds
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="it looks where Linux lists processes")

# A house check that stands still where it is told to, says who it is, and can be heard of from outside.
STANDS_STILL = """
import os, time
from pathlib import Path
from seamcheck.checks.base import Check, Code, Severity

def run(context):
    {does}
    return []

def seamcheck_register_checks(register):
    register(Check(
        name="stands-still", family="house", meaning="it goes on", why="it must", remedy="wait", source="invented",
        codes=(Code(name="stood", meaning="it stood", message="It stood.", advice="Wait.", severity=Severity.NOTE),),
        run=run,
    ))
"""
WAITS = "Path(f'begun.{os.getpid()}').touch(); time.sleep(600)"
HOLDS = (
    "Path(f'begun.{os.getpid()}').touch(); sum(range(10**14))"  # one long calculation that lets no other thread run
)


@pytest.fixture
def styles(tmp_path):
    """A folder of good styles with a house check that does as it is told."""

    def make(does: str, names: str = "abcdef") -> Path:
        (tmp_path / "styles").mkdir()
        for name in names:
            path = good_draft().save(tmp_path / "styles")
            plan = path.with_name(f"{path.stem}.seams.toml")
            path.rename(path.with_name(f"{name}.svg"))
            plan.rename(path.with_name(f"{name}.seams.toml"))
        (tmp_path / "styles/still.py").write_text(STANDS_STILL.format(does=does))
        (tmp_path / "styles/seamcheck.toml").write_text('plugins = ["still.py"]\n')
        return tmp_path

    return make


@pytest.fixture
def begin():
    """How to begin a run in a process group of its own, which is gone at the end whatever happened."""
    begun = []

    def begin(folder: Path, *arguments: str) -> subprocess.Popen:
        settings = {"SEAMCHECK_SETTINGS": str(folder / "styles/seamcheck.toml")}
        run = subprocess.Popen(
            [sys.executable, "-m", "seamcheck", "check", "styles", *arguments],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(ROOT), **settings},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
            # What is started in the background of a shell is told to ignore Ctrl-C, and hands that on.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        begun.append(run)
        return run

    yield begin
    for run in begun:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(run.pid, signal.SIGKILL)
        run.communicate()


def until(true, what: str):
    """Wait for what must come."""
    for _ in range(LIMIT * 20):
        if found := true():
            return found
        time.sleep(0.05)
    return pytest.fail(what)


def lives(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def workers(folder: Path, number: int, run: subprocess.Popen) -> list[int]:
    def begun() -> list[int]:
        assert run.poll() is None, run.communicate()
        found = [int(path.suffix[1:]) for path in folder.glob("begun.*")]
        return found if len(found) == number else []

    return until(begun, "the processes do not begin")


@pytest.mark.parametrize("does", [WAITS, HOLDS])
@pytest.mark.parametrize(
    ("number", "whole_group", "code"),
    [
        (signal.SIGINT, True, 130),
        (signal.SIGINT, False, 130),
        (signal.SIGTERM, False, 143),
        (signal.SIGKILL, False, -signal.SIGKILL),
    ],
)
def test_all_processes_end_with_the_run(styles, begin, does, number, whole_group, code):
    folder = styles(does)
    run = begin(folder, "--jobs", "2", "--format", "json", "--output", "result.json")
    working = workers(folder, 2, run)
    (os.killpg if whole_group else os.kill)(run.pid, number)
    out, err = run.communicate(timeout=LIMIT)  # whoever lived on would hold the pipe open
    assert run.returncode == code
    until(lambda: not any(map(lives, working)), "a process lives on")
    assert out == ""
    assert err.strip() == ("" if code < 0 else "seamcheck: stopped before the end")
    assert not [path for path in folder.iterdir() if "result" in path.name]


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_run_in_one_process_ends_too(styles, begin, number, code):
    folder = styles(WAITS)
    run = begin(folder, "--jobs", "1")
    assert workers(folder, 1, run) == [run.pid]
    os.kill(run.pid, number)
    assert run.communicate(timeout=LIMIT) == ("", "\nseamcheck: stopped before the end\n")
    assert run.returncode == code


DIES = {
    "os.kill(os.getpid(), 9)": "was ended by SIGKILL, as happens where memory runs out",
    "os._exit(3)": "was ended with exit code 3",
}


@pytest.mark.parametrize("death", DIES)
def test_a_process_that_dies_is_replaced_and_only_its_file_is_named(styles, begin, death):
    folder = styles(f"if 'c.svg' in context.pattern.path: {death}")
    run = begin(folder, "--jobs", "2", "--format", "json")
    out, err = run.communicate(timeout=LIMIT)
    files = json.loads(out)["files"]
    assert [Path(file["path"]).name for file in files] == [f"{name}.svg" for name in "abcdef"]
    assert [Path(file["path"]).name for file in files if file["failures"]] == ["c.svg"]
    assert all(file["seams"] for file in files if not file["failures"])
    assert DIES[death] in err
    assert run.returncode == 2


def test_a_file_is_tried_again_where_its_process_was_only_killed_once(styles, begin):
    once = "if 'c.svg' in context.pattern.path and not Path('met').exists(): Path('met').touch(); os.kill(os.getpid(), 9)"
    folder = styles(once)
    run = begin(folder, "--jobs", "2", "--format", "json")
    out, err = run.communicate(timeout=LIMIT)
    assert (run.returncode, err) == (0, f"seamcheck: the plugin file {folder / 'styles/still.py'} was run\n")
    assert (folder / "met").exists()
    assert len(json.loads(out)["files"]) == 6


def test_what_was_told_before_the_end_is_told_whole(styles, begin):
    folder = styles(f"if 'e.svg' in context.pattern.path: {WAITS}")
    run = begin(folder, "--jobs", "1", "--format", "jsonl")
    told = [json.loads(run.stdout.readline()) for _ in range(4)]
    workers(folder, 1, run)
    os.kill(run.pid, signal.SIGTERM)
    assert run.communicate(timeout=LIMIT)[0] == ""
    assert run.returncode == 143
    assert [Path(line["path"]).name for line in told] == [f"{name}.svg" for name in "abcd"]


SHORT = FAULTS["short-side"].change(good_draft())


@pytest.fixture
def style():
    """A style with a fault, in a folder that others may enter: those of pytest are shut anew whenever another run of it begins."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        yield SHORT.save(Path(folder))


def test_two_runs_at_once_leave_whole_files(style):
    """They write the same report and the same record, again and again; whenever these are looked at they are whole."""
    script = (
        "from seamcheck.cli.main import main\n"
        "import sys\n"
        "for _ in range(15):\n"
        "    try: main(['check', sys.argv[1], '--format', 'json', '--output', 'r.json', '--record', 'known.json'])\n"
        "    except SystemExit as end: assert end.code == 0, end.code\n"
    )
    both = [
        subprocess.Popen(
            [sys.executable, "-c", script, style.name], cwd=style.parent, env={**os.environ, "PYTHONPATH": str(ROOT)}
        )
        for _ in range(2)
    ]
    looked = 0
    while any(one.poll() is None for one in both):
        for name in ("r.json", "known.json"):
            if (path := style.with_name(name)).exists():
                json.loads(path.read_text(encoding="utf-8"))
                looked += 1
        time.sleep(0.005)
    assert [one.returncode for one in both] == [0, 0]
    assert looked > 10
    assert sorted(path.name for path in style.parent.iterdir()) == sorted(
        [style.name, f"{style.stem}.seams.toml", "r.json", "known.json"]
    )


FULL = """
import errno, io, os, sys
from pathlib import Path

class Full(io.FileIO):
    def write(self, data):
        super().write(bytes(data)[:100])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

opened = Path.open
Path.open = lambda self, mode="r", *more, **named: Full(self, "wb") if "w" in mode else opened(self, mode, *more, **named)
from seamcheck.cli.main import main
main(sys.argv[1:])
"""


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "NAME", "--format", "json", "--output", "kept.json"],
        ["check", "NAME", "--record", "new.json"],
        ["pair", "NAME", "--output", "kept.json", "--format", "json"],
        ["true", "NAME", "--output", "trued.svg"],
        ["demo", "demo"],
    ],
)
def test_a_full_disk_is_one_sentence_and_no_half_a_file(style, arguments):
    """It is simulated: what is written breaks off with the error of a full disk."""
    (style.with_name("kept.json")).write_text("{}")
    before = {path.name: path.read_bytes() for path in style.parent.iterdir()}
    given = [style.name if word == "NAME" else word for word in arguments]
    done = subprocess.run(
        [sys.executable, "-c", FULL, *given],
        cwd=style.parent,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
        timeout=LIMIT,
    )
    assert done.returncode == 2
    assert "cannot be written (no space left on device)" in done.stderr
    assert "Traceback" not in done.stderr
    assert {path.name: path.read_bytes() for path in style.parent.rglob("*") if path.is_file()} == before


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device to write to")
def test_a_full_stdout_is_one_sentence(style):
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "seamcheck", "check", style.name],
            cwd=style.parent,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            timeout=LIMIT,
        )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "the result: cannot be written (no space left on device)" in done.stderr


# Whoever runs the tests may lock everybody else out of the interpreter: all is loaded before another user is taken.
AS_SOMEONE = """
import contextlib, io, logging, os, sys
import seamcheck.engine.record
from seamcheck.cli.main import main

for options in (["--format", "text", "--no-cache"], ["--format", "json", "--no-cache"], []):
    with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
        main(["check", sys.argv[1], *options])
with contextlib.redirect_stderr(io.StringIO()), contextlib.suppress(SystemExit):
    main(["check", "no such file", "--format", "json", "--output", "/nowhere/at/all"])
if os.geteuid() == 0:
    os.setgroups([])
    os.setegid(65534)
    os.seteuid(65534)
main(sys.argv[2:])
"""


@pytest.fixture
def as_someone(style):
    """How to run as a user who may read the style's folder and write nothing there."""
    style.parent.chmod(0o555)

    def run(*arguments: str) -> subprocess.CompletedProcess:
        return subprocess.run(
            [sys.executable, "-c", AS_SOMEONE, style.name, *arguments],
            cwd=style.parent,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            capture_output=True,
            text=True,
            check=False,
            timeout=LIMIT,
        )

    yield run
    style.parent.chmod(0o755)


def test_in_a_folder_that_may_only_be_read(style, as_someone):
    plain = as_someone("check", style.name)
    assert plain.returncode == 1
    assert "too short" in plain.stdout
    before = sorted(style.parent.iterdir())
    kept = as_someone("check", style.name, "--format", "json", "--output", "r.json")
    assert kept.returncode == 2
    assert (
        kept.stderr
        == "seamcheck: r.json: cannot be written (permission denied); choose another place with --output\n"
    )
    kept = as_someone("check", style.name, "--record", "known.json")
    assert kept.returncode == 2
    assert "known" in kept.stdout  # what was found is told all the same
    assert "known.json: cannot be written (permission denied)" in kept.stderr
    assert sorted(style.parent.iterdir()) == before


def test_a_file_or_folder_that_may_not_be_read_does_not_stop_the_others(style, as_someone):
    style.parent.chmod(0o755)
    closed, secret = style.with_name("closed"), style.with_name("secret.svg")
    closed.mkdir()
    good_draft().save(closed)
    secret.write_text("<svg/>")
    secret.with_name("secret.seams.toml").write_text("format = 1\n")
    secret.chmod(0)
    closed.chmod(0)
    try:
        done = as_someone("check", ".", "--format", "json")
    finally:
        closed.chmod(0o755)
    files = {file["path"]: file for file in json.loads(done.stdout)["files"]}
    assert files[style.name]["findings"]
    for name in ("secret.svg", "closed"):
        assert "permission denied" in files[name]["failures"][0].lower()
    assert done.returncode == 2
