import doctest
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

import seamcheck
from seamcheck import api
from seamcheck.testing import FAULTS, good_draft

CHECKOUT = Path(seamcheck.__file__).parents[1]
DEMO = CHECKOUT / "fixtures" / "ferryhand"


@pytest.mark.parametrize("function", ["read", "check", "compare"])
def test_the_examples_run(function, monkeypatch):
    monkeypatch.chdir(DEMO)
    (test,) = doctest.DocTestFinder(recurse=False).find(getattr(api, function), function, globs={})
    assert test.examples
    said: list[str] = []
    doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(test, out=said.append)
    assert said == []


def test_what_a_program_calls_is_there_and_nothing_else_is_loaded_for_it():
    code = (
        "import sys, seamcheck\n"
        "assert {'read', 'check', 'compare', 'SeamcheckError'} <= set(dir(seamcheck))\n"
        "assert not {'numpy', 'networkx', 'ezdxf', 'click', 'pluggy'} & set(sys.modules)\n"
        "from seamcheck import read\n"
        "assert read is seamcheck.read\n"
        "assert not {'numpy', 'networkx', 'ezdxf', 'click', 'pluggy'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ, "PYTHONPATH": str(CHECKOUT)})


def test_an_unknown_name_is_no_attribute():
    with pytest.raises(AttributeError, match="walk_all"):
        seamcheck.walk_all  # noqa: B018


def test_what_cannot_be_read_raises_one_sentence(tmp_path):
    with pytest.raises(seamcheck.SeamcheckError, match="there is no"):
        seamcheck.read(tmp_path / "gone.svg")
    report = seamcheck.check(tmp_path / "gone.svg")
    assert report.failed
    assert len(report.files[0].failures) == 1


def test_an_executor_is_used_and_left_open(tmp_path):
    good = good_draft().save(tmp_path)
    with ThreadPoolExecutor(2) as executor:
        report = seamcheck.check([good, tmp_path / "gone.svg", good], executor=executor)
        assert executor.submit(int).result() == 0
    assert [bool(file.failures) for file in report.files] == [False, True, False]
    assert report.files[0] == report.files[2]


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_a_cluster_judges_like_one_process(tmp_path):
    """A real scheduler and two workers of dask.distributed, as a shop with a cluster would use them."""
    distributed = pytest.importorskip("distributed", reason="dask.distributed is not installed (extra: cluster)")
    good = good_draft().save(tmp_path)
    short = tmp_path / "short.svg"
    short.write_text(FAULTS["short-side"].change(good_draft()).svg())
    short.with_suffix(".seams.toml").write_text(good.with_suffix(".seams.toml").read_text())
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=False, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        report = seamcheck.check([short, good, short], executor=client.get_executor())
    assert report == seamcheck.check([short, good, short])
    assert [len(file.findings) for file in report.files] == [1, 0, 1]


class TestNotebook:
    """What a notebook shows of a pattern and of a report."""

    def test_a_pattern_is_a_picture_with_each_piece_as_it_is(self):
        pattern = seamcheck.read(DEMO / "ferryhand.svg")
        picture = ElementTree.fromstring(pattern._repr_svg_())
        names = [text.text for text in picture.iter("{http://www.w3.org/2000/svg}text")]
        assert names == [piece.name for piece in pattern.pieces]
        width, height = (float(value) for value in picture.get("viewBox").split()[2:])
        numbers = [
            float(word)
            for path in picture.iter("{http://www.w3.org/2000/svg}path")
            for point in path.get("d").replace("M", " ").replace("C", " ").replace("L", " ").replace("Z", " ").split()
            for word in point.split(",")
        ]
        assert min(numbers) >= 0
        assert max(numbers[::2]) <= width
        assert max(numbers[1::2]) <= height
        assert pattern._repr_svg_() == seamcheck.read(DEMO / "ferryhand.svg")._repr_svg_()

    def test_sizes_lie_on_one_another(self):
        picture = ElementTree.fromstring(seamcheck.read(DEMO / "ferryhand-nest.dxf")._repr_svg_())
        faint = [path for path in picture.iter("{http://www.w3.org/2000/svg}path") if path.get("opacity")]
        assert len(faint) == 4 * 7

    def test_names_from_a_file_cannot_break_out_of_a_picture(self):
        pattern = good_draft().pattern()
        pieces = tuple(replace(piece, name=f"<b>&{piece.name}") for piece in pattern.pieces)
        picture = ElementTree.fromstring(replace(pattern, name="</svg>", pieces=pieces)._repr_svg_())
        assert [text.text for text in picture.iter("{http://www.w3.org/2000/svg}text")] == ["<b>&front", "<b>&back"]

    def test_a_report_gives_findings_and_seams(self):
        report = seamcheck.check(
            [DEMO / "altered/gaping-band-left.svg", "gone.svg"], plan=DEMO / "ferryhand.seams.toml"
        )
        page = ElementTree.fromstring(report._repr_html_())
        rows = list(page.iter("tr"))
        assert len(rows) == len(report.files[0].findings) + len(report.files[0].seams)
        text = "".join(page.itertext())
        assert report.findings[0].message in text
        assert "gone.svg: could not be judged" in text
        assert "-8.00 mm" in text

    def test_a_good_report_says_so(self):
        text = seamcheck.check(DEMO / "ferryhand.svg")._repr_html_()
        assert "nothing to put right" in text
