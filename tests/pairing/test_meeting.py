"""Which candidates belong together: what closes a corner, what joins a row, what sews the same two pieces."""

import numpy as np
import pytest
from made_pieces import pattern, rectangle

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Candidate, Kind, Rows, sides_of, simple
from seamcheck.pairing.lines import Use, survey
from seamcheck.pairing.meeting import between, closing, joined, parted


@pytest.fixture(scope="module")
def legs():
    """Two pieces whose sides and waists may be sewn, and their candidates."""

    def skew(name, top):
        return {"name": name, "outline": [0j, complex(top, 0), complex(top + 40, 700), complex(0, 650)]}

    classes = Classes(*survey(pattern(skew("Front", 200), skew("Back", 210)).pieces))
    return classes, simple(classes)


def pair(classes, candidates, first, second, *, turned=True):
    """The number of the candidate of two lines by their place on the two pieces."""
    lines = {classes.parts[0].lines[first], classes.parts[1].lines[second]}
    return next(
        k
        for k, one in enumerate(candidates)
        if one.kind is Kind.PAIR
        and {one.first[0].line, one.second[0].line} == lines
        and (one.first[0].backwards != one.second[0].backwards) == turned
    )


def test_the_lines_beyond_both_ends_of_a_seam_close_its_corners(legs):
    classes, candidates = legs
    # The side of one lies on the side of the other, mirrored: beyond lie the tops and the hems.
    side = pair(classes, candidates, 1, 3)
    tops, hems = pair(classes, candidates, 0, 0), pair(classes, candidates, 2, 2)
    found = {(k // 2, number) for k, number in closing(classes, sides_of(candidates)).tolist()}
    assert (side, tops) in found
    assert (side, hems) in found
    assert (tops, side) in found


def test_the_same_lines_the_other_way_close_no_corner(legs):
    classes, candidates = legs
    side = pair(classes, candidates, 1, 3)
    wrong = pair(classes, candidates, 0, 0, turned=False)
    found = {(k // 2, number) for k, number in closing(classes, sides_of(candidates)).tolist()}
    assert (side, wrong) not in found


def test_seams_of_two_pieces_are_told_apart_by_the_hands_that_lie_up(legs):
    classes, candidates = legs
    groups = between(classes, sides_of(candidates))
    one, other = pair(classes, candidates, 1, 3), pair(classes, candidates, 3, 1)
    flipped = pair(classes, candidates, 1, 1, turned=False)
    assert groups[one].tolist() == groups[other].tolist()
    assert groups[one].tolist() == groups[flipped][::-1].tolist()


def test_a_row_is_told_of_what_joins_its_lines():
    def skew(name, top):
        return {"name": name, "outline": [0j, complex(top, 0), complex(top + 40, 700), complex(0, 700)]}

    classes = Classes(*survey(pattern(skew("Front", 200), skew("Back", 240), rectangle("Band", 440, 40)).pieces))
    first = simple(classes)
    rows = Rows(classes, first, np.full(len(first), 0.5)).candidates()
    found = joined([*first, *rows])
    assert len(found) == sum(len(one.links) for one in rows) > 0
    assert (found[:, 0] >= len(first)).all()
    assert (found[:, 1] < len(first)).all()


def test_a_row_that_walks_a_line_twice_is_not_said_by_the_line_alone():
    # A lid as long as two panels: two panels and two lids sewn to one another say each time two panels to one lid.
    classes = Classes(*survey(pattern(rectangle("Panel", 94, 183, cut="Cut 6"), rectangle("Lid", 188, 258)).pieces))
    panel, lid = (Use(classes.parts[k].lines[0]) for k in (0, 1))
    alone = Candidate(Kind.PAIR, (panel,), (lid,))
    row = Candidate(Kind.ROW, (panel, panel), (lid,))
    both = Candidate(Kind.ROW, (panel, panel, panel, panel), (lid, lid))
    assert parted(classes, [alone, row, both]) == ((2, (1, 1)),)
    assert parted(classes, [alone, both]) == ()
