"""Each rule on legs that keep to it, and on legs with one fault: exactly one finding."""

from dataclasses import replace
from math import hypot

import pytest
import seamcheck_trousers
from legs_draft import BACK_CROTCH, HEM, KNEE, back_rise, band, front_rise, legs, replanned, with_notches
from seamcheck_trousers.hints import hints
from seamcheck_trousers.pairs import Leg

from seamcheck.testing import Curve, assert_findings, check_draft, good_draft, settings

CHECKS = {}
seamcheck_trousers.seamcheck_register_checks(lambda check: CHECKS.setdefault(check.name, check))

SHOP = "[options.trousers]\nwaist = 830\nthigh = 555\nknee = 420\nhem = 420\n"
CROTCH = 430 + 1j * BACK_CROTCH


def _moved_crotch_point(draft, by: float):
    """The back's crotch point moved up or down, its seams drawn to it."""
    crotch = CROTCH + 1j * by
    knee, hem = 490 + 1j * KNEE, 490 + 1j * HEM
    return replanned(draft.with_lines("back", inseam=Curve.polyline([hem, knee, crotch]), rise=back_rise(crotch)))


def _back_rise(draft, via: complex | None):
    points = [CROTCH, via, 510 + 60j] if via else [CROTCH, 510 + 60j]
    return draft.with_lines("back", rise=Curve.polyline(points))


def _front_leg(draft, knee: float = 0.0, hem: float = 0.0, side_hem_down: float = 0.0):
    """The front with its knee or its hem moved sideways, or its outseam lengthened at the hem."""
    inner_knee, outer_knee = 290 + knee + 1j * KNEE, 90 + knee + 1j * KNEE
    inner_hem, outer_hem = 290 + hem + 1j * HEM, 90 + hem + 1j * (HEM + side_hem_down)
    moved = draft.with_lines(
        "front",
        inseam=Curve.polyline([330 + 300j, inner_knee, inner_hem]),
        hem=Curve.line(inner_hem, outer_hem),
        outseam=Curve.polyline([outer_hem, outer_knee, 60 + 60j]),
    )
    below = abs(outer_hem - outer_knee)
    stations = iter([abs(inner_knee - (330 + 300j)), below, 820.0 + below - (HEM - KNEE)])
    return with_notches(moved, "front", lambda notch: replace(notch, station=next(stations)))


def _leaning_crotch(draft, front: float, back: float):
    """Both crotch curves leaving the inseam some degrees wider than square."""
    return draft.with_lines("front", rise=front_rise(front)).with_lines("back", rise=back_rise(CROTCH, back))


def _wide_front(draft):
    lines = {
        "hem": Curve.line(310 + 1j * HEM, 70 + 1j * HEM),
        "inseam": Curve.polyline([330 + 300j, 290 + 1j * KNEE, 310 + 1j * HEM]),
        "outseam": Curve.polyline([70 + 1j * HEM, 90 + 1j * KNEE, 60 + 60j]),
    }
    moved = draft.with_lines("front", **lines)
    below = abs(20 + 1j * (HEM - KNEE))
    return with_notches(
        moved, "front", lambda notch: replace(notch, station=below) if notch.station == HEM - KNEE else notch
    )


def _without(edge: str, least: float = 0.0):
    return lambda notch: None if notch.edge == edge and notch.station >= least else notch


def _shifted(edge: str, by: float):
    return lambda notch: replace(notch, station=notch.station + by) if notch.edge == edge else notch


def _band(draft, length: float):
    return draft.with_panel("band", edges=band(length).edges)


FAULTS = {
    "rise-share/back-short piece=back severity=note": lambda draft: _back_rise(draft, None),
    "rise-share/back-long piece=back severity=note": lambda draft: _back_rise(draft, 590 + 330j),
    "crotch-level/lower piece=back severity=note": lambda draft: _moved_crotch_point(draft, 20.0),
    "crotch-level/higher piece=back severity=error": lambda draft: _moved_crotch_point(draft, -60.0),
    "crotch-square/wide piece=back severity=note": lambda draft: _leaning_crotch(draft, -1.4, 2.6),
    "crotch-square/narrow piece=front severity=note": lambda draft: _leaning_crotch(draft, -2.6, 1.4),
    "crease-centre/arrow-off piece=front severity=warning": lambda draft: draft.with_panel(
        "front", grain=(195 + 1000j, 195 + 200j)
    ),
    "crease-centre/knee-off piece=front severity=error": lambda draft: _front_leg(draft, knee=8.0),
    "crease-centre/hem-off piece=front severity=error": lambda draft: _front_leg(draft, hem=8.0),
    "leg-halves/uneven piece=front severity=warning": lambda draft: _front_leg(draft, side_hem_down=5.0),
    "knee-notches/no-knee piece=back severity=note": lambda draft: with_notches(draft, "back", _without("inseam")),
    "knee-notches/slanted piece=back severity=warning": lambda draft: with_notches(
        draft, "back", _shifted("inseam", 10.0)
    ),
    "knee-notches/no-hip piece=front severity=note": lambda draft: with_notches(
        draft, "front", _without("outseam", 500.0)
    ),
    "inseam-ease/back-longer seam=inseam edge=back.inseam severity=error": lambda draft: _moved_crotch_point(
        draft, -8.0
    ),
    "inseam-ease/too-much seam=inseam edge=back.inseam severity=error": lambda draft: _moved_crotch_point(
        draft, 22.0
    ),
    "inseam-ease/below-knee seam=inseam severity=error": lambda draft: _below_knee(draft),
    "leg-girth/front-wider piece=front severity=note": _wide_front,
    "waist-ease/band-longer seam=waist edge=band.lower severity=error": lambda draft: _band(draft, 426.0),
    "waist-ease/too-full seam=waist edge=back.waist severity=error": lambda draft: _band(draft, 400.0),
}
SETTINGS_FAULTS = {
    "leg-girth/narrow severity=error": "hem = 440",
    "leg-girth/wide severity=warning": "hem = 410",
    "waist-size/small severity=error": "waist = 880",
    "waist-size/large severity=error": "waist = 800",
}


def _below_knee(draft):
    """The back folded 4 mm shorter below the knee, and let out as much above it."""
    crotch = CROTCH - 4j * hypot(60, KNEE - BACK_CROTCH) / (KNEE - BACK_CROTCH)
    knee = 490 + 1j * (KNEE + 4)
    moved = draft.with_lines(
        "back",
        inseam=Curve.polyline([490 + 1j * HEM, knee, crotch]),
        rise=back_rise(crotch),
    )
    return with_notches(moved, "back", _shifted("inseam", -4.0))


def test_good_legs_keep_to_every_rule():
    result = check_draft(legs(), CHECKS.values(), settings(SHOP))
    assert_findings(result)
    assert result.skipped == ()


def test_what_a_shop_does_not_set_is_skipped_with_its_reason():
    result = check_draft(legs(), CHECKS.values())
    assert_findings(result)
    assert [(one.check, one.reason, one.message) for one in result.skipped] == [
        ("waist-size", "no-size", "the shop sets no waist for this size under [options.trousers]")
    ]


@pytest.mark.parametrize("finding", FAULTS)
def test_a_fault_is_found_once(finding):
    name = finding.split("/")[0]
    result = check_draft(FAULTS[finding](legs()), [CHECKS[name]])
    if "inseam-ease" in finding and "below" in finding:
        found = [one for one in result.findings if one.code == "below-knee"]
        result = replace(result, findings=tuple(found))
    assert_findings(result, finding)


@pytest.mark.parametrize("finding", SETTINGS_FAULTS)
def test_what_a_shop_sets_is_held(finding):
    text = f"[options.trousers]\n{SETTINGS_FAULTS[finding]}\n"
    assert_findings(check_draft(legs(), [CHECKS[finding.split("/")[0]]], settings(text)), finding)


def test_every_code_has_its_fault():
    codes = {f"{check.name}/{code.name}" for check in CHECKS.values() for code in check.codes}
    assert codes == {finding.split()[0] for finding in (*FAULTS, *SETTINGS_FAULTS)}


@pytest.mark.parametrize("name", CHECKS)
def test_every_rule_names_its_source(name):
    source = CHECKS[name].source
    assert any(
        mark in source for mark in (".com", "magazine", "University", "common practice, no source", "A Tailor")
    )


def test_the_waist_is_set_by_size_and_in_the_units_of_the_shop():
    text = 'units = "cm"\n[options.trousers]\nwaist = { 38 = 70, 40 = 88 }\nwaist-ease = [0, 1]\n'
    (finding,) = check_draft(legs(), [CHECKS["waist-size"]], settings(text)).findings
    assert (finding.code, finding.allowed) == ("small", (0.0, 10.0))
    assert finding.measured == pytest.approx(840 - 880, abs=0.01)  # (210 + 210) twice round, the dart closed


def test_a_shop_with_straight_sides_has_no_crease():
    shifted = FAULTS["crease-centre/arrow-off piece=front severity=warning"](legs())
    result = check_draft(shifted, [CHECKS["crease-centre"]], settings("[options.trousers]\nstraight-side = true\n"))
    assert_findings(result)
    assert result.skipped[0].reason == "straight-side"
    assert "straight outseam" in result.skipped[0].message


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("waste = 830", 'line 2: unknown key "waste" in [options.trousers]; the nearest known key is "waist"'),
        ('hem = "wide"', 'line 2: "hem" in [options.trousers] is a text where a number belongs'),
        ("straight-side = 3", 'line 2: "straight-side" is neither true nor false; write true or false'),
    ],
)
def test_a_mistake_in_the_options_is_one_sentence(text, said):
    checks = [CHECKS["leg-girth"], CHECKS["crease-centre"]]
    result = check_draft(legs(), checks, settings(f"[options.trousers]\n{text}\n"))
    assert f"seamcheck.toml, {said}" in result.failures


def test_seam_length_has_the_word_where_the_plan_is_broken():
    result = check_draft(_band(legs(), 300.0), [CHECKS["waist-ease"]])
    assert_findings(result)
    assert result.skipped[0].reason == "not-true"
    assert result.skipped[0].message == "the waist is not as the plan wants it, which seam-length tells"


def test_what_cannot_be_measured_on_a_leg_says_so_by_a_code(monkeypatch):
    (fault,) = [name for name in FAULTS if name.startswith("knee-notches/no-knee")]
    for name in ("crease-centre", "leg-halves", "inseam-ease"):
        skipped = check_draft(FAULTS[fault](legs()), [CHECKS[name]]).skipped
        assert {one.reason for one in skipped} == {"no-knee"}
    monkeypatch.setattr(Leg, "width", lambda self, height: None)
    skipped = check_draft(legs(), [CHECKS["leg-girth"]]).skipped
    assert [(one.reason, one.message.split(" is ")[0]) for one in skipped] == [
        ("not-bounded", f"the {place}") for place in ("thigh", "knee", "hem")
    ]


def test_a_pattern_without_legs_hears_that_there_are_none():
    result = check_draft(good_draft(), CHECKS.values(), settings(SHOP))
    assert (result.findings, result.failures) == ((), ())
    assert {one.check for one in result.skipped} == CHECKS.keys()
    assert {str(one.why) for one in result.skipped} == {"no piece is a trouser leg: none has an inseam"}


def test_legs_that_cannot_be_measured_are_told_once():
    result = check_draft(legs().with_panel("back", grain=None), CHECKS.values(), settings(SHOP))
    assert_findings(result)
    assert {one.check for one in result.skipped} == CHECKS.keys()
    assert {one.reason for one in result.skipped} == {"no-legs"}
    (why,) = {one.message for one in result.skipped}
    assert why.startswith("front and back cannot be measured as legs")


def test_hints_pair_the_long_seams_from_the_hem_up():
    hinted = list(hints(legs().pattern()))
    assert [(hint.first, hint.second, hint.confidence) for hint in hinted] == [
        ("-front.outseam", "-back.outseam", 0.9),
        ("-front.inseam", "-back.inseam", 0.9),
    ]
    registered = []
    seamcheck_trousers.seamcheck_pairing_hints(legs().pattern(), registered.append)
    assert registered == hinted


def test_other_pieces_get_no_hint():
    assert list(hints(good_draft().pattern())) == []
