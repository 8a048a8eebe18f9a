"""The reports that lie beside the fixtures: there is one of every drawing, and each tells what is told now.

Where another test judges a drawing anyway, it compares the report as well (`golden.py`); the others are judged here.
"""

from pathlib import Path

import pytest
from golden import FIXTURES, assert_told_as_committed, write_reports

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.truing.recipes import with_recipes

ELSEWHERE = ("altered", "corpus", "ferryhand")


@pytest.mark.parametrize(
    "drawing",
    [drawing for drawing in write_reports.drawings() if drawing.parent.name not in ELSEWHERE],
    ids=lambda drawing: drawing.stem,
)
def test_what_is_told_is_what_is_committed(drawing: Path):
    registry = plugins.load(Settings(), plugins=False)
    result = check_file(
        str(drawing), Request(plan=write_reports.plan_of(drawing)), registry, Settings(), with_recipes
    )
    assert_told_as_committed(drawing, result)


def test_every_drawing_has_a_report_and_every_report_a_drawing():
    written = {path: path.read_text(encoding="utf-8") for path in FIXTURES.rglob(f"*{write_reports.SUFFIX}")}
    assert set(written) == set(map(write_reports.report_of, write_reports.drawings()))
    for drawing in write_reports.drawings():
        part = write_reports.part_of(written[write_reports.report_of(drawing)], drawing)
        assert part.startswith("fixtures/"), drawing
        assert "Looked at: " in part or "Not judged: " in part


def test_a_change_of_what_is_told_shows(monkeypatch, tmp_path, capsys):
    folder = tmp_path / "fixtures" / "broken"
    folder.mkdir(parents=True)
    for name in ("cut-off.dxf", "not-a-number.dxf"):
        (folder / name).write_bytes((FIXTURES / "lookalikes" / "broken" / name).read_bytes())
    monkeypatch.setattr(write_reports, "HERE", tmp_path / "fixtures")
    monkeypatch.setattr(write_reports, "ROOT", tmp_path)
    monkeypatch.setattr(write_reports, "DRAFTED", ())
    assert write_reports.main([]) == 0
    assert write_reports.main(["--check"]) == 0
    report = folder.with_name(f"broken{write_reports.SUFFIX}")
    assert report.read_text(encoding="utf-8").startswith("fixtures/broken/cut-off.dxf: could not be judged\n")
    report.write_text(report.read_text(encoding="utf-8").replace("breaks off", "goes on"), encoding="utf-8")
    (folder / f"gone{write_reports.SUFFIX}").write_text("of nothing", encoding="utf-8")
    assert write_reports.main(["--check"]) == 1
    assert capsys.readouterr().out == f"of no drawing: broken/gone{write_reports.SUFFIX}\ndiffers: {report.name}\n"
