"""The page on which a person confirms a proposal: one HTML file that needs no network and no server.

Two clicks pair two edges or part a pair; ease, ratio, names, unsewn edges and folds are set beside the picture; the
plan's text follows. Its parts lie beside this module and are put into one file here.

`page.html` and `.css`, and five scripts in this order, each knowing only those before it: `toml.js` reads TOML with
the place of every key, `plan.js` turns a plan's text into parts and back, so that what nobody touched stays to the
letter, `state.js` is what a person decided and the ways to change it, `page.js` is the picture and `panel.js` the
rest. They do no geometry: the places of plates, bands and ends are worked out in `sheet`, for the picture and the
page alike. `tests/report/test_pairing_page.py` clicks and types in a Chromium, which it talks to over its debugging
port (`tests/report/browser.py`), and skips where there is none. What the page says the plan is, is read there by
`config/plan_file.py`.
"""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from contextlib import suppress
from dataclasses import replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from seamcheck.amounts import UNITS
from seamcheck.config.plan_file import SUFFIX, format_plan, parse_plan
from seamcheck.errors import PlanError
from seamcheck.exact import steady
from seamcheck.pairing.text import OPEN
from seamcheck.pattern.plan import Plan, SeamPlan
from seamcheck.report import paper
from seamcheck.report.layout import printable
from seamcheck.report.pairing.marks import ARROW, ARROW_AT, DASHES, HUES, HUES_ON_DARK, SHAPES, plate
from seamcheck.report.pairing.sheet import PLATE, REPEATED_AT, DrawnEdge, PairingSheet, PlatePlace, lay_out
from seamcheck.report.pairing.svg import DRAWING_STYLE, drawing_of, drawn_as, heading
from seamcheck.report.pen import number
from seamcheck.report.templates import environment, trusted

if TYPE_CHECKING:
    from markupsafe import Markup

    from seamcheck.pairing.proposal import Proposal, ProposedSeam

SCRIPTS = ("pairing/toml.js", "pairing/plan.js", "pairing/state.js", "pairing/page.js", "pairing/panel.js")
LEGIBLE = 3.6  # CSS pixels for a mm of paper, from which the names can be read
DIGITS = 2

_HUES = tuple(f"var(--hue-{i})" for i in range(len(HUES)))  # as the page sets them for light and dark


def pairing_page(proposal: Proposal, plan_text: str | None = None) -> str:
    """The whole page as text; the same proposal and text give the same bytes.

    `plan_text` is the plan as it will stand in its file: its comments are kept as far as nobody changes what they speak
    of. Without it, or when it is not the plan of this proposal, the text is written from the proposal. PlanError when the
    proposal's own plan cannot stand in a file, for a name with a dot in it say.
    """
    sheet = lay_out(proposal)
    data = _data(proposal, sheet, _text(proposal, plan_text))
    told = json.dumps(data, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    data["key"] = hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()[:32]
    script, script_hash = paper.script_of(*SCRIPTS)
    return (
        environment()
        .get_template("pairing/page.html")
        .render(
            title=heading(proposal),
            about=drawn_as(sheet),
            style=_style(),
            script=script,
            script_hash=script_hash,
            width=number(sheet.width),
            height=number(sheet.height),
            drawing=trusted(drawing_of(sheet, for_choosing=True)),
            plate=trusted(plate(0, question=False, hues=_HUES)),
            question=trusted(plate(1, question=True, hues=_HUES)),
            arrow={"style": f"fill:{_HUES[0]}", "d": ARROW},
            data=paper.embedded(data),
        )
    )


def _style() -> Markup:
    hues = "".join(f"--hue-{i}:{hue};" for i, hue in enumerate(HUES))
    dark = "".join(f"--hue-{i}:{hue};" for i, hue in enumerate(HUES_ON_DARK))
    more = f":root{{{hues}}}\n@media (prefers-color-scheme:dark){{:root{{{dark}}}}}\n{DRAWING_STYLE}"
    return paper.style_of("page.css", "pairing/page.css", more=more)


def _data(proposal: Proposal, sheet: PairingSheet, text: str) -> dict[str, Any]:
    plan = proposal.plan
    drawn = {edge.key: _edge(edge) for edge in sheet.edges()}
    named = [f"{piece.name}.{edge}" for piece in plan.pieces for edge in piece.edges]
    numbers = {seam.seam.name: i for i, seam in enumerate(proposal.seams, 1)}
    return {
        "file": PurePath(proposal.pattern.path).stem + SUFFIX,
        "text": text,
        "units": plan.units,
        "unit": UNITS[plan.units],
        "tolerance": plan.tolerance / UNITS[plan.units],
        "width": round(steady(sheet.width), DIGITS),
        "height": round(steady(sheet.height), DIGITS),
        "legible": LEGIBLE,
        "edges": drawn,
        "order": list(drawn),
        "planned": {piece.name: list(piece.edges) for piece in plan.pieces},
        "lost": [key for key in named if key not in drawn],
        "numbers": numbers,
        "highest": len(numbers),
        "seams": {seam.seam.name: _evidence(seam) for seam in proposal.seams},
        "style": {
            "shapes": SHAPES,
            "dashes": DASHES,
            "hues": HUES,
            "arrow": ARROW,
            "arrowAt": ARROW_AT,
            "plate": PLATE,
            "repeated": REPEATED_AT,
        },
    }


def _edge(edge: DrawnEdge) -> dict[str, Any]:
    return {
        "name": printable(edge.name),
        "start": edge.start,
        "end": edge.end,
        "length": round(steady(edge.length), 4),
        "drawn": round(steady(edge.drawn_length), DIGITS),
        "forward": edge.forward,
        "bands": edge.bands,
        "track": [_place(place) for place in edge.track],
        "stack": [_place(place) for place in edge.stack],
        "ends": [[round(steady(end.real), DIGITS), round(steady(end.imag), DIGITS)] for end in edge.ends],
    }


def _place(place: PlatePlace) -> list[float]:
    numbers = (place.at.real, place.at.imag, place.foot.real, place.foot.imag, place.angle)
    return [round(steady(value), DIGITS) + 0.0 for value in numbers]


def _evidence(seam: ProposedSeam) -> dict[str, Any]:
    return {
        "confidence": round(steady(seam.confidence), 4),
        "reasons": [
            f"{'Against: ' if reason.weight < 0 else ''}{printable(reason.words)}"
            for reason in seam.reasons
            if reason.words
        ],
        "runnerUp": printable(seam.runner_up),
    }


def _text(proposal: Proposal, plan_text: str | None) -> str:
    """The text to start from: what was given, with what it lacks of the proposal behind it, or one of our own."""
    sure = [seam for seam in proposal.seams if seam.standing not in OPEN]
    asked = [seam for seam in proposal.seams if seam.standing in OPEN]
    wanted = replace(proposal.plan, seams=tuple(seam.seam for seam in sure))
    if plan_text is not None:
        with suppress(PlanError):
            given = _completed(plan_text, sure, asked, proposal.plan.units)
            if _is_of(given, wanted):
                return given
    return _completed(format_plan(replace(wanted, seams=())), sure, asked, wanted.units)


def _completed(text: str, sure: list[ProposedSeam], asked: list[ProposedSeam], units: str) -> str:
    """A plan's text with those seams and questions added that it does not have; PlanError when it is no plan."""
    text = text.replace("\r\n", "\n")
    there = {seam.name for seam in parse_plan(text).seams}
    blocks = [seam_lines(one.seam, units) for one in sure if one.seam.name not in there]
    for one in asked:
        lines = seam_lines(one.seam, units)
        if f"# {lines.splitlines()[1]}" not in text.splitlines():
            why = [reason.words for reason in one.reasons if reason.words]
            head = " ".join(printable(f"Is this a seam? {'; '.join(why)}").split())
            blocks.append("\n".join([f"# {head}", *(f"# {line}" for line in lines.splitlines())]))
    return "\n\n".join([text.rstrip("\n"), *blocks]) + "\n"


def _is_of(text: str, wanted: Plan) -> bool:
    """Whether a text is the plan that is wanted, in a form that the page can change; PlanError when it is no plan."""
    plan = parse_plan(text)
    heads = {
        tuple(_keys(match[1]))
        for match in re.finditer(r"^[ \t]*\[(?!\[)([^\n]*?)\][ \t]*(?:#.*)?$", text, re.MULTILINE)
    }
    if any(("pieces", piece.name) not in heads for piece in plan.pieces):
        return False
    by_name = {seam.name: seam for seam in wanted.seams}
    same = all(by_name.get(seam.name) == seam for seam in plan.seams) and len(by_name) == len(plan.seams)
    return same and plan.units == wanted.units and _pieces(plan) == _pieces(wanted) and plan.darts == wanted.darts


def _keys(header: str) -> list[str]:
    """The parts of a table header; none when it is no header after all."""
    try:
        table: Any = tomllib.loads(f"[{header}]")
    except tomllib.TOMLDecodeError:
        return []
    keys = []
    while isinstance(table, dict) and table:
        key = next(iter(table))
        keys.append(key)
        table = table[key]
    return keys


def _pieces(plan: Plan) -> dict[str, Any]:
    return {piece.name: piece for piece in plan.pieces}


def seam_lines(seam: SeamPlan, units: str) -> str:
    """One seam as it stands in a plan."""
    bare = Plan(units=units, seams=(seam,))
    return format_plan(bare).rstrip("\n").split("\n\n", 1)[1]
