import math
import sys
from pathlib import Path

import pytest
from pattern_making import box, drawing, line_mark, loop, pattern, piece, tick

from seamcheck.builtin import builtin_importer
from seamcheck.config.plan_file import parse_plan
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request, read
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Role
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.testing import read_drawing

FIXTURES = Path(__file__).parents[2] / "fixtures"
GILET = FIXTURES / "sewline" / "gilet.svg"

BOX = """
[pieces.panel]
in-file = "*"
line = "cut"
allowance = 10
allowances = { hem = 40, side = 15 }
[pieces.panel.corners]
a = [0, 0]
b = [200, 0]
c = [200, 300]
d = [0, 300]
[pieces.panel.edges]
top = ["a", "b"]
side = ["c", "b"]
hem = ["c", "d"]
"""


def named(one):
    return {corner.name: corner.at for corner in one.corners}


def near(points, expected, within=1e-6):
    assert points.keys() == expected.keys()
    assert max(abs(points[name] - expected[name]) for name in points) <= within, points


# --- the piece on its sew line ----------------------------------------------------------------------------


def test_corners_edges_and_notches_move_to_the_sew_line():
    cut = box()
    one = piece([line_mark(cut, Role.CUT), tick(cut, 120.0), tick(cut, 300.0)], BOX)
    near(named(one), {"a": 10 + 10j, "b": 185 + 10j, "c": 185 + 260j, "d": 10 + 260j})
    assert one.line == "cut"
    assert one.drawn is not one.outline
    assert one.drawn.length == pytest.approx(1000)
    assert {edge.name: round(edge.length, 6) for edge in one.edges if edge.named} == {
        "top": 175,
        "side": 250,
        "hem": 175,
    }
    [notch] = one.edge("top").notches
    assert abs(notch.at - (120 + 10j)) < 1e-6
    assert notch.station == pytest.approx(110)
    [notch] = one.edge("side").notches  # walked upwards from c at y = 260
    assert abs(notch.at - (185 + 100j)) < 1e-6
    assert notch.station == pytest.approx(160)
    assert all(abs(corner.angle - 90) < 1e-6 for corner in one.corners)
    assert one.notes == ()


def test_y_up_is_the_same_piece_upside_down():
    up = box().transformed(Affine.scaling(1, -1))
    plan = BOX.replace("300]", "-300]")
    one = piece([line_mark(up, Role.CUT)], plan, y_down=False)
    near(named(one), {"a": 10 - 10j, "b": 185 - 10j, "c": 185 - 260j, "d": 10 - 260j})


def test_without_a_plan_the_allowance_of_the_command_holds_all_round():
    for line, role in (("cut", None), (None, Role.CUT)):
        assert pattern([line_mark(box(), role)]).pieces[0].outline.length == pytest.approx(1000)
        made = drawing([line_mark(box(), role)])
        result = build_pattern(made, assemble(made), None, line=line, allowance=12.0)
        [one] = result.pieces
        assert one.line == "cut"
        assert sorted(round(edge.length, 6) for edge in one.edges) == [176, 176, 276, 276]
        assert not [note for note in result.notes if note.code in ("cut-line-walked", "sew-line-swallowed")]


def test_a_sew_line_that_the_file_draws_is_not_moved():
    one = piece([line_mark(box(), Role.SEW)], BOX.replace('line = "cut"\n', ""))
    assert one.outline is one.drawn


def test_a_round_piece_without_corners_keeps_none():
    disc = Curve.arc(100 + 100j, 80)
    one = piece([line_mark(disc, Role.CUT)], '[pieces.disc]\nin-file = "*"\nallowance = 10\n')
    assert one.corners == ()
    [edge] = one.edges
    assert edge.length == pytest.approx(2 * math.pi * 70, abs=1e-4)


def test_allowances_for_some_edges_only_leave_the_others_and_say_so():
    plan = BOX.replace("allowance = 10\n", "")
    made = pattern([line_mark(box(), Role.CUT)], plan)
    near(named(made.pieces[0]), {"a": 0j, "b": 185 + 0j, "c": 185 + 260j, "d": 260j})
    [note] = [note for note in made.notes if note.code == "cut-line-walked"]
    assert note.message.startswith("panel: the plan gives an allowance for hem, side only;")


# --- darts ------------------------------------------------------------------------------------------------

DART = """
[pieces.back]
in-file = "*"
line = "cut"
allowance = 10
[pieces.back.corners]
left = [0, 0]
in = [85, 0]
tip = [100, 120]
out = [115, 0]
right = [200, 0]
[pieces.back.edges]
waist = ["left", "in", "out", "right"]
[[darts]]
piece = "back"
corners = ["in", "tip", "out"]
"""


def test_a_dart_that_is_drawn_into_the_cut_line_keeps_its_legs():
    cut = loop(0, 85, 100 + 120j, 115, 200, 200 + 300j, 300j)
    one = piece([line_mark(cut, Role.CUT)], DART)
    corners = named(one)
    assert abs(corners["in"] - (85 + 15 / 12 + 10j)) < 1e-6
    assert abs(corners["tip"] - (100 + 120j)) < 1e-6
    assert abs(corners["out"] - (115 - 15 / 12 + 10j)) < 1e-6
    [dart] = one.darts
    assert dart.intake == pytest.approx(30 * (1 - 10 / 120))
    assert [leg.length for leg in dart.legs] == pytest.approx([math.hypot(15, 120) * 11 / 12] * 2)
    assert one.edge("waist").length == pytest.approx(180 - 27.5)


@pytest.mark.parametrize("drawn", [True, False])
def test_the_mouth_of_a_dart_inside_is_where_its_legs_cross_the_sew_line(drawn):
    # At the cut line the dart is wider than where it is sewn, by allowance times intake over depth.
    legs = [line_mark([85, 100 + 120j, 115], Role.DART)]
    if not drawn:  # the legs end at the sew line, short of the cut line
        legs = [line_mark([90 + 40j, 100 + 120j, 110 + 40j], Role.DART)]
    one = piece([line_mark(box(), Role.CUT), *legs], DART)
    corners = named(one)
    assert abs(corners["in"] - (86.25 + 10j)) < 1e-6
    assert abs(corners["out"] - (113.75 + 10j)) < 1e-6
    assert one.darts[0].intake == pytest.approx(27.5)
    assert one.edge("waist").length == pytest.approx(180 - 27.5)


# --- what could not be followed ---------------------------------------------------------------------------


SHOULDER = """
[pieces.front]
line = "cut"
allowance = 25
[pieces.front.corners]
neck = [70, 0]
tip = [{tip}, 20]
underarm = [230, 210]
side-hem = [220, 400]
cf-hem = [0, 400]
cf-neck = [0, 100]
[pieces.front.edges]
shoulder = ["neck", "tip"]
armhole = ["tip", "underarm"]
side = ["underarm", "side-hem"]
hem = ["side-hem", "cf-hem"]
cf = ["cf-hem", "cf-neck"]
neckline = ["cf-neck", "neck"]
"""


def test_wide_allowances_on_a_short_shoulder_leave_the_armhole_beside_it():
    """What 25 mm take from a shoulder of 58 mm at both its ends is the shoulder's own: the armhole stays as long as with a long one."""

    def front(shoulder: int):
        tip = 70 + shoulder
        cut = f"M0 100C40 100 70 60 70 0L{tip} 20C{tip} 120 180 205 230 210L220 400H0Z"
        drawing = f'<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="500mm" viewBox="0 0 400 500"><path id="front" d="{cut}"/></svg>'
        plan = parse_plan("format = 1\n" + SHOULDER.format(tip=tip), "kit.seams.toml")
        (piece,) = read_drawing(drawing.encode(), builtin_importer("svg"), plan, "kit.svg").pieces
        return piece

    short, long = front(58), front(90)
    assert (dict(short.lost_edges), short.notes) == ({}, ())
    assert short.edge("shoulder").length == pytest.approx(long.edge("shoulder").length - 32.0, abs=3.0)
    assert 200.0 < short.edge("armhole").length < 260.0
    for name in ("side", "hem", "cf"):
        assert short.edge(name).length == pytest.approx(long.edge(name).length, abs=1.0)


def test_a_swallowed_edge_is_a_note_with_piece_and_place():
    cut = loop(0, 195, 200 + 5j, 200 + 300j, 300j)
    made = pattern([line_mark(cut)], BOX.replace(", side = 15", "").replace("b = [200, 0]", "b = [195, 0]"))
    [note] = [note for note in made.notes if note.code == "sew-line-swallowed"]
    assert note.message == (
        "panel: at (197.5, 2.5) an edge of 7.1 mm is swallowed by the allowances and its neighbours meet instead."
    )
    assert made.pieces[0].notes == (note,)


def test_a_piece_of_which_nothing_is_left_is_walked_on_its_cut_line():
    plan = BOX.replace("allowance = 10", "allowance = 190")
    made = pattern([line_mark(box(), Role.CUT)], plan)
    [one] = made.pieces
    assert one.outline is one.drawn
    messages = [note.message for note in made.notes]
    assert messages == [
        "panel: no sew line could be drawn, its allowances leave nothing of the piece; its seams are walked on the cut line."
    ]


def test_a_hem_that_is_turned_up_ends_at_its_fold():
    # A leg that flares by a quarter: beyond the fold at y = 560 its sides come in again.
    cut = loop(0, 200, 200 + 140 + 560j, 340 - 10 + 600j, -130 + 600j, -140 + 560j)
    plan = """
    [pieces.leg]
    in-file = "*"
    line = "cut"
    allowance = 10
    allowances = { hem = 40 }
    [pieces.leg.corners]
    a = [0, 0]
    b = [200, 0]
    c = [330, 600]
    d = [-130, 600]
    [pieces.leg.edges]
    side = ["b", "c"]
    hem = ["c", "d"]
    inseam = ["a", "d"]
    """
    one = piece([line_mark(cut, Role.CUT), tick(cut, 200 + abs(140 + 560j))], plan)
    corners = named(one)
    # The side's line moved square to itself by 10 mm crosses y = 560.
    inwards = 10 / math.cos(math.atan(140 / 560))
    assert abs(corners["c"] - (340 - inwards + 560j)) < 1e-6
    assert abs(corners["d"] - (-140 + inwards + 560j)) < 1e-6
    assert one.edge("hem").length == pytest.approx(480 - 2 * inwards)
    assert one.edge("side").length == pytest.approx(550 * math.hypot(1, 0.25))
    assert set(corners) == {"a", "b", "c", "d"}  # the corners at the fold are those of the hem now
    assert one.edge("side").notches == ()  # the notch at the fold is the corner's own mark
    assert one.notes == ()


# --- files ------------------------------------------------------------------------------------------------


def checked(path, **request):
    settings = Settings()
    return check_file(str(path), Request(**request), plugins.load(settings), settings)


def test_the_committed_demo_is_what_is_drafted(monkeypatch):
    monkeypatch.syspath_prepend(str(FIXTURES))
    import draft_sewline

    for name, text in draft_sewline.files().items():
        assert (FIXTURES / name).read_text(encoding="utf-8") == text
    sys.modules.pop("draft_sewline")


def test_panels_whose_cut_edges_differ_true_on_the_sew_line():
    result = checked(GILET)
    assert result.failures == ()
    assert result.findings == ()
    assert result.notes == ()
    [seam] = result.seams
    assert abs(seam.difference) < 1e-3
    settings = Settings()
    made, _ = read(str(GILET), Request(), plugins.load(settings), settings)
    lengths = {one.name: one.drawn.length for one in made.pieces}
    assert {one.line for one in made.pieces} == {"cut"}
    assert lengths.keys() == {"front", "side"}


def test_without_the_allowance_the_cut_line_is_walked_and_the_seam_does_not_true(tmp_path):
    copy = tmp_path / GILET.name
    copy.write_bytes(GILET.read_bytes())
    plan = GILET.with_suffix(".seams.toml").read_text(encoding="utf-8")
    kept = [line for line in plan.splitlines() if not line.startswith("allowance")]
    copy.with_suffix(".seams.toml").write_text("\n".join(kept), encoding="utf-8")
    result = checked(copy)
    [note] = result.notes
    assert note.code == "cut-line-walked"
    assert {finding.check for finding in result.findings} >= {"seam-length"}
    # Bulging against hollow: twice the allowance times the angle that the seam turns, its ends being square.
    [seam] = result.seams
    turning = math.atan2(40, 90) + math.atan2(55, 120)
    assert seam.difference == pytest.approx(2 * 10 * turning, abs=1e-3)


def test_the_command_gives_what_the_plan_leaves_out(tmp_path):
    copy = tmp_path / GILET.name
    copy.write_bytes(GILET.read_bytes())
    result = checked(copy, line="cut", allowance=10.0)
    assert result.failures == ()
    assert not [note for note in result.notes if note.code in ("cut-line-walked", "line-unknown")]
