import pickle

import pytest

from seamcheck.errors import Failure, InputError, PlanError
from seamcheck.places import Place


@pytest.mark.parametrize(
    ("place", "line", "column"),
    [
        (Place("line 12", 12), 12, None),
        (Place("line 12, column 31", 12, 31), 12, 31),
        (Place("element path7", 26, 3), 26, 3),
        (Place("element path7"), None, None),
        ("line 12", None, None),  # words alone are nothing to go by
        ("piece line 3", None, None),
        ("", None, None),
    ],
)
def test_a_failure_knows_the_line_that_its_place_is_given_with(place, line, column):
    failure = PlanError("there is no such edge", path="a.seams.toml", place=place, remedy="name one").failure
    assert (failure.path, failure.line, failure.column) == ("a.seams.toml", line, column)
    assert failure == str(PlanError("there is no such edge", path="a.seams.toml", place=place, remedy="name one"))


def test_a_failure_is_its_sentence_also_in_another_process():
    failure = InputError("it breaks off", path="a.dxf", place=Place("line 74", 74)).failure
    copy = pickle.loads(pickle.dumps(failure))
    assert isinstance(copy, Failure)
    assert copy == "a.dxf, line 74: it breaks off"
    assert (copy.path, copy.line, copy.column) == ("a.dxf", 74, None)
