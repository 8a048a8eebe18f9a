"""The plugin in runs of pytest as a shop makes them, in processes of their own."""

import importlib.metadata
import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

import seamcheck
from seamcheck.testing import FAULTS, good_draft

CHECKOUT = Path(seamcheck.__file__).parents[1]
INSTALLED = any(entry.name == "seamcheck" for entry in importlib.metadata.entry_points(group="pytest11"))

SHOP_TESTS = """
import pytest

def test_the_hem_is_wide_enough(seamcheck):
    assert seamcheck.measure("good.svg", "front.hem + back.hem") == pytest.approx(400)
    assert seamcheck.measure("good.svg", "angle(front.centre-hem)", size="40") == pytest.approx(90)
    assert {piece.name for piece in seamcheck.read("good.svg").pieces} == {"back", "front"}
    with pytest.raises(ValueError, match="has the sizes 40"):
        seamcheck.measure("good.svg", "front.hem", size="42")

def test_the_good_one_trues(seamcheck):
    seamcheck.assert_trues("good.svg")
    assert seamcheck.check("good.svg").findings == ()

def test_the_short_one_trues(seamcheck):
    seamcheck.assert_trues("short.svg")
"""


@pytest.fixture
def run(tmp_path):
    """Run pytest in the shop's folder; the outcomes by the test's name, with the text of what failed."""
    (tmp_path / "pytest.ini").write_text("[pytest]\naddopts = --strict-markers -p no:cacheprovider\n")

    def run(*arguments: str):
        plugin = [] if INSTALLED else ["-p", "seamcheck.pytest_plugin"]
        process = subprocess.run(
            [sys.executable, "-W", "error", "-m", "pytest", *plugin, "--junitxml=result.xml", *arguments],
            cwd=tmp_path,
            capture_output=True,
            encoding="utf-8",
            env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
            timeout=120,
            check=False,
        )
        cases = {}
        for case in ElementTree.parse(tmp_path / "result.xml").iter("testcase"):
            kind = next((child.tag for child in case if child.tag in ("failure", "error", "skipped")), "passed")
            text = "\n".join((child.get("message") or "") + (child.text or "") for child in case)
            name = f"{case.get('classname').rpartition('.seams.toml.')[2]}::{case.get('name')}"
            assert name not in cases
            cases[name] = kind, text
        return process, cases

    return run


@pytest.fixture
def shop(tmp_path):
    """A good pattern, one with a short side, a plan that cannot be used and one that lies alone."""
    _save(good_draft(), tmp_path, "good")
    _save(FAULTS["short-side"].change(good_draft()), tmp_path, "short")
    _save(good_draft(), tmp_path, "broken")
    (tmp_path / "broken.seams.toml").write_text("format = 1\nseems = 3\n")
    (tmp_path / "alone.seams.toml").write_text("format = 1\n")
    (tmp_path / "good.pdf").write_bytes(b"%PDF-1.4")
    (tmp_path / "test_shop.py").write_text(SHOP_TESTS)
    return tmp_path


def _save(draft, folder: Path, name: str) -> None:
    path = draft.save(folder)
    for suffix in (".svg", ".seams.toml"):
        path.with_suffix(suffix).rename(folder / f"{name}{suffix}")


@pytest.mark.usefixtures("shop")
def test_every_seam_size_and_family_is_a_test_that_fails_in_a_sewists_words(run):
    process, cases = run()
    assert process.returncode == 1
    good = {name.partition("::")[2]: kind for name, (kind, _) in cases.items() if name.startswith("good.svg")}
    assert {"side[40-seams]", "side[40-junctions]", "side[40-edges]", "pieces[40-grain]", "judged"} <= good.keys()
    assert set(good.values()) <= {"passed", "skipped"}
    assert "good.pdf" not in process.stdout
    failed = {name: text for name, (kind, text) in cases.items() if kind == "failure"}
    assert failed.keys() == {
        "short.svg::side[40-seams]",
        "broken.svg::judged",
        "alone.seams.toml::judged",
        "test_shop::test_the_short_one_trues",
    }
    short = " ".join(failed["short.svg::side[40-seams]"].split())
    assert "Error, size 40: back.side is 6.4 mm (1/4 in) too short to be sewn to front.side." in short
    assert (
        "[seam-length/long] Why: Likely one of the two was altered by 1/4 in, a usual amount by hand, and the other not. Do: "
        in short
    )
    assert "Traceback" not in short
    assert ".py" not in short
    assert 'broken.seams.toml, line 2: unknown key "seems"' in failed["broken.svg::judged"]
    assert "no pattern of this name lies beside the plan" in process.stdout
    assert "too short to be sewn to front.side" in failed["test_shop::test_the_short_one_trues"]


@pytest.mark.usefixtures("shop")
def test_tests_are_picked_by_seam_and_by_mark(run):
    process, cases = run("-k", "side and good", "-m", "seamcheck")
    assert process.returncode == 0
    assert list(cases) == [f"good.svg::side[40-{family}]" for family in ("edges", "junctions", "seams")]
    _, cases = run("-m", "seam(name='side', family='junctions')", "good.seams.toml")
    assert list(cases) == ["good.svg::side[40-junctions]"]


def test_the_least_finding_that_fails_is_a_setting(run, shop):
    (shop / "seamcheck.toml").write_text('[severity]\nseam-length = "note"\n')
    process, cases = run("short.seams.toml", "-o", "seamcheck_fail_on=note")
    assert process.returncode == 1
    assert [name for name, (kind, _) in cases.items() if kind == "failure"] == ["short.svg::side[40-seams]"]


def test_a_least_finding_that_is_none_is_refused(run, shop):
    (shop / "result.xml").write_text("<none/>")
    process, _ = run("alone.seams.toml", "-o", "seamcheck_fail_on=fatal")
    assert 'seamcheck_fail_on is "fatal"; write error, warning or note' in process.stdout + process.stderr


@pytest.mark.usefixtures("shop")
def test_many_workers_find_the_same(run):
    pytest.importorskip("xdist")
    process, cases = run("-n", "2", "--dist", "loadgroup", "good.seams.toml", "short.seams.toml")
    assert process.returncode == 1
    kinds = {name.partition("@")[0]: kind for name, (kind, _) in cases.items()}
    assert [name for name, kind in kinds.items() if kind == "failure"] == ["short.svg::side[40-seams]"]
    assert len(kinds) == len(cases) > 20


def test_a_family_without_anything_to_judge_by_is_skipped_with_its_reason(run, tmp_path):
    plain = good_draft().with_panel("front", notches=()).with_panel("back", notches=())
    _save(plain, tmp_path, "plain")
    (tmp_path / "seamcheck.toml").write_text('[[rules]]\nname = "yoke-deep"\nholds = "yoke.side = 3 mm"\n')
    _, cases = run()
    kind, text = cases["plain.svg::pieces[40-rules-of-the-shop]"]
    assert kind == "skipped"
    assert 'there is no piece "yoke"' in text


def test_nothing_heavy_is_loaded_where_no_pattern_is_collected(run, tmp_path):
    (tmp_path / "test_light.py").write_text(
        "import sys\n"
        "def test_light():\n"
        "    assert 'seamcheck.pytest_plugin' in sys.modules\n"
        "    own = {name for name in sys.modules if name.startswith('seamcheck')}\n"
        "    assert own == {'seamcheck', 'seamcheck.lazy', 'seamcheck.pytest_plugin', 'seamcheck.version'}\n"
        "    assert not {'numpy', 'networkx', 'ezdxf', 'click'} & set(sys.modules)\n"
    )
    process, cases = run()
    assert (process.returncode, len(cases)) == (0, 1), process.stdout


@pytest.mark.parametrize("options", [[], ["-n", "1"]], ids=["alone", "xdist"])
def test_it_says_which_plugin_files_were_run(run, tmp_path, monkeypatch, options):
    good_draft().save(tmp_path)
    (tmp_path / "house.py").write_text(
        "from seamcheck.plugin import Check, Code, LookedAt, Severity\n"
        "CODE = Code(name='few', meaning='few', message='few', advice='more', severity=Severity.NOTE)\n"
        "def seamcheck_register_checks(register):\n"
        "    register(Check(name='loops', family='house', meaning='m', why='w', remedy='r', source='house rule',\n"
        "                   codes=(CODE,), run=lambda context: [LookedAt()]))\n"
    )
    settings = tmp_path / "ours.toml"
    settings.write_text('plugins = ["house.py"]\n')
    monkeypatch.setenv("SEAMCHECK_SETTINGS", str(settings))
    if options:
        pytest.importorskip("xdist")
    process, _ = run(*options)
    assert process.stdout.count(f"seamcheck: the plugin file {tmp_path / 'house.py'} was run") == 1
    monkeypatch.delenv("SEAMCHECK_SETTINGS")
    assert "was run" not in run()[0].stdout
