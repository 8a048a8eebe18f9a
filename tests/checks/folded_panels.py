"""A panel whose waist is shaped by darts drawn as lines inside it, or by pleats, and the band it is sewn to.

It is drawn with everything closed, a straight waist of so many mm, and then opened one after the other: what lies behind
a dart is turned about its tip, what lies behind a pleat is moved along by its depth. The last pleat may take up the
end of the waist, so that the centre is its second fold line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from skirt_making import Sheet, seam_plan, smooth, unit

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.plan import DartPlan, PiecePlan, Plan, PleatPlan
from seamcheck.testing import Draft, Panel, PanelEdge


@dataclass(frozen=True)
class InsideDart:
    """A dart at a distance along the closed waist; its tip may lie beside its mouth, its peak be off, and its waist leave
    it at another angle."""

    at: float
    length: float = 90.0
    angle: float = 14.0
    peak_off: float = 0.0
    turned: float = 0.0
    aside: float = 0.0


@dataclass(frozen=True)
class InsidePleat:
    """A pleat at a distance along the closed waist; its second fold line may lean, its roof and the waist behind be off.

    Where it takes up the end of the waist it is the waist before it that may be off.
    """

    at: float
    depth: float = 30.0
    lean: float = 0.0
    drawn: bool = True
    peak_off: float = 0.0
    turned: float = 0.0


LONG = 100.0  # mm: the fold lines of a pleat


def folded_panel(
    *folded: InsideDart | InsidePleat, waist: float = 300.0, sewn_side: bool = False, centre: str = "free"
) -> Sheet:
    """The panel and its band, cut as they should be but for what the darts and pleats say; the centre is "free", "sewn" or on the "fold"."""
    top = 20 + 20j
    opened = Affine.identity()
    edges: list[PanelEdge] = []
    corners: dict[str, complex] = {}
    marks: list[str] = []
    darts, pleats = [], []
    start, name = top, "side-waist"
    for k, one in enumerate(folded, 1):
        first = complex(opened.apply(top + one.at))
        ends = one.at == waist
        edges.append(PanelEdge(f"waist-{k}", name, _waist(start, first, arriving=one.turned if ends else 0.0)))
        if isinstance(one, InsideDart):
            tip = complex(opened.apply(top + one.at + one.aside + 1j * one.length))
            opened = Affine.rotation(one.angle, tip) @ opened
            last = complex(opened.apply(top + one.at))
            fold = first - tip + last - tip
            fold /= abs(fold)
            leg = (first - tip) / abs(first - tip)
            # Folded towards the side, the waist beside the dart is mirrored in its leg; it ends on the fold line.
            mirrored = leg * leg * (start - first).conjugate()
            across = ((tip - first) * fold.conjugate()).imag / (mirrored * fold.conjugate()).imag
            peak = first + across * mirrored + one.peak_off * fold
            corners[f"tip-{k}"] = tip
            darts.append(DartPlan(piece="panel", corners=(f"in-{k}", f"tip-{k}", f"out-{k}")))
            marks.append(_inside("dart", first, tip, last))
        else:
            down = complex(opened.a * 1j * LONG)
            opened = Affine.translation(complex(opened.a) * one.depth) @ opened
            last = complex(opened.apply(top + one.at))
            peak = (first + last) / 2 - down / LONG * one.peak_off
            pleats.append(PleatPlan(piece="panel", corners=(f"in-{k}", "centre-waist" if ends else f"out-{k}")))
            if one.drawn:
                marks.append(_inside("pleat line", first, first + down))
            if one.drawn and not ends:
                marks.append(_inside("pleat line", last, last + down * unit(one.lean)))
        edges.append(PanelEdge(f"roof-{k}", f"in-{k}", Curve.polyline([first, peak, last])))
        start, name = last, f"out-{k}"
    end = complex(opened.apply(top + waist))
    below = end + complex(opened.a) * 200j
    last_one = folded[-1]
    if last_one.at < waist:
        edges.append(PanelEdge(f"waist-{len(folded) + 1}", name, _waist(start, end, leaving=last_one.turned)))
    elif isinstance(last_one, InsidePleat):
        below = end + (below - end) * unit(last_one.lean)
    edges += [
        PanelEdge("centre", "centre-waist", Curve.line(end, below)),
        PanelEdge("hem", "centre-hem", smooth(below, top + 200j - below, top + 200j, -1)),
        PanelEdge("side", "side-hem", Curve.line(top + 200j, top)),
    ]
    panel = Panel(
        name="panel",
        edges=tuple(edges),
        grain=(top + 20 + 180j, top + 20 + 40j),
        texts=("Ferryhand skirt", "Panel", "Size 40", "Cut 2"),
    )
    corners |= {edge.start: edge.line.start for edge in edges}
    sewn = {"centre": centre != "free", "hem": False, "side": sewn_side}
    plan = PiecePlan(
        name="panel",
        in_file="panel",
        cut="fold" if centre == "fold" else "pair",
        fold="centre" if centre == "fold" else None,
        unsewn=tuple(edge for edge, is_sewn in sewn.items() if not is_sewn),
        corners=corners,
        edges={
            "waist": ("side-waist", "centre-waist"),
            "centre": ("centre-waist", "centre-hem"),
            "hem": ("centre-hem", "side-hem"),
            "side": ("side-hem", "side-waist"),
        },
    )
    band, band_plan = _band(waist, centre)
    seams = [seam_plan("waist", ["panel.waist"], ["band.lower"])]
    if sewn_side:
        seams.append(seam_plan("side", ["panel.side"], ["panel.side"]))
    if centre == "sewn":
        seams += [
            seam_plan(f"{name} centre", [edge], [edge])
            for name, edge in (("panel", "panel.centre"), ("band", "band.right"))
        ]
    whole = Plan(
        name="folded", pieces=(plan, band_plan), darts=tuple(darts), pleats=tuple(pleats), seams=tuple(seams)
    )
    sheet = Sheet.of(Draft(name="folded", panels=(panel, band), plan=whole))
    for mark in marks:
        sheet = sheet.drawn("panel", mark)
    return sheet


def without_band(sheet: Sheet) -> Sheet:
    """The same with a waist that is sewn to nothing."""
    panel, band = sheet.plan.pieces
    pieces = replace(panel, unsewn=(*panel.unsewn, "waist")), replace(band, unsewn=(*band.unsewn, "lower"))
    return sheet.planned(pieces=pieces, seams=tuple(one for one in sheet.plan.seams if one.name != "waist"))


def _waist(start: complex, end: complex, *, leaving: float = 0.0, arriving: float = 0.0) -> Curve:
    """The waist between two folds, which rises by so many degrees to the one that it leaves or arrives at."""
    if not leaving and not arriving:
        return Curve.line(start, end)
    third = (end - start) / 3
    return Curve.cubic(start, start + third * unit(leaving), end - third * unit(-arriving), end)


def _inside(label: str, *points: complex) -> str:
    d = " L".join(f"{point.real:.9f},{point.imag:.9f}" for point in points)
    return f'<path inkscape:label="{label}" d="M{d}"/>'


def _band(length: float, centre: str) -> tuple[Panel, PiecePlan]:
    at = 20 + 400j
    points = [at, at + length, at + length + 40j, at + 40j]
    names = ["upper-left", "upper-right", "lower-right", "lower-left"]
    lines = [Curve.line(one, other) for one, other in zip(points, [*points[1:], points[0]], strict=True)]
    edges = [
        PanelEdge(each, corner, line)
        for each, corner, line in zip(["upper", "right", "lower", "left"], names, lines, strict=True)
    ]
    panel = Panel(
        name="band",
        edges=tuple(edges),
        grain=(at + 20 + 20j, at + length - 20 + 20j),
        texts=("Ferryhand skirt", "Band", "Size 40", "Cut 2"),
    )
    plan = PiecePlan(
        name="band",
        in_file="band",
        cut="fold" if centre == "fold" else "pair",
        fold="right" if centre == "fold" else None,
        unsewn=("upper", "right", "left") if centre == "free" else ("upper", "left"),
        corners=dict(zip(names, points, strict=True)),
        edges={
            "upper": ("upper-left", "upper-right"),
            "lower": ("lower-left", "lower-right"),
            "left": ("upper-left", "lower-left"),
            "right": ("upper-right", "lower-right"),
        },
    )
    return panel, plan
