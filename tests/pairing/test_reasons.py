"""Why a seam is proposed: what was measured, in words, each for it or against it."""

import pytest
import solving
from made_pieces import rectangle

from seamcheck.pairing.candidates import Candidate, Kind
from seamcheck.pairing.hints import PairingHint
from seamcheck.pairing.lines import Use
from seamcheck.pairing.reasons import reasons


def skew(name, top, side=400, **more):
    return {"name": name, "outline": [0j, complex(top, 0), complex(top + 40, side), complex(0, side)], **more}


def told(*pieces, first=("Front", 3), second=("Back", 3), kind=Kind.PAIR, hint=None):
    """What is said of two lines walked top to top: words, and whether they speak for it. The last of `skew` is its left side."""
    classes = solving.classes_of(*pieces)

    def use(place):
        part = next(part for part in classes.parts if part.name == place[0])
        return Use(part.lines[place[1]])

    one = Candidate(kind, (use(first),), (use(second),))
    return {why.words: why.weight for why in reasons(classes, one, hint)}


def test_equal_lengths_speak_for_a_seam():
    assert told(skew("Front", 300), skew("Back", 310))["as long as each other to 0.2 mm"] > 0


def test_a_small_difference_is_told_as_ease_and_a_large_one_as_gathers_against_it():
    eased = told(skew("Front", 300), skew("Back", 310, 406))
    assert eased["they differ by 6.0 mm, which must be eased in"] < 0
    gathered = told(skew("Front", 300), skew("Back", 310, 600))
    assert gathered["one is 1.50 times as long as the other and would be gathered or stretched"] < 0


def test_notches_that_meet_speak_for_a_seam_and_those_that_do_not_against_it():
    one = [0 + 150j]
    assert told(skew("Front", 300, notches=one), skew("Back", 310, notches=one))["the notch meets"] > 0
    alone = told(skew("Front", 300, notches=one), skew("Back", 310))
    assert alone["1 notch has no mate"] < 0
    apart = told(skew("Front", 300, notches=one), skew("Back", 310, notches=[0 + 190j]))
    assert apart["2 notches have no mate"] < 0
    two = [0 + 150j, 0 + 260j]
    assert told(skew("Front", 300, notches=two), skew("Back", 310, notches=two))["both notches meet"] > 0


def test_a_piece_with_no_notch_on_either_side_says_nothing_of_notches():
    assert not [words for words in told(skew("Front", 300), skew("Back", 310)) if "notch" in words]


def test_corners_that_add_up_to_a_straight_line_speak_for_a_seam():
    found = told(rectangle("Front", 300, 400), rectangle("Back", 310, 400))
    assert found["the line across runs on at both ends"] > 0
    slanted = {"name": "Front", "outline": [0j, 300 + 60j, 340 + 400j, 0 + 400j]}
    assert told(slanted, rectangle("Back", 310, 400))["the line across runs on at one end"] > 0


def test_words_that_go_hand_in_hand_are_told():
    assert told(skew("Front", 300), skew("Back", 310))["front and back"] > 0
    assert "front and back" not in told(skew("Front", 300), skew("Front yoke", 310), second=("Front yoke", 3))


def test_a_piece_that_is_sewn_to_itself_closes_to_a_ring():
    found = told(rectangle("Front", 300, 400), first=("Front", 1), second=("Front", 3))
    assert found["the piece closes to a ring"] > 0


def test_a_twin_is_as_long_as_itself():
    found = told(skew("Front", 300), second=("Front", 3), kind=Kind.TWIN)
    assert found["it and its mirror twin are as long as each other"] > 0
    assert "as long as each other to 0.2 mm" not in found


def test_what_a_plugin_says_stands_first():
    hint = PairingHint(first="Front.e4", second="-Back.e4", confidence=0.5, why="the shop says so")
    found = told(skew("Front", 300), skew("Back", 310), hint=hint)
    assert next(iter(found)) == "the shop says so"


@pytest.mark.parametrize("seed", range(3))
def test_nothing_is_told_twice(seed):
    solver = solving.solver_of(
        skew("Front", 300, notches=[0 + 150j]), skew("Back", 310 + seed), rectangle("Band", 610, 40)
    )
    for one in solver.candidates:
        words = [reason.words for reason in reasons(solver.classes, one)]
        assert words
        assert len(words) == len(set(words))
