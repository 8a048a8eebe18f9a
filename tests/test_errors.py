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
    assert (failure.path, failure.at.line, failure.at.column) == ("a.seams.toml", line, column)
    assert failure == str(PlanError("there is no such edge", path="a.seams.toml", place=place, remedy="name one"))


def test_a_failure_is_its_sentence_also_in_another_process():
    failure = InputError("it breaks off", path="a.dxf", place=Place("line 74", 74)).failure
    copy = pickle.loads(pickle.dumps(failure))
    assert isinstance(copy, Failure)
    assert copy == "a.dxf, line 74: it breaks off"
    assert (copy.path, copy.at.line, copy.at.column) == ("a.dxf", 74, None)


@pytest.mark.parametrize(
    ("failure", "path", "told"),
    [
        (Failure("it is empty", "cut.svg"), "cut.svg", "it is empty"),
        (Failure("it breaks off", "cut.dxf", Place("line 74", 74)), "cut.dxf", "line 74: it breaks off"),
        (Failure("an odd key", "cut.seams.toml"), "cut", "cut.seams.toml: an odd key"),
        (Failure("the plugin crashed"), "cut.dxf", "the plugin crashed"),
    ],
)
def test_a_failure_leaves_out_its_file_only_where_that_very_file_is_named_already(failure, path, told):
    assert failure.where_named(path) == told


def test_a_name_with_line_ends_makes_no_second_line():
    assert str(PlanError('the piece "a\nb" is not in the file', path="p.toml")) == (
        'p.toml: the piece "a b" is not in the file'
    )
