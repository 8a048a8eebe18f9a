import cmath
import math

import judging
import pytest
import solving
from drafted import drafted, fixture
from made_pieces import leg, pattern, rectangle

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read_options
from seamcheck.geometry.curve import Curve
from seamcheck.pairing.proposal import Standing
from seamcheck.pairing.propose import propose, solve_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.reading import read_drawing


def demo(name="ferryhand.svg", folder="ferryhand"):
    """The proposal for a fixture without its plan."""
    return judging.proposed(fixture(f"{folder}/{name}"))


LIKELY = (Standing.SURE, Standing.GUESS)


def sewn(proposal, *standing):
    return {
        frozenset(str(use).removeprefix("-") for side in one.seam.sides for use in side)
        for one in proposal.seams
        if one.standing in (standing or (Standing.SURE,))
    }


def sure(solution):
    return [seam for seam in solution.seams if seam.sure]


def test_the_legs_of_the_demo_are_sewn_along_inseam_and_crotch():
    assert {frozenset({"front.inseam", "back.inseam"}), frozenset({"back.crotch"})} <= sewn(demo(), *LIKELY)


def test_the_legs_of_the_demo_are_sewn_along_the_outseam():
    assert frozenset({"front.outseam", "back.outseam"}) in sewn(demo(), *LIKELY)


def test_the_line_above_a_front_crotch_is_not_sewn_for_sure():
    # The demo draws its fly opening as an edge of its own, and no piece of a fly.
    found = demo()
    assert frozenset({"front.crotch"}) in sewn(found, *LIKELY)
    assert frozenset({"front.centre-front"}) not in sewn(found)


def test_a_dart_drawn_into_the_outline_is_recognised():
    found = demo()
    (dart,) = found.plan.darts
    assert dart.piece == "back"
    piece = next(piece for piece in found.pattern.in_size("40") if piece.name == "back")
    assert piece.darts[0].intake == pytest.approx(20.0, abs=0.1)


# The front facing is its own mirror image, so that either of its ends may be the side.
DEMO_SEWN = {
    frozenset(pair.split())
    for pair in ("front.outseam back.outseam", "front.left back.right", "front.inseam back.inseam", "back.crotch", "front.crotch",
                 "front.waist band-front.lower", "front.top band-front.bottom", "back.waist band-back.lower", "back.top band-back.lower",
                 "back.top band-back.bottom", "band-front.top facing-front.top", "band-back.top facing-back.top",
                 "band-front.left band-back.right", "facing-front.left facing-back.right", "facing-front.right facing-back.right")
}  # fmt: skip


@pytest.mark.parametrize(
    "name", ["ferryhand.svg", "ferryhand-digitised.svg", "ferryhand-cad.dxf", "ferryhand-nest.dxf"]
)
def test_no_seam_of_the_demo_is_sure_and_wrong(name):
    found = sewn(demo(name))
    assert found <= DEMO_SEWN
    assert found


@pytest.mark.parametrize(
    "name",
    [
        "ferryhand.svg",
        pytest.param(
            "ferryhand-digitised.svg",
            marks=pytest.mark.xfail(reason="the front of the waist is a best guess of 0.98 there", strict=True),
        ),
        "ferryhand-cad.dxf",
    ],
)
def test_two_seams_of_the_demo_are_sure(name):
    assert len(sewn(demo(name))) >= 2


def test_two_equal_rectangles_are_no_seam_for_sure():
    assert sure(solve_pattern(pattern(rectangle("", 300, 400), rectangle("", 300, 400)))) == []
    assert sure(solve_pattern(pattern(rectangle("Panel", 300, 400), rectangle("Panel two", 300, 400)))) == []


def test_one_rectangle_is_no_tube_for_sure():
    assert sure(solve_pattern(pattern(rectangle("", 300, 400)))) == []
    assert sure(solve_pattern(pattern(rectangle("Tie", 900, 60)))) == []


def test_edges_that_only_look_alike_are_not_sure():
    # Both pieces have two sides of one length: which goes to which nothing tells.
    shapes = [rectangle("", 310.7, 500.3), rectangle("", 222.2, 500.3)]
    assert sure(solve_pattern(pattern(*shapes))) == []


def test_equal_hems_are_not_sewn_to_each_other():
    skirt = [0j, 200 + 0j, 240 + 600j, 0 + 600j]
    back = [0j, 190 + 0j, 240 + 600.6j, 0 + 600j]
    grain = (100 + 500j, 100 + 100j)
    found = solve_pattern(
        pattern(
            {"name": "Skirt front", "outline": skirt, "grain": grain},
            {"name": "Skirt back", "outline": back, "grain": grain},
        )
    )
    hems = {
        line.index for line in found.lines if (line.level is not None and line.level > 0.9) or (line.slant or 0) > 85
    }
    assert not any(seam.sure and {use.line for use in (*seam.first, *seam.second)} <= hems for seam in found.seams)


def altered_legs(amount):
    front = leg("Front", hem=210, outer=1001.3, inner=743.7, notches=[0 + 400j])
    back = leg("Back", hem=236, outer=1001.3 + amount, inner=743.7, notches=[0 + 400j])
    return solve_pattern(pattern(front, back))


def altered_outseam(amount):
    (outseam,) = [seam for seam in altered_legs(amount).seams if max(seam.lengths) > 950]
    return outseam


def test_the_sides_of_two_legs_find_each_other():
    assert altered_outseam(0.0).difference == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("amount", [3.2, 6.35, -9.5, 12.7])
def test_a_side_that_was_altered_still_finds_its_mate(amount):
    assert altered_outseam(amount).difference == pytest.approx(-amount, abs=0.01)


@pytest.mark.parametrize("amount", [0.0, 3.2, 6.35, -9.5, 12.7])
@pytest.mark.xfail(reason="a leg without a crotch is no garment that was learned from")
def test_a_side_that_was_altered_is_sure(amount):
    assert altered_outseam(amount).sure


@pytest.mark.xfail(reason="four of the six panels of a cap are guessed to be sewn to its band")
def test_panels_that_are_cut_many_times_are_sewn_in_a_round_under_their_band():
    found = demo("bosun-six-panel-cap.dxf", "corpus")
    (row,) = [one for one in found.seams if len(one.seam.sides[0]) == 6]
    assert {use.piece for use in row.seam.sides[0]} == {"cap-panel"}
    assert {use.piece for use in row.seam.sides[1]} == {"sweatband"}
    assert row.lengths[0] == pytest.approx(row.lengths[1], abs=0.05)


@pytest.mark.parametrize(("name", "width"), [("market-tote-gusset.svg", 10.0), ("market-tote-gusset-bare.svg", None)])
def test_the_allowance_with_which_most_fits_is_found_among_the_few_that_are_tried(name, width):
    settings = Settings()
    options = read_options(Request(), settings)
    drawing = read_drawing(str(drafted("corpus") / name), options, plugins.load(settings).importers)
    assert propose(drawing, assemble(drawing)).allowance == width


def test_a_strip_round_a_closed_edge_is_closed_by_its_own_ends():
    round_base = Curve.polyline([90.0 * cmath.exp(1j * math.radians(k)) for k in range(361)])
    found = solve_pattern(
        pattern(
            {"name": "Base", "outline": round_base, "cut": "Cut 1"},
            rectangle("Bag side", round_base.length, 400.0, cut="Cut 1"),
        )
    )
    closed = {line.index for line in found.lines if line.closed}
    assert any({use.line for use in seam.first} == closed for seam in found.seams)


def skirt_and_band(*, notched, upper=702.4):
    # The band slants at its ends, so that its upper edge is not as long as its lower one.
    skirt = [0j, 711.3 + 0j, 795 + 600j, -80 + 600j]
    band = [0j, complex(upper, 0), 711.3 + 60j, 0 + 60j]
    return solve_pattern(
        pattern(
            {"name": "Skirt", "outline": skirt, "grain": (300 + 500j, 300 + 100j), "notches": [210 + 0j] * notched},
            {"name": "Band", "outline": band, "grain": (300 + 50j, 300 + 10j), "notches": [210 + 60j] * notched},
        )
    )


@pytest.mark.xfail(reason="one notch makes no seam of two pieces sure")
def test_a_band_whose_edges_nearly_agree_is_sure_where_a_notch_tells_which_is_sewn():
    between = [seam for seam in skirt_and_band(notched=1).seams if seam.sure]
    assert [round(length, 1) for seam in between for length in seam.lengths] == [711.3, 711.3]


def test_a_band_whose_edges_nearly_agree_is_sewn_where_a_notch_tells_and_never_sure_without_one():
    likeliest = max(skirt_and_band(notched=1).seams, key=lambda seam: seam.confidence)
    assert [round(length, 1) for length in likeliest.lengths] == [711.3, 711.3]
    assert sure(skirt_and_band(notched=0)) == []


def test_a_panel_that_is_cut_twice_has_a_seam_for_each_copy():
    def panel(name, width, notch, cut):
        edge = [0 + 500.3j - notch * 1j, complex(width, 500.3 - notch)]
        return rectangle(name, width, 500.3, cut=cut, notches=edge)

    found = solve_pattern(
        pattern(
            panel("Front", 310.7, 187, "Cut 1"),
            panel("Back", 332.1, 187, "Cut 1"),
            panel("Side", 121.9, 187, "Cut 2"),
        )
    )
    side = next(k for k, part in enumerate(found.parts) if part.name == "Side")
    mates = {
        found.parts[found.lines[use.line].piece].name
        for seam in found.seams
        for use in (*seam.first, *seam.second)
        if side in {found.lines[one.line].piece for one in (*seam.first, *seam.second)}
    }
    assert {"Front", "Back"} <= mates


def half(name, cut):
    outline = [0j, 180 + 0j, 400 + 611.7j, 0 + 611.7j]
    return pattern(
        {"name": name, "outline": outline, "grain": (90 + 500j, 90 + 100j), "cut": cut, "notches": [0 + 160j]}
    )


def test_a_back_that_is_cut_twice_is_joined_along_its_centre():
    likeliest = max(solve_pattern(half("Back", "Cut 2")).seams, key=lambda seam: seam.confidence)
    assert likeliest.twin
    assert [round(length, 1) for length in likeliest.lengths] == [611.7, 611.7]


def test_a_back_that_is_cut_twice_is_joined_along_its_centre_alone():
    twins = [seam for seam in solve_pattern(half("Back", "Cut 2")).seams if seam.twin]
    assert [round(length, 1) for seam in twins for length in seam.lengths] == [611.7, 611.7]


def test_a_back_that_is_cut_once_is_not_joined_along_its_centre():
    assert [seam for seam in solve_pattern(half("Back", "Cut 1")).seams if seam.twin] == []


def test_a_lining_without_notches_is_not_sewn_to_what_it_lines_for_sure():
    found = sewn(demo("commodore-lined-skirt.dxf", "heldout"))
    assert not [edges for edges in found if len({edge.startswith("futter") for edge in edges}) == 2]


def test_an_edge_is_not_sewn_to_itself_for_sure_because_other_seams_would_lean_on_it():
    found = sewn(demo("mooring-bucket-bag.svg", "heldout"))
    assert not [edges for edges in found if len(edges) == 1]


@pytest.mark.parametrize(
    "name",
    [
        "corpus/umpire-shirt.dxf",
        "corpus/bosun-six-panel-cap.dxf",
        "corpus/thwart-box-cushion.svg",
        "unseen/finish-judge-cape.dxf",
        "unseen/towpath-umpire-coat.svg",
        "unseen/engine-shed-boiler-suit.svg",
        "unseen/bow-wave-gored-skirt.svg",
        "heldout/stake-boat-raglan.dxf",
    ],
)
def test_no_seam_is_sure_and_wrong_by_the_true_plan(name):
    assert solving.sure_and_wrong(fixture(name)) == []
