"""A slice of the benchmark: random moves on clean patterns, which comparing has to give back and truing has to leave quiet."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

from bench_altering import LOOSE, run


@pytest.mark.parametrize(("form", "seed"), [("curves", 7), ("cad", 8), ("digitised", 9)])
def test_what_was_done_is_given_back_and_undone(form, seed):
    results = [one for one, _ in run(8, seed, form, ("ferryhand", "straight", "set_in", "waistcoat"))]
    told = [(one.name, one.move, one.turn, one.amount, one.found, one.left, one.stopped) for one in results]
    assert sum(one.is_recovered(form) for one in results) >= 7, told
    assert sum(not one.left for one in results) >= 7, told
    assert all(one.undone for one in results), told
    assert {one.move for one in results} <= {"hinge", "parallel", "scoop", "extend", "taper", "wedge"}
    assert max((one.amount or 0.0) for one in results if one.is_recovered(form)) <= LOOSE[form]
