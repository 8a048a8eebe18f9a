"""In a nest whose sizes lie turned, a piece that looks the same another way round is named by its notches, not as it lies."""

import numpy as np
import pytest
from pattern_making import box, line_mark, loop, pattern, tick

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Block, Role

AS_DRAWN = Affine.identity()
BY_HALF = Affine.rotation(180)
OVER = Affine.from_matrix(-1, 0, 0, 1, 0, 0)
UPSIDE_DOWN = Affine.from_matrix(1, 0, 0, -1, 0, 0)

BAND = """
[pieces.band]
[pieces.band.corners]
cb-upper = [0, 0]
cf-upper = [400, 0]
cf-lower = [400, 80]
cb-lower = [0, 80]
[pieces.band.edges]
upper = ["cb-upper", "cf-upper"]
cf = ["cf-upper", "cf-lower"]
lower = ["cb-lower", "cf-lower"]
"""
SLEEVE = """
[pieces.sleeve]
[pieces.sleeve.corners]
front-underarm = [0, 150]
back-underarm = [360, 150]
back-hem = [320, 500]
front-hem = [40, 500]
[pieces.sleeve.edges]
cap = ["front-underarm", "back-underarm"]
back-seam = ["back-underarm", "back-hem"]
hem = ["front-hem", "back-hem"]
front-seam = ["front-underarm", "front-hem"]
"""


def marks(outline: Curve, notches, size: str, lies: Affine, name: str):
    """A piece in one size with its notches, `notches` as stations and ticks, laid as it may."""
    strokes = [tick(outline, at + 5.0 * k, 4.0) for at, ticks in notches for k in range(ticks)]
    there = Affine.translation(900.0 * len(size) + 700j) @ lies if lies is not AS_DRAWN else lies
    lines = [line_mark(_drawn_anew(outline.transformed(there)), Role.SEW, block=size)]
    lines += [line_mark(stroke.curve.transformed(there), Role.NOTCH, block=size) for stroke in strokes]
    return Block(name=size, piece=name, size=size), lines


def _drawn_anew(outline: Curve) -> Curve:
    """A closed line as a program draws it that knows nothing of the other sizes: clockwise from its top left corner."""
    outline = outline if outline.signed_area() > 0 else outline.reversed()
    joints = outline.joint_stations[:-1]
    first = min(joints, key=lambda at: round(outline.point(at).real + outline.point(at).imag, 3))
    return outline.with_start(float(first)) if first > 1e-6 else outline


def nest(name: str, plan: str, each):
    """What is made of a piece that is drawn in several sizes, each its outline, notches and how it lies."""
    made = [marks(outline, notches, size, lies, name) for size, (outline, notches, lies) in each.items()]
    found = pattern([line for _, lines in made for line in lines], plan, blocks=tuple(block for block, _ in made))
    assert all(one.unsure == {} and one.lost_edges == {} for one in found.pieces)
    return {one.size: one for one in found.pieces}


def band(grow: float, notches=((100, 1), (300, 2))) -> tuple[Curve, tuple]:
    """A band and its notches, by default a single and a double one on its upper edge."""
    return box(400 + grow, 80), tuple((at * (400 + grow) / 400, ticks) for at, ticks in notches)


def sleeve(grow: float) -> tuple[Curve, tuple]:
    """A sleeve whose two halves are alike but for a single notch in front and a double one at the back."""
    w = 360.0 + grow
    cap = np.array([[150j, w * 0.25 + 150j, w * 0.25 + 0j, w / 2], [w / 2, w * 0.75 + 0j, w * 0.75 + 150j, w + 150j]])
    outline = Curve.join([Curve(cap), Curve.polyline([w + 150j, w - 40 + 500j, 40 + 500j, 150j])])
    length = Curve(cap).length
    return outline, ((0.3 * length, 1), (0.7 * length - 5.0, 2))


def notches_of(piece, edge: str) -> list[int]:
    return [notch.count for notch in piece.edge(edge).notches]


@pytest.mark.parametrize("lies", [AS_DRAWN, BY_HALF, OVER, UPSIDE_DOWN])
def test_a_band_is_named_by_its_notches_however_a_size_lies(lies):
    found = nest("Band", BAND, {"S": (*band(0), AS_DRAWN), "MM": (*band(20), lies), "LLL": (*band(40), AS_DRAWN)})
    for size in ("S", "MM", "LLL"):
        assert notches_of(found[size], "upper") == [1, 2]
        assert notches_of(found[size], "lower") == []


@pytest.mark.parametrize("lies", [AS_DRAWN, OVER])
def test_a_sleeve_that_was_turned_over_is_named_by_its_notches(lies):
    found = nest(
        "Sleeve", SLEEVE, {"S": (*sleeve(0), AS_DRAWN), "MM": (*sleeve(16), lies), "LLL": (*sleeve(32), AS_DRAWN)}
    )
    for size in ("S", "MM", "LLL"):
        assert notches_of(found[size], "cap") == [1, 2]


@pytest.mark.parametrize("notches", [(), ((200, 1),), ((100, 1), (300, 1))])
def test_where_notches_tell_nothing_a_band_is_named_as_it_lies(notches):
    found = nest("Band", BAND, {"S": (*band(0, notches), AS_DRAWN), "MM": (*band(20, notches), AS_DRAWN)})
    assert notches_of(found["MM"], "upper") == [ticks for _, ticks in notches]
    assert found["MM"].corner("cb-upper").at == 0


def test_a_notch_that_slipped_in_one_size_turns_nothing():
    slipped = (band(20)[0], ((105, 1), (340, 2)))
    found = nest("Band", BAND, {"S": (*band(0), AS_DRAWN), "MM": (*slipped, AS_DRAWN)})
    assert notches_of(found["MM"], "upper") == [1, 2]
    assert found["MM"].corner("cb-upper").at == 0


def test_a_notch_that_one_size_lacks_turns_nothing():
    found = nest("Band", BAND, {"S": (*band(0), AS_DRAWN), "MM": (*band(20, ((300, 2),)), AS_DRAWN)})
    assert notches_of(found["MM"], "upper") == [2]
    assert found["MM"].corner("cb-upper").at == 0


def test_a_piece_that_looks_like_itself_one_way_round_alone_is_named_by_its_form():
    outline = loop(0j, 300 + 20j, 280 + 400j, 30 + 380j)
    plan = '[pieces.front]\n[pieces.front.corners]\na = [0, 0]\nb = [300, 20]\nc = [280, 400]\nd = [30, 380]\n[pieces.front.edges]\ntop = ["a", "b"]\n'
    found = nest("Front", plan, {"S": (outline, ((100, 1),), AS_DRAWN), "MM": (outline, ((100, 1),), BY_HALF)})
    assert notches_of(found["MM"], "top") == [1]


@pytest.mark.parametrize("end", ["cb", "cf"])
def test_a_notch_that_keeps_its_distance_from_an_end_turns_nothing_as_it_passes_the_middle(end):
    def notch(length: float) -> tuple:
        return ((176.0 if end == "cb" else length - 176.0, 1),)

    sizes = {"LLL": 400.0, "MM": 352.0, "S": 312.0}
    found = nest("Band", BAND, {size: (box(w, 80), notch(w), AS_DRAWN) for size, w in sizes.items()})
    for size, length in sizes.items():
        assert found[size].corner("cb-upper").at == 0
        assert found[size].edge("upper").notches[0].station == pytest.approx(notch(length)[0][0])
