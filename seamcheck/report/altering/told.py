"""An alteration for a person and for a program: what is done, what comes of it, what must follow, what is beyond sense."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from seamcheck.amounts import angle, count, length, listed, millimetres
from seamcheck.config.recipe_file import format_recipe
from seamcheck.report.altering.steps import move, outcome
from seamcheck.report.cautions import OF_FITS, SHORT
from seamcheck.report.json import dump
from seamcheck.report.layout import headline, wrap

if TYPE_CHECKING:
    from seamcheck.altering.rehearse import GrainTurn, LengthChange, Rehearsal, SeamNeed, SizeFacts, Warned
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.engine.result import Finding
    from seamcheck.pattern.recipe import Recipe

SCHEMA = "seamcheck.alter/1"
SEEN = 0.05  # mm


def render_text(rehearsal: Rehearsal, options: RenderOptions, written: Sequence[str]) -> str:
    """What is done, what comes of it in each size, and what was written, if anything was."""
    return "\n\n".join(_paragraphs(rehearsal, options, written)) + "\n"


def _paragraphs(rehearsal: Rehearsal, options: RenderOptions, written: Sequence[str]) -> Iterator[str]:
    altered = rehearsal.altered
    moves = sum(len(size.steps) for size in rehearsal.sizes[:1])
    left = sum(len(size.left) for size in rehearsal.sizes)
    verdict = f"{altered.path}: {_titles(rehearsal)}{count(moves, 'move')} on {listed(altered.pieces)}"
    verdict += ", carried out" if written else ", rehearsed: nothing is written"
    if rehearsal.only:
        other = "right" if rehearsal.only == "left" else "left"
        verdict += f"; for the {rehearsal.only} side alone: cut as two, the {other} as it is"
    if rehearsal.left:
        verdict += "; left as it is taped"
    verdict += f"; {count(left, 'finding')} left" if left else "; all seams true"
    yield headline(verdict, "error" if left else "good", options)
    several = len(rehearsal.sizes) > 1
    for size in rehearsal.sizes:
        if several:
            yield headline(f"Size {size.size}", "strong", options)
        yield from _size(size, options, rehearsal.only, first=size is rehearsal.sizes[0])
    if several:
        yield _gains(rehearsal, options)
    if written:
        yield wrap(
            f"Written to {written[0]}; beside it {listed(written[1:])}. Undo: seamcheck alter {written[0]} --undo",
            options,
            hanging="  ",
        )
    yield "\n".join(wrap(caution, options) for caution in (*OF_FITS, SHORT))


def _titles(rehearsal: Rehearsal) -> str:
    told = dict.fromkeys(
        f"{step.done.fit} by {length(abs(step.done.amount or 0.0))}"
        for size in rehearsal.sizes
        for step in size.steps
        if step.done.fit
    )
    return f"{listed(list(told))}, " if told else ""


def _size(size: SizeFacts, options: RenderOptions, only: str, *, first: bool) -> Iterator[str]:
    if first:
        lines = []
        for number, step in enumerate(size.steps, 1):
            sentence = " ".join([move(step.step), *outcome(step)])
            lines.append(wrap(f"{number}. {sentence}", options, indent="  ", hanging="     "))
        yield "\n".join([wrap("What is done:", options), *lines])
    groups = (
        ("What changes:", [*map(length_told, size.lengths), *map(_grain, size.grain), *_darts(size)]),
        ("What it is sewn to, as the moves leave it:", list(map(seam_told, size.seams))),
        ("What follows, so that it trues again:", [f"{one.what}." for one in size.trued]),
        ("Between the two sides:", list(_sides(size, only))),
        ("Beyond sense:", [warning(one) for one in size.warnings]),
        ("Left:", [f"{one.message} [{one.check}/{one.code}]" for one in size.left]),
    )
    for head, told in groups:
        if told:
            shown = [
                wrap(one[:1].upper() + one[1:] if head[:6] == "What f" else one, options, indent="  ", hanging="    ")
                for one in told
            ]
            yield "\n".join([wrap(head, options), *shown])


def _sides(size: SizeFacts, only: str) -> Iterator[str]:
    """What is between a side that is altered and the other one, which is cut as it was."""
    other = {"left": "right", "right": "left"}.get(only, "")
    for twin in size.twins:
        way = "longer" if twin.longer > 0 else "shorter"
        yield f"{twin.seam}: {twin.edge} of the {only} becomes {length(abs(twin.longer))} {way} than that of the {other}, to which it is sewn."
    if size.halves:
        both = "is" if len(size.halves) == 1 else "are"
        yield f"{listed(size.halves)} {both} cut on a fold: cut in one, drawn whole, altered on the {only} half alone."


def length_told(one: LengthChange) -> str:
    """How an edge changes, by the moves and in the end."""
    name = f"{one.piece}.{one.edge}"
    if abs(one.after - one.left) <= SEEN:
        return f"{name} {_changed(one.before, one.after)}."
    if abs(one.after - one.before) <= SEEN:
        return (
            f"{name} {_changed(one.before, one.left)} by the moves; in the end it is {millimetres(one.after)} again."
        )
    if abs(one.left - one.before) <= SEEN:
        return f"{name} {_changed(one.before, one.after)}, once it is trued."
    return f"{name} {_changed(one.before, one.left)} by the moves, and {millimetres(one.after)} in the end."


def _changed(before: float, after: float) -> str:
    if abs(after - before) <= SEEN:
        return f"keeps its {millimetres(before)}"
    way = "longer" if after > before else "shorter"
    return f"was {millimetres(before)} and becomes {millimetres(after)}, {length(abs(after - before))} {way}"


def _grain(one: GrainTurn) -> str:
    if one.bent:
        return f"the grain arrow of {one.piece} is bent: it goes with two parts, and has to be ruled anew."
    turn = abs((one.after - one.before + 90.0) % 180.0 - 90.0)
    if turn < SEEN:
        return f"the grain arrow of {one.piece} is ruled straight through the part that did not turn."
    return f"the grain arrow of {one.piece} turns {angle(turn)} with its part."


def _darts(size: SizeFacts) -> Iterator[str]:
    for one in size.darts:
        parts = []
        if abs(one.intake[1] - one.intake[0]) > SEEN:
            parts.append(f"takes up {millimetres(one.intake[1])} instead of {millimetres(one.intake[0])}")
        if abs(one.leg[1] - one.leg[0]) > SEEN:
            parts.append(f"is {millimetres(one.leg[1])} long instead of {millimetres(one.leg[0])}")
        if abs(one.turn) > SEEN:
            parts.append(f"turns {angle(abs(one.turn))}")
        if one.moved > SEEN:
            parts.append(f"its tip goes {length(one.moved)}")
        yield f"the dart {one.tip} of {one.piece} {', '.join(parts)}."


def seam_told(one: SeamNeed) -> str:
    """By how much a seam is off, what its mates would need, and whether it trues in the end."""
    if one.is_true:
        return f"{need_told(one)}."
    after = (
        "in the end it trues"
        if abs(one.after) <= one.tolerance / 2
        else f"in the end it is off by {length(abs(one.after))}"
    )
    return f"{need_told(one)}; {after}."


def need_told(one: SeamNeed) -> str:
    """By how much a seam is off as the moves leave it, and what its mates would need."""
    off = length(abs(one.left))
    if one.is_true:
        return f"{one.seam}: off by {off}, which is within its tolerance"
    if not one.mates:
        return f"{one.seam}: off by {off}"
    way = "longer" if one.need > 0 else "shorter"
    return f"{one.seam}: off by {off}; {listed(one.mates)} would have to be {length(abs(one.need))} {way} to be sewn to it"


_WARNINGS: Mapping[str, Callable[[str, Mapping[str, Any]], str]] = {
    "more-than-most": lambda piece, f: (
        f"{length(abs(f['amount']))} of {f['fit']} on {piece} is more than the {length(f['most'])} that is sensible; look for another cause, or take a part of it elsewhere."
    ),
    "near-notch": lambda piece, f: (
        f"the cut ends {length(f['distance'])} from notch {f['number']} of {piece}.{f['edge']}; keep it clear of the notch, or its mate will not meet it."
    ),
    "turns-much": lambda piece, f: (
        f"a part of {piece} turns {angle(f['turn'])}; a piece that is turned so far is better drafted anew."
    ),
    "relief-laps": lambda piece, f: (
        f"the relief cut of {piece} to {f['hinge']} laps over instead of opening, so the paper does not lie flat; lead it to the other side of the cut."
    ),
    "kink-left": lambda piece, f: (
        f"the kink that is left in {piece}.{f['edge']} could not be blended; draw it by hand."
    ),
    "crotch-off-square": lambda piece, f: (
        f"the corner {f['corner']} of {piece} is {angle(f['angle'])}, where it was {angle(f['before'])}; inseam and crotch should meet square."
    ),
    "thigh-tighter": lambda piece, f: (
        f"the thigh of {piece} is {length(f['amount'])} tighter at the crotch, {millimetres(f['after'])} instead of {millimetres(f['before'])}; see that there is room."
    ),
}


def warning(one: Warned) -> str:
    """What is beyond sense, in a sentence."""
    return _WARNINGS[one.code](one.piece, dict(one.facts))


def _gains(rehearsal: Rehearsal, options: RenderOptions) -> str:
    """What each size gained, edge by edge."""
    names = list(dict.fromkeys((one.piece, one.edge) for size in rehearsal.sizes for one in size.lengths))
    head = ["edge", *(size.size for size in rehearsal.sizes)]
    rows = [head]
    for piece, edge in names:
        found = []
        for size in rehearsal.sizes:
            change = next((one for one in size.lengths if (one.piece, one.edge) == (piece, edge)), None)
            found.append("0" if change is None else _signed(change.after - change.before))
        rows.append([f"{piece}.{edge}", *found])
    widths = [max(len(row[k]) for row in rows) for k in range(len(head))]
    lines = [
        "  ".join(
            cell.ljust(w) if k == 0 else cell.rjust(w) for k, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        for row in rows
    ]
    return "\n".join(
        [wrap("What each size gained in the end, in mm:", options), *(f"  {line}".rstrip() for line in lines)]
    )


def _signed(amount: float) -> str:
    return "0" if abs(amount) <= SEEN else f"{amount:+.1f}"


def render_json(rehearsal: Rehearsal, options: RenderOptions, written: Sequence[str]) -> str:
    """The same as one JSON object, schema `seamcheck.alter/1`; mm and degrees."""
    altered = rehearsal.altered
    return dump(
        {
            "schema": SCHEMA,
            "path": altered.path,
            "written": written[0] if written else None,
            "beside": list(written[1:]),
            "left_as_taped": rehearsal.left,
            "only": rehearsal.only or None,
            "base_size": altered.base,
            "recipe": format_recipe(altered.recipe),
            "sizes": [_size_json(size) for size in rehearsal.sizes],
        }
    )


def _size_json(size: SizeFacts) -> dict[str, object]:
    return {
        "size": size.size,
        "steps": [
            {
                "piece": one.step.piece,
                "fit": one.done.fit or None,
                "fit_amount": one.done.amount,
                "what": move(one.step),
                "cut": None if one.done.turned is None else [one.done.turned.cut.start, one.done.turned.cut.end],
                "reliefs": []
                if one.done.turned is None
                else [[cut.start, cut.end] for cut in one.done.turned.reliefs],
                "turns": [] if one.done.turned is None else [float(turn) for turn in one.done.turned.turns],
                "radius": one.radius,
                "wedge_angle": one.angle,
                "given_back": [
                    {"edge": given.edge, "end": given.end, "amount": float(given.amount)} for given in one.done.given
                ],
            }
            for one in size.steps
        ],
        "lengths": [
            {
                "edge": f"{one.piece}.{one.edge}",
                "before": float(one.before),
                "left": float(one.left),
                "after": float(one.after),
            }
            for one in size.lengths
        ],
        "grain": [
            {"piece": one.piece, "before": float(one.before), "after": float(one.after), "bent": one.bent}
            for one in size.grain
        ],
        "darts": [
            {
                "piece": one.piece,
                "tip": one.tip,
                "intake": [float(x) for x in one.intake],
                "leg": [float(x) for x in one.leg],
                "moved": float(one.moved),
                "turn": float(one.turn),
            }
            for one in size.darts
        ],
        "seams": [
            {
                "seam": one.seam,
                "before": float(one.before),
                "left": float(one.left),
                "after": float(one.after),
                "tolerance": float(one.tolerance),
                "mates": list(one.mates),
                "need": float(one.need),
            }
            for one in size.seams
        ],
        "twins": [{"seam": one.seam, "edge": one.edge, "longer": float(one.longer)} for one in size.twins],
        "on_fold": list(size.halves),
        "followed": [{"what": one.what, "pieces": list(one.pieces)} for one in size.trued],
        "left": [_finding(one) for one in size.left],
        "warnings": [{"code": one.code, "piece": one.piece, "message": warning(one)} for one in size.warnings],
    }


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "check": finding.check,
        "code": finding.code,
        "severity": finding.severity.value,
        "seam": finding.seam,
        "pieces": list(finding.pieces),
        "edges": list(finding.edges),
        "measured": None if finding.measured is None else float(finding.measured),
        "at": finding.at,
        "message": finding.message,
    }


def render_undone(path: str, name: str, recipe: Recipe, written: str | None, options: RenderOptions) -> str:
    """What is taken out of a pattern again, and where the one before it is."""
    head = (
        f"{path}: {count(len(recipe.steps), 'step')} undone"
        if written
        else f"{path}: {count(len(recipe.steps), 'step')} can be undone"
    )
    end = (
        f"Written to {written}."
        if written
        else f"It was {name} before. To have that again: seamcheck alter {path} --undo --output OLD"
    )
    told = [headline(head, "good", options), format_recipe(recipe).strip(), wrap(end, options, hanging="  ")]
    return "\n\n".join(told) + "\n"
