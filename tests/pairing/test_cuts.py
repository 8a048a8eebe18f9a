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
