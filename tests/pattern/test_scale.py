"""Whether a drawing is as large as it should be, in all three forms: what is told, and that following it mends it."""

import re
from pathlib import Path

import dxf_making as make
import pytest
from svg_making import drawing as svg_drawing

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read
from seamcheck.errors import SeamcheckError
from seamcheck.pattern.scale import FACTORS, plausible
from seamcheck.pieces.outline import assemble

CHECKOUT = Path(__file__).parents[2]
FILES = sorted(
    path
    for folder in ("main/fixtures/ferryhand", "main/fixtures/lookalikes", "shared/samples")
    for path in (CHECKOUT.parent / folder.replace("main", CHECKOUT.name)).glob("*")
    if path.suffix in (".svg", ".dxf")
)


def told(drawing):
    """The notes on scale, by code."""
    return {
        note.code: note.message
        for note in assemble(drawing).notes
        if note.code in ("scale-square", "units-implausible")
    }


def square(side, at=600 + 0j):
    return [at, at + side, at + side * (1 + 1j), at + side * 1j]


def cad(factor, side, words="Test square 5 cm", size=1.0, **options):
    """A front of 200 by 300 mm and a square, in units of `factor` mm, as a CAD drawing."""
    entities = [make.polyline("CUT", [p * size / factor for p in make.FRONT])]
    if side:
        entities.append(make.polyline("0", square(side / factor)))
        entities.append(make.text(words, 600 + 0.1 * (1 + 1j) * side / factor, layer="0"))
    unit = {"mm": 4, "cm": 5, "in": 1}[options.pop("stated")]
    return make.read(make.plain(*entities, start=make.header(INSUNITS=(70, unit))), **options)


def apparel(factor, side, words="Test square 5 cm", size=1.0, **options):
    pieces = [make.piece("Front", outline=make.marked(1, [p * size / factor for p in make.FRONT]))]
    if side:
        pieces.append(make.piece(words, outline=make.marked(1, square(side / factor))))
    units = {"mm": "METRIC", "in": "ENGLISH", "cm": "CENTIMETERS"}[options.pop("stated")]
    return make.read(make.apparel(*pieces, units=units), **options)


DXF = pytest.mark.parametrize("form", [cad, apparel])


@DXF
@pytest.mark.parametrize("really", FACTORS)
@pytest.mark.parametrize("stated", FACTORS)
def test_a_test_square_tells_the_unit_of_a_dxf(form, really, stated):
    found = told(form(FACTORS[really], 50.0, stated=stated))
    if really == stated:
        assert found == {}
        return
    message = found["scale-square"]
    ratio = FACTORS[stated] / FACTORS[really]
    assert f"{max(ratio, 1 / ratio):.4g} times too {'large' if ratio > 1 else 'small'}" in message
    assert "taken for each other" in message
    assert message.endswith(f"If so, say --units {really}.")
    assert told(form(FACTORS[really], 50.0, stated=stated, units=really)) == {}


@DXF
def test_a_square_off_by_no_known_slip_is_told_with_its_factor(form):
    message = told(form(1.0, 44.0, stated="mm"))["scale-square"]
    assert "measures 44 mm where 50 mm are meant, 1.136 times too small" in message
    assert "taken for" not in message
    assert "small. Scale it by 1.136 in the drawing program" in message
    assert (
        "2 % too small. Scale it by 1.02 in the drawing program" in told(form(1.0, 49.0, stated="mm"))["scale-square"]
    )
    assert told(form(1.0, 49.8, stated="mm")) == {}


@DXF
def test_a_test_square_is_no_piece(form):
    assert len(assemble(form(1.0, 50.0, stated="mm")).shapes) == 1


@DXF
@pytest.mark.parametrize(
    ("really", "stated", "size"), [("in", "mm", 1.0), ("mm", "in", 1.0), ("mm", "cm", 1.0), ("cm", "mm", 0.5)]
)
def test_sizes_tell_what_no_square_tells(form, really, stated, size):
    message = told(form(FACTORS[really], 0, size=size, stated=stated))["units-implausible"]
    assert f"--units {really}" in message
    assert told(form(FACTORS[really], 0, size=size, stated=stated, units=really)) == {}


def svg(body, head):
    return svg_drawing(body, head)


PAGE = 'width="500mm" height="500mm" viewBox="0 0 500 500"'


def sheet_of(scale, words="Test square 5 cm", side=50.0):
    front = f'<rect id="Front" width="{200 * scale}" height="{300 * scale}"/>'
    if not side:
        return front
    at = 210 * scale
    return front + (
        f'<rect x="{at}" width="{side * scale}" height="{side * scale}"/>'
        f'<text x="{at + 5 * scale}" y="{5 * scale}">{words}</text>'
    )


def test_a_test_square_tells_the_resolution_of_an_svg():
    # Drawn at 96 px to the inch, read at 72.
    drawn = svg_drawing(sheet_of(96 / 25.4), 'width="3000" height="3000"', dpi=72)
    message = told(drawn)["scale-square"]
    assert "1.333 times too large, which is 96 and 72 px per inch taken for each other" in message
    assert message.endswith("If so, say --dpi 96.")
    assert told(svg_drawing(sheet_of(96 / 25.4), 'width="3000" height="3000"', dpi=96)) == {}


def test_without_a_given_resolution_the_square_sets_it():
    assert told(svg_drawing(sheet_of(90 / 25.4), 'width="3000" height="3000"')) == {}


def test_a_stated_width_that_is_wrong_is_to_be_mended_in_the_drawing():
    message = told(svg_drawing(sheet_of(25.4), PAGE.replace("500 500", "9999 9999").replace("500mm", "9999mm")))
    assert "25.4 times too large" in message["scale-square"]
    assert "scale it by 0.03937 in the drawing program" in message["scale-square"]
    assert told(svg_drawing(sheet_of(1.0), PAGE)) == {}


def test_px_that_were_meant_as_mm_are_told_by_size():
    head = 'width="500" height="500"'
    drawn = svg_drawing('<rect id="Front" width="100" height="80"/>', head)
    assert drawn.dpi == 96
    message = told(drawn)["units-implausible"]
    assert "px and millimetres taken for each other" in message
    assert message.endswith("If so, say --dpi 25.4.")
    assert told(svg_drawing('<rect id="Front" width="100" height="80"/>', head, dpi=25.4)) == {}


def test_a_square_that_only_has_a_size_in_it_is_believed_for_known_slips_alone():
    def patch(side):
        return sheet_of(1.0, "10 cm", side)

    assert told(svg_drawing(patch(50.0), PAGE)) == {}  # a width of something else, perhaps
    assert "scale-square" in told(svg_drawing(patch(10.0), PAGE))


@pytest.mark.parametrize(("side", "right"), [(50.0, True), (50.8, True), (52.0, False)])
def test_a_square_with_its_side_in_two_units_is_right_by_either(side, right):
    (reading,) = assemble(svg_drawing(sheet_of(1.0, "Test square 5 cm (2 in)", side), PAGE)).scale
    assert (reading.what, reading.right) == ("square", right)
    assert reading.drawn == pytest.approx(side)
    assert reading.stated == pytest.approx(min((50.0, 50.8), key=lambda stated: abs(stated - side)))


@pytest.mark.parametrize(
    ("sides", "fits"),
    [
        ([30.0], True),
        ([29.9], False),
        ([2000.0], True),
        ([2001.0], False),
        ([1000.0, 12.0], True),  # a loop beside a leg
        ([100.0, 25.0], False),
        ([], True),
    ],
)
def test_plausible_sizes(sides, fits):
    assert plausible(sides) == fits
    assert plausible([side / 25.4 for side in sides], 25.4) == fits


@pytest.fixture(scope="module")
def registry():
    return plugins.load(Settings())


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_no_real_file_raises_a_false_alarm(path, registry):
    try:
        pattern, _ = read(str(path), Request(), registry, Settings())
    except SeamcheckError:
        pytest.skip("not readable")
    assert [note for note in pattern.notes if re.match("scale-|units-implausible", note.code)] == []
