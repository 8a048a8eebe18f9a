"""What looks wrong on paper and is right: nothing of it may be found fault with.

Beside each case stands who wrote it down; "common practice, no source" where nobody was found to have printed it.
"""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from judging import judged, opened
from skirt_making import Sheet, grain, skirt, smooth, unit

from seamcheck.checks.base import Severity
from seamcheck.geometry.affine import Affine
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.plan import ShapedPlan
from seamcheck.testing import Draft, PanelNotch

GOOD = skirt()
DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand" / "ferryhand.svg"


def serious(sheet: Sheet) -> list[str]:
    result = sheet.judged()
    assert result.failures == ()
    return [finding.message for finding in result.findings if finding.severity is not Severity.NOTE]


def outline(draft: Draft, name: str) -> Curve:
    return Curve.join([edge.line for edge in draft.panel(name).edges])


def path(label: str, curve: Curve) -> str:
    segments = "".join(
        f" C{b.real:.9f},{b.imag:.9f} {c.real:.9f},{c.imag:.9f} {d.real:.9f},{d.imag:.9f}"
        for _, b, c, d in curve.segments.tolist()
    )
    return f'<path inkscape:label="{label}" d="M{curve.start.real:.9f},{curve.start.imag:.9f}{segments} Z"/>'


def with_cut_lines(**allowances: float) -> Sheet:
    """Every panel gets a cut line of its own allowance round its sew line."""
    sheet = Sheet.of(GOOD)
    for name, allowance in allowances.items():
        cut = outline(GOOD, name.replace("_", "-")).offset(-allowance)
        sheet = sheet.drawn(name.replace("_", "-"), path("cut line", cut))
    return sheet


ALL = ("front", "back", "band_front", "band_back")


def test_cut_edges_of_a_convex_and_a_concave_side_differ():
    """The allowance is longer outside a curve and shorter inside it, while the stitching lines agree:
    grainlinestudio.com, Concave and convex curves."""
    draft = GOOD
    side = GOOD.panel("back").edge("side").line
    # The back's side bends the other way: mirrored in its own chord, so it is just as long.
    chord = Affine.rotation(math.degrees(math.atan2((side.end - side.start).imag, (side.end - side.start).real)))
    mirror = Affine.translation(side.start) @ chord @ Affine.from_matrix(1, 0, 0, -1, 0, 0)
    mirror = mirror @ chord.inverse() @ Affine.translation(-side.start)
    hollow = side.transformed(mirror)
    draft = draft.with_lines("back", side=snapped(hollow, side.start, side.end))
    allowance = 15.0
    cut = [outline(draft, name).offset(-allowance) for name in ("front", "back")]
    sheet = Sheet.of(draft)
    for name, line in zip(("front", "back"), cut, strict=True):
        sheet = sheet.drawn(name, path("cut line", line))
    seam = next(one for one in sheet.judged().seams if one.name == "side")
    assert seam.difference == pytest.approx(0, abs=1e-6)
    assert {one.line for one in sheet.pattern().pieces if one.name in ("front", "back")} == {"sew"}
    assert not [message for message in serious(sheet) if "too short" in message]


def snapped(curve: Curve, start: complex, end: complex) -> Curve:
    segments = curve.segments.copy()
    segments[0, 0], segments[-1, 3] = start, end
    return Curve(segments)


def test_corners_of_the_paper_need_not_coincide():
    """Mates match where the stitching lines cross, not at the corner of the paper: craftsy.com, Match seams."""
    assert serious(with_cut_lines(**dict.fromkeys(ALL, 12.0))) == []


def test_a_felled_seam_has_two_widths():
    """7/8 in on one side and 3/8 in on the other: sewmaris.com, How many ways."""
    assert serious(with_cut_lines(front=7 / 8 * 25.4, back=3 / 8 * 25.4)) == []


def test_notches_cut_into_the_allowance_count_on_the_stitching_line():
    """A nick of 2 to 3 mm from the cut edge: Notch notes (scribd.com 300645296)."""
    sheet = with_cut_lines(**dict.fromkeys(ALL, 10.0))
    for name in ("front", "back"):
        bare = Sheet.of(GOOD.with_panel(name, notches=()))
        sheet = replace(sheet, svg=sheet.svg.replace(Sheet.of(GOOD).group(name)[:-4], bare.group(name)[:-4]))
        for notch in GOOD.panel(name).notches:
            line = GOOD.panel(name).edge(notch.edge).line
            for k in range(notch.count):
                station = notch.station + 5 * (k - (notch.count - 1) / 2)
                outside = line.point(station) - 10j * line.tangent(station)
                inside = outside + 3j * line.tangent(station)
                sheet = sheet.drawn(
                    name,
                    f'<path inkscape:label="notch" d="M{outside.real:.9f},{outside.imag:.9f} '
                    f'L{inside.real:.9f},{inside.imag:.9f}"/>',
                )
    assert serious(sheet) == []
    for piece in sheet.pattern().pieces:
        if piece.name in ("front", "back"):
            side = piece.edge("side")
            assert [(round(one.station, 4), one.count) for one in side.notches] == [(100.0, 1), (250.0, 2)]


def eased(amount: float, ease: tuple[float, float]) -> Sheet:
    side, hem, fold = (GOOD.panel("front").edge(name).line for name in ("side", "hem", "fold"))
    down = amount * 1j
    middle = side.length - 60
    draft = GOOD.with_lines(
        "front",
        side=Curve.join([side.between(0, middle), Curve.line(side.point(middle), side.end + down)]),
        hem=Curve.line(hem.start + down, hem.end + down),
        fold=Curve.line(fold.start + down, fold.end),
    )
    return Sheet.of(draft).seam_planned("side", ease=ease)


@pytest.mark.parametrize("amount", [6.35, 9.5, 12.7])
def test_a_side_that_is_eased_on_is_longer(amount):
    """Sleeve cap, back shoulder, garment waist: clothingpatterns101.com, Sewing ease."""
    assert serious(eased(amount, (6.35, 12.7))) == []


@pytest.mark.parametrize("amount", [0.0, 3.0, 12.7])
def test_a_back_inseam_is_stretched_on(amount):
    """A little shorter above the knee in fitted woven trousers: sergerpepper.com (2017/02), How to ease."""
    assert serious(eased(amount, (0.0, 12.7))) == []


def test_sides_of_different_shape_and_equal_length_agree():
    """Lengths matter, not shape: atailormadeit.blogspot.com (2024/11)."""
    panel = GOOD.panel("back")
    side = panel.edge("side").line
    wanted = GOOD.panel("front").edge("side").line.length

    def bent(depth: float) -> Curve:
        hip = (side.start + side.end) / 2 + depth
        return Curve.join([smooth(side.start, -1j, hip, -1j), smooth(hip, -1j, side.end, -1j)])

    low, high = -5.0, 120.0
    assert bent(low).length < wanted < bent(high).length
    for _ in range(60):
        low, high = (low, (low + high) / 2) if bent((low + high) / 2).length > wanted else ((low + high) / 2, high)
    other = bent(low)
    assert abs(other.point(150) - side.point(150)) > 3  # another shape indeed
    first, last = panel.notches[2], panel.notches[1]
    notches = (
        panel.notches[0],
        PanelNotch("side", other.length - 250.0, last.count),
        PanelNotch("side", other.length - 100.0, first.count),
    )
    draft = GOOD.with_lines("back", side=other).with_panel("back", notches=notches)
    assert serious(Sheet.of(draft)) == []


def test_a_piece_may_lie_anywhere_and_any_way_round():
    """Crotch points at different heights are no fault, nor is level with them any merit: handmadephd.com (2024/10/25)."""
    draft = GOOD
    moves = {"front": Affine.translation(3 + 40j), "back": Affine.rotation(30, 400 + 200j)}
    for name, move in moves.items():
        lines = {edge.name: edge.line.transformed(move) for edge in draft.panel(name).edges}
        arrow = draft.panel(name).grain
        assert arrow is not None
        turned = (complex(move.apply(arrow[0])), complex(move.apply(arrow[1])))
        draft = draft.with_lines(name, **lines).with_panel(name, grain=turned)
    assert serious(Sheet.of(draft)) == []


def test_a_v_neck_is_meant_to_be_pointed():
    """Its angles do not add to 180 degrees on purpose: common practice, no source."""
    hem = GOOD.panel("front").edge("hem").line
    sheet = Sheet.of(GOOD.with_lines("front", hem=smooth(hem.start, unit(180 - 40), hem.end, -1)))
    assert serious(sheet) != []
    assert serious(sheet.planned(shaped=(ShapedPlan(corner=("front", "side-hem"), why="a V"),))) == []


def test_a_fly_extension_makes_left_and_right_differ():
    """An asymmetric style is no fault: common practice, no source."""
    sheet = Sheet.of(GOOD)
    extension = '<g inkscape:label="fly"><path inkscape:label="sew line" d="M700,20 H740 V180 H700 Z"/>'
    extension += grain(720 + 40j, 720 + 160j) + '<text x="705" y="100">Fly</text></g>'
    sheet = replace(sheet, svg=sheet.svg.replace("\n</g>\n</svg>", f"\n{extension}\n</g>\n</svg>"))
    messages = serious(sheet)
    assert len(messages) == 1  # only that nobody planned it
    assert messages[0].startswith("fly is in the file and not in the plan")


def test_the_hem_of_a_flared_leg_is_square_to_its_seam_not_to_the_grain():
    """It must only be square to the seam: common practice, no source."""
    draft = GOOD
    for name, sign in (("front", 1), ("back", -1)):
        side, hem = draft.panel(name).edge("side").line, draft.panel(name).edge("hem").line
        top = side.start if name == "front" else side.end
        out = complex(sign * math.sin(math.radians(12)), math.cos(math.radians(12)))
        corner = top + complex(sign * 80, 400)
        flared = smooth(top, 1j, corner, out)
        inner = hem.end if name == "front" else hem.start
        across = 1j * out * sign
        if name == "front":
            lines = {"side": flared, "hem": smooth(corner, across, inner, -1)}
        else:
            lines = {"side": flared.reversed(), "hem": smooth(inner, -1, corner, -across)}
        stations = (100.0, 250.0) if name == "front" else (flared.length - 250.0, flared.length - 100.0)
        counts = (1, 2) if name == "front" else (2, 1)
        notches = [PanelNotch("side", s, count) for s, count in zip(stations, counts, strict=True)]
        draft = draft.with_lines(name, **lines).with_panel(name, notches=(draft.panel(name).notches[0], *notches))
    assert serious(Sheet.of(draft)) == []


def test_the_demo_has_a_narrower_front_and_nothing_to_put_right():
    """About 1 in narrower at the hem is normal: Threads, tapering or widening pants (2008)."""
    result = judged(DEMO)
    assert (result.failures, result.findings) == ((), ())
    pattern, _ = opened(DEMO)
    hems = {piece.name: piece.edge("hem").length for piece in pattern.pieces if piece.name in ("front", "back")}
    assert hems["front"] < hems["back"]


def test_a_lining_is_cut_smaller():
    """An under-collar or lining is smaller by 1/16 to 1/8 in for the turn of the cloth: common practice, no source.
    It is planned as ease like any other."""
    sheet = Sheet.of(GOOD).seam_planned("waist", ease=(-3.2, 0.0))
    assert serious(sheet) == []


@pytest.mark.parametrize("radius", [1.0, 3.0])
def test_a_corner_rounded_by_a_drawing_program_is_still_that_corner(radius):
    """By geometry both sides lose the same at it, and the lines beyond it meet as they did."""
    draft = GOOD
    for name in ("front", "back"):
        side, hem = draft.panel(name).edge("side").line, draft.panel(name).edge("hem").line
        coming, going = (side, hem) if name == "front" else (hem, side)
        start, end = coming.point(coming.length - radius), going.point(radius)
        handle = 0.5522847498 * radius
        arc = Curve.cubic(
            start, start + handle * coming.tangent(coming.length, -1), end - handle * going.tangent(0), end
        )
        first, second = arc.split(arc.length / 2)
        lines = Curve.join([coming.between(0, coming.length - radius), first])
        rest = Curve.join([second, going.between(radius, going.length)])
        both = {"side": lines, "hem": rest} if name == "front" else {"hem": lines, "side": rest}
        panel = draft.panel(name).with_lines(**both)
        lost = side.length - both["side"].length
        if name == "back":  # its side is drawn from the hem upwards
            panel = replace(
                panel,
                notches=tuple(
                    replace(notch, station=notch.station - lost) if notch.edge == "side" else notch
                    for notch in panel.notches
                ),
            )
        draft = replace(draft, panels=tuple(panel if one.name == name else one for one in draft.panels))
    assert serious(Sheet.of(draft)) == []
    junctions = {junction.corners: junction for junction in Sheet.of(draft).judged().junctions}
    assert junctions["back.side-hem", "front.side-hem"].angle == pytest.approx(180, abs=0.01)
