"""A fault is the same fault however the pieces lie, run or are named."""

import re
from dataclasses import replace

import pytest
from seeded_faults import FAULTS, Fault
from skirt_making import Sheet, skirt

from seamcheck.checks.base import Severity

MEASURED = [
    fault
    for fault in FAULTS
    if fault.amount is not None
    and fault.severity != "note"
    and fault.check not in ("size-run", "reading-differs")  # neither is one drawing
]
ONE_OF_EACH = list({(fault.check, fault.code): fault for fault in MEASURED}.values())


def lying(sheet: Sheet, transform: str, names: str = "front|back") -> Sheet:
    """Some pieces moved; the plan's coordinates stay as they were. The bands are the same whichever way they lie."""
    return replace(
        sheet, svg=re.sub(rf'(<g inkscape:label="(?:{names})")>', rf'\1 transform="{transform}">', sheet.svg)
    )


def swapped(sheet: Sheet) -> Sheet:
    """The sides of every seam exchanged, and what is planned between them with them."""
    assert sheet.plan is not None
    seams = tuple(
        replace(
            seam,
            sides=seam.sides[::-1],
            ease=None if seam.ease is None else (-seam.ease[1], -seam.ease[0]),
            ratio=None if seam.ratio is None else (1 / seam.ratio[1], 1 / seam.ratio[0]),
        )
        for seam in sheet.plan.seams
    )
    return sheet.planned(seams=seams)


def backwards(sheet: Sheet) -> Sheet:
    """Every seam walked from its other end."""
    assert sheet.plan is not None
    seams = tuple(
        replace(
            seam,
            sides=tuple(
                tuple(replace(use, backwards=not use.backwards) for use in reversed(side)) for side in seam.sides
            ),
        )
        for seam in sheet.plan.seams
    )
    return sheet.planned(seams=seams)


def found(sheet: Sheet) -> list[tuple]:
    result = sheet.judged()
    assert result.failures == ()
    serious = [one for one in result.findings if one.severity is not Severity.NOTE]
    return [(one.check, one.code, one.severity, one.measured, one.seam, one.pieces) for one in serious]


def is_the(fault: Fault, findings: list[tuple], *, swaps: bool = False, turns_over: bool = False) -> None:
    ((check, code, severity, measured, seam, pieces),) = findings
    other = {"short": "long", "long": "short"}
    assert (check, severity) == (fault.check, fault.severity)
    assert code == (other.get(fault.code, fault.code) if swaps else fault.code)
    assert fault.amount is not None
    if swaps or turns_over:
        assert abs(measured) == pytest.approx(abs(fault.amount), abs=0.05)
    else:
        assert measured == pytest.approx(fault.amount, abs=0.05)
    assert seam == fault.seam or fault.seam is None
    assert fault.piece is None or fault.piece in pieces


@pytest.mark.parametrize("fault", ONE_OF_EACH, ids=str)
def test_pieces_may_be_turned(fault):
    is_the(
        fault,
        found(lying(fault.sheet(), "translate(900 -40) rotate(37)")),
        turns_over=fault.check == "grain-straight",
    )


@pytest.mark.parametrize("fault", [one for one in ONE_OF_EACH if one.seam or one.piece == "back"], ids=str)
def test_pieces_may_be_mirrored(fault):
    is_the(
        fault,
        found(lying(fault.sheet(), "scale(-1 1)", "back")),
        turns_over=fault.check in ("grain-straight", "dart-legs"),
    )


@pytest.mark.parametrize("fault", [one for one in ONE_OF_EACH if one.seam], ids=str)
def test_the_sides_of_a_seam_may_be_exchanged(fault):
    is_the(fault, found(swapped(fault.sheet())), swaps=True)


@pytest.mark.parametrize("fault", [one for one in ONE_OF_EACH if one.seam], ids=str)
def test_a_seam_may_be_walked_from_its_other_end(fault):
    is_the(fault, found(backwards(fault.sheet())), turns_over=fault.code in ("station", "jog", "unmatched"))


@pytest.mark.parametrize("fault", [one for one in ONE_OF_EACH if one.seam], ids=str)
def test_an_edge_is_said_without_the_sign_that_the_plan_gives_it(fault):
    for finding in backwards(fault.sheet()).judged().findings:
        assert not re.search(r"(^|[ +(])-[a-z]", finding.message + " " + finding.advice)


def test_the_good_skirt_stays_good():
    good = Sheet.of(skirt())
    for sheet in (swapped(good), backwards(good), lying(good, "rotate(200)"), lying(good, "scale(1 -1)", "back")):
        assert found(sheet) == []


def test_a_drawing_in_another_unit_is_the_same_pattern():
    sheet = Sheet.of(skirt())
    inches = sheet.svg.replace('width="600mm"', f'width="{600 / 25.4!r}in"').replace(
        'height="500mm"', f'height="{500 / 25.4!r}in"'
    )
    assert inches != sheet.svg
    mine, theirs = sheet.judged(), replace(sheet, svg=inches).judged()
    assert [seam.first.length for seam in theirs.seams] == pytest.approx([seam.first.length for seam in mine.seams])
    assert theirs.findings == ()
