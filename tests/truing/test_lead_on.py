"""An edge led on past its end or cut back along its own line: where the corner goes, and that the old line stays."""

import sys
from pathlib import Path

import numpy as np
import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.geometry.distances import distances
from seamcheck.truing.propose import STRAYS, Wishes
from seamcheck.truing.run import true_file

pytestmark = pytest.mark.usefixtures("read_once")

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
sys.path[:0] = [str(DEMO.parent), str(Path(__file__).parents[1] / "benchmarks")]

OVERLAP = 6.35  # mm: the calf's, as the drafting script makes it


@pytest.fixture(scope="module")
def registry():
    return plugins.load(Settings())


def trued(name, registry, **wishes):
    request = Request(plan=DEMO / "ferryhand.seams.toml")
    path = DEMO / "altered" / f"{name}-left.svg"
    return true_file(str(path), request, registry, Settings(), Wishes(**wishes)).sizes[0]


@pytest.fixture(scope="module")
def calf(registry):
    return trued("prominent-calf", registry)


def offered(size, words, number=0):
    """The alternative of a proposal whose words begin so, with the lines of an edge before and after it."""
    (one,) = [a for a in size.proposals[number].alternatives if a.what.startswith(words)]
    return one


def lines(size, alternative, piece, edge):
    (old,) = size.before.pieces[piece].edge(edge).runs
    (new,) = alternative.state.pieces[piece].edge(edge).runs
    return old, new


def test_the_corner_travels_the_whole_amount_along_the_tangent_and_the_old_line_stays(calf):
    one = offered(calf, "lengthen back.outseam by 6.4 mm (1/4 in) at side-hem: lead it on straight")
    old, new = lines(calf, one, "back", "outseam")
    assert abs(new.end - (old.end + OVERLAP * old.tangent(old.length, side=-1))) < 1e-6
    assert distances(new, old.points(np.linspace(0.0, old.length, 400))).max() < 1e-6
    assert new.length == pytest.approx(old.length + OVERLAP, abs=1e-6)


def test_an_edge_is_cut_back_along_its_own_line(calf):
    one = offered(calf, "shorten front.outseam by 6.4 mm (1/4 in) at side-hem: cut it back along its own line")
    old, new = lines(calf, one, "front", "outseam")
    assert abs(new.end - old.point(old.length - OVERLAP)) < 1e-6
    assert distances(old, new.points(np.linspace(0.0, new.length, 400))).max() < 1e-6


@pytest.mark.parametrize("words", ["lengthen back.outseam", "shorten front.outseam"])
def test_the_line_that_crosses_is_blended_into_the_new_corner_which_keeps_its_angle(calf, words):
    one = offered(calf, f"{words} by 6.4 mm (1/4 in) at side-hem")
    piece = one.pieces[0]
    before, after = calf.before.pieces[piece], one.state.pieces[piece]
    assert after.corner("side-hem").angle == pytest.approx(before.corner("side-hem").angle, abs=1e-4)
    assert after.corner("inseam-hem").at == before.corner("inseam-hem").at
    assert after.corner("inseam-hem").angle == pytest.approx(before.corner("inseam-hem").angle, abs=1e-4)
    (hem,) = [stray for stray in one.strays if stray.edge == f"{piece}.hem"]
    assert hem.most == pytest.approx(OVERLAP, abs=1e-3)
    assert hem.travels
    assert one.beyond == pytest.approx(0.0, abs=1e-3)


def test_a_line_that_a_mate_holds_keeps_its_length_and_the_corner_slides_by_as_little_as_that_takes(calf):
    one = offered(calf, "lengthen back.outseam by 6.4 mm (1/4 in) at side-waist")
    waist = [state.pieces["back"].edge("waist").length for state in (calf.before, one.state)]
    assert waist[1] == pytest.approx(waist[0], abs=1e-6)
    old, new = lines(calf, one, "back", "outseam")
    led = old.start - OVERLAP * old.tangent(0.0)
    assert abs(new.start - led) < 1.6
    slid = (new.start - led) / old.tangent(0.0)
    assert abs(slid.imag) > 10 * abs(slid.real)  # beside the line, not along it


def test_a_slash_is_given_back_at_the_waist_then_at_the_hem_and_never_bows_the_leg(calf):
    whats = [one.what for one in calf.proposals[0].alternatives]
    assert "at side-waist" in whats[0]
    assert "at side-hem" in whats[1]
    for proposal in calf.proposals:
        for one in proposal.alternatives:
            assert one.beyond <= STRAYS
            for stray in one.strays:
                if stray.edge.endswith("outseam"):
                    assert stray.most < 1.6


def test_a_crotch_point_travels_where_it_was_altered(registry):
    one = trued("low-seat", registry).proposals[0].alternatives[0]
    assert one.what.startswith("lengthen back.inseam by 6.4 mm (1/4 in) at crotch-point")
    assert {stray.edge: round(stray.most, 1) for stray in one.strays}["back.inseam"] == 0.0


def test_band_and_facing_follow_the_waist_to_what_the_drafting_script_draws(registry):
    """The lengths are those of the pattern that is drafted anew, not trued (fixtures/ferryhand/expected.toml)."""
    size = trued("sway-back-quick", registry)
    one = size.proposals[0].alternatives[0]
    assert one.pieces == ("band-back", "facing-back")
    for piece in one.pieces:
        after = one.state.pieces[piece]
        assert after.edge("lower").length == pytest.approx(180.7283, abs=1e-3)
        assert after.edge("upper").length == pytest.approx(170.9174, abs=1e-3)
        assert after.edge("side").length == pytest.approx(38.0, abs=1e-6)
        assert after.corner("side-lower").angle == pytest.approx(90.0, abs=1e-3)
    assert one.beyond < 0.01


def test_a_kink_is_blended_over_a_short_stretch_and_the_hip_is_not_bent_out(registry):
    (proposal,) = trued("full-seat", registry).proposals
    assert proposal.alternatives[0].stray < 0.8


@pytest.mark.parametrize(("edge", "corner"), [("inseam", "crotch-point"), ("outseam", "side-hem")])
@pytest.mark.parametrize("against", [False, True])
def test_what_was_altered_at_a_known_end_is_corrected_there(edge, corner, against, registry, tmp_path):
    from bench_truing import FERRYHAND_SHEET, SAMPLE, SEAMS, ferryhand, let_out, plan, svg

    base = {piece.key: piece for piece in ferryhand(SAMPLE)}
    pieces = tuple((base | {"front": let_out(base["front"], edge, corner, 6.0)}).values())
    path, named = tmp_path / "new.svg", tmp_path / "new.seams.toml"
    path.write_text(svg(pieces, FERRYHAND_SHEET), encoding="utf-8")
    named.write_text(plan(pieces, SEAMS, "Altered", FERRYHAND_SHEET.hanging, ""), encoding="utf-8")
    before = str(DEMO / "ferryhand.svg") if against else None
    (size,) = true_file(str(path), Request(plan=named), registry, Settings(), Wishes(), before).sizes
    first = next(one for one in size.proposals if one.finding.seam == edge).alternatives[0]
    assert ("front", corner) in first.at
    if against:
        assert first.what.startswith(f"shorten front.{edge} by 6.0 mm")


def test_a_facing_is_traced_from_the_band_that_a_wedge_was_taken_from(registry):
    """The lengths are those of the facing that is drafted anew, not trued (fixtures/ferryhand/expected.toml)."""
    size = trued("gaping-band", registry)
    one = size.proposals[0].alternatives[0]
    assert one.what.startswith("trace facing-back anew from band-back as that is now: its side-upper travels 19.7 mm")
    after = one.state.pieces["facing-back"]
    for edge, expected in {"upper": 171.9253, "lower": 190.2533, "side": 38.0, "fold": 38.0}.items():
        assert after.edge(edge).length == pytest.approx(expected, abs=0.05)
    assert after.corner("fold-lower").at == size.before.pieces["facing-back"].corner("fold-lower").at
    band, facing = (size.after.pieces[name] for name in ("band-back", "facing-back"))
    shift = facing.corner("fold-lower").at - band.corner("fold-lower").at
    beside = distances(band.outline, facing.outline.points(np.linspace(0.0, facing.outline.length, 300)) - shift)
    assert beside.max() < 0.8  # the same form; the band's own kinks were blended by themselves


def altered_at_random(number, registry, folder):
    """Two slashes each, as tests/benchmarks/bench_truing.py makes them."""
    import random

    from bench_truing import FERRYHAND_SHEET, SAMPLE, SEAMS, altered, ferryhand, plan, svg

    pieces, chance = {piece.key: piece for piece in ferryhand(SAMPLE)}, random.Random(100_003 + number)
    altered(pieces, chance)
    altered(pieces, chance)
    path, named = folder / "new.svg", folder / "new.seams.toml"
    path.write_text(svg(tuple(pieces.values()), FERRYHAND_SHEET), encoding="utf-8")
    named.write_text(plan(tuple(pieces.values()), SEAMS, "Altered", FERRYHAND_SHEET.hanging, ""), encoding="utf-8")
    return true_file(str(path), Request(plan=named), registry, Settings(), Wishes())


@pytest.mark.parametrize(("number", "words"), [(2, "to its old length"), (20, "and let facing-back follow")])
def test_a_step_is_blended_and_what_that_takes_is_given_back(number, words, registry, tmp_path):
    """A leg's inseam spread where it slants, and the band overlapped, which leaves its facing too long."""
    trued = altered_at_random(number, registry, tmp_path)
    taken = [one.alternatives[one.taken] for one in trued.sizes[0].proposals]
    assert any(words in one.what for one in taken)
    assert max(one.beyond for one in taken) < 1.6
    assert trued.left == ()


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (3, "blend band-back.upper over up to 60.0 mm"),  # half of a step stood for a corner that was meant
        (8, "blend back.outseam over up to 60.0 mm"),  # two slashes end beside one another
        (32, "which makes it 0.35 mm (under 1/32 in) shorter"),  # a line that is nearly straight
        (117, "blend back.inseam over up to 120 mm"),  # a step that is too large for the usual stretch
    ],
)
def test_jogs_that_are_large_or_close_together_end_quiet(number, words, registry, tmp_path):
    trued = altered_at_random(number, registry, tmp_path)
    taken = [one.alternatives[one.taken] for one in trued.sizes[0].proposals]
    assert any(words in one.what for one in taken)
    assert max(one.beyond for one in taken) <= STRAYS
    assert trued.left == ()
