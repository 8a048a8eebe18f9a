"""A piece as a fit sees it: edges by the words in their names, spots from its proportions."""

from pathlib import Path

import pytest
from judging import opened

from seamcheck.fits.piece import FitPiece, LacksRoleError
from seamcheck.fits.roles import is_in_role, roles_of
from seamcheck.pattern.recipe import AlongCut, AlongEdge, AtCorner, AtNotch
from seamcheck.pattern.spots import NoSpotError, found

FERRYHAND = Path(__file__).parents[2] / "fixtures" / "ferryhand"

pytestmark = pytest.mark.usefixtures("read_once")


@pytest.fixture
def back():
    pattern, _ = opened(FERRYHAND / "ferryhand.svg")
    return FitPiece(pattern.piece("back"), "back")


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("outseam", "outseam"),
        ("Side seam", "outseam"),
        ("inside-leg", "inseam"),
        ("Innenbeinnaht", "inseam"),
        ("entrejambe", "inseam"),
        ("seat seam", "crotch"),
        ("cb", "centre-back"),
        ("centre-front", "centre-front"),
        ("Saum", "hem"),
        ("giro vita", "waist"),
        ("upper", "upper"),
    ],
)
def test_an_edge_is_known_by_its_words(name, role):
    assert roles_of(name)[0] == role


def test_a_name_that_says_nothing_has_no_role():
    assert roles_of("e7") == ()


def test_pieces_are_known_by_their_words():
    pattern, _ = opened(FERRYHAND / "ferryhand.svg")
    roles = {
        role: [piece.name for piece in pattern.pieces if is_in_role(piece, role)]
        for role in ("back", "front", "waistband", "back waistband", "facing")
    }
    assert roles == {
        "back": ["back"],
        "front": ["front"],
        "waistband": ["band-front", "band-back"],
        "back waistband": ["band-back"],
        "facing": ["facing-front", "facing-back"],
    }


def test_spots_come_from_the_proportions_of_the_piece(back):
    assert back.corner("crotch", "inseam") == "crotch-point"
    assert back.far_corner("crotch", "inseam") == "cb-waist"
    spot = back.share("outseam", 0.25, "hem")
    assert spot == AlongEdge("outseam", 0.25 * back.length("outseam"), "side-hem")
    assert back.at(back.share("outseam", 0.0, "hem")) == back.piece.corner("side-hem").at


def test_up_is_towards_the_waist_and_level_is_square_to_it(back):
    assert back.up == pytest.approx(-1j)  # y runs down in SVG
    spot = back.share("outseam", 0.4, "hem")
    across = back.at(back.level(spot, "inseam")) - back.at(spot)
    assert across.imag == pytest.approx(0.0, abs=1e-6)
    assert across.real == pytest.approx(-230.0, abs=30.0)


def test_the_nearest_notch(back):
    assert back.notch("outseam", 0.5, "hem") == AtNotch("outseam", 2)
    assert back.notch("hem", 0.5, "outseam") is None


def test_a_role_that_is_missing_is_told(back):
    with pytest.raises(LacksRoleError, match="no edge of back is called its fold; name the edges in the plan"):
        back.edge("fold")
    with pytest.raises(LacksRoleError, match="waist and hem do not meet"):
        back.corner("waist", "hem")


@pytest.mark.parametrize(
    ("spot", "told"),
    [
        (AtCorner("side-hum"), 'piece back has no corner "side-hum"; the nearest corner is "side-hem"'),
        (AlongEdge("outseem", 10.0, "side-hem"), 'piece back has no edge "outseem"; the nearest edge is "outseam"'),
        (AlongEdge("outseam", 10.0, "crotch-point"), "back.outseam runs from side-waist to side-hem"),
        (AlongEdge("outseam", 2000.0, "side-hem"), "outseam 2000 mm from side-hem lies beyond its end"),
        (AtNotch("outseam", 3), "back.outseam has 2 notches, so there is no notch 3 of it"),
        (AtNotch("hem", 1), "back.hem has no notch"),
        (AlongCut(0.5), "only a relief cut begins there"),
    ],
)
def test_a_spot_that_is_not_there_is_told(back, spot, told):
    with pytest.raises(NoSpotError, match=told):
        found(back.piece, spot)


def test_spots_are_written_as_people_say_them():
    spots = AtCorner("side-hem"), AlongEdge("outseam", 425.0, "side-hem"), AtNotch("outseam", 2), AlongCut(0.5)
    assert list(map(str, spots)) == ["side-hem", "outseam 425 mm from side-hem", "notch 2 of outseam", "0.5 of cut"]
    assert str(AlongEdge("outseam", 0.4, "side-hem", share=True)) == "outseam 40 % from side-hem"


def test_the_tip_of_a_dart_is_a_spot(back):
    dart = back.darts[0]
    assert found(back.piece, AtCorner(dart.corners[1])).at == pytest.approx(dart.points[1])
