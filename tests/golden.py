"""The committed reports beside the fixtures: what is told of a drawing is compared with them wherever a test judges it anyway."""

import sys
from pathlib import Path

FIXTURES = Path(__file__).parent.parent / "fixtures"
sys.path.insert(0, str(FIXTURES))

import write_reports  # noqa: E402
from well_said import badly_said  # noqa: E402


def assert_told_as_committed(drawing: Path, result) -> None:
    """Fail where a drawing's report is no longer the committed one, or says something badly: see DEVELOPERS.md on writing them anew.

    What is held out has no report.
    """
    bad = list(badly_said(result))
    assert bad == [], bad
    if drawing.parent.name in write_reports.HELD_OUT:
        return
    committed = write_reports.part_of(write_reports.report_of(drawing).read_text(encoding="utf-8"), drawing)
    assert write_reports.told(result) == committed, (
        f"{write_reports.report_of(drawing).name} differs; python fixtures/write_reports.py writes it"
    )
