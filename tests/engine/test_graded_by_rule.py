"""A sample size with a rule table beside it: every size that the table knows is walked, with the band it deserves."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main

pytestmark = pytest.mark.usefixtures("read_once")

SPARSE = Path(__file__).parents[2] / "fixtures" / "lookalikes" / "sparse.dxf"
STEP = 0.254  # mm: the table is in inches with two decimals
OFF = 1.2  # mm that the plan wants and the pieces do not have

PLAN = """\
format = 1
tolerance = 0.5

[pieces.front]
line = "sew"
unsewn = ["waist", "hem", "centre"]
[pieces.front.corners]
centre-waist = [0.0, 420.0]
side-waist = [180.0, 420.0]
side-hem = [180.0, 0.0]
centre-hem = [0.0, 0.0]
[pieces.front.edges]
waist = ["centre-waist", "side-waist"]
side = ["side-waist", "side-hem"]
hem = ["centre-hem", "side-hem"]
centre = ["centre-waist", "centre-hem"]

[pieces.back]
line = "sew"
unsewn = ["waist", "hem", "centre"]
[pieces.back.corners]
side-waist = [-200.0, 420.0]
centre-waist = [0.0, 420.0]
centre-hem = [0.0, 0.0]
side-hem = [-200.0, 0.0]
[pieces.back.edges]
waist = ["centre-waist", "side-waist"]
side = ["side-waist", "side-hem"]
hem = ["centre-hem", "side-hem"]
centre = ["centre-waist", "centre-hem"]

[[seams]]
name = "side"
sew = ["front.side", "back.side"]
"""


@pytest.fixture
def check(tmp_path):
    """What `check` says of the look-alike with a plan, as JSON, and its exit code."""

    def run(plan, *options):
        for name in ("sparse.dxf", "sparse.rul"):
            (tmp_path / name).write_bytes(SPARSE.with_name(name).read_bytes())
        (tmp_path / "sparse.seams.toml").write_text(plan)
        result = CliRunner().invoke(main, ["check", str(tmp_path / "sparse.dxf"), "--format", "json", *options])
        return json.loads(result.stdout)["files"][0], result.exit_code

    return run


def test_all_sizes_of_the_table_are_walked(check):
    told, code = check(PLAN)
    assert told["sizes"] == ["S", "M", "L"]
    seams = {seam["size"]: seam for seam in told["seams"]}
    assert list(seams) == ["S", "M", "L"]
    # One end of the side moves by 0.38 in along the grade reference line, smaller in S and larger in L.
    lengths = [seams[size]["first"]["length"] for size in seams]
    assert lengths == sorted(lengths)
    assert lengths[2] - lengths[0] == pytest.approx(2 * 0.38 * 25.4, abs=0.5)
    assert all(abs(seam["difference"]) < 0.01 for seam in seams.values())
    assert not [finding for finding in told["findings"] if finding["check"] == "seam-length"]
    assert code in (0, 1)


def test_computed_sizes_say_so(check):
    told, _ = check(PLAN)
    message = next(note["message"] for note in told["notes"] if note["code"] == "graded-by-rule")
    assert "Sizes other than M are computed from rules (sparse.rul)" in message
    assert f"rounded to {STEP:.3g} mm" in message


def test_the_band_of_computed_sizes_is_three_rounding_steps(check):
    told, code = check(PLAN + f"ease = {OFF}\n")
    found = {finding["size"]: finding for finding in told["findings"] if finding["check"] == "seam-length"}
    assert {size: finding["tolerance"] for size, finding in found.items()} == {
        "S": pytest.approx(3 * STEP),
        "M": 0.5,
        "L": pytest.approx(3 * STEP),
    }
    # 1.2 mm are more than twice the plan's 0.5 mm, but not twice what the rounding alone may do.
    assert {size: finding["severity"] for size, finding in found.items()} == {
        "S": "warning",
        "M": "error",
        "L": "warning",
    }
    assert all(finding["measured"] == pytest.approx(-OFF, abs=0.01) for finding in found.values())
    assert code == 1


def test_one_computed_size_can_be_asked_for(check):
    told, _ = check(PLAN, "--size", "L")
    assert told["sizes"] == ["L"]
    assert [seam["size"] for seam in told["seams"]] == ["L"]


def test_pieces_tell_where_a_size_comes_from():
    result = CliRunner().invoke(main, ["pieces", str(SPARSE), "--format", "json"])
    reasons = {(piece["name"], piece["size"]): piece["reasons"] for piece in json.loads(result.stdout)["pieces"]}
    assert "size: computed from rules" in reasons["Front", "S"]
    assert 'size: text "SAMPLE SIZE: M"' in reasons["Front", "M"]
    assert 'size: text "SAMPLE SIZE: M"' not in reasons["Front", "S"]
