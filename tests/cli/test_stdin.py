import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main
from seamcheck.testing import FAULTS, good_draft


@pytest.fixture
def short(tmp_path, monkeypatch):
    """The bytes of a pattern whose name and plan lie in the folder, while the file there is another one."""
    monkeypatch.chdir(tmp_path)
    path = FAULTS["short-side"].change(good_draft()).save(tmp_path)
    data = path.read_bytes()
    path.write_text("no pattern at all")
    return path.name, data


def run(data, *arguments):
    return CliRunner().invoke(main, list(arguments), input=data)


def test_what_comes_by_stdin_is_judged_under_its_name(short):
    name, data = short
    result = run(data, "check", "-", "--stdin-name", name, "--format", "json")
    assert result.exit_code == 1
    (file,) = json.loads(result.stdout)["files"]
    assert (file["path"], file["plan"]) == (name, name.replace(".svg", ".seams.toml"))
    assert [one["code"] for one in file["findings"]] == ["long"]
    assert run(data, "check", "-", "--stdin-name", name, "--jobs", "2").exit_code == 1


def test_it_is_read_the_second_time_too(short):
    name, data = short
    result = run(data, "check", "-", "--stdin-name", name, "--second-reading", "--format", "json")
    (file,) = json.loads(result.stdout)["files"]
    assert not file["failures"]


def test_without_a_name_it_has_no_plan(short):
    _, data = short
    result = run(data, "check", "-", "--format", "json")
    (file,) = json.loads(result.stdout)["files"]
    assert (file["path"], file["plan"]) == ("-", None)
    plan = next(Path().glob("*.seams.toml"))
    assert json.loads(run(data, "check", "-", "--plan", str(plan), "--format", "json").stdout)["files"][0]["findings"]


def test_it_may_come_among_others(short):
    name, data = short
    good_draft()
    Path("other").mkdir()
    other = good_draft().save(Path("other"))
    result = run(data, "check", str(other), "-", "--stdin-name", name, "--format", "json")
    assert [file["path"] for file in json.loads(result.stdout)["files"]] == [str(other), name]


def test_pieces_and_pairs_of_it_are_told(short):
    name, data = short
    told = json.loads(run(data, "pieces", "-", "--stdin-name", name, "--format", "json").stdout)
    assert [piece["name"] for piece in told["pieces"]] == ["front", "back"]
    assert told["path"] == name
    assert "# Seams proposed for new.svg" in run(data, "pair", "-", "--stdin-name", "new.svg").stdout
    drawn = (Path(__file__).parents[2] / "fixtures" / "ferryhand" / "ferryhand.svg").read_bytes()
    assert "[[seams]]" in run(drawn, "pair", "-", "--stdin-name", "new.svg").stdout


def test_a_seam_of_two_small_pieces_is_proposed(short):
    assert "[[seams]]" in run(short[1], "pair", "-", "--stdin-name", "new.svg").stdout


@pytest.mark.parametrize("data", [b"", b"  \n"])
def test_nothing_is_a_sentence(short, data):
    result = run(data, "check", "-", "--stdin-name", short[0])
    assert result.exit_code == 2
    assert result.stderr == f"seamcheck: {short[0]}: nothing was handed over; see what writes it\n"


def test_too_much_is_refused(short, tmp_path):
    name, data = short
    (tmp_path / "seamcheck.toml").write_text("[limits]\nbytes = 100\n")
    result = run(data, "check", "-", "--stdin-name", name)
    assert result.exit_code == 2
    assert "101 bytes are more than the 100 that are read" in result.stderr


@pytest.mark.parametrize("command", ["check", "pieces", "pair"])
def test_a_name_without_stdin_is_a_mistake(short, command):
    result = run(b"", command, short[0], "--stdin-name", "x.svg")
    assert result.exit_code == 2
    assert "give - as the file" in result.stderr


def test_what_came_by_stdin_is_not_kept(short):
    name, data = short
    run(data, "check", "-", "--stdin-name", name)
    assert "too short" not in run(b"", "check", name).stdout
