"""Against svgelements 1.9.6, where its ways are known to be right: path grammar, similarity transforms, matrices."""

import random

import pytest
import svgelements

from seamcheck.geometry.curve import Curve
from seamcheck.reading.base import Source
from seamcheck.reading.svg.path import path
from seamcheck.reading.svg.reader import read
from seamcheck.reading.svg.units import transform

LETTERS = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


def random_path(chance, *, arcs):
    words = [f"M{chance.uniform(0, 100):.3f} {chance.uniform(0, 100):.3f}"]
    before = "M"
    for _ in range(chance.randint(2, 9)):
        letter = chance.choice([*LETTERS, *("A" if arcs else "")])
        # They let S reflect a quadratic and T a cubic, where the standard starts at the pen.
        if (letter == "S" and before in "QT") or (letter == "T" and before in "CS"):
            letter = "L"
        before = letter
        case = chance.choice([letter, letter.lower()])
        if letter == "A":
            radius, end = chance.uniform(30, 90), [chance.uniform(-60, 60) for _ in range(2)]
            words.append(
                f"{case}{radius:.3f} {radius:.3f} 0 {chance.randint(0, 1)}{chance.randint(0, 1)}{end[0]:.3f},{end[1]:.3f}"
            )
        else:
            words.append(case + " ".join(f"{chance.uniform(-80, 80):.3f}" for _ in range(LETTERS[letter])))
    return "".join(words) + chance.choice(["", "z"])


@pytest.mark.parametrize("seed", range(40))
def test_points_of_random_paths_under_similarities(seed):
    chance = random.Random(seed)
    data = random_path(chance, arcs=seed % 2 == 0)
    turn, scale = chance.uniform(-180, 180), chance.uniform(0.3, 3)
    words = f"translate({chance.uniform(-50, 50):.3f},{chance.uniform(-50, 50):.3f}) rotate({turn:.3f}) scale({scale:.3f})"
    text = f'<svg width="100mm" height="100mm" viewBox="0 0 100 100"><path stroke="red" transform="{words}" d="{data}"/></svg>'
    (line,) = read(Source("random.svg", text.encode())).lines
    theirs = abs(svgelements.Path(data) * svgelements.Matrix(words))
    for segment in theirs:
        if isinstance(segment, svgelements.Move):
            continue
        for t in (0.0, 0.25, 0.5, 0.9):
            point = segment.point(t)
            # Their arcs leave the circle by 1e-7 of its radius.
            assert line.curve.nearest(complex(point.x, point.y)).distance < 5e-5
    lengths = [segment.length(error=1e-9) for segment in theirs if not isinstance(segment, svgelements.Move)]
    assert line.curve.length == pytest.approx(sum(lengths), rel=2e-6)


@pytest.mark.parametrize(
    "words",
    [
        "matrix(1 2 3 4 5 6)",
        "translate(3)",
        "translate(3,-4) rotate(30) scale(2,3)",
        "rotate(30, 5 6)",
        "skewX(20)skewY(-10)",
        "scale(-1,1),translate(1e1 .5)",
    ],
)
def test_transform_lists(words):
    theirs = svgelements.Matrix(words)
    ours = transform(words)
    for z in (0j, 1 + 0j, 1j, 12.5 - 7j):
        point = theirs.point_in_matrix_space((z.real, z.imag))
        assert ours.apply(z) == pytest.approx(complex(point.x, point.y), abs=1e-9)


def test_elliptic_arcs_in_their_own_axes():
    for large in (0, 1):
        for sweep in (0, 1):
            data = f"M10 20A 60 25 33 {large} {sweep} 55 41"
            (ours,) = path(data, 1.0)
            theirs = svgelements.Path(data)[1]
            curve = Curve(ours.array)
            assert curve.length == pytest.approx(theirs.length(error=1e-9), rel=1e-8)
            for t in (0.1, 0.5, 0.8):
                point = theirs.point(t)
                assert curve.nearest(complex(point.x, point.y)).distance < 1e-5
