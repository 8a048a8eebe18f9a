"""A skirt that sews together as it is drawn: what the seeded faults are done to.

Two halves, `front` on a fold and `back` with a dart, sewn at the side; the back is sewn to its mirror image at the
centre. The waist is sewn to a band of two pieces, which meet above the side seam. All joints are square. y runs down.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from seamcheck.comparison import Comparison
from seamcheck.config.settings import Settings
from seamcheck.engine.plugins import load
from seamcheck.engine.result import FileResult
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Drawing
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import DartPlan, EdgeUse, PiecePlan, Plan, SeamPlan
from seamcheck.testing import Draft, Panel, PanelEdge, PanelNotch

WAIST = 180.0  # of the front
BACK_WAIST = (80.0, 90.0)  # before and behind the dart, from the side
DART_ANGLE = 12.0  # degrees
DART_LENGTH = 90.0
LENGTH = 400.0
SHOP = Settings()
CHECKS = load(SHOP).checks


def smooth(start: complex, leaving: complex, end: complex, arriving: complex) -> Curve:
    """A curve that leaves and arrives in the given directions."""
    reach = abs(end - start) / 3
    return Curve.cubic(start, start + reach * leaving / abs(leaving), end - reach * arriving / abs(arriving), end)


def side(top: complex, sign: float) -> Curve:
    """A hip line from the waist to the hem, out by 30 mm; its ends run straight down."""
    hip = top + complex(sign * 30, 200)
    return Curve.join([smooth(top, 1j, hip, 1j), Curve.line(hip, top + complex(sign * 30, LENGTH))])


def skirt() -> Draft:
    return Draft(name="ferryhand-skirt", panels=(front(), back(), band_front(), band_back()), plan=plan())


def front() -> Panel:
    top, hem = 20 + 20j, complex(20, 20 + LENGTH)
    seam = side(top + WAIST, 1)
    return Panel(
        name="front",
        edges=(
            PanelEdge("waist", "cf-waist", Curve.line(top, top + WAIST)),
            PanelEdge("side", "side-waist", seam),
            PanelEdge("hem", "side-hem", Curve.line(seam.end, hem)),
            PanelEdge("fold", "cf-hem", Curve.line(hem, top)),
        ),
        notches=(PanelNotch("waist", 90.0), PanelNotch("side", 100.0), PanelNotch("side", 250.0, 2)),
        grain=(100 + 380j, 100 + 60j),
        texts=("Ferryhand skirt", "Front", "Size 40", "Cut 1"),
    )


def back() -> Panel:
    top = 300 + 20j
    before, behind = BACK_WAIST
    mouth = top + before
    tip = mouth + 1j * DART_LENGTH
    # The closed dart is a straight waist; opened, what lies behind it swings down round the tip.
    opened = Affine.rotation(DART_ANGLE, tip)
    out, centre = complex(opened.apply(mouth)), complex(opened.apply(mouth + behind))
    down = 1j * (centre - out)
    seam = side(top, -1)
    hem = complex(centre.real, seam.end.imag)
    return Panel(
        name="back",
        edges=(
            PanelEdge("waist-before", "side-waist", Curve.line(top, mouth)),
            PanelEdge("leg-before", "dart-in", Curve.line(mouth, tip)),
            PanelEdge("leg-behind", "dart-tip", Curve.line(tip, out)),
            PanelEdge("waist-behind", "dart-out", Curve.line(out, centre)),
            PanelEdge("centre", "cb-waist", smooth(centre, down, hem, 1j)),
            PanelEdge("hem", "cb-hem", Curve.line(hem, seam.end)),
            PanelEdge("side", "side-hem", seam.reversed()),
        ),
        notches=(
            PanelNotch("waist-behind", 45.0),
            PanelNotch("side", seam.length - 250.0, 2),
            PanelNotch("side", seam.length - 100.0),
        ),
        grain=(400 + 380j, 400 + 160j),
        texts=("Ferryhand skirt", "Back", "Size 40", "Cut 2"),
    )


def band_front() -> Panel:
    return _band("band-front", "Band front", 20 + 460j, WAIST, (90.0,), ("fold", "side"))


def band_back() -> Panel:
    # From the side to the centre, as the back's waist with its dart closed.
    return _band("band-back", "Band back", 300 + 460j, sum(BACK_WAIST), (125.0,), ("side", "centre"))


def _band(name: str, text: str, at: complex, length: float, notches: Sequence[float], ends: tuple[str, str]) -> Panel:
    left, right = ends
    return Panel(
        name=name,
        edges=(
            PanelEdge("upper", "upper-left", Curve.line(at, at + length)),
            PanelEdge(right, "upper-right", Curve.line(at + length, at + length + 40j)),
            PanelEdge("lower", "lower-right", Curve.line(at + length + 40j, at + 40j)),
            PanelEdge(left, "lower-left", Curve.line(at + 40j, at)),
        ),
        notches=tuple(PanelNotch("lower", length - station) for station in notches),
        grain=(at + 20j + 20, at + 20j + length - 20),
        texts=("Ferryhand skirt", text, "Size 40", "Cut 1" if "fold" in ends else "Cut 2"),
    )


def plan() -> Plan:
    band = {"upper": ("upper-left", "upper-right"), "lower": ("lower-left", "lower-right")}
    left, right = ("upper-left", "lower-left"), ("upper-right", "lower-right")
    return Plan(
        name="Ferryhand skirt",
        pieces=(
            _piece(
                front(),
                {
                    "waist": ("cf-waist", "side-waist"),
                    "side": ("side-waist", "side-hem"),
                    "hem": ("side-hem", "cf-hem"),
                    "fold": ("cf-waist", "cf-hem"),
                },
                cut="fold",
                fold="fold",
                unsewn=("hem",),
            ),
            _piece(
                back(),
                {
                    "waist": ("side-waist", "cb-waist"),
                    "side": ("side-waist", "side-hem"),
                    "hem": ("side-hem", "cb-hem"),
                    "centre": ("cb-waist", "cb-hem"),
                },
                cut="pair",
                unsewn=("hem",),
            ),
            _piece(band_front(), {**band, "fold": left, "side": right}, cut="fold", fold="fold", unsewn=("upper",)),
            _piece(band_back(), {**band, "side": left, "centre": right}, cut="pair", unsewn=("upper",)),
        ),
        darts=(DartPlan(piece="back", corners=("dart-in", "dart-tip", "dart-out")),),
        seams=(
            seam_plan("side", ["front.side"], ["back.side"]),
            seam_plan("centre-back", ["back.centre"], ["back.centre"]),
            seam_plan("band-side", ["band-front.side"], ["band-back.side"]),
            seam_plan("band-centre", ["band-back.centre"], ["band-back.centre"]),
            seam_plan("waist", ["front.waist", "back.waist"], ["band-front.lower", "band-back.lower"]),
        ),
    )


def seam_plan(name: str, first: Sequence[str], second: Sequence[str]) -> SeamPlan:
    sides = tuple(tuple(EdgeUse(*use.split(".")) for use in uses) for uses in (first, second))
    return SeamPlan(name=name, sides=(sides[0], sides[1]))


def _piece(panel: Panel, edges: dict[str, tuple[str, ...]], **more: object) -> PiecePlan:
    corners = {edge.start: edge.line.start for edge in panel.edges}
    return PiecePlan(name=panel.name, in_file=panel.name, corners=corners, edges=edges, **more)


@dataclass(frozen=True)
class Sheet:
    """A drawing in words and its plan, so that a fault may be done to either; `earlier` is the drawing before it was altered."""

    svg: str
    plan: Plan | None
    earlier: str = ""

    @staticmethod
    def of(draft: Draft) -> Sheet:
        return Sheet(draft.svg(), draft.plan)

    def pattern(self) -> Pattern:
        from seamcheck.pieces.build import build_pattern
        from seamcheck.pieces.outline import assemble
        from seamcheck.reading.base import Source
        from seamcheck.reading.svg.reader import IMPORTER

        drawing: Drawing = IMPORTER.read(Source("skirt.svg", self.svg.encode()))
        return build_pattern(drawing, assemble(drawing), self.plan)

    def judged(self, checks: Sequence = CHECKS, settings: Settings = SHOP) -> FileResult:
        from seamcheck.engine.judge import judge

        return judge(self.pattern(), self.plan, checks, settings, before=self.comparison())

    def against(self, earlier: Sheet) -> Sheet:
        """The same, as an alteration of an earlier drawing."""
        return replace(self, earlier=earlier.svg)

    def comparison(self) -> Comparison | None:
        """What changed against the earlier drawing, where there is one."""
        from seamcheck.comparison import compare

        if not self.earlier:
            return None
        return compare(Sheet(self.earlier, self.plan).pattern(), self.pattern())

    def group(self, name: str) -> str:
        """The group of one panel, as it stands in the drawing."""
        start = self.svg.index(f'<g inkscape:label="{name}">')
        return self.svg[start : self.svg.index("</g>", start) + 4]

    def drawn(self, name: str, mark: str) -> Sheet:
        """With one more mark on a panel."""
        group = self.group(name)
        return replace(self, svg=self.svg.replace(group, group.replace("</g>", mark + "\n</g>")))

    def planned(self, **changes: object) -> Sheet:
        assert self.plan is not None
        return replace(self, plan=replace(self.plan, **changes))

    def piece_planned(self, name: str, **changes: object) -> Sheet:
        assert self.plan is not None
        pieces = tuple(replace(one, **changes) if one.name == name else one for one in self.plan.pieces)
        return self.planned(pieces=pieces)

    def seam_planned(self, name: str, **changes: object) -> Sheet:
        assert self.plan is not None
        seams = tuple(replace(one, **changes) if one.name == name else one for one in self.plan.seams)
        return self.planned(seams=seams)


def grain(*points: complex) -> str:
    """A grain arrow as it is drawn."""
    return f'<path inkscape:label="grain" d="M{" L".join(f"{p.real:.6f},{p.imag:.6f}" for p in points)}"/>'


def unit(degrees: float) -> complex:
    return complex(math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))
