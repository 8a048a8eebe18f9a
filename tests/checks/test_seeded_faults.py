import pytest
from seeded_faults import FAULTS, PASSING, judged
from skirt_making import CHECKS

from seamcheck.checks.base import Severity


def test_the_skirt_trues():
    result = judged(None)
    assert (result.findings, result.failures) == ((), ())
    assert len(result.seams) == 5
    assert all(abs(seam.difference) < 1e-6 for seam in result.seams)
    assert len(result.junctions) == 10
    assert all(abs(one.angle - one.expected) < 1e-6 for one in result.junctions)


@pytest.mark.parametrize("fault", FAULTS, ids=str)
def test_one_fault_gives_one_finding(fault):
    result = judged(fault)
    own = [one for one in result.findings if one.accepted is None]
    above = [one for one in own if one.severity is not Severity.NOTE]
    found = own if fault.severity == "note" else above
    assert [(one.check, one.code) for one in found] == [(fault.check, fault.code)], [one.message for one in found]
    (finding,) = found
    assert finding.severity == fault.severity
    assert finding.seam == fault.seam or fault.seam is None
    assert fault.piece is None or fault.piece in finding.pieces
    assert fault.edge is None or fault.edge in finding.edges
    assert (finding.measured is None) == (fault.amount is None)
    if fault.amount is not None:
        assert finding.measured == pytest.approx(fault.amount, abs=0.02 if finding.unit == "mm" else 0.05)
    for words in fault.says:
        assert any(words in said for said in (finding.message, finding.why, finding.advice))


IN_THE_PLAN = {
    "piece-missing",
    "edge-unsure",
    "edge-swallowed",
    "accepted-unknown",
    "accepted-unused",
    "accepted-without-why",
}  # not in the drawing


@pytest.mark.parametrize("fault", [one for one in FAULTS if one.code not in IN_THE_PLAN], ids=str)
def test_a_fault_points_into_the_drawing(fault):
    for finding in judged(fault).findings:
        assert finding.at is not None


@pytest.mark.parametrize("case", PASSING, ids=str)
def test_what_is_right_is_not_found_fault_with(case):
    result = judged(case)
    assert [one.message for one in result.findings if one.accepted is None] == []
    assert result.failures == ()
    assert case.check in {check.name for check in CHECKS}


@pytest.mark.parametrize("fault", FAULTS, ids=str)
def test_a_message_is_one_a_sewist_can_read(fault):
    for finding in judged(fault).findings:
        for words in filter(None, (finding.message, finding.why, finding.advice)):
            assert words[0].isupper() or words.split()[0].strip(":,").split(".")[0] in finding.pieces
            assert words.endswith((".", "!"))
            assert "{" not in words
            assert "  " not in words
            assert ": ." not in words
            assert "None" not in words
