import inspect
import json
from dataclasses import replace

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main
from seamcheck.engine.causes import Cause
from seamcheck.report.statistics import CAUSES
from seamcheck.testing import FAULTS, good_draft


@pytest.fixture
def styles(tmp_path, monkeypatch):
    """Three styles: one good, two with a side that is too short, one of these without a grain arrow too."""
    monkeypatch.chdir(tmp_path)
    good = good_draft()
    good.save(tmp_path)
    short = FAULTS["short-side"].change(replace(good, name="short"))
    short.save(tmp_path)
    front, back = replace(short, name="short-bare").panels
    replace(short, name="short-bare", panels=(replace(front, grain=None), back)).save(tmp_path)


def told(*options):
    result = CliRunner().invoke(main, ["check", ".", "--statistics", *options])
    return result.exit_code, result.stdout


def rows(text):
    return [line.split() for line in text.splitlines() if line.startswith("  ") and line.strip()]


def test_what_was_found_is_counted_by_check_by_file_and_by_cause(styles):
    code, text = told()
    assert code == 1
    assert text.startswith("3 files: 2 with something to put right.\n")
    assert rows(text)[0] == ["By", "check", "errors", "warnings", "notes", "files"]
    assert ["seam-length/long", "2", "2"] in rows(text)
    assert ["grain-present/missing", "1", "1"] in rows(text)
    assert ["short-bare.svg", "2"] in rows(text)
    assert ["short.svg", "1"] in rows(text)
    assert not any("panels" in " ".join(row) for row in rows(text))
    assert "By cause" in text
    assert "Do:" not in text


def test_the_numbers_are_those_of_the_report(styles):
    summary = json.loads(CliRunner().invoke(main, ["check", ".", "--format", "json"]).stdout)["summary"]
    by_check = rows(told()[1].split("By file")[0])[1:]
    assert sum(int(row[1]) for row in by_check) == summary["error"] + summary["warning"] + summary["note"]


def test_nothing_found_needs_no_table(styles):
    assert told("--select", "labels")[1].startswith(
        "3 files: none with something to put right, 3 judged less strictly"
    )
    assert "By check" not in told("--select", "labels")[1]


def test_what_is_known_is_not_counted(styles):
    CliRunner().invoke(main, ["check", ".", "--record", "known.json"])
    code, text = told("--only-new", "known.json")
    assert code == 0
    assert "By check" not in text
    assert "2 with something known" in text


def test_it_is_told_as_text_alone(styles):
    result = CliRunner().invoke(main, ["check", ".", "--statistics", "--format", "json"])
    assert result.exit_code == 2
    assert "--statistics are told as text; add --format text" in result.stderr


def test_every_kind_of_cause_has_its_words():
    source = inspect.getsource(Cause.kind.fget)
    assert all(f'"{kind}"' in source for kind in CAUSES)
    assert source.count("return") == 3  # of which one chooses between two
    assert len(CAUSES) == 4


def test_the_shell_completes_commands_and_options(monkeypatch):
    # click's own protocol: https://click.palletsprojects.com/en/stable/shell-completion/
    def completed(words, number):
        environment = {"_SEAMCHECK_COMPLETE": "bash_complete", "COMP_WORDS": words, "COMP_CWORD": str(number)}
        return CliRunner().invoke(main, [], prog_name="seamcheck", env=environment).stdout.split()

    assert "plain,check" in completed("seamcheck ch", 1)
    assert "plain,--statistics" in completed("seamcheck check --st", 2)
    assert any(one.startswith("file,") for one in completed("seamcheck check --plan ", 3))
