"""The picture: true to scale, with the mate laid along the seam, as SVG and in tiles."""

import re
import zlib
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.report.lettering import dense, helvetica_width
from seamcheck.report.truing.picture import STRONG, Ink, picture
from seamcheck.report.truing.picture_pdf import MARGIN, OVERLAP, PAPERS, POINT
from seamcheck.report.truing.write import draw_picture
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
    (size,) = trued.sizes
    return picture([(size.before, size.after, trued.changes)], squares=True, text=4.0)


def test_before_is_light_after_dark_and_the_mate_is_laid_at_the_ends(drawn):
    count = {ink: sum(line.ink is ink for line in drawn.lines) for ink in Ink}
    assert count[Ink.OLD] == count[Ink.NEW]
    assert count[Ink.MATE] > 0


def test_the_mate_meets_the_piece_at_the_corner_and_runs_along_its_seam(trued, drawn):
    (outline,) = (line.curve for line in drawn.lines if line.ink is Ink.NEW and line.curve.length > 1500)
    for line in drawn.lines:
        if line.ink is Ink.MATE and not line.curve.is_straight():  # the legend's is
            corner = line.curve.point(line.curve.length / 2)
            assert outline.nearest(corner).distance < 1e-6


def test_amounts_stand_beside_what_they_measure(drawn):
    words = " ".join(words.text for words in drawn.words)
    assert re.search(r"outseam \d+\.\d mm ", words)
    assert re.search(r"outseam \d\.\d+ mm beside the old line", words)


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
    squares = [line.curve for line in drawn.lines if line.ink is Ink.FINE and line.curve.is_closed]
    assert [round(curve.length / 4, 6) for curve in squares] == [50.0, 50.8]


def test_an_svg_at_true_scale_is_as_large_as_the_cloth(trued):
    root = ElementTree.fromstring(draw_picture(trued, ".svg", 1.0, "a4"))
    width = float(root.get("width").removesuffix("mm"))
    assert root.get("viewBox").split()[2] == root.get("width").removesuffix("mm")
    assert width > 300


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_tiles_of_a_pdf_are_at_true_scale(trued, drawn, paper):
    data = draw_picture(trued, ".pdf", None, paper)
    width, height = PAPERS[paper]
    box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert (float(box[1]), float(box[2])) == pytest.approx((width * POINT, height * POINT), abs=1e-3)
    places = [int(row) for row in re.findall(rb"^(\d{10}) 00000 n", data, re.MULTILINE)]
    assert all(data[at:].startswith(b"%d 0 obj" % number) for number, at in enumerate(places, 1))
    streams = [zlib.decompress(part) for part in re.findall(rb"stream\n(.*?)\nendstream", data, re.DOTALL)]
    assert len(streams) == int(re.search(rb"/Count (\d+)", data)[1])
    assert b"1 of %d" % len(streams) in streams[0]
    # The first closed path of fine lines is the 50 mm square (72 points are one inch, ISO 32000-1, 8.3.2.3).
    square = next(line for line in streams[0].split(b"\n") if line.count(b" c") == 4)
    numbers = np.array([float(n) for n in re.findall(rb"-?\d+\.\d+", square)]).reshape(-1, 2)
    assert np.ptp(numbers, axis=0) == pytest.approx([50 * POINT] * 2, abs=0.01)


def test_neighbouring_tiles_share_their_registration_marks(trued):
    data = draw_picture(trued, ".pdf", None, "a4")
    first = zlib.decompress(re.search(rb"stream\n(.*?)\nendstream", data, re.DOTALL)[1]).decode("cp1252")
    crosses = [float(x) / POINT for x in re.findall(r"^([\d.]+) [\d.]+ m [\d.]+ [\d.]+ l S$", first, re.MULTILINE)]
    window = PAPERS["a4"][0] - 2 * MARGIN
    centres = sorted({round(x + 4.0, 2) for x in crosses[::2]})
    assert centres[-1] - centres[0] == pytest.approx(window - OVERLAP, abs=0.02)
