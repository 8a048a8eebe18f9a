"""What may be sewn to what: pairs, stretches between notches, twins, rows; and that no drawing makes too many."""

import numpy as np
import pytest
from made_pieces import pattern, rectangle

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.along import along_ends, ends_along
from seamcheck.pairing.candidates import (
    MOST_DRAWN_UP,
    MOST_ROW_SEAMS,
    MOST_STRETCHES,
    MOST_TO_ROWS,
    Kind,
    Rows,
    simple,
)
from seamcheck.pairing.lines import Use, reach, survey


def classes_of(*pieces):
    return Classes(*survey(pattern(*pieces).pieces))


def skew(name, top, side, **more):
    return {"name": name, "outline": [0j, complex(top, 0), complex(top + 40, side), complex(0, side)], **more}


def lengths(classes, one):
    return tuple(round(classes.side(side).length, 1) for side in one.seam)


def test_every_pair_of_lines_of_two_pieces_is_tried_in_both_directions():
    classes = classes_of(skew("One", 300, 400), skew("Two", 310, 400))
    pairs = [one for one in simple(classes) if one.kind is Kind.PAIR and lengths(classes, one) == (400.0, 400.0)]
    assert {one.second[0].backwards for one in pairs} == {False, True}


def test_lines_that_are_far_from_as_long_as_each_other_are_no_candidates():
    classes = classes_of(skew("One", 300, 400), skew("Two", 20, 2000))
    assert not [one for one in simple(classes) if min(lengths(classes, one)) < 50 < 1000 < max(lengths(classes, one))]


def test_a_stretch_between_notches_is_tried_with_a_line_as_long():
    long = skew("Long", 500, 300, notches=[180 + 0j])
    classes = classes_of(long, skew("Short", 180, 90))
    found = [lengths(classes, one) for one in simple(classes) if one.kind is Kind.STRETCH]
    assert (180.0, 180.0) in [tuple(round(x, 0) for x in pair) for pair in found]


def lone(classes, piece, low, high):
    """The candidates of a piece's first line with its like between two stations."""
    line = classes.parts[piece].lines[0]
    return [
        one
        for one in simple(classes)
        if one.first == one.second
        and one.first[0].line == line
        and [round(at) for at in reach(one.first[0], classes.lines[line])] == [low, high]
    ]


def test_a_stretch_between_notches_is_tried_with_its_like_and_with_another_as_long():
    """So a mitten is sewn round to its like but for the thumb, and a pocket to a seam between its notches."""
    notched = [
        skew("One", 500, 300, notches=[180 + 0j, 320 + 0j]),
        skew("Two", 600, 200, notches=[60 + 0j, 200 + 0j]),
    ]
    classes = classes_of(*notched)
    assert lone(classes, 0, 180, 320)
    found = [one for one in simple(classes) if one.kind is Kind.STRETCH and lengths(classes, one) == (140.0, 140.0)]
    assert {tuple(side[0].line for side in one.seam) for one in found} == {
        (classes.parts[0].lines[0], classes.parts[1].lines[0])
    }


def test_a_line_is_parted_where_another_likely_ends_that_is_sewn_along_it():
    """So a fly facing ends along a crotch that nothing marks."""
    classes = classes_of(skew("Front", 500, 300), skew("Facing", 180, 90))
    front, facing = (classes.parts[piece].lines[0] for piece in (0, 1))
    assert not classes.lines[front].cuts
    tried, candidates = along_ends(classes)
    assert {180, 320} <= {round(at) for at in tried.lines[front].cuts}
    likely = np.array(
        [
            float(one.kind is Kind.STRETCH and one.first[0].line == facing and one.second[0].line == front)
            * (0.5 if one.second[0].low == 0 else 0.1)
            for one in candidates
        ]
    )
    assert [round(at) for at in dict.fromkeys(ends_along(tried, candidates, likely)[front])] == [180, 320]
    assert not ends_along(tried, candidates, np.zeros(len(candidates)))


def test_a_row_turns_two_corners_of_a_piece_and_no_third():
    """So a strip goes round three sides of a box; round all of it goes no row of lines that no seam joins."""
    one = classes_of(skew("One", 300, 400)).lines
    three, four = sum(line.length for line in one[:3]), sum(line.length for line in one)
    classes = classes_of(skew("One", 300, 400), rectangle("Three", three, 40), rectangle("Four", four, 60))
    rows = Rows(classes, simple(classes), np.zeros(len(simple(classes)))).candidates()
    found = {lengths(classes, one) for one in rows}
    assert (round(three, 1), round(three, 1)) in found
    assert (round(four, 1), round(four, 1)) not in found


def test_a_row_goes_on_across_a_likely_seam():
    front, back = skew("Front", 200, 700), skew("Back", 240, 700)
    classes = classes_of(front, back, rectangle("Band", 440, 40))
    first = simple(classes)
    front_side, back_side = classes.parts[0].lines[-1], classes.parts[1].lines[-1]
    likely = np.array(
        [
            float(
                one.kind is Kind.PAIR and {use.line for side in one.seam for use in side} == {front_side, back_side}
            )
            for one in first
        ]
    )
    rows = Rows(classes, first, likely).candidates()
    waists = {classes.parts[0].lines[0], classes.parts[1].lines[0]}
    mates = [one for one in rows if {use.line for use in one.first} == waists]
    assert any(lengths(classes, one) == pytest.approx((440.0, 440.0)) for one in mates)
    assert all(one.links for one in mates)


def test_an_opening_is_tried_with_what_is_stretched_on_it():
    front, back = skew("Front", 300, 700), skew("Back", 340, 700)
    classes = classes_of(front, back, rectangle("Ribbing", 470, 40))
    first = simple(classes)
    sides = {classes.parts[0].lines[-1], classes.parts[1].lines[-1]}
    joins = [{use.line for side in one.seam for use in side} == sides and one.kind is Kind.PAIR for one in first]
    rows = Rows(classes, first, np.array(joins, dtype=float)).candidates()
    assert any(lengths(classes, one) == pytest.approx((640.0, 470.0)) for one in rows)


def joined_at(classes, first, *sides):
    """How likely candidates are when lines are sewn to each other and nothing else is."""
    return np.array(
        [
            float(one.kind is Kind.PAIR and {use.line for side in one.seam for use in side} == set(sides))
            for one in first
        ]
    )


def test_a_line_is_parted_where_a_row_ends_inside_it_that_is_as_long_as_a_band():
    """So a collar begins inside the edge of a neck, whose lap is free."""
    front, back = skew("Front", 158, 700), skew("Back", 92, 700)
    classes = classes_of(front, back, rectangle("Collar", 223, 60))
    first = simple(classes)
    shoulder = classes.parts[0].lines[-1], classes.parts[1].lines[-1]
    places = Rows(classes, first, joined_at(classes, first, *shoulder)).ends_inside()
    assert 223.0 - 92.0 in [pytest.approx(at) for at in places[classes.parts[0].lines[0]]]
    parted = classes.parted(places, 2)
    assert any(cut == pytest.approx(131.0) for cut in parted.lines[classes.parts[0].lines[0]].cuts)
    assert not Rows(classes, first, np.zeros(len(first))).ends_inside()


def test_a_row_goes_on_across_a_seam_of_which_only_a_stretch_is_sewn():
    """A side seam is open where a pocket is; the waist goes on across what is sewn above it."""
    front, back = (skew(name, top, 700, notches=[60j]) for name, top in (("Front", 200), ("Back", 240)))
    classes = classes_of(front, back, rectangle("Band", 440, 40))
    first = simple(classes)
    sides = {classes.parts[0].lines[-1], classes.parts[1].lines[-1]}
    likely = np.zeros(len(first))
    for k, one in enumerate(first):
        uses = [use for side in one.seam for use in side]
        above = all(round(classes.side((use,)).length) == 60 for use in uses)
        likely[k] = float(one.kind is Kind.STRETCH and {use.line for use in uses} == sides and above)
    assert likely.sum() > 0
    rows = Rows(classes, first, likely).candidates()
    waists = {classes.parts[0].lines[0], classes.parts[1].lines[0]}
    assert any({use.line for use in one.first} == waists and one.links for one in rows)


def test_a_ring_of_unlike_lines_is_walked_once():
    classes = classes_of(
        skew("Front", 200, 700, cut="Cut 2"), skew("Back", 240, 700, cut="Cut 2"), rectangle("Rib", 880, 40)
    )
    first = simple(classes)
    sides = [{classes.parts[piece].lines[k] for piece in (0, 1)} for k in (1, -1)]
    joins = [one.kind is Kind.PAIR and {use.line for side in one.seam for use in side} in sides for one in first]
    rows = Rows(classes, first, np.array(joins, dtype=float)).candidates()
    waists = {classes.parts[piece].lines[0] for piece in (0, 1)}
    found = [side for one in rows for side in one.seam if {use.line for use in side} == waists]
    assert found
    assert all(side.count(side[0]) == 1 for side in found)


def test_a_line_is_not_parted_for_a_strip_that_is_stretched_on_it():
    classes = classes_of(skew("Front", 158, 700), skew("Back", 92, 700), rectangle("Rib", 223, 60))
    first = simple(classes)
    shoulder = classes.parts[0].lines[-1], classes.parts[1].lines[-1]
    assert not Rows(classes, first, joined_at(classes, first, *shoulder)).ends_inside()


def test_a_row_goes_on_into_the_other_half_at_a_fold():
    half = rectangle("Yoke", 220, 120, cut="Cut 1 on fold")
    classes = classes_of(half, rectangle("Band", 440, 40))
    if not any(line.fold for line in classes.lines):
        pytest.skip("the half has no fold line of its own")
    rows = Rows(classes, simple(classes), np.zeros(len(simple(classes)))).candidates()
    assert any(one.first[0].turned() == one.first[-1] for one in rows)


def test_there_are_never_more_candidates_than_the_budget():
    panels = [skew(f"P{k}", 300 + k, 400 + 2 * k, notches=[60 + 0j, 120 + 0j, 200 + 0j]) for k in range(24)]
    classes = classes_of(*panels)
    first = simple(classes)
    rows = Rows(classes, first, np.ones(len(first))).candidates()
    assert sum(one.kind is Kind.STRETCH for one in first) <= MOST_STRETCHES
    assert len(rows) <= 2 * (MOST_ROW_SEAMS + MOST_DRAWN_UP + MOST_TO_ROWS)


def test_the_atoms_of_a_mirror_image_are_those_of_its_class():
    panel = rectangle("Panel", 300, 400, notches=[0 + 100j, 300 + 100j])
    classes = classes_of(panel)
    left = next(k for k in range(4) if abs(classes.lines[k].middle.real) < 1)
    right = next(k for k in classes.members[classes.root(left)] if k != left)

    upper = Use(left, False, len(classes.lines[left].marks) - 2, -1)
    mirrored = classes.like(upper, right, flipped=classes.group[left][1] ^ classes.group[right][1])
    assert classes.atoms(upper) == classes.atoms(mirrored)
