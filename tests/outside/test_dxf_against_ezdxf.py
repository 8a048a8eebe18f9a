"""What the DXF readers read, against ezdxf on the same files, and their lengths against SciPy and closed formulas."""

import io
import math
import random
from collections import Counter
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from drafted import SETS, drafted

from seamcheck.config.limits import ReadOptions
from seamcheck.reading.base import Source, read_source
from seamcheck.reading.dxf import plain
from seamcheck.reading.dxf.apparel_lines import smooth
from seamcheck.reading.dxf.tags import read_raw

ezdxf = pytest.importorskip("ezdxf")
integrate = pytest.importorskip("scipy.integrate")
interpolate = pytest.importorskip("scipy.interpolate")
special = pytest.importorskip("scipy.special")

from ezdxf import disassemble  # noqa: E402
from ezdxf.math import bulge_to_arc  # noqa: E402
from ezdxf.path import make_path  # noqa: E402

ROOT = Path(__file__).parents[2]
FILES = sorted(
    path
    for folder in (ROOT / "fixtures", *map(drafted, SETS), ROOT.parent / "shared" / "samples")
    if folder.is_dir()
    for path in folder.rglob("*.dxf")
    # What ezdxf cannot read, merges or loses is compared nowhere: that is why the readers do not rest on it.
    if path.parent.name != "broken"
)
VERSIONS = ("R12", "R2000", "R2007", "R2018")


def read_document(document, fmt="asc"):
    if fmt == "bin":
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        data = stream.getvalue()
    else:
        text = io.StringIO()
        document.write(text)
        data = text.getvalue().encode(document.output_encoding)
    return plain.read(Source("ferryhand.dxf", data, ReadOptions(units="mm")))


def encoding_of(path):
    """The encoding of a file that states none, as apparel files do; None where ezdxf finds it."""
    data = path.read_bytes()
    if path.name == "older.dxf":
        return "gbk"
    return None if data.isascii() or b"$DWGCODEPAGE" in data or b"$ACADVER" in data else "utf-8"


@pytest.mark.parametrize("path", FILES, ids=[path.name for path in FILES])
def test_every_block_holds_the_same_entities_as_ezdxf_finds(path):
    document = ezdxf.readfile(path, encoding=encoding_of(path))
    raw = read_raw(read_source(str(path)))

    def kinds(entities):
        return Counter(entity.dxftype() for entity in entities)

    for block in raw.blocks.values():
        theirs = document.blocks.get(block.name)
        if block.name.startswith(("*", "$")):
            continue
        assert Counter(entity.kind for entity in block.entities) == kinds(theirs)
        for ours, other in zip(block.entities, theirs, strict=True):
            assert (ours.kind, ours.layer) == (other.dxftype(), other.dxf.layer)
            if ours.kind == "POLYLINE":
                vertices = [complex(v.dxf.location.x, v.dxf.location.y) for v in other.vertices]
                assert [part.point() for part in ours.parts] == vertices
            elif ours.kind == "POINT":
                assert ours.point() == complex(other.dxf.location.x, other.dxf.location.y)
                assert ours.number(30) == other.dxf.location.z
                assert ours.number(39) == other.dxf.thickness
                assert ours.has(50) == other.dxf.hasattr("angle")
            elif ours.kind == "LINE":
                assert ours.point(10) == complex(other.dxf.start.x, other.dxf.start.y)
                assert ours.point(11) == complex(other.dxf.end.x, other.dxf.end.y)
            elif ours.kind == "TEXT":
                assert ours.writing() == [other.dxf.text.strip()]
    model = [entity for entity in raw.entities if not entity.integer(67)]
    assert Counter(entity.kind for entity in model) == kinds(document.modelspace())


def drawn_by_ezdxf(document):
    """Start, end and length of every line that ezdxf draws, blocks followed."""
    found = []
    for entity in disassemble.recursive_decompose(document.modelspace()):
        if entity.dxftype() in ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"):
            path = make_path(entity, segments=16, level=8)
            points = [complex(p.x, p.y) for p in path.flattening(1e-5)]
            found.append((points[0], points[-1], float(np.abs(np.diff(points)).sum())))
    return found


def fill(layout, rng, version):
    """A few entities of every kind, anywhere."""

    def point():
        return (rng.uniform(-500, 500), rng.uniform(-500, 500))

    for _ in range(3):
        layout.add_line(point(), point())
        layout.add_circle(point(), rng.uniform(1, 200))
        layout.add_arc(point(), rng.uniform(1, 200), rng.uniform(0, 360), rng.uniform(0, 360))
        bends = [(*point(), rng.uniform(-2, 2)) for _ in range(5)]
        if version == "R12":
            layout.add_polyline2d(bends, format="xyb", close=rng.random() < 0.5)
        else:
            layout.add_lwpolyline(bends, format="xyb", close=rng.random() < 0.5)
            start = rng.uniform(0, 6)
            layout.add_ellipse(point(), point(), rng.uniform(0.1, 1), start, start + rng.uniform(0.2, 6))
            layout.add_open_spline([point() for _ in range(7)])
            layout.add_rational_spline([point() for _ in range(5)], [rng.uniform(0.5, 2) for _ in range(5)])
        layout.add_arc(point(), 50, 10, 100, dxfattribs={"extrusion": (0, 0, -1)})


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("fmt", ["asc", "bin"])
def test_documents_written_by_ezdxf_read_the_same(version, fmt):
    rng = random.Random(version)
    document = ezdxf.new(version)
    fill(document.modelspace(), rng, version)
    lines = read_document(document, fmt).lines
    for mark, (start, end, length) in zip(lines, drawn_by_ezdxf(document), strict=True):
        assert mark.curve.start == pytest.approx(start, abs=1e-5)
        assert mark.curve.end == pytest.approx(end, abs=1e-5)
        assert mark.curve.length == pytest.approx(length, rel=1e-5)


@pytest.mark.parametrize("version", ["R12", "R2000"])
def test_nested_inserts_land_where_ezdxf_puts_them(version):
    rng = random.Random(7)
    document = ezdxf.new(version)
    inner = document.blocks.new("INNER", base_point=(10, 20))
    fill(inner, rng, version)
    outer = document.blocks.new("OUTER", base_point=(-5, 5))
    outer.add_blockref("INNER", (30, 40), dxfattribs={"rotation": 33, "xscale": -1.5, "yscale": 1.5})
    array = {"rotation": -70, "row_count": 2, "column_count": 3, "row_spacing": 40, "column_spacing": 25}
    model = document.modelspace()
    model.add_blockref("OUTER", (100, 200), dxfattribs={"xscale": 2, "yscale": 2, "rotation": 12})
    model.add_blockref("OUTER", (-100, 0), dxfattribs={"extrusion": (0, 0, -1), "rotation": 12})
    lines = read_document(document).lines
    theirs = drawn_by_ezdxf(document)
    assert len(lines) == len(theirs)
    for mark, (start, end, length) in zip(lines, theirs, strict=True):
        # Mirrored arcs are drawn the other way round by some.
        ends = {complex(round(p.real, 4), round(p.imag, 4)) for p in (mark.curve.start, mark.curve.end)}
        near = [min(abs(p - q) for q in ends) for p in (start, end)]
        assert max(near) < 1e-3 or mark.closed
        assert mark.curve.length == pytest.approx(length, rel=1e-5)
    model.delete_all_entities()
    tick = document.blocks.new("TICK")
    tick.add_line((0, 0), (0, 5))
    arrayed = model.add_blockref("TICK", (7, 8), dxfattribs=array)
    cells = {complex(round(cell.dxf.insert.x, 6), round(cell.dxf.insert.y, 6)) for cell in arrayed.multi_insert()}
    starts = {
        complex(round(m.curve.start.real, 6), round(m.curve.start.imag, 6)) for m in read_document(document).lines
    }
    assert starts == cells


@pytest.mark.parametrize("seed", range(20))
def test_ellipse_lengths_against_incomplete_elliptic_integrals(seed):
    # Abramowitz and Stegun, Handbook of Mathematical Functions, 17.2: arc length by E(phi | m).
    rng = random.Random(seed)
    ratio, major = rng.uniform(0.05, 1), complex(rng.uniform(-200, 200), rng.uniform(20, 200))
    start = rng.uniform(0, 2 * math.pi)
    end = start + rng.uniform(0.1, 2 * math.pi)
    document = ezdxf.new("R2000")
    document.modelspace().add_ellipse((3, 4), (major.real, major.imag), ratio, start, end)
    (mark,) = read_document(document).lines
    m = 1 - ratio**2
    quarter = math.pi / 2  # E measures from the end of the minor axis
    exact = abs(major) * (special.ellipeinc(end + quarter, m) - special.ellipeinc(start + quarter, m))
    assert mark.curve.length == pytest.approx(exact, abs=2e-5)


def spline_length(control, knots, degree, weights=None):
    """By SciPy: quadrature of the speed on each span of the curve's own stretch of knots."""
    control = np.asarray(control)
    weights = np.ones(len(control)) if weights is None else np.asarray(weights)
    top = interpolate.BSpline(knots, control * weights, degree)
    bottom = interpolate.BSpline(knots, weights, degree)
    dtop, dbottom = top.derivative(), bottom.derivative()

    def speed(t):
        w = bottom(t)
        return abs((dtop(t) * w - top(t) * dbottom(t)) / w**2)

    spans = np.unique(knots[degree : len(control) + 1])
    return sum(integrate.quad(speed, a, b, epsabs=1e-10, limit=200)[0] for a, b in pairwise(spans))


def spline_document(control, knots, degree, weights=None, closed=False):
    document = ezdxf.new("R2000")
    spline = document.modelspace().add_spline(degree=degree)
    spline.control_points = [(p.real, p.imag) for p in control]
    spline.knots = knots
    if weights is not None:
        spline.weights = weights
    if closed:
        spline.dxf.flags |= 3
    return document


def points_of(rng, count):
    return [complex(rng.uniform(0, 400), rng.uniform(0, 400)) for _ in range(count)]


def clamped(count, degree, rng):
    inner = sorted(rng.uniform(0.1, 0.9) for _ in range(count - degree - 1))
    return [0.0] * (degree + 1) + inner + [1.0] * (degree + 1)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("degree", [1, 2, 3])
def test_spline_lengths_against_quadrature(degree, seed):
    rng = random.Random(seed)
    control = points_of(rng, 9)
    knots = clamped(9, degree, rng)
    (mark,) = read_document(spline_document(control, knots, degree)).lines
    assert mark.curve.length == pytest.approx(spline_length(control, knots, degree), abs=1e-6)


@pytest.mark.parametrize("seed", range(3))
def test_rational_and_high_degree_splines_against_quadrature(seed):
    rng = random.Random(seed)
    control, weights = points_of(rng, 8), [rng.uniform(0.4, 2.5) for _ in range(8)]
    for degree, given in ((3, weights), (5, None)):
        knots = clamped(8, degree, rng)
        (mark,) = read_document(spline_document(control, knots, degree, given)).lines
        assert mark.curve.length == pytest.approx(spline_length(control, knots, degree, given), abs=5e-3)


def test_periodic_splines_against_quadrature():
    rng = random.Random(3)
    ring = points_of(rng, 9)
    control, knots = [*ring, *ring[:3]], [float(k) for k in range(16)]
    (mark,) = read_document(spline_document(control, knots, 3, closed=True)).lines
    assert mark.curve.length == pytest.approx(spline_length(control, knots, 3), abs=1e-6)
    assert mark.closed


@pytest.mark.parametrize("bulge", [0.01, 0.1, 0.4142, 1.0, 2.5, -0.3, -1.7])
def test_bulges_against_ezdxf(bulge):
    document = ezdxf.new("R2000")
    document.modelspace().add_lwpolyline([(10, 20, bulge), (110, 50, 0)], format="xyb")
    (mark,) = read_document(document).lines
    centre, start, end, radius = bulge_to_arc((10, 20), (110, 50), bulge)
    assert mark.curve.length == pytest.approx(((end - start) % (2 * math.pi)) * radius, abs=1e-6)
    middle = mark.curve.point(mark.curve.length / 3)
    assert abs(middle - complex(centre.x, centre.y)) == pytest.approx(radius, abs=1e-6)


@pytest.mark.parametrize("count", [4, 7, 15])
def test_splines_through_curve_points_against_scipy(count):
    points = np.array([complex(25 * k, 60 * math.sin(k / 4)) for k in range(count)])
    t = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points)))])
    spline = interpolate.CubicSpline(t, points)  # not-a-knot ends
    slope = spline.derivative()
    exact = sum(integrate.quad(lambda u: abs(slope(u)), a, b)[0] for a, b in pairwise(t))
    assert smooth(list(points)).length == pytest.approx(exact, abs=1e-6)
