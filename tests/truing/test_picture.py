"""The picture: true to scale, with the mate laid along the seam, as SVG and in tiles."""

import io
import random
import re
import subprocess
import sys
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from bidi import get_display
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.boundsPen import ControlBoundsPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.report.figures.looks import LOOKS, Kind
from seamcheck.report.lettering import dense, helvetica_width
from seamcheck.report.truing import fonts
from seamcheck.report.truing.pages import Page, PageWords
from seamcheck.report.truing.picture import STRONG, picture, subjects
from seamcheck.report.truing.picture_pdf import POINT, pdf
from seamcheck.report.truing.shaping import outline, visual_runs
from seamcheck.report.truing.write import draw_picture, write_picture
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file

pytestmark = pytest.mark.usefixtures("read_once")

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"


@pytest.fixture(scope="module")
def trued():
    request = Request(plan=DEMO / "ferryhand.seams.toml")
    path = DEMO / "altered" / "full-seat-left.svg"
    return true_file(str(path), request, plugins.load(Settings()), Settings(), Wishes())


@pytest.fixture(scope="module")
def drawn(trued):
    return picture(subjects(trued.sizes, trued.changes, every=False), squares=True, text=4.0)


def test_before_and_after_are_drawn_and_the_mate_is_laid_at_the_ends(drawn):
    count = {kind: sum(line.kind is kind for line in drawn.lines) for kind in Kind}
    # Each line with its notches and its arrow, and one line of the legend.
    assert count[Kind.OLD] - 1 == count[Kind.EDGE] - 1 + count[Kind.NOTCH] + count[Kind.GRAIN]
    assert min(count[Kind.EDGE], count[Kind.NOTCH], count[Kind.GRAIN], count[Kind.MATE]) > 0


def test_old_and_new_lines_differ_in_dash_and_in_weight_without_their_colours(trued):
    (old, dashes, _), (new, none, _) = LOOKS[Kind.OLD], LOOKS[Kind.EDGE]
    assert new >= 2 * old
    assert dashes
    assert not none
    looks = [look[:2] for look in LOOKS.values()]
    assert len(set(looks)) == len(looks)
    root = ElementTree.fromstring(draw_picture(trued, ".svg", 1.0, "a4")[0])
    groups = {group.get("class"): group for group in root if group.get("class")}
    assert float(groups["old"].get("stroke-width")) == old
    assert [float(part) for part in groups["old"].get("stroke-dasharray").split()] == list(dashes)
    assert float(groups["edge"].get("stroke-width")) == new
    assert groups["edge"].get("stroke-dasharray") is None


def test_the_mate_meets_the_piece_at_the_corner_and_runs_along_its_seam(trued, drawn):
    (outline,) = (line.curve for line in drawn.lines if line.kind is Kind.EDGE and line.curve.length > 1500)
    for line in drawn.lines:
        if line.kind is Kind.MATE and not line.curve.is_straight():  # the legend's is
            corner = line.curve.point(line.curve.length / 2)
            assert outline.nearest(corner).distance < 1e-6


def test_amounts_stand_beside_what_they_measure(drawn):
    words = " ".join(words.text for words in drawn.words)
    assert re.search(r"outseam \d+\.\d mm ", words)
    assert re.search(r"outseam strays \d\.\d+ mm", words)


def test_no_words_lie_over_others_or_over_a_line(drawn):
    boxes = []
    for words in drawn.words:
        size = 4.0 * (STRONG if words.strong else 1.0)
        half = helvetica_width(words.text, size) / 2
        boxes.append((words.at.real - half, words.at.imag - 0.7 * size, words.at.real + half, words.at.imag))
    for one, two in combinations(boxes, 2):
        assert one[2] < two[0] or two[2] < one[0] or one[3] < two[1] or two[3] < one[1]
    points = np.concatenate([dense(line.curve.polygon(0.5)) for line in drawn.lines])
    for x0, y0, x1, y1 in boxes:
        assert not ((points.real > x0) & (points.real < x1) & (points.imag > y0) & (points.imag < y1)).any()


def test_the_squares_are_50_mm_and_2_in(drawn):
    squares = [line.curve for line in drawn.lines if line.kind is Kind.FINE and line.curve.is_closed]
    assert [round(curve.length / 4, 6) for curve in squares] == [50.0, 50.8]


def test_an_svg_at_true_scale_is_as_large_as_the_cloth(trued):
    root = ElementTree.fromstring(draw_picture(trued, ".svg", 1.0, "a4")[0])
    width = float(root.get("width").removesuffix("mm"))
    assert root.get("viewBox").split()[2] == root.get("width").removesuffix("mm")
    assert width > 300


# Writing


def printed(*names, title="ferryhand.svg"):
    """A page with names below one another, and the letters that are in no font."""
    words = [PageWords(complex(100, 20 + 12 * k), name, 4.0, bold=k % 2 == 1) for k, name in enumerate(names)]
    return pdf([Page(words=words)], "a4", title)


def operations(page):
    """What a page draws, as an independent reader of PDF has it: operators with their numbers."""
    return [(operator.decode(), operands) for operands, operator in page.get_contents().operations]


def filled(page):
    """The boxes of the shapes that are filled, in points."""
    found, points = [], []
    for operator, operands in operations(page):
        if operator in ("m", "l", "c"):
            points += np.array([float(v) for v in operands]).reshape(-1, 2).tolist()
        elif operator in ("f", "f*"):
            found.append((np.min(points, axis=0), np.max(points, axis=0)))
            points = []
        elif operator in ("n", "S"):
            points = []
    return found


@pytest.fixture
def bare_machine(monkeypatch, tmp_path):
    """A machine whose fonts are those that a test puts into a folder."""
    monkeypatch.setattr(fonts, "folders", lambda: [tmp_path])
    return tmp_path


def make_font(path, letters, *, weight=400, wide=1000):
    """A font in which each letter is a square of its own height, in 1000 units to the em."""
    builder = FontBuilder(1000, isTTF=True)
    names = {letter: f"u{ord(letter):04X}" for letter in letters}
    glyphs, metrics = {}, {}
    for k, name in enumerate([".notdef", *names.values()]):
        pen = TTGlyphPen(None)
        high = 100 * (k + 1)
        pen.moveTo((50, 0))
        for at in ((50, high), (wide - 50, high), (wide - 50, 0)):
            pen.lineTo(at)
        pen.closePath()
        glyphs[name], metrics[name] = pen.glyph(), (wide, 50)
    builder.setupGlyphOrder(list(glyphs))
    builder.setupCharacterMap({ord(letter): name for letter, name in names.items()})
    builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics(metrics)
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": path.stem, "styleName": "Regular"})
    builder.setupOS2(usWeightClass=weight, fsType=0)
    builder.setupPost()
    builder.save(path)


def test_names_of_latin_greek_and_cyrillic_are_written_in_a_font_that_the_file_brings(bare_machine):
    names = ("Przód", "Μπροστινό", "Вперёд", "Přední díl: žluťoučký", "Ön beden ığş", "Lưng trước", "a (b) \\ {nb} c")
    data, boxes = printed(*names, title="Spodnie Przód.svg")
    reader = PdfReader(io.BytesIO(data))
    told = reader.pages[0].extract_text()
    for name in names:
        assert name in told
    assert "?" not in told
    assert boxes == ""
    assert reader.metadata.title == "Spodnie Przód.svg"
    for font in reader.pages[0]["/Resources"]["/Font"].values():
        assert "/FontFile2" in font.get_object()["/FontDescriptor"].get_object()


def test_a_name_is_written_where_it_belongs(bare_machine):
    data, _ = printed("Przód", "前")
    placed = []
    PdfReader(io.BytesIO(data)).pages[0].extract_text(
        visitor_text=lambda text, _, at, __, ___: placed.append((text.strip(), at[4] / POINT, 297 - at[5] / POINT))
    )
    ((_, x, y),) = [one for one in placed if one[0] == "Przód"]
    assert y == pytest.approx(20, abs=0.001)
    half = helvetica_width("Przód", 4.0) / 2
    assert x == pytest.approx(100 - half, abs=0.3)


def test_letters_that_the_shipped_font_lacks_are_drawn_from_the_fonts_of_the_machine(bare_machine):
    make_font(bare_machine / "half.ttf", "前")
    make_font(bare_machine / "whole.ttf", "縫前片")
    data, boxes = printed("前片")
    assert boxes == ""
    page = PdfReader(io.BytesIO(data)).pages[0]
    ((low, high),) = filled(page)
    size = 4.0 * POINT
    middle = 100 * POINT
    assert (low[0], high[0]) == pytest.approx((middle - 0.95 * size, middle + 0.95 * size), abs=1e-3)
    assert high[1] - low[1] == pytest.approx(
        0.4 * size, abs=1e-3
    )  # the third letter of the whole font is the highest
    assert low[1] / POINT == pytest.approx(297 - 20, abs=1e-3)


def test_a_plain_face_goes_before_a_heavy_one_and_two_may_be_needed(bare_machine):
    make_font(bare_machine / "a-heavy.ttf", "前片", weight=900)
    make_font(bare_machine / "b-plain.ttf", "片前")
    make_font(bare_machine / "c-other.ttf", "縫")
    (bare_machine / "broken.ttf").write_bytes(b"no font")
    (bare_machine / "broken.ttc").write_bytes(b"ttcf no font")
    found = fonts.fonts_for(["前片", "縫"])
    assert [face.path.name for face in found.others] == ["b-plain.ttf", "c-other.ttf"]
    assert found.boxes == ""


def test_a_letter_in_no_font_is_a_box_and_is_told(bare_machine, trued, monkeypatch, tmp_path):
    data, boxes = printed("前 Przód", "\N{GRINNING FACE}前")
    told = PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert boxes == "前\N{GRINNING FACE}"
    assert "□ Przód" in told
    assert "□□" in told
    assert "?" not in told
    drawn = replace(trued, path="前.svg")
    out = tmp_path / "new" / "p.pdf"
    out.parent.mkdir()
    (said,) = write_picture(drawn, str(out), None, "a4", force=False)
    assert said == (
        f"{out}: 1 letter stands in no font of this machine and is a box in the picture: 前; "
        "install a font that has it and draw it again"
    )


def test_signs_that_turn_the_reading_do_nothing_and_accents_are_one_with_their_letters(bare_machine):
    data, boxes = printed("a\u202eb\u2066c", "Przo\u0301d", "two\nlines\x07")
    told = PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert boxes == ""
    for name in ("abc", "Przód", "two lines"):
        assert name in told


def test_a_hebrew_name_runs_to_the_left(bare_machine):
    data, boxes = printed("אב 12")
    assert boxes == ""
    (whole,) = filled(PdfReader(io.BytesIO(data)).pages[0])
    (number,) = filled(PdfReader(io.BytesIO(printed("ב אב 12")[0])).pages[0])
    assert number[0][0] < whole[0][0]
    assert visual_runs("אב 12 cd") == [("cd", False), (" ", True), ("12", False), ("אב ", True)]


def test_the_order_of_runs_is_that_of_an_independent_implementation():
    chance = random.Random(11)
    for _ in range(3000):
        text = "".join(
            chance.choice("ab אבג دهب 12 ٣٤ .,-+%/: 前é\u0301") for _ in range(chance.randint(1, 12))
        ).strip()
        shown = "".join(run[::-1] if leftwards else run for run, leftwards in visual_runs(text))
        assert shown == get_display(text)


def test_outlines_are_those_of_the_font_as_another_library_draws_them():
    face = fonts.shipped("Bold")
    drawn = outline("ąΩд", [face])
    glyphs = TTFont(face.path).getGlyphSet()
    names = TTFont(face.path).getBestCmap()
    at, boxes = 0.0, []
    for letter in "ąΩд":
        pen = ControlBoundsPen(glyphs)
        glyphs[names[ord(letter)]].draw(pen)
        boxes.append(np.array(pen.bounds) / 2048 + np.array([at, 0, at, 0]))
        at += glyphs[names[ord(letter)]].width / 2048
    points = np.array([point for kind, points in drawn.parts for point in points])
    assert drawn.width == pytest.approx(at, abs=1e-6)
    low, high = np.min(boxes, axis=0)[:2], np.max(boxes, axis=0)[2:]
    assert points.min(axis=0) == pytest.approx(low, abs=0.02)
    assert points.max(axis=0) == pytest.approx(high, abs=0.02)


def test_the_same_picture_gives_the_same_bytes_without_a_date(bare_machine):
    make_font(bare_machine / "whole.ttf", "前片")
    first, second = (printed("Przód", "前片", "אב")[0] for _ in range(2))
    assert first == second
    assert b"Date" not in first
    assert PdfReader(io.BytesIO(first)).metadata.creation_date is None


def test_no_library_of_pdf_is_imported_for_an_svg(trued):
    code = "import sys; import seamcheck.report.truing.picture_svg, seamcheck.report.truing.picture_pdf; print({'reportlab', 'uharfbuzz', 'fontTools'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
