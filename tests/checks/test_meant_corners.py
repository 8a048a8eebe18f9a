"""Corners that are off by a right angle: a box, and a strip that runs on past the edge it is sewn to. Nobody slips so far."""

import pytest

from seamcheck.builtin import builtin_importer, seamcheck_register_checks
from seamcheck.config.plan_file import parse_plan
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge
from seamcheck.engine.result import FileResult
from seamcheck.testing import read_drawing

CHECKS = []
seamcheck_register_checks(CHECKS.append)


def drawn(pieces: dict[str, str], plan: str) -> FileResult:
    """Pieces by their outlines, as path data in mm, judged by a plan."""
    paths = "".join(f'<path id="{name}" d="{outline}"/>' for name, outline in pieces.items())
    head = 'xmlns="http://www.w3.org/2000/svg" width="900mm" height="400mm" viewBox="0 0 900 400"'
    parsed = parse_plan(f"format = 1\n{plan}", "kit.seams.toml")
    pattern = read_drawing(f"<svg {head}>{paths}</svg>".encode(), builtin_importer("svg"), parsed, "kit.svg")
    return judge(pattern, parsed, CHECKS, Settings())


def told(result: FileResult) -> list[str]:
    """What is said of the corners, and why others are left aside."""
    found = [f"{one.code}: {one.message}" for one in result.findings if one.check == "corner-blend"]
    return found + [one.message for one in result.skipped if one.check == "corner-blend"]


def box(lean: float) -> FileResult:
    """A base and two of the walls of a box; one wall leans by so many mm over its height of 50."""
    return drawn(
        {
            "base": "M0 0H200V100H0Z",
            "front": f"M300 0H500L{500 + lean} 50H300Z",
            "side": "M600 0H700V50H600Z",
        },
        """
[pieces.base]
unsewn = ["left", "top"]
[pieces.base.corners]
a = [0, 0]
b = [200, 0]
c = [200, 100]
d = [0, 100]
[pieces.base.edges]
top = ["a", "b"]
side = ["b", "c"]
front = ["d", "c"]
left = ["a", "d"]
[pieces.front]
unsewn = ["far", "rim"]
[pieces.front.corners]
d = [300, 0]
c = [500, 0]
up = [500, 50]
far-up = [300, 50]
[pieces.front.edges]
base = ["d", "c"]
upright = ["c", "up"]
rim = ["up", "far-up"]
far = ["d", "far-up"]
[pieces.side]
unsewn = ["far", "rim"]
[pieces.side.corners]
c = [600, 0]
b = [700, 0]
far-up = [700, 50]
up = [600, 50]
[pieces.side.edges]
base = ["b", "c"]
upright = ["c", "up"]
rim = ["up", "far-up"]
far = ["b", "far-up"]
[[seams]]
name = "front"
sew = ["base.front", "front.base"]
[[seams]]
name = "side"
sew = ["base.side", "side.base"]
[[seams]]
name = "upright"
sew = ["front.upright", "side.upright"]
""",
    )


def strip(sewn: float, lean: float = 0.0) -> FileResult:
    """A strip that is sewn to the top of a panel 200 mm wide, from its end on, and runs on beyond it; the panel's side may lean."""
    return drawn(
        {"panel": f"M0 0H200L{200 + lean} 150H0Z", "strip": "M300 0H560V40H300Z"},
        f"""
[pieces.panel]
unsewn = ["left", "right", "hem"]
[pieces.panel.corners]
a = [0, 0]
b = [200, 0]
c = [{200 + lean}, 150]
d = [0, 150]
[pieces.panel.edges]
top = ["a", "b"]
right = ["b", "c"]
hem = ["c", "d"]
left = ["d", "a"]
[pieces.strip]
unsewn = ["end", "top", "start", "overlap"]
[pieces.strip.corners]
a = [300, 40]
end-of-panel = [{300 + sewn}, 40]
e = [560, 40]
f = [560, 0]
g = [300, 0]
[pieces.strip.edges]
lower = ["a", "end-of-panel"]
overlap = ["end-of-panel", "e"]
end = ["e", "f"]
top = ["f", "g"]
start = ["g", "a"]
[[seams]]
name = "top"
sew = ["panel.top", "strip.lower"]
""",
    )


@pytest.mark.parametrize("lean", [0.0, 3.0, -3.0])
def test_three_right_angles_are_the_corner_of_a_box(lean):
    said = [one for one in told(box(lean)) if "base.c" in one]
    assert said == [
        "base.c, front.c and side.c: the line across them turns by a right angle, as at a box's corner or where a strip runs on"
    ]


def test_what_is_off_by_more_than_a_band_beside_the_right_angle_is_told():
    """10 mm over 50 lean the wall by 11.3 degrees."""
    assert any(one.startswith(("hollow", "pointed")) and "base.c" in one for one in told(box(10.0)))


def test_a_strip_that_runs_past_the_edge_it_is_sewn_to_is_meant():
    assert told(strip(200.0)) == [
        "panel.b and strip.end-of-panel: the line across them turns by a right angle, as at a box's corner or where a strip runs on"
    ]


@pytest.mark.parametrize("lean", [-70.0, -40.0, 40.0, 80.0])
def test_a_strip_runs_on_past_an_edge_that_meets_it_slantwise(lean):
    """15 to 28 degrees beside the right angle."""
    assert told(strip(200.0, lean)) == [
        "panel.b and strip.end-of-panel: strip.end-of-panel runs on there past the end of the seam, as an underlap or an extension does"
    ]


def cushion(arrow: bool) -> FileResult:
    """Two squares sewn together at one side, perhaps with a grain arrow on one."""
    square = "M{0} 0H{1}V200H{0}Z"
    plan = "".join(
        f"""
[pieces.{name}]
unsewn = ["upper", "far", "lower"]
[pieces.{name}.corners]
a = [{x}, 0]
b = [{x + 200}, 0]
c = [{x + 200}, 200]
d = [{x}, 200]
[pieces.{name}.edges]
upper = ["a", "b"]
far = ["b", "c"]
lower = ["c", "d"]
near = ["d", "a"]
"""
        for name, x in (("lid", 0), ("base", 300))
    )
    pieces = {"lid": square.format(0, 200), "base": square.format(300, 500)}
    marks = {"grain": "M100 150V50"} if arrow else {}
    return drawn(pieces | marks, plan + '[[seams]]\nname = "near"\nsew = ["lid.near", "-base.near"]\n')


def test_where_no_piece_has_an_arrow_and_none_is_of_a_garment_one_note_says_so():
    found = [(one.code, one.severity.value) for one in cushion(False).findings if one.check == "grain-present"]
    assert found == [("none", "note")]


def test_where_another_piece_has_an_arrow_a_missing_one_is_an_error():
    found = [one for one in cushion(True).findings if one.check == "grain-present"]
    assert [(one.code, one.severity.value, one.pieces) for one in found] == [("missing", "error", ("base",))]


def test_a_dart_at_the_end_of_a_seam_is_judged_with_its_mates_alone():
    result = drawn(
        {"front": "M0 0H150L165 90L180 0L200 300H0Z", "back": "M300 0H500L520 300H300Z"},
        """
[[darts]]
piece = "front"
corners = ["in", "tip", "out"]
[pieces.front]
unsewn = ["waist", "hem", "centre"]
[pieces.front.corners]
a = [0, 0]
in = [150, 0]
tip = [165, 90]
out = [180, 0]
c = [200, 300]
d = [0, 300]
[pieces.front.edges]
waist = ["a", "in"]
side = ["out", "c"]
hem = ["c", "d"]
centre = ["d", "a"]
[pieces.back]
unsewn = ["waist", "hem", "centre"]
[pieces.back.corners]
a = [300, 0]
b = [500, 0]
c = [520, 300]
d = [300, 300]
[pieces.back.edges]
waist = ["a", "b"]
side = ["b", "c"]
hem = ["c", "d"]
centre = ["d", "a"]
[[seams]]
name = "side"
sew = ["front.side", "back.side"]
""",
    )
    assert [one for one in result.findings if one.check == "dart-mouth"] == []
    assert [one.reason for one in result.skipped if one.check == "dart-mouth"] == ["at-seam-end", "no-roof"]
    assert any("front.in" in one and "back.b" in one for one in told(result))
