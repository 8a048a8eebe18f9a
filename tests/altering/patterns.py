"""Patterns that tests alter: the demo in all its forms, and small pieces drawn for one question."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.plugins import Registry
from seamcheck.engine.read import Request, read_whole
from seamcheck.pattern.recipe import AlongEdge, Hinge
from seamcheck.truing.run import opened
from seamcheck.truing.state import State

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
FORMS = {
    "curves": DEMO / "ferryhand.svg",
    "digitised": DEMO / "ferryhand-digitised.svg",
    "cad": DEMO / "ferryhand-cad.dxf",
    "apparel": DEMO / "ferryhand-nest.dxf",
}
SETTINGS = Settings()


@cache
def registry() -> Registry:
    return plugins.load(SETTINGS, plugins=False)


@cache
def demo(form: str = "curves", size: str = "40") -> State:
    """One size of the demo, ready to be altered."""
    reading = read_whole(str(FORMS[form]), Request(), registry(), SETTINGS)
    return opened(reading, size, registry(), SETTINGS)


# A panel 300 wide and 400 high, in mm, with its sides leaning if wanted, a pocket line, a hole, a dart drawn by lines within.
PANEL = """<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="600mm" viewBox="0 0 500 600">
<g id="Panel"><path id="sew_line" fill="none" stroke="black" d="M {a} 100 L 400 100 L 400 500 L 100 500 Z"/>
<line id="grain" stroke="black" x1="250" y1="480" x2="250" y2="130"/>
<path id="internal_pocket" fill="none" stroke="black" d="M 300 180 L 370 180 L 370 260"/>
<path id="dart" fill="none" stroke="black" d="M 240 100 L 250 180 L 260 100"/>
<circle id="drill_hole" fill="none" stroke="black" cx="340" cy="220" r="2"/>
<line id="notch_1" stroke="black" x1="400" y1="200" x2="394" y2="200"/>
<line id="notch_2" stroke="black" x1="{n}" y1="400" x2="{m}" y2="400"/>
<text x="200" y="420" font-size="12">Panel, cut 1</text></g></svg>
"""
# A cut across it 8 mm open at the left, below which all stays.
PANEL_CUT = Hinge(
    piece="panel",
    opens=AlongEdge("left", 200, "top-left"),
    hinge=AlongEdge("right", 200, "top-right"),
    amount=8.0,
    stays="bottom",
)
PANEL_PLAN = """format = 1
[pieces.panel]
in-file = "Panel"
line = "sew"
unsewn = ["left", "bottom", "right", "top"]
[pieces.panel.corners]
top-left = [{a}, 100]
top-right = [400, 100]
bottom-right = [400, 500]
bottom-left = [100, 500]
dart-in = [240, 100]
dart-tip = [250, 180]
dart-out = [260, 100]
[pieces.panel.edges]
top = ["top-left", "dart-in", "dart-tip", "dart-out", "top-right"]
right = ["top-right", "bottom-right"]
bottom = ["bottom-right", "bottom-left"]
left = ["top-left", "bottom-left"]
[[darts]]
piece = "panel"
corners = ["dart-in", "dart-tip", "dart-out"]
"""


def panel_files(folder: Path, lean: float = 0.0) -> Path:
    """The panel and its plan in a folder; its left edge leans outward to the hem by `lean` mm for the whole height."""
    top = 100.0 + lean
    at = top - lean * 0.75
    values = {"a": f"{top:g}", "n": f"{at:g}", "m": f"{at + 6:g}"}
    (folder / "panel.svg").write_text(PANEL.format(**values), encoding="utf-8")
    (folder / "panel.seams.toml").write_text(PANEL_PLAN.format(**values), encoding="utf-8")
    return folder / "panel.svg"


@cache
def panel(lean: float = 0.0) -> State:
    """The panel, ready to be altered."""
    with TemporaryDirectory() as folder:
        path = panel_files(Path(folder), lean)
        reading = read_whole(str(path), Request(), registry(), SETTINGS)
    return opened(reading, reading.pattern.sizes[0], registry(), SETTINGS)
