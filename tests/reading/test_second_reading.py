"""The second reading: who reads, what is compared, and what is known of the libraries."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from drafted import SETS, drafted
from skirt_making import Sheet, skirt
from svg_making import svg

from seamcheck.checks.readings import READING_DIFFERS
from seamcheck.cli.main import main
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge
from seamcheck.engine.report_format import RenderOptions
from seamcheck.pattern.drawing import Drawing
from seamcheck.pattern.second_reading import SecondReading
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.reading.base import Source, read_source
from seamcheck.reading.dxf import apparel, plain
from seamcheck.reading.second import read_twice, second_reading
from seamcheck.reading.second.lines import measured
from seamcheck.reading.svg import reader
from seamcheck.report.pieces import render_text

ROOT = Path(__file__).parents[2]
FIXTURES = ROOT / "fixtures"
SAMPLES = ROOT.parent / "shared" / "samples"


def drawing_of(source: Source) -> Drawing:
    importers = (reader.IMPORTER, apparel.IMPORTER, plain.IMPORTER)
    return next(one for one in importers if one.recognises(source)).read(source)


def twice(body: str):
    source = Source("sheet.svg", svg(body))
    return second_reading(source, drawing_of(source))


def reasons(second) -> list[str]:
    return [one.reason for one in second.explained]


def of_fixtures() -> list[Path]:
    """A file of each form of the demo, one of each drafted set, and every sample."""
    forms = [
        FIXTURES / "ferryhand" / f"ferryhand{form}" for form in (".svg", "-digitised.svg", "-cad.dxf", "-nest.dxf")
    ]
    sets = [sorted(drafted(name).glob(f"*{form}"))[0] for name in SETS for form in (".svg", ".dxf")]
    return [*forms, *sets, *sorted(SAMPLES.glob("*.svg")), *sorted(SAMPLES.glob("*.dxf"))]


@pytest.mark.parametrize("path", of_fixtures(), ids=lambda path: path.name)
def test_the_readers_agree_on_every_line_of_real_files(path):
    source = read_source(str(path))
    drawing = drawing_of(source)
    second = second_reading(source, drawing)
    assert second.failure == ""
    assert second.differences == ()
    assert second.agreed + sum(one.count for one in second.explained) >= len(drawing.lines)
    assert second.agreed >= 0.99 * len(drawing.lines)


def test_what_a_use_shows_is_compared_wherever_it_stands():
    second = twice(
        '<defs><path id="a" d="M0 0L30 0L30 40Z"/></defs><use href="#a" x="10"/>'
        '<g transform="rotate(30)"><use href="#a" transform="scale(-2 2)"/></g>'
    )
    assert (second.agreed, second.differences, second.explained) == (2, (), ())


def test_an_arc_under_a_skew_is_compared_point_by_point():
    assert twice('<path transform="skewX(30) scale(1 3)" d="M0 0A40 20 10 0 1 60 20"/>').agreed == 1


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        ('<symbol id="s"><path d="M0 0L50 0"/></symbol><use href="#s"/>', "symbols"),
        ('<switch><g systemLanguage="fr"><path d="M0 0L50 0"/></g><path d="M0 0L40 0"/></switch>', "a switch offers"),
        ('<path d="M0 0Q10 20 40 0S60 30 90 0"/>', "reflects the handle"),
        ('<path transform="rotate(40)" transform-origin="10 10" d="M0 0L50 0"/>', "properties of a style"),
        ('<circle r="10%"/>', "per cent"),
        ('<rect width="5"/><path d="M0 0L9 9"/>', "one is missing"),
    ],
)
def test_what_the_library_gets_wrong_is_told_with_the_reason(body, reason):
    second = twice(body)
    assert second.differences == ()
    assert [one for one in reasons(second) if reason in one]


def test_the_reason_goes_for_its_own_element_alone():
    body = '<path d="M0 0Q10 20 40 0S60 30 90 0"/><path d="M0 0L50 0"/>'
    source = Source("sheet.svg", svg(body))
    drawing = drawing_of(source)
    moved = Source("sheet.svg", svg(body.replace("L50 0", "L51 0")))
    (difference,) = second_reading(moved, drawing).differences
    assert difference.first.length == pytest.approx(50.0)
    assert difference.second.length == pytest.approx(51.0)


def test_a_file_that_the_library_cannot_read_is_told_and_no_finding():
    path = FIXTURES / "lookalikes" / "broken" / "seqend-missing.dxf"
    result = CliRunner().invoke(main, ["check", str(path), "--second-reading", "--format", "json"])
    (file,) = json.loads(result.stdout)["files"]
    assert not [one for one in file["findings"] if one["check"] == "reading-differs"]
    (note,) = [one["message"] for one in file["notes"] if one["code"] == "second-reading"]
    assert note.startswith("There was no second reading: ezdxf cannot read the file (")
    (skip,) = [one for one in file["skipped"] if one["check"] == "reading-differs"]
    assert "ezdxf cannot read the file" in skip["why"]


def test_the_skip_of_a_form_without_a_second_reader_has_its_code():
    sheet = Sheet.of(skirt())
    pattern = replace(sheet.pattern(), second=SecondReading(reader="none", failure="no reader is known"))
    (skip,) = judge(pattern, sheet.plan, [READING_DIFFERS], Settings()).skipped
    assert (skip.reason, str(skip.why)) == ("no-second-reading", "no reader is known")


def test_pieces_says_agreement_in_one_line_and_json_has_it_all():
    path = str(FIXTURES / "ferryhand" / "ferryhand-cad.dxf")
    text = CliRunner().invoke(main, ["pieces", path, "--second-reading"]).stdout
    assert "lines compared, all alike." in " ".join(text.split())
    told = json.loads(CliRunner().invoke(main, ["pieces", path, "--second-reading", "--format", "json"]).stdout)
    second = told["second_reading"]
    assert (second["reader"], second["failure"], second["differences"]) == ("ezdxf", None, [])
    assert second["agreed"] > 0
    alone = json.loads(CliRunner().invoke(main, ["pieces", path, "--format", "json"]).stdout)
    assert alone["second_reading"] is None


def test_pieces_tells_a_difference_with_both_figures():
    text = svg('<rect id="front" x="10" y="10" width="200" height="280"/>')
    drawing = drawing_of(Source("sheet.svg", text))
    drawing = read_twice(Source("sheet.svg", text.replace(b'height="280"', b'height="282"')), drawing)
    told = " ".join(render_text(build_pattern(drawing, assemble(drawing), None), RenderOptions()).split())
    assert "1 line compared, 0 alike and 1 not." in told
    assert "Differs: element front at (10.0, 10.0): 960.00 mm long, 200.00 mm by 280.00 mm, closed" in told
    assert "by svgelements 964.00 mm long, 200.00 mm by 282.00 mm, closed." in told


def test_names_of_blocks_in_another_encoding_are_found_again():
    source = read_source(str(FIXTURES / "lookalikes" / "older.dxf"))
    second = second_reading(source, drawing_of(source))
    assert (second.differences, second.failure) == ((), "")


def test_lengths_of_the_second_reading_are_those_of_closed_formulas():
    turn = measured([lambda t: 50 * np.exp(2j * np.pi * t)])
    assert turn.length == pytest.approx(100 * np.pi, abs=1e-6)
    assert turn.bounds == pytest.approx((-50, -50, 50, 50), abs=1e-6)
    assert turn.ends == ()


def test_a_sheet_of_every_kind_of_entity_agrees_but_for_what_is_known():
    source = read_source(str(FIXTURES / "lookalikes" / "cad-sheet.dxf"))
    drawing = drawing_of(source)
    second = second_reading(source, drawing)
    assert (second.failure, second.differences) == ("", ())
    assert second.agreed == len(drawing.lines) - 1
    (known,) = second.explained
    assert known.reason.startswith("it draws a spline that runs round and round")
