"""Whole runs with a shop's own plugins: what design and code of a plugin come to at the command line."""

import json

import pytest
from click.testing import CliRunner
from trusted_folders import trust_folder

from seamcheck.cli.main import main
from seamcheck.testing import FAULTS, good_draft

CHECK = """
from seamcheck.amounts import Length, Unit
from seamcheck.checks.base import Check, Code, Observation

def run(context):
    {body}

def seamcheck_register_checks(register):
    register(Check(
        name="hem-width", family="house", meaning="every hem is 200 mm wide", why="the binder is set to it",
        remedy="redraw the hem", source="house rule of the kit room", run=run, tolerance=1.0, unit=Unit.LENGTH,
        codes=(Code(name="off", meaning="a hem has another width", message="{{edge}} is {{width}} wide",
                    advice="make it 200 mm", facts=("edge", "width")),)))
"""
MEASURE = """for piece in context.pieces.values():
        width = piece.edge("hem").length
        yield Observation(code="off", deviation=width - {wanted}, pieces=(piece.name,), edges=(f"{{piece.name}}.hem",),
                          facts={{"edge": f"{{piece.name}}.hem", "width": Length(width)}})"""
IMPORTER = """
from seamcheck.plugin import Curve, Drawing, Importer, InputError, Ledger, LineMark, Role

def read(source):
    points = []
    for number, line in enumerate(source.data.decode().splitlines()[1:], 2):
        try:
            x, y = map(float, line.split())
        except ValueError:
            raise InputError("this is no point", path=source.path, place=f"line {number}",
                             remedy="write two numbers") from None
        points.append(complex(x, y))
    outline = LineMark(curve=Curve.polyline([*points, points[0]]), closed=True, place="line 2", role=Role.SEW, label="yoke")
    return Drawing(path=source.path, format="tape", y_down=True, units="mm", lines=(outline,),
                   ledger=Ledger(read=1, used=1))

def seamcheck_register_importers(register):
    register(Importer("a-tape", "a digitiser tape", lambda source: source.data.startswith(b"TAPE"), read))
"""


def said(result) -> str:
    """What is said on stderr but for the line that tells which code was run."""
    told, _, rest = result.stderr.partition("\n")
    assert told.startswith("seamcheck: the plugin file ")
    assert told.endswith("our_rules.py was run")
    return rest


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A shop with one plugin, and the good draft as its pattern."""
    monkeypatch.chdir(tmp_path)
    good_draft().save(tmp_path)

    def shop(plugin: str):
        (tmp_path / "our_rules.py").write_text(plugin)
        (tmp_path / "seamcheck.toml").write_text('plugins = ["our_rules.py"]\n')
        trust_folder(tmp_path)
        return lambda *arguments: CliRunner().invoke(main, arguments)

    return shop


def test_a_house_check_that_holds_changes_nothing(shop):
    result = shop(CHECK.format(body=MEASURE.format(wanted=200)))("check", "ferryhand-panels.svg", "--fail-on", "note")
    assert (result.exit_code, said(result)) == (0, "")
    assert "nothing to put right" in result.stdout


def test_a_finding_says_which_plugin_it_comes_from(shop):
    run = shop(CHECK.format(body=MEASURE.format(wanted=210)))
    result = run("check", "ferryhand-panels.svg", "--format", "json")
    assert (result.exit_code, said(result)) == (1, "")
    findings = json.loads(result.stdout)["files"][0]["findings"]
    assert [(one["check"], one["code"], one["plugin"], one["edges"], one["measured"]) for one in findings] == [
        ("hem-width", "off", "our_rules", ["back.hem"], -10.0),
        ("hem-width", "off", "our_rules", ["front.hem"], -10.0),
    ]
    assert "[hem-width/off, a rule of our_rules]" in run("check", "ferryhand-panels.svg").stdout


def test_a_house_check_that_crashes_ends_no_other_and_gives_exit_code_2(shop, tmp_path):
    (tmp_path / "ferryhand-panels.svg").write_text(FAULTS["short-side"].change(good_draft()).svg())
    run = shop(CHECK.format(body="return 1 / len(context.size[:0])"))
    result = run("check", "ferryhand-panels.svg", "--format", "json")
    assert result.exit_code == 2
    assert "Traceback" not in result.stderr
    (sentence,) = said(result).splitlines()
    assert "hem-width" in sentence
    assert "our_rules" in sentence
    (file,) = json.loads(result.stdout)["files"]
    assert [(one["check"], one["code"]) for one in file["findings"]] == [("seam-length", "long")]


def test_a_house_check_that_ends_the_program_is_a_crash_as_well(shop):
    result = shop(CHECK.format(body="raise SystemExit(0)"))("check", "ferryhand-panels.svg")
    assert result.exit_code == 2
    assert "check hem-width of plugin our_rules crashed" in result.stderr


@pytest.mark.parametrize("body", ["return 1 / len(context.size[:0])", "raise SystemExit(0)"])
def test_a_house_check_that_crashes_is_stopped_by_turning_it_off(shop, tmp_path, body):
    run = shop(CHECK.format(body=body))
    assert run("check", "ferryhand-panels.svg").exit_code == 2
    with (tmp_path / "seamcheck.toml").open("a") as settings:
        settings.write('[severity]\nhem-width = "off"\n')
    result = run("check", "ferryhand-panels.svg", "--format", "json")
    assert result.exit_code == 0
    assert "crashed" not in result.stderr
    (file,) = json.loads(result.stdout)["files"]
    skipped = [one["why"] for one in file["skipped"] if one["check"] == "hem-width"]
    assert skipped == [f"turned off by {tmp_path / 'seamcheck.toml'}"]
    assert "hem-width turned off" in " ".join(run("check", "ferryhand-panels.svg").stdout.split())


def test_debug_shows_where_a_house_check_crashed(shop, caplog):
    run = shop(CHECK.format(body="return 1 / len(context.size[:0])"))
    with caplog.at_level("DEBUG", logger="seamcheck"):
        assert run("--debug", "check", "ferryhand-panels.svg").exit_code == 2
    assert "our_rules.py" in caplog.text
    assert "ZeroDivisionError" in caplog.text


def test_a_file_without_a_piece_is_no_success(shop, tmp_path):
    (tmp_path / "empty.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"/>')
    result = shop(CHECK.format(body="return ()"))("pieces", "empty.svg")
    assert result.exit_code == 2
    assert said(result) == "seamcheck: empty.svg: no piece was found; see the result for what the file holds\n"
    assert result.stdout.startswith("empty.svg: 0 pieces")


def test_a_house_importer_reads_a_format_of_its_own(shop, tmp_path):
    run = shop(IMPORTER)
    (tmp_path / "yoke.tape").write_text("TAPE\n0 0\n300 0\n300 120\n0 120\n")
    result = run("pieces", "yoke.tape", "--format", "json")
    assert (result.exit_code, said(result)) == (0, "")
    (piece,) = json.loads(result.stdout)["pieces"]
    assert (piece["perimeter"], piece["area"], len(piece["corners"])) == (840.0, 36000.0, 4)


def test_what_a_house_importer_objects_to_is_one_sentence(shop, tmp_path):
    (tmp_path / "yoke.tape").write_text("TAPE\n0 0\nwide\n")
    result = shop(IMPORTER)("check", "yoke.tape", "ferryhand-panels.svg")
    assert result.exit_code == 2
    assert said(result) == "seamcheck: yoke.tape, line 3: this is no point; write two numbers\n"
    assert "ferryhand-panels.svg: nothing to put right" in result.stdout


def test_the_same_run_gives_the_same_bytes(shop):
    run = shop(CHECK.format(body=MEASURE.format(wanted=210)))
    for form in ("text", "json"):
        first, second = (run("check", "ferryhand-panels.svg", "--format", form).stdout_bytes for _ in range(2))
        assert first == second
