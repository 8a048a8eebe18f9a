import doctest
import gc
import os
import pickle
import subprocess
import sys
import tracemalloc
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

import seamcheck
from seamcheck import api
from seamcheck.cli.main import main
from seamcheck.cli.output import Live
from seamcheck.comparison import compare
from seamcheck.config.settings import Settings
from seamcheck.engine.plugins import load
from seamcheck.testing import FAULTS, good_draft

CHECKOUT = Path(seamcheck.__file__).parents[1]
DEMO = CHECKOUT / "fixtures" / "ferryhand"


@pytest.mark.parametrize("function", ["read", "check", "check_each", "compare", "pair", "alter", "true", "explain"])
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
        "assert {'read', 'check', 'check_each', 'compare', 'pair', 'alter', 'true', 'explain', 'SeamcheckError'} <= set(dir(seamcheck))\n"
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


def test_each_result_comes_before_the_next_file_is_begun(tmp_path):
    good = good_draft().save(tmp_path)
    each = seamcheck.check_each([good, tmp_path / "later.svg"])
    assert next(each).findings == ()
    (tmp_path / "later.svg").write_text(good.read_text())
    (tmp_path / "later.seams.toml").write_text(good.with_suffix(".seams.toml").read_text())
    assert next(each).failures == ()
    assert next(each, None) is None
    assert [file.path for file in seamcheck.check_each(good)] == [str(good)]


@pytest.mark.parametrize("by", ["program", "command line"])
def test_memory_does_not_grow_with_the_number_of_files(tmp_path, by, monkeypatch):
    """Behind thirty files no more is held than behind three, but what is counted of each: far less than its whole result."""
    short = FAULTS["short-side"].change(good_draft())
    drawing = short.save(tmp_path)
    files = []
    for k in range(30):
        files.append(tmp_path / f"short-{k}.svg")
        files[-1].write_text(drawing.read_text())
    plan = drawing.with_suffix(".seams.toml")

    held = []

    def look(*_):
        gc.collect()
        held.append(tracemalloc.get_traced_memory()[0])

    seamcheck.check(files[:2], plan=plan)  # what is loaded once
    tracemalloc.start()
    try:
        if by == "program":
            for file in seamcheck.check_each(files, plan=plan):
                assert file.findings
                look()
        else:
            tell = Live.text_of
            monkeypatch.setattr(Live, "text_of", lambda one, file: look() or tell(one, file))
            rows = str(tmp_path / "rows.ndjson")
            with pytest.raises(SystemExit):
                main(["check", *map(str, files), "--plan", str(plan), "--output", rows, "--jobs", "1"])
        before = tracemalloc.get_traced_memory()[0]
        whole = seamcheck.check(files[:3], plan=plan, geometry=False)
        gc.collect()
        of_one = (tracemalloc.get_traced_memory()[0] - before) / len(whole.files)
    finally:
        tracemalloc.stop()
    assert len(held) == 30
    assert (held[29] - held[2]) / 27 < of_one / 10


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


@pytest.fixture(scope="module")
def report():
    return seamcheck.check(DEMO / "altered/prominent-calf-left.svg", plan=DEMO / "ferryhand.seams.toml")


class TestReport:
    """A report told in any format, from a program."""

    @pytest.mark.parametrize("name", [one.name for one in load(Settings(), plugins=False).reports])
    def test_it_is_told_as_the_command_line_tells_it(self, name, report, tmp_path, capsysbinary):
        path = tmp_path / "told.out"
        report.write(path, name)
        with pytest.raises(SystemExit):
            main(["check", report.files[0].path, "--plan", str(DEMO / "ferryhand.seams.toml"), "--format", name])
        assert path.read_bytes() == capsysbinary.readouterr().out
        assert path.read_text(encoding="utf-8") == report.render(name)

    @pytest.mark.parametrize(
        ("name", "format_name"),
        [("a.html", "html"), ("A.JSON", "json"), ("a.txt", "text"), ("a.sarif.json", "sarif")],
    )
    def test_the_suffix_tells_the_format(self, name, format_name, report, tmp_path):
        report.write(tmp_path / name)
        assert (tmp_path / name).read_text(encoding="utf-8") == report.render(format_name)
        assert [path.name for path in tmp_path.iterdir()] == [name]

    def test_one_thing_is_drawn_alone(self, report):
        assert len(report.render("svg", only="outseam")) < len(report.render("svg"))

    @pytest.mark.parametrize(
        ("call", "sentence"),
        [
            (lambda one: one.render("htlm"), 'there is no format "htlm"; the nearest format is "html"'),
            (
                lambda one: one.write("told.pdf"),
                'told.pdf: the name does not tell which format is meant; say it with format="..."',
            ),
            (
                lambda one: one.write("no-such-folder/told.txt"),
                "no-such-folder/told.txt: cannot be written (no such file or directory); choose another place",
            ),
            (
                lambda one: replace(one, files=tuple(replace(file, geometry=None) for file in one.files)).render(
                    "html"
                ),
                "html draws, and the report has kept no curves; check with geometry=True",
            ),
        ],
    )
    def test_what_cannot_be_told_is_one_sentence(self, call, sentence, report, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        with pytest.raises(seamcheck.SeamcheckError) as caught:
            call(report)
        assert str(caught.value) == sentence
        assert list(tmp_path.iterdir()) == []

    def test_no_curves_are_kept_where_none_are_wanted(self):
        report = seamcheck.check(DEMO / "ferryhand.svg", geometry=False)
        assert report.files[0].geometry is None
        assert report.render("text").startswith(str(DEMO))

    def test_a_format_of_a_plugin_is_one_of_them(self, tmp_path):
        good_draft().save(tmp_path)
        (tmp_path / "ticket.py").write_text(
            "from seamcheck.plugin import ReportFormat\n"
            "def seamcheck_register_reports(register):\n"
            '    register(ReportFormat("ticket", "a line", lambda report, options: f"{len(report.files)} cut\\n"))\n'
        )
        (tmp_path / "seamcheck.toml").write_text('plugins = ["ticket.py"]\n')
        # Code beside a pattern is run where the program names the settings, or its user trusts them.
        report = seamcheck.check(tmp_path / "ferryhand-panels.svg", settings=tmp_path / "seamcheck.toml")
        assert report.render("ticket") == "1 cut\n"
        report.write(tmp_path / "bundle.ticket")
        assert (tmp_path / "bundle.ticket").read_text() == "1 cut\n"
        with pytest.raises(seamcheck.SeamcheckError, match='no format "ticket"'):
            seamcheck.check(tmp_path / "ferryhand-panels.svg", plugins=False).render("ticket")

    def test_it_comes_whole_out_of_another_process(self, report):
        assert pickle.loads(pickle.dumps(report)).render("html") == report.render("html")


class TestPair:
    """Seams proposed from a program."""

    @pytest.mark.parametrize("name", ["toml", "json", "svg", "html"])
    def test_it_is_told_as_the_command_line_tells_it(self, name, tmp_path, monkeypatch, capsys):
        monkeypatch.chdir(tmp_path)
        (tmp_path / "panels.svg").write_text(good_draft().svg())
        proposal = seamcheck.pair("panels.svg")
        with pytest.raises(SystemExit):
            main(["pair", "panels.svg", "--format", name])
        assert proposal.render(name) == capsys.readouterr().out
        proposal.write(f"panels.{name}" if name != "svg" else "pairs.svg")
        assert (tmp_path / ("pairs.svg" if name == "svg" else f"panels.{name}")).read_text() == proposal.render(name)

    def test_its_plan_is_one_to_check_by(self, tmp_path):
        (tmp_path / "panels.svg").write_text(good_draft().svg())
        seamcheck.pair(tmp_path / "panels.svg").write(tmp_path / "panels.seams.toml")
        report = seamcheck.check(tmp_path / "panels.svg")
        assert report.files[0].plan == str(tmp_path / "panels.seams.toml")
        assert not report.failed

    def test_a_file_without_a_piece_is_one_sentence(self, tmp_path):
        (tmp_path / "empty.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"/>')
        with pytest.raises(seamcheck.SeamcheckError, match="no piece was found, so there is nothing to pair"):
            seamcheck.pair(tmp_path / "empty.svg")


@pytest.fixture(scope="module")
def trued():
    return seamcheck.true(
        DEMO / "altered/full-seat-left.svg", plan=DEMO / "ferryhand.seams.toml", before=DEMO / "ferryhand.svg"
    )


class TestTrue:
    """A pattern trued from a program."""

    @pytest.mark.parametrize("name", ["text", "json"])
    def test_it_is_told_as_the_command_line_tells_it(self, name, trued, capsys):
        files = [str(DEMO / one) for one in ("altered/full-seat-left.svg", "ferryhand.seams.toml", "ferryhand.svg")]
        with pytest.raises(SystemExit):
            main(["true", files[0], "--plan", files[1], "--before", files[2], "--format", name])
        assert trued.render(name) == capsys.readouterr().out

    def test_it_replaces_no_file_unasked(self, trued, tmp_path):
        path = tmp_path / "trued.svg"
        path.write_text("mine")
        with pytest.raises(seamcheck.SeamcheckError, match="exists already"):
            trued.write(path)
        with pytest.raises(seamcheck.SeamcheckError, match="exists already"):
            trued.draw(path)
        assert path.read_text() == "mine"
        assert trued.write(path, replace=True).findings == ()
        assert path.read_text().startswith("<?xml")

    def test_a_choice_that_is_none_is_refused(self):
        with pytest.raises(ValueError, match='"b2" names no alternative'):
            seamcheck.true(DEMO / "ferryhand.svg", choose=["b2"])


class TestExplain:
    """What a check means, told to a program."""

    @pytest.mark.parametrize("words", [[], ["seam-length"], ["seam-length/short"], ["formats"]])
    def test_it_is_what_the_command_line_prints(self, words, capsys, monkeypatch, tmp_path):
        monkeypatch.chdir(tmp_path)
        with pytest.raises(SystemExit):
            main(["explain", *words])
        assert seamcheck.explain(*words) == capsys.readouterr().out

    def test_an_unknown_name_tells_the_nearest(self):
        with pytest.raises(seamcheck.SeamcheckError, match='the nearest name is "seam-length"'):
            seamcheck.explain("seam-lenght")


def test_what_is_given_back_shows_itself_in_one_line(report):
    pattern = seamcheck.read(DEMO / "ferryhand.svg")
    back = seamcheck.read(report.files[0].path, plan=DEMO / "ferryhand.seams.toml")
    front = pattern.piece("front")
    altered = report.files[0].path
    shown = {
        repr(pattern): "<Pattern Ferryhand trousers: 7 pieces, 1 size>",
        repr(front): "<Piece front: size 40, 6 edges>",
        repr(front.edge("outseam")): "<Edge outseam: 1016.6 mm, 2 notches>",
        repr(report): f"<Report: 1 file, {len(report.findings)} findings>",
        repr(report.files[0]): f"<FileResult {altered}: {len(report.findings)} findings, 10 seams>",
        repr(report.findings[0]): "<Finding seam-length/long: error, outseam, size 40>",
        repr(compare(pattern, back)): f"<Comparison {pattern.path} to {altered}: 1 of 7 pieces changed>",
        repr(seamcheck.check("gone.svg")): "<Report: 1 file, 0 findings, 1 not judged whole>",
        repr(good_draft().plan): "<Plan Ferryhand panels: 2 pieces, 1 seam>",
    }
    assert list(shown) == list(shown.values())
    assert repr(front.edge("outseam").runs[0]).startswith("<Curve (")


class TestNotebook:
    """What a notebook shows of a pattern and of a report."""

    def test_a_pattern_is_a_picture_with_each_piece_as_it_is(self):
        pattern = seamcheck.read(DEMO / "ferryhand.svg")
        picture = ElementTree.fromstring(pattern._repr_svg_())
        names = [text.text for text in picture.iter("{http://www.w3.org/2000/svg}text")]
        assert {piece.name for piece in pattern.pieces} <= set(names)
        outlines = [
            path for path in picture.iter("{http://www.w3.org/2000/svg}path") if path.get("class") == "outline"
        ]
        assert [path.get("d").count("Z") for path in outlines] == [1] * len(pattern.pieces)
        assert pattern._repr_svg_() == seamcheck.read(DEMO / "ferryhand.svg")._repr_svg_()

    def test_sizes_lie_on_one_another(self):
        picture = ElementTree.fromstring(seamcheck.read(DEMO / "ferryhand-nest.dxf")._repr_svg_())
        faint = [
            path for path in picture.iter("{http://www.w3.org/2000/svg}path") if path.get("class") == "other-size"
        ]
        assert len(faint) == 4 * 7

    def test_names_from_a_file_cannot_break_out_of_a_picture(self):
        pattern = good_draft().pattern()
        pieces = tuple(replace(piece, name=f"<b>&{piece.name}") for piece in pattern.pieces)
        picture = ElementTree.fromstring(replace(pattern, name="</svg>", pieces=pieces)._repr_svg_())
        names = [text.text for text in picture.iter("{http://www.w3.org/2000/svg}text")]
        assert {"</svg>", "<b>&front", "<b>&back"} <= set(names)

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


def test_an_alteration_from_a_program_is_that_of_the_command_line(tmp_path):
    pattern = DEMO / "ferryhand.svg"
    altered = seamcheck.alter(pattern, "full-seat", amount=6.35, plugins=False)
    result = altered.write(tmp_path / "new.svg")
    assert result.findings == altered.left == ()
    again = seamcheck.alter(pattern, tmp_path / "new.alter.toml", plugins=False)
    text = (tmp_path / "new.alter.toml").read_text()
    assert again.render("json") == seamcheck.alter(pattern, text, plugins=False).render("json")
    assert "full-seat by 6.4 mm" in " ".join(altered.render().split())
    assert repr(altered).endswith("ferryhand.svg: back>")
    with pytest.raises(seamcheck.SeamcheckError, match="the file exists already"):
        altered.write(tmp_path / "new.svg")
    assert altered.write(tmp_path / "new.svg", replace=True).findings == ()
    assert altered.render("svg").startswith("<?xml")
    taped = seamcheck.alter(pattern, "prominent-calf", leave=True, plugins=False)
    assert {one.check for one in taped.left} >= {"seam-length"}
