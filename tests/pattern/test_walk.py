import pytest
from pattern_making import box, graph, line_mark, loop, tick

from seamcheck.pattern.walk import CORNER_REACH, FAR, beyond, end_name, notch_name, walk, walk_seams

LENGTH = 400.0


def strip(name, notches, at, length=LENGTH, counts=None):
    """A piece whose right side is sewn: notches at stations from its top, some of them double."""
    curve = box(100, length, at)
    marks = [line_mark(curve, label=name)]
    for station in notches:
        for k in range((counts or {}).get(station, 1)):
            count = (counts or {}).get(station, 1)
            marks.append(tick(curve, 100 + station + 5 * (k - (count - 1) / 2)))
    corners = {"tl": at, "tr": at + 100, "br": at + complex(100, length), "bl": at + complex(0, length)}
    lines = "".join(f"{corner} = [{p.real}, {p.imag}]\n" for corner, p in corners.items())
    return marks, (
        f"[pieces.{name}]\n[pieces.{name}.corners]\n{lines}"
        f'[pieces.{name}.edges]\nside = ["tr", "br"]\nup = ["br", "tr"]\ntop = ["tl", "tr"]\n'
    )


def walked(first, second, more="", lengths=(LENGTH, LENGTH), counts=({}, {}), sew=("front.side", "back.side")):
    a, plan_a = strip("front", first, 0j, lengths[0], counts[0])
    b, plan_b = strip("back", second, 300 + 0j, lengths[1], counts[1])
    seam = f'[[seams]]\nname = "side"\nsew = ["{sew[0]}", "{sew[1]}"]\n{more}\n'
    (only,) = walk_seams(graph(a + b, plan_a + plan_b + seam))
    return only


def stations(marks):
    return [round(mark.station, 6) for mark in marks]


# Lengths


@pytest.mark.parametrize(
    ("amount", "allowed", "outside"),
    [
        (0, (0, 0), 0),
        (3, (0, 6), 0),
        (-1, (0, 6), -1),
        (8, (0, 6), 2),
        (6, (0, 6), 0),
        (-9, (-6, -4), -3),
        (-1, (-6, -4), 3),
    ],
)
def test_what_lies_outside_a_range_counts_from_its_nearest_end(amount, allowed, outside):
    assert beyond(amount, allowed) == outside


def test_equal_sides_have_no_difference():
    walk_ = walked([], [])
    assert walk_.difference == pytest.approx(0)
    assert walk_.allowed == (0.0, 0.0)
    assert walk_.deviation == 0.0
    assert walk_.name == "side"


@pytest.mark.parametrize(
    ("ease", "deviation"), [("[0, 6]", 0), ("4", 0), ("2.5", 1.5), ("[-6, 0]", 4), ("[5, 8]", -1)]
)
def test_the_difference_is_first_minus_second_and_ease_is_its_range(ease, deviation):
    walk_ = walked([], [], f"ease = {ease}", lengths=(404, 400))
    assert walk_.difference == pytest.approx(4)
    assert walk_.deviation == pytest.approx(deviation)


@pytest.mark.parametrize(
    ("ratio", "deviation"), [("[1.9, 2.1]", 0), ("2", 0), ("[2.05, 2.1]", -20), ("[1.5, 1.95]", 20)]
)
def test_a_ratio_is_first_over_second(ratio, deviation):
    walk_ = walked([], [], f"ratio = {ratio}", lengths=(800, 400))
    assert walk_.deviation == pytest.approx(deviation)


def test_several_edges_in_a_row_add_up_and_may_be_walked_backwards():
    a, plan_a = strip("front", [60], 0j)
    b, plan_b = strip("back", [70], 300 + 0j)
    mark, plan_c = strip("band", [60, LENGTH + 330], 600 + 0j, 2 * LENGTH)
    seam = '[[seams]]\nname = "row"\nsew = [["front.side", "-back.side"], "band.side"]\n'
    (only,) = walk_seams(graph([*a, *b, *mark], plan_a + plan_b + plan_c + seam))
    assert only.difference == pytest.approx(0)
    # The back's notch lies 330 from its other end, so 730 along the row; the band's joint mate is none.
    assert stations(match.first for match in only.matches) == [60, 730]
    assert [match.off for match in only.matches] == pytest.approx([0, 0])


@pytest.mark.parametrize("shift", [0, 4, -4])
def test_ease_is_allowed_only_where_the_plan_puts_it(shift):
    """The notches at which it begins and ends lie elsewhere by a little in another size."""
    more = f"ease = [0, 9]\nease-between = [{100 + shift}, {250 + shift}]"
    inside = walked([100, 256], [100, 250], more, lengths=(406, 400))
    assert [span.deviation for span in inside.spans] == pytest.approx([0, 0, 0])
    assert [match.off for match in inside.matches] == pytest.approx([0, 0])
    below = walked([100, 250], [100, 250], more, lengths=(406, 400))
    assert below.deviation == 0
    assert [span.deviation for span in below.spans] == pytest.approx([0, 0, 6])


def test_a_twin_seam_is_not_walked():
    walk_ = walked([100], [], sew=("front.side", "front.side"))
    assert (walk_.matches, walk_.alone, walk_.spans) == ((), ((), ()), ())


# Notches


def test_notches_at_the_same_stations_match():
    walk_ = walked([100, 250], [100, 250])
    assert [match.off for match in walk_.matches] == pytest.approx([0, 0])
    assert walk_.alone == ((), ())


def test_an_edge_walked_backwards_counts_from_its_other_end():
    walk_ = walked([100, 250], [150, 300], sew=("front.side", "-back.side"))
    assert [(m.first.station, m.second.station) for m in walk_.matches] == [
        (pytest.approx(100), pytest.approx(100)),
        (pytest.approx(250), pytest.approx(250)),
    ]


def test_an_edge_named_from_its_other_corner_is_the_same_walk():
    walk_ = walked([100, 250], [100, 250], sew=("front.side", "-back.up"))
    assert [match.off for match in walk_.matches] == pytest.approx([0, 0])


@pytest.mark.parametrize("gone", [0, 1, 2])
def test_a_missing_notch_leaves_the_right_one_alone(gone):
    all_three = [80, 200, 320]
    rest = [station for k, station in enumerate(all_three) if k != gone]
    walk_ = walked(all_three, rest)
    assert stations(walk_.alone[0]) == [all_three[gone]]
    assert walk_.alone[1] == ()
    assert len(walk_.matches) == 2
    assert stations(walked(rest, all_three).alone[1]) == [all_three[gone]]


def test_an_extra_notch_beside_another_is_the_one_left_alone():
    walk_ = walked([200], [200, 225])
    assert stations(walk_.alone[1]) == [225]
    assert walk_.matches[0].off == pytest.approx(0)


@pytest.mark.parametrize(("slip", "matched"), [(5, True), (-12, True), (FAR - 0.5, True), (FAR + 0.5, False)])
def test_a_moved_notch_is_still_the_mate_within_reach(slip, matched):
    walk_ = walked([200], [200 + slip])
    if matched:
        assert walk_.matches[0].off == pytest.approx(-slip)
    else:
        assert walk_.matches == ()
        assert stations(walk_.alone[0]) == [200]
        assert stations(walk_.alone[1]) == [200 + slip]


def test_matches_never_cross():
    walk_ = walked([190, 210], [210, 190])
    assert [match.off for match in walk_.matches] == pytest.approx([0, 0])


def test_a_single_notch_may_meet_a_double_one():
    walk_ = walked([200], [200], counts=({}, {200: 2}))
    (match,) = walk_.matches
    assert (match.first.count, match.second.count) == (1, 2)
    assert match.off == pytest.approx(0)


def test_a_double_notch_seeks_the_double_one():
    # Both are within reach; like goes with like.
    walk_ = walked([200], [198, 225], counts=({200: 2}, {225: 2}))
    assert [mark.count for mark in walk_.alone[1]] == [2]
    walk_ = walked([210], [207, 222], counts=({210: 2}, {222: 2}))
    assert walk_.matches[0].off == pytest.approx(3)
    walk_ = walked([212], [200, 222], counts=({212: 2}, {222: 2}))
    assert walk_.matches[0].second.count == 2


def test_where_the_sides_differ_notches_are_right_from_either_end():
    # 6 mm were cut out between the notches: the upper one is right from the top, the lower one from the hem.
    walk_ = walked([100, 300], [100, 294], lengths=(400, 394))
    assert [match.off for match in walk_.matches] == pytest.approx([0, 0])
    assert [match.from_start for match in walk_.matches] == pytest.approx([0, 6])
    assert [match.from_end for match in walk_.matches] == pytest.approx([-6, 0])


def test_a_notch_beyond_what_the_difference_explains_has_moved():
    walk_ = walked([100], [105], lengths=(400, 406))
    assert walk_.matches[0].off == 0  # lengthened by 6 somewhere; 5 of it above the notch
    walk_ = walked([100], [109], lengths=(400, 406))
    assert walk_.matches[0].off == pytest.approx(-3)
    walk_ = walked([100], [97], lengths=(400, 406))
    assert walk_.matches[0].off == pytest.approx(3)


def test_planned_ease_moves_no_notch():
    walk_ = walked([104], [100], "ease = [0, 6]", lengths=(406, 400))
    assert walk_.matches[0].off == 0
    assert walked([108], [100], "ease = [0, 6]", lengths=(406, 400)).matches[0].off == pytest.approx(2)


def test_with_a_ratio_notches_share_it():
    walk_ = walked([200, 500], [100, 250], "ratio = 2", lengths=(800, 400))
    assert [match.off for match in walk_.matches] == pytest.approx([0, 0])


# The joint of two edges as a mate


def jointed(notches, split=200.0):
    """A band with notches, on two pieces whose joint lies `split` along."""
    a, plan_a = strip("front", [], 0j, split)
    b, plan_b = strip("back", [], 300 + 0j, LENGTH - split)
    mark, plan_c = strip("band", notches, 600 + 0j)
    seam = '[[seams]]\nname = "waist"\nsew = ["band.side", ["front.side", "back.side"]]\n'
    (only,) = walk_seams(graph([*a, *b, *mark], plan_a + plan_b + plan_c + seam))
    return only


def test_a_side_seam_is_the_mate_of_a_notch_on_the_band():
    walk_ = jointed([200])
    (match,) = walk_.matches
    assert match.second.joint
    assert match.off == pytest.approx(0)
    assert walk_.alone == ((), ())


def test_a_notch_near_the_side_seam_is_meant_for_it():
    assert jointed([203]).matches[0].off == pytest.approx(3)
    far = jointed([200 + CORNER_REACH + 1])
    assert far.matches == ()
    assert len(far.alone[0]) == 1


def test_a_joint_without_a_notch_is_no_fault():
    walk_ = jointed([])
    assert walk_.alone == ((), ())


# Spans


def test_spans_lie_between_matched_notches():
    walk_ = walked([100, 250], [100, 250])
    assert [span.first for span in walk_.spans] == pytest.approx([100, 150, 150])
    assert [span.difference for span in walk_.spans] == pytest.approx([0, 0, 0])


def test_a_span_tells_where_a_difference_lies():
    walk_ = walked([100, 300], [100, 294], lengths=(400, 394))
    assert [span.deviation for span in walk_.spans] == pytest.approx([0, 6, 0])
    middle = walk_.spans[1]
    assert str(middle.before) == "the notch 100 mm from tr"
    assert str(middle.after) == "the notch 100 mm from br"
    assert middle.at == pytest.approx(400 + 197j)  # on the back, which is short


def test_a_span_is_placed_on_whichever_side_is_short():
    middle = walked([100, 294], [100, 300], lengths=(394, 400)).spans[1]
    assert middle.deviation == pytest.approx(-6)
    assert middle.at == pytest.approx(100 + 197j)


def test_ease_may_lie_in_any_one_stretch_but_not_more_than_all_of_it():
    walk_ = walked([100, 306], [100, 300], "ease = [0, 6]", lengths=(406, 400))
    assert [span.deviation for span in walk_.spans] == pytest.approx([0, 0, 0])
    walk_ = walked([100, 309], [100, 300], "ease = [0, 6]", lengths=(406, 400))
    assert [span.deviation for span in walk_.spans] == pytest.approx([0, 3, -3])


def test_each_stretch_of_a_gathered_seam_has_its_share():
    walk_ = walked([200, 520], [100, 250], "ratio = [1.9, 2.1]", lengths=(800, 400))
    assert [span.deviation for span in walk_.spans] == pytest.approx([0, 320 - 315, 280 - 285])


def test_without_notches_the_whole_is_one_span():
    (span,) = walked([], [], lengths=(403, 400)).spans
    assert (span.first, span.second, span.difference) == (pytest.approx(403), pytest.approx(400), pytest.approx(3))


# Words


def test_ends_and_notches_are_named_by_what_the_plan_calls_the_corners():
    walk_ = walked([100, 300], [100, 300], counts=({300: 2}, {300: 2}))
    assert end_name(walk_.seam, 0) == "tr"
    assert end_name(walk_.seam, -1) == "br"
    assert [str(notch_name(walk_.seam, match)) for match in walk_.matches] == [
        "the notch 100 mm from tr",
        "the double notch 100 mm from br",
    ]
    assert end_name(walked([], [], sew=("front.side", "-back.side")).seam, 0) == "tr / br"


def test_walking_twice_gives_the_same():
    walk_ = walked([100, 250, 300], [97, 250, 310], counts=({250: 2}, {}))
    assert walk(walk_.seam) == walk_


def test_a_closed_dart_shifts_no_notch():
    """The notch behind a dart counts with the dart closed."""
    waist = loop(0j, 90 + 0j, 100 + 90j, 110 + 0j, 220 + 0j, 220 + 300j, 300j)
    notch = tick(waist, float(waist.joint_stations[3]) + 60)
    mark, plan_c = strip("band", [150], 600 + 0j, 200)
    text = """
[pieces.back]
[pieces.back.corners]
cw = [0, 0]
in = [90, 0]
tip = [100, 90]
out = [110, 0]
sw = [220, 0]
sh = [220, 300]
ch = [0, 300]
[pieces.back.edges]
waist = ["cw", "sw"]
"""
    seam = '[[darts]]\npiece = "back"\ncorners = ["in", "tip", "out"]\n[[seams]]\nname = "waist"\nsew = ["back.waist", "band.side"]\n'
    (only,) = walk_seams(graph([line_mark(waist, label="back"), notch, *mark], text + plan_c + seam))
    assert only.difference == pytest.approx(0)
    assert [match.off for match in only.matches] == pytest.approx([0])
    assert only.matches[0].first.station == pytest.approx(150)
