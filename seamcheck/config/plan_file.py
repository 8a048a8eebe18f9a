"""The seam plan: which edges of a pattern are sewn together, and how.

A plan is a TOML file, `NAME.seams.toml` beside the pattern `NAME.svg` or `NAME.dxf`. `read_plan` gives it with
every length in mm, whatever unit the file is written in, and raises a `PlanError` with the line for anything
that cannot be used; its keys are declared in `plan_keys`. `format_plan` writes one.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Literal

from seamcheck.amounts import UNITS
from seamcheck.config import plan_keys as keys
from seamcheck.config.keys import TableKeys
from seamcheck.config.toml import Table, parse, read_text
from seamcheck.errors import PlanError
from seamcheck.files import at
from seamcheck.pattern.plan import (
    DEFAULT_TOLERANCE,
    AcceptedPlan,
    Cut,
    DartPlan,
    EdgeUse,
    PiecePlan,
    Plan,
    PleatPlan,
    SeamPlan,
    ShapedPlan,
    Span,
)
from seamcheck.spelling import nearest, unturned

SUFFIX = ".seams.toml"

# How much of a plan is read: far more than a pattern has, and few enough to be judged.


def find_plan(pattern_path: str | Path) -> Path | None:
    """The plan that lies beside a pattern file, if there is one."""
    path = Path(pattern_path)
    beside = path.with_name(path.stem + SUFFIX)
    return beside if at(beside).is_file() else None


def read_plan(path: str | Path) -> Plan:
    """Read and validate a plan file; PlanError when it is missing, unreadable or wrong in any way."""
    return parse_plan(read_text(Path(path), PlanError, "seam plan"), str(path))


def parse_plan(text: str, path: str = "") -> Plan:
    """Read and validate the text of a plan; `path` is named in errors."""
    top = parse(text, path, PlanError)
    top.only(*keys.PLAN.keys, *keys.IN_PLAN)
    top.need("format", "format = 1 at the top")
    if top.number("format") != 1:
        raise top.wrong(f"the plan is in format {top.values['format']}", "format", remedy="only format = 1 is known")
    units = top.choice("units", UNITS) or "mm"
    unit = UNITS[units]
    tolerance = _tolerance(top, unit)
    top.at_most(keys.MOST_PIECES, len(top.table("pieces").values), "pieces", "pieces")
    seams_listed = top.values.get("seams")
    if isinstance(seams_listed, list):
        top.at_most(keys.MOST_SEAMS, len(seams_listed), "seams", "seams", keys.MOST_SEAMS)
    pieces = {name: _piece(name, table, unit) for name, table in top.table("pieces").subtables()}
    seams: dict[str, SeamPlan] = {}
    for table in top.tables("seams"):
        seam = _seam(table, pieces, unit)
        if seam.name in seams:
            raise table.wrong(
                f'a second seam is called "{seam.name}" (the first is on {seams[seam.name].place})',
                "name",
                remedy="give each seam a name of its own",
            )
        seams[seam.name] = seam
    return Plan(
        path=path,
        name=top.text("name") or "",
        units=units,
        tolerance=DEFAULT_TOLERANCE if tolerance is None else tolerance,
        states_tolerance=tolerance is not None,
        pieces=tuple(pieces.values()),
        darts=tuple(_dart(table, pieces) for table in top.tables("darts")),
        pleats=tuple(_pleat(table, pieces) for table in top.tables("pleats")),
        seams=tuple(seams.values()),
        shaped=tuple(_shaped(table, pieces) for table in top.tables("shaped")),
        accepted=tuple(_accepted(table) for table in top.tables("accepted")),
    )


def _tolerance(table: Table, unit: float) -> float | None:
    value = table.number("tolerance")
    if value is not None and value <= 0:
        raise table.wrong(f"the tolerance is {value:g}", "tolerance", remedy="write a number greater than 0")
    return None if value is None else value * unit


def _length(table: Table, key: str, unit: float) -> float | None:
    value = table.number(key)
    if value is not None and value < 0:
        raise table.wrong(f'"{key}" is {value:g}, below 0', key, remedy="write a number of 0 or more")
    return None if value is None else value * unit


def _check_name(table: Table, name: str, kind: str, *at: str) -> None:
    if not name.strip() or name.startswith("-") or "." in name:
        raise table.wrong(
            f'the {kind} name "{name}" cannot be used in a seam',
            *at,
            remedy='choose a name that is not empty, does not begin with "-" and has no "." in it',
        )


def _piece(name: str, table: Table, unit: float) -> PiecePlan:
    table.only(*keys.PIECE.keys, *keys.IN_PIECE)
    _check_name(table, name, "piece")
    corner_table = table.table("corners")
    table.at_most(keys.MOST_CORNERS, len(corner_table.values), f'corners of the piece "{name}"', "corners")
    table.at_most(keys.MOST_CORNERS, len(table.table("edges").values), f'edges of the piece "{name}"', "edges")
    corners: dict[str, complex] = {}
    for corner in corner_table.values:
        x, y = corner_table.numbers(corner, 2, "a point [x, y]") or (0.0, 0.0)
        _check_name(corner_table, corner, "corner", corner)
        corners[corner] = complex(x, y) * unit
    edges = {edge: _edge(name, table.table("edges"), edge, corners) for edge in table.table("edges").values}
    allowance_table = table.table("allowances")
    allowances = {}
    for edge in allowance_table.values:
        _known_edge(allowance_table, name, edge, edges, edge)
        allowances[edge] = _length(allowance_table, edge, unit) or 0.0
    unsewn = table.texts("unsewn")
    for index, edge in enumerate(unsewn):
        _known_edge(table, name, edge, edges, "unsewn", index)
    fold = table.text("fold")
    if fold is not None:
        _known_edge(table, name, fold, edges, "fold")
    give_back_table = table.table("give-back")
    give_back = {edge: _give_back(name, give_back_table, edge, edges) for edge in give_back_table.values}
    in_file = table.text("in-file")
    if in_file is not None and not in_file.strip():
        raise table.wrong('"in-file" is empty', "in-file", remedy="write the piece's name in the pattern file")
    return PiecePlan(
        name=name,
        in_file=name if in_file is None else in_file,
        cut=_cut(name, table),
        fold=fold,
        line=table.choice("line", ("sew", "cut")),
        allowance=_length(table, "allowance", unit),
        allowances=allowances,
        unsewn=unsewn,
        master=_flag(table, "master"),
        give_back=give_back,
        corners=corners,
        edges=edges,
        place=table.place(),
    )


def _give_back(piece: str, table: Table, edge: str, edges: Mapping[str, tuple[str, ...]]) -> str:
    """The end of an edge at which it gets back what a slash took."""
    if edge not in edges:
        raise table.wrong(
            f'"give-back" names the edge "{edge}", which the piece "{piece}" does not have',
            edge,
            remedy=nearest(edge, edges, "edge"),
        )
    corner, ends = table.text(edge) or "", (edges[edge][0], edges[edge][-1])
    if corner not in ends:
        raise table.wrong(
            f'"give-back" names "{corner}", which is no end of the edge "{piece}.{edge}"',
            edge,
            remedy=f'write one of its ends, "{ends[0]}" or "{ends[1]}"',
        )
    return corner


def _flag(table: Table, key: str) -> bool:
    value = table.values.get(key, False)
    if not isinstance(value, bool):
        raise table.wrong(f'"{key}" is {value!r}', key, remedy=f"write {key} = true, or leave it out")
    return value


def _cut(name: str, table: Table) -> Cut:
    value = table.values.get("cut", "fold" if "fold" in table.values else "one")
    if isinstance(value, int) and not isinstance(value, bool):
        if not 1 <= value <= 1000:
            raise table.wrong(f'"cut" is {value}', "cut", remedy="write how many copies are cut, 1 or more")
        return value
    if value not in ("pair", "one", "fold"):
        raise table.wrong(
            f'the piece "{name}" is to be cut "{value}", which means nothing here',
            "cut",
            remedy='write "pair", "one", "fold" or a number of copies',
        )
    if value == "fold" and "fold" not in table.values:
        raise table.wrong(
            f'the piece "{name}" is cut on the fold, but the plan does not say which edge the fold is',
            "cut",
            remedy='add a line such as fold = "centre-back" with the name of the edge',
        )
    cut: Literal["pair", "one", "fold"] = value
    return cut


def _edge(piece: str, table: Table, edge: str, corners: Mapping[str, complex]) -> tuple[str, ...]:
    _check_name(table, edge, "edge", edge)
    names = table.texts(edge)
    for index, corner in enumerate(names):
        if corner not in corners:
            raise table.wrong(
                f'the edge "{piece}.{edge}" names the corner "{corner}", which "{piece}" does not have',
                edge,
                index,
                remedy=nearest(corner, corners, "corner"),
            )
    if len(names) < 2:
        count = "only one corner" if names else "no corners"
        raise table.wrong(
            f'the edge "{piece}.{edge}" has {count}', edge, remedy="name at least the corners it starts and ends at"
        )
    for index, (one, other) in enumerate(pairwise(names)):
        if one == other and len(names) > 2:
            raise table.wrong(
                f'the edge "{piece}.{edge}" names the corner "{one}" twice in a row',
                edge,
                index + 1,
                remedy="name it once",
            )
    return names


def _known_edge(table: Table, piece: str, edge: str, edges: Mapping[str, tuple[str, ...]], *at: str | int) -> None:
    if edge not in edges:
        raise table.wrong(
            f'"{at[0]}" names the edge "{edge}", which the piece "{piece}" does not have'
            if at[0] != edge
            else f'an allowance is given for the edge "{edge}", which the piece "{piece}" does not have',
            *at,
            remedy=nearest(edge, edges, "edge"),
        )


def _known_piece(table: Table, name: str, pieces: Mapping[str, PiecePlan], *at: str | int) -> PiecePlan:
    if name not in pieces:
        raise table.wrong(f'the plan has no piece "{name}"', *at, remedy=nearest(name, pieces, "piece"))
    return pieces[name]


def _dart(table: Table, pieces: Mapping[str, PiecePlan]) -> DartPlan:
    piece, names = _folded_away(table, pieces, "dart", keys.DART, 'corners = ["dart-in", "dart-tip", "dart-out"]')
    if len(names) != 3 or len(set(names)) != 3:
        raise table.wrong(
            f"the dart names {len(set(names))} corners", "corners", remedy="name three: mouth, tip, mouth"
        )
    return DartPlan(piece=piece, corners=(names[0], names[1], names[2]), place=table.place())


def _pleat(table: Table, pieces: Mapping[str, PiecePlan]) -> PleatPlan:
    piece, names = _folded_away(table, pieces, "pleat", keys.PLEAT, 'corners = ["pleat-in", "pleat-out"]')
    if len(names) != 2 or len(set(names)) != 2:
        raise table.wrong(
            f"the pleat names {len(set(names))} corners",
            "corners",
            remedy="name two: where its fold lines meet the edge",
        )
    return PleatPlan(piece=piece, corners=(names[0], names[1]), place=table.place())


def _folded_away(
    table: Table, pieces: Mapping[str, PiecePlan], what: str, known: TableKeys, example: str
) -> tuple[str, tuple[str, ...]]:
    """The piece and the corners of a dart or a pleat."""
    table.only(*known.keys)
    table.need("piece", 'piece = "back"')
    table.need("corners", example)
    piece = _known_piece(table, table.text("piece") or "", pieces, "piece")
    names = table.texts("corners")
    for index, name in enumerate(names):
        if name not in piece.corners:
            raise table.wrong(
                f'the {what} names the corner "{name}", which the piece "{piece.name}" does not have',
                "corners",
                index,
                remedy=nearest(name, piece.corners, "corner"),
            )
    return piece.name, names


def _seam(table: Table, pieces: Mapping[str, PiecePlan], unit: float) -> SeamPlan:
    table.only(*keys.SEAM.keys)
    table.need("name", 'name = "outseam"')
    table.need("sew", 'sew = ["front.outseam", "back.outseam"]')
    name = table.text("name") or ""
    if not name.strip():
        raise table.wrong("a seam has an empty name", "name", remedy="write what the seam is called")
    value = table.values["sew"]
    if not isinstance(value, list) or len(value) != 2:
        count = len(value) if isinstance(value, list) else 1
        raise table.wrong(
            f'the seam "{name}" has {count} side{"" if count == 1 else "s"} where two belong',
            "sew",
            remedy='write sew = ["front.outseam", "back.outseam"], with inner brackets round several edges in a row',
        )
    if "ease" in table.values and "ratio" in table.values:
        raise table.wrong(
            f'the seam "{name}" gives both ease and ratio', "ratio", remedy="keep the one that is meant"
        )
    ease, ratio = table.span("ease"), table.span("ratio")
    if ratio is not None and ratio[0] <= 0:
        raise table.wrong(
            f'the ratio of the seam "{name}" is {ratio[0]:g}', "ratio", remedy="write a number greater than 0"
        )
    between = table.span("ease-between")
    if between is not None and (ease is None or not 0 <= between[0] < between[1]):
        raise table.wrong(
            f'"ease-between" of the seam "{name}" is no stretch of a seam with ease',
            "ease-between",
            remedy="write two distances along the second side from its start, as [85, 400], and ease = ... beside it",
        )
    return SeamPlan(
        name=name,
        sides=(_side(table, name, 0, pieces), _side(table, name, 1, pieces)),
        ease=None if ease is None else (ease[0] * unit, ease[1] * unit),
        ratio=ratio,
        ease_between=None if between is None else (between[0] * unit, between[1] * unit),
        tolerance=_tolerance(table, unit),
        master=_master(table),
        place=table.place(),
    )


def _master(table: Table) -> Literal["first", "second"] | None:
    word = table.choice("master", ("first", "second"))
    return "first" if word == "first" else "second" if word == "second" else None


def _side(table: Table, seam: str, side: int, pieces: Mapping[str, PiecePlan]) -> tuple[EdgeUse, ...]:
    value = table.values["sew"][side]
    words = value if isinstance(value, list) else [value]
    if not words:
        raise table.wrong(f'one side of the seam "{seam}" is empty', "sew", side, remedy="name its edges")
    table.at_most(keys.MOST_IN_A_ROW, len(words), f'edges in a row of the seam "{seam}"', "sew", side)
    known = [f"{one.name}.{other}" for one in pieces.values() for other in one.edges]
    uses = []
    for index, word in enumerate(words):
        at = ("sew", side, index) if isinstance(value, list) else ("sew", side)
        if not isinstance(word, str):
            raise table.wrong(
                f'the seam "{seam}" names an edge that is no text in quotes', *at, remedy='write "piece.edge"'
            )
        backwards = word.startswith("-")
        piece, dot, edge = word.removeprefix("-").partition(".")
        if not dot or piece not in pieces or edge not in pieces[piece].edges:
            if dot and piece in pieces:
                reason = f'which the piece "{piece}" does not have'
                known = [one for one in known if one.startswith(f"{piece}.")] or known
            else:
                reason = "which is no piece and edge of this plan"
            raise table.wrong(
                f'the seam "{seam}" names the edge "{word}", {reason}',
                *at,
                remedy=nearest(word.removeprefix("-"), known, "edge"),
            )
        uses.append(EdgeUse(piece, edge, backwards))
    return tuple(uses)


def _shaped(table: Table, pieces: Mapping[str, PiecePlan]) -> ShapedPlan:
    table.only(*keys.SHAPED.keys)
    table.need("corner", 'corner = "front.v-neck"')
    word = table.text("corner") or ""
    piece, _, corner = word.partition(".")
    if piece not in pieces or corner not in pieces[piece].corners:
        known = [f"{one.name}.{other}" for one in pieces.values() for other in one.corners]
        raise table.wrong(
            f'a shaped junction names "{word}", which is no piece and corner of this plan',
            "corner",
            remedy=nearest(word, known, "corner"),
        )
    angle = table.number("angle")
    if angle is not None and not 0 < angle <= 360:
        raise table.wrong(f'"angle" is {angle:g} degrees', "angle", remedy="write one above 0 and up to 360")
    return ShapedPlan(corner=(piece, corner), angle=angle, why=table.text("why") or "", place=table.place())


def _accepted(table: Table) -> AcceptedPlan:
    table.only(*keys.ACCEPTED.keys)
    table.need("check", 'check = "seam-length"')
    check, _, code = (table.text("check") or "").partition("/")
    if not check:
        raise table.wrong('"check" is empty', "check", remedy="write the name of the check, as the report gives it")
    piece, edge = table.text("piece"), table.text("edge")
    if piece is not None and edge is not None and "." not in edge:
        edge = f"{piece}.{edge}"
    return AcceptedPlan(
        check=check,
        code=code or None,
        seam=table.text("seam"),
        piece=piece,
        edge=edge,
        size=table.text("size", integers=True),
        why=(table.text("why") or "").strip(),
        place=table.place(),
    )


def format_plan(plan: Plan) -> str:
    """Write a plan as TOML, in the plan's own units; `parse_plan` gives the same plan back."""
    unit = UNITS[plan.units]
    lines = ["format = 1"]
    if plan.name:
        lines.append(f"name = {_quoted(plan.name)}")
    lines.append(f"units = {_quoted(plan.units)}")
    if plan.states_tolerance:
        lines.append(f"tolerance = {_decimal(plan.tolerance, unit)}")
    for piece in plan.pieces:
        lines += ["", *_piece_lines(piece, unit)]
    for dart in plan.darts:
        lines += ["", "[[darts]]", f"piece = {_quoted(dart.piece)}", f"corners = {_listed(dart.corners)}"]
    for pleat in plan.pleats:
        lines += ["", "[[pleats]]", f"piece = {_quoted(pleat.piece)}", f"corners = {_listed(pleat.corners)}"]
    for seam in plan.seams:
        lines += ["", "[[seams]]", f"name = {_quoted(seam.name)}"]
        sides = ", ".join(
            _quoted(str(side[0])) if len(side) == 1 else _listed([str(use) for use in side]) for side in seam.sides
        )
        lines.append(f"sew = [{sides}]")
        if seam.ease is not None:
            lines.append(f"ease = {_span(seam.ease, unit)}")
        if seam.ease_between is not None:
            lines.append(f"ease-between = {_span(seam.ease_between, unit)}")
        if seam.ratio is not None:
            lines.append(f"ratio = {_span(seam.ratio, 1.0)}")
        if seam.tolerance is not None:
            lines.append(f"tolerance = {_decimal(seam.tolerance, unit)}")
        if seam.master is not None:
            lines.append(f"master = {_quoted(seam.master)}")
    for shaped in plan.shaped:
        lines += ["", "[[shaped]]", f"corner = {_quoted('.'.join(shaped.corner))}"]
        if shaped.angle is not None:
            lines.append(f"angle = {_decimal(shaped.angle, 1.0)}")
        if shaped.why:
            lines.append(f"why = {_quoted(shaped.why)}")
    for accepted in plan.accepted:
        check = accepted.check if accepted.code is None else f"{accepted.check}/{accepted.code}"
        lines += ["", "[[accepted]]", f"check = {_quoted(check)}"]
        for key in ("seam", "piece", "edge", "size"):
            value = getattr(accepted, key)
            if value is not None:
                lines.append(f"{key} = {_quoted(value)}")
        if accepted.why:
            lines.append(f"why = {_quoted(accepted.why)}")
    return "\n".join(lines) + "\n"


def _piece_lines(piece: PiecePlan, unit: float) -> list[str]:
    head = f"pieces.{_key(piece.name)}"
    lines = [f"[{head}]"]
    if piece.in_file != piece.name:
        lines.append(f"in-file = {_quoted(piece.in_file)}")
    lines.append(f"cut = {piece.cut if isinstance(piece.cut, int) else _quoted(piece.cut)}")
    if piece.fold is not None:
        lines.append(f"fold = {_quoted(piece.fold)}")
    if piece.line is not None:
        lines.append(f"line = {_quoted(piece.line)}")
    if piece.allowance is not None:
        lines.append(f"allowance = {_decimal(piece.allowance, unit)}")
    if piece.allowances:
        pairs = (f"{_key(edge)} = {_decimal(width, unit)}" for edge, width in piece.allowances.items())
        lines.append(f"allowances = {{ {', '.join(pairs)} }}")
    if piece.unsewn:
        lines.append(f"unsewn = {_listed(piece.unsewn)}")
    if piece.give_back:
        pairs = (f"{_key(edge)} = {_quoted(corner)}" for edge, corner in piece.give_back.items())
        lines.append(f"give-back = {{ {', '.join(pairs)} }}")
    if piece.master:
        lines.append("master = true")
    if piece.corners:
        lines.append(f"[{head}.corners]")
        for name, at in piece.corners.items():
            lines.append(f"{_key(name)} = [{_decimal(at.real, unit)}, {_decimal(at.imag, unit)}]")
    if piece.edges:
        lines.append(f"[{head}.edges]")
        lines += [f"{_key(name)} = {_listed(corners)}" for name, corners in piece.edges.items()]
    return lines


def _quoted(text: str) -> str:
    """A basic string: JSON's escapes are TOML's, but for the one control character JSON leaves bare."""
    return unturned(json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f"))


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _quoted(name)


def _listed(names: Iterable[str]) -> str:
    return f"[{', '.join(map(_quoted, names))}]"


def _span(span: Span, unit: float) -> str:
    least, most = (_decimal(end, unit) for end in span)
    return least if least == most else f"[{least}, {most}]"


def _decimal(length: float, unit: float) -> str:
    """The shortest decimal that reads back as the same length in mm."""
    for digits in range(1, 18):
        text = f"{length / unit:.{digits}g}"
        if float(text) * unit == length:
            break
    value = float(text)
    return str(int(value)) if value.is_integer() else repr(value)
