"""The demo patterns are what they promise: measured here by scipy and ezdxf, not by the code that drew them."""

import itertools
import math
import sys
import tomllib
from collections import Counter
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import BSpline
from svgelements import Path as SvgPath

FIXTURES = Path(__file__).parent.parent / "fixtures"
sys.path.insert(0, str(FIXTURES))

import draft  # noqa: E402
from drafting.alterations import ALTERATIONS, piece_of  # noqa: E402
from drafting.expected import JUNCTIONS  # noqa: E402
from drafting.ferryhand import SAMPLE, SEAMS, SIZES, ferryhand  # noqa: E402
from drafting.files import SHIPPED, files  # noqa: E402
from drafting.shapes import Arc, Cubic, Line  # noqa: E402
from drafting.truing import trued  # noqa: E402

FERRYHAND = FIXTURES / "ferryhand"
TRUE = 0.001  # mm


@pytest.fixture(scope="module")
def texts():
    return files()


def stroke_length(stroke):
    """The length of a stroke by adaptive quadrature of its speed (QUADPACK)."""
    if isinstance(stroke, Line):
        return abs(stroke.end - stroke.start)
    if isinstance(stroke, Arc):
        return stroke.radius * math.radians(abs(stroke.sweep))
    first, middle, last = 3 * np.diff([stroke.start, stroke.first, stroke.second, stroke.end])

    def speed(t):
        return abs((1 - t) ** 2 * first + 2 * t * (1 - t) * middle + t * t * last)

    return quad(speed, 0, 1, epsabs=1e-10)[0]


def edge_length(piece, edge):
    return sum(stroke_length(s) for part in piece.stretches if part.edge == edge for s in part.strokes)


def ends(stroke):
    """The directions in which a stroke leaves its start and arrives at its end."""
    if isinstance(stroke, Cubic):
        return stroke.first - stroke.start, stroke.end - stroke.second
    if isinstance(stroke, Line):
        return stroke.end - stroke.start, stroke.end - stroke.start
    turn = 1j if stroke.sweep > 0 else -1j
    return (stroke.start - stroke.centre) * turn, (stroke.end - stroke.centre) * turn


def turn(arriving, leaving):
    return math.degrees(np.angle(leaving / arriving))


def angle(piece, corner):
    """The interior angle at a corner of an outline that runs clockwise."""
    parts = piece.stretches
    index = next(index for index, part in enumerate(parts) if part.start == corner)
    return 180 + turn(ends(parts[index - 1].strokes[-1])[1], ends(parts[index].strokes[0])[0])


def kinks(piece, edge):
    found = []
    for part in piece.stretches:
        if part.edge == edge:
            pairs = itertools.pairwise(part.strokes)
            found += [abs(turn(ends(one)[1], ends(other)[0])) for one, other in pairs]
    return [kink for kink in found if kink > 1e-6]


def by_key(pieces):
    return {piece.key: piece for piece in pieces}


def side_length(pieces, side):
    key, _, edge = side.partition(".")
    return edge_length(pieces[key], edge)


def corner_angle(pieces, corner):
    key, _, name = corner.partition(".")
    return angle(pieces[key], name)


def with_changes(changed):
    return by_key(ferryhand(SAMPLE)) | changed


# The draft


def test_scripts_write_what_is_committed(texts):
    differing = [name for name, text in texts.items() if (FIXTURES / name).read_bytes() != text.encode("utf-8")]
    assert differing == []
    committed = {str(path.relative_to(FIXTURES)) for path in FERRYHAND.rglob("*") if path.is_file()}
    committed = {name for name in committed if not name.endswith(".report.txt")}
    assert committed == set(texts)


def test_check_notices_a_changed_file(texts, monkeypatch, tmp_path, capsys):
    name = "ferryhand/ferryhand.svg"
    monkeypatch.setattr(draft, "HERE", tmp_path / "fixtures")
    monkeypatch.setattr(draft, "DEMO", tmp_path / "shipped")
    monkeypatch.setattr(draft, "files", lambda: {name: texts[name]})
    assert draft.main([]) == 0
    assert draft.main(["--check"]) == 0
    assert capsys.readouterr().out == ""
    for path in ("fixtures/ferryhand/ferryhand.svg", "shipped/ferryhand.svg"):
        (tmp_path / path).write_text(texts[name].replace("Back", "Bock"))
    assert draft.main(["--check"]) == 1
    assert capsys.readouterr().out == "differs: fixtures/ferryhand/ferryhand.svg\ndiffers: shipped/ferryhand.svg\n"


def test_the_package_ships_what_is_drafted(texts):
    shipped = {path.name: path.read_bytes() for path in draft.DEMO.iterdir()}
    assert shipped == {name: texts[drawn].encode("utf-8") for name, drawn in SHIPPED.items()}


def test_files_stay_small(texts):
    sizes = {name: len(text.encode()) for name, text in texts.items()}
    assert sizes.pop("ferryhand/ferryhand-nest.dxf") < 500_000
    assert max(sizes.values()) < 150_000


@pytest.mark.parametrize("size", SIZES)
def test_every_seam_of_every_size_trues(size):
    pieces = by_key(ferryhand(size))
    for seam in SEAMS:
        assert side_length(pieces, seam.first) == pytest.approx(side_length(pieces, seam.second), abs=TRUE), seam


@pytest.mark.parametrize("size", SIZES)
def test_outlines_close_and_run_clockwise(size):
    for piece in ferryhand(size):
        strokes = [stroke for part in piece.stretches for stroke in part.strokes]
        gaps = [abs(one.end - other.start) for one, other in zip(strokes, strokes[1:] + strokes[:1], strict=True)]
        assert max(gaps) < 1e-9
        points = np.array([stroke.start for stroke in strokes])
        assert (points.conj() * np.roll(points, -1)).imag.sum() < 0


@pytest.mark.parametrize("size", SIZES)
def test_corners_lie_together_and_lines_run_on(size):
    pieces = by_key(ferryhand(size))
    for name, corners in JUNCTIONS.items():
        assert sum(corner_angle(pieces, corner) for corner in corners) == pytest.approx(180, abs=0.05), name
    # Square hem and square centre front: Wikibooks, Dressmaking/Pants. The rest is common practice.
    square = {
        "front": ("cf-waist", "crotch-point", "inseam-hem", "side-hem"),
        "back": ("cb-waist", "crotch-point", "inseam-hem", "side-hem"),
        "band-front": ("cf-lower", "cf-upper"),
        "band-back": ("fold-lower", "fold-upper"),
    }
    for key, corners in square.items():
        for corner in corners:
            assert angle(pieces[key], corner) == pytest.approx(90, abs=0.05), (key, corner)
    assert angle(pieces["front"], "fly-end") == pytest.approx(180, abs=0.05)
    assert [kink for piece in pieces.values() for edge in piece.edges for kink in kinks(piece, edge)] == []


@pytest.mark.parametrize("size", SIZES)
def test_legs_are_straight_and_even_about_the_grain(size):
    pieces = by_key(ferryhand(size))
    for key in ("front", "back"):
        piece = pieces[key]
        side, inside = piece.corners["side-hem"], piece.corners["inseam-hem"]
        assert abs(side + inside) == pytest.approx(0, abs=1e-9)
        assert {point.real for point in piece.grain} == {0.0}
        for edge in ("outseam", "inseam"):
            knee = max(notch.station for notch in piece.notches if notch.edge == edge)
            at, along = piece.point(edge, knee)
            assert abs(at.real) == pytest.approx(abs(side.real), abs=1e-6)
            assert abs(along.real) < 1e-6


@pytest.mark.parametrize("size", SIZES)
def test_notches_have_mates_at_the_same_stations(size):
    pieces = by_key(ferryhand(size))
    for seam in SEAMS:
        sides = []
        for side in (seam.first, seam.second):
            key, _, edge = side.partition(".")
            sides.append(Counter((round(n.station, 6), n.count) for n in pieces[key].notches if n.edge == edge))
        assert sides[0] == sides[1], seam.name


@pytest.mark.parametrize("size", SIZES)
def test_dart_legs_are_equal(size):
    back = by_key(ferryhand(size))["back"]
    into, out = (part for part in back.stretches if part.edge == "dart")
    assert stroke_length(into.strokes[0]) == pytest.approx(stroke_length(out.strokes[0]), abs=1e-9)


@pytest.mark.parametrize("size", SIZES)
def test_back_rise_is_about_a_third_longer_than_the_front(size):
    # Common practice for trousers with a fly: between 1.25 and 1.35.
    pieces = by_key(ferryhand(size))
    front = edge_length(pieces["front"], "crotch") + edge_length(pieces["front"], "centre-front")
    assert 1.25 < edge_length(pieces["back"], "crotch") / front < 1.35


def test_sizes_grow_evenly():
    runs = {size: by_key(ferryhand(size)) for size in SIZES}
    for key, piece in runs[SAMPLE].items():
        for edge in piece.edges:
            lengths = [edge_length(runs[size][key], edge) for size in SIZES]
            steps = np.diff(lengths)
            assert np.ptp(steps) < 0.25, (key, edge, steps)


# The alterations as taped

CHANGES = {
    "prominent-calf": {"outseam": -6.35, "inseam": 0, "crotch": 0, "waist": 0},
    "sway-back": {"outseam": 0, "inseam": 0, "crotch": -12.7, "waist": 0},
    "sway-back-quick": {"outseam": 0, "inseam": 0, "waist": -9.525},
    "gaping-band": {"upper": -8, "lower": 0, "side": 0, "fold": 0},
    "flat-seat": {"outseam": 0, "crotch": -10, "waist": 0},
    "low-seat": {"outseam": 0, "inseam": -6.35, "waist": 0},
    "deep-torso": {"outseam": 0, "crotch": 12.7, "waist": 0},
    "full-seat": {"outseam": 0, "inseam": 0, "crotch": 12.7, "waist": 0},
}


@pytest.mark.parametrize("name", ALTERATIONS)
def test_taped_edges_lose_and_gain_exactly_what_was_taken(name):
    taped = ALTERATIONS[name]().piece
    before = piece_of(taped.key)
    for edge, change in CHANGES[name].items():
        assert edge_length(taped, edge) - edge_length(before, edge) == pytest.approx(change, abs=TRUE), edge


def test_extending_a_square_crotch_point_hardly_moves_the_inseam():
    # Pythagoras: e * e / 2L for a square corner, here e = 12.7 mm on 343 mm down to the knee.
    change = edge_length(ALTERATIONS["deep-torso"]().piece, "inseam") - edge_length(piece_of("back"), "inseam")
    assert abs(change) < 12.7**2 / (2 * 343) + 0.2


def test_calf_slash_leaves_no_jog_and_a_broken_grain():
    taped = ALTERATIONS["prominent-calf"]()
    tail, meeting, head = taped.piece.grain
    assert tail.real == pytest.approx(meeting.real)
    outer = taped.turns[1]
    assert turn(meeting - tail, head - meeting) == pytest.approx(outer, abs=1e-6)
    assert kinks(taped.piece, "outseam") == [pytest.approx(abs(outer), abs=1e-6)]
    assert kinks(taped.piece, "inseam") == [pytest.approx(abs(taped.turns[0]), abs=1e-6)]


@pytest.mark.parametrize(("name", "edge"), [("sway-back", "outseam"), ("full-seat", "outseam")])
def test_hinge_leaves_a_kink_of_its_turn(name, edge):
    taped = ALTERATIONS[name]()
    assert kinks(taped.piece, edge) == [pytest.approx(abs(taped.turns[0]), abs=1e-6)]


def test_expected_numbers_are_those_of_the_taped_pieces():
    tables = tomllib.loads((FERRYHAND / "expected.toml").read_text())
    for name in ALTERATIONS:
        piece = ALTERATIONS[name]().piece
        listed = {row["edge"]: row["length"] for row in tables[f"{name}-left"]["edges"]}
        assert set(listed) == {f"{piece.key}.{edge}" for edge in piece.edges}
        for edge, length in listed.items():
            assert edge_length(piece, edge.partition(".")[2]) == pytest.approx(length, abs=1e-4)


# The alterations trued


@pytest.mark.parametrize("name", ALTERATIONS)
def test_trued_pattern_trues_again(name):
    pieces = with_changes(trued(name, ALTERATIONS[name]()))
    for seam in SEAMS:
        assert side_length(pieces, seam.first) == pytest.approx(side_length(pieces, seam.second), abs=TRUE), seam
    for junction, corners in JUNCTIONS.items():
        assert sum(corner_angle(pieces, corner) for corner in corners) == pytest.approx(180, abs=0.3), junction
    for corner in ("crotch-point", "cb-waist", "side-hem", "inseam-hem"):
        assert angle(pieces["back"], corner) == pytest.approx(90, abs=0.3), corner
    assert [kink for piece in pieces.values() for edge in piece.edges for kink in kinks(piece, edge)] == []
    for seam in SEAMS:
        sides = []
        for side in (seam.first, seam.second):
            key, _, edge = side.partition(".")
            sides.append([(n.station, n.count) for n in pieces[key].notches if n.edge == edge])
        assert np.allclose(sides[0], sides[1], atol=TRUE), seam.name
    assert pieces["back"].grain == piece_of("back").grain
    into, out = (part.strokes[0] for part in pieces["back"].stretches if part.edge == "dart")
    assert stroke_length(into) == pytest.approx(stroke_length(out), abs=1e-9)


@pytest.mark.parametrize("name", ["sway-back", "flat-seat", "deep-torso", "full-seat"])
def test_trued_crotch_keeps_the_amount_of_the_alteration(name):
    change = edge_length(trued(name, ALTERATIONS[name]())["back"], "crotch") - edge_length(piece_of("back"), "crotch")
    assert change == pytest.approx(CHANGES[name]["crotch"], abs=TRUE)


def test_trued_scoop_comes_back_to_the_same_crotch_point():
    back = trued("low-seat", ALTERATIONS["low-seat"]())["back"]
    assert abs(back.corners["crotch-point"] - piece_of("back").corners["crotch-point"]) < TRUE


# The forms


@pytest.mark.parametrize("state", ["left", "trued"])
@pytest.mark.parametrize("name", ALTERATIONS)
def test_altered_cad_drawings_are_sound(name, state):
    document = ezdxf.readfile(FERRYHAND / "altered" / f"{name}-{state}-cad.dxf")
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes


def test_cad_drawing_holds_exact_cubics_lines_and_arcs():
    document = ezdxf.readfile(FERRYHAND / "ferryhand-cad.dxf")
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert document.units == ezdxf.units.MM
    space = document.modelspace()
    assert {entity.dxf.layer for entity in space} == {"SEW", "NOTCH", "GRAIN", "FOLD", "TEXT"}
    drawn = 0.0
    for entity in space.query('*[layer=="SEW"]'):
        if entity.dxftype() == "LINE":
            drawn += entity.dxf.start.distance(entity.dxf.end)
        elif entity.dxftype() == "ARC":
            drawn += entity.dxf.radius * math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360)
        else:
            spline = BSpline(entity.knots, np.array(entity.control_points)[:, :2], entity.dxf.degree)
            slope = spline.derivative()
            spans = sorted(set(entity.knots))
            for low, high in itertools.pairwise(spans):
                drawn += quad(lambda t, slope=slope: np.hypot(*slope(t)), low, high, epsabs=1e-9)[0]
    perimeter = sum(stroke_length(s) for piece in ferryhand(SAMPLE) for part in piece.stretches for s in part.strokes)
    assert drawn == pytest.approx(perimeter, abs=TRUE)


def test_nest_keeps_its_vertices_from_size_to_size():
    # ASTM D6673, 4.3.1.5: same points in every size, graded sizes without turn points, curve points and notches.
    document = ezdxf.readfile(FERRYHAND / "ferryhand-nest.dxf")
    assert not document.audit().errors
    counts = {}
    for piece, size in itertools.product(ferryhand(SAMPLE), SIZES):
        block = document.blocks[f"{piece.name.upper().replace(' ', '_')}_{size}"]
        (boundary,) = block.query("POLYLINE")
        assert boundary.is_closed
        counts.setdefault(piece.name, set()).add(len(boundary))
        layers = Counter(entity.dxf.layer for entity in block.query("POINT"))
        if size == SAMPLE:
            assert layers["2"] + layers["3"] == len(boundary)
            assert layers["4"] == sum(notch.count for notch in piece.notches)
            at = {vertex.dxf.location.vec2.round(4) for vertex in boundary.vertices}
            assert {point.dxf.location.vec2.round(4) for point in block.query("POINT")} <= at
        else:
            assert not layers
        lines = Counter(entity.dxf.layer for entity in block.query("LINE"))
        assert lines == ({"5": 1, "6": 1, "7": 1} if piece.fold else {"5": 1, "7": 1})
    assert all(len(count) == 1 for count in counts.values())


def test_svg_outline_is_the_draft():
    drawn = (FERRYHAND / "ferryhand.svg").read_text()
    digitised = (FERRYHAND / "ferryhand-digitised.svg").read_text()
    for piece in ferryhand(SAMPLE):
        true = sum(stroke_length(stroke) for part in piece.stretches for stroke in part.strokes)
        exact, chords = (
            SvgPath(text.split(f'inkscape:label="{piece.name}"')[1].split(' d="')[1].split('"')[0])
            for text in (drawn, digitised)
        )
        assert exact.length(error=1e-9) == pytest.approx(true, abs=TRUE)
        assert -0.001 < true - chords.length() < 0.1  # vertices are rounded to 3 decimals
        assert max(segment.length() for segment in chords) < 2.001


@pytest.mark.parametrize("form", ["ferryhand", "ferryhand-digitised", "ferryhand-nest", "ferryhand-cad"])
def test_plan_names_every_edge_once_and_every_corner(form):
    plan = tomllib.loads((FERRYHAND / f"{form}.seams.toml").read_text())
    sewn = Counter(side for seam in plan["seams"] for side in set(seam["sew"]))
    for key, piece in plan["pieces"].items():
        for edge, corners in piece["edges"].items():
            assert set(corners) <= set(piece["corners"])
            free = edge in piece.get("unsewn", ()) or edge == piece.get("fold")
            assert sewn.pop(f"{key}.{edge}", 0) == (0 if free else 1), (key, edge)
    assert not sewn
