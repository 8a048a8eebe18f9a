"""Skirts with something done to them: the faults, and what a careless check would take for one."""

from __future__ import annotations

from dataclasses import replace

from skirt_making import BACK_WAIST, WAIST, Sheet, grain, seam_plan, skirt, smooth, unit

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.plan import AcceptedPlan, PiecePlan, Plan, ShapedPlan
from seamcheck.testing import Draft, Panel, PanelEdge, PanelNotch

GOOD = skirt()
DOWN = 1j


def lines(name: str, **changed: Curve) -> Sheet:
    return Sheet.of(GOOD.with_lines(name, **changed))


def line(name: str, edge: str) -> Curve:
    return GOOD.panel(name).edge(edge).line


def lengthened(draft: Draft, amount: float) -> Draft:
    """The front let down at the hem; its straight lower side grows by just as much."""
    side, hem, fold = (line("front", edge) for edge in ("side", "hem", "fold"))
    down = amount * DOWN
    straight = Curve.line(side.point(side.length - 150), side.end + down)
    return draft.with_lines(
        "front",
        side=Curve.join([side.between(0, side.length - 150), straight]),
        hem=Curve.line(hem.start + down, hem.end + down),
        fold=Curve.line(fold.start + down, fold.end),
    )


def shortened_within(amount: float) -> Sheet:
    """The front shortened between its notches, which keep their places from the waist and from the hem."""
    draft = lengthened(GOOD, -amount)
    upper, middle, lower = draft.panel("front").notches
    return Sheet.of(
        draft.with_panel("front", notches=(upper, middle, replace(lower, station=lower.station - amount)))
    )


def spread(amount: float) -> Sheet:
    """The front lengthened by some mm, a third of it in each stretch between notches."""
    draft = lengthened(GOOD, amount)
    waist, upper, lower = draft.panel("front").notches
    moved = (replace(upper, station=100 + amount / 3), replace(lower, station=250 + 2 * amount / 3))
    return Sheet.of(draft.with_panel("front", notches=(waist, *moved)))


def eased(slips: tuple[float, float], amount: float) -> Sheet:
    """`amount` mm of planned ease in the front's side, its notches shifted against the back's."""
    draft = lengthened(GOOD, amount)
    waist, upper, lower = draft.panel("front").notches
    moved = (replace(upper, station=100 + slips[0]), replace(lower, station=250 + slips[1]))
    sheet = Sheet.of(draft.with_panel("front", notches=(waist, *moved)))
    return sheet.seam_planned("side", ease=(min(amount, 0.0), max(amount, 0.0)))


def notches(name: str, *change: PanelNotch | None) -> Sheet:
    """The notches of a panel, from the first on, changed or taken away."""
    old = GOOD.panel(name).notches
    new = [notch for notch in (*change, *old[len(change) :]) if notch is not None]
    return Sheet.of(GOOD.with_panel(name, notches=tuple(new)))


def moved_notches(*amounts: float) -> Sheet:
    waist, upper, lower = GOOD.panel("front").notches
    moved = [replace(notch, station=notch.station + by) for notch, by in zip((upper, lower), amounts, strict=False)]
    return notches("front", waist, *moved)


def hem_leaving(degrees: float, on_back: float = 0.0) -> Sheet:
    """The hem of the front, or of both, leaves the side seam at another angle, and still meets the fold squarely."""
    hem, back = line("front", "hem"), line("back", "hem")
    draft = GOOD.with_lines("front", hem=smooth(hem.start, unit(180 - degrees), hem.end, -1))
    return Sheet.of(draft.with_lines("back", hem=smooth(back.start, -1, back.end, unit(180 + on_back))))


def turned_seam(name: str) -> Sheet:
    """A seam whose second side the plan walks from the wrong end."""
    first, second = next(seam for seam in GOOD.plan.seams if seam.name == name).sides
    turned = tuple(replace(use, backwards=not use.backwards) for use in reversed(second))
    return Sheet.of(GOOD).seam_planned(name, sides=(first, turned))


def slipped_joint(amount: float) -> Sheet:
    """The band's joint moved along the waist: one half longer, the other as much shorter."""
    draft = GOOD
    for name, which, by in (("band-front", "side", amount), ("band-back", "centre", -amount)):
        lower, upper, end = (line(name, edge) for edge in ("lower", "upper", which))
        draft = draft.with_lines(
            name,
            lower=Curve.line(lower.start + by, lower.end),
            upper=Curve.line(upper.start, upper.end + by),
            **{which: Curve.line(end.start + by, end.end + by)},
        )
    waist = draft.panel("band-front").notches[0]
    draft = draft.with_panel("band-front", notches=(replace(waist, station=waist.station + amount),))
    back = draft.panel("band-back").notches[0]
    return Sheet.of(draft.with_panel("band-back", notches=(replace(back, station=back.station),)))


def kinked_hem(degrees: float) -> Sheet:
    hem = line("front", "hem")
    middle = hem.start - 70
    return lines(
        "front",
        hem=Curve.join([Curve.line(hem.start, middle), smooth(middle, unit(180 + degrees), hem.end, -1)]),
    )


def kinked_hem_at_a_corner(degrees: float) -> Sheet:
    """The same kink, at a corner of the plan whose place was rounded."""
    sheet = kinked_hem(degrees)
    front = next(piece for piece in sheet.plan.pieces if piece.name == "front")
    at = line("front", "hem").start - 70 + 0.04
    return sheet.piece_planned(
        "front",
        corners={**front.corners, "vent": at},
        edges={**front.edges, "hem": ("side-hem", "vent", "cf-hem")},
    )


def stepped_hem(jog: float) -> Sheet:
    hem, fold = line("front", "hem"), line("front", "fold")
    start, shift = hem.start, -1j * jog
    return lines(
        "front",
        hem=Curve.polyline([start, start - 70, start - 82 + shift, hem.end + shift]),
        fold=Curve.line(fold.start + shift, fold.end),
    )


def ruled_hem(degrees: float) -> Sheet:
    """A hem that a slash opened by 20 mm and turned by twice so much; the gap was ruled over."""
    hem = line("front", "hem")
    near = hem.start - 70
    far = near + 20 * unit(180 + degrees)
    behind = smooth(far, unit(180 + 2 * degrees), hem.end, -1)
    return lines("front", hem=Curve.join([Curve.line(hem.start, near), Curve.line(near, far), behind]))


def leg_longer(amount: float) -> Sheet:
    """The mouth corner behind the dart moved out along its leg; the waist still leaves it squarely."""
    leg, waist = line("back", "leg-behind"), line("back", "waist-behind")
    along = (leg.end - leg.start) / leg.length
    out = leg.end + amount * along
    square = waist.tangent(0.0)
    return lines(
        "back", **{"leg-behind": Curve.line(leg.start, out), "waist-behind": smooth(out, square, waist.end, square)}
    )


def mouth_open(degrees: float) -> Sheet:
    """The waist arrives at the dart at another angle; it still leaves the side seam squarely."""
    waist = line("back", "waist-before")
    return lines("back", **{"waist-before": smooth(waist.start, 1, waist.end, unit(degrees))})


def straight_mouth() -> Sheet:
    """The waist ruled straight across the open dart: what happens when the roof is forgotten."""
    out = line("back", "waist-behind").start
    centre = line("back", "waist-behind").end
    return lines("back", **{"waist-behind": smooth(out, 1, centre, line("back", "waist-behind").tangent(0.0))})


def bowed_fold(amount: float) -> Sheet:
    fold = line("front", "fold")
    middle = (fold.start + fold.end) / 2 + amount
    return lines("front", fold=Curve.join([smooth(fold.start, -1j, middle, -1j), smooth(middle, -1j, fold.end, -1j)]))


def outline_short_of(gap: float) -> Sheet:
    """The front's outline, drawn from its waist on, ends some mm before its start."""
    sheet = Sheet.of(GOOD)
    group = sheet.group("front")
    fold = line("front", "fold")
    whole = group[group.index('d="') : group.index('"', group.index('d="') + 3)]
    last = whole[whole.rindex(" C") :] if whole.rindex("C") > 0 else whole
    end = fold.end + gap * DOWN
    reopened = whole.replace(last, f" L{end.real},{end.imag}").removesuffix(" Z")
    return replace(sheet, svg=sheet.svg.replace(group, group.replace(whole, reopened)))


def with_grain(name: str, *arrows: tuple[complex, ...]) -> Sheet:
    sheet = Sheet.of(GOOD.with_panel(name, grain=None))
    for arrow in arrows:
        sheet = sheet.drawn(name, grain(*arrow))
    return sheet


def ungrained_mat() -> Sheet:
    """A square without a grain arrow, of nothing that is worn."""
    corners = {"a": 0j, "b": 200 + 0j, "c": 200 + 200j, "d": 200j}
    edges = {"upper": ("a", "b"), "right": ("b", "c"), "lower": ("c", "d"), "left": ("d", "a")}
    mat = PiecePlan(name="mat", in_file="mat", corners=corners, edges=edges, unsewn=tuple(edges))
    words = "".join(
        f'<text x="50" y="{50 + 20 * k}">{text}</text>' for k, text in enumerate(("Mat", "Size 40", "Cut 1"))
    )
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">'
        f'<g id="mat"><path d="M0 0H200V200H0Z"/>{words}</g></svg>'
    )
    return Sheet(svg, Plan(name="Mat", pieces=(mat,)))


def plan_of(name: str) -> PiecePlan:
    return GOOD.plan.piece(name)


def without(name: str) -> Sheet:
    return Sheet.of(replace(GOOD, panels=tuple(panel for panel in GOOD.panels if panel.name != name)))


def extra_pocket() -> Sheet:
    d = '<path inkscape:label="sew line" d="M700,20 H840 V180 H700 Z"/>' + grain(770 + 40j, 770 + 160j)
    text = '<text x="720" y="100">Pocket</text>'
    pocket = f'<g inkscape:label="pocket">{d}{text}</g>'
    sheet = Sheet.of(GOOD)
    return replace(sheet, svg=sheet.svg.replace("\n</g>\n</svg>", f"\n{pocket}\n</g>\n</svg>"))


def accepting(sheet: Sheet, **entry: str) -> Sheet:
    return sheet.planned(accepted=(AcceptedPlan(**entry),))


def lost_corner() -> Sheet:
    front = plan_of("front")
    return Sheet.of(GOOD).piece_planned(
        "front", corners={**front.corners, "vent": 5000 + 5000j}, edges={**front.edges, "slit": ("side-hem", "vent")}
    )


def ambiguous_edge() -> Sheet:
    front = plan_of("front")
    return Sheet.of(GOOD).piece_planned("front", edges={**front.edges, "slant": ("cf-waist", "side-hem")})


def swallowed_end(allowance: float = 12.0) -> Sheet:
    """A tab that is drawn by its cut line; its end is 18 mm wide, and the allowances on either side of it are as wide as is said."""
    corners = {"end-left": 600 + 40j, "end-right": 618 + 40j, "foot-right": 640 + 200j, "foot-left": 578 + 200j}
    names, at = ("end", "right", "foot", "left"), list(corners.values())
    rows = zip(names, corners, at, [*at[1:], at[0]], strict=True)
    tab = Panel(
        name="tab",
        edges=tuple(PanelEdge(name, start, Curve.line(a, b)) for name, start, a, b in rows),
        grain=(609 + 180j, 609 + 90j),
        texts=("Ferryhand skirt", "Tab", "Size 40", "Cut 1"),
    )
    ends = [*corners, next(iter(corners))]
    planned = PiecePlan(
        name="tab",
        in_file="tab",
        line="cut",
        allowance=allowance,
        unsewn=names,
        corners=corners,
        edges={name: (ends[k], ends[k + 1]) for k, name in enumerate(names)},
    )
    plan = replace(GOOD.plan, pieces=(*GOOD.plan.pieces, planned))
    return Sheet.of(replace(GOOD, panels=(*GOOD.panels, tab), plan=plan))


def band_end(degrees: float) -> Sheet:
    """The back band's centre end turned about its upper corner; its lower edge bends to keep the corner's place."""
    end, lower = line("band-back", "centre"), line("band-back", "lower")
    turned = smooth(end.start, DOWN, end.end, unit(90 + degrees))
    return lines("band-back", centre=turned, lower=lower)


def reversed_side() -> Sheet:
    edges = {**plan_of("back").edges, "side": ("side-hem", "side-waist")}
    seams = tuple(
        replace(seam, sides=(seam.sides[0], (replace(seam.sides[1][0], backwards=True),)))
        if seam.name == "side"
        else seam
        for seam in GOOD.plan.seams
    )
    return Sheet.of(GOOD).piece_planned("back", edges=edges).planned(seams=seams)


def joint_notch() -> Sheet:
    """One band all along the waist, with a notch where the side seam meets it."""
    length = WAIST + sum(BACK_WAIST)
    band = GOOD.panel("band-front")
    at = band.edge("upper").line.start
    long = band.with_lines(
        upper=Curve.line(at, at + length),
        side=Curve.line(at + length, at + length + 40j),
        lower=Curve.line(at + length + 40j, at + 40j),
    )
    stations = (length - 90.0, length - WAIST, length - WAIST - 125.0)
    long = replace(long, notches=tuple(PanelNotch("lower", s) for s in stations))
    panels = tuple(
        long if panel.name == "band-front" else panel for panel in GOOD.panels if panel.name != "band-back"
    )
    front = plan_of("band-front")
    corners = {edge.start: edge.line.start for edge in long.edges}
    pieces = tuple(
        replace(one, corners=corners) if one is front else one for one in GOOD.plan.pieces if one.name != "band-back"
    )
    seams = (
        *GOOD.plan.seams[:2],
        seam_plan("band-end", ["band-front.side"], ["band-front.side"]),
        seam_plan("waist", ["front.waist", "back.waist"], ["band-front.lower"]),
    )
    return Sheet.of(replace(GOOD, panels=panels)).planned(pieces=pieces, seams=seams)


def shaped() -> Sheet:
    return hem_leaving(15.0).planned(shaped=(ShapedPlan(corner=("front", "side-hem"), why="a pointed hem"),))


def leaning() -> Sheet:
    """The front's hem falls to the side by 6 degrees and the back's rises by as much."""
    draft = GOOD
    hem = line("front", "hem")
    draft = draft.with_lines("front", hem=smooth(hem.start, unit(180 - 6), hem.end, -1))
    hem = line("back", "hem")
    return Sheet.of(draft.with_lines("back", hem=smooth(hem.start, -1, hem.end, unit(180 - 6))))


def headed() -> Sheet:
    head = (95 + 70j, 100 + 60j, 105 + 70j)
    return with_grain("front", (100 + 380j, 100 + 60j), head[:2], head[1:])


def reversed_dart() -> Sheet:
    (dart,) = GOOD.plan.darts
    return Sheet.of(GOOD).planned(darts=(replace(dart, corners=dart.corners[::-1]),))


def tick(name: str, edge: str, station: float, depth: float, *, lean: float = 0.0, start: float = 0.0) -> str:
    """A notch as it is drawn, from `start` mm inside the line to `depth`, leaning by some degrees."""
    at, ahead = line(name, edge).point(station), line(name, edge).tangent(station)
    inwards = 1j * ahead * unit(lean)
    a, b = at + start * inwards, at + depth * inwards
    return f'<path inkscape:label="notch" d="M{a.real:.9f},{a.imag:.9f} L{b.real:.9f},{b.imag:.9f}"/>'


def slanted(degrees: float) -> Sheet:
    """A notch of the front's hem that leans."""
    return Sheet.of(GOOD).drawn("front", tick("front", "hem", 90.0, 5.0, lean=degrees))


def cut_line(name: str, allowance: float) -> str:
    cut = Curve.join([edge.line for edge in GOOD.panel(name).edges]).offset(-allowance)
    d = "".join(f" C{b.real},{b.imag} {c.real},{c.imag} {e.real},{e.imag}" for _, b, c, e in cut.segments.tolist())
    return f'<path inkscape:label="cut line" d="M{cut.start.real},{cut.start.imag}{d} Z"/>'


def cut_in(depth: float) -> Sheet:
    """A cut line of 10 mm round the front, and a notch of its hem that is cut in from there."""
    sheet = Sheet.of(GOOD).drawn("front", cut_line("front", 10.0))
    return sheet.drawn("front", tick("front", "hem", 90.0, depth - 10.0, start=-10.0))


def sewn_boxes(
    names: tuple[str, str],
    edge: str,
    corners: tuple[str, str],
    lengths: tuple[float, float],
    notches: tuple[tuple[PanelNotch, ...], tuple[PanelNotch, ...]],
    cuts: tuple[str, str] = ("one", "one"),
    **planned: object,
) -> Sheet:
    """Two oblong pieces, 60 mm wide, that are sewn together along one long side, `edge` from corner to corner."""
    panels, pieces = [], []
    for k, name in enumerate(names):
        at, length = complex(20, 20 + 100 * k), lengths[k]
        points = [at, at + length, at + length + 60j, at + 60j]
        called = [*corners, "far-end", "far-start"]
        edges = [
            PanelEdge(each, corner, Curve.line(one, other))
            for each, corner, one, other in zip(
                [edge, "right", "free", "left"], called, points, [*points[1:], points[0]], strict=True
            )
        ]
        panels.append(
            Panel(
                name=name,
                edges=tuple(edges),
                notches=notches[k],
                grain=(at + 30 + 30j, at + length - 30 + 30j),
                texts=("Ferryhand skirt", name.capitalize(), "Size 40", "Cut 2" if cuts[k] == "pair" else "Cut 1"),
            )
        )
        ways = {each.name: (each.start, called[(m + 1) % 4]) for m, each in enumerate(edges)}
        pieces.append(
            PiecePlan(
                name=name,
                in_file=name,
                cut=cuts[k],
                unsewn=("right", "free", "left"),
                corners=dict(zip(called, points, strict=True)),
                edges=ways,
            )
        )
    seam = replace(seam_plan(edge, [f"{names[0]}.{edge}"], [f"{names[1]}.{edge}"]), **planned)
    return Sheet.of(
        Draft(name="boxes", panels=tuple(panels), plan=Plan(name="boxes", pieces=tuple(pieces), seams=(seam,)))
    )


def straps(*notches: PanelNotch, facing: float = 300.0) -> Sheet:
    """A strap for the left and the right, sewn to its facing, which is so long and notched in proportion."""
    both = notches, tuple(replace(one, station=one.station * facing / 300.0) for one in notches)
    return sewn_boxes(("strap", "facing"), "long", ("a", "b"), (300.0, facing), both, ("pair", "one"))


def inseam(front: tuple[float, ...], back: tuple[float, ...], longer: float, **planned: object) -> Sheet:
    """Two legs whose inseams have notches at these distances from the crotch; the front is some mm longer."""
    notches = tuple(tuple(PanelNotch("inseam", at) for at in side) for side in (front, back))
    planned.setdefault("ease", (0.0, 6.0))
    ends = "crotch-point", "inseam-hem"
    return sewn_boxes(("front", "back"), "inseam", ends, (400.0 + longer, 400.0), notches, **planned)


def longer_band(amount: float) -> Sheet:
    """The back band longer at its centre than the waist it is sewn to, as the plan allows."""
    end, lower, upper = (line("band-back", edge) for edge in ("centre", "lower", "upper"))
    draft = GOOD.with_lines(
        "band-back",
        centre=Curve.line(end.start + amount, end.end + amount),
        lower=Curve.line(lower.start + amount, lower.end),
        upper=Curve.line(upper.start, upper.end + amount),
    )
    (notch,) = draft.panel("band-back").notches
    draft = draft.with_panel("band-back", notches=(replace(notch, station=notch.station + amount),))
    return Sheet.of(draft).seam_planned("waist", ease=(-6.0, 6.0))


def with_hem_notch(station: float) -> Sheet:
    """A notch on the front's hem, which is sewn to nothing."""
    return notches("front", *GOOD.panel("front").notches, PanelNotch("hem", station))


def side_notches(by: float) -> Sheet:
    """The upper notch of the side seam moved down on both sides; the back's line is drawn upward."""
    draft = GOOD
    for name, way in (("front", 1), ("back", -1)):
        draft = draft.with_panel(
            name,
            notches=tuple(
                replace(notch, station=notch.station + way * by)
                if (notch.edge, notch.count) == ("side", 1)
                else notch
                for notch in draft.panel(name).notches
            ),
        )
    return Sheet.of(draft)


def turned_front(degrees: float) -> Sheet:
    """The front turned on the sheet; the plan knows nothing of it."""
    sheet = Sheet.of(GOOD)
    return replace(
        sheet,
        svg=sheet.svg.replace(
            '<g inkscape:label="front">', f'<g inkscape:label="front" transform="rotate({degrees} 100 200)">'
        ),
    )


def with_patch(left: float, right: float, *stations: float, scale: float = 1.0, lean: float = 0.0) -> Sheet:
    """A loose patch with a peak in its top, its sides at these places, drawn wider by a scale, its arrow leaning (degrees).

    The stations of its notches are from the left of the patch as it was planned.
    """
    at = 60 + 520j
    shape = {
        "lower-left": left + 60j,
        "upper-left": left + 0j,
        "peak-left": 20 + 0j,
        "peak": 30 - 60j,
        "peak-right": 60 + 0j,
        "upper-right": right + 0j,
        "lower-right": right + 60j,
    }
    corners = {name: at + complex(scale * point.real, point.imag) for name, point in shape.items()}
    names = tuple(corners)
    lines = ("left", "top-left", "peak-up", "peak-down", "top-right", "right", "bottom")
    ends = (*names[1:], names[0])
    panel = Panel(
        name="patch",
        edges=tuple(
            PanelEdge(line, start, Curve.line(corners[start], corners[end]))
            for line, start, end in zip(lines, names, ends, strict=True)
        ),
        notches=tuple(PanelNotch("bottom", scale * (right - station)) for station in stations),
        grain=(at + 40 + 50j, at + 40 + 50j + 50 * unit(lean - 90)),
        texts=("Patch", "Size 40", "Cut 1"),
    )
    planned = {
        **corners,
        "lower-left": at + 60j,
        "upper-left": at,
        "upper-right": at + 100,
        "lower-right": at + 100 + 60j,
    }
    piece = PiecePlan(
        name="patch",
        in_file="patch",
        corners=planned,
        edges={
            **{line: (a, b) for line, a, b in zip(lines, names, ends, strict=True)},
            "bottom": ("lower-left", "lower-right"),
        },
        unsewn=lines,
    )
    plan = replace(GOOD.plan, pieces=(*GOOD.plan.pieces, piece))
    return Sheet.of(replace(GOOD, panels=(*GOOD.panels, panel), plan=plan))
