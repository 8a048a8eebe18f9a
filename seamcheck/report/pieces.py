"""What was read of one file, for the eye, as drawings and as JSON (schema `seamcheck.pieces/1`): lengths in mm, angles in degrees.

Keys may be added to the schema, never renamed. What is not there is null.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.amounts import count
from seamcheck.engine.report_format import RenderOptions
from seamcheck.exact import steady
from seamcheck.pattern.drawing import LengthSource
from seamcheck.report.json import dump
from seamcheck.report.layout import paint, printable, wrap

if TYPE_CHECKING:
    from seamcheck.pattern.model import Edge, Grainline, Notch, Pattern, Piece, Unused
    from seamcheck.pattern.second_reading import Figures, SecondReading

SCHEMA = "seamcheck.pieces/1"

MOST_KINDS = 12  # of what was kept aside are listed in text; JSON has all

_LINES = {"sew": "the outline is the sew line", "cut": "the outline is the cut line"}
_UNKNOWN_LINE = "whether the outline is the sew line or the cut line is not known"


def render_json(pattern: Pattern, options: RenderOptions) -> str:
    """The pattern as one JSON object."""
    return dump(
        {
            "schema": SCHEMA,
            "path": pattern.path,
            "pattern": pattern.name,
            "format": pattern.format,
            "units": pattern.units,
            "sizes": pattern.sizes,
            "notes": [{"code": note.code, "message": note.message} for note in pattern.notes],
            "ledger": {
                "read": pattern.ledger.read,
                "used": pattern.ledger.used,
                "kept_aside": sum(pattern.ledger.aside.values()),
                "aside": dict(sorted(pattern.ledger.aside.items())),
            },
            "pieces": [_piece(piece) for piece in pattern.pieces],
            "open_outlines": [
                {"name": one.name, "size": one.size, "ends": one.ends, "gap": one.gap, "place": str(one.place)}
                for one in pattern.open_outlines
            ],
            "unused": [
                {
                    "place": str(one.place),
                    "at": one.at,
                    "length": one.length,
                    "closed": one.closed,
                    "why": one.why,
                    "piece": one.piece or None,
                    "distance": one.distance if one.piece else None,
                    "weight": one.weight or None,
                }
                for one in pattern.unused
            ],
            "second_reading": None if pattern.second is None else _second_json(pattern.second),
        }
    )


def _second_json(second: SecondReading) -> dict[str, object]:
    return {
        "reader": second.reader,
        "version": second.version,
        "failure": second.failure or None,
        "agreed": second.agreed,
        "differences": [
            {
                "place": str(one.place),
                "at": one.at,
                "off": one.off,
                "first": _figures_json(one.first),
                "second": _figures_json(one.second),
            }
            for one in second.differences
        ],
        "explained": [{"reason": one.reason, "count": one.count, "places": one.places} for one in second.explained],
    }


def _figures_json(figures: Figures | None) -> dict[str, object] | None:
    if figures is None:
        return None
    return {"length": figures.length, "bounds": list(figures.bounds), "ends": list(figures.ends)}


def _piece(piece: Piece) -> dict[str, object]:
    return {
        "name": piece.name,
        "in_file": piece.in_file,
        "size": piece.size,
        "line": piece.line,
        "perimeter": piece.outline.length,
        "area": abs(piece.outline.signed_area()),
        "bounds": [float(value) for value in piece.outline.bounds()],
        "corners": [
            {
                "name": corner.name,
                "at": corner.at,
                "angle": corner.angle,
                "uncertainty": corner.uncertainty,
                "named": corner.named,
                "notches": corner.notches,
            }
            for corner in piece.corners
        ],
        "edges": [_edge(edge) for edge in piece.edges],
        "grain": _grain(piece.grainlines[0]) if piece.grainlines else None,
        "grainlines": [_grain(grainline) for grainline in piece.grainlines],
        "darts": [
            {"corners": dart.corners, "legs": [leg.length for leg in dart.legs], "intake": dart.intake}
            for dart in piece.darts
        ],
        "pleats": [{"corners": pleat.corners, "depth": pleat.depth, "drawn": pleat.drawn} for pleat in piece.pleats],
        "folds": [fold.length for fold in piece.folds],
        "internal_lines": len(piece.internals),
        "drill_holes": piece.drill_holes,
        "stray_notches": piece.stray_notches,
        "gap": piece.gap,
        "labels": dict(sorted(piece.labels.items())),
        "text": piece.texts,
        "place": str(piece.place),
        "reasons": [str(one) for one in piece.reasons],
    }


def _edge(edge: Edge) -> dict[str, object]:
    return {
        "name": edge.name,
        "from": edge.start,
        "to": edge.end,
        "length": edge.length,
        "notches": [
            {"at": notch.at, "station": notch.station, "count": notch.count, "why": notch.why}
            for notch in edge.notches
        ],
        "named": edge.named,
        "source": edge.source.value,
        "chord_difference": edge.chord_difference,
        "noise": edge.noise,
    }


def _grain(grainline: Grainline) -> dict[str, object]:
    return {
        "from": grainline.points[0],
        "to": grainline.points[-1],
        "length": grainline.length,
        "angle": grainline.angle,
        "why": grainline.why,
    }


def render_text(pattern: Pattern, options: RenderOptions) -> str:
    """The pattern as prose and small tables, piece by piece in every size."""
    parts = [_head(pattern, options)]
    parts += ["\n".join(_piece_lines(piece, options)) for piece in pattern.pieces]
    parts += [
        wrap(
            f"Open: {one.name or one.place}{_in_size(one.size)}: the outline does not close; "
            f"{amounts.length(one.gap)} between its ends at {_point(one.ends[0])} and {_point(one.ends[1])}.",
            options,
            hanging="  ",
        )
        for one in pattern.open_outlines
    ]
    foot = [wrap(f"Note: {note.message}", options, hanging="  ") for note in pattern.notes]
    foot += [wrap(told, options, hanging="  ") for told in _differences(pattern.second)]
    foot.append(_ledger(pattern, options))
    foot += [wrap(told, options, indent="  ", hanging="    ") for told in _unused(pattern)]
    return "\n\n".join([*parts, "\n".join(foot)]) + "\n"


def _head(pattern: Pattern, options: RenderOptions) -> str:
    names = dict.fromkeys(piece.name for piece in pattern.pieces)
    sizes = [size for size in pattern.sizes if size]
    told = f" in {count(len(sizes), 'size')} ({', '.join(sizes)})" if sizes else ""
    down = "down" if pattern.y_down else "up"
    return wrap(
        f"{pattern.path}: {count(len(names), 'piece')}{told}, read as {pattern.format}, drawn in {pattern.units}; "
        f"here in mm, x to the right and y {down}.",
        options,
        hanging="  ",
    )


def _piece_lines(piece: Piece, options: RenderOptions) -> Iterable[str]:
    drawn = f' ("{piece.in_file}" in the file)' if piece.in_file and piece.in_file != piece.name else ""
    yield paint(printable(f"{piece.name}{_in_size(piece.size)}"), "strong", options) + printable(drawn)
    line = _LINES.get(piece.line, _UNKNOWN_LINE)
    if piece.line == "cut":
        found = piece.outline is not piece.drawn
        line += ", lengths are along the sew line inside it" if found else ", lengths are along it"
    left, top, right, bottom = piece.outline.bounds()
    size = f"{_mm(piece.outline.length)} round, {_mm(right - left)} by {_mm(bottom - top)}"
    yield wrap(f"{line[:1].upper()}{line[1:]}; {size}.", options, indent="  ")
    width = max((len(edge.name) for edge in piece.edges), default=0)
    for edge in piece.edges:
        yield wrap(
            f"{edge.name:{width}}  {_mm(edge.length):>9}  {_along(edge)}", options, indent="  ", hanging="      "
        )
    notched = {0: "", 1: ", notched", 2: ", double notched"}
    corners = (
        f"{one.name} {amounts.angle(one.angle)} at {_point(one.at)}{notched.get(one.notches, f', {one.notches} notches')}"
        for one in piece.corners
    )
    yield _entry(f"Corners: {'; '.join(corners) or 'none'}", options)
    grain = (
        f"{_mm(one.length)} at {amounts.angle(one.angle)} from {_point(one.points[0])} to {_point(one.points[-1])}"
        for one in piece.grainlines
    )
    yield _entry(f"Grain: {'; '.join(grain) or 'none'}", options)
    darts = (
        f"{', '.join(dart.corners)}: legs {_mm(dart.legs[0].length)} and {_mm(dart.legs[1].length)}, "
        f"intake {_mm(dart.intake)}"
        for dart in piece.darts
    )
    pleats = (f"{' and '.join(pleat.corners)}: {_mm(pleat.depth)} deep" for pleat in piece.pleats)
    for title, told in (
        ("Darts", "; ".join(darts)),
        ("Pleats", "; ".join(pleats)),
        ("Folds", ", ".join(_mm(fold.length) for fold in piece.folds)),
        ("Drill holes", ", ".join(_point(hole) for hole in piece.drill_holes)),
        ("Notches on no edge", ", ".join(_point(notch) for notch in piece.stray_notches)),
        ("Labels", "; ".join(f"{key} {value}" for key, value in sorted(piece.labels.items()))),
        ("Text", " | ".join(piece.texts)),
    ):
        if told:
            yield _entry(f"{title}: {told}", options)
    for what, why in _whys(piece):
        yield _entry(f"Why {what}: {why}", options)


def _whys(piece: Piece) -> Iterable[tuple[str, str]]:
    """What each kind of mark was taken for what it is by, one line for each kind."""
    kinds: dict[str, dict[str, list[str]]] = {}
    for one in piece.reasons:
        kinds.setdefault(one.what, {}).setdefault(one.told, [])
    for edge in piece.edges:
        for notch in edge.notches:
            if notch.why:
                where = f"{_mm(notch.station)} on {edge.name}"
                kinds.setdefault("notch", {}).setdefault(notch.why, []).append(where)
    for grain in piece.grainlines:
        if grain.why:
            kinds.setdefault("grain", {}).setdefault(grain.why, [])
    for what, whys in kinds.items():
        told = [f"{_few(where)}: {why}" if where else why for why, where in whys.items()]
        yield what, "; ".join(one for one in told if one) or "as drawn"


def _few(places: Sequence[str]) -> str:
    return "at " + (amounts.listed(places) if len(places) <= 3 else f"{places[0]} and {len(places) - 1} other places")


def _along(edge: Edge) -> str:
    """From where to where, with its notches, and how the length was found unless it was simply drawn."""
    told = f"from {edge.start} to {edge.end}"
    if edge.notches:
        told += ", notched at " + amounts.listed([_notch(notch) for notch in edge.notches])
    if edge.source is LengthSource.SMOOTHED:
        chords = edge.length - edge.chord_difference
        told += f", length by {edge.source.value}; the chords are {_mm(chords)} long and lie {edge.noise:.2f} mm beside it"
    elif edge.source is not LengthSource.DRAWN:
        told += f", length by {edge.source.value}"
        if round(edge.chord_difference, 1):
            told += f", {_mm(edge.chord_difference)} off the chords"
    return told


def _notch(notch: Notch) -> str:
    many = {1: "", 2: " (double)", 3: " (triple)"}.get(notch.count, f" ({notch.count} in one)")
    return f"{_mm(notch.station)}{many}"


def _ledger(pattern: Pattern, options: RenderOptions) -> str:
    """How many of the file's entities were read, used and kept aside, and what the last are."""
    ledger = pattern.ledger
    total = sum(ledger.aside.values())
    told = f"{count(ledger.read, 'entity', 'entities')} read, {ledger.used} used, {total} kept aside"
    kinds = sorted(ledger.aside.items(), key=lambda item: (-item[1], item[0]))
    if kinds:
        told += ": " + "; ".join(f"{number} × {kind}" for kind, number in kinds[:MOST_KINDS])
    if len(kinds) > MOST_KINDS:
        rest = sum(number for _, number in kinds[MOST_KINDS:])
        told += f"; {rest} of {len(kinds) - MOST_KINDS} more kinds (all of them with --format json)"
    return wrap(f"{told}.", options, hanging="  ")


def _differences(second: SecondReading | None) -> Iterable[str]:
    """The lines that a second reader reads otherwise, each with the figures of both."""
    for one in second.differences if second else ():
        assert second is not None
        yield f"Differs: {one.place} at {_point(one.at)}: {_figures(one.first)}; by {second.reader} {_figures(one.second)}."


def _figures(figures: Figures | None) -> str:
    if figures is None:
        return "not found"
    left, top, right, bottom = figures.bounds
    ends = f", from {_point(figures.ends[0])} to {_point(figures.ends[1])}" if figures.ends else ", closed"
    return f"{_hundredths(figures.length)} long, {_hundredths(right - left)} by {_hundredths(bottom - top)}{ends}"


def _hundredths(value: float) -> str:
    return f"{round(steady(value), 2) + 0.0:.2f} mm"


def _unused(pattern: Pattern) -> Iterable[str]:
    """The lines that are in no piece, worst first: one row for all that are left out for one reason."""
    alike: dict[tuple[str, str], list[Unused]] = {}
    for one in pattern.unused:
        alike.setdefault((one.weight, one.why), []).append(one)
    rows = list(alike.items())
    for (weight, why), lines in rows[:MOST_KINDS]:
        nearest = (
            min(lines, key=lambda one: (round(one.distance, 6), -round(one.length, 6))) if not weight else lines[0]
        )
        word = {"piece": "Not used, though of the size of a piece", "near": "Not used, though along an outline"}
        others = f" and {len(lines) - 1} more" if len(lines) > 1 else ""
        where = f", {_mm(nearest.distance)} from {nearest.piece}" if nearest.piece else ""
        yield (f"{word.get(weight, 'Not used')}: {nearest.place}, {_mm(nearest.length)} long{where}{others}: {why}")
    if len(rows) > MOST_KINDS:
        yield f"and lines for {len(rows) - MOST_KINDS} more reasons (all of them with --format json)"


def _entry(told: str, options: RenderOptions) -> str:
    return wrap(told, options, indent="  ", hanging="      ")


def _in_size(size: str) -> str:
    return f", size {size}" if size else ""


def _mm(value: float) -> str:
    return f"{round(steady(value), 1) + 0.0:.1f} mm"


def _point(point: complex) -> str:
    return f"({round(steady(point.real), 1) + 0.0:.1f}, {round(steady(point.imag), 1) + 0.0:.1f})"


def render_svg(pattern: Pattern, options: RenderOptions) -> str:
    """The pieces as drawings on one sheet."""
    from seamcheck.report.figures.base import standalone
    from seamcheck.report.figures.sheet import pattern_sheet

    return standalone(pattern_sheet(pattern))


RENDERERS: Mapping[str, Callable[[Pattern, RenderOptions], str]] = {
    "text": render_text,
    "json": render_json,
    "svg": render_svg,
}
