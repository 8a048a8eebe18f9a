"""The skirt in five sizes, each read by the road that every file takes, and nests with one size that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from skirt_making import Sheet, skirt, smooth, unit

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import PiecePlan, Plan
from seamcheck.testing import Draft, Panel, PanelEdge, PanelNotch

SIZES = ("36", "38", "40", "42", "44")
BASE = SIZES.index("40")
EVEN = (-0.04, -0.02, 0.0, 0.02, 0.04)  # by how much each size is larger than the base, as a share
SMALL = (-0.006, -0.003, 0.0, 0.003, 0.006)

Change = Callable[[Panel], Panel]


def pocket() -> Panel:
    """A patch pocket that no seam of the plan joins, with a notch in its lower edge."""
    a, b, c, d = 700 + 20j, 840 + 20j, 840 + 180j, 700 + 180j
    return Panel(
        name="pocket",
        edges=(
            PanelEdge("opening", "top-left", Curve.line(a, b)),
            PanelEdge("right", "top-right", Curve.line(b, c)),
            PanelEdge("bottom", "bottom-right", Curve.line(c, d)),
            PanelEdge("left", "bottom-left", Curve.line(d, a)),
        ),
        notches=(PanelNotch("bottom", 50.0),),
        grain=(770 + 160j, 770 + 40j),
        texts=("Ferryhand skirt", "Pocket", "Size 40", "Cut 2"),
    )


def wide(by: float) -> Change:
    """The pocket wider by some mm."""

    def change(panel: Panel) -> Panel:
        a, b, c, d = (edge.line.start for edge in panel.edges)
        lines = {
            "opening": Curve.line(a, b + by),
            "right": Curve.line(b + by, c + by),
            "bottom": Curve.line(c + by, d),
        }
        return panel.with_lines(**lines)

    return change


def slanting(degrees: float) -> Change:
    """The pocket's right side leaving its upper corner at another angle; both corners stay."""

    def change(panel: Panel) -> Panel:
        b, c = (panel.edges[k].line.start for k in (1, 2))
        return panel.with_lines(right=smooth(b, unit(90 + degrees), c, 1j))

    return change


def unnotched(panel: Panel) -> Panel:
    return replace(panel, notches=())


@dataclass(frozen=True)
class SkirtNest:
    """A skirt and pocket in `SIZES`; `changes` go by size and panel, and are made before a size is drawn larger."""

    grade: tuple[float, ...] = EVEN
    of_panel: Mapping[str, tuple[float, ...]] = field(default_factory=dict)  # panels with a grade of their own
    changes: Mapping[tuple[str, str], Change] = field(default_factory=dict)

    @property
    def base(self) -> Draft:
        draft = skirt()
        edges = {edge.name: (edge.start, after.start) for edge, after in _following(pocket())}
        corners = {edge.start: edge.line.start for edge in pocket().edges}
        planned = PiecePlan(name="pocket", in_file="pocket", cut=2, unsewn=tuple(edges), corners=corners, edges=edges)
        plan = replace(draft.plan, pieces=(*draft.plan.pieces, planned))
        return replace(draft, panels=(*draft.panels, pocket()), plan=plan)

    @property
    def plan(self) -> Plan:
        return self.base.plan

    def pattern(self) -> Pattern:
        draft = self.base
        read = [
            _read(panel, plan, size, 1 + self.of_panel.get(panel.name, self.grade)[k], self._change(size, panel.name))
            for k, size in enumerate(SIZES)
            for panel, plan in zip(draft.panels, draft.plan.pieces, strict=True)
        ]
        pieces = tuple(replace(one.pieces[0], size=one.path) for one in read)
        return replace(read[0], path="nest.svg", sizes=SIZES, pieces=pieces, notes=())

    def _change(self, size: str, panel: str) -> Change | None:
        return self.changes.get((size, panel))


_read_before: dict[tuple[str, str, float], Pattern] = {}


def _read(panel: Panel, planned: PiecePlan, size: str, factor: float, change: Change | None) -> Pattern:
    """One panel drawn larger by a factor, as it is read; those that nothing was done to are read once for all tests."""
    key = panel.name, size, factor
    if change is None and key in _read_before:
        return _read_before[key]
    larger = _larger(change(panel) if change else panel, factor)
    corners = {name: at * factor for name, at in planned.corners.items()}
    darts = tuple(dart for dart in skirt().plan.darts if dart.piece == panel.name)
    plan = Plan(pieces=(replace(planned, corners=corners),), darts=darts)
    draft = Draft(name="skirt", panels=(larger,), plan=plan)
    pattern = replace(Sheet(draft.svg().replace("Size 40", f"Size {size}"), plan).pattern(), path=size)
    if change is None:
        _read_before[key] = pattern
    return pattern


def _following(panel: Panel) -> list[tuple[PanelEdge, PanelEdge]]:
    return list(zip(panel.edges, (*panel.edges[1:], panel.edges[0]), strict=True))


def _larger(panel: Panel, factor: float) -> Panel:
    """A panel drawn larger about the origin."""
    scale = Affine.scaling(factor, factor)
    edges = tuple(replace(edge, line=edge.line.transformed(scale)) for edge in panel.edges)
    notches = tuple(replace(notch, station=notch.station * factor) for notch in panel.notches)
    grain = None if panel.grain is None else (panel.grain[0] * factor, panel.grain[1] * factor)
    return replace(panel, edges=edges, notches=notches, grain=grain)
