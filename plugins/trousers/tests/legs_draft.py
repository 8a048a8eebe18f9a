"""A pair of legs with its band that keeps to every rule of the package, drawn for its tests.

Each leg is straight from the knee down; the front lies left with its crease at x 190, the back right with its crease at x 600.
"""

from dataclasses import replace
from math import cos, hypot, radians, sin, sqrt

from seamcheck.testing import Curve, DartPlan, Draft, EdgeUse, Panel, PanelEdge, PanelNotch, PiecePlan, Plan, SeamPlan

KNEE, HEM = 650.0, 1060.0
UPPER = hypot(40, 350)  # of both inseams
BACK_CROTCH = KNEE - sqrt(UPPER**2 - 60**2)


def front() -> Panel:
    return Panel(
        name="front",
        edges=(
            PanelEdge("waist", "side-waist", Curve.line(60 + 60j, 270 + 60j)),
            PanelEdge("rise", "centre-waist", front_rise()),
            PanelEdge("inseam", "crotch-point", Curve.polyline([330 + 300j, 290 + 1j * KNEE, 290 + 1j * HEM])),
            PanelEdge("hem", "inseam-hem", Curve.line(290 + 1j * HEM, 90 + 1j * HEM)),
            PanelEdge("outseam", "side-hem", Curve.polyline([90 + 1j * HEM, 90 + 1j * KNEE, 60 + 60j])),
        ),
        notches=(PanelNotch("inseam", UPPER), PanelNotch("outseam", HEM - KNEE), PanelNotch("outseam", 820.0)),
        grain=(190 + 1000j, 190 + 200j),
        texts=("Ferryhand", "Front", "Size 40", "Cut 2"),
    )


def back() -> Panel:
    crotch = 430 + 1j * BACK_CROTCH
    return Panel(
        name="back",
        edges=(
            PanelEdge("waist-centre", "centre-waist", Curve.line(510 + 60j, 600 + 60j)),
            PanelEdge("dart-in-leg", "dart-in", Curve.line(600 + 60j, 610 + 180j)),
            PanelEdge("dart-out-leg", "dart-tip", Curve.line(610 + 180j, 620 + 60j)),
            PanelEdge("waist-side", "dart-out", Curve.line(620 + 60j, 740 + 60j)),
            PanelEdge("outseam", "side-waist", Curve.polyline([740 + 60j, 710 + 1j * KNEE, 710 + 1j * HEM])),
            PanelEdge("hem", "side-hem", Curve.line(710 + 1j * HEM, 490 + 1j * HEM)),
            PanelEdge("inseam", "inseam-hem", Curve.polyline([490 + 1j * HEM, 490 + 1j * KNEE, crotch])),
            PanelEdge("rise", "crotch-point", back_rise(crotch)),
        ),
        notches=(
            PanelNotch("inseam", HEM - KNEE),
            PanelNotch("outseam", hypot(30, KNEE - 60)),
            PanelNotch("outseam", HEM - KNEE + hypot(30, KNEE - 60) - 820.0),
        ),
        grain=(600 + 1000j, 600 + 250j),
        texts=("Ferryhand", "Back", "Size 40", "Cut 2"),
    )


def front_rise(lean: float = 0.0) -> Curve:
    """From the waist to the crotch point, where it arrives square to the inseam, or `lean` degrees wider."""
    square = (-40 + 350j) * -1j / abs(-40 + 350j)
    return Curve.cubic(270 + 60j, 272 + 220j, 330 + 300j - 40 * square * turned(lean), 330 + 300j)


def back_rise(crotch: complex, lean: float = 0.0) -> Curve:
    """From the crotch point, square to the inseam or `lean` degrees wider, to the waist."""
    square = (490 + 1j * KNEE - crotch) * -1j / abs(490 + 1j * KNEE - crotch)
    return Curve.cubic(crotch, crotch + 150 * square * turned(-lean), 500 + 280j, 510 + 60j)


def turned(degrees: float) -> complex:
    """The unit vector at an angle."""
    return complex(cos(radians(degrees)), sin(radians(degrees)))


def band(length: float = 420.0) -> Panel:
    corners = [60 + 1240j, 60 + 1200j, 60 + length + 1200j, 60 + length + 1240j]
    lines = [Curve.line(corners[k], corners[(k + 1) % 4]) for k in range(4)]
    names = [("fly", "fly-lower"), ("upper", "fly-upper"), ("centre", "centre-upper"), ("lower", "centre-lower")]
    return Panel(
        name="band",
        edges=tuple(PanelEdge(edge, start, line) for (edge, start), line in zip(names, lines, strict=True)),
        grain=(80 + 1220j, 400 + 1220j),
        texts=("Ferryhand", "Band", "Size 40", "Cut 2"),
    )


PLAN_EDGES = {
    "front": {
        "waist": ("centre-waist", "side-waist"),
        "rise": ("centre-waist", "crotch-point"),
        "inseam": ("crotch-point", "inseam-hem"),
        "hem": ("inseam-hem", "side-hem"),
        "outseam": ("side-waist", "side-hem"),
    },
    "back": {
        "waist": ("centre-waist", "dart-in", "dart-tip", "dart-out", "side-waist"),
        "rise": ("centre-waist", "crotch-point"),
        "inseam": ("crotch-point", "inseam-hem"),
        "hem": ("inseam-hem", "side-hem"),
        "outseam": ("side-waist", "side-hem"),
    },
    "band": {
        "lower": ("fly-lower", "centre-lower"),
        "upper": ("fly-upper", "centre-upper"),
        "fly": ("fly-lower", "fly-upper"),
        "centre": ("centre-lower", "centre-upper"),
    },
}


def legs() -> Draft:
    panels = (front(), back(), band())
    plan = Plan(
        name="Ferryhand legs",
        pieces=tuple(
            PiecePlan(
                name=panel.name,
                in_file=panel.name,
                cut="pair",
                corners={edge.start: edge.line.start for edge in panel.edges},
                edges=PLAN_EDGES[panel.name],
            )
            for panel in panels
        ),
        darts=(DartPlan(piece="back", corners=("dart-in", "dart-tip", "dart-out")),),
        seams=(
            _seam("outseam", [("front", "outseam")], [("back", "outseam")]),
            _seam("inseam", [("front", "inseam")], [("back", "inseam")], (-20.0, 40.0)),
            _seam("waist", [("front", "waist"), ("back", "waist", True)], [("band", "lower")], (-20.0, 40.0)),
        ),
    )
    return Draft(name="legs", panels=panels, plan=plan)


def _seam(name, first, second, ease=None) -> SeamPlan:
    return SeamPlan(
        name=name, sides=tuple(tuple(EdgeUse(*use) for use in side) for side in (first, second)), ease=ease
    )


def with_notches(draft: Draft, piece: str, change) -> Draft:
    """The draft with other notches on one piece: `change` makes of each notch another, or None to leave it out."""
    changed = [change(notch) for notch in draft.panel(piece).notches]
    return draft.with_panel(piece, notches=tuple(notch for notch in changed if notch is not None))


def replanned(draft: Draft) -> Draft:
    """The draft with the corners of its plan where they are drawn now."""
    pieces = tuple(
        replace(piece, corners={edge.start: edge.line.start for edge in draft.panel(piece.name).edges})
        for piece in draft.plan.pieces
    )
    return replace(draft, plan=replace(draft.plan, pieces=pieces))
