"""The demo as a newcomer meets it: written, judged, and every command that it names next can be typed as it stands."""

import shlex
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.cli import demo
from seamcheck.cli.main import main

FIXTURES = Path(__file__).parents[2] / "fixtures" / "ferryhand"


def run(*arguments: str):
    return CliRunner().invoke(main, arguments)


def commands(text: str) -> list[list[str]]:
    return [shlex.split(line) for line in text.splitlines() if line.startswith("    seamcheck ")]


def test_the_demo_is_written_judged_and_ends_well(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = run("demo")
    assert (result.exit_code, result.stderr) == (0, "")
    written = {path.name: path.read_bytes() for path in (tmp_path / "ferryhand").iterdir()}
    assert written == {
        "ferryhand.svg": (FIXTURES / "ferryhand.svg").read_bytes(),
        "ferryhand.seams.toml": (FIXTURES / "ferryhand.seams.toml").read_bytes(),
        "ferryhand-altered.svg": (FIXTURES / "altered/prominent-calf-left.svg").read_bytes(),
    }
    assert "ferryhand/ferryhand.svg: nothing to put right" in result.stdout
    assert "back.outseam is 6.4 mm (1/4 in) too short" in result.stdout
    assert result.stdout.index("[seam-length/long]") < result.stdout.index("Try next")


def test_what_is_shown_of_the_check_is_what_the_command_above_it_prints(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    told = run("demo", "trousers").stdout
    check = run(*commands(told)[0][1:])
    assert check.exit_code == 1
    assert check.stdout.rstrip("\n") in told


def test_every_command_that_it_names_next_does_what_it_says(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    told = run("demo", "my patterns").stdout
    drawn = commands(told.replace("NAME.svg", "'my patterns/ferryhand.svg'"))[1:]
    ends = [(words[1], run(*words[1:]).exit_code) for words in drawn]
    assert ends == [("compare", 0), ("check", 1), ("true", 0), ("check", 0), ("explain", 0), ("pieces", 0)]
    made = {path.name for path in (tmp_path / "my patterns").iterdir()} - demo.MEANINGS.keys()
    assert made == {"report.html", "ferryhand-trued.svg", "ferryhand-trued.pdf"}


def test_the_demo_may_be_written_again_but_replaces_nothing(tmp_path):
    folder = tmp_path / "here"
    assert run("demo", str(folder)).exit_code == 0
    assert run("demo", str(folder)).exit_code == 0
    changed = folder / "ferryhand-altered.svg"
    changed.write_text("my own")
    (folder / "ferryhand.svg").unlink()
    result = run("demo", str(folder))
    assert result.exit_code == 2
    assert f"{changed}: is there already, with something else in it; name another folder" in result.stderr
    assert result.stdout == ""
    assert changed.read_text() == "my own"
    assert not (folder / "ferryhand.svg").exists()


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "notes").write_text("")
    result = run("demo", str(tmp_path / "notes"))
    assert result.exit_code == 2
    assert "this is a file, and the demo is written to a folder" in result.stderr


def test_what_cannot_be_judged_is_told(tmp_path):
    (tmp_path / "seamcheck.toml").write_text('plugins = ["gone"]\n')
    result = run("demo", str(tmp_path / "here"))
    assert result.exit_code == 2
    assert "gone" in result.stderr


@pytest.mark.parametrize(
    ("program", "on_the_path", "called"),
    [
        (".venv/bin/seamcheck", False, ".venv/bin/seamcheck"),
        ("my tools/seamcheck", False, "'my tools/seamcheck'"),
        ("bin/seamcheck", True, "seamcheck"),
        ("site-packages/seamcheck/__main__.py", False, f"{shlex.quote(sys.executable)} -m seamcheck"),
        ("bin/pytest", False, "seamcheck"),
    ],
)
def test_commands_are_shown_as_the_program_was_called(program, on_the_path, called, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    tool = tmp_path / "bin" / "seamcheck"
    tool.parent.mkdir()
    tool.write_text("#!/bin/sh\n")
    tool.chmod(0o755)
    monkeypatch.setenv("PATH", str(tool.parent) if on_the_path else str(tmp_path))
    assert demo.called_as(program) == called
