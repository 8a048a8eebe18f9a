"""Real drawings that are not part of the project; measured independently. Skipped where they are absent."""

from pathlib import Path

import pytest

from seamcheck.pattern.drawing import Role
from seamcheck.reading import read_drawing
from seamcheck.reading.svg.reader import IMPORTER

FOLDER = Path(__file__).parents[2].parent / "shared" / "samples"
pytestmark = pytest.mark.skipif(not FOLDER.is_dir(), reason="the sample drawings are not here")


def sample(start):
    (path,) = FOLDER.glob(f"{start}-*.svg")
    return read_drawing(str(path), None, [IMPORTER])


def test_half_circle_skirt():
    drawn = sample("01")
    by_place = {str(line.place): line for line in drawn.lines}
    waist = by_place["element path1178"]
    assert not waist.closed
    # The ellipse has half axes 220 and 219 and is drawn as three arcs.
    assert waist.curve.length == pytest.approx(689.58, abs=0.005)
    joints = [waist.curve.nearest(end).station for end in drawn_joints(waist)]
    assert joints == pytest.approx([229.644, 229.644 + 230.293], abs=0.001)
    band = by_place["element rect1074"]
    assert band.closed
    left, _, right, _ = band.curve.bounds()
    assert right - left == pytest.approx(698.860, abs=0.001)
    skirt = by_place["element ellipse1282"]
    assert skirt.closed
    left, top, right, bottom = skirt.curve.bounds()
    assert (right - left, bottom - top) == pytest.approx((1240, 619), abs=0.01)
    assert "These lengths shall be equal" in [text.text for text in drawn.texts]
    assert drawn.units == "mm"
    assert drawn.ledger.read == drawn.ledger.used + sum(drawn.ledger.aside.values())


def drawn_joints(waist):
    # From the file: "m 410.89,557.10663 a ... -110,189.65956 ... -220.000007,0 ..." under translate(479.24229,-103.12592).
    first = 410.89 + 557.10663j + (479.24229 - 103.12592j) + (-110 + 189.65956j)
    return first, first - 220.000007


def test_rolltop_in_cm_with_its_origin_moved():
    drawn = sample("06")
    assert drawn.units == "cm"
    hidden = [mark for mark in (*drawn.lines, *drawn.points, *drawn.texts) if mark.hidden]
    # 533 elements are hidden in the file: 323 paths, 106 texts and 104 tspans in these.
    hidden_paths = [mark for mark in hidden if mark.place.words.startswith("element infoline")]
    assert len({mark.place.words.partition(",")[0] for mark in hidden_paths}) == 323
    assert len([mark for mark in hidden if mark.place.words.startswith("element text-on")]) == 106
    assert any("28" in text.text and "72" in text.text for text in drawn.texts)
    visible = [line for line in drawn.lines if line.role is None and not line.hidden]
    assert min(line.curve.bounds()[0] for line in visible) > 0
    assert max(line.curve.bounds()[2] for line in visible) < 5009.5
    assert all(mark.role == Role.FURNITURE for mark in hidden_paths)


def test_pen_strokes_are_lines_without_roles():
    drawn = sample("07")
    assert len(drawn.lines) == 12
    assert {line.role for line in drawn.lines} == {None}
    assert not drawn.texts
    assert [note.code for note in drawn.notes] == ["use-missing"]


def test_pouch_with_its_paler_rect_behind():
    drawn = sample("11")
    by_place = {str(line.place): line for line in drawn.lines}
    outer, inner = by_place["element rect6317"], by_place["element rect3011"]
    widths = [line.curve.bounds()[2] - line.curve.bounds()[0] for line in (outer, inner)]
    assert widths == pytest.approx([270, 249.74997], abs=1e-4)
    inside = inner.curve.bounds()
    around = outer.curve.bounds()
    assert all(0 < abs(a - b) < 11 for a, b in zip(inside, around, strict=True))
    assert "10 mm allowance" in [text.text for text in drawn.texts]


def test_note_kit_has_four_pieces_and_their_furniture():
    drawn = sample("17")
    rects = [
        line
        for line in drawn.lines
        if line.closed and line.place.words.split()[-1] in ("rect846", "rect10664", "rect10666", "rect25078")
    ]
    sizes = [
        tuple(
            round(far - near, 3) for near, far in zip(line.curve.bounds()[:2], line.curve.bounds()[2:], strict=True)
        )
        for line in rects
    ]
    assert sorted(sizes) == [(110, 130), (110, 170), (110, 170), (240, 170)]
    measures = [line for line in drawn.lines if "infoline" in line.place.words]
    assert measures
    assert {line.role for line in measures} == {Role.FURNITURE}
    hidden = [mark for mark in (*drawn.lines, *drawn.points, *drawn.texts) if mark.hidden]
    # 40 hidden elements: 24 paths without extent, 8 texts and their 8 tspans.
    assert len(hidden) == 32
    labels = [text.text for text in drawn.texts if text.role is None]
    for name in ("Main panel", "Left Pocket", "Right Pocket", "Organizer"):
        assert name in labels
