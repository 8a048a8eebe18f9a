import dataclasses
import json
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from trusted_folders import trust_folder

import seamcheck
from seamcheck import builtin
from seamcheck.amounts import phrase
from seamcheck.checks.base import Severity
from seamcheck.cli import checking
from seamcheck.cli.main import main
from seamcheck.cli.output import emit, render_options
from seamcheck.engine import judge as judge_module
from seamcheck.engine import plugins
from seamcheck.engine import read as read_module
from seamcheck.engine.read import Request
from seamcheck.engine.result import FileResult, Finding
from seamcheck.errors import Failure, InputError, SeamcheckError
from seamcheck.report.pieces import RENDERERS

CHECKOUT = Path(seamcheck.__file__).parents[1]

HOUSE = """
import dataclasses
from seamcheck.amounts import Unit
from seamcheck.checks.base import Check, Code, Severity

FEW = Code(name="few", meaning="loops are missing", message="{n} loops", advice="draw them", facts=("n",),
           severity=Severity.WARNING)
WIDE = Code(name="wide", meaning="a loop is too wide", message="{n} too wide", advice="narrow it", facts=("n",))

def seamcheck_register_checks(register):
    register(Check(
        name="loop-count", family="house", meaning="the band has as many loops as its size wants",
        why="loops are cut from one strip", remedy="draw the missing loops", source="house rule of the kit room",
        codes=(FEW, WIDE), run=lambda context: (), tolerance=2.0, unit=Unit.LENGTH))

def seamcheck_register_reports(register):
    from seamcheck.engine.report_format import ReportFormat
    register(ReportFormat("ticket", "one line for the cutting ticket", lambda report, options: "ticket\\n"))
"""


def found(severity: Severity, **changes) -> FileResult:
    finding = Finding(
        check="seam-length",
        code="short",
        severity=severity,
        size="M",
        fault=phrase("short"),
        remedy=phrase("lengthen"),
        **changes,
    )
    return FileResult(path="", sizes=("M",), findings=(finding,))


@pytest.fixture
def asked(monkeypatch):
    """What an engine was asked that answers by the file's name alone."""
    answers = {
        "good.svg": FileResult(path="", sizes=("M",)),
        "error.svg": found(Severity.ERROR),
        "warning.svg": found(Severity.WARNING),
        "note.svg": found(Severity.NOTE),
        "accepted.svg": found(Severity.ERROR, accepted="known"),
        "partly.svg": dataclasses.replace(
            found(Severity.ERROR), failures=(Failure("a check crashed", "partly.svg"),)
        ),
        "unlooked.svg": FileResult(path="", sizes=("M",), open_edges=("back.hem",)),
        "planned.svg": FileResult(path="", sizes=("M",), open_edges=("back.hem",), plan="planned.seams.toml"),
        "gone.svg": FileResult(
            path="", failures=(Failure("there is no such file; check the name and the folder", "gone.svg"),)
        ),
    }
    asked = []

    def check_file(path, request, registry, settings, recipes):
        asked.append((path, request))
        sys.stdout.write("a library chatters\n")
        if path == "crash.svg":
            raise ZeroDivisionError("division\nby zero")
        return dataclasses.replace(answers[Path(path).name], path=path)

    def read(path, request, registry, settings):
        asked.append((path, request))
        sys.stdout.write("a library chatters\n")
        if path == "crash.svg":
            raise ZeroDivisionError("division by zero")
        raise InputError("there is no such file", path=path, remedy="check the name and the folder")

    monkeypatch.setattr(judge_module, "check_file", check_file)
    monkeypatch.setattr(read_module, "read", read)
    monkeypatch.setattr(builtin, "CHECKS", ())
    monkeypatch.setattr(builtin, "IMPORTERS", ())
    monkeypatch.setattr(plugins.importlib.metadata, "entry_points", lambda group: ())
    return asked


@pytest.fixture
def run(asked, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FORCE_COLOR", raising=False)
    return lambda *arguments: CliRunner().invoke(main, arguments)


def sentence(result) -> str:
    """The one sentence that an error must be, beside those that tell which code was run."""
    lines = result.stderr.replace("a library chatters\n", "").splitlines()
    (line,) = (line for line in lines if not line.endswith("our_rules.py was run"))
    assert line.startswith("seamcheck: ")
    assert "Traceback" not in result.stderr
    return line.removeprefix("seamcheck: ")


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["good.svg"], 0),
        (["note.svg"], 0),
        (["warning.svg"], 1),
        (["error.svg"], 1),
        (["accepted.svg"], 0),
        (["good.svg", "warning.svg"], 1),
        (["gone.svg"], 2),
        (["error.svg", "gone.svg"], 2),
        (["partly.svg"], 2),
        (["unlooked.svg"], 2),
        (["unlooked.svg", "--partial"], 0),
        (["unlooked.svg", "warning.svg", "--partial"], 1),
        (["unlooked.svg", "gone.svg", "--partial"], 2),
        (["planned.svg"], 0),
        (["crash.svg", "good.svg"], 2),
        (["note.svg", "--fail-on", "note"], 1),
        (["good.svg", "--fail-on", "note"], 0),
        (["warning.svg", "--fail-on", "error"], 0),
        (["error.svg", "--fail-on", "error"], 1),
        (["gone.svg", "--fail-on", "error"], 2),
    ],
)
def test_exit_code_of_check(run, arguments, code):
    assert run("check", *arguments).exit_code == code


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "missing command"),
        (["mend"], "no such command 'mend'"),
        (["check"], "missing argument 'FILES...'"),
        (["check", "good.svg", "--alowance", "5"], "no such option"),
        (["check", "good.svg", "--units", "ell"], "'ell' is not one of 'mm', 'cm', 'in'"),
        (["check", "good.svg", "--line", "hem"], "'hem' is not one of"),
        (["check", "good.svg", "--fail-on", "never"], "'never' is not one of"),
        (["check", "good.svg", "--allowance", "-1"], "-1"),
        (["check", "good.svg", "--allowance", "nan"], "nan is not a number"),
        (["check", "good.svg", "--allowance", "inf"], "inf is not a number"),
        (["check", "good.svg", "--allowance", "wide"], "'wide' is not a valid"),
        (["check", "good.svg", "--dpi", "0"], "0 is no number of pixels per inch; give one above 0, say 96"),
        (["pieces", "good.svg", "--dpi", "-96"], "-96 is no number of pixels per inch"),
        (["check", "good.svg", "--dpi", "nan"], "nan is not a number"),
        (["check", "good.svg", "--format", "jsn"], 'there is no format "jsn"; the nearest format is "json"'),
        (["pieces", "good.svg", "--format", "png"], "'png' is not one of 'text', 'json', 'svg'"),
        (["pieces", "good.svg", "error.svg"], "unexpected extra argument"),
    ],
)
def test_usage_errors_are_one_sentence_and_exit_code_2(run, arguments, said):
    result = run(*arguments)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert said in sentence(result)
    assert "--help" in sentence(result)


def test_what_can_be_judged_is_reported_beside_what_cannot(run):
    result = run("check", "gone.svg", "warning.svg", "--format", "json")
    assert result.exit_code == 2
    assert sentence(result) == "gone.svg: there is no such file; check the name and the folder"
    first, second = json.loads(result.stdout)["files"]
    assert (first["path"], second["path"]) == ("gone.svg", "warning.svg")
    assert [finding["severity"] for finding in second["findings"]] == ["warning"]


def test_stdout_carries_the_result_alone(run):
    result = run("check", "good.svg", "--format", "json")
    assert json.loads(result.stdout)["files"][0]["path"] == "good.svg"
    assert result.stderr == "a library chatters\n"


def test_lines_of_json_come_as_soon_as_a_file_is_judged(run, asked, monkeypatch):
    told = []
    monkeypatch.setattr(checking, "emit", lambda text, output: told.append((json.loads(text), len(asked))))
    assert run("check", "good.svg", "warning.svg", "gone.svg", "--format", "jsonl").exit_code == 2
    assert [(line["kind"], judged) for line, judged in told] == [("file", 1), ("file", 2), ("file", 3)]


def test_lines_of_json_are_the_same_whether_they_stream_or_wait(run, tmp_path):
    options = ["--format", "jsonl", "--output", "lines.jsonl", "--format", "jsonl"]
    streamed = run("check", "good.svg", "warning.svg", *options).stdout
    assert streamed == (tmp_path / "lines.jsonl").read_text()
    assert [json.loads(line)["kind"] for line in streamed.splitlines()] == ["file", "file", "summary"]
    waiting = run("check", "warning.svg", "--format", "jsonl", "--record", "known.json").stdout
    assert json.loads(waiting.splitlines()[0])["findings"][0]["known"]


def test_an_unforeseen_fault_is_ours_and_ends_no_other_file(run):
    result = run("check", "crash.svg", "good.svg", "--format", "json")
    assert result.exit_code == 2
    assert sentence(result).startswith("crash.svg: seamcheck itself failed (ZeroDivisionError: division by zero)")
    assert "not in your pattern" in sentence(result)
    assert [bool(file["sizes"]) for file in json.loads(result.stdout)["files"]] == [False, True]


def test_debug_shows_where_a_fault_happened():
    program = "import sys; from seamcheck.cli import checking, main; checking.refuse_overwriting = None; main.main(sys.argv[1:])"
    plain, debug = (python("-c", program, *options, "check", "x.svg") for options in ((), ("--debug",)))
    assert plain.returncode == debug.returncode == 2
    assert "Traceback" not in plain.stderr
    assert plain.stderr.count("\n") == 1
    assert "Traceback" in debug.stderr
    assert plain.stderr in debug.stderr


def test_options_reach_the_engine(run, asked):
    options = "--plan p.toml --size S --size M --units in --line cut --allowance 9.5 --dpi 72 --encoding cp1252"
    assert run("check", "good.svg", *options.split()).exit_code == 0
    assert run("pieces", "good.svg", *options.split()).exit_code == 2
    expected = Request(
        plan=Path("p.toml"), sizes=("S", "M"), units="in", line="cut", allowance=9.5, dpi=72, encoding="cp1252"
    )
    assert asked == [("good.svg", expected)] * 2


def test_pieces_tells_of_an_unreadable_file_in_one_sentence(run):
    result = run("pieces", "gone.svg")
    assert (result.exit_code, result.stdout) == (2, "")
    assert sentence(result) == "gone.svg: there is no such file; check the name and the folder"


def test_pieces_names_the_file_that_an_unforeseen_fault_came_from(run):
    result = run("pieces", "crash.svg")
    assert (result.exit_code, result.stdout) == (2, "")
    assert sentence(result).startswith("crash.svg: seamcheck itself failed (ZeroDivisionError")


def test_pieces_offers_the_forms_that_there_are():
    (option,) = (one for one in main.commands["pieces"].params if one.name == "formats")
    assert list(option.type.choices) == list(RENDERERS)


def test_fail_on_offers_the_severities_that_there_are():
    (option,) = (one for one in main.commands["check"].params if one.name == "fail_on")
    assert list(option.type.choices) == list(Severity)


def test_help_names_the_formats_that_there_are():
    (option,) = (one for one in main.commands["check"].params if one.name == "formats")
    assert option.help.startswith(f"{builtin.REPORTS[0]} (default), {', '.join(builtin.REPORTS[1:])}, or")


class TestOutput:
    def test_goes_to_the_file_and_not_to_stdout(self, run, tmp_path):
        result = run("check", "warning.svg", "--format", "json", "--output", "result.json")
        assert (result.exit_code, result.stdout) == (1, "")
        assert json.loads((tmp_path / "result.json").read_text())["summary"]["warning"] == 1
        assert [path.name for path in tmp_path.iterdir()] == ["result.json"]

    def test_each_format_goes_to_the_output_of_its_number_and_the_one_more_to_stdout(self, run, tmp_path):
        pairs = ["--format", "json", "--output", "result.txt", "--format", "text", "--output", "told.json"]
        result = run("check", "warning.svg", *pairs, "--format", "json")
        assert result.exit_code == 1
        assert json.loads(result.stdout) == json.loads((tmp_path / "result.txt").read_text())
        assert (tmp_path / "told.json").read_text().startswith("warning.svg: 1 thing to put right")
        assert sorted(path.name for path in tmp_path.iterdir()) == ["result.txt", "told.json"]

    @pytest.mark.parametrize("name", ["result.json", "RESULT.JSON"])
    def test_the_suffix_tells_the_format_where_no_option_does(self, run, tmp_path, name):
        assert run("check", "good.svg", "--output", name, "--output", "told", "--output", "-").stdout.startswith(
            "good"
        )
        assert json.loads((tmp_path / name).read_text())["schema"] == "seamcheck.report/1"
        assert (tmp_path / "told").read_text().startswith("good.svg: ")

    @pytest.mark.parametrize(
        ("options", "said"),
        [
            (["--format", "json", "--format", "text"], "stdout carries one format; give every other --format an"),
            (["--output", "-", "--output", "-"], "stdout carries one format"),
            (["--format", "text", "--output", "-", "--format", "json"], "stdout carries one format"),
            (
                ["--format", "json", "--output", "a.json", "--output", "b.txt"],
                "not every --output has its --format; give each of them one",
            ),
            (["--output", "a.txt", "--output", "./a.txt"], "two results would go to a.txt"),
            (["--output", "result.pdf"], "the name result.pdf does not tell which format is meant"),
            (["--output", "a.txt", "--output", "good.svg"], "would replace good.svg itself"),
        ],
    )
    def test_what_goes_where_must_be_plain_before_anything_is_judged(self, run, asked, options, said):
        result = run("check", "good.svg", *options)
        assert (result.exit_code, result.stdout, asked) == (2, "", [])
        assert said in sentence(result)

    def test_a_result_that_cannot_be_written_takes_no_other_with_it(self, run, tmp_path):
        result = run("check", "good.svg", "--output", "gone/a.json", "--output", "b.json")
        assert result.exit_code == 2
        assert sentence(result).startswith("gone/a.json: cannot be written (")
        assert json.loads((tmp_path / "b.json").read_text())["summary"]["error"] == 0

    def test_replaces_a_file_and_keeps_its_rights(self, tmp_path):
        path = tmp_path / "result.txt"
        path.write_text("before")
        path.chmod(0o640)
        emit("after\n", str(path))
        assert path.read_text() == "after\n"
        assert path.stat().st_mode & 0o777 == 0o640

    def test_leaves_the_old_file_when_writing_fails(self, tmp_path, monkeypatch):
        path = tmp_path / "result.txt"
        path.write_text("before")

        def fail(*_):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(Path, "replace", fail)
        with pytest.raises(SeamcheckError, match=r"result.txt: cannot be written \(no space left on device\)"):
            emit("after\n", str(path))
        assert path.read_text() == "before"
        assert list(tmp_path.iterdir()) == [path]

    def test_keeps_a_link_a_link(self, tmp_path):
        (tmp_path / "real.txt").write_text("before")
        (tmp_path / "link.txt").symlink_to(tmp_path / "real.txt")
        emit("after\n", str(tmp_path / "link.txt"))
        assert (tmp_path / "link.txt").is_symlink()
        assert (tmp_path / "real.txt").read_text() == "after\n"

    def test_leaves_a_device_in_its_place(self):
        emit("nothing\n", os.devnull)
        assert not Path(os.devnull).is_file()

    @pytest.mark.parametrize("output", ["no-such-folder/result.txt", "."])
    def test_that_cannot_be_written_is_one_sentence(self, run, output):
        result = run("check", "good.svg", "--output", output)
        assert (result.exit_code, result.stdout) == (2, "")
        assert sentence(result).startswith(f"{output}: cannot be written (")

    @pytest.mark.parametrize("output", ["good.svg", "./good.svg", "p.toml"])
    def test_never_replaces_what_it_is_made_from(self, run, tmp_path, output):
        for name in ("good.svg", "p.toml"):
            (tmp_path / name).write_text("the pattern")
        result = run("check", "good.svg", "--plan", "p.toml", "--output", output)
        assert result.exit_code == 2
        assert "would replace" in sentence(result)
        assert (tmp_path / "good.svg").read_text() == "the pattern"

    @pytest.mark.parametrize(
        "output", ["good.seams.toml", "good.rul", "known.json", "seamcheck.toml", "old.svg", "hard-link.svg"]
    )
    def test_never_replaces_what_lies_beside_it_and_was_read_too(self, run, tmp_path, output):
        for name in ("good.svg", "good.seams.toml", "good.rul", "known.json", "old.svg"):
            (tmp_path / name).write_text("the pattern")
        (tmp_path / "seamcheck.toml").write_text('units = "mm"')
        (tmp_path / "hard-link.svg").hardlink_to(tmp_path / "good.svg")
        before = (tmp_path / output).read_text()
        named = ("--before", "old.svg", "--record", "known.json", "--format", "text", "--output", output)
        result = run("check", "good.svg", *named)
        assert result.exit_code == 2
        assert "would replace" in sentence(result)
        assert (tmp_path / output).read_text() == before

    @pytest.mark.parametrize("option", ["--output", "--picture"])
    def test_not_even_by_force(self, run, tmp_path, option):
        for name in ("good.svg", "old.svg"):
            (tmp_path / name).write_text("the pattern")
        result = run("true", "good.svg", "--before", "old.svg", "--force", option, "old.svg")
        assert "would replace" in sentence(result)
        assert (tmp_path / "old.svg").read_text() == "the pattern"


class TestShop:
    """Settings and plugins of the folder that a file lies in."""

    @pytest.fixture
    def house(self, tmp_path):
        (tmp_path / "our_rules.py").write_text(HOUSE)
        (tmp_path / "seamcheck.toml").write_text('plugins = ["our_rules.py"]\n')
        trust_folder(tmp_path)

    @pytest.mark.usefixtures("house")
    def test_a_report_format_of_a_plugin_may_be_asked_for(self, run):
        assert run("check", "good.svg", "--format", "ticket").stdout == "ticket\n"

    def test_a_broken_plugin_is_one_sentence_and_exit_code_2(self, run, house, tmp_path):
        (tmp_path / "our_rules.py").write_text("span = 1 / 0\n")
        trust_folder(tmp_path)
        for command in (["check", "good.svg", "error.svg"], ["pieces", "good.svg"], ["explain"], ["plugins"]):
            result = run(*command)
            assert result.exit_code == 2
            assert (result.stdout == "") == (command[0] in ("pieces", "explain"))
            assert 'our_rules.py, line 1: plugin "our_rules" cannot be loaded: ZeroDivision' in sentence(result)

    def test_a_broken_plugin_keeps_no_other_check_from_judging(self, run, house, tmp_path):
        (tmp_path / "our_rules.py").write_text("span = 1 / 0\n")
        trust_folder(tmp_path)
        (good, faulty) = json.loads(run("check", "good.svg", "error.svg", "--format", "json").stdout)["files"]
        assert good["failures"] == faulty["failures"]
        assert [finding["severity"] for finding in faulty["findings"]] == ["error"]

    @pytest.mark.usefixtures("house")
    def test_a_run_without_plugins_is_not_green_where_the_shop_requires_one(self, run):
        result = run("--no-plugins", "check", "good.svg")
        assert result.exit_code == 2
        assert 'the plugin "our_rules" that the settings ask for was left out; run without --no-plugins' in sentence(
            result
        )
        assert "loop-count" not in run("--no-plugins", "explain").stdout

    def test_a_run_without_plugins_is_green_where_none_is_required(self, run):
        assert run("--no-plugins", "check", "good.svg").exit_code == 0

    @pytest.mark.usefixtures("house")
    def test_plugins_are_listed_with_where_they_come_from(self, run, tmp_path):
        result = run("plugins")
        assert result.exit_code == 0
        assert f"our_rules, required by {tmp_path / 'seamcheck.toml'}\n" in result.stdout
        assert "brings 1 check (loop-count); 1 report (ticket)" in result.stdout
        plugins = json.loads(run("plugins", "--format", "json").stdout)["plugins"]
        assert [one["name"] for one in plugins if one["name"] in ("builtin", "our_rules")] == ["builtin", "our_rules"]
        assert plugins[0]["version"] == seamcheck.__version__
        assert plugins[-1]["file"] == str(tmp_path / "our_rules.py")

    def test_a_required_plugin_that_is_missing_is_listed_as_such(self, run, tmp_path):
        (tmp_path / "seamcheck.toml").write_text('plugins = ["kit-room"]\n')
        result = run("plugins")
        assert result.exit_code == 2
        assert "kit-room, required by" in result.stdout
        assert 'the plugin "kit-room" that the settings ask for is not installed' in sentence(result)

    def test_files_of_another_shop_are_judged_all_the_same(self, run, house, tmp_path):
        (tmp_path / "annex").mkdir()
        (tmp_path / "annex" / "seamcheck.toml").write_text('plugins = ["missing.py"]\n')
        result = run("check", "annex/good.svg", "warning.svg", "--format", "json")
        assert result.exit_code == 2
        assert "missing.py" in sentence(result)
        assert [bool(file["failures"]) for file in json.loads(result.stdout)["files"]] == [True, False]

    @pytest.mark.usefixtures("house")
    def test_explain_lists_every_check_by_family(self, run):
        lines = run("explain").stdout.splitlines()
        row = next(index for index, line in enumerate(lines) if line.startswith("  loop-count  "))
        assert lines[row - 1] == "house"
        told = " ".join(" ".join(lines[row : row + 2]).split())
        assert "the band has as many loops as its size wants [2.0 mm (3/32 in)], from the plugin" in told

    @pytest.mark.usefixtures("house")
    def test_explain_tells_one_check_in_full(self, run):
        text = " ".join(run("explain", "loop-count").stdout.split())
        for said in (
            "Holds when the band has as many loops as its size wants.",
            "Why: loops are cut from one strip",
            "Do: draw the missing loops",
            "Tolerance of loop-count/wide: 2.0 mm (3/32 in), by default. Up to 1.0 mm (1/32 in) nothing is said, up to 2.0 mm (3/32 in) it is a "
            "note, up to 4.0 mm (3/16 in) a warning, beyond that an error.",
            "Source: house rule of the kit room",
            "loop-count/few: loops are missing.",
            "Severity of loop-count/few: always a warning, by default. It is seen and not measured.",
            "loop-count/wide: a loop is too wide.",
            '[[accepted]] check = "loop-count"',
        ):
            assert said in text

    @pytest.mark.usefixtures("house")
    def test_explain_tells_of_one_code_alone(self, run):
        text = run("explain", "loop-count/few").stdout
        assert 'check = "loop-count/few"' in text
        assert "loop-count/wide" not in text

    def test_explain_tells_what_the_shop_sets(self, run, house, tmp_path):
        (tmp_path / "seamcheck.toml").write_text(
            'plugins = ["our_rules.py"]\n[tolerances]\nloop-count = 3\n[severity]\n"loop-count/few" = "off"\n'
        )
        text = " ".join(run("explain", "loop-count").stdout.split())
        assert "Tolerance of loop-count/wide: 3.0 mm (1/8 in), set by the shop in " in text
        assert "Severity of loop-count/few: turned off, set by the shop in " in text

    @pytest.mark.usefixtures("house")
    @pytest.mark.parametrize(
        ("name", "said"),
        [
            ("loop-cuont", 'there is no check, fit or topic "loop-cuont"; the nearest name is "loop-count"'),
            ("formast", 'there is no check, fit or topic "formast"; the nearest name is "formats"'),
            ("loop-count/fwe", 'the check "loop-count" has no code "fwe"; the nearest code is "few"'),
            ("loop-count/", 'the check "loop-count" has no code ""'),
        ],
    )
    def test_explain_of_an_unknown_name_says_the_nearest(self, run, name, said):
        result = run("explain", name)
        assert (result.exit_code, result.stdout) == (2, "")
        assert sentence(result).startswith(said)


class TestColour:
    @pytest.fixture
    def terminal(self, monkeypatch):
        monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)

    def test_is_for_terminals_only(self, terminal):
        assert render_options(None, {}).colour
        assert not render_options("result.txt", {}).colour
        assert not render_options(None, {"TERM": "dumb"}).colour

    def test_is_left_out_when_nobody_looks(self):
        assert not render_options(None, {}).colour

    @pytest.mark.parametrize(
        ("environment", "colour"),
        [
            ({"FORCE_COLOR": "1"}, True),
            ({"NO_COLOR": "1"}, False),
            ({"NO_COLOR": "1", "FORCE_COLOR": "1"}, False),
            ({"NO_COLOR": "", "FORCE_COLOR": "1"}, True),
        ],
    )
    def test_follows_the_environment(self, environment, colour):
        # no-color.org: NO_COLOR holds "when present and not an empty string (regardless of its value)".
        assert render_options(None, environment).colour is colour

    @pytest.mark.usefixtures("terminal")
    def test_no_color_holds_on_a_terminal(self):
        assert not render_options(None, {"NO_COLOR": "1"}).colour


def python(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run Python on the checkout, with UTF-8 read back."""
    variables = {**os.environ, "PYTHONPATH": str(CHECKOUT), **environment}
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, encoding="utf-8", env=variables, timeout=60, check=False
    )


def test_runs_as_a_module():
    result = python("-m", "seamcheck", "--version")
    assert (result.returncode, result.stdout) == (0, f"seamcheck {seamcheck.__version__}\n")


def test_speaks_utf_8_in_the_c_locale():
    text = ascii("1.9° ¼ 裤 \udcff\n")
    program = f"from seamcheck.cli.output import emit, prepare_streams; prepare_streams(); emit({text}, None)"
    result = python("-c", program, LC_ALL="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0", PYTHONIOENCODING="")
    assert (result.returncode, result.stdout, result.stderr) == (0, "1.9° ¼ 裤 \\udcff\n", "")


def test_a_reader_that_has_heard_enough_is_no_error():
    program = "from seamcheck.cli.output import emit; emit('line\\n' * 1_000_000, None); raise SystemExit(1)"
    with subprocess.Popen(
        [sys.executable, "-c", program],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
    ) as process:
        assert process.stdout.readline() == b"line\n"
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(60) == 1


@pytest.mark.parametrize("command", ["explain", "--help"])
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is always full")
def test_a_full_disk_is_one_sentence(command):
    with Path("/dev/full").open("w") as full:
        result = subprocess.run(
            [sys.executable, "-m", "seamcheck", command],
            stdout=full,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
            timeout=60,
            check=False,
        )
    assert result.returncode == 2
    assert result.stderr.count("\n") == 1
    assert "cannot be written (no space left on device)" in result.stderr.lower()


def test_every_option_says_what_it_does():
    for command in main.commands.values():
        for option in command.params:
            assert isinstance(option, click.Argument) or option.help
