import pytest
from pattern_making import box, line_mark, loop, pattern, piece, rounded, tick

from seamcheck.config.plan_file import parse_plan
from seamcheck.errors import PlanError
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import LengthSource, Role
from seamcheck.pattern.model import Edge

# A front with no symmetry, clockwise as seen with y down: waist, side, hem, centre.
FRONT = loop(0j, 180 + 10j, 230 + 320j, 10 + 300j)
CORNERS = """
[pieces.front]
in-file = "Front"
[pieces.front.corners]
cf-waist = [0, 0]
side-waist = [180, 10]
side-hem = [230, 320]
cf-hem = [10, 300]
[pieces.front.edges]
"""
WAIST, SIDE, HEM, CENTRE = abs(180 + 10j), abs(50 + 310j), abs(220 + 20j), abs(10 + 300j)

# The same with a dart drawn into its waist, 20 mm wide and 90 mm deep.
DARTED = loop(0j, 80 + 0j, 90 + 90j, 100 + 0j, 180 + 10j, 230 + 320j, 10 + 300j)
DART_CORNERS = CORNERS.replace(
    "[pieces.front.edges]", "dart-in = [80, 0]\ndart-tip = [90, 90]\ndart-out = [100, 0]\n[pieces.front.edges]"
)
DART = '[[darts]]\npiece = "front"\ncorners = ["dart-in", "dart-tip", "dart-out"]\n'
LEG = abs(10 + 90j)


def front(edges="", *, curve=FRONT, more=(), corners=CORNERS, after="", **rest):
    plan = None if edges is None else corners + edges + "\n" + after
    return piece([line_mark(curve, label="Front"), *more], plan, **rest)


def places(one):
    return {corner.name: rounded(corner.at, 4) for corner in one.corners}


# Numbers where no plan gives names


@pytest.mark.parametrize("start", [0, 1, 2])
@pytest.mark.parametrize("clockwise", [True, False])
def test_corners_and_edges_are_numbered_clockwise_from_the_top_left(start, clockwise):
    curve = FRONT if clockwise else FRONT.reversed()
    one = piece([line_mark(curve.with_start(float(curve.joint_stations[start])), label="Front")])
    assert places(one) == {"c1": 0j, "c2": 180 + 10j, "c3": 230 + 320j, "c4": 10 + 300j}
    assert [(edge.name, edge.start, edge.end) for edge in one.edges] == [
        ("e1", "c1", "c2"),
        ("e2", "c2", "c3"),
        ("e3", "c3", "c4"),
        ("e4", "c4", "c1"),
    ]
    assert [edge.length for edge in one.edges] == pytest.approx([WAIST, SIDE, HEM, CENTRE])
    assert one.line == "unknown"


def test_with_y_up_the_top_left_has_the_greatest_y():
    one = piece([line_mark(FRONT, label="Front")], y_down=False)
    assert places(one) == {"c1": 10 + 300j, "c2": 230 + 320j, "c3": 180 + 10j, "c4": 0j}
    assert [edge.length for edge in one.edges] == pytest.approx([HEM, SIDE, WAIST, CENTRE])


@pytest.mark.parametrize("y_down", [True, False])
def test_interior_angles_add_to_what_a_polygon_has(y_down):
    one = piece([line_mark(DARTED, label="Front")], y_down=y_down)
    assert sum(corner.angle for corner in one.corners) == pytest.approx(180 * (len(one.corners) - 2))
    tip = next(corner for corner in one.corners if rounded(corner.at) == 90 + 90j)
    assert tip.angle == pytest.approx(360 - 2 * 6.3402, abs=1e-3)


def test_a_round_piece_has_one_edge():
    one = piece([line_mark(Curve.arc(100 + 100j, 60), label="Patch", closed=True)])
    assert one.corners == ()
    (edge,) = one.edges
    assert edge.name == "e1"
    assert edge.length == pytest.approx(2 * 3.14159265 * 60, abs=1e-3)


def test_corners_that_the_plan_does_not_name_keep_their_number():
    one = front(
        "", corners='[pieces.front]\nin-file = "Front"\n[pieces.front.corners]\nsw = [180, 10]\nch = [10, 300]\n'
    )
    assert [corner.name for corner in one.corners] == ["c1", "sw", "c3", "ch"]
    assert [corner.named for corner in one.corners] == [False, True, False, True]
    assert [edge.name for edge in one.edges] == ["e1", "e2", "e3", "e4"]


# Edges of the plan


def test_an_edge_goes_either_way_between_its_corners():
    one = front(
        'waist = ["cf-waist", "side-waist"]\nside = ["side-hem", "side-waist"]\nhem = ["side-hem", "cf-hem"]\n'
        'centre = ["cf-waist", "cf-hem"]'
    )
    assert {edge.name: (edge.length, edge.forward) for edge in one.edges} == {
        "waist": (pytest.approx(WAIST), True),
        "side": (pytest.approx(SIDE), False),
        "hem": (pytest.approx(HEM), True),
        "centre": (pytest.approx(CENTRE), False),
    }
    side = one.edge("side")
    assert (rounded(side.runs[0].start), rounded(side.runs[0].end)) == (230 + 320j, 180 + 10j)
    assert all(edge.named for edge in one.edges)
    assert one.lost_edges == {}


@pytest.mark.parametrize("y_down", [True, False])
def test_the_way_does_not_hang_on_the_axes(y_down):
    one = front('side = ["side-waist", "side-hem"]\nround = ["side-waist", "cf-waist", "cf-hem"]', y_down=y_down)
    assert one.edge("side").length == pytest.approx(SIDE)
    assert one.edge("round").length == pytest.approx(WAIST + CENTRE)
    assert one.edge("side").forward == y_down


def test_an_edge_through_several_corners_is_one_line_with_inner_corners():
    one = front('long = ["cf-waist", "side-waist", "side-hem"]')
    edge = one.edge("long")
    assert edge.length == pytest.approx(WAIST + SIDE)
    assert len(edge.runs) == 1
    assert edge.inner == (("side-waist", pytest.approx(WAIST)),)
    back = front('long = ["side-hem", "side-waist", "cf-waist"]').edge("long")
    assert back.length == pytest.approx(WAIST + SIDE)
    assert back.inner == (("side-waist", pytest.approx(SIDE)),)
    assert not back.forward


def test_an_edge_across_the_first_corner_runs_on():
    edge = front('long = ["cf-hem", "cf-waist", "side-waist"]').edge("long")
    assert edge.length == pytest.approx(CENTRE + WAIST)
    assert edge.inner == (("cf-waist", pytest.approx(CENTRE)),)


def test_an_edge_from_a_corner_to_itself_goes_all_round():
    edge = front('all = ["cf-hem", "cf-hem"]').edge("all")
    assert edge.length == pytest.approx(WAIST + SIDE + HEM + CENTRE)


def test_corners_without_a_name_belong_to_the_edge_they_lie_on():
    text = '[pieces.front]\nin-file = "Front"\n[pieces.front.corners]\na = [0, 0]\nb = [230, 320]\nc = [10, 300]\n'
    one = front('long = ["a", "b"]', corners=text + "[pieces.front.edges]\n")
    edge = one.edge("long")
    assert edge.length == pytest.approx(WAIST + SIDE)
    assert edge.inner == (("c2", pytest.approx(WAIST)),)
    assert [other.name for other in one.edges if not other.named] == ["e3", "e4"]


@pytest.mark.parametrize(
    ("edge", "reason"),
    [
        ('["cf-waist", "side-hem"]', "both ways round pass"),
        ('["side-waist", "cf-hem"]', "both ways round pass"),
    ],
)
def test_an_edge_past_other_corners_both_ways_is_lost(edge, reason):
    one = front(f"long = {edge}")
    assert reason in str(one.lost_edges["long"])
    assert "name a corner in between" in str(one.lost_edges["long"])
    assert len(one.edges) == 4  # what no named edge covers is there by number


def test_an_edge_that_is_free_both_ways_is_lost():
    text = '[pieces.front]\nin-file = "Front"\n[pieces.front.corners]\na = [0, 0]\nb = [230, 320]\n[pieces.front.edges]\n'
    one = front('long = ["a", "b"]', corners=text)
    assert "both ways round are free" in str(one.lost_edges["long"])


def test_a_corner_on_a_smooth_line_cuts_it():
    text = CORNERS.replace("[pieces.front.edges]", "knee = [205, 165]\n[pieces.front.edges]")
    one = front('upper = ["side-waist", "knee"]\nlower = ["knee", "side-hem"]', corners=text)
    assert one.edge("upper").length + one.edge("lower").length == pytest.approx(SIDE)
    assert one.corner("knee").angle == pytest.approx(180)
    assert rounded(one.corner("knee").at) == 205 + 165j


def test_a_name_stands_for_the_corner_beside_it():
    # Coordinates written to the millimetre still mean the corner, not a place beside it.
    text = CORNERS.replace("[180, 10]", "[180.6, 10.4]")
    one = front('waist = ["cf-waist", "side-waist"]', corners=text)
    assert rounded(one.corner("side-waist").at) == 180 + 10j
    assert len(one.corners) == 4


# Notches


def test_notches_are_measured_along_the_edge_in_its_own_direction():
    marks = [tick(FRONT, WAIST + 100), tick(FRONT, WAIST + 200), tick(FRONT, WAIST + 205)]
    down = front('side = ["side-waist", "side-hem"]', more=marks).edge("side")
    up = front('side = ["side-hem", "side-waist"]', more=marks).edge("side")
    assert [(notch.station, notch.count) for notch in down.notches] == [
        (pytest.approx(100), 1),
        (pytest.approx(202.5), 2),
    ]
    assert [(notch.station, notch.count) for notch in up.notches] == [
        (pytest.approx(SIDE - 202.5), 2),
        (pytest.approx(SIDE - 100), 1),
    ]


def test_a_notch_at_a_corner_is_the_corners_own():
    marks = [tick(FRONT, WAIST + 0.3), tick(FRONT, WAIST + 50)]
    one = front('side = ["side-waist", "side-hem"]\nwaist = ["cf-waist", "side-waist"]', more=marks)
    assert [notch.station for notch in one.edge("side").notches] == pytest.approx([50])
    assert one.edge("waist").notches == ()


def test_a_notch_on_an_edge_of_several_legs_counts_from_its_start():
    marks = [tick(FRONT, WAIST + 40)]
    edge = front('long = ["cf-hem", "cf-waist", "side-waist", "side-hem"]', more=marks).edge("long")
    assert [notch.station for notch in edge.notches] == pytest.approx([CENTRE + WAIST + 40])


# Darts


@pytest.mark.parametrize(
    "way", ['["cf-waist", "dart-in", "dart-tip", "dart-out", "side-waist"]', '["cf-waist", "side-waist"]']
)
def test_walking_skips_the_mouth_of_a_dart_drawn_into_the_outline(way):
    marks = [tick(DARTED, 80 + 2 * LEG + 30)]
    one = front(f"waist = {way}", curve=DARTED, corners=DART_CORNERS, after=DART, more=marks)
    edge = one.edge("waist")
    assert [run.length for run in edge.runs] == pytest.approx([80, abs(80 + 10j)])
    assert edge.breaks == (("dart-in", "dart-out"),)
    assert edge.length == pytest.approx(80 + abs(80 + 10j))
    assert [notch.station for notch in edge.notches] == pytest.approx([110])
    assert rounded(edge.point(80 - 1e-9), 4) == 80 + 0j
    (dart,) = one.darts
    assert [leg.length for leg in dart.legs] == pytest.approx([LEG, LEG])
    assert dart.intake == pytest.approx(20)
    assert dart.points == (80 + 0j, 90 + 90j, 100 + 0j)
    assert [(leg.start, leg.end) for leg in dart.legs] == [(80 + 0j, 90 + 90j), (100 + 0j, 90 + 90j)]


def test_walked_back_a_dart_is_skipped_as_well():
    marks = [tick(DARTED, 30), tick(DARTED, 80 + 2 * LEG + 30)]
    way = 'waist = ["side-waist", "dart-out", "dart-tip", "dart-in", "cf-waist"]'
    edge = front(way, curve=DARTED, corners=DART_CORNERS, after=DART, more=marks).edge("waist")
    rest = abs(80 + 10j)
    assert [run.length for run in edge.runs] == pytest.approx([rest, 80])
    assert [(rounded(run.start), rounded(run.end)) for run in edge.runs] == [(180 + 10j, 100 + 0j), (80 + 0j, 0j)]
    assert edge.breaks == (("dart-out", "dart-in"),)
    assert [notch.station for notch in edge.notches] == pytest.approx([rest - 30, rest + 50])


def test_the_legs_of_a_planned_dart_are_no_edges():
    one = front('waist = ["cf-waist", "side-waist"]', curve=DARTED, corners=DART_CORNERS, after=DART)
    assert [edge.name for edge in one.edges if not edge.named] == ["e5", "e6", "e7"]


def test_the_corners_of_a_dart_may_be_named_the_other_way_round():
    after = DART.replace('"dart-in", "dart-tip", "dart-out"', '"dart-out", "dart-tip", "dart-in"')
    one = front('waist = ["cf-waist", "side-waist"]', curve=DARTED, corners=DART_CORNERS, after=after)
    assert one.edge("waist").length == pytest.approx(80 + abs(80 + 10j))
    assert one.darts[0].points == (100 + 0j, 90 + 90j, 80 + 0j)


def test_two_darts_leave_three_runs():
    curve = loop(0j, 40 + 0j, 45 + 80j, 50 + 0j, 100 + 0j, 106 + 70j, 112 + 0j, 180 + 0j, 200 + 300j, 300j)
    text = """
[pieces.front]
in-file = "Front"
[pieces.front.corners]
a = [0, 0]
i1 = [40, 0]
t1 = [45, 80]
o1 = [50, 0]
i2 = [100, 0]
t2 = [106, 70]
o2 = [112, 0]
b = [180, 0]
c = [200, 300]
d = [0, 300]
[pieces.front.edges]
waist = ["a", "b"]
back = ["b", "a"]
"""
    darts = "".join(f'[[darts]]\npiece = "front"\ncorners = ["i{k}", "t{k}", "o{k}"]\n' for k in (1, 2))
    one = front("", curve=curve, corners=text, after=darts)
    assert [run.length for run in one.edge("waist").runs] == pytest.approx([40, 50, 68])
    assert one.edge("waist").breaks == (("i1", "o1"), ("i2", "o2"))
    assert [run.length for run in one.edge("back").runs] == pytest.approx([68, 50, 40])
    assert one.edge("back").breaks == (("o2", "i2"), ("o1", "i1"))


@pytest.mark.parametrize(
    "way", ['["cf-waist", "side-waist"]', '["cf-waist", "dart-in", "dart-tip", "dart-out", "side-waist"]']
)
def test_a_dart_may_be_drawn_inside(way):
    # Two lines from a straight waist to the tip; the outline itself runs on across the mouth.
    curve = loop(0j, 180 + 0j, 230 + 320j, 10 + 300j)
    legs = [line_mark([80 + 0j, 90 + 90j], Role.DART), line_mark([90 + 90j, 100 + 0j], Role.DART)]
    text = DART_CORNERS.replace("[180, 10]", "[180, 0]")
    one = front(f"waist = {way}", curve=curve, corners=text, after=DART, more=legs)
    assert one.unsure == {}
    assert [run.length for run in one.edge("waist").runs] == pytest.approx([80, 80])
    assert one.edge("waist").breaks == (("dart-in", "dart-out"),)
    (dart,) = one.darts
    assert [leg.length for leg in dart.legs] == pytest.approx([LEG, LEG])
    assert one.corner("dart-in").angle == pytest.approx(180)


def test_a_dart_drawn_as_one_line_inside():
    curve = loop(0j, 180 + 0j, 230 + 320j, 10 + 300j)
    legs = [line_mark([80 + 0j, 90 + 90j, 100 + 0j], Role.DART)]
    text = DART_CORNERS.replace("[180, 10]", "[180, 0]")
    one = front('waist = ["cf-waist", "side-waist"]', curve=curve, corners=text, after=DART, more=legs)
    assert [leg.length for leg in one.darts[0].legs] == pytest.approx([LEG, LEG])


# Lines inside a piece


def inside_edge(way="[60, 100]", end="[60, 220]") -> Edge:
    text = CORNERS.replace("[pieces.front.edges]", f"top = {way}\nbottom = {end}\n[pieces.front.edges]")
    line = line_mark([60 + 100j, 60 + 220j], Role.INTERNAL)
    return front('flap = ["top", "bottom"]', corners=text, more=[line]).edge("flap")


def test_an_edge_may_run_along_a_line_inside():
    edge = inside_edge()
    assert edge.inside
    assert edge.length == pytest.approx(120)
    assert (edge.runs[0].start, edge.runs[0].end) == (60 + 100j, 60 + 220j)


def test_an_edge_along_a_line_inside_runs_from_its_first_corner():
    edge = inside_edge(way="[60, 220]", end="[60, 100]")
    assert (edge.runs[0].start, edge.runs[0].end) == (60 + 220j, 60 + 100j)


def test_an_edge_along_part_of_a_line_inside_ends_at_its_corners():
    edge = inside_edge(way="[60, 120]", end="[60, 200]")
    assert edge.length == pytest.approx(80)


def test_an_edge_round_a_closed_line_inside_passes_its_corners_in_order():
    pocket = line_mark(box(80, 100, 50 + 120j), Role.INTERNAL)
    names = {"a": 50 + 120j, "b": 50 + 220j, "c": 130 + 220j, "d": 130 + 120j}
    text = "".join(f"{name} = [{at.real}, {at.imag}]\n" for name, at in names.items())
    corners = CORNERS.replace("[pieces.front.edges]", text + "[pieces.front.edges]")
    one = front(
        'u = ["a", "b", "c", "d"]\nback = ["d", "c", "b", "a"]\nunclear = ["a", "c"]', corners=corners, more=[pocket]
    )
    assert one.edge("u").length == pytest.approx(280)
    assert (one.edge("u").runs[0].start, one.edge("u").runs[0].end) == (50 + 120j, 130 + 120j)
    assert rounded(one.edge("back").runs[0].point(100)) == 130 + 220j
    assert "both ways round; name a corner in between" in str(one.lost_edges["unclear"])


def test_an_edge_between_two_lines_inside_is_lost():
    lines = [line_mark([60 + 100j, 60 + 220j], Role.INTERNAL), line_mark([120 + 100j, 120 + 220j], Role.INTERNAL)]
    corners = CORNERS.replace("[pieces.front.edges]", "p = [60, 100]\nq = [120, 220]\n[pieces.front.edges]")
    one = front('flap = ["p", "q"]', corners=corners, more=lines)
    assert "not on one line inside the piece" in str(one.lost_edges["flap"])


def test_a_line_inside_may_end_on_the_outline():
    text = CORNERS.replace("[pieces.front.edges]", "end = [5, 150]\nmid = [100, 150]\n[pieces.front.edges]")
    line = line_mark([5 + 150j, 100 + 150j], Role.INTERNAL)
    edge = front('slit = ["end", "mid"]', corners=text, more=[line]).edge("slit")
    assert (edge.inside, edge.length) == (True, pytest.approx(95))


@pytest.mark.parametrize(("short_by", "reaches"), [(1.4, True), (1.6, False)])
def test_a_line_inside_reaches_the_outline_that_it_misses_by_a_millimetre_and_a_half(short_by, reaches):
    text = CORNERS.replace("[pieces.front.edges]", "end = [5, 150]\nmid = [100, 150]\n[pieces.front.edges]")
    line = line_mark([5 + short_by + 150j, 100 + 150j], Role.INTERNAL)
    one = front('slit = ["end", "mid"]', corners=text, more=[line])
    assert ("slit" in one.lost_edges) is not reaches
    if reaches:
        assert one.edge("slit").length == pytest.approx(95 - short_by)
    else:
        assert "not on one line inside the piece" in str(one.lost_edges["slit"])


# Pieces that lie elsewhere than in the plan


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("degrees", [0, 90, 37])
def test_a_piece_that_was_moved_turned_or_mirrored_keeps_its_names(degrees, mirrored):
    there = Affine.translation(400 + 50j) @ Affine.rotation(degrees)
    if mirrored:
        there = there @ Affine.from_matrix(-1, 0, 0, 1, 0, 0)
    curve = FRONT.transformed(there)
    one = front('waist = ["cf-waist", "side-waist"]\nside = ["side-waist", "side-hem"]', curve=curve)
    assert one.unsure == {}
    wanted = {"cf-waist": 0j, "side-waist": 180 + 10j, "side-hem": 230 + 320j, "cf-hem": 10 + 300j}
    assert places(one) == {name: pytest.approx(complex(there.apply(at)), abs=1e-4) for name, at in wanted.items()}
    assert one.edge("waist").length == pytest.approx(WAIST)
    assert one.edge("side").length == pytest.approx(SIDE)
    assert one.edge("side").forward is not mirrored


def test_a_corner_without_a_sure_place_loses_its_edges_only():
    # The plan's piece has a corner that the file does not have at all.
    text = CORNERS.replace("[pieces.front.edges]", "vent = [600, 900]\n[pieces.front.edges]")
    one = front('waist = ["cf-waist", "side-waist"]\nslit = ["side-hem", "vent"]', corners=text)
    assert set(one.unsure) == {"vent"}
    assert one.lost_edges["slit"] == one.unsure["vent"]
    assert one.edge("waist").length == pytest.approx(WAIST)


# Which piece of the file is which


def test_pieces_are_found_by_name_whatever_the_case_and_by_pattern():
    marks = [line_mark(FRONT, label="FRONT"), line_mark(box(at=300 + 0j), label="Back 40")]
    text = '[pieces.front]\n[pieces.back]\nin-file = "back*"\n'
    found = pattern(marks, text)
    assert [(one.name, one.in_file) for one in found.pieces] == [("front", "FRONT"), ("back", "Back 40")]


def test_a_pattern_that_fits_two_pieces_is_refused():
    marks = [line_mark(FRONT, label="Front left"), line_mark(box(at=300 + 0j), label="Front right")]
    plan = parse_plan('format = 1\n[pieces.front]\nin-file = "front*"\n', "x.seams.toml")
    with pytest.raises(PlanError, match=r"x.seams.toml, line 2: in-file = \"front\*\" fits 2 pieces"):
        pattern(marks, plan)


def test_an_exact_name_goes_before_a_pattern():
    marks = [line_mark(FRONT, label="Front"), line_mark(box(at=300 + 0j), label="Front facing")]
    found = pattern(marks, '[pieces.front]\nin-file = "Front"\n')
    assert [one.name for one in found.pieces] == ["front", "Front facing"]


def test_a_piece_that_only_bears_the_name_of_a_piece_of_the_plan_is_not_taken_for_it():
    marks = [line_mark(FRONT, label="front"), line_mark(box(at=300 + 0j), label="Back 40")]
    missing = pattern(marks, '[pieces.front]\nin-file = "Forepart"\n')
    assert [(one.name, one.in_file) for one in missing.pieces] == [
        ("front (of the file)", "front"),
        ("Back 40", "Back 40"),
    ]
    swapped = pattern(marks, '[pieces.front]\nin-file = "Back 40"\n')
    assert [(one.name, one.in_file) for one in swapped.pieces] == [
        ("front (of the file)", "front"),
        ("front", "Back 40"),
    ]


def test_which_line_is_drawn_is_told_once():
    unknown = pattern([line_mark(FRONT, label="Front")])
    assert [note.code for note in unknown.notes] == ["line-unknown"]
    assert pattern([line_mark(FRONT, Role.SEW, label="Front")]).notes == ()
    assert pattern([line_mark(FRONT, label="Front")], '[pieces.front]\nline = "sew"\n').notes == ()
    cut = pattern([line_mark(FRONT, Role.CUT, label="Front")])
    assert [note.code for note in cut.notes] == ["cut-line-walked"]


def test_how_far_chords_and_curve_differ_is_kept_by_edge():
    bow = Curve.cubic(0j, 60 - 40j, 120 - 40j, 180 + 0j)
    rest = Curve.polyline([180 + 0j, 180 + 200j, 200j, 0j])
    coarse = Curve.polyline([bow.point(bow.length * k / 6) for k in range(7)])
    mark = line_mark(
        Curve.join([bow, rest]), label="Front", source=LengthSource.SPLINE, chords=Curve.join([coarse, rest])
    )
    one = piece([mark])
    top = one.edges[0]
    assert top.source is LengthSource.SPLINE
    assert top.chord_difference == pytest.approx(bow.length - coarse.length, abs=1e-6)
    assert one.edges[1].chord_difference == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("radius", [1, 3, 5])
def test_a_rounded_corner_has_the_angle_it_had(radius):
    corner_plan = '[pieces.front]\nin-file = "Front"\n[pieces.front.corners]\na = [200, 0]\n'
    arc = Curve.arc(complex(200 - radius, radius), radius, start=-90, sweep=90)
    outline = Curve.join(
        [
            Curve.line(0j, arc.start),
            arc,
            Curve.line(arc.end, 200 + 300j),
            Curve.line(200 + 300j, 300j),
            Curve.line(300j, 0j),
        ]
    )
    for plan in (None, corner_plan):
        one = piece([line_mark(outline, label="Front")], plan)
        assert [corner.angle for corner in one.corners] == pytest.approx([90, 90, 90, 90], abs=1e-4)
