"""What a finding measures does not depend on how a drawing lies, runs, counts or is called: to 1e-4 mm or degrees."""

import re
from dataclasses import replace

import pytest
from seeded_faults import FAULTS, judged
from skirt_making import Sheet

from seamcheck.engine.result import FileResult

MEASURED = [
    fault
    for fault in FAULTS
    if fault.amount is not None
    and fault.check not in ("size-run", "scale", "notch-drift", "grain-turned", "reading-differs")
]  # those need a nest, the sheet itself, an earlier drawing or a second reading
ONE_OF_EACH = list({(fault.check, fault.code): fault for fault in MEASURED}.values())
OUTLINE = re.compile(r'(<path inkscape:label="sew line" d=")M([^"]*?)( Z)?"')
EXACT = 1e-4  # mm and degrees


def _outlines(sheet: Sheet, change) -> Sheet:
    """The sheet with the segments of every closed sew line in another order."""

    def redrawn(found: re.Match[str]) -> str:
        head, body, closed = found.groups()
        if closed is None:
            return found[0]
        numbers = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", body)]
        points = [complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
        segments = [points[k : k + 4] for k in range(0, len(points) - 1, 3)]
        if abs(points[-1] - points[0]) > 1e-9:
            return found[0]  # closed by its Z alone
        row = change(segments)
        d = " ".join("C" + " ".join(f"{p.real:.9f},{p.imag:.9f}" for p in one[1:]) for one in row)
        return f'{head}M{row[0][0].real:.9f},{row[0][0].imag:.9f} {d} Z"'

    return replace(sheet, svg=OUTLINE.sub(redrawn, sheet.svg))


def run_backwards(sheet: Sheet) -> Sheet:
    """Every outline drawn the other way round."""
    return _outlines(sheet, lambda row: [one[::-1] for one in reversed(row)])


def begun_elsewhere(sheet: Sheet) -> Sheet:
    """Every outline begun in the middle of its row of segments."""
    return _outlines(sheet, lambda row: row[len(row) // 2 :] + row[: len(row) // 2])


def in_inches(sheet: Sheet) -> Sheet:
    """The same sizes, written in another unit."""
    wide, high = f'width="{600 / 25.4!r}in"', f'height="{500 / 25.4!r}in"'
    return replace(sheet, svg=sheet.svg.replace('width="600mm"', wide).replace('height="500mm"', high))


def called_otherwise(sheet: Sheet) -> Sheet:
    """The front and the back under other names in the file, as the plan knows."""
    assert sheet.plan is not None
    svg = re.sub(r'(<g inkscape:label=")(front|back)"', r'\1Ferryhand \2 panel"', sheet.svg)
    pieces = [
        replace(one, in_file=f"Ferryhand {one.name} panel") if one.name in ("front", "back") else one
        for one in sheet.plan.pieces
    ]
    return replace(sheet, svg=svg).planned(pieces=tuple(pieces))


def lying(transform: str, plainly: str):
    """Front and back of the skirt moved one way, other pieces another: a strip is the same whichever way it lies."""

    def moved(sheet: Sheet) -> Sheet:
        assert sheet.plan is not None
        if sheet.plan.name != "Ferryhand skirt":
            return replace(sheet, svg=sheet.svg.replace('<g fill="none"', f'<g transform="{plainly}" fill="none"'))
        labels = r'(<g inkscape:label="(?:front|back)")'
        return replace(sheet, svg=re.sub(labels, rf'\1 transform="{transform}"', sheet.svg))

    return moved


WAYS = {
    "backwards, in inches and called otherwise": (run_backwards, in_inches, called_otherwise),
    "begun elsewhere, moved and turned": (
        begun_elsewhere,
        lying("translate(431.7 -52.3) rotate(28)", "translate(31.7 -12.3)"),
    ),
    "mirrored": (lying("translate(1300 0) scale(-1 1)", "translate(0 600) scale(1.0)"),),
}


def amounts(result: FileResult) -> list[tuple[str, str, float]] | None:
    """What is found and how much, without sign: it tells which side was walked first, or which way round is clockwise.

    None where it is asked which corner is which, and nothing is guessed.
    """
    if result.failures and all("another way round" in one for one in result.failures if "plan corner" in one):
        return None
    assert result.failures == ()
    return sorted((one.check, one.code, abs(one.measured)) for one in result.findings if one.measured is not None)


@pytest.mark.parametrize("fault", ONE_OF_EACH, ids=str)
def test_an_amount_stays(fault):
    sheet = fault.sheet()
    as_drawn = amounts(judged(fault))
    assert as_drawn
    for way, steps in WAYS.items():
        changed = sheet
        for step in steps:
            changed = step(changed)
        found = amounts(changed.judged())
        if found is None:
            assert (way, fault.check) in {("mirrored", "seam-span"), ("mirrored", "outline-crossing")}
            continue
        assert [one[:2] for one in found] == [one[:2] for one in as_drawn], way
        assert [one[2] for one in found] == pytest.approx([one[2] for one in as_drawn], abs=EXACT), way
