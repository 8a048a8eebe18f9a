import numpy as np
import pytest

from seamcheck.pairing import evidence
from seamcheck.pairing.lines import Side, Use
from seamcheck.pairing.names import kinship, words_of


def points(terms):
    return sum(term.points for term in terms)


def side(length, *, notches=(), angles=(90.0, 90.0), joints=(), profile=None, straight=True):
    return Side(
        uses=(Use(0),), length=length, notches=tuple(notches), joints=tuple(joints), angles=angles, bend=0.0 if straight else 60.0,
        profile=np.zeros(25) if profile is None else profile, straight=straight,
    )  # fmt: skip


def arc(depth):
    return depth * (1 - np.linspace(-1, 1, 25) ** 2)


def test_equal_odd_lengths_tell_more_than_equal_round_ones():
    odd, even = evidence.length_terms(783.31, 783.31), evidence.length_terms(780.0, 780.0)
    assert points(odd) > points(even) > 0


def test_equal_lengths_of_copies_tell_next_to_nothing():
    assert (
        points(evidence.length_terms(400.0, 400.0, explained="copies"))
        < points(evidence.length_terms(400.0, 400.0)) / 2
    )


@pytest.mark.parametrize("inches", [1 / 8, 1 / 4, 3 / 8, 1 / 2, 5 / 8])
def test_an_amount_that_hands_alter_by_does_not_speak_against_a_seam(inches):
    (term,) = evidence.length_terms(800.0, 800.0 + 25.4 * inches)
    assert term.points > 0
    assert "alteration" in term.words


def test_a_chance_of_equal_lengths_is_what_random_lengths_show():
    # Lengths drawn evenly over a stretch as wide as SPREAD says: how many lie within a band of one among them.
    length = 612.34
    low = 0.6 * length
    drawn = np.random.default_rng(1).uniform(low, low + evidence.SPREAD * length, 400_000)
    share = float(np.mean(np.abs(drawn - length) < 1.0))
    assert evidence.by_chance(2.0, length) == pytest.approx(share, rel=0.1)


def test_no_length_difference_costs_more_than_names_notches_and_angles_bring():
    worst = min(points(evidence.length_terms(100.0, 100.0 + d)) for d in np.linspace(0.0, 900.0, 500))
    assert worst >= -4.0
    mine, theirs = (
        side(n, notches=[(120.0, 1), (200.0, 2)], angles=a)
        for n, a in ((500.0, (70.0, 90.0)), (620.0, (110.0, 90.0)))
    )
    for_it = points(evidence.notch_terms(mine, theirs)) + points(evidence.angle_terms(mine, theirs))
    for_it += kinship(words_of("Front", (), {}), words_of("Back", (), {}))[0]
    assert for_it + points(evidence.length_terms(500.0, 620.0)) > 3.0


def test_notches_match_from_either_end_and_by_their_count():
    mine = side(500.0, notches=[(100.0, 1), (400.0, 1)])
    grown_between = side(506.35, notches=[(100.0, 1), (406.35, 1)])
    other_count = side(500.0, notches=[(100.0, 2), (400.0, 2)])
    assert points(evidence.notch_terms(mine, grown_between)) > 4.0
    assert points(evidence.notch_terms(mine, other_count)) < 0


def test_a_notch_where_the_pieces_of_the_other_side_meet_speaks_for_the_seam():
    band, waist = side(400.0, notches=[(180.0, 1)]), side(400.0, joints=[180.0])
    assert points(evidence.notch_terms(waist, band)) > 2.0


def test_corners_that_make_a_straight_line_tell_more_than_square_ones():
    slanting = evidence.angle_terms(side(100.0, angles=(70.0, 90.0)), side(100.0, angles=(110.0, 90.0)))
    square = evidence.angle_terms(side(100.0), side(100.0))
    assert points(slanting) > points(square) > 0
    assert points(evidence.angle_terms(side(100.0, angles=(60.0, 60.0)), side(100.0, angles=(60.0, 60.0)))) < 0


def test_a_full_curve_fits_a_hollow_one_and_not_a_straight_line():
    full = side(400.0, profile=arc(60.0), straight=False)
    hollow = side(400.0, profile=-arc(60.0), straight=False)
    (fits,) = evidence.shape_terms(full, hollow)
    assert fits.points > 2.0
    assert "fits" in fits.words
    assert points(evidence.shape_terms(full, side(400.0))) < 0


@pytest.mark.parametrize(
    ("front", "back"),
    [
        ("Front", "Back"),
        ("Vorderteil", "Rückenteil"),
        ("Devant", "Dos"),
        ("Delantero", "Espalda"),
        ("Davanti", "Dietro"),
        ("Voorpand", "Achterpand"),
    ],
)
def test_front_and_back_are_kin_in_six_languages(front, back):
    assert kinship(words_of(front, (), {}), words_of(back, (), {}))[0] > 2.0


@pytest.mark.parametrize(
    ("name", "kind"),
    [("Hosenbund", "band"), ("Ceinture", "band"), ("Ärmel", "sleeve"), ("Manica", "sleeve"), ("Bolsillo", "pocket"), ("Taschenbeutel", "pocket"),
     ("Kraag", "collar"), ("Belt loop", "loop"), ("Facing front", "facing"), ("Fond", "base"), ("", "")],
)  # fmt: skip
def test_kinds_of_pieces_are_told_by_their_names(name, kind):
    assert words_of(name, (), {}).kind == kind


@pytest.mark.parametrize(
    ("text", "copies", "fold"),
    [("Cut 2", 2, False), ("2x zuschneiden", 2, False), ("Couper 4", 4, False), ("Cut 1 on fold", 1, True), ("1x im Stoffbruch", 1, True),
     ("Cortar 1 al doblez", 1, True), ("Tagliare 1 sulla piega", 1, True), ("1x knippen aan de stofvouw", 1, True)],
)  # fmt: skip
def test_cut_quantities_and_folds_are_read_from_words(text, copies, fold):
    words = words_of("Front", (text,), {})
    assert (words.copies, words.on_fold) == (copies, fold)


def test_a_sleeve_is_not_sewn_to_a_pocket():
    assert kinship(words_of("Sleeve", (), {}), words_of("Pocket", (), {}))[0] < -1.0
