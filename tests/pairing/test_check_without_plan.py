import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"


def run(*arguments):
    return CliRunner().invoke(main, [str(one) for one in arguments], prog_name="seamcheck", standalone_mode=False)


def checked(path):
    result = run("check", path, "--format", "json")
    return json.loads(result.stdout)["files"][0]


def test_a_file_without_a_plan_is_walked_where_seams_are_sure(tmp_path):
    path = Path(shutil.copy(DEMO / "ferryhand.svg", tmp_path))
    file = checked(path)
    assert file["plan"] is None
    assert {"outseam", "inseam"} <= {seam["name"] for seam in file["seams"]}
    assert all(seam["inferred"] and 0.5 < seam["confidence"] <= 1.0 for seam in file["seams"])
    assert file["findings"] == []
    codes = [note["code"] for note in file["notes"]]
    assert codes.count("seams-inferred") == 1
    assert "seam-question" in codes
    assert sum(one["check"] == "plan-complete" for one in file["skipped"]) == 1


@pytest.mark.parametrize(
    ("name", "seam", "amount"), [("low-seat-left.svg", "inseam", 6.35), ("prominent-calf-left.svg", "outseam", 6.35)]
)
def test_an_altered_seam_is_paired_and_flagged(tmp_path, name, seam, amount):
    path = Path(shutil.copy(DEMO / "altered" / name, tmp_path))
    file = checked(path)
    assert {"outseam", "inseam"} <= {one["name"] for one in file["seams"]}
    flagged = [one for one in file["findings"] if one["check"] == "seam-length"]
    assert [one["seam"] for one in flagged] == [seam]
    assert abs(abs(flagged[0]["measured"]) - amount) < 0.05


def test_pair_writes_a_plan_that_check_then_uses(tmp_path):
    path = Path(shutil.copy(DEMO / "ferryhand.svg", tmp_path))
    plan = tmp_path / "ferryhand.seams.toml"
    assert run("pair", path, "--output", plan).exit_code == 0
    assert (tmp_path / "ferryhand.pairs.svg").read_text(encoding="utf-8").startswith("<")
    assert "<html" in (tmp_path / "ferryhand.pairs.html").read_text(encoding="utf-8")
    file = checked(path)
    assert file["plan"] == str(plan)
    assert not any(seam["inferred"] for seam in file["seams"])
    before = plan.read_text(encoding="utf-8")
    assert run("pair", path, "--output", plan).exit_code == 0
    assert plan.read_text(encoding="utf-8") == before


def test_pair_as_json_tells_reasons_and_questions(tmp_path):
    path = Path(shutil.copy(DEMO / "ferryhand.svg", tmp_path))
    data = json.loads(run("pair", path, "--format", "json").stdout)
    assert data["schema"] == "seamcheck.pair/1"
    assert {seam["standing"] for seam in data["seams"]} == {"sure", "question"}
    assert all(seam["reasons"] for seam in data["seams"])
