"""A slice of tests/benchmarks/bench_seeded_faults.py: every kind of fault once, in small patterns, just above its tolerance."""

import pytest
from seeded_kinds import KINDS
from seeded_patterns import FORMS, clean
from seeding import seed

SMALL = ("half_circle", "frilled", "straight", "with_yoke")


def test_there_are_thirty_kinds_of_fault_and_more():
    assert len({kind.name for kind in KINDS}) == len(KINDS) >= 30


@pytest.mark.parametrize("number", range(len(KINDS)), ids=[kind.name.replace(" ", "-") for kind in KINDS])
def test_a_seeded_fault_is_found_and_nothing_else(number):
    name = next(one for one in SMALL if KINDS[number].places(clean(one)))
    seen = seed(number, 1.1, name, FORMS[number % len(FORMS)])
    assert seen is not None
    assert (seen.found, seen.failed, seen.others) == (True, "", ())
