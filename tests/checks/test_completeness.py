"""The gate: no check, and no way that a check can fail, without its words and its cases.

That `explain` lists each is held by `tests/report/test_explain.py`.
"""

import re
from string import Formatter

import pytest
from seeded_faults import FAULTS, PASSING, observed, said, silent
from skirt_making import CHECKS

from seamcheck.checks.base import Check, Code, Observation, Severity, Skip

CODES = [(check, code) for check in CHECKS for code in check.codes]
BY_THE_ENGINE = {
    "accepted-unknown",
    "accepted-unused",
    "accepted-without-why",
}  # made where findings are accepted, not by the check


def named(case):
    return f"{case[0].name}/{case[1].name}" if isinstance(case, tuple) else case.name


def fields(template: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(template) if name is not None}


def test_there_are_checks():
    assert len(CHECKS) >= 13
    assert len({check.name for check in CHECKS}) == len(CHECKS)


@pytest.mark.parametrize("check", CHECKS, ids=named)
def test_a_check_says_what_it_is_for(check: Check):
    for words in (check.meaning, check.why, check.remedy, check.source):
        assert len(words.split()) >= 3
    assert check.why.endswith(".")
    assert check.remedy.endswith(".")
    assert not check.meaning.endswith(".")  # it completes "holds when"
    assert check.codes
    assert (check.tolerance is None) == (check.unit is None)
    assert len({code.name for code in check.codes}) == len(check.codes)


@pytest.mark.parametrize("case", CODES, ids=named)
def test_a_code_says_what_went_wrong_and_what_to_do(case: tuple[Check, Code]):
    check, code = case
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", code.name)
    assert len(code.meaning.split()) >= 3
    assert code.message.endswith(".")
    assert code.advice.endswith(".")
    assert all(clause.endswith(".") for clause in code.clauses.values())
    measures = any(one.deviation is not None for one in observed().get((check.name, code.name), ()))
    assert measures or isinstance(code.severity, Severity)
    assert not (measures and code.severity is not None)
    assert not measures or (code.unit or check.unit) is not None


@pytest.mark.parametrize("case", CODES, ids=named)
def test_a_code_has_a_fault_that_it_finds(case: tuple[Check, Code]):
    check, code = case
    assert [fault for fault in FAULTS if (fault.check, fault.code) == (check.name, code.name)]


@pytest.mark.parametrize("check", CHECKS, ids=named)
def test_a_check_has_a_skirt_that_it_passes(check: Check):
    assert [case for case in PASSING if case.check == check.name]


def test_the_table_has_no_case_of_a_check_that_is_gone():
    known = {(check.name, code.name) for check, code in CODES}
    assert {(fault.check, fault.code) for fault in FAULTS} <= known
    assert {case.check for case in PASSING} <= {check.name for check in CHECKS}


@pytest.mark.parametrize("case", [case for case in CODES if case[1].name not in BY_THE_ENGINE], ids=named)
def test_a_message_names_only_what_the_check_tells(case: tuple[Check, Code]):
    check, code = case
    seen = observed()[check.name, code.name]
    for observation in seen:
        told = set(observation.facts)
        assert fields(code.message) <= told
        assert fields(code.advice) <= told
        for clause in observation.clauses:
            assert fields(code.clauses[clause]) <= told


@pytest.mark.parametrize("case", CODES, ids=named)
def test_a_code_declares_the_facts_that_it_speaks_of_and_no_other(case: tuple[Check, Code]):
    _, code = case
    assert set(code.facts) == set().union(*map(fields, code.templates.values()))
    assert len(set(code.facts)) == len(code.facts)


@pytest.mark.parametrize("check", CHECKS, ids=named)
def test_a_check_yields_what_it_looked_at_or_why_it_did_not(check: Check):
    assert check.name not in silent()


@pytest.mark.parametrize("check", CHECKS, ids=named)
def test_every_clause_is_said_somewhere(check: Check):
    declared = {clause for code in check.codes for clause in code.clauses}
    said = {
        clause
        for code in check.codes
        for one in observed().get((check.name, code.name), ())
        for clause in one.clauses
    }
    assert said == declared


# What these say of the cause and the remedy is still text.
IN_WORDS = {"seam-length", "seam-span", "notch-match", "ease"}


def test_a_fact_that_is_text_holds_no_amount_and_no_name_of_an_edge():
    """Amounts, counts and names are facts of their own kinds, which a report may say in another unit or lead to."""
    composed = {
        (check.name, name, fact)
        for check, item in said()
        if isinstance(item, Observation) and check.name not in IN_WORDS | {"scale"}
        for name, fact in item.facts.items()
        if type(fact) is str and name != "place" and re.search(r"\d|\w\.\w", fact)
    }
    assert composed == set()


# What the skirts of the table are left aside for; the other codes have cases of their own.
LEFT_ASIDE = {
    ("allowance-even", "lines-cross"),
    ("allowance-even", "no-two-lines"),
    ("allowance-mates", "no-allowances"),
    ("allowance-mates", "sew-line-outside"),
    ("corner-blend", "meant"),
    ("corner-blend", "no-seams"),
    ("corner-blend", "shaped"),
    ("corner-blend", "unpaired"),
    ("dart-legs", "no-darts"),
    ("dart-mouth", "no-darts"),
    ("dart-mouth", "no-roof"),
    ("dart-place", "no-darts"),
    ("ease", "names-say-nothing"),
    ("notch-match", "no-seams"),
    ("seam-length", "no-seams"),
    ("seam-span", "no-seams"),
    ("edge-blend", "meant"),
    ("ease", "no-ease"),
    ("ease", "not-true"),
    ("fold-straight", "no-folds"),
    ("grain-fold", "grain-bent"),
    ("grain-fold", "meant"),
    ("grain-fold", "no-fold"),
    ("grain-fold", "no-grain"),
    ("grain-inside", "no-grain"),
    ("grain-straight", "no-grain"),
    ("grain-turned", "no-earlier-file"),
    ("hem-turn-up", "hem-uneven"),
    ("hem-turn-up", "short-edge"),
    ("hem-turn-up", "no-hem"),
    ("labels", "no-labels"),
    ("marks-inside", "no-marks"),
    ("mirror-pair", "no-pair"),
    ("notch-drift", "no-earlier-file"),
    ("notch-match", "no-notches"),
    ("notch-place", "no-allowance"),
    ("plan-complete", "outline-open"),
    ("pleat", "at-end"),
    ("pleat", "at-seam-end"),
    ("pleat", "no-edge"),
    ("pleat", "no-fold-lines"),
    ("seam-length", "piece-missing"),
    ("seam-span", "no-notches"),
    ("reading-differs", "not-asked"),
    ("size-run", "few-sizes"),
    ("square-end", "meant"),
    ("square-end", "no-fold"),
    ("notch-place", "no-notches"),
    ("pleat", "no-pleats"),
}


def test_what_is_left_aside_says_so_by_its_code():
    assert {(check.name, item.reason) for check, item in said() if isinstance(item, Skip)} == LEFT_ASIDE
