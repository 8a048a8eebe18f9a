"""Plain DXF whose curves are drawn with vertices 15 to 25 mm apart: read as the curves that were meant, and told."""

import dxf_making as make
import numpy as np
import pytest

import seamcheck
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import LengthSource

ARMHOLE = np.array([[120 + 500j, 100 + 420j, 110 + 340j, 200 + 330j]])
HIP = np.array([[200 + 330j, 170 + 220j, 200 + 120j, 215 + 0j]])
NECK = np.array([[0 + 430j, 45 + 430j, 60 + 470j, 65 + 520j]])


def sampled(cubic, apart):
    """Vertices of a curve about so far apart, in hundredths of a mm, spaced as unevenly as a hand does."""
    curve = Curve(cubic)
    stations = np.linspace(0.0, curve.length, round(curve.length / apart) + 1)
    stations[1:-1] += apart / 5 * np.resize([1, -1, 0.5, -0.5, 0], len(stations) - 2)
    return [complex(round(p.real, 2), round(p.imag, 2)) for p in curve.points(stations)]


def bodice(apart):
    return [0j, *sampled(NECK, apart), *sampled(ARMHOLE, apart), *sampled(HIP, apart)[1:]]


def mirrored(points):
    return [complex(600 - point.real, point.imag) for point in reversed(points)]


def drawn(*pieces):
    sides = (
        make.line("CUT", a, b) for points in pieces for a, b in zip(points, [*points[1:], points[0]], strict=True)
    )
    return make.plain(*sides)


@pytest.mark.parametrize("apart", [15, 20, 25])
def test_curves_of_few_vertices_are_edges_without_kinks_on_a_piece_and_its_twin(tmp_path, apart):
    path = tmp_path / "bodice.dxf"
    path.write_text(drawn(bodice(apart), mirrored(bodice(apart))))
    report = seamcheck.check(path)
    assert [f for f in report.findings if f.check == "edge-blend"] == []
    pattern = seamcheck.read(path)
    assert [len(piece.edges) for piece in pattern.pieces] == [6, 6]
    told = [note for note in pattern.notes if note.code == "sparse-curve"]
    assert len(told) == 2
    assert "3 curves are drawn with vertices up to" in str(told[0].message)
    first, second = (sorted(edge.length for edge in piece.edges) for piece in pattern.pieces)
    assert first == pytest.approx(second, abs=1e-6)
    lengths = [Curve(cubic).length for cubic in (NECK, ARMHOLE, HIP)]
    for length in lengths:
        assert min(abs(length - one) for one in first) < 0.3


def test_the_angle_at_the_end_of_a_curve_of_few_vertices_is_known_no_better_than_it_is_drawn(tmp_path):
    path = tmp_path / "bodice.dxf"
    path.write_text(drawn(bodice(25)))
    (piece,) = seamcheck.read(path).pieces
    neck = min(piece.corners, key=lambda corner: abs(corner.at - 430j))
    assert neck.uncertainty >= abs(neck.angle - 90.0)
    assert 3.0 <= neck.uncertainty <= 10.0
    square = min(piece.corners, key=lambda corner: abs(corner.at))
    assert square.uncertainty == 0.0
    assert square.angle == pytest.approx(90.0, abs=1e-6)
    assert [edge.source for edge in piece.edges].count(LengthSource.DRAWN) == 3


def test_a_fold_that_such_a_neck_meets_is_not_blamed(tmp_path):
    path = tmp_path / "bodice.dxf"
    path.write_text(drawn(bodice(25)))
    path.with_suffix(".seams.toml").write_text(
        'format = 1\nname = "bodice"\nunits = "mm"\n[pieces.front]\nin-file = "*"\ncut = "fold"\nfold = "centre"\nline = "sew"\n'
        '[pieces.front.corners]\nhem = [0, 0]\nneck = [0, 430]\n[pieces.front.edges]\ncentre = ["hem", "neck"]\n'
    )
    report = seamcheck.check(path)
    assert [
        f.check for f in report.findings if f.severity != "note" and f.check in ("corner-blend", "square-end")
    ] == []


def test_a_pocket_a_box_and_a_hexagon_stay_polygons(tmp_path):
    pocket = [0j, 140 + 0j, 140 + 120j, 70 + 150j, 120j]
    box = [300 + 0j, 400 + 0j, 400 + 30j, 300 + 30j]
    hexagon = [500 + 30 * np.exp(1j * np.pi * k / 3) for k in range(6)]
    path = tmp_path / "pockets.dxf"
    path.write_text(drawn(pocket, box, hexagon))
    pattern = seamcheck.read(path)
    assert sorted(len(piece.edges) for piece in pattern.pieces) == [4, 5, 6]
    assert not any(note.code == "sparse-curve" for note in pattern.notes)
