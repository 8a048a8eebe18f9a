"""A small gap at a corner of a digitised outline is told as a gap, and as nothing else."""

import re
from pathlib import Path

import pytest

import seamcheck

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"


def _points(word: str) -> complex:
    x, y = word.split(",")
    return complex(float(x), float(y))


def opened(text: str, label: str, gap: float) -> str:
    """The sheet with one outline that ends `gap` mm before (negative: beyond) its start."""
    path = re.search(rf'label="{label}".*?d="(M[^"]+) Z"', text, re.DOTALL)
    assert path is not None
    words = re.findall(r"[-\d.]+,[-\d.]+", path[1])
    first, last = _points(words[0]), _points(words[-1])
    onward = (first - last) / abs(first - last)
    end = first - gap * onward
    drawn = f"{path[1]} L{end.real:.3f},{end.imag:.3f}"
    return text[: path.start(1)] + drawn + text[path.end(1) + 2 :]


@pytest.mark.parametrize("label", ["Back", "Band back"])
@pytest.mark.parametrize("gap", [0.6, -0.6])
def test_a_gap_along_the_line_is_told_alone(tmp_path: Path, label: str, gap: float) -> None:
    path = tmp_path / "ferryhand.svg"
    path.write_text(
        opened((DEMO / "ferryhand-digitised.svg").read_text(encoding="utf-8"), label, gap), encoding="utf-8"
    )
    report = seamcheck.check(path, plan=DEMO / "ferryhand-digitised.seams.toml")
    assert [(one.check, one.code) for one in report.findings] == [("outline-closed", "gap")]
    assert report.findings[0].measured == pytest.approx(0.6, abs=0.01)


def test_a_fault_of_the_line_itself_stays_one(tmp_path: Path) -> None:
    text = opened((DEMO / "ferryhand-digitised.svg").read_text(encoding="utf-8"), "Band back", 0.6)
    path = tmp_path / "ferryhand.svg"
    path.write_text(text.replace("L810,278 L810,276 ", "L811.5,278 L810.7,276 "), encoding="utf-8")
    report = seamcheck.check(path, plan=DEMO / "ferryhand-digitised.seams.toml")
    assert {one.check for one in report.findings} >= {"outline-closed", "fold-straight"}
