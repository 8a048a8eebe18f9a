import cmath
import math
from dataclasses import replace
from types import SimpleNamespace

import pytest
from pattern_making import arc_from, box, graph, line_mark, loop

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Role
from seamcheck.pattern.junctions import expected_angle
from seamcheck.pattern.seam_graph import _why_lost


def piece_plan(name, corners, edges, more=""):
    lines = [f"[pieces.{name}]", more, f"[pieces.{name}.corners]"]
    lines += [f"{corner} = [{at.real!r}, {at.imag!r}]" for corner, at in corners.items()]
    lines += [f"[pieces.{name}.edges]", *(f"{edge} = {list(way)!r}" for edge, way in edges.items())]
    return "\n".join(lines) + "\n"


def seam(name, first, second, more=""):
    return f'[[seams]]\nname = "{name}"\nsew = [{first!r}, {second!r}]\n{more}\n'.replace("'", '"')


def at(found, *corners):
    """The one junction of these corners."""
    (junction,) = [one for one in found.junctions if set(one.names) == set(corners)]
    return junction


def why_not(found, *corners):
    """The code of the reason why the junction of these corners is not judged, and its words."""
    (reason,) = [why for names, why in found.unjudged if set(names) >= set(corners)]
    return reason.code, str(reason)


# Two halves of a skirt with a side seam: waists and hems lean by a few degrees. y runs down.
def skirt(front_waist=4.0, back_waist=-4.0, front_hem=0.0, back_hem=0.0, seams="", front="", back="", more=()):
    """`front_waist` is by how many mm the front's waist rises to the side; and so on. All 200 wide, sides 400 long."""
    shift = 600
    f = {
        "cw": 0j,
        "sw": complex(200, -front_waist),
        "sh": complex(200, 400 - front_waist),
        "ch": complex(0, 400 - front_hem),
    }
    b = {
        "sw": complex(shift, -back_waist),
        "cw": complex(shift + 200, 0),
        "ch": complex(shift + 200, 400 - back_hem),
        "sh": complex(shift, 400 - back_waist),
    }
    edges = {"waist": ("cw", "sw"), "side": ("sw", "sh"), "hem": ("sh", "ch"), "centre": ("cw", "ch")}
    marks = [line_mark(loop(*f.values()), label="front"), line_mark(loop(*b.values()), label="back"), *more]
    plan = piece_plan("front", f, edges, front) + piece_plan("back", b, edges, back)
    return graph(marks, plan + (seams or seam("side", "front.side", "back.side")))


def lean(mm, over=200):
    return math.degrees(math.atan(mm / over))


FREE = 'unsewn = ["waist", "hem", "centre"]'


@pytest.mark.parametrize(
    ("total", "halved", "open_", "expected"),
    [
        (358, False, False, 360),
        (182, False, False, 360),
        (178, False, True, 180),
        (269, False, True, 180),
        (271, False, True, 360),
        (355, False, True, 360),
        (181, True, False, 180),
        (88, True, True, 90),
        (134, True, True, 90),
        (136, True, True, 180),
    ],
)
def test_what_angles_should_add_to(total, halved, open_, expected):
    assert expected_angle(total, halved=halved, open_=open_) == expected


def test_waist_and_hem_at_the_side_without_a_band():
    found = skirt(front=FREE, back=FREE)
    waist = at(found, "front.sw", "back.sw")
    assert waist.expected == 180
    assert waist.open
    assert waist.angle == pytest.approx(180 + lean(4) - lean(4))
    assert waist.angles == pytest.approx(
        (90 + lean(4), 90 - lean(4)) if waist.names[0] == "back.sw" else (90 - lean(4), 90 + lean(4)), abs=2 * lean(4)
    )
    assert set(waist.line) == {"front.waist", "back.waist"}
    assert waist.seams == ("side",)
    hem = at(found, "front.sh", "back.sh")
    assert hem.angle == pytest.approx(180, abs=1e-6 + 2 * lean(4))
    assert found.unjudged == ()


def test_a_waist_that_peaks_is_told_by_its_angles():
    found = skirt(front_waist=8, back_waist=8, front=FREE, back=FREE)
    # Both waists rise to the side: each corner is wider... narrower than square by its lean.
    assert at(found, "front.sw", "back.sw").angle == pytest.approx(180 - 2 * lean(8))
    found = skirt(front_waist=-8, back_waist=-8, front=FREE, back=FREE)
    assert at(found, "front.sw", "back.sw").angle == pytest.approx(180 + 2 * lean(8))


def band(length=400.0, straight=True):
    corners = {"a": 900j, "b": length + 900j, "c": complex(length, 940), "d": 940j}
    plan = piece_plan(
        "band",
        corners,
        {"lower": ("d", "c"), "upper": ("a", "b"), "left": ("a", "d"), "right": ("b", "c")},
        'unsewn = ["upper", "left", "right"]',
    )
    return line_mark(loop(*corners.values()), label="band"), plan


def banded(**heights):
    mark, plan = band(2 * abs(complex(200, 4)))
    waist = 'sew = [["front.waist", "-back.waist"], "band.lower"]'
    text = plan + seam("side", "front.side", "back.side") + f'[[seams]]\nname = "waist"\n{waist}\n'
    free = 'unsewn = ["hem", "centre"]'
    return skirt(seams=text, front=free, back=free, more=[mark], **heights)


def test_under_a_band_the_cloth_closes_round_the_side_seam():
    found = banded()
    junction = at(found, "front.sw", "back.sw")
    assert junction.straight == 1
    assert not junction.open
    assert junction.expected == 360
    assert junction.angle == pytest.approx(360)
    assert set(junction.seams) == {"side", "waist"}


def test_a_peaked_waist_under_a_band_is_seen():
    found = banded(front_waist=4, back_waist=4)
    assert at(found, "front.sw", "back.sw").angle == pytest.approx(360 - 2 * lean(4))


def test_the_end_of_a_band_runs_on_from_the_edge_below():
    found = banded()
    ends = at(found, "front.cw", "band.d")
    assert ends.open
    assert ends.expected == 180
    assert ends.angle == pytest.approx(180 + lean(4), abs=1e-6) or ends.angle == pytest.approx(
        180 - lean(4), abs=1e-6
    )


def test_an_edge_that_is_neither_sewn_nor_free_leaves_its_corners_unjudged():
    found = skirt(front=FREE, back='unsewn = ["hem", "centre"]')
    assert [one.names for one in found.junctions] == [("back.sh", "front.sh")]
    code, words = why_not(found, "front.sw", "back.sw")
    assert (code, "neither sewn nor unsewn" in words) == ("unpaired", True)


# Trousers: two legs, mirrored, meet at the crotch point.


def legs(front_corner=90.0, back_corner=90.0, crotch_seams=True, more=""):
    """Inseams run straight down from the crotch point; the crotch lines leave it at the given angles."""
    marks, plan = [], ""
    for name, x, angle in (("front", 300.0, front_corner), ("back", 900.0, back_corner)):
        point, hem = complex(x, 200), complex(x - 20, 800)
        down = cmath.phase(hem - point)
        # Clockwise with y down: hem, crotch point, waist; the inner angle lies between inseam and crotch line.
        towards = point + 90 * cmath.rect(1, down + math.radians(angle))
        crotch = [towards, complex(towards.real, 0)]
        corners = {"cp": point, "ih": hem, "sh": complex(x - 250, 800), "sw": complex(x - 250, 0), "cw": crotch[1]}
        outline = loop(point, hem, corners["sh"], corners["sw"], corners["cw"], towards)
        marks.append(line_mark(outline, label=name))
        plan += piece_plan(
            name,
            corners,
            {
                "inseam": ("cp", "ih"),
                "hem": ("ih", "sh"),
                "out": ("sw", "sh"),
                "waist": ("sw", "cw"),
                "crotch": ("cw", "cp"),
            },
            'cut = "pair"\nunsewn = ["hem", "waist", "out"' + ("" if crotch_seams else ', "crotch"') + "]",
        )
    plan += seam("inseam", "front.inseam", "back.inseam")
    if crotch_seams:
        plan += seam("crotch-front", "front.crotch", "front.crotch") + seam(
            "crotch-back", "back.crotch", "back.crotch"
        )
    return graph(marks, plan + more)


@pytest.mark.parametrize(("front", "back"), [(90, 90), (85, 95), (92, 90), (90, 84)])
def test_the_crotch_point_of_two_mirrored_legs_is_half_of_a_closed_point(front, back):
    found = legs(front, back)
    point = at(found, "front.cp", "back.cp")
    assert point.halved
    assert not point.open
    assert point.expected == 180
    assert point.angle == pytest.approx(front + back)


def test_without_crotch_seams_the_crotch_line_runs_on_across_the_inseam():
    point = at(legs(88, 93, crotch_seams=False), "front.cp", "back.cp")
    assert (point.halved, point.open, point.expected) == (False, True, 180)
    assert point.angle == pytest.approx(181)


def test_the_hem_at_the_inseam_and_at_the_crotch_ends():
    found = legs()
    hem = at(found, "front.ih", "back.ih")
    # The inseam leans by 20 in 600, on both pieces alike.
    assert hem.angle == pytest.approx(2 * (90 + math.degrees(math.atan(20 / 600))))
    assert (hem.expected, hem.halved) == (180, False)
    waist = at(found, "front.cw")
    assert (waist.expected, waist.halved, waist.open) == (90, True, True)
    assert waist.angle == pytest.approx(90)


def test_the_end_of_a_fly_opening_lies_on_the_mirror_line():
    """The upper part of a straight centre front stays open, the lower is sewn to its twin."""
    corners = {"sw": 0j, "cw": 200 + 0j, "fly": 200 + 150j, "cp": 200 + 250j, "sh": 250j}
    plan = piece_plan(
        "front",
        corners,
        {
            "waist": ("sw", "cw"),
            "open": ("cw", "fly"),
            "crotch": ("fly", "cp"),
            "rest": ("cp", "sh"),
            "out": ("sw", "sh"),
        },
        'cut = "pair"\nunsewn = ["waist", "open", "rest", "out"]',
    )
    found = graph(
        [line_mark(loop(0j, 200 + 0j, 200 + 250j, 250j), label="front")],
        plan + seam("c", "front.crotch", "front.crotch"),
    )
    fly = at(found, "front.fly")
    assert (fly.halved, fly.open, fly.expected) == (True, True, 180)
    assert fly.angle == pytest.approx(180)


# Folds


def folded(lean_mm=0.0):
    corners = {"fw": 0j, "sw": 200 + 0j, "sh": 200 + 300j, "fh": complex(0, 300)}
    corners["sw"] = complex(200, lean_mm)
    plan = piece_plan(
        "yoke",
        corners,
        {"fold": ("fw", "fh"), "top": ("fw", "sw"), "side": ("sw", "sh"), "bottom": ("sh", "fh")},
        'cut = "fold"\nfold = "fold"\nunsewn = ["top", "side", "bottom"]',
    )
    return graph([line_mark(loop(*corners.values()), label="yoke")], plan)


def test_the_ends_of_a_fold_expect_a_right_angle():
    found = folded()
    assert {one.names: (one.angle, one.expected, one.halved) for one in found.junctions} == {
        ("yoke.fh",): (pytest.approx(90), 90, True),
        ("yoke.fw",): (pytest.approx(90), 90, True),
    }


def test_a_peak_at_a_fold_is_half_of_the_peak_in_cloth():
    assert at(folded(10), "yoke.fw").angle == pytest.approx(90 - lean(10))


# Darts


def darted(seams="", unsewn='"top", "side", "hem", "centre"', more=()):
    """A dart 20 mm wide and 90 mm deep in a straight edge."""
    corners = {
        "cw": 0j,
        "in": 90 + 0j,
        "tip": 100 + 90j,
        "out": 110 + 0j,
        "sw": 220 + 0j,
        "sh": 220 + 300j,
        "ch": 300j,
    }
    plan = piece_plan(
        "back",
        corners,
        {"top": ("cw", "in", "tip", "out", "sw"), "side": ("sw", "sh"), "hem": ("sh", "ch"), "centre": ("ch", "cw")},
        f"unsewn = [{unsewn}]",
    )
    plan += '[[darts]]\npiece = "back"\ncorners = ["in", "tip", "out"]\n'
    return graph([line_mark(loop(*corners.values()), label="back"), *more], plan + seams)


def test_a_dart_cut_off_straight_makes_a_point_when_closed():
    mouth = at(darted(), "back.in", "back.out")
    assert mouth.dart
    assert (mouth.expected, mouth.open) == (180, True)
    # Each mouth corner is wider than square by half the dart's angle.
    half = math.degrees(math.atan(10 / 90))
    assert mouth.angle == pytest.approx(180 + 2 * half)


def test_a_dart_under_a_band_lies_on_a_straight_edge():
    corners = {"a": 900j, "b": 200 + 900j, "c": 200 + 940j, "d": 940j}
    plan = piece_plan(
        "band",
        corners,
        {"lower": ("d", "c"), "upper": ("a", "b"), "l": ("a", "d"), "r": ("b", "c")},
        'unsewn = ["upper", "l", "r"]',
    )
    found = darted(
        seams=plan + seam("waist", "back.top", "band.lower"),
        unsewn='"side", "hem", "centre"',
        more=[line_mark(loop(*corners.values()), label="band")],
    )
    mouth = at(found, "back.in", "back.out")
    assert mouth.dart
    assert (mouth.straight, mouth.expected, mouth.open) == (1, 360, False)
    half = math.degrees(math.atan(10 / 90))
    assert mouth.angle == pytest.approx(360 + 2 * half)


# Joints


def quilt(slip=0.0, third=False):
    """Two strips of two pieces each, sewn row to row; the joint of the lower row slips by some mm."""
    marks, plan = [], ""
    places = {
        "nw": (0j, 100.0),
        "ne": (300 + 0j, 100.0),
        "southwest": (400j, 100.0 + slip),
        "southeast": (300 + 400j, 100.0 - slip),
    }
    for name, (corner, width) in places.items():
        curve = box(width, 100, corner)
        corners = {"tl": corner, "tr": corner + width, "br": corner + complex(width, 100), "bl": corner + 100j}
        edges = {"top": ("tl", "tr"), "right": ("tr", "br"), "bottom": ("bl", "br"), "left": ("tl", "bl")}
        sewn = {
            "nw": ("right", "bottom"),
            "ne": ("left", "bottom"),
            "southwest": ("right", "top"),
            "southeast": ("left", "top"),
        }[name]
        free = [edge for edge in edges if edge not in sewn]
        plan += piece_plan(name, corners, edges, f"unsewn = {free!r}".replace("'", '"'))
        marks.append(line_mark(curve, label=name))
    plan += seam("upper", "nw.right", "ne.left") + seam("lower", "southwest.right", "southeast.left")
    plan += seam("rows", ["nw.bottom", "ne.bottom"], ["southwest.top", "southeast.top"])
    if third:
        plan += seam("lining", "nw.bottom", "ne.bottom")
    return graph(marks, plan)


def test_four_pieces_meet_in_one_point():
    found = quilt()
    middle = at(found, "nw.br", "ne.bl", "southwest.tr", "southeast.tl")
    assert (middle.angle, middle.expected, middle.straight) == (pytest.approx(360), 360, 0)
    (jog,) = found.jogs
    assert jog.amount == pytest.approx(0)


@pytest.mark.parametrize("slip", [1.5, -3.0])
def test_joints_that_miss_each_other_are_a_jog(slip):
    found = quilt(slip)
    (jog,) = found.jogs
    assert jog.seam == "rows"
    assert jog.amount == pytest.approx(-slip)
    assert at(found, "nw.br", "ne.bl", "southwest.tr", "southeast.tl").angle == pytest.approx(360)


def test_joints_further_apart_than_half_an_inch_each_meet_a_straight_edge():
    found = quilt(20.0)
    assert found.jogs == ()
    assert at(found, "nw.br", "ne.bl").straight == 1
    assert at(found, "southwest.tr", "southeast.tl").straight == 1


def test_three_layers_are_left_aside_with_the_reason():
    found = quilt(third=True)
    assert ("many-layers", "three or more layers meet there (seams lining and rows)") in {
        (why.code, str(why)) for _, why in found.unjudged
    }


# What the plan says of a junction


def test_a_junction_that_is_meant_to_be_pointed_is_not_judged():
    text = seam("side", "front.side", "back.side") + '[[shaped]]\ncorner = "front.sw"\nwhy = "V neck"\n'
    found = skirt(front_waist=30, back_waist=30, front=FREE, back=FREE, seams=text)
    assert why_not(found, "front.sw", "back.sw") == ("shaped", "it is meant to be pointed (V neck)")
    assert at(found, "front.sh", "back.sh")


def test_a_shaped_junction_with_an_angle_is_held_to_it():
    text = seam("side", "front.side", "back.side") + '[[shaped]]\ncorner = "back.sw"\nangle = 160\nwhy = "V neck"\n'
    found = skirt(front_waist=35, back_waist=35, front=FREE, back=FREE, seams=text)
    junction = at(found, "front.sw", "back.sw")
    assert junction.expected == 160
    assert junction.angle == pytest.approx(180 - 2 * lean(35))


def test_copies_that_meet_are_left_aside():
    """Four gores, each sewn to the next: how many come together at the top is not in the plan."""
    corners = {"top": 100 + 0j, "right": 200 + 300j, "left": 300j}
    plan = piece_plan(
        "gore",
        corners,
        {"r": ("top", "right"), "hem": ("right", "left"), "l": ("top", "left")},
        'cut = 4\nunsewn = ["hem"]',
    )
    found = graph([line_mark(loop(*corners.values()), label="gore")], plan + seam("gores", "gore.r", "gore.l"))
    assert why_not(found, "gore.top") == ("several-copies", "several copies of gore meet there")


def test_a_seam_along_a_line_inside_leaves_its_ends_unjudged():
    flap = box(100, 60, 500 + 0j)
    corners = {"cw": 0j, "sw": 200 + 0j, "sh": 200 + 300j, "ch": 300j, "p": 50 + 100j, "q": 150 + 100j}
    plan = piece_plan("front", corners, {"place": ("p", "q")}) + piece_plan(
        "flap",
        {"a": 500 + 0j, "b": 600 + 0j, "c": 600 + 60j, "d": 500 + 60j},
        {"top": ("a", "b"), "r": ("b", "c"), "bottom": ("c", "d"), "l": ("d", "a")},
        'unsewn = ["r", "bottom", "l"]',
    )
    marks = [
        line_mark(box(), label="front"),
        line_mark(flap, label="flap"),
        line_mark([50 + 100j, 150 + 100j], Role.INTERNAL),
    ]
    found = graph(marks, plan + seam("flap", "front.place", "flap.top"))
    assert {(why.code, str(why)) for _, why in found.unjudged} == {
        ("line-inside", "seam flap runs along a line inside a piece")
    }


# The graph itself


def test_a_seam_whose_piece_or_edge_is_missing_is_lost_with_the_reason():
    corners = {"cw": 0j, "sw": 200 + 0j, "sh": 200 + 300j, "ch": 300j}
    edges = {"side": ("sw", "sh"), "diagonal": ("cw", "sh")}
    plan = piece_plan("front", corners, edges) + piece_plan("back", corners, edges)
    plan += seam("one", "front.side", "back.side") + seam("two", "front.side", "front.diagonal")
    found = graph([line_mark(box(), label="front")], plan)
    assert found.seams == ()
    assert str(found.lost["one"]) == "piece back is not in the file in this size"
    assert str(found.lost["two"]).startswith("edge front.diagonal: ")
    assert {name: why.code for name, why in found.lost.items()} == {"one": "piece-missing", "two": "edge-unsure"}


def test_a_seam_whose_edge_the_piece_does_not_have_is_lost_with_the_reason():
    found = skirt(front_waist=0.0)
    (plan,) = [one.plan for one in found.seams if one.name == "side"]
    wanted = replace(plan, sides=((replace(plan.sides[0][0], edge="frill"),), plan.sides[1]))
    pieces = {use.piece: SimpleNamespace(lost_edges={}, edges=()) for side in plan.sides for use in side}
    why = _why_lost(wanted, pieces)
    assert (why.code, str(why)) == ("edge-missing", "piece front has no edge frill")


def test_edges_know_their_seams():
    found = banded()
    assert found.seams_of("front", "waist") == ("waist",)
    assert found.seams_of("front", "side") == ("side",)
    assert found.seams_of("front", "hem") == ()
    assert found.seams_of("sleeve", "cap") == ()


def test_a_side_points_to_places_along_several_edges():
    side = next(one for one in banded().seams if one.name == "waist").first
    width = abs(complex(200, 4))
    assert side.names == ("front.waist", "-back.waist")
    assert side.length == pytest.approx(2 * width)
    assert side.place(0) == pytest.approx(0j)
    assert side.place(width) in (pytest.approx(200 - 4j), pytest.approx(600 + 4j))
    assert side.place(2 * width) == pytest.approx(800 + 0j)


@pytest.mark.parametrize("turn", [0, 90, 200])
def test_curves_and_turned_pieces_give_the_same_angles(turn):
    """A curved hip: the side leaves the waist along the tangent of an arc."""
    side = arc_from(200 + 0j, 90, 400, 300)  # to the left, mathematically: bends towards the piece with y down
    outline = Curve.join([Curve.line(0j, 200 + 0j), side, Curve.polyline([side.end, complex(0, side.end.imag), 0j])])
    other = outline.transformed(Affine.from_matrix(-1, 0, 0, 1, 900, 0))
    there = Affine.rotation(turn, 700 + 100j)
    back = {
        "cw": 900 + 0j,
        "sw": 700 + 0j,
        "sh": 900 - side.end.real + 1j * side.end.imag,
        "ch": complex(900, side.end.imag),
    }
    front = {"cw": 0j, "sw": 200 + 0j, "sh": side.end, "ch": complex(0, side.end.imag)}
    edges = {"waist": ("cw", "sw"), "side": ("sw", "sh"), "hem": ("sh", "ch"), "centre": ("cw", "ch")}
    turned = {name: complex(there.apply(point)) for name, point in back.items()}
    plan = piece_plan("front", front, edges, FREE) + piece_plan("back", turned, edges, FREE)
    marks = [line_mark(outline, label="front"), line_mark(other.transformed(there), label="back")]
    found = graph(marks, plan + seam("side", "front.side", "back.side"))
    assert at(found, "front.sw", "back.sw").angle == pytest.approx(180, abs=1e-4)
    hem = at(found, "front.sh", "back.sh").angle
    assert hem == pytest.approx(2 * (90 + math.degrees(300 / 400)), abs=1e-4) or hem == pytest.approx(
        2 * (90 - math.degrees(300 / 400)), abs=1e-4
    )


# Copies: one drawing stands for several pieces.


def _rectangle(name, x, width, height, more):
    corners = {
        "tl": complex(x, 0),
        "tr": complex(x + width, 0),
        "br": complex(x + width, height),
        "bl": complex(x, height),
    }
    edges = {"waist": ("tl", "tr"), "right": ("tr", "br"), "hem": ("br", "bl"), "left": ("tl", "bl")}
    return line_mark(loop(*corners.values()), label=name), piece_plan(name, corners, edges, more)


def test_a_piece_and_its_copy_turned_over_under_a_band_count_half_the_band():
    side, side_plan = _rectangle("side", 0, 180, 300, 'cut = 2\nunsewn = ["hem", "left"]')
    band, band_plan = _rectangle("band", 500, 360, 40, 'unsewn = ["waist", "left", "right"]')
    waist = '[[seams]]\nname = "waist"\nsew = [["side.waist", "-side.waist"], "-band.hem"]\n'
    found = graph([side, band], side_plan + band_plan + seam("side", "side.right", "side.right") + waist)
    middle = at(found, "side.tr")
    assert (middle.angle, middle.expected, middle.straight) == (pytest.approx(180), 180, 0.5)


def test_copies_in_a_row_that_meet_at_several_places_are_left_aside_with_the_reason():
    gore, gore_plan = _rectangle("gore", 0, 60, 300, 'cut = 6\nunsewn = ["hem"]')
    band, band_plan = _rectangle("band", 500, 360, 40, 'unsewn = ["waist", "left", "right"]')
    six = ", ".join(['"gore.waist"'] * 6)
    waist = f'[[seams]]\nname = "waist"\nsew = [[{six}], "-band.hem"]\n'
    found = graph([gore, band], gore_plan + band_plan + seam("gores", "gore.right", "gore.left") + waist)
    code, words = why_not(found, "gore.tl", "gore.tr")
    assert (code, "several places along seam waist" in words) == ("copies-along-seam", True)
    assert at(found, "gore.bl", "gore.br").angle == pytest.approx(180)


def test_two_edges_of_one_piece_in_a_row_bring_a_whole_straight_edge():
    side, side_plan = _rectangle("side", 0, 180, 300, 'unsewn = ["hem", "left"]')
    strip, strip_plan = _rectangle("strip", 500, 480, 40, 'unsewn = ["waist", "left", "right"]')
    seams = '[[seams]]\nname = "round"\nsew = [["side.waist", "side.right"], "-strip.hem"]\n'
    found = graph([side, strip], side_plan + strip_plan + seams)
    assert at(found, "side.tr").straight == 1


def _jeans(row, band_more='unsewn = ["waist", "left", "right"]', drop=0.0, seams=""):
    """Half a pair of trousers, its waist in a row for both halves, on a band in one length. The side is `drop` mm lower."""
    corners = {"tl": 0j, "tr": complex(180, drop), "br": 180 + 300j, "bl": 300j}
    edges = {"waist": ("tl", "tr"), "right": ("tr", "br"), "hem": ("br", "bl"), "left": ("tl", "bl")}
    more = 'cut = "pair"\nunsewn = ["hem"]'
    front = line_mark(loop(*corners.values()), label="front")
    back, back_plan = _rectangle("back", 400, 180, 300, more)
    band, band_plan = _rectangle("band", 800, 720, 40, band_more)
    plan = piece_plan("front", corners, edges, more) + back_plan + band_plan
    plan += seam("side", "front.right", "back.left") + seam("back", "back.right", "back.right")
    plan += seam("centre", "front.left", "front.left") + seams
    plan += f'[[seams]]\nname = "waist"\nsew = [[{row}], "-band.hem"]\n'
    return graph([front, back, band], plan)


HALVES = [
    '"front.waist", "back.waist", "-back.waist", "-front.waist"',
    '"-back.waist", "-front.waist", "front.waist", "back.waist"',
]


@pytest.mark.parametrize("row", HALVES)
def test_a_band_in_one_length_on_both_halves_counts_the_cloth_at_the_side_once(row):
    side = at(_jeans(row), "front.tr", "back.tl")
    assert (side.angle, side.expected, side.straight) == (pytest.approx(360), 360, 1)
    assert len(side.stretches) == 1


def test_a_waist_that_drops_at_the_side_is_seen_under_a_band_in_one_length():
    side = at(_jeans(HALVES[0], drop=20), "front.tr", "back.tl")
    assert side.angle - side.expected == pytest.approx(math.degrees(math.atan2(20, 180)))


@pytest.mark.parametrize(("row", "corner"), [(HALVES[0], "front.tl"), (HALVES[1], "back.tr")])
def test_either_end_of_a_band_in_one_length_lies_on_a_copy_of_its_own(row, corner):
    found = _jeans(row)
    for end in ("band.bl", "band.br"):
        meeting = at(found, corner, end)
        assert (meeting.angle, meeting.expected) == (pytest.approx(180), 180)
        inner = {(*node.split("."),) for node in (corner, end)}
        assert all({join.first[:2], join.second[:2]} <= inner for join in meeting.joins)


def test_the_ends_of_a_band_that_come_together_are_left_aside_with_the_reason():
    found = _jeans(HALVES[0], 'unsewn = ["waist"]', seams=seam("ring", "band.left", "band.right"))
    code, words = why_not(found, "front.tl", "band.bl", "band.br")
    assert (code, "copies of front are sewn to different corners" in words) == ("copies-at-corners", True)
