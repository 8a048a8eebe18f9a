"""The print: true to scale, its sheets named and joined by what both of them show, its steps such as a ruler can follow."""

import io
import math
import os
import re
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from reportlab.pdfbase.pdfmetrics import stringWidth

from seamcheck.cli.main import main
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.errors import SeamcheckError
from seamcheck.geometry.curve import Curve
from seamcheck.report.figures.looks import Kind
from seamcheck.report.truing.pages import MARGIN, PAPERS
from seamcheck.report.truing.picture import STRONG, subjects, upright
from seamcheck.report.truing.picture_pdf import POINT
from seamcheck.report.truing.ruler import offset_at, run_marks
from seamcheck.report.truing.tiles import MOST_TILES, OVERLAP, cell_name, lay, tile_pages
from seamcheck.report.truing.work_sheet import work_sheet
from seamcheck.report.truing.write import day_of, draw_picture
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file

pytestmark = pytest.mark.usefixtures("read_once")

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
CALF = DEMO / "altered" / "prominent-calf-left.svg"
NEAR = MARGIN + OVERLAP / 2  # mm from the side of a page to its trim


@pytest.fixture(scope="module")
def trued():
    request = Request(plan=DEMO / "ferryhand.seams.toml")
    return true_file(str(CALF), request, plugins.load(Settings()), Settings(), Wishes())


@pytest.fixture(scope="module", params=["a4", "letter"])
def printed(trued, request):
    """A paper, and the pages of a print of all pieces on it as an independent reader of PDF has them."""
    data, boxes = draw_picture(trued, ".pdf", None, request.param, "all")
    assert boxes == ""
    return request.param, PdfReader(io.BytesIO(data)).pages


def paths(page):
    """The points of each path that is stroked, in mm from the top left of the page, y down: ends and control points."""
    high = float(page.mediabox[3])
    found, points = [], []
    for operands, operator in page.get_contents().operations:
        if operator in (b"m", b"l", b"c"):
            points += np.array([float(v) for v in operands]).reshape(-1, 2).tolist()
        elif operator == b"S":
            found.append(np.array([complex(x, high - y) for x, y in points]) / POINT)
            points = []
        elif operator in (b"n", b"f"):
            points = []
    return found


def texts(page):
    """Each text with its left end, its width and the height of its letters in mm, and whether it is turned."""
    high, found = float(page.mediabox[3]), []

    def visit(text, _, matrix, font, size):
        if text.strip():
            name = "seamcheck-bold" if "Bold" in font["/BaseFont"] else "seamcheck-regular"
            wide = stringWidth(text.strip(), name, size) / POINT
            at = complex(matrix[4], high - matrix[5]) / POINT
            found.append((text.strip(), at, wide, size / POINT, abs(matrix[1]) > 0.5))

    page.extract_text(visitor_text=lambda t, cm, tm, font, size: visit(t, cm, product(tm, cm), font, size))
    return found


def product(tm, cm):
    """One matrix of PDF after another (ISO 32000-1, 8.3.4)."""
    a, b = (np.array([[m[0], m[1], 0], [m[2], m[3], 0], [m[4], m[5], 1]]) for m in (tm, cm))
    c = a @ b
    return [c[0, 0], c[0, 1], c[1, 0], c[1, 1], c[2, 0], c[2, 1]]


def tiles(pages):
    """The pages of tiles by their names."""
    found = {}
    for page in pages:
        for text, _, _, size, _ in texts(page):
            if size > 8.5 and re.fullmatch(r"[A-Z]+\d+", text):
                found[text] = page
    return found


def test_the_test_squares_measure_what_they_say(printed):
    paper, pages = printed
    width, height = PAPERS[paper]
    for page in pages:
        # 72 units are one inch (ISO 32000-1, 8.3.2.3).
        assert [float(v) for v in page.mediabox] == pytest.approx(
            [0, 0, width / 25.4 * 72, height / 25.4 * 72], abs=1e-3
        )
    squares = [points for points in paths(pages[0]) if len(points) == 13 and abs(points[0] - points[-1]) < 1e-9][:2]
    for points, side in zip(squares, (50.0, 2 * 25.4), strict=True):
        assert np.ptp(points.real) == pytest.approx(side, abs=0.001)
        assert np.ptp(points.imag) == pytest.approx(side, abs=0.001)
    told = pages[0].extract_text()
    for words in (
        "50 mm",
        "2 in",
        "Print at 100 %",
        "Measure a square with a ruler",
        "Ferryhand trousers",
        "size 40",
    ):
        assert words in told


def test_papers_are_those_of_the_standards():
    assert PAPERS["a4"] == (210.0, 297.0)  # ISO 216
    assert PAPERS["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))  # ANSI/ASME Y14.1


def test_all_pieces_are_printed_with_name_size_cut_and_which_line_it_is(printed, trued):
    _, pages = printed
    told = [text for page in pages[2:] for text, *_ in texts(page)]
    for piece in trued.sizes[0].after.pattern.pieces:
        assert told.count(piece.name) == 1
    for words, times in (
        ("size 40, cut 2, mirrored", 4),
        ("size 40, cut 1 on the fold", 2),
        ("sew line, add allowance", 7),
        ("place on the fold", 2),
    ):
        assert told.count(words) == times


def test_a_piece_is_as_large_as_its_cloth(printed, trued):
    _, pages = printed
    (page,) = (page for page in tiles(pages).values() if "pocket" in page.extract_text())
    x0, y0, x1, y1 = trued.sizes[0].after.pieces["pocket"].outline.bounds()
    # All its curves end where its outline does: the ends of the path are each third point.
    outline = max((points for points in paths(page)), key=lambda points: len(points))[::3]
    assert np.ptp(outline.real) == pytest.approx(x1 - x0, abs=0.001)
    assert np.ptp(outline.imag) == pytest.approx(y1 - y0, abs=0.001)


def test_only_what_changed_is_printed_unless_all_is_asked_for(trued):
    pages = PdfReader(io.BytesIO(draw_picture(trued, ".pdf", None, "a4")[0])).pages
    assert len(pages) == 2 + 14
    assert {re.search(r": Ferryhand trousers, (.*)", page.extract_text())[1] for page in pages[2:]} == {"back"}


def test_every_joint_is_named_on_both_sheets_and_marked_at_the_same_place(printed):
    paper, pages = printed
    step = [side - 2 * NEAR for side in PAPERS[paper]]
    named = tiles(pages)
    assert len(named) == len(pages) - 2
    joins = defaultdict(dict)
    for name, page in named.items():
        middle = complex(*PAPERS[paper]) / 2
        for text, at, _, _, turned in texts(page):
            if match := re.fullmatch(r"join (\w+) here", text):
                off = at - middle
                joins[name][("left", "right")[off.real > 0] if turned else ("top", "bottom")[off.imag > 0]] = match[1]
        blank = page.extract_text().count("nothing joins here")
        assert len(joins[name]) + blank == 4
    opposite = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
    away = {"left": -step[0], "right": step[0], "top": -1j * step[1], "bottom": 1j * step[1]}
    count = 0
    for name, sides in joins.items():
        row, column = re.fullmatch(r"([A-Z]+)(\d+)", name).groups()
        for side, other in sides.items():
            assert joins[other][opposite[side]] == name
            if side in ("left", "right"):
                assert other == f"{row}{int(column) + (1 if side == 'right' else -1)}"
            # What both sheets draw they draw at one place: all marks over the shared trim, and every line across it.
            here, there = marks(named[name]), marks(named[other])
            shared = [mark for mark in here if any(abs(mark - away[side] - its) < 0.002 for its in there)]
            assert len(shared) == 3  # two crosses and the diamond
            count += 1
    assert count >= 2 * (len(named) - 3)


def marks(page):
    """The middles of crosses and diamonds."""
    diamonds = [
        points.mean() for points in (p[:-1:3] for p in paths(page)) if len(points) == 4 and is_diamond(points)
    ]
    strokes = [p for p in paths(page) if len(p) == 4 and abs(abs(p[0] - p[-1]) - 8.0) < 0.001]
    return diamonds + [(p[0] + p[-1]) / 2 for p in strokes if abs((p[-1] - p[0]).imag) < 1e-6]


def is_diamond(points):
    return all(abs(abs(point - points.mean()) - 3.0) < 0.002 for point in points)


def test_what_crosses_a_trim_is_drawn_on_both_sheets_at_the_same_place(printed):
    paper, pages = printed
    step = PAPERS[paper][0] - 2 * NEAR
    named = tiles(pages)
    outline = max(paths(named["A1"]), key=len)
    assert np.ptp(outline.real) > step
    assert any(len(p) == len(outline) and np.abs(p + step - outline).max() < 0.002 for p in paths(named["A2"]))


def test_no_words_are_cut_by_the_side_of_a_sheet(printed):
    paper, pages = printed
    width, height = PAPERS[paper]
    count = 0
    for page in tiles(pages).values():
        for text, at, wide, size, turned in texts(page):
            if at.imag > height - MARGIN:  # the foot, below the drawing
                assert at.real + wide < width - MARGIN
                continue
            low, high = (at, at + wide - 1j * size) if not turned else (at, at - size - 1j * wide)
            for corner in (low, high):
                assert NEAR - 0.5 <= corner.real <= width - NEAR + 0.5, text
                assert NEAR - 0.5 <= corner.imag <= height - NEAR + 0.5, text
            count += 1
    assert count > 100


def test_words_that_are_wider_than_a_sheet_are_written_smaller_and_lie_on_one(trued):
    (back,) = subjects(trued.sizes, trued.changes, every=False)
    long = replace(back, title="W" * 90, below=("WIDE " * 60,))
    made = lay([long], 1.0, 4.0, "a4", "calf.svg")
    width, height = PAPERS["a4"]
    found = [words for page in tile_pages(made, 4.0, "x", 1, 1) for words in page.words if "W" in words.text[:1]]
    assert len(found) == 2
    for words in found:
        half = stringWidth(words.text, "seamcheck-bold" if words.bold else "seamcheck-regular", words.size) / 2
        assert 20.0 < half < width / 2 - NEAR
        assert NEAR < words.at.real - half < words.at.real + half < width - NEAR
        assert NEAR < words.at.imag < height - NEAR


def test_all_that_is_written_of_the_pieces_is_on_some_sheet(printed, trued):
    _, pages = printed
    told = [text for page in pages[2:] for text, *_ in texts(page)]
    for piece in trued.sizes[0].after.pattern.pieces:
        for corner in piece.corners:
            if corner.named and not (piece.name == "back" and corner.name == "side-waist"):
                assert corner.name in told
    for words in (
        "side-waist moved 6.4 mm (1/4 in)",
        "waist strays 6.2 mm (1/4 in)",
        "inseam 783.0 mm (30 13/16 in)",
    ):
        assert words in told
    count = sum(len([c for c in piece.corners if c.named]) for piece in trued.sizes[0].after.pattern.pieces)
    names = {corner.name for piece in trued.sizes[0].after.pattern.pieces for corner in piece.corners}
    assert sum(text in names for text in told) == count - 1  # that which moved is told with its amount


def test_sheets_on_which_nothing_is_drawn_are_left_out(trued):
    pages = PdfReader(io.BytesIO(draw_picture(trued, ".pdf", None, "a4")[0])).pages
    named = set(tiles(pages))
    whole = {cell_name(row, column) for row in range(5) for column in range(3)}
    assert whole - named == {"A1"}  # above the point of the crotch


def test_the_same_file_gives_the_same_bytes_on_any_day_and_bears_the_day_on_which_it_was_saved(
    trued, tmp_path, monkeypatch
):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    file = tmp_path / "calf.svg"
    file.write_bytes(CALF.read_bytes())
    os.utime(file, (0, 86400 * 365))
    one = replace(trued, path=str(file))
    first, second = (draw_picture(one, ".pdf", None, "a4")[0] for _ in range(2))
    assert first == second
    assert "saved on 1971-01-01" in PdfReader(io.BytesIO(first)).pages[0].extract_text()
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    assert day_of(str(file)) == "1970-01-01"
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "soon")
    with pytest.raises(SeamcheckError, match='SOURCE_DATE_EPOCH is "soon"; set it to a number of seconds'):
        day_of(str(file))


def test_a_print_of_too_many_sheets_is_refused_in_one_sentence(trued):
    with pytest.raises(SeamcheckError) as error:
        draw_picture(trued, ".pdf", 9.0, "a4", "all")
    assert re.search(rf"the print would take about \d+ sheets of a4, and {MOST_TILES} are the most", str(error.value))


def test_the_offset_of_an_arc_from_its_chord_is_that_of_the_circle():
    radius, half = 500.0, 200.0
    angle = math.asin(half / radius)
    rise = radius * math.cos(angle)
    arc = Curve.arc(complex(0, -rise), radius, start=90 - math.degrees(angle), sweep=2 * math.degrees(angle))
    chord = Curve.line(complex(half, 0), complex(-half, 0))
    for along in (0.0, 50.0, 200.0, 330.0):
        height = math.sqrt(radius**2 - (half - along) ** 2) - rise
        assert abs(offset_at(chord, arc, along, 1j)) == pytest.approx(height, abs=1e-5)
    assert offset_at(chord, chord, 100.0, 1j) == pytest.approx(0.0, abs=1e-9)
    assert offset_at(chord, Curve.line(-1000 + 0j, -900 + 0j), 100.0, 1j) is None


def test_marks_measured_on_the_old_line_lie_on_the_new_one(trued):
    (size,) = trued.sizes
    old, new = size.before.pieces["back"], size.after.pieces["back"]
    assert old.y_down
    count = 0
    for name in ("waist", "outseam"):
        for run in run_marks(old, new, name):
            was = old.edge(name)
            line = was.runs[-1]
            backwards = run.corner == was.end
            for mark in run.marks:
                station = line.length - mark.along if backwards else mark.along
                into = line.tangent(station) * (1j if was.forward else -1j)
                point = line.point(station) + into * mark.inward
                assert min(now.nearest(point).distance for now in new.edge(name).runs) < 0.01
                if 5.0 < mark.along < line.length - 5.0:
                    assert old.outline.contains(line.point(station) + into)
                count += 1
    assert count >= 8


def test_the_work_sheet_orders_the_steps_with_what_to_measure(trued):
    (page,) = work_sheet(trued.sizes, "Ferryhand trousers", "a4")
    told = " ".join(words.text for words in page.words)
    for words in (
        "1. Lengthen back.outseam by 6.4 mm (1/4 in) at side-waist",
        "2. Rule the arrow of back straight through",
        "3. Blend back.inseam over up to 60.0 mm (2 3/8 in) on either side of the kink",
        "mark the new side-waist 6.3 mm (1/4 in) past the old one, with outseam led on straight",
        "back.waist: measure along the old line from dart-out, and mark square to it.",
        "mark the notch 440 mm (17 5/16 in) from side-hem along the new line, 6.4 mm (1/4 in) from the old one",
        "383 mm (15 1/16 in) from crotch-point",
        "front.outseam 1016.6 mm (40 in), back.outseam 1016.6 mm (40 in)",
    ):
        assert words in told
    assert told.index("1. Lengthen") < told.index("2. Rule") < told.index("3. Blend") < told.index("Then measure")


def run(capsys, *words):
    with pytest.raises(SystemExit) as ended:
        main(["true", "--plan", str(DEMO / "ferryhand.seams.toml"), *map(str, words)])
    return ended.value.code, capsys.readouterr().err


def test_what_has_nothing_to_put_right_is_printed_when_all_is_asked_for(capsys, tmp_path):
    clean, out = DEMO / "ferryhand.svg", tmp_path / "all.pdf"
    code, err = run(capsys, clean, "--picture", out)
    assert code == 2
    assert "nothing is redrawn, so there is no picture; print the pieces with --print all" in err
    assert run(capsys, clean, "--picture", out, "--print", "all") == (0, "")
    assert "There is nothing to draw anew." in PdfReader(out).pages[1].extract_text()


def test_the_notches_of_a_piece_with_both_lines_run_from_the_cut_line_to_the_sew_line():
    gilet = DEMO.parent / "sewline" / "gilet.svg"
    trued = true_file(
        str(gilet),
        Request(plan=gilet.with_suffix(".seams.toml")),
        plugins.load(Settings()),
        Settings(),
        Wishes(),
    )
    (size,) = trued.sizes
    piece = size.after.pieces["front"]
    (front, *_) = subjects(trued.sizes, trued.changes, every=True)
    drawn, _ = upright(front, 4.0)
    cut, sew = (next(line.curve for line in drawn.lines if line.kind is kind) for kind in (Kind.EDGE, Kind.SEW))
    assert cut.length > sew.length
    strokes = [line.curve for line in drawn.lines if line.kind is Kind.NOTCH]
    assert len(strokes) == sum(notch.count for edge in piece.edges for notch in edge.notches) > 0
    for stroke in strokes:
        assert cut.nearest(stroke.start).distance < 1e-6
        assert sew.nearest(stroke.end).distance < 1e-6


def test_a_map_of_many_sheets_has_a_page_of_its_own(trued):
    pages = PdfReader(io.BytesIO(draw_picture(trued, ".pdf", 2.6, "a4", "all")[0])).pages
    told = [page.extract_text() for page in pages[:3]]
    assert "to look at, not to cut by" in told[0]
    assert "A1\n" not in told[0]
    assert "A1\n" in told[1]
    assert "Work sheet" in told[2]
    assert f"{len(pages)} pages on A4 paper" in told[0]


def test_the_name_of_a_piece_that_is_too_narrow_for_it_stands_beside_it(trued):
    band = next(one for one in subjects(trued.sizes, trued.changes, every=True) if one.name == "band-back")
    for scale, inside in ((1.0, True), (0.25, False)):
        made = lay([band], scale, 4.0 / scale, "a4", "calf.svg")
        (drawn,) = (block.drawn for block in made.blocks)
        (name,) = (words for words in drawn.words if words.strong)
        outline = next(line.curve for line in drawn.lines if line.kind is Kind.EDGE and line.curve.is_closed)
        assert outline.contains(name.at) is inside
        half = stringWidth(name.text, "seamcheck-bold", 4.0 * STRONG) / 2
        points = outline.polygon(0.01) - name.at
        assert not any(abs(p.real) < half and -4.0 < p.imag < 1.0 for p in points)
