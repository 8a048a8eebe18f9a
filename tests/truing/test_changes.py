"""What is told of a pattern that was drawn anew."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

import seamcheck
from seamcheck.truing.changes import changes

pytestmark = pytest.mark.usefixtures("read_once")

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"


def told(old, new):
    """What is told of one piece that was drawn anew as another."""
    pattern = SimpleNamespace(pieces=(old,))
    (one,) = changes(SimpleNamespace(pattern=pattern, size=old.size), SimpleNamespace(pieces={old.name: new}))
    return one


def with_corner(piece, station, *, named):
    """A piece with one corner more."""
    more = replace(piece.corners[0], name="c9", at=piece.outline.point(station), station=station, named=named)
    return replace(piece, corners=(*piece.corners, more))


def test_corners_that_are_numbered_anew_did_not_move():
    """What is found by its turn alone is numbered from the top left: once a kink is blended, another is the ninth."""
    back = seamcheck.read(DEMO / "ferryhand.svg").piece("back")
    old, new = (with_corner(back, station, named=False) for station in (300.0, 700.0))
    assert told(old, new).corners == ()


def test_a_named_corner_that_moved_is_told():
    back = seamcheck.read(DEMO / "ferryhand.svg").piece("back")
    old, new = (with_corner(back, station, named=True) for station in (300.0, 305.0))
    (one,) = told(old, new).corners
    assert (one.name, abs(one.after - one.before)) == ("c9", pytest.approx(5.0, abs=0.2))
