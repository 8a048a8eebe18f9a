"""Reading and writing the recipe of an alteration, `NAME.alter.toml`, or one step of it; every mistake with its line and column.

Places are written as people say them: "outseam 425 mm from side-hem", "outseam 40 % from side-hem", "notch 2 of outseam",
"side-hem", and in a relief cut "0.5 of cut". Amounts too: "6.35 mm", "1/4 in", "1 1/2 in"; a mere number is mm.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from seamcheck.amounts import UNITS
from seamcheck.config.recipe_keys import EVERY, FIT, MOVES, RECIPE
from seamcheck.config.toml import Table, parse, read_text
from seamcheck.errors import RecipeError
from seamcheck.pattern.recipe import (
    AlongCut,
    AlongEdge,
    AtCorner,
    AtNotch,
    DartMove,
    Extend,
    FitStep,
    GiveBack,
    Hinge,
    Parallel,
    Recipe,
    Relief,
    Scoop,
    Spot,
    Step,
    Taper,
    Wedge,
)
from seamcheck.places import NOWHERE
from seamcheck.spelling import nearest

SUFFIX = ".alter.toml"
MOST_STEPS = 200
LARGEST = 2000.0  # mm
_AMOUNT = (
    r"(?P<sign>[-+]?)\s*(?:(?P<whole>\d+)\s+)?(?:(?P<top>\d+)\s*/\s*(?P<bottom>\d+)|(?P<number>\d+(?:\.\d*)?|\.\d+))"
)
_LENGTH = re.compile(_AMOUNT + r"\s*(?P<unit>mm|cm|in|inch|inches|\")?$")
_FROM = re.compile(
    r"(?P<edge>\S.*?)\s+(?P<amount>[-+]?[\d./][\d./ ]*\s*(?:mm|cm|inches|inch|in|\"|%)?)\s+from\s+(?P<corner>\S.*)$"
)
_NOTCH = re.compile(r"notch\s+(?P<number>\d+)\s+of\s+(?P<edge>\S.*)$")
_CUT = re.compile(r"(?P<share>half|\d*\.?\d+)\s+of\s+(?:the\s+)?cut$")
EXAMPLE = 'write it as "outseam 425 mm from side-hem", "notch 2 of outseam" or the name of a corner'


def read_recipe(path: str | Path) -> Recipe:
    """The recipe in a file; RecipeError where it cannot be used."""
    path = Path(path)
    return parse_recipe(read_text(path, RecipeError, "recipe"), str(path))


def parse_recipe(text: str, path: str = "") -> Recipe:
    """The recipe in a text; RecipeError where it cannot be used."""
    top = parse(text, path, RecipeError)
    top.only(*RECIPE.keys, "steps", "undo")
    top.need("format", "format = 1 at the top")
    if top.number("format") != 1:
        raise top.wrong(
            f"the recipe is in format {top.values['format']}", "format", remedy="only format = 1 is known"
        )
    steps = tuple(_step(table) for table in top.tables("steps"))
    if not steps:
        raise top.wrong("the recipe has no steps", remedy="write [[steps]] above each")
    if len(steps) > MOST_STEPS:
        raise top.wrong(
            f"{len(steps)} steps are more than the {MOST_STEPS} that are read", "steps", remedy="part the recipe"
        )
    return Recipe(steps=steps, name=top.text("name") or "", path=path)


def parse_step(text: str) -> Step:
    """One step as it is written on a command line: the keys of a `[[steps]]` with commas between; RecipeError where it cannot be used."""
    inside = text.strip()
    inside = inside[1:-1] if inside.startswith("{") and inside.endswith("}") else inside
    top = parse(f"steps = [{{ {inside} }}]", "--step", RecipeError)
    (step,) = (_step(table) for table in top.tables("steps"))
    return replace(step, place=NOWHERE)  # it stands in no file


def written_length(text: str) -> float | None:
    """A length in mm as people write it: "6.35 mm", "1/4 in", "1 1/2 in", "12"; None for what is none."""
    found = _LENGTH.match(text.strip())
    if found is None:
        return None
    if found["number"] is not None:
        if found["whole"] is not None:
            return None
        amount = float(found["number"])
    else:
        if int(found["bottom"]) == 0:
            return None
        amount = int(found["whole"] or 0) + int(found["top"]) / int(found["bottom"])
    unit = {"inch": "in", "inches": "in", '"': "in"}.get(found["unit"] or "mm", found["unit"] or "mm")
    return (-amount if found["sign"] == "-" else amount) * UNITS[unit]


def _step(table: Table) -> Step:
    if "fit" in table.values:
        if "move" in table.values:
            raise table.wrong("a step is a fit or a move, and not both", "move", remedy='take out "fit" or "move"')
        table.only(*FIT.keys)
        amount = _length(table, "amount") if "amount" in table.values else None
        return FitStep(fit=table.text("fit") or "", amount=amount, **_common(table, named=False))
    table.need("move", 'move = "hinge"')
    move = table.text("move") or ""
    if move not in MOVES:
        raise table.error(
            f'there is no move "{move}"',
            path=table.path,
            place=table.letter(0, "move"),
            remedy=nearest(move, tuple(MOVES), "move"),
        )
    table.only("move", *MOVES[move].keys, *EVERY)
    return _MAKERS[move](table, _common(table, named=True))


def _common(table: Table, *, named: bool) -> dict[str, Any]:
    if named:
        table.need("piece", 'piece = "back"')
    sizes = table.values.get("sizes")
    return {
        "piece": table.text("piece") or "",
        "sizes": table.texts("sizes") if sizes is not None else (),
        "give_back": _given_back(table),
        "place": table.place(),
    }


def _given_back(table: Table) -> tuple[GiveBack, ...]:
    value = table.values.get("give-back")
    if value is None:
        return ()
    tables = [table.table("give-back")] if isinstance(value, dict) else list(table.tables("give-back"))
    found = []
    for one in tables:
        one.only("edge", "end")
        one.need("edge", 'edge = "outseam"')
        one.need("end", 'end = "side-waist"')
        found.append(GiveBack(one.text("edge") or "", one.text("end") or ""))
    return tuple(found)


def _length(table: Table, key: str, *, positive: bool = False) -> float:
    """An amount in mm."""
    value = table.values.get(key)
    if isinstance(value, str):
        amount = written_length(value)
        if amount is None:
            raise table.error(
                f'"{value}" is no amount',
                path=table.path,
                place=table.letter(0, key),
                remedy='write it as "6.35 mm" or "1/4 in"',
            )
    else:
        amount = table.number(key) or 0.0
    if abs(amount) > LARGEST:
        raise table.wrong(f'"{key}" is {amount:.0f} mm, longer than any piece is altered by', key)
    if positive and amount <= 0.0:
        raise table.wrong(f'"{key}" is {value}, and has to be more than nothing', key)
    return amount


def _signed(table: Table, more: str, less: str) -> float:
    """One of two keys, the second of which takes away."""
    given = [key for key in (more, less) if key in table.values]
    if len(given) != 1:
        what = f'has neither "{more}" nor "{less}"' if not given else f'has both "{more}" and "{less}"'
        raise table.wrong(f"the step {what}", *given[1:], remedy=f'write one of them, as {more} = "1/4 in"')
    amount = _length(table, given[0], positive=True)
    return amount if given[0] == more else -amount


def _spot(table: Table, key: str, *at: int) -> Spot:
    value: Any = table.values.get(key)
    for step in at:
        value = value[step]
    if not isinstance(value, str) or not value.strip():
        raise table.wrong(f'"{key}" has no place where one belongs', key, *at, remedy=EXAMPLE)
    return _read_spot(
        value, lambda what: table.error(what, path=table.path, place=table.letter(0, key, *at), remedy=EXAMPLE)
    )


def _read_spot(text: str, wrong: Callable[[str], RecipeError | Exception]) -> Spot:
    text = " ".join(text.split())
    if found := _CUT.match(text):
        return AlongCut(0.5 if found["share"] == "half" else float(found["share"]))
    if found := _NOTCH.match(text):
        return AtNotch(found["edge"], int(found["number"]))
    if found := _FROM.match(text):
        amount = found["amount"].strip()
        if amount.endswith("%"):
            share = written_length(amount[:-1])
            if share is None or not 0.0 <= share <= 100.0:
                raise wrong(f'"{amount}" is no share of an edge')
            return AlongEdge(found["edge"], share / 100.0, found["corner"], share=True)
        length = written_length(amount)
        if length is None or length < 0.0:
            raise wrong(f'"{amount}" is no distance along an edge')
        return AlongEdge(found["edge"], length, found["corner"])
    if " " in text:
        raise wrong(f'"{text}" is no place of a piece')
    return AtCorner(text)


def _cut(table: Table) -> tuple[Spot, Spot]:
    table.need("cut", 'cut = ["outseam 425 mm from side-hem", "inseam 383 mm from crotch-point"]')
    if len(table.texts("cut")) != 2:
        raise table.wrong(
            f'"cut" has {len(table.texts("cut"))} places, and a cut has two ends', "cut", remedy=EXAMPLE
        )
    return _spot(table, "cut", 0), _spot(table, "cut", 1)


def _name_of(spot: Spot) -> str:
    return spot.corner if isinstance(spot, AtCorner) else spot.edge if isinstance(spot, AlongEdge | AtNotch) else ""


def _hinge(table: Table, common: dict[str, Any]) -> Step:
    ends = _cut(table)
    table.need("hinge", 'hinge = "inseam"')
    named = (table.text("hinge") or "").strip()
    matching = [k for k, end in enumerate(ends) if named in (_name_of(end), str(end), table.texts("cut")[k])]
    if len(matching) != 1:
        what = "is no end of the cut" if not matching else "is both ends of the cut"
        raise table.error(
            f'the hinge "{named}" {what}',
            path=table.path,
            place=table.letter(0, "hinge"),
            remedy=f'write "{_name_of(ends[0])}" or "{_name_of(ends[1])}"'
            if not matching
            else "write the whole place",
        )
    (k,) = matching
    return Hinge(
        opens=ends[1 - k],
        hinge=ends[k],
        amount=_signed(table, "spread", "overlap"),
        reliefs=_reliefs(table, backwards=k == 0),
        stays=table.text("stays") or "",
        **common,
    )


def _reliefs(table: Table, *, backwards: bool) -> tuple[Relief, ...]:
    value = table.values.get("relief", [])
    form = 'write relief = [["0.5 of cut", "crotch 150 mm from crotch-point"]]'
    if not isinstance(value, list) or any(not isinstance(one, list) or len(one) != 2 for one in value):
        raise table.wrong('"relief" is not a list of cuts, each with two ends', "relief", remedy=form)
    found = []
    for k in range(len(value)):
        start = _spot(table, "relief", k, 0)
        if not isinstance(start, AlongCut):
            raise table.wrong(
                f'a relief cut begins on the cut itself, and not at "{start}"', "relief", k, 0, remedy=form
            )
        # As written, a share is counted from the end of the cut that is written first.
        found.append(Relief(AlongCut(1.0 - start.share) if backwards else start, _spot(table, "relief", k, 1)))
    return tuple(found)


def _flag(table: Table, key: str) -> bool:
    value = table.values.get(key, False)
    if not isinstance(value, bool):
        raise table.wrong(f'"{key}" is {value!r}', key, remedy=f"write {key} = true, or leave it out")
    return value


def _named(table: Table, key: str, example: str) -> str:
    table.need(key, example)
    return table.text(key) or ""


def _parallel(table: Table, common: dict[str, Any]) -> Step:
    amount = _signed(table, "spread", "overlap")
    return Parallel(
        cut=_cut(table), amount=amount, by_grain=_flag(table, "by-grain"), stays=table.text("stays") or "", **common
    )


def _scoop(table: Table, common: dict[str, Any]) -> Step:
    table.need("deeper", 'deeper = "1/4 in"')
    return Scoop(
        edge=_named(table, "edge", 'edge = "crotch"'),
        start=_spot(table, "from"),
        end=_spot(table, "to"),
        amount=_length(table, "deeper"),
        **common,
    )


def _extend(table: Table, common: dict[str, Any]) -> Step:
    return Extend(
        corner=_named(table, "corner", 'corner = "crotch-point"'),
        along=_named(table, "along", 'along = "crotch"'),
        amount=_signed(table, "add", "take"),
        blend=_spot(table, "blend") if "blend" in table.values else None,
        square=_flag(table, "square"),
        **common,
    )


def _taper(table: Table, common: dict[str, Any]) -> Step:
    return Taper(
        edge=_named(table, "edge", 'edge = "outseam"'),
        start=_spot(table, "from"),
        peak=_spot(table, "peak"),
        amount=_signed(table, "add", "take"),
        end=_spot(table, "to") if "to" in table.values else None,
        **common,
    )


def _dart(table: Table, common: dict[str, Any]) -> Step:
    deeper, longer, moved = (
        _length(table, key) if key in table.values else 0.0 for key in ("deeper", "longer", "moved")
    )
    if not (deeper or longer or moved or "into" in table.values):
        raise table.wrong(
            "the dart is neither deeper nor longer nor moved nor closed into another place",
            remedy='write one of them, as deeper = "1/4 in"',
        )
    if moved:
        table.need("towards", 'towards = "side-waist"')
    return DartMove(
        dart=_named(table, "dart", 'dart = "dart-tip"'),
        deeper=deeper,
        longer=longer,
        moved=moved,
        towards=table.text("towards") or "",
        into=_spot(table, "into") if "into" in table.values else None,
        stays=table.text("stays") or "",
        **common,
    )


def _wedge(table: Table, common: dict[str, Any]) -> Step:
    return Wedge(
        edge=_named(table, "edge", 'edge = "waist"'),
        start=_spot(table, "from"),
        corner=_named(table, "corner", 'corner = "cb-waist"'),
        amount=_signed(table, "add", "take"),
        **common,
    )


_MAKERS: Mapping[str, Callable[[Table, dict[str, Any]], Step]] = {
    "hinge": _hinge,
    "parallel": _parallel,
    "scoop": _scoop,
    "extend": _extend,
    "taper": _taper,
    "dart": _dart,
    "wedge": _wedge,
}


def format_recipe(recipe: Recipe) -> str:
    """A recipe as it is written in a file; what `parse_recipe` makes the same recipe of."""
    lines = ["format = 1"]
    if recipe.name:
        lines.append(f"name = {_quoted(recipe.name)}")
    for step in recipe.steps:
        lines += ["", "[[steps]]", *(f"{key} = {value}" for key, value in _keys(step).items())]
    return "\n".join(lines) + "\n"


def _keys(step: Step) -> dict[str, str]:
    found = _own_keys(step)
    if step.piece:
        found = {**dict(list(found.items())[:1]), "piece": _quoted(step.piece), **found}
    if step.give_back:
        parts = [f"{{ edge = {_quoted(one.edge)}, end = {_quoted(one.end)} }}" for one in step.give_back]
        found["give-back"] = parts[0] if len(parts) == 1 else f"[{', '.join(parts)}]"
    if step.sizes:
        found["sizes"] = _list(step.sizes)
    return found


def _own_keys(step: Step) -> dict[str, str]:
    if isinstance(step, FitStep):
        return {"fit": _quoted(step.fit)} | ({} if step.amount is None else {"amount": _mm(step.amount)})
    if isinstance(step, Hinge):
        found = {
            "move": '"hinge"',
            "cut": _list([str(step.opens), str(step.hinge)]),
            "hinge": _quoted(str(step.hinge)),
        }
        found |= _either(step.amount, "spread", "overlap")
        if step.reliefs:
            found["relief"] = "[" + ", ".join(_list([str(one.start), str(one.hinge)]) for one in step.reliefs) + "]"
        return found | ({"stays": _quoted(step.stays)} if step.stays else {})
    if isinstance(step, Parallel):
        found = {"move": '"parallel"', "cut": _list([str(end) for end in step.cut])} | _either(
            step.amount, "spread", "overlap"
        )
        found |= {"by-grain": "true"} if step.by_grain else {}
        return found | ({"stays": _quoted(step.stays)} if step.stays else {})
    if isinstance(step, Scoop):
        return {
            "move": '"scoop"',
            "edge": _quoted(step.edge),
            "from": _spot_text(step.start),
            "to": _spot_text(step.end),
            "deeper": _mm(step.amount),
        }
    if isinstance(step, Extend):
        found = {"move": '"extend"', "corner": _quoted(step.corner), "along": _quoted(step.along)} | _either(
            step.amount, "add", "take"
        )
        found |= {} if step.blend is None else {"blend": _spot_text(step.blend)}
        return found | ({"square": "true"} if step.square else {})
    if isinstance(step, Taper):
        found = {
            "move": '"taper"',
            "edge": _quoted(step.edge),
            "from": _spot_text(step.start),
            "peak": _spot_text(step.peak),
        }
        found |= {} if step.end is None else {"to": _spot_text(step.end)}
        return found | _either(step.amount, "add", "take")
    if isinstance(step, DartMove):
        found = {"move": '"dart"', "dart": _quoted(step.dart)}
        found |= {
            key: _mm(value)
            for key, value in (("deeper", step.deeper), ("longer", step.longer), ("moved", step.moved))
            if value
        }
        found |= {"towards": _quoted(step.towards)} if step.towards else {}
        found |= {} if step.into is None else {"into": _spot_text(step.into)}
        return found | ({"stays": _quoted(step.stays)} if step.stays else {})
    assert isinstance(step, Wedge)
    found = {
        "move": '"wedge"',
        "edge": _quoted(step.edge),
        "from": _spot_text(step.start),
        "corner": _quoted(step.corner),
    }
    return found | _either(step.amount, "add", "take")


def _either(amount: float, more: str, less: str) -> dict[str, str]:
    return {more if amount > 0 else less: _mm(abs(amount))}


def _mm(amount: float) -> str:
    return f'"{amount:.10g} mm"'


def _spot_text(spot: Spot) -> str:
    return _quoted(str(spot))


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _list(texts: Collection[str]) -> str:
    return f"[{', '.join(map(_quoted, texts))}]"
