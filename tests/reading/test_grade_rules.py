from pathlib import Path

import dxf_making as make
import pytest

from seamcheck.config.limits import ReadOptions
from seamcheck.errors import InputError
from seamcheck.pattern.drawing import LengthSource, Role
from seamcheck.reading.base import read_source
from seamcheck.reading.dxf import apparel
from seamcheck.reading.dxf.grade_rules import find_companion, read_rules

TABLE = """ASTM/D13Proposal 1 Version: D 6673-04
AUTHOR: the kit room
UNITS: METRIC
NUMBER OF SIZES: 3
SIZE LIST: S M L
SAMPLE SIZE: M
RULE: DELTA 1
  0.0 0.0   0.0 0.0   0.0 0.0
RULE: DELTA 2
  -4.0,   0.0   0.0,   0.0   4.0,   0.0
RULE: DELTA 3
  -4.0 -10.0
  0.0 0.0  4.5 10.0
RULE: DELTA 4
  .0 -10. 0 0 0 +10.0
END
"""


def drawing_of(tmp_path, *content, table=TABLE, table_name="ferryhand.rul", outline=None, size="M", **options):
    points = [0j, 200 + 0j, 200 + 150j, 200 + 300j, 300j]
    ruled = "".join(
        make.text(f"# {rule}", at, 2) for rule, at in ((1, points[0]), (2, points[1]), (3, points[3]), (4, points[4]))
    )
    front = make.piece("Front", ruled, *content, size=size, outline=outline or make.marked(1, points, (2,)))
    path = tmp_path / "ferryhand.dxf"
    path.write_text(make.apparel(front, **options))
    if table is not None:
        (tmp_path / table_name).write_text(table)
    return apparel.read(read_source(str(path)))


def corners(drawing, size):
    name = next(block.name for block in drawing.blocks if block.size == size)
    return make.outline(drawing, name).turn_points


def test_every_size_of_the_table_is_computed_and_marked_as_such(tmp_path):
    drawing = drawing_of(tmp_path, make.point(4, 200 + 150j, 30, 4.0), make.line(7, 50 + 50j, 50 + 250j))
    assert [block.size for block in drawing.blocks] == ["S", "M", "L"]
    assert corners(drawing, "S") == (0j, 196 + 0j, 196 + 290j, 290j)
    assert corners(drawing, "M") == (0j, 200 + 0j, 200 + 300j, 300j)
    assert corners(drawing, "L") == (0j, 204 + 0j, 204.5 + 310j, 310j)
    labels = {block.size: dict(block.labels) for block in drawing.blocks}
    assert labels["L"]["graded"] == "by rule"
    assert float(labels["L"]["rounding"]) == 0.1
    assert "graded" not in labels["M"]
    assert make.codes(drawing) == ["graded-by-rule"]
    assert {mark.block for mark in drawing.points} == {block.name for block in drawing.blocks}


def test_a_vertex_without_a_rule_moves_in_step_with_its_neighbours(tmp_path):
    drawing = drawing_of(tmp_path, make.point(4, 200 + 150j))
    notches = {mark.block: mark.at for mark in drawing.points if mark.role is Role.NOTCH}
    by_size = {block.size: notches[block.name] for block in drawing.blocks}
    assert by_size == {"S": 196 + 145j, "M": 200 + 150j, "L": pytest.approx(204.25 + 155j)}


def test_moves_run_along_the_grade_reference_line(tmp_path):
    drawing = drawing_of(tmp_path, make.line(5, 50 + 50j, 50 + 250j))
    assert corners(drawing, "L") == pytest.approx((0j, 200 + 4j, 190 + 304.5j, -10 + 300j))


def test_a_table_in_inches_beside_a_metric_drawing(tmp_path):
    drawing = drawing_of(tmp_path, table=TABLE.replace("METRIC", "ENGLISH"))
    assert corners(drawing, "L")[1] == pytest.approx(200 + 4 * 25.4)
    assert float(drawing.blocks[0].labels["rounding"]) == pytest.approx(2.54)
    assert "a factor of 25.4" in make.message(drawing, "units-contradictory")


def test_the_table_gives_the_units_that_the_drawing_lacks(tmp_path):
    drawing = drawing_of(tmp_path, units="")
    assert drawing.units == "mm"
    assert make.codes(drawing) == ["graded-by-rule"]


def test_a_validation_curve_holds_for_the_sample_size_only(tmp_path):
    points = [0j, 200 + 0j, 210 + 150j, 200 + 300j, 300j]
    dense = make.polyline(84, [0j, 200 + 0j, 207 + 70j, 210 + 150j, 207 + 230j, 200 + 300j, 300j])
    drawing = drawing_of(tmp_path, dense, outline=make.marked(1, points, (2,)))
    sources = {mark.block: mark.source for mark in drawing.lines}
    assert {block.size: sources[block.name] for block in drawing.blocks} == {
        "S": LengthSource.SPLINE,
        "M": LengthSource.VALIDATION,
        "L": LengthSource.SPLINE,
    }


def test_a_missing_table_is_said(tmp_path):
    drawing = drawing_of(tmp_path, table=None, style=make.text("Grade Rule Table: kitroom"))
    assert [block.size for block in drawing.blocks] == ["M"]
    assert '"kitroom"' in make.message(drawing, "rule-table-missing")


def test_a_table_beside_a_nest_is_not_used(tmp_path):
    small = make.piece("Front", size="S", outline=make.polyline(1, [0j, 190 + 0j, 190 + 140j, 190 + 290j, 290j]))
    path = tmp_path / "nest.dxf"
    points = [0j, 200 + 0j, 200 + 150j, 200 + 300j, 300j]
    path.write_text(make.apparel(make.piece("Front", size="M", outline=make.marked(1, points, (2,))), small))
    (tmp_path / "nest.rul").write_text(TABLE)
    drawing = apparel.read(read_source(str(path)))
    assert len(drawing.blocks) == 2
    assert make.codes(drawing) == ["rule-table-unused"]


@pytest.mark.parametrize("name", ["ferryhand.rul", "Ferryhand.RUL", "kitroom.rul", "KITROOM.RUL"])
def test_the_companion_is_found_by_either_name_in_any_case(tmp_path, name):
    (tmp_path / name).write_text(TABLE)
    assert find_companion(str(tmp_path / "ferryhand.dxf"), r"C:\patterns\kitroom") == str(tmp_path / name)


def test_no_companion_is_none(tmp_path):
    assert find_companion(str(tmp_path / "ferryhand.dxf"), "") is None
    assert find_companion(str(tmp_path / "nowhere" / "ferryhand.dxf"), "kitroom") is None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("-4.0 -10.0\n", "-4.0\n", "rule 3 has 5 numbers where 3 sizes need 6"),
        ("0.0 0.0  4.5", "0.1 0.0  4.5", "rule 3 moves a point in the sample size M itself"),
        ("SAMPLE SIZE: M", "SAMPLE SIZE: XL", '"XL" is not in the size list'),
        ("SIZE LIST: S M L", "SIZE LIST: S M", "3 sizes are announced and 2 listed"),
        ("DELTA 4", "DELTA 3", "rule 3 stands there a second time"),
        ("4.5 10.0", "4.5 ten", "is no row of numbers"),
        ("SIZE LIST: S M L\n", "", "no sizes or no rules"),
        ("DELTA 4", "DELTA 5", 'asks for grade rule 4 on piece "Front"'),
    ],
)
def test_a_table_that_does_not_fit_is_refused_in_one_sentence(tmp_path, old, new, words):
    with pytest.raises(InputError) as caught:
        drawing_of(tmp_path, table=TABLE.replace(old, new, 1))
    assert words in str(caught.value)
    assert "ferryhand.rul" in str(caught.value)
    assert caught.value.remedy


def test_rows_may_be_wrapped_and_have_commas_between_x_and_y(tmp_path):
    path = tmp_path / "ferryhand.rul"
    path.write_text(TABLE.replace("\n", "\r\n"))
    rules = read_rules(str(path), ReadOptions())
    assert rules.moves["3"] == (-4 - 10j, 0j, 4.5 + 10j)
    assert rules.moves["2"] == (-4 + 0j, 0j, 4 + 0j)
    assert rules.moves["4"] == (-10j, 0j, 10j)
    assert (rules.sizes, rules.sample, rules.unit, rules.step) == (("S", "M", "L"), "M", "mm", 0.1)


def test_the_table_may_be_in_another_encoding(tmp_path):
    path = tmp_path / "ferryhand.rul"
    path.write_bytes(TABLE.replace("the kit room", "艇库").encode("gbk"))
    rules = read_rules(str(path), ReadOptions())
    assert rules.headers["AUTHOR"] == "艇库"
    assert [note.code for note in rules.notes] == ["text-encoding"]


def test_paths_are_left_as_given(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("ferryhand.rul").write_text(TABLE)
    assert find_companion("ferryhand.dxf", "") == "ferryhand.rul"
