"""The same bytes on every processor: drawings, reports and written files under several sets of its features.

`python tests/processors.py` does so with every drawing.
"""

from pathlib import Path

import numpy as np
import processors
import pytest
import shaken
from golden import FIXTURES, write_reports

SETS = processors.sets()
FIRST, *OTHERS = SETS


@pytest.fixture(scope="module")
def folders(tmp_path_factory):
    """What each set of features makes, by the name of the set."""
    made = {name: tmp_path_factory.mktemp("made") for name in SETS}
    runs = {name: processors.started(folder, SETS[name], "--slice") for name, folder in made.items()}
    for name, run in runs.items():
        output = run.communicate()[0]
        assert run.returncode == 0, f"{name}: {output}"
    return made


@pytest.mark.parametrize(
    "name",
    OTHERS or [pytest.param("", marks=pytest.mark.skip("numpy finds no feature here that it could do without"))],
)
def test_other_features_make_the_same_bytes(folders, name):
    assert len(list((folders[FIRST] / "told").iterdir())) > 10 * len(processors.SLICE)
    assert processors.differing(folders[FIRST], folders[name]) == []


@pytest.mark.parametrize("name", SETS)
def test_every_set_of_features_makes_what_is_committed(folders, name):
    drawn = [path.relative_to(folders[name]) for path in (folders[name] / "fixtures").rglob("*.*")]
    committed = [path for path in drawn if (processors.ROOT / path).exists()]
    assert len(committed) > 80
    for path in committed:
        assert (folders[name] / path).read_bytes() == (processors.ROOT / path).read_bytes(), path
    for drawing in (FIXTURES / one for one in processors.SLICE):
        report = write_reports.report_of(drawing)
        if report.exists():
            told = (folders[name] / "told" / f"{_stem(drawing)}.report.txt").read_text(encoding="utf-8")
            assert told == write_reports.part_of(report.read_text(encoding="utf-8"), drawing), drawing


def test_results_moved_by_a_last_bit_change_nothing(folders, tmp_path):
    run = processors.started(tmp_path, {}, "--slice", "--shaken", "1", "--drawn", str(folders[FIRST]))
    output = run.communicate()[0]
    assert run.returncode == 0, output
    assert len(list((tmp_path / "told").iterdir())) > 20
    assert [path.name for path in (tmp_path / "told").iterdir() if _differs(path, folders[FIRST])] == []


def test_what_is_shaken_is_moved_but_what_is_exact_is_not():
    third = np.array([1 / 3 + 0.1j, 2 / 3 + 0.7j])
    for moved, plain in (
        (shaken.operated("*", third, third), third * third),
        (shaken.operated("/", third, third[::-1]), third / third[::-1]),
        (shaken.called("abs", np.abs, third), np.abs(third)),
        (shaken.called("sin", np.sin, third.real), np.sin(third.real)),
    ):
        assert (moved != plain).any()
        assert moved == pytest.approx(plain, rel=1e-15, abs=1e-15)
    assert (shaken.operated("*", third, 2.0) == third * 2.0).all()
    assert shaken.called("abs", abs, 3 + 4j) == 5.0
    assert shaken.called("sum", np.sum, np.array([0.25, 0.5, 1e6])) == 1000000.75


def _differs(path: Path, other: Path) -> bool:
    return path.read_bytes() != (other / "told" / path.name).read_bytes()


def _stem(drawing: Path) -> str:
    return drawing.relative_to(FIXTURES).as_posix().replace("/", "~")
