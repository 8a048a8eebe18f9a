import math

import numpy as np
import pytest

from seamcheck.exact import EXACT, least, most, snapped, snapped_point, steady
from seamcheck.geometry.exact_arrays import least_at, median_of, most_at, snapped_all


def bits(value):
    """The value, and those one last bit beside it."""
    return [value, math.nextafter(value, math.inf), math.nextafter(value, -math.inf)]


@pytest.mark.parametrize("value", [0.1, 12.35, 180.0, 1016.6, 25.4 / 96, 1e-9])
def test_a_last_bit_is_gone_once_a_value_is_snapped_and_the_value_is_not(value):
    assert len({snapped(one) for one in bits(value)}) == 1
    assert snapped(value) == pytest.approx(value, abs=1e-10)
    assert len({steady(one) for one in bits(value)}) == 1


def test_what_is_snapped_adds_up_alike_in_any_order():
    lengths = snapped_all(np.sqrt(np.arange(2.0, 4000.0)))
    assert float(lengths.sum()) == sum(lengths.tolist()) == sum(reversed(lengths.tolist())) == math.fsum(lengths)


def test_what_is_not_finite_stays_and_nothing_is_never_negative():
    assert snapped(math.inf) == math.inf
    assert math.isnan(snapped(math.nan))
    assert np.isinf(snapped_all(np.array([np.inf]))).all()
    assert math.copysign(1.0, steady(-1e-12)) == 1.0
    assert snapped_point(complex(0.1, math.nextafter(0.2, 1.0))) == snapped_point(0.1 + 0.2j)


def test_of_equal_amounts_the_first_is_taken_and_of_others_the_least_or_the_most():
    equal = [("first", 7.0), ("second", 7.0 - 0.9 * EXACT), ("third", 9.0), ("fourth", 9.0 + 0.9 * EXACT)]
    assert least(equal, key=lambda one: one[1])[0] == "first"
    assert most(equal, key=lambda one: one[1])[0] == "third"
    amounts = [amount for _, amount in equal]
    assert (least_at(amounts), most_at(amounts)) == (0, 2)
    apart = [7.0, 7.0 - 1.1 * EXACT, 9.0, 9.0 + 1.1 * EXACT]
    assert (least_at(apart), most_at(apart)) == (1, 3)
    assert least(apart, key=float) == apart[1]
    assert most(apart, key=float) == apart[3]
    with pytest.raises(ValueError, match="empty"):
        least([], key=float)


@pytest.mark.parametrize("count", [1, 2, 5, 8])
def test_the_middle_amount_is_that_of_numpy(count):
    amounts = np.random.default_rng(count).normal(size=count)
    assert median_of(amounts) == np.median(amounts)
    assert np.isnan(median_of([]))
