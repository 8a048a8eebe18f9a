"""Pieces are laid together as they are sewn: moved rigidly, their angles those that were measured."""

import cmath
import dataclasses
import math
from functools import partial

import pytest
from drawing import altered, judged, left, paths, texts

from seamcheck.pattern.junction_layout import meet
from seamcheck.report.figures.junction import REACH, SCALE, junction_figure

# Each with how many junctions it has, so that they are tests of their own before it is judged.
FILES = [
    (partial(judged, "ferryhand/ferryhand.svg"), 13),
    (partial(left, "sway-back"), 13),
    (partial(left, "flat-seat"), 13),
    (partial(altered, "stage-bodice-set-in-sleeve"), 9),
    (partial(altered, "herald-tunic-gussets"), 10),
    (partial(altered, "market-tote-gusset"), 2),
    (partial(altered, "bosun-six-panel-cap", ".dxf"), 1),
]
JUNCTIONS = [(file, k) for file, count in FILES for k in range(count)]
NAMES = [f"{file.args[0]} {k}" for file, k in JUNCTIONS]
junctions = pytest.mark.parametrize(("file", "k"), JUNCTIONS, ids=NAMES, indirect=["file"])


def _pieces(file, k):
    return {piece.name: piece for piece in file.geometry.pieces if piece.size == file.junctions[k].size}


@pytest.mark.parametrize(("file", "count"), FILES, ids=[file.args[0] for file, _ in FILES], indirect=["file"])
def test_every_junction_is_looked_at(file, count):
    assert len(file.junctions) == count


@junctions
def test_sectors_lie_side_by_side_and_are_moved_rigidly(file, k):
    pieces, told = _pieces(file, k), file.junctions[k]
    meeting = meet(file.geometry.junctions[k], pieces)
    assert sum(sector.angle for sector in meeting.sectors) == pytest.approx(told.angle)
    assert {f"{one.piece}.{one.corner}" for one in meeting.sectors if one.corner} == set(told.corners)
    for before, after in zip(meeting.sectors, meeting.sectors[1:], strict=False):
        assert after.start == pytest.approx(before.end, abs=1e-9)
    for sector in meeting.sectors:
        assert sector.move.is_rigid
        piece = pieces[sector.piece]
        # Turned over exactly where it says so: a file with y up is mirrored once to be seen at all.
        assert sector.move.mirrors == (sector.turned_over == piece.y_down)
        if sector.corner:
            assert sector.move.apply(piece.corner(sector.corner).at) == pytest.approx(sector.lines[0].start, abs=1e-9)
        # What is drawn is the outline itself, not a likeness of it: every joint of it lies on the moved outline.
        outline = piece.outline.transformed(sector.move)
        legs = any(
            ray[:2] == (sector.piece, sector.corner)
            for join in file.geometry.junctions[k].joins
            if not join.seam
            for ray in (join.first, join.second)
        )
        for curve in sector.lines if not legs else ():
            assert max(outline.nearest(complex(at)).distance for at in curve.segments[:, 3]) < 1e-6


@junctions
def test_the_drawn_lines_leave_at_the_angles_that_were_measured(file, k):
    """Of sharp, smooth corners; where a corner is rounded or digitised its angle is taken from further out."""
    figure, told = junction_figure(file, k), file.junctions[k]
    rays = _rays(figure)
    assert rays
    meeting = meet(file.geometry.junctions[k], _pieces(file, k))
    assert len(rays) == 2 * len(meeting.sectors)
    drawn = [cmath.phase(ray.leaves - ray.points[0]) for ray in rays]
    for sector, begin, end in zip(meeting.sectors, drawn[::2], drawn[1::2], strict=True):
        turn = math.degrees(end - begin) % 360.0
        # Coordinates are rounded to hundredths: on a handle of a few units that is a quarter of a degree.
        assert turn == pytest.approx(sector.angle % 360.0, abs=0.6), (sector.piece, sector.corner)
    assert told.angle == pytest.approx(sum(sector.angle for sector in meeting.sectors))


def _rays(figure):
    """The lines that leave the point, two a sector, in the order of the sectors."""
    return [p for p in paths(figure) if "ray" in p.data]


def test_what_is_off_is_drawn_as_it_is_and_measured_at_an_inch():
    file = left("flat-seat")
    k, finding = next(
        (k, one)
        for one in file.findings
        if one.check == "corner-blend"
        for k, junction in enumerate(file.geometry.junctions)
        if junction.at == one.at
    )
    figure = junction_figure(file, k)
    (ought,) = (float(p.data["heading"]) for p in paths(figure, "ought") if "heading" in p.data)
    (found,) = (float(p.data["heading"]) for p in paths(figure, "off") if "heading" in p.data)
    off = abs((found - ought + 180.0) % 360.0 - 180.0)
    assert off == pytest.approx(abs(finding.measured), abs=0.02)
    amount = 25.4 * math.tan(math.radians(off))
    assert any(text.startswith((f"{amount:.1f} mm", f"{amount:.2f} mm")) for text in texts(figure))
    assert f"together {file.junctions[k].angle:.1f}°" in texts(figure)
    assert f"should be {file.junctions[k].expected:.1f}°" in texts(figure)


def test_nothing_is_called_off_where_nothing_was_found():
    file = judged("ferryhand/ferryhand.svg")
    for k in range(len(file.junctions)):
        figure = junction_figure(file, k)
        assert paths(figure, "off") == paths(figure, "hatch") == []


def test_the_pieces_are_cut_off_by_the_circle_round_the_point():
    figure = junction_figure(judged("ferryhand/ferryhand.svg"), 1)
    for ray in _rays(figure):
        assert abs(ray.points[-1] - ray.points[0]) == pytest.approx(REACH * SCALE, abs=0.02)


def test_an_index_that_is_no_junction():
    with pytest.raises(IndexError):
        junction_figure(judged("ferryhand/ferryhand.svg"), 999)


def test_another_finding_at_the_same_corner_is_not_taken_for_one_of_the_sum():
    """A house rule may ask of one corner what the sum does not show."""
    file = judged("ferryhand/ferryhand.svg")
    k = next(k for k, one in enumerate(file.junctions) if "front.crotch-point" in one.corners)
    other = dataclasses.replace(
        left("low-seat").findings[0], size="40", unit="degrees", measured=4.0, at=file.geometry.junctions[k].at
    )
    figure = junction_figure(dataclasses.replace(file, findings=(other,)), k)
    assert paths(figure, "off") == paths(figure, "hatch") == []
