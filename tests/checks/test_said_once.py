"""Where one check would only repeat another: one of the two speaks, whatever the shop turned off or allows.

The pairs are those that the checks declare, so that a new one without a case fails.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import pytest
from cases import Fault
from faulty_pieces import cut_inside, cut_lines, small_loop, test_square
from faulty_skirts import (
    GOOD,
    ambiguous_edge,
    inseam,
    lengthened,
    line,
    lines,
    lost_corner,
    mouth_open,
    moved_notches,
    turned_seam,
)
from folded_panels import InsidePleat, folded_panel
from piece_faults import hem_through
from seeded_faults import FAULTS, done
from skirt_making import CHECKS, Sheet, smooth, unit
from skirt_nest import SkirtNest, slanting, wide

from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge
from seamcheck.engine.result import FileResult

ALLOWED = 300.0  # mm or degrees: more than anything in these skirts is off by


@dataclass(frozen=True)
class Case:
    """A skirt with one fault, and what of the check that only repeats it is then silent: a code, or words of its skip."""

    sheet: Callable[[], Sheet | SkirtNest]
    code: str = ""
    skip: str = ""


def leaving_fold(degrees: float) -> Sheet:
    """The front's waist leaves the fold at another angle; it still arrives squarely at the side."""
    waist = line("front", "waist")
    return lines("front", waist=smooth(waist.start, unit(degrees), waist.end, 1))


def uneven_side() -> Sheet:
    """A cut line that is straight where the front's side is curved."""
    corners = "M8,8 H250 V432 H8 Z"
    return cut_lines(back=12.0).drawn("front", f'<path inkscape:label="cut line" d="{corners}"/>')


PAIRS = [(check.name, repeated) for check in CHECKS for repeated in check.repeats]
CASES: dict[tuple[str, str], Case] = {
    ("seam-span", "seam-length"): Case(lambda: Sheet.of(lengthened(GOOD, 6.35)), "long"),
    ("seam-span", "notch-match/station"): Case(lambda: moved_notches(5.0), "long"),
    ("notch-match", "notch-match/turned"): Case(lambda: turned_seam("side"), "unmatched"),
    ("corner-blend", "notch-match/turned"): Case(lambda: turned_seam("side"), skip="meant"),
    ("ease", "ease/wrong-side"): Case(lambda: inseam((90.0, 200.0, 310.0), (90.0, 200.0, 310.0), -4.0, ease=(-6.0, 6.0)), "outside"),
    ("size-run", "size-run/out"): Case(
        lambda: SkirtNest(changes={("42", "pocket"): lambda panel: slanting(5.0)(wide(6.35)(panel))}), "corner"
    ),
    ("corner-blend", "dart-mouth/pointed"): Case(lambda: mouth_open(-8.0), "pointed"),
    ("corner-blend", "dart-mouth/hollow"): Case(lambda: mouth_open(6.0), "hollow"),
    ("corner-blend", "pleat/pointed"): Case(lambda: folded_panel(InsidePleat(100, turned=6.0)), "pointed"),
    ("corner-blend", "pleat/hollow"): Case(lambda: folded_panel(InsidePleat(100, turned=-8.0)), "hollow"),
    ("plan-complete", "plan-complete/corner-unsure"): Case(lost_corner, "edge-unsure"),
    ("plan-complete", "plan-complete/edge-unsure"): Case(
        lambda: ambiguous_edge().piece_planned("front", unsewn=()), "edge-unplanned"
    ),
    ("square-end", "corner-blend/pointed"): Case(lambda: leaving_fold(8.0), "slanted"),
    ("square-end", "corner-blend/hollow"): Case(lambda: leaving_fold(-8.0), "slanted"),
    ("allowance-mates", "allowance-even"): Case(uneven_side, skip="allowance-uneven"),
    ("allowance-mates", "outline-crossing/outside"): Case(lambda: cut_inside(4.0), skip="sew-line-outside"),
}  # fmt: skip
NOTES = {
    "outline-crosses-itself": lambda: hem_through(-100, -80 + 25j, -88 - 6j),
    "scale-square": lambda: test_square(51.2, "Test square 5 cm"),
    "units-implausible": None,  # by the same rule as the square
}


def judged(sheet: Sheet | SkirtNest, settings: Settings, checks=CHECKS) -> FileResult:
    assert sheet.plan is not None
    return judge(sheet.pattern(), sheet.plan, checks, settings)


def says(result: FileResult, check: str, case: Case) -> bool:
    if case.skip:
        return any(one.check == check and case.skip == one.reason for one in result.skipped)
    return any((one.check, one.code) == (check, case.code) for one in result.findings)


def is_found(result: FileResult, repeated: str) -> bool:
    return any(repeated in (one.check, f"{one.check}/{one.code}") for one in result.findings)


def test_every_pair_of_checks_has_its_case():
    assert set(PAIRS) == set(CASES)
    names = {check.name for check in CHECKS} | {
        f"{check.name}/{code.name}" for check in CHECKS for code in check.codes
    }
    assert {repeated for _, repeated in PAIRS} <= names


def named(pair: tuple[str, str]) -> str:
    return f"{pair[0]}-repeats-{pair[1]}"


@pytest.mark.parametrize("pair", PAIRS, ids=named)
def test_what_is_said_is_not_repeated(pair):
    result = judged(CASES[pair].sheet(), Settings())
    assert is_found(result, pair[1])
    assert not says(result, pair[0], CASES[pair])


@pytest.mark.parametrize("pair", PAIRS, ids=named)
def test_what_is_turned_off_is_said_by_the_other(pair):
    result = judged(CASES[pair].sheet(), Settings(severities={pair[1]: "off"}))
    assert not is_found(result, pair[1])
    assert says(result, pair[0], CASES[pair])


def is_measured(repeated: str) -> bool:
    check, _, code = repeated.partition("/")
    (one,) = [one for one in CHECKS if one.name == check]
    return any(one.measures(each) for each in one.codes if code in ("", each.name))


@pytest.mark.parametrize("pair", [pair for pair in PAIRS if is_measured(pair[1])], ids=named)
def test_what_is_allowed_to_one_is_said_by_the_other(pair):
    check, _, code = pair[1].partition("/")
    (one,) = [one for one in CHECKS if one.name == check]
    # The tolerance of a check may be that of others too, that of a code is its own.
    tolerances = {
        f"{check}/{each.name}": ALLOWED for each in one.codes if code in ("", each.name) and one.measures(each)
    }
    result = judged(CASES[pair].sheet(), Settings(tolerances=tolerances))
    assert not is_found(result, pair[1])
    assert says(result, pair[0], CASES[pair])


@pytest.mark.parametrize("pair", [pair for pair in PAIRS if pair[1].split("/")[0] != pair[0]], ids=named)
def test_what_crashed_is_said_by_the_other(pair):
    def crash(context):
        raise ZeroDivisionError("by nought")

    checks = [replace(one, run=crash) if one.name == pair[1].split("/")[0] else one for one in CHECKS]
    assert says(judged(CASES[pair].sheet(), Settings(), checks), pair[0], CASES[pair])


@pytest.mark.parametrize("amount", [6.35, -6.35])
@pytest.mark.parametrize(
    "settings",
    [
        Settings(severities={"seam-length": "off"}),
        Settings(tolerances={"seam-length/long": 20.0, "seam-length/short": 20.0}),
    ],
)
def test_a_seam_that_is_off_is_never_silent(amount, settings):
    result = judged(Sheet.of(lengthened(GOOD, amount)), settings)
    (finding,) = [one for one in result.findings if one.seam == "side"]
    assert (finding.check, finding.measured) == ("seam-span", pytest.approx(amount, abs=1e-6))


def test_square_ends_that_the_seam_makes_up_for_are_left_alone():
    """A waist that rises from the fold, sewn to a band that falls by as much: by geometry the line across runs on."""
    lower = line("band-front", "lower")
    band = GOOD.with_lines(
        "front", waist=smooth(line("front", "waist").start, unit(8.0), line("front", "waist").end, 1)
    ).with_lines("band-front", lower=smooth(lower.start, -1, lower.end, unit(180 + 8.0)))
    result = judged(Sheet.of(band), Settings(severities={"corner-blend": "off"}))
    assert [one.message for one in result.findings if one.check == "square-end" and one.code == "slanted"] == []


# Notes of the reading


def test_every_note_that_a_check_speaks_for_has_its_case():
    assert {note for check in CHECKS for note in check.notes} == set(NOTES)


@pytest.mark.parametrize("note", [note for note, sheet in NOTES.items() if sheet])
def test_a_note_is_kept_where_its_check_says_nothing_because_it_may_not(note):
    (check,) = [one for one in CHECKS if note in one.notes]
    sheet = NOTES[note]()

    def crash(context):
        raise ZeroDivisionError("by nought")

    def noted(result: FileResult) -> bool:
        return note in {one.code for one in result.notes}

    assert note in {one.code for one in sheet.pattern().notes}
    assert not noted(judged(sheet, Settings()))
    assert noted(judged(sheet, Settings(severities={check.name: "off"})))
    assert noted(judged(sheet, Settings(severities={f"{check.name}/{each.name}": "off" for each in check.codes})))
    assert noted(judged(sheet, Settings(), [replace(one, run=crash) if one is check else one for one in CHECKS]))


def test_a_check_that_looked_and_found_nothing_speaks_for_the_reading():
    """A loop as the unsteady hand makes it."""
    sheet = small_loop(0.02)
    assert "outline-crosses-itself" in {one.code for one in sheet.pattern().notes}
    result = judged(sheet, Settings())
    assert (result.findings, [one.code for one in result.notes]) == ((), [])


# Whatever is turned off


@cache
def as_it_is(fault: Fault) -> FileResult:
    pattern, plan, before = done(fault)
    return judge(pattern, plan, CHECKS, Settings(), before=before)


ONE_OF_EACH = list({(fault.check, fault.code): fault for fault in FAULTS}.values())


@pytest.mark.parametrize("fault", ONE_OF_EACH, ids=str)
def test_turning_a_check_off_silences_that_check_alone_and_is_listed(fault):
    pattern, plan, before = done(fault)
    result = judge(pattern, plan, CHECKS, Settings(severities={fault.check: "off"}), before=before)
    (check,) = [one for one in CHECKS if one.name == fault.check]
    off = [row for row in result.in_force if row.check == fault.check and row.severity == "off"]
    assert {code for row in off for code in row.codes} == {code.name for code in check.codes}
    assert not [one for one in result.findings if one.check == fault.check]
    others = {key(one) for one in as_it_is(fault).findings if one.check != fault.check}
    assert others <= set(map(key, result.findings))
    new = set(map(key, result.findings)) - set(map(key, as_it_is(fault).findings))
    repeating = {one.name for one in CHECKS if {name.split("/")[0] for name in one.repeats} & {fault.check}}
    assert {one[0] for one in new} <= repeating
    assert set(as_it_is(fault).skipped) <= set(result.skipped)


def key(finding) -> tuple[object, ...]:
    return finding.check, finding.code, finding.seam, finding.edges, finding.at, finding.message
