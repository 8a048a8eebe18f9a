"""One broken size of the demo's nest is named, and told as one thing; the nests themselves are quiet."""

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import pytest
from broken_nests import MANY, REGISTRY, SHOP, longer_back, nest, of_size, read
from skirt_making import CHECKS
from skirt_nest import SIZES, SkirtNest, wide

from seamcheck.amounts import Length, Name, spoken
from seamcheck.checks.base import Severity
from seamcheck.checks.sizes import Measure, _steps, size_number
from seamcheck.engine.causes import causes_of
from seamcheck.engine.judge import check_file, judge
from seamcheck.engine.read import Request
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, Report
from seamcheck.report.text import render

pytestmark = pytest.mark.usefixtures("read_once")

PIECES = ("front", "back", "band-front", "band-back", "facing-front", "facing-back", "pocket")
FIXTURES = Path(__file__).parents[2] / "fixtures"


def of_sizes(result: FileResult) -> list[tuple[str, str, tuple[str, ...]]]:
    return [(one.size, one.code, one.pieces) for one in result.findings if one.check == "size-run"]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """Nests of the demo, each read once."""
    folder = tmp_path_factory.mktemp("nests")
    broken = {
        "longer": nest(changes={("42", "back"): longer_back(6.35)}),
        "copied": nest(changes={("42", "back"): of_size("44")}),
        "whole": nest(("36", "38", "40", "42", "44"), {("42", piece): of_size("43") for piece in PIECES}),
        "many": nest(MANY[6:14], {("38", "back"): longer_back(-6.35)}),
    }
    return cache(lambda name: read(broken[name], folder))


def judged(given, sizes=()) -> FileResult:
    pattern, plan = given
    return judge(pattern, plan, CHECKS, SHOP, sizes=sizes)


def test_one_broken_size_is_one_thing_to_put_right(demo):
    result = judged(demo("longer"))
    assert of_sizes(result) == [("42", "out", ("back",))]
    (cause,) = causes_of(result)
    assert cause.worst.check == "size-run"
    assert {one.worst.seam for one in cause.signs} == {"outseam", "inseam"}
    text = " ".join(render(Report(files=(result,)), RenderOptions()).split())
    assert "nest.dxf: 1 thing to put right; " in text
    assert text.count("With it,") == 2


def test_the_other_sizes_tell_how_one_should_run_even_when_it_is_asked_for_alone(demo):
    alone = judged(demo("longer"), ("42",))
    assert alone.sizes == ("42",)
    assert of_sizes(alone) == [("42", "out", ("back",))]
    assert judged(demo("longer"), ("36", "44")).findings == ()


def test_a_size_copied_from_its_neighbour_is_named_with_its_seams(demo):
    result = judged(demo("copied"))
    (finding,) = (one for one in result.findings if one.check == "size-run")
    assert (finding.size, finding.code) == ("42", "copied")
    assert "just as in size 44" in finding.message
    assert len(causes_of(result)) == 1


def test_a_whole_size_that_was_graded_wrong_is_one_thing(demo):
    result = judged(demo("whole"))
    assert {size for size, _, _ in of_sizes(result)} == {"42"}
    assert len(causes_of(result)) == 1


def test_one_broken_size_of_many_is_named(demo):
    result = judged(demo("many"))
    assert len(result.sizes) == 8
    assert of_sizes(result) == [("38", "out", ("back",))]
    assert [cause.worst.size for cause in causes_of(result) if cause.severity is Severity.ERROR] == ["38"]


@pytest.mark.parametrize(
    ("values", "steps"),
    [
        ((100.0, 105.0, 110.0), "it grows by 5.0 mm (3/16 in) from 38 to 40 and by 5.0 mm (3/16 in) from 40 to 42"),
        (
            (100.0, 95.0, 110.0),
            "it shrinks by 5.0 mm (3/16 in) from 38 to 40 and grows by 15.0 mm (9/16 in) from 40 to 42",
        ),
        (
            (100.0, 95.0, 90.0),
            "it shrinks by 5.0 mm (3/16 in) from 38 to 40 and shrinks by 5.0 mm (3/16 in) from 40 to 42",
        ),
        ((100.0, 100.0, 105.0), "it stays the same from 38 to 40 and grows by 5.0 mm (3/16 in) from 40 to 42"),
    ],
)
def test_the_steps_round_a_size_are_told_with_their_way(values, steps):
    nest = SimpleNamespace(pieces=[SimpleNamespace(size=size) for size in ("38", "40", "42")])
    one = SimpleNamespace(index=1, before=0, after=2)
    told = _steps(nest, SimpleNamespace(run=Measure(Name("front.side"), values, ()), uneven=one))
    assert str(told) == steps
    assert {part for part in spoken(told) if isinstance(part, Length)} == {
        abs(b - a) for a, b in pairwise(values) if a != b
    }


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("by", [6.35, -9.5])
def test_whichever_size_is_broken_it_is_named(size, by):
    given = SkirtNest(changes={(size, "pocket"): wide(by)})
    assert of_sizes(judged((given.pattern(), given.plan))) == [(size, "out", ("pocket",))]


def test_sizes_that_are_left_out_leave_a_longer_step():
    given = SkirtNest()
    pattern = given.pattern()
    left = tuple(piece for piece in pattern.pieces if piece.size != "42")
    sizes = tuple(size for size in SIZES if size != "42")
    assert of_sizes(judged((replace(pattern, pieces=left, sizes=sizes), given.plan))) == []


@pytest.mark.parametrize(
    "name", ["ferryhand/ferryhand-nest.dxf", "lookalikes/nest.dxf", "lookalikes/sparse.dxf", "lookalikes/dense.dxf"]
)
def test_nests_that_are_right_are_quiet_and_were_looked_at(name):
    result = check_file(str(FIXTURES / name), Request(), REGISTRY, SHOP)
    assert of_sizes(result) == []
    assert [one.message for one in result.skipped if one.check == "size-run"] == []
    assert len(result.sizes) >= 3


def test_notches_that_are_kept_parallel_through_the_sizes_are_not_called_slanted(tmp_path):
    """The crotch of the largest size turns by 12 degrees more at its notch than that of size 40, where it is square."""
    result = judged(read(nest(("40", "56", "57")), tmp_path))
    assert [one.message for one in result.findings if one.code == "slanted"] == []
    left_out = {(one.size, one.piece, one.edge) for one in result.skipped if one.reason == "kept-parallel"}
    assert ("57", "front", "crotch") in left_out
    assert "40" not in {size for size, *_ in left_out}


def test_one_size_is_no_run_and_says_so():
    result = check_file(str(FIXTURES / "ferryhand" / "ferryhand.svg"), Request(), REGISTRY, SHOP)
    (why,) = (one.message for one in result.skipped if one.check == "size-run")
    assert why == "increments can be compared from 3 sizes on, and the file has 1"


def test_a_piece_of_two_sizes_is_left_aside_with_the_reason():
    given = SkirtNest()
    pattern = given.pattern()
    left = tuple(piece for piece in pattern.pieces if piece.name != "pocket" or piece.size in SIZES[:2])
    result = judged((replace(pattern, pieces=left), given.plan))
    whys = {(one.reason, one.message) for one in result.skipped if one.check == "size-run"}
    assert whys == {("few-sizes", "increments can be compared from 3 sizes on, and the piece is drawn in 36 and 38")}


def test_sizes_that_grow_in_no_order_are_left_aside():
    given = SkirtNest(grade=(0.04, -0.02, 0.03, -0.04, 0.02))
    result = judged((given.pattern(), given.plan))
    assert of_sizes(result) == []
    assert {one.reason for one in result.skipped if "do not grow in the order" in one.message} == {"no-order"}


@pytest.mark.parametrize(
    "names",
    [("XXS", "XS", "S", "M", "L", "XL", "XXL", "3XL"), ("34", "36", "38"), ("0", "2", "10"), ("7.5", "8", "8.5")],
)
def test_sizes_stand_in_the_order_that_their_names_say(names):
    places = [size_number(name) for name in names]
    assert None not in places
    assert places == sorted(places)
    assert len(set(places)) == len(places)


def test_two_ways_to_write_a_size_are_one_and_other_names_tell_nothing():
    assert size_number("XXL") == size_number("2XL")
    assert size_number("xs") == size_number("XS")
    assert [size_number(name) for name in ("38R", "tall", "", "40-42", "LM")] == [None] * 5
