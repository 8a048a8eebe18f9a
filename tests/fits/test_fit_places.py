"""Where the fits of trousers are made by default: clear of darts and corners, at one level on front and back, in whole mm."""

from dataclasses import replace

import pytest
from carried_out import FERRYHAND, FITS
from judging import opened

from seamcheck.fits.piece import FitPiece, LacksRoleError
from seamcheck.fits.trousers import places
from seamcheck.pattern.recipe import AlongEdge, Hinge, Parallel

pytestmark = pytest.mark.usefixtures("read_once")


@pytest.fixture(scope="module")
def pattern():
    return opened(FERRYHAND / "ferryhand.svg")[0]


@pytest.fixture
def back(pattern):
    return FitPiece(pattern.piece("back"), "back", pattern.pieces)


@pytest.fixture
def front(pattern):
    return FitPiece(pattern.piece("front"), "front", pattern.pieces)


def tips_above(piece: FitPiece, one: AlongEdge, other: AlongEdge) -> list[float]:
    """How far the tip of each dart is above the straight line between two spots, square to it in mm."""
    a, b = piece.at(one), piece.at(other)
    along = (b - a) / abs(b - a)
    side = 1.0 if (piece.up * along.conjugate()).imag > 0 else -1.0
    return [side * ((dart.points[1] - a) * along.conjugate()).imag for dart in piece.darts]


def spots(fit, piece):
    for step in fit.steps(piece, fit.first):
        if isinstance(step, Hinge):
            yield step.opens, step.hinge
        elif isinstance(step, Parallel):
            yield step.cut


@pytest.mark.parametrize("fit", [one for one in FITS.values() if one.role == "back"], ids=lambda one: one.name)
def test_no_cut_over_the_seat_runs_through_a_dart(fit, back):
    for one, other in spots(fit, back):
        assert all(above >= places.CLEAR - 0.5 for above in tips_above(back, one, other))


def test_a_longer_dart_takes_the_cut_down_with_it(back):
    (dart,) = back.darts
    longer = replace(dart, points=(dart.points[0], dart.points[1] - 40.0 * back.up, dart.points[2]))
    low = FitPiece(replace(back.piece, darts=(longer,)), "back", back.among)
    plain, lower = (places.across(piece, 0.4)[1].amount for piece in (back, low))
    assert lower > plain
    assert all(above >= places.CLEAR - 0.5 for above in tips_above(low, *places.across(low, 0.4)))
    assert all(above >= places.CLEAR - 0.5 for above in tips_above(low, *places.slanting(low, 0.52, 0.4)))


def test_a_level_cut_is_level(back, front):
    for piece in (back, front):
        one, other = (piece.at(spot) for spot in places.across(piece, 0.55))
        assert abs(((one - other) * piece.up.conjugate()).real) <= 1.0  # both ends are told in whole mm


@pytest.mark.parametrize("share", [0.35, 0.45, 0.5])
def test_front_and_back_are_cut_at_one_level(share, back, front):
    one, other = (places.across_both(piece, share)[1].amount for piece in (back, front))
    assert one == other


def test_a_piece_alone_is_cut_all_the_same(back):
    alone = FitPiece(back.piece, "back")
    with pytest.raises(LacksRoleError):
        alone.other("front")
    assert places.across_both(alone, 0.55) == places.across(alone, 0.55)


def test_a_cut_ends_clear_of_the_ends_of_the_edge(front):
    """At 0.6 of the rise it would end on the fly's lower end, where two edges meet."""
    centre, _ = places.across(front, 0.6)
    length = front.piece.edge(centre.edge).length
    assert places.MARGIN <= centre.amount <= length - places.MARGIN


@pytest.mark.parametrize("fit", FITS.values(), ids=lambda one: one.name)
def test_places_are_whole_mm_or_shares(fit, back, front, pattern):
    band = FitPiece(pattern.piece("band-back"), "back waistband", pattern.pieces)
    piece = {"back": back, "front": front, "back waistband": band}[fit.role]
    for step in fit.steps(piece, fit.first):
        for name in step.__dataclass_fields__:
            spot = getattr(step, name)
            if isinstance(spot, AlongEdge) and not spot.share:
                assert spot.amount == round(spot.amount)


def test_the_knee_is_at_its_notches_and_else_where_knees_are(back):
    assert places.knee_height(back) == pytest.approx(440.0, abs=0.1)
    edges = tuple(replace(edge, notches=()) if edge.name == "inseam" else edge for edge in back.piece.edges)
    bare = FitPiece(replace(back.piece, edges=edges), "back")
    assert places.knee_height(bare) == pytest.approx(0.56 * back.length("inseam"))


def test_the_rise_is_the_same_on_front_and_back(back, front):
    assert places.rise(back) == pytest.approx(places.rise(front), abs=0.01)
