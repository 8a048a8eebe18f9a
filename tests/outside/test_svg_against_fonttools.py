"""Against the path parser of fontTools, an independent reader of the same grammar (SVG 1.1, section 8.3)."""

import random

import pytest
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path

from seamcheck.reading.svg.path import path

DATA = [
    "M10 20 L30 40 H5 V6 Z",
    "m1 2 3 4-5.5.5h7v-8z",
    "M0,0c1,2,3,4,5,6s7,8,9,10q1 1 2 0t3 3",
    "M.5.5L-1e1-2E-1 3+4",
    "M0 0l5 5z m 3 3 l 1 0 0 1z M 9 9 L 8 8",
    "m0 0 1 1 z l 4 0 0 4",
]


def theirs(data):
    pen = RecordingPen()
    parse_path(data, pen)
    strokes, pen_at = [], 0j
    for name, arguments in pen.value:
        points = [complex(*point) for point in arguments]
        if name == "moveTo":
            strokes.append([])
        elif name == "lineTo":
            third = (points[0] - pen_at) / 3
            strokes[-1].append((pen_at, pen_at + third, points[0] - third, points[0]))
        elif name == "curveTo":
            strokes[-1].append((pen_at, *points))
        elif name == "qCurveTo":
            control, end = points
            strokes[-1].append((pen_at, pen_at + (control - pen_at) * 2 / 3, end + (control - end) * 2 / 3, end))
        if points:
            pen_at = points[-1]
    return strokes


def compare(data):
    """Segment by segment; their pen leaves out the line that closes a stroke, ours draws it."""
    mine = [(stroke.start, segment) for stroke in path(data, 1.0) for segment in stroke.segments]
    others = [segment for stroke in theirs(data) for segment in stroke]
    position = 0
    for start, segment in mine:
        if position < len(others) and segment == pytest.approx(others[position], abs=1e-9):
            position += 1
        else:
            assert segment[3] == start
    assert position == len(others)


@pytest.mark.parametrize("data", DATA)
def test_grammar(data):
    compare(data)


@pytest.mark.parametrize("seed", range(30))
def test_random_paths(seed):
    chance = random.Random(seed)
    counts = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}
    data = f"M{chance.uniform(-9, 9):.2f},{chance.uniform(-9, 9):.2f}"
    for _ in range(12):
        letter = chance.choice(list(counts))
        numbers = (f"{chance.uniform(-9, 9):.2f}" for _ in range(counts[letter] * chance.randint(1, 2)))
        data += chance.choice([letter, letter.lower()]) + chance.choice([" ", ","]).join(numbers)
    compare(data)
