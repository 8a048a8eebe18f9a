"""Where a line may be parted though no notch of its own says so: by notches that stand alike, by two lines as long together."""

import cmath
import math

import pytest
from made_pieces import pattern, rectangle

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Kind, simple
from seamcheck.pairing.lines import survey


def classes_of(*pieces):
    return Classes(*survey(pattern(*pieces).pieces))


def skew(name, top, side, **more):
    return {"name": name, "outline": [0j, complex(top, 0), complex(top + 40, side), complex(0, side)], **more}


def top_of(classes, piece):
    return classes.lines[classes.parts[piece].lines[0]]


def test_a_line_is_parted_where_a_shorter_one_ends_whose_notch_stands_alike():
    classes = classes_of(skew("Long", 500, 300, notches=[80 + 0j]), skew("Short", 180, 90, notches=[80 + 0j]))
    assert top_of(classes, 0).cuts == pytest.approx((180.0,))
    assert top_of(classes, 0).marks == pytest.approx((0.0, 80.0, 180.0, 500.0))


def test_a_notch_that_stands_elsewhere_parts_nothing():
    classes = classes_of(skew("Long", 500, 300, notches=[80 + 0j]), skew("Short", 180, 90, notches=[70 + 0j]))
    assert top_of(classes, 0).cuts == ()


def test_a_line_is_parted_where_two_meet_that_together_are_as_long():
    classes = classes_of(skew("Long", 500, 300), skew("One", 180, 90), skew("Other", 320, 77))
    assert top_of(classes, 0).cuts == pytest.approx((180.0, 320.0))
    found = [
        sorted(round(classes.side(side).length) for side in one.seam)
        for one in simple(classes)
        if one.kind is Kind.STRETCH
    ]
    assert [180, 180] in found
    assert [320, 320] in found


def test_a_line_is_not_parted_where_two_together_are_too_long():
    assert top_of(classes_of(skew("Long", 500, 300), skew("One", 181, 90), skew("Other", 320, 77)), 0).cuts == ()


def test_like_lines_are_parted_alike():
    long = skew("Long", 500, 300, notches=[80 + 0j])
    classes = classes_of(long, {**long, "name": "Long too"}, skew("Short", 180, 90, notches=[80 + 0j]))
    assert top_of(classes, 0).cuts == pytest.approx(top_of(classes, 1).cuts)
    assert top_of(classes, 0).cuts


def test_a_line_that_is_its_own_mirror_image_is_parted_from_both_ends():
    classes = classes_of(rectangle("Band", 500, 40), skew("One", 180, 90), skew("Other", 320, 77))
    assert top_of(classes, 0).cuts == pytest.approx((180.0, 320.0))


def crotch(name):
    """A piece with a seam that runs down and curves out below, 414 mm long, and its square corners above."""
    quarter = [complex(60, 0) + 60 * cmath.rect(1.0, math.radians(180 + 9 * k)) for k in range(11)]
    return {"name": name, "outline": [complex(0, 150), complex(200, 150), complex(230, -60), *reversed(quarter)]}


@pytest.mark.parametrize(("name", "parted"), [("Fly shield", True), ("Sous-patte", True), ("Loop", False)])
def test_a_curved_seam_is_parted_where_a_fly_ends(name, parted):
    classes = classes_of(crotch("Front"), skew(name, 150, 60))
    (line,) = (line for line in classes.lines if line.piece == 0 and abs(line.bend) > 45)
    assert (150.0 in [pytest.approx(at) for at in line.cuts]) == parted


def bag(name, mouth):
    """A piece of which one edge alone is as long as a hand is wide."""
    return {"name": name, "outline": [0j, complex(mouth, 0), complex(mouth + 120, 260), 260j]}


def diamond(name, side):
    half = side / math.sqrt(2.0)
    return {"name": name, "outline": [complex(-half, 0), complex(0, -half), complex(half, 0), complex(0, half)]}


def test_a_seam_is_parted_at_both_ends_of_the_mouth_of_a_pocket_one_of_which_has_a_notch():
    front = skew("Front", 500, 300, notches=[200 + 0j])
    classes = classes_of(front, bag("Pocket bag", 150), skew("Loop", 30, 20))
    assert top_of(classes, 0).cuts == pytest.approx((50.0, 350.0))


def test_a_pocket_is_sewn_in_from_a_corner_to_its_notch_where_no_edge_of_it_is_a_mouth():
    front = skew("Front", 500, 300, notches=[200 + 0j])
    classes = classes_of(front, skew("Pocket bag", 450, 90, notches=[160 + 0j]))
    assert top_of(classes, 0).cuts == pytest.approx((40.0, 360.0))


def test_where_nothing_marks_the_mouth_it_is_looked_for_below_either_end_of_a_side_seam():
    """40 mm below the waist is common practice, from memory."""
    pieces = [skew("Front", 500, 300), skew("Back", 500, 280), bag("Pocket bag", 150)]
    assert top_of(classes_of(*pieces), 0).cuts == pytest.approx((40.0, 190.0, 310.0, 460.0))
    assert not top_of(classes_of(pieces[0], pieces[2]), 0).cuts  # a line that has no like is no side seam
    assert not top_of(classes_of(*pieces[:2], bag("Loop", 150)), 0).cuts
    assert not top_of(classes_of(*pieces[:2], bag("Patch pocket", 150)), 0).cuts  # it is sewn onto the cloth


def test_a_mouth_whose_ends_both_have_notches_is_not_looked_for_elsewhere():
    front = skew("Front", 500, 300, notches=[50 + 0j, 200 + 0j])
    assert not top_of(classes_of(front, skew("Back", 500, 280), bag("Pocket bag", 150)), 0).cuts


@pytest.mark.parametrize(
    ("name", "parted"), [("Gusset", True), ("Kruisje", True), ("Knöchelkeil", True), ("Loop", False)]
)
def test_two_like_lines_are_parted_where_a_gusset_is_let_in_at_their_end(name, parted):
    classes = classes_of(skew("Front", 700, 300), skew("Back", 700, 280), diamond(name, 92))
    assert top_of(classes, 0).cuts == (pytest.approx((92.0, 608.0)) if parted else ())


def test_a_line_that_is_its_own_mirror_image_is_parted_in_the_middle_where_another_is_half_as_long():
    assert top_of(classes_of(rectangle("Cap", 140, 40), skew("Front", 79, 300)), 0).cuts == pytest.approx((70.0,))
    assert not top_of(classes_of(rectangle("Cap", 140, 40), skew("Front", 99, 300)), 0).cuts
