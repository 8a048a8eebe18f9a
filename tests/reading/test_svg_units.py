import pytest
from svg_making import SPACES, codes, drawing, read_bytes, svg

from seamcheck.errors import InputError
from seamcheck.reading.svg.units import length, transform

SQUARE = '<rect width="100" height="100"/>'


def side(head, body=SQUARE, **options):
    left, _, right, _ = drawing(body, head, **options).lines[0].curve.bounds()
    return right - left


def message(drawn, code):
    return next(note.message for note in drawn.notes if note.code == code)


@pytest.mark.parametrize(
    ("width", "mm_per_unit", "unit"),
    [
        ("100mm", 1.0, "mm"),
        ("10cm", 1.0, "cm"),
        ("4in", 1.016, "in"),
        ("72pt", 0.254, "pt"),
        ("6pc", 0.254, "pc"),
        ("400Q", 1.0, "q"),
        (" 1e2 MM ", 1.0, "mm"),
    ],
)
def test_physical_width_and_view_box_are_exact(width, mm_per_unit, unit):
    drawn = drawing(SQUARE, f'width="{width}" height="{width}" viewBox="0 0 100 100"')
    left, _, right, _ = drawn.lines[0].curve.bounds()
    assert right - left == pytest.approx(100 * mm_per_unit, rel=1e-14)
    assert drawn.units == unit
    assert drawn.notes == ()


def test_view_box_is_exact_to_the_last_digit():
    # 25.4 / 96 taken as a rounded number would be off in the seventh digit here.
    head = 'width="9600px" height="9600px" viewBox="0 0 9600 9600"'
    assert side(head, '<rect width="9600" height="9600"/>') == pytest.approx(2540.0, rel=1e-14)


def test_origin_is_the_top_left_of_the_drawing():
    head = 'width="100mm" height="100mm" viewBox="-50 -20 100 100"'
    assert drawing(SQUARE, head).lines[0].curve.bounds() == (50, 20, 150, 120)


@pytest.mark.parametrize("head", ['width="200mm" viewBox="0 0 100 50"', 'height="100mm" viewBox="0 0 100 50"'])
def test_one_physical_side_is_enough(head):
    assert side(head) == pytest.approx(200)


def test_units_that_are_not_square_are_told():
    drawn = drawing(SQUARE, 'width="100mm" height="110mm" viewBox="0 0 100 100"')
    assert codes(drawn) == ["non-square-units"]
    assert drawn.lines[0].curve.bounds() == (0, 5, 100, 105)
    drawn = drawing(SQUARE, 'width="100mm" height="110mm" viewBox="0 0 100 100" preserveAspectRatio="none"')
    assert codes(drawn) == ["non-square-units"]
    assert drawn.lines[0].curve.bounds() == (0, 0, 100, 110)


def test_rounding_of_the_width_is_not_told():
    assert drawing(SQUARE, 'width="595.28pt" height="841.89pt" viewBox="0 0 595.276 841.89"').notes == ()


@pytest.mark.parametrize(
    ("width", "height", "box", "per_inch", "why"),
    [
        ("793.7", "1122.5", "", 96, "A4"),
        ("793.7px", "1122.5px", "0 0 793.7 1122.5", 96, "A4"),
        ("744.09", "1052.36", "", 90, "A4"),
        ("595.28px", "841.89px", "0 0 595.28 841.89", 72, "A4"),
        ("841.89", "595.28", "", 72, "A4"),
        ("612", "792", "0 0 612 792", 72, "Letter"),
        ("816", "1056", "", 96, "Letter"),
        ("765", "990", "", 90, "Letter"),
        ("500", "700", "", 96, "standard"),
    ],
)
def test_px_are_told_by_the_sheet_that_they_make(width, height, box, per_inch, why):
    head = f'width="{width}" height="{height}"' + (f' viewBox="{box}"' if box else "")
    drawn = drawing(SQUARE, head)
    assert side(head) == pytest.approx(100 * 25.4 / per_inch, rel=1e-12)
    told = message(drawn, "units-assumed")
    assert f"{per_inch} px" in told
    assert why in told
    assert f"{float(width.removesuffix('px')) * 25.4 / per_inch:.0f} x " in told
    assert "--dpi" in told
    assert drawn.units == "px"


def test_view_box_scales_the_px():
    assert side('width="960" height="960" viewBox="0 0 480 480"') == pytest.approx(2 * 100 * 25.4 / 96)


@pytest.mark.parametrize(
    ("version", "per_inch"), [("0.48.4 r9939", 90), ("0.91 r13725", 90), ("0.92.3", 96), ("1.2", 96)]
)
def test_old_editor_without_view_box_meant_ninety(version, per_inch):
    head = f'width="500" height="700" inkscape:version="{version}"'
    assert side(head) == pytest.approx(100 * 25.4 / per_inch)
    head = f'width="200mm" height="300mm" inkscape:version="{version}"'
    assert side(head) == pytest.approx(100 * 25.4 / per_inch)
    assert codes(drawing(SQUARE, head)) == (["units-assumed"] if per_inch == 90 else [])


def test_physical_size_without_view_box_has_96_px_to_the_inch():
    drawn = drawing(SQUARE, 'width="200mm" height="300mm"')
    assert drawn.lines[0].curve.bounds()[2] == pytest.approx(100 * 25.4 / 96)
    assert drawn.notes == ()


@pytest.mark.parametrize(
    "head", ["", 'width="100%" height="100%" viewBox="0 0 595 842"', 'viewBox="0 0 9 9"', 'width="auto"']
)
def test_without_any_size_dpi_is_asked_for(head):
    with pytest.raises(InputError, match="how large") as caught:
        drawing(SQUARE, head)
    assert "--dpi" in str(caught.value)
    assert side(head, dpi=72) == pytest.approx(100 * 25.4 / 72)
    assert drawing(SQUARE, head, dpi=72).notes == ()


def test_dpi_overrides_a_guess_but_not_a_stated_width():
    assert side('width="793.7" height="1122.5"', dpi=72) == pytest.approx(100 * 25.4 / 72)
    assert side('width="100mm" height="100mm" viewBox="0 0 100 100"', dpi=72) == 100


@pytest.mark.parametrize(
    ("head", "words", "expected"),
    [
        ('width="100%" viewBox="0 0 500 500"', "5 cm", 50.0),
        ('width="100%" viewBox="0 0 500 500"', "2 in", 50.8),
        ('width="100%" viewBox="0 0 500 500"', '2" x 2"', 50.8),
        ("", "50 × 50 mm", 50.0),
        ('width="500" height="500"', "test square 5,0 cm", 50.0),
        ('width="500" height="500"', "Kontrollquadrat: 10 x 10 cm", 100.0),
    ],
)
def test_labelled_square_decides(head, words, expected):
    body = f'<rect id="check" width="100" height="100"/><text x="20" y="50">{words}</text>'
    assert side(head, body) == pytest.approx(expected, rel=1e-12)
    assert "element check" in message(drawing(body, head), "units-assumed")


def test_labelled_square_does_not_overrule_a_stated_width():
    body = SQUARE + '<text x="20" y="50">5 cm</text>'
    drawn = drawing(body, 'width="500mm" height="500mm" viewBox="0 0 500 500"')
    assert drawn.lines[0].curve.bounds()[2] == 100
    assert drawn.notes == ()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1", "windows-1252"])
def test_text_encodings(encoding):
    text = f'<?xml version="1.0" encoding="{encoding}"?><svg {SPACES} width="9mm" height="9mm" viewBox="0 0 9 9">'
    text += "<text>Rückenteil</text><rect width='3' height='3'/></svg>"
    assert read_bytes(text.encode(encoding)).texts[0].text == "Rückenteil"


def test_prefixed_and_missing_name_spaces():
    prefixed = (
        b'<s:svg xmlns:s="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
        b'<s:rect width="3" height="3"/></s:svg>'
    )
    bare = b'<svg width="9mm" height="9mm" viewBox="0 0 9 9"><rect width="3" height="3"/></svg>'
    for data in (prefixed, bare, b"\xef\xbb\xbf" + bare):
        assert read_bytes(data).lines[0].curve.bounds() == (0, 0, 3, 3)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("12", 12), ("1in", 96), ("2.54cm", 96), ("50%", 100), ("2em", 32), ("-3px", -3), ("1e2", 100), (".5", 0.5)],
)
def test_length(text, expected):
    assert length(text, 200.0) == pytest.approx(expected)


@pytest.mark.parametrize("text", ["", "px", "12 furlong", "1,5", "NaN", "--1"])
def test_no_length(text):
    assert length(text, 200.0) is None


@pytest.mark.parametrize(
    "text", ["", "rotate()", "rotate(1 2)", "scale(a)", "translate(1 2", "matrix(1 2 3)", "rotate(5px)"]
)
def test_no_transform(text):
    assert transform(text) is None


def test_large_files_of_other_kinds_are_not_taken_for_svg():
    from seamcheck.reading.base import Source
    from seamcheck.reading.svg.reader import recognises

    assert recognises(Source("a", svg("")))
    assert not recognises(Source("a", b"  0\nSECTION\n  2\nENTITIES\n"))
    assert not recognises(Source("a", b"an <svg> in a letter"))
    assert not recognises(Source("a", b"<html><body/></html>"))
