"""The page of a proposal, from a file alone: it keeps what is done in the browser, and gives the plan out to be saved.

`tests/report/test_pairing_page.py` clicks and types in a Chromium, which it talks to over its debugging port
(`tests/report/browser.py`), and skips where there is none. What the page says the plan is, is read there by `config/plan_file.py`.
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

from seamcheck.config.plan_file import SUFFIX, format_plan, parse_plan
from seamcheck.errors import PlanError
from seamcheck.pairing.text import OPEN
from seamcheck.pattern.plan import Plan, SeamPlan
from seamcheck.report import paper
from seamcheck.report.figures.base import FIGURE_CSS
from seamcheck.report.figures.looks import rules
from seamcheck.report.layout import printable
from seamcheck.report.pairing.marks import ARROW, HUES, HUES_ON_DARK, plate
from seamcheck.report.pairing.svg import DRAWING_STYLE, heading
from seamcheck.report.table import told
from seamcheck.report.templates import environment, trusted

if TYPE_CHECKING:
    from markupsafe import Markup

    from seamcheck.pairing.proposal import Proposal, ProposedSeam

PARTS = (
    *("toml", "plan", "state", "structure", "words", "host", "desk", "picture", "strip", "panel", "look"),
    *("truing", "altering", "which", "start"),
)
SCRIPTS = tuple(f"table/{part}.js" for part in PARTS)

_HUES = tuple(f"var(--hue-{i})" for i in range(len(HUES)))  # as the page sets them for light and dark


def pairing_page(proposal: Proposal, plan_text: str | None = None) -> str:
    """The whole page as text; the same proposal and text give the same bytes.

    `plan_text` is the plan as it will stand in its file: its comments are kept as far as nobody changes what they speak
    of. Without it, or when it is not the plan of this proposal, the text is written from the proposal. PlanError when the
    proposal's own plan cannot stand in a file, for a name with a dot in it say.
    """
    data = _data(proposal, _text(proposal, plan_text))
    as_text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    data["key"] = hashlib.sha256(as_text.encode("utf-8", "surrogatepass")).hexdigest()[:32]
    return page_of(data, heading(proposal))


def page_of(data: dict[str, Any], title: str, *, connects: bool = False) -> str:
    """The page that shows some data; with `connects` it may ask the server that it came from, and nothing else."""
    script, script_hash = paper.script_of(*SCRIPTS)
    return (
        environment()
        .get_template("table/table.html")
        .render(
            title=title,
            style=_style(figures=connects),
            script=script,
            script_hash=script_hash,
            connects=connects,
            plate=trusted(plate(0, question=False, hues=_HUES)),
            question=trusted(plate(1, question=True, hues=_HUES)),
            arrow={"style": f"fill:{_HUES[0]}", "d": ARROW},
            data=paper.embedded(data),
        )
    )


def _style(*, figures: bool) -> Markup:
    hues = "".join(f"--hue-{i}:{hue};" for i, hue in enumerate(HUES))
    dark = "".join(f"--hue-{i}:{hue};" for i, hue in enumerate(HUES_ON_DARK))
    more = (
        f":root{{{hues}}}\n@media (prefers-color-scheme:dark){{:root{{{dark}}}}}\n{rules('.over')}\n{DRAWING_STYLE}"
    )
    more += f"\n{FIGURE_CSS}" if figures else ""
    return paper.style_of("page.css", "table/table.css", more=more)


def _data(proposal: Proposal, text: str) -> dict[str, Any]:
    picture, _ = told.picture(proposal)
    numbers = told.numbered(proposal)
    return {
        **picture,
        **told.of_plan(proposal.plan, text, PurePath(proposal.pattern.path).stem + SUFFIX),
        "host": "file",
        "title": printable(heading(proposal)),
        "numbers": numbers,
        "highest": len(numbers),
        "seams": {seam.seam.name: told.evidence(seam) for seam in proposal.seams},
        "style": told.style(),
    }


def proposed_text(proposal: Proposal) -> str:
    """The text of a plan with all that is sure or written in a proposal, and without its questions."""
    sure = [seam for seam in proposal.seams if seam.standing not in OPEN]
    return _completed(format_plan(replace(proposal.plan, seams=())), sure, [], proposal.plan.units)


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
