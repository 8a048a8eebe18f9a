"""Small files that ask for much work: each is refused in one sentence, by what the work would be, before it is begun."""

import cmath
import math
import os
from itertools import pairwise

import dxf_making as make
import numpy as np
import pytest
from click.testing import CliRunner
from scipy.interpolate import CubicSpline
from svg_making import drawing as read_svg
from svg_making import svg

from seamcheck.cli.main import main
from seamcheck.config.plan_file import parse_plan
from seamcheck.config.settings import parse_settings
from seamcheck.engine.record import read_known
from seamcheck.errors import InputError, PlanError, SeamcheckError, SettingsError, internal_error
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.intersections import overlapping
from seamcheck.pattern.scale import MOST_WORDS, labelled_square
from seamcheck.pieces import recognition
from seamcheck.pieces.corners import detect_corners
from seamcheck.pieces.outline import assemble
from seamcheck.pieces.overruns import trimmed_outlines
from seamcheck.reading.base import read_source
from seamcheck.reading.dxf.apparel_blocks import layer_number
from seamcheck.reading.dxf.apparel_nest import _split
from seamcheck.reading.dxf.text import plain_lines, statement

MANY = [complex(k % 100, k * 37 % 101) for k in range(5000)]


def grid(columns, rows, name="b"):
    return make.insert(name, 0j, 70, columns, 71, rows, 44, 1.0, 45, 1.0, layer="0")


def inserted(content, columns, rows):
    return make.plain(grid(columns, rows), blocks=[make.block("b", content, layer="0")])


def light(points):
    vertices = "".join(make.pairs(10, p.real, 20, p.imag) for p in points)
    return make.pairs(0, "LWPOLYLINE", 8, "0", 90, len(points), 70, 1) + vertices


def spline(degree, points):
    inner = len(points) - degree
    knots = [0.0] * (degree + 1) + [float(k) for k in range(1, inner)] + [float(inner)] * (degree + 1)
    head = make.pairs(0, "SPLINE", 8, "0", 70, 8, 71, degree, 72, len(knots), 73, len(points))
    return (
        head + "".join(make.pairs(40, k) for k in knots) + "".join(make.pairs(10, p.real, 20, p.imag) for p in points)
    )


def fitted(points, *tangents):
    head = make.pairs(0, "SPLINE", 8, "0", 70, 8, 71, 3, 74, len(points), *tangents)
    return head + "".join(make.pairs(11, p.real, 21, p.imag) for p in points)


NESTED = make.plain(
    make.insert("c", 0j, 70, 300, 71, 300, layer="0"),
    blocks=[make.block("b", layer="0"), make.block("c", grid(300, 300), layer="0")],
)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (inserted("", 30_000, 30_000), r"line \d+: 900000000 entities and copies .* limits\.expanded"),
        (inserted(make.line("0", 0j, 1 + 0j), 30_000, 30_000), r"1800000000 entities and copies"),
        (NESTED, r"entities and copies .* limits\.expanded"),
        (inserted(make.polyline("0", MANY), 200, 200), r"200000000 vertices after following .* limits\.commands"),
        (inserted(light(MANY), 200, 200), r"200000000 vertices after following .* limits\.commands"),
        (inserted(spline(3, MANY), 200, 200), r"200000000 vertices after following .* limits\.commands"),
        (inserted(fitted(MANY), 200, 200), r"200000000 vertices after following .* limits\.commands"),
        (make.plain(spline(2000, MANY[:2100])), r"line \d+: 2000 control points .* limits\.degree"),
        (make.plain(spline(3, MANY * 5)), r"line \d+: 25000 vertices of one line .* limits\.line"),
        (make.plain(light(MANY * 5)), r"line \d+: 25000 vertices of one line .* limits\.line"),
        (make.plain(make.polyline("0", MANY * 5)), r"line \d+: 25000 vertices of one line .* limits\.line"),
    ],
)
def test_a_dxf_is_counted_before_it_is_drawn(content, said):
    with pytest.raises(InputError, match=said):
        make.read(content)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (f'<path d="M0 0{"h1v1" * 10_001}"/>', r"20002 segments of one line .* limits\.line"),
        (
            f"<style>{''.join(f'.c{k}{{stroke:black}}' for k in range(10_001))}</style><path d='M0 0h1'/>",
            r"style element .* steps to find out which style rules .* limits\.matches",
        ),
        (
            "<style>" + "path{stroke:black}" * 1000 + "</style>" + '<path d="M0 0h1"/>' * 400,
            r"path element .* steps to find out which style rules .* limits\.matches",
        ),
        (
            "<style>"
            + "".join(f"{'g ' * 150}.x{k} path{{stroke:black}}" for k in range(100))
            + "</style>"
            + "<g>" * 180
            + '<path d="M0 0h1"/>' * 500
            + "</g>" * 180,
            r"path element .* limits\.matches",
        ),
    ],
)
def test_an_svg_is_counted_before_it_is_drawn(body, said):
    with pytest.raises(InputError, match=said):
        read_svg(body)


def test_pieces_and_corners_are_counted_before_they_are_compared():
    square = '<path d="M{} {}h30v30h-30z"/>'
    many = "".join(square.format(40 * (k % 80), 40 * (k // 80)) for k in range(4100))
    with pytest.raises(InputError, match=r"4100 closed lines as large as a piece .* limits\.pieces"):
        assemble(read_svg(many))
    teeth = "".join("h5v5h5v-5" for _ in range(200))
    with pytest.raises(InputError, match=r"\d+ corners of one piece .* limits\.corners"):
        assemble(read_svg(f'<path d="M0 0{teeth}v300h-2000z"/>'))


PIECES = """format = 1
[pieces.front.corners]
a = [0, 0]
b = [0, 100]
[pieces.front.edges]
side = ["a", "b"]
hem = ["b", "a"]
"""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format = 1\n" + ".".join("a" * 100_000) + " = 1", "line 2: a dotted key has more than 32 parts"),
        ("format = 1\n[" + ".".join(["'a'"] * 100_000) + "]", "line 2: a dotted key has more than 32 parts"),
        ("format = 1\nname = [" + "1," * 300_000 + "]", "more than 200000 values"),
        (PIECES + '[[seams]]\nname = "s"\nsew = ["front.side", "front.hem"]\n' * 2001, "2001 seams are more than"),
        (
            PIECES + '[[seams]]\nname = "s"\nsew = [[' + "'front.side'," * 201 + '], "front.hem"]',
            'line 10: 201 edges in a row of the seam "s" are more than the 200',
        ),
        (
            "format = 1\n[pieces.p.corners]\n" + "".join(f"c{k} = [0, {k}]\n" for k in range(501)),
            'line 2: 501 corners of the piece "p" are more than the 500',
        ),
        ("format = 1\n" + "".join(f"[pieces.p{k}]\n" for k in range(1001)), "1001 pieces are more than the 1000"),
    ],
)
def test_a_plan_is_counted_before_it_is_read(text, said):
    with pytest.raises(PlanError, match=said):
        parse_plan(text, "p.seams.toml")


def test_what_only_looks_like_a_long_key_is_read():
    dotted = ".".join("a" * 100)
    plan = parse_plan(f'format = 1 # {dotted}\nname = """\n{dotted}"""\n', "p.seams.toml")
    assert plan.name == dotted
    assert parse_plan(f"format = 1\nname = '{dotted}'", "p.seams.toml").name == dotted


def test_settings_keep_the_same_budget(tmp_path):
    with pytest.raises(SettingsError, match="line 1: a dotted key"):
        parse_settings(".".join("a" * 100) + " = 1", tmp_path / "seamcheck.toml")


def test_texts_are_read_in_one_go():
    """Each of these once took time with the square of its length; the answers are what they were."""
    assert plain_lines("\\S" * 200_000) == ["\\S" * 200_000]
    assert plain_lines("\\S1#2; in") == ["1/2 in"]
    blanks = " " * 400_000
    assert statement(f"a{blanks}b") == ("", "")
    assert statement(f" Piece  Name{blanks}:{blanks}Front{blanks}b {blanks}") == ("piece name", f"Front{blanks}b")
    assert _split("a" + "_" * 400_000) == ("", "")
    assert [_split(name) for name in ("SLEEVE_L1", "a - b-M", "front", "__M", "_M", "M_", "")] == [
        ("SLEEVE", "L1"),
        ("a - b", "M"),
        ("", ""),
        ("_", "M"),
        ("", ""),
        ("", ""),
        ("", ""),
    ]
    assert layer_number("0" * 400_000 + "a") is None
    assert [layer_number(name) for name in ("0" * 4000 + "1", "Layer 014", "9" * 5000, "0")] == [1, 14, None, None]


def test_a_spline_through_many_points_needs_no_matrix():
    """The reference is scipy's spline in its two ways to end: with no bend, and in a given direction."""
    points = np.array([complex(k / 10, k * 7919 % 13) for k in range(4000)])
    at = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points)))])
    start, end = 0.6 + 0.8j, -1.0 + 0j
    for tangents, ends in (
        ((), "natural"),
        ((12, 3.0, 22, 4.0, 13, -7.0, 23, 0.0), ((1, start), (1, end))),
    ):
        (line,) = make.read(make.plain(fitted(points, *tangents))).lines
        middles = (at[:-1] + at[1:]) / 2
        wanted = CubicSpline(at, points, bc_type=ends)(middles)
        a, b, c, d = line.curve.segments.T
        assert np.abs((a + 3 * b + 3 * c + d) / 8 - wanted).max() < 1e-9


def test_corners_that_lie_near_one_another_are_found_in_order():
    teeth = [complex(k * 2, k % 2 * 2) for k in range(800)]
    found = detect_corners(Curve.polyline([*teeth, 1600 - 300j, 0 - 300j, teeth[0]]))
    assert len(found) > 50
    assert all(one < other for one, other in pairwise(found))


def test_a_scribble_is_counted_before_its_crossings_are_sought():
    drawing = make.read(inserted(light(MANY), 3, 3))
    with pytest.raises(InputError, match=r"\d+ pairs of segments that lie over one another .* limits\.overlaps"):
        assemble(drawing)


def test_a_long_outline_that_runs_on_is_no_scribble():
    """A circle of 5,000 chords and two sides of 5,000 chords each above one another: nothing lies over anything."""
    ring = [1000 * cmath.rect(1, 2 * math.pi * k / 5000) for k in range(5000)]
    sides = [0.1j * k for k in range(5000)] + [0.05 * math.sin(k) + 50 + 0.1j * (5000 - k) for k in range(5000)]
    for points in (ring, sides):
        assert overlapping(Curve.polyline([*points, points[0]]).segments, 250_000) < 10_000


def test_a_pipe_is_refused(tmp_path):
    pipe = tmp_path / "a.dxf"
    os.mkfifo(pipe)
    for read in (lambda: read_source(str(pipe)), lambda: read_known(pipe)):
        with pytest.raises(SeamcheckError, match="a device or a pipe, not a file; copy"):
            read()
    pattern = tmp_path / "b.svg"
    pattern.write_bytes(svg('<path d="M0 0h100v100h-100z"/>'))
    result = CliRunner().invoke(main, ["check", str(pattern), "--plan", str(pipe)])
    assert "a device or a pipe" in " ".join(result.output.split())


def test_want_of_memory_is_no_fault_of_the_program():
    said = internal_error(MemoryError(), "a.svg")
    assert said.startswith("a.svg: there is not enough memory")
    assert "itself failed" not in said


TURNING = "Fr\u202eo\u2066n\u200ft"


@pytest.mark.parametrize(
    "command",
    [
        *(
            ("check", name)
            for name in ["text", "json", "jsonl", "html", "svg", "junit", "sarif", "github", "markdown"]
        ),
        *(("pieces", name) for name in ("text", "json", "svg")),
        *(("pair", name) for name in ("toml", "json", "svg", "html")),
    ],
)
def test_signs_that_turn_the_reading_are_shown_escaped(tmp_path, command):
    path = tmp_path / "a.svg"
    body = f'<path inkscape:label="{TURNING}" d="M20 20h100v200h-100z"/><path d="M220 20h100v200h-100z"/>'
    path.write_bytes(svg(body))
    result = CliRunner().invoke(main, [command[0], str(path), "--format", command[1]])
    assert result.exit_code in (0, 2)
    assert "itself failed" not in result.output
    assert not set(result.output) & set("\u202e\u2066\u200f")


def test_lines_that_all_lie_over_one_another_are_not_sought_through_for_corners(monkeypatch):
    """A few lines that run over their corners are; so many that all come near each other are a scribble, and the same line twice crosses nowhere."""
    sought = []
    real = Curve.crossings
    monkeypatch.setattr(Curve, "crossings", lambda *both: sought.append(both) or real(*both))

    def chains(lines):
        return [(line, ()) for line in lines]

    arcs = [Curve.polyline([0j, 50 + 30j + k, 100 + 0j, 130 - 40j]) for k in range(50)]
    assert trimmed_outlines(chains(arcs), 0)[0] == []
    assert sought == []
    assert trimmed_outlines(chains(arcs[:1] * 50), 0)[0] == []
    assert sought == []
    assert trimmed_outlines(chains(arcs[:5]), 0)[0] == []
    assert len(sought) == 10


def test_a_square_full_of_words_is_no_test_square():
    def marked(count):
        words = "".join(f'<text x="{50 + k / 10}" y="60">5 x 5 cm</text>' for k in range(count))
        return read_svg(f'<path inkscape:label="test square" d="M40 40h50v50h-50z"/>{words}')

    few, many = marked(2), marked(MOST_WORDS + 1)
    assert labelled_square(few.lines, few.texts).stated == 50.0
    assert labelled_square(many.lines, many.texts) is None


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ('<path d="M400 20h2"/>' * 10_001, r"10001 lines are more than .* limits\.strokes"),
        (
            '<path d="M20 20h300v300h-300z"/>' + '<path d="M40 60h2"/>' * 2_001,
            r"path element .* 2001 marks of one piece .* limits\.marks",
        ),
    ],
)
def test_lines_are_counted_before_they_are_laid_to_pieces(body, said):
    with pytest.raises(InputError, match=said):
        assemble(read_svg(body))


def test_short_strokes_are_held_against_those_they_meet_alone(monkeypatch):
    """Two hundred strokes side by side make no pair, and where a hundred meet none is the side of a V; two that meet on the outline are one notch."""
    asked = []
    real = recognition.wedge_at
    monkeypatch.setattr(recognition, "wedge_at", lambda *mark: asked.append(mark) or real(*mark))
    square = '<path d="M20 20h300v300h-300z"/>'
    rows = "".join(f'<path d="M{40 + k % 20 * 12} {60 + k // 20 * 20}h2"/>' for k in range(200))
    for strokes in (rows, '<path d="M40 60h2"/>' * 100):
        asked.clear()
        assemble(read_svg(square + strokes))
        assert len(asked) == strokes.count("<path")  # each by itself
    (piece,) = assemble(read_svg(f'{square}<path d="M100 20l2 5"/><path d="M102 25l2-5"/>')).shapes
    assert [round(notch.at.real, 6) for notch in piece.notches] == [102.0]
