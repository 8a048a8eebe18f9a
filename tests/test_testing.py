import re

import pytest

from seamcheck.amounts import phrase
from seamcheck.checks.base import Severity
from seamcheck.config.plan_file import parse_plan
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import check_file
from seamcheck.engine.plugins import Registry
from seamcheck.engine.read import Request
from seamcheck.engine.result import FileResult, Finding
from seamcheck.errors import Failure
from seamcheck.testing import FAULTS, Fault, assert_findings, check_draft, good_draft


def test_the_good_draft_has_nothing_to_put_right():
    result = check_draft(good_draft())
    assert_findings(result)
    assert [(seam.name, round(seam.difference, 6)) for seam in result.seams] == [("side", 0.0)]
    assert {junction.expected for junction in result.junctions} == {180.0}
    assert len(result.junctions) == 2


@pytest.mark.parametrize("name", FAULTS)
def test_one_fault_gives_one_finding(name):
    fault = FAULTS[name]
    assert_findings(check_draft(fault.change(good_draft())), fault.finding)


def test_the_short_side_is_measured_as_it_was_made():
    # A straight stretch was shortened by a quarter inch, so the seam differs by exactly that.
    result = check_draft(FAULTS["short-side"].change(good_draft()))
    (finding,) = result.findings
    assert finding.measured == pytest.approx(6.35, abs=1e-6)


def test_a_draft_on_disk_is_the_draft_in_memory(tmp_path):
    draft = good_draft()
    path = draft.save(tmp_path)
    assert parse_plan(path.with_suffix(".seams.toml").read_text()) == draft.plan
    from seamcheck.reading.svg.reader import IMPORTER

    registry = Registry(checks=(), importers=(IMPORTER,), reports=())
    from_disk = check_file(str(path), Request(), registry, Settings())
    in_memory = check_draft(draft, [])
    assert from_disk.seams == in_memory.seams
    assert from_disk.junctions == in_memory.junctions


def test_only_the_given_checks_are_run():
    assert check_draft(FAULTS["no-grain"].change(good_draft()), []).findings == ()


def test_changing_an_edge_that_is_not_there_is_refused():
    with pytest.raises(KeyError, match="yoke"):
        good_draft().panel("front").with_lines(yoke=good_draft().panel("front").edge("hem").line)
    with pytest.raises(KeyError, match="sleeve"):
        good_draft().with_panel("sleeve", grain=None)


@pytest.fixture
def result():
    finding = Finding(
        check="seam-length",
        code="short",
        severity=Severity.ERROR,
        size="M",
        fault=phrase("it is short"),
        remedy=phrase("lengthen it"),
        seam="left side",
        pieces=("front", "back"),
        edges=("front.side", "back.side"),
    )
    return FileResult(path="ferryhand.svg", sizes=("M",), findings=(finding,))


@pytest.mark.parametrize(
    "expected",
    [
        "seam-length/short",
        'seam-length/short seam="left side"',
        "seam-length/short piece=front piece=back edge=back.side size=M severity=error",
    ],
)
def test_an_expected_finding_may_say_as_much_as_matters(result, expected):
    assert_findings(result, expected)


@pytest.mark.parametrize(
    "expected",
    [
        "seam-length/long",
        "seam-length",
        "seam-length/short piece=band",
        "seam-length/short seam=side",
        "seam-length/short size=S",
        "seam-length/short severity=warning",
    ],
)
def test_what_is_missing_and_what_was_not_expected_are_both_told(result, expected):
    with pytest.raises(AssertionError) as caught:
        assert_findings(result, expected)
    assert str(caught.value).splitlines()[1:] == [
        f"missing:      {expected}",
        "not expected: seam-length/short seam='left side' piece=front piece=back edge=front.side edge=back.side "
        "size=M severity=error: it is short",
    ]


def test_a_finding_too_many_and_one_too_few(result):
    with pytest.raises(AssertionError, match="not expected: seam-length/short"):
        assert_findings(result)
    with pytest.raises(AssertionError, match=r"missing: +seam-length/short"):
        assert_findings(result, "seam-length/short", "seam-length/short")


def test_what_could_not_be_judged_is_no_pass():
    failed = FileResult(path="ferryhand.svg", failures=(Failure("a check crashed"),))
    with pytest.raises(AssertionError, match=r"not judged: +a check crashed"):
        assert_findings(failed)


def test_a_misspelt_condition_is_no_mismatch_but_a_mistake(result):
    with pytest.raises(ValueError, match="'seem' is none of seam, piece"):
        assert_findings(result, "seam-length/short seem=side")


def test_the_names_of_faults_are_told_apart():
    assert all(isinstance(fault, Fault) and re.fullmatch("[a-z]+(-[a-z]+)*", name) for name, fault in FAULTS.items())
    assert len({fault.meaning for fault in FAULTS.values()}) == len(FAULTS)
