import json

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main
from seamcheck.testing import FAULTS, good_draft


@pytest.fixture
def short(tmp_path, monkeypatch):
    """A pattern with a side that is too short."""
    monkeypatch.chdir(tmp_path)
    return FAULTS["short-side"].change(good_draft()).save(tmp_path).name


def run(*arguments):
    return CliRunner().invoke(main, ["check", *arguments])


def found(*arguments):
    result = run(*arguments, "--format", "json")
    (file,) = json.loads(result.stdout)["files"]
    return result.exit_code, {f"{one['check']}/{one['code']}" for one in file["findings"]}, file


def test_without_either_all_is_looked_at(short):
    code, findings, _ = found(short)
    assert (code, findings) == (1, {"seam-length/long"})


@pytest.mark.parametrize("name", ["seam-length", "seam-length/long"])
def test_what_is_selected_is_all_that_is_told(short, name):
    code, findings, file = found(short, "--select", name)
    assert (code, findings) == (1, {"seam-length/long"})
    off = {one["check"] for one in file["skipped"] if one["why"] == "turned off by --select"}
    assert "grain-present" in off
    assert "seam-length" not in off


def test_another_is_selected(short):
    code, findings, _ = found(short, "--select", "grain-present", "--select", "labels")
    assert (code, findings) == (0, set())


@pytest.mark.parametrize("names", [["seam-length", "seam-span"], ["seam-length/long", "seam-span/long"]])
def test_what_is_ignored_is_not_told_and_the_verdict_says_so(short, names):
    options = [word for name in names for word in ("--ignore", name)]
    code, findings, _ = found(short, *options)
    assert (code, findings) == (0, set())
    assert f"{names[0]} and {names[1]} turned off by --ignore" in " ".join(run(short, *options).stdout.split())


@pytest.mark.parametrize("format_name", ["text", "html", "markdown", "junit", "sarif", "github"])
def test_every_format_says_what_was_turned_off(short, format_name):
    told = " ".join(run(short, "--ignore", "seam-length", "--format", format_name).stdout.split())
    assert "seam-length turned off by --ignore" in told.replace("Seam-", "seam-")


def test_what_one_check_says_another_says_where_the_first_is_ignored(short):
    assert found(short, "--ignore", "seam-length")[1] == {"seam-span/long"}


def test_many_are_told_as_their_number(short):
    told = " ".join(run(short, "--select", "labels").stdout.split())
    assert "checks turned off by --select" in told
    assert "1 check;" in told  # that were looked at
    assert "with nothing to judge by" not in told


def test_both_together(short):
    assert found(short, "--select", "seam-length", "--ignore", "seam-length/long")[:2] == (0, set())


def test_what_the_folder_turns_off_is_looked_at_where_it_is_asked_for(short, tmp_path):
    (tmp_path / "seamcheck.toml").write_text('[severity]\nseam-length = "off"\nseam-span = "off"\n"labels" = "off"\n')
    assert found(short)[:2] == (0, set())
    code, findings, file = found(short, "--select", "seam-length/long")
    assert (code, findings) == (1, {"seam-length/long"})
    assert {one["why"] for one in file["skipped"] if one["check"] == "labels"} >= {"turned off by --select"}
    assert not any(one["why"].endswith("seamcheck.toml") for one in file["skipped"] if one["check"] == "seam-length")


def test_a_name_that_no_check_has_is_a_mistake(short):
    for option in ("--select", "--ignore"):
        result = run(short, option, "seam-lenght")
        assert result.exit_code == 2
        assert 'there is no check "seam-lenght"; the nearest check is "seam-length"' in result.stderr
        result = run(short, option, "seam-length/lon")
        assert 'the check "seam-length" has no code "lon"; the nearest code is "long"' in result.stderr
        assert not result.stdout


def test_a_rule_of_the_shop_can_be_named(short, tmp_path):
    (tmp_path / "seamcheck.toml").write_text('[[rules]]\nname = "wide"\nholds = "abs(1 mm) >= 900 mm"\n')
    assert found(short, "--select", "wide")[1] == {"wide/less"}


def test_recipes_are_those_of_true_whatever_is_looked_at(short):
    def recipe(*options):
        (file,) = json.loads(run(short, "--format", "json", *options).stdout)["files"]
        (cause,) = file["causes"]
        return cause["steps"]

    assert recipe("--select", "seam-length") == recipe()
