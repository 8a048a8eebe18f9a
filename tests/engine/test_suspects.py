"""What probably happened: said only where the evidence carries it, and as likely."""

import math
import random
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from skirt_making import CHECKS, SHOP, Sheet

from seamcheck.amounts import phrase
from seamcheck.checks.base import Context
from seamcheck.config.settings import Settings
from seamcheck.engine.evidence import HINGED, NEAR, Evidence, KinkTrace, Suspect, _hinge, hand_amount, scale
from seamcheck.engine.judge import judge
from seamcheck.engine.observe import observe
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.seam_graph import build_graph
from seamcheck.pattern.walk import walk_seams
from seamcheck.testing import Draft

sys.path.insert(0, str(Path(__file__).parents[1] / "checks"))

from faulty_skirts import GOOD, hem_leaving, inseam, kinked_hem, lengthened, moved_notches, spread


@pytest.mark.parametrize(
    ("mm", "said"),
    [
        (3.175, "1/8 in"),
        (-6.35, "1/4 in"),
        (9.5, "3/8 in"),
        (12.7, "1/2 in"),
        (19.05, "3/4 in"),
        (25.4, "1 in"),
        (38.1, "1 1/2 in"),
        (5.0, "0.5 cm"),
        (10.0, "1 cm"),
        (-15.0, "1.5 cm"),
        (20.05, "2 cm"),
        (25.0, "2.5 cm"),
        (0.0, ""),
        (0.1, ""),  # nothing is no amount, however near to it
        (1.0, ""),
        (1.6, ""),
        (3.5, ""),
        (8.0, ""),
        (11.6, ""),
        (17.0, ""),
        (120.0, ""),
    ],
)
def test_the_amounts_that_hands_work_in(mm, said):
    """Quarters and eighths of an inch, half and whole centimetres: common practice, no source."""
    assert hand_amount(mm) == said


def test_a_hand_amount_is_seldom_one_by_chance():
    """By geometry: 24 eighths and 15 half centimetres up to 3 in, each 0.24 mm wide, cover 13 % of what lies between."""
    amounts = random.Random(7)
    hits = sum(bool(hand_amount(amounts.uniform(3.0, 76.2))) for _ in range(20_000)) / 20_000
    assert hits == pytest.approx((24 + 15) * 2 * NEAR / 73.2, abs=0.012)


def walks_of(sheet: Sheet) -> dict:
    pieces = {piece.name: piece for piece in sheet.pattern().pieces}
    return {walk.name: walk for walk in walk_seams(build_graph(pieces, sheet.plan))}


def test_what_grows_evenly_is_another_scale():
    """Over the whole seam and in each stretch: by geometry; a cut or a spread lies in one place."""
    grown = inseam(tuple(1.02 * at for at in (90.0, 200.0, 310.0)), (90.0, 200.0, 310.0), 8.0, ease=None)
    assert scale(walks_of(grown)["inseam"]) == pytest.approx(0.02)
    assert scale(walks_of(Sheet.of(lengthened(GOOD, 8.0)))["side"]) is None
    assert scale(walks_of(spread(9.0))["side"]) is None
    one_notch = inseam((204.0,), (200.0,), 8.0, ease=None)
    assert scale(walks_of(one_notch)["inseam"]) is None


def probably(finding) -> str:
    """What is said of how it came about."""
    return finding.why


def length_of(sheet: Sheet):
    return length_in(sheet.judged().findings)


def length_in(findings):
    (finding,) = [one for one in findings if one.check == "seam-length"]
    return finding


def hinged(draft: Draft) -> Draft:
    """A kink of 3 degrees in the front's fold, as a hinge leaves it."""
    fold = draft.panel("front").edge("fold").line
    middle = (fold.start + fold.end) / 2 + 4.0
    return draft.with_lines("front", fold=Curve.polyline([fold.start, middle, fold.end]))


def test_the_piece_that_bears_traces_is_named_and_told_first():
    plain, altered = length_of(Sheet.of(lengthened(GOOD, 6.35))), length_of(Sheet.of(hinged(lengthened(GOOD, 6.35))))
    assert "Likely one of the two was altered by" in probably(plain)
    assert plain.advice.startswith("Find which of the two was altered. Add 6.4 mm (1/4 in) to back.side")
    assert "front was probably altered by 1/4 in, a usual amount by hand: it has a kink of" in probably(altered)
    assert altered.advice.startswith("front was probably altered, so take 6.4 mm (1/4 in) off front.side between")
    assert (
        "If the alteration is to stay, add as much to back.side there, or take it off front.side at side-waist"
        in altered.advice
    )


def test_two_pieces_that_bear_traces_leave_it_open():
    draft = hinged(lengthened(GOOD, 6.35))
    hem = draft.panel("back").edge("hem").line
    middle = (hem.start + hem.end) / 2 + 4j
    both = draft.with_lines("back", hem=Curve.polyline([hem.start, middle, hem.end]))
    assert "Likely one of the two was altered by" in probably(length_of(Sheet.of(both)))


def test_no_hand_amount_and_no_trace_say_nothing():
    finding = length_of(Sheet.of(lengthened(GOOD, 8.0)))
    assert not probably(finding)
    assert finding.advice.startswith("Find which of the two")


@pytest.mark.parametrize(
    ("share", "told"), [(1.0, True), (1.0 + 0.9 * HINGED, True), (1.0 + 1.2 * HINGED, False), (0.6, False)]
)
def test_a_hinge_turns_as_far_as_the_seam_lost(share, told):
    """By geometry: a slash opened by w turns the part beyond its hinge by w / r."""
    sheet = Sheet.of(lengthened(GOOD, 6.35))
    walk = walks_of(sheet)["side"]
    (front,) = [one for one in sheet.pattern().pieces if one.name == "front"]
    at = 20 + 300j
    arm = min(run.nearest(at).distance for run in front.edge("side").runs)
    kink = KinkTrace("front.fold", phrase("here"), share * math.degrees(6.35 / arm), at)
    assert (_hinge(walk, Suspect("front", (kink.words,), (kink,))) is kink) is told


def context_of(sheet: Sheet) -> Context:
    pattern = sheet.pattern()
    pieces = {piece.name: piece for piece in pattern.pieces}
    graph = build_graph(pieces, sheet.plan)
    return Context(
        pattern=pattern,
        size="",
        pieces=pieces,
        plan=sheet.plan,
        graph=graph,
        walks=walk_seams(graph),
        settings=SHOP,
    )


def test_a_check_runs_once_a_size_however_many_seams_are_off():
    runs: Counter[str] = Counter()

    def counted(check):
        def run(context: Context):
            runs[check.name] += 1
            return check.run(context)

        return replace(check, run=run)

    draft = hinged(lengthened(GOOD, 6.35))
    result = judge(draft.pattern(), draft.plan, [counted(check) for check in CHECKS], SHOP)
    assert "it has a kink of" in probably(length_in(result.findings))
    assert dict(runs) == {check.name: 1 for check in CHECKS}


def test_what_a_check_saw_explains_a_seam_also_where_it_is_turned_off():
    settings = Settings(severities={"edge-blend": "off"})
    findings = Sheet.of(hinged(lengthened(GOOD, 6.35))).judged(settings=settings).findings
    assert not [one for one in findings if one.check == "edge-blend"]
    assert "it has a kink of" in probably(length_in(findings))


def test_a_check_that_crashed_saw_nothing():
    def crash(context: Context):
        raise ZeroDivisionError("by nought")

    checks = [replace(one, run=crash) if one.name == "edge-blend" else one for one in CHECKS]
    result = Sheet.of(hinged(lengthened(GOOD, 6.35))).judged(checks)
    assert "Likely one of the two was altered by" in probably(length_in(result.findings))
    assert len(result.failures) == 1


def test_a_trace_must_be_beyond_the_band_that_the_shop_gives_its_code():
    settings = Settings(tolerances={"edge-blend/kink": 20.0})
    findings = Sheet.of(hinged(lengthened(GOOD, 6.35))).judged(settings=settings).findings
    assert "Likely one of the two was altered by" in probably(length_in(findings))


def test_evidence_is_what_the_reader_is_told_too():
    """A kink below half its tolerance is no finding, and so no trace."""

    def kinks(degrees: float) -> list:
        context = context_of(kinked_hem(degrees))
        return Evidence(context, observe(context, CHECKS, {})).kinks.get("front", [])

    assert kinks(1.5) == []
    (kink,) = kinks(5.0)
    assert (kink.edge, round(kink.turn, 3)) == ("front.hem", 5.0)


@pytest.mark.parametrize("degrees", [8.0, -6.0])
def test_of_two_corners_the_square_one_was_left_alone(degrees):
    """At a hem both are square: common practice, no source."""
    (finding,) = [one for one in hem_leaving(degrees).judged().findings if one.check == "corner-blend"]
    assert "Likely front.side-hem was changed" in finding.message


@pytest.mark.parametrize(("on_back", "named"), [(0.6, True), (-0.6, True), (1.5, False), (-1.5, False)])
def test_a_corner_is_called_square_up_to_three_quarters_of_a_degree(on_back, named):
    (finding,) = [one for one in hem_leaving(8.0, on_back).judged().findings if one.check == "corner-blend"]
    assert ("Likely front.side-hem was changed" in finding.message) is named


def test_one_notch_that_slipped_and_two_that_slipped_together():
    one, two = moved_notches(5.0).judged().findings, moved_notches(-2.5, -2.5).judged().findings
    assert "likely this one notch was misplaced" in one[0].message
    assert "Likely one side was altered between side-waist and" in two[0].message
