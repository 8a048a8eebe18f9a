"""Runs of numbers whose steps are worked out by hand."""

import random

import pytest

from seamcheck.geometry.evenness import uneven


def told(values, positions=None, least=0.8):
    found = uneven(positions or range(len(values)), values, least)
    return [(one.index, "out" if one.out else "jump", round(one.deviation, 3)) for one in found]


@pytest.mark.parametrize(
    "values",
    [
        [0, 10, 20, 30, 40],
        [5, 5, 5, 5],
        [40, 30, 20, 10],
        [0, 10, 30, 50, 60],  # twice its neighbour, and half of it
        [0, 8, 20, 38],
        [38.0, 38.5, 38.1, 38.6],  # within what is asked for
        [0, 100],
        [7],
        [],
    ],
)
def test_even_runs_are_even(values):
    assert told(values) == []


def test_a_size_that_is_out_is_named_by_what_its_neighbours_allow():
    # Steps 16.35 and 3.65 of 20 in all: at most twice one another would be 13.33 and 6.67.
    assert told([0, 10, 26.35, 30, 40]) == [(2, "out", round(26.35 - 10 - 40 / 3, 3))]
    (one,) = uneven(range(5), [0, 10, 26.35, 30, 40], 0.8)
    assert (one.before, one.after, one.even) == (1, 3, 20)


def test_a_size_out_of_a_measure_that_does_not_grow():
    assert told([38, 38, 38, 44, 38]) == [(3, "out", 6)]
    assert told([0, 6, 0]) == [(1, "out", 6)]


def test_the_first_or_the_last_size_can_be_out():
    # The next step is 10, so this one may be 5 to 20.
    assert told([7, 10, 20, 30]) == [(0, "out", 2)]
    assert told([0, 10, 20, 60]) == [(3, "out", 20)]
    (one,) = uneven(range(4), [7, 10, 20, 30], 0.8)
    assert (one.before, one.after, one.even) == (None, 1, 0)


def test_a_size_that_was_copied_is_out():
    assert told([0, 10, 20, 20, 40, 50]) == [(3, "out", round(20 - 20 - 20 / 3, 3))]


def test_where_the_grade_changes_is_a_jump_and_told_once():
    assert told([0, 2, 4, 6, 16, 26, 36]) == [(3, "jump", -2)]
    assert told([0, 2, 12]) == [(1, "jump", -2)]


def test_two_sizes_can_be_out():
    assert [one[:2] for one in told([0, 10, 20, 36, 40, 50, 53, 70, 80])] == [(3, "out"), (6, "out")]


def test_sizes_that_are_left_out_make_longer_steps():
    assert told([0, 10, 40, 50], positions=[36, 38, 44, 46]) == []
    assert told([0, 10, 40, 50]) != []


@pytest.mark.parametrize("seed", range(20))
def test_one_size_put_out_of_an_even_run_is_the_one_that_is_found(seed):
    chance = random.Random(seed)
    number = chance.randrange(5, 29)
    step = chance.choice([-6, -1, 0, 0.5, 3, 10]) * chance.uniform(0.9, 1.1)
    values = [400 + step * k + chance.uniform(-0.1, 0.1) for k in range(number)]
    assert told(values) == []
    broken = chance.randrange(number)
    values[broken] += chance.choice([-1, 1]) * (2 * abs(step) + 3)
    assert [one[:2] for one in told(values)] == [(broken, "out")]


@pytest.mark.parametrize("seed", range(20))
def test_a_run_read_backwards_has_the_same_faults(seed):
    chance = random.Random(seed)
    values = [10.0 * k for k in range(14)]
    for broken in (chance.randrange(6), chance.randrange(9, 14)):
        values[broken] += chance.choice([-25, 25])
    forth, back = told(values), told(values[::-1])
    assert len(forth) == 2
    assert [(13 - index, kind) for index, kind, _ in back][::-1] == [one[:2] for one in forth]
