"""Spoiling a file as what it is: the elements and paths of an SVG, the entities of a DXF, the tables of a TOML file.

Whatever is made is still a tree, pairs of group code and value, or TOML, so that it comes past the first line of the reader. Each of
`spoil_svg`, `spoil_dxf`, `spoil_toml` and `spoil_json` changes one thing of a file, and gives None for what is no such file. What is
repeated is repeated often at times, as far as a file stays below 1 MB: that is how budgets are tried.
"""

from __future__ import annotations

import copy
import json
import math
import random
import re
import tomllib
from collections.abc import Callable, Sequence
from typing import Any
from xml.etree import ElementTree as ET

MOST = 900_000  # bytes that a file may grow to
COUNTS = (1, 1, 1, 2, 3, 10, 100, 2000)  # how often something is repeated
LETTERS = "MLHVCSQTAZmlhvcsqtaz"
ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
TRANSFORMS = (
    *("rotate(37)", "scale(-1 1)", "scale(0)", "scale(1e-9)", "skewX(89.999)", "matrix(1 0 0 0 0 0)"),
    *("translate(1e9 0)", "rotate(1e300)", "matrix(0 1 -1 0 5 5)", "scale(1e6)", "translate(30) rotate(180 50 50)"),
)
LABELS = (
    *("grain", "fold", "notch", "sew line", "cut line", "dart", "drill", "Front, cut 2", "Back, cut 1 on fold", "test square 5 cm"),
    *("Front left", "Front right", "10 cm", "size 40", "stitching", "Fadenlauf", "\u202eab", "x" * 300, "", "&#0;", "%s %d {0}", "a\tb"),
)  # fmt: skip
STYLES = (
    *("display:none", "visibility:hidden", "stroke:none;fill:none", "stroke-dasharray:4 2", "stroke-width:1e9", "opacity:0"),
    *("fill:url(#a)", "stroke:currentColor", "stroke:rgb(1 2 3 / .5)", "d:path('M0 0h9')", "transform:rotate(9deg)", "{"),
)  # fmt: skip
SHEETS = (
    "path{display:none}",
    "g > path:not(.a), [id^='p']{stroke:red}",
    "@media print{path{stroke:blue}}",
    "*{stroke-dasharray:1}",
    "svg svg svg path + path ~ g{fill:none}",
    "@import 'a.css'; a{",
)
LENGTHS = ("0", "-5", "1e9", "1e-9", "210mm", "8.5in", "100%", "50cm", "12pt", "3em", "nan", "", "1e400", "12q")
NUMBERS = (0.0, -0.0, 1.0, -1.0, 0.5, 1e-9, 1e9, -1e9, 1e15, 1e300, math.nan, math.inf, 12345.678, 90.0, 360.0)


def nearby(value: float, rng: random.Random) -> float:
    """A number that is a little or much other than one, or of the nasty ones."""
    roll = rng.random()
    if roll < 0.6:
        return value + rng.choice((1e-9, 1e-6, 1e-3, 0.05, 0.5, 1.6, -1.6, 6.35, -20, 300))
    return value * rng.choice((-1.0, 0.0, 0.999, 1.01, 10.0, 25.4)) if roll < 0.85 else rng.choice(NUMBERS)


def _written(value: float) -> str:
    return f"{value:.9g}"


def _count(rng: random.Random, size: int, all_together: int) -> int:
    """How often something of that size can be repeated in a file that is so large already."""
    return max(1, min(rng.choice(COUNTS), (MOST - all_together) // max(size, 1)))


# Paths

_STEP = re.compile(r"([MLHVCSQTAZmlhvcsqtaz])([^MLHVCSQTAZmlhvcsqtaz]*)")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def bent_path(data: str, rng: random.Random) -> str:
    """Path data with one step taken out, doubled, made another, or drawn elsewhere."""
    steps: list[tuple[str, list[str]]] = [(one[1], _NUMBER.findall(one[2])) for one in _STEP.finditer(data)]
    if not steps:
        return f"M0 0{random_step(rng)}z"
    at = rng.randrange(len(steps))
    letter, numbers = steps[at]
    match rng.randrange(9):
        case 0:
            del steps[at]
        case 1:
            steps[at:at] = [steps[at]] * _count(rng, 8 + 8 * len(numbers), len(data))
        case 2:
            steps[at] = (rng.choice(LETTERS), numbers)
        case 3:
            steps[at] = (letter.swapcase(), numbers)
        case 4:
            steps.insert(at, ("", [random_step(rng)]))
        case 5:
            start = rng.randrange(len(steps))
            steps[min(at, start) : max(at, start)] = reversed(steps[min(at, start) : max(at, start)])
        case 6:
            steps = steps[:at] + steps[at + 1 :] + [("Z", [])] * rng.randrange(3)
        case 7:
            steps += [("M", ["50", "50"]), *steps[at : at + rng.randrange(20)]]
        case _:
            if numbers:
                numbers = list(numbers)
                k = rng.randrange(len(numbers))
                numbers[k] = _written(nearby(float(numbers[k]), rng))
                steps[at] = (letter, numbers)
    return " ".join(f"{letter}{' '.join(numbers)}" for letter, numbers in steps)


def random_step(rng: random.Random) -> str:
    """One step of a path with the numbers that it needs."""
    letter = rng.choice(LETTERS)
    numbers = [rng.uniform(-100, 100) for _ in range(ARGUMENTS[letter.upper()])]
    if letter in "Aa":
        numbers[2:5] = [rng.choice((0, 30, 90)), rng.randrange(2), rng.randrange(2)]
    return f"{letter}{' '.join(map(_written, numbers))}"


# SVG

SVG = "http://www.w3.org/2000/svg"
HREF = "{http://www.w3.org/1999/xlink}href"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
ET.register_namespace("", SVG)
ET.register_namespace("xlink", HREF[1:].partition("}")[0])
ET.register_namespace("inkscape", LABEL[1:].partition("}")[0])


def spoil_svg(data: bytes, rng: random.Random) -> bytes | None:
    """Change one thing of a drawing."""
    try:
        root = ET.fromstring(data)
    except (ET.ParseError, ValueError, LookupError):
        return None
    parents = {child: parent for parent in root.iter() for child in parent}
    every = list(root.iter())
    one = rng.choice(every)
    rng.choices((_svg_attribute, _svg_path, _svg_tree, _svg_added), (4, 6, 4, 3))[0](
        root, one, every, parents, rng, len(data)
    )
    try:
        spoiled: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    except RecursionError:
        return None
    return spoiled


Parents = dict[ET.Element, ET.Element]


def _svg_attribute(
    root: ET.Element, one: ET.Element, every: list[ET.Element], parents: Parents, rng: random.Random, size: int
) -> None:
    match rng.randrange(8):
        case 0 if one.attrib:
            del one.attrib[rng.choice(sorted(one.attrib))]
        case 1:
            one.set("transform", rng.choice(TRANSFORMS))
        case 2:
            one.set(rng.choice(("style", "class", "id", LABEL, "display", "stroke")), rng.choice((*STYLES, *LABELS)))
        case 3:
            one.set(
                rng.choice(("width", "height", "x", "y", "r", "rx", "ry", "x1", "y2", "font-size")),
                rng.choice(LENGTHS),
            )
        case 4:
            root.set(rng.choice(("width", "height")), rng.choice(LENGTHS))
        case 5:
            root.set("viewBox", " ".join(_written(nearby(value, rng)) for value in (0, 0, 500, 700)))
        case 6:
            other = rng.choice(every)
            one.attrib, other.attrib = other.attrib, one.attrib
        case _:
            numbers = [key for key, value in sorted(one.attrib.items()) if _NUMBER.fullmatch(value)]
            for key in rng.sample(numbers, min(1, len(numbers))):
                one.set(key, _written(nearby(float(one.attrib[key]), rng)))


def _svg_path(
    root: ET.Element, one: ET.Element, every: list[ET.Element], parents: Parents, rng: random.Random, size: int
) -> None:
    paths = [each for each in every if "d" in each.attrib]
    if paths:
        path = rng.choice(paths)
        path.set("d", bent_path(path.attrib["d"], rng))


def _svg_tree(
    root: ET.Element, one: ET.Element, every: list[ET.Element], parents: Parents, rng: random.Random, size: int
) -> None:
    parent = parents.get(one)
    if parent is None:
        return
    match rng.randrange(6):
        case 0:
            parent.remove(one)
        case 1:
            its_size = len(ET.tostring(one))
            copies = [copy.deepcopy(one) for _ in range(_count(rng, its_size, size))]
            parent.extend(copies)
        case 2:
            other = rng.choice(every)
            if other not in set(one.iter()):
                parent.remove(one)
                other.append(one)
        case 3:
            group = ET.Element(f"{{{SVG}}}g", {"transform": rng.choice(TRANSFORMS)} if rng.random() < 0.7 else {})
            index = list(parent).index(one)
            parent.remove(one)
            group.append(one)
            parent.insert(index, group)
        case 4:
            below = list(parent)
            rng.shuffle(below)
            parent[:] = below
        case _:
            one.tag = f"{{{SVG}}}{rng.choice(('g', 'defs', 'symbol', 'switch', 'clipPath', 'a', 'svg', 'path', 'marker', 'title'))}"


def _svg_added(
    root: ET.Element, one: ET.Element, every: list[ET.Element], parents: Parents, rng: random.Random, size: int
) -> None:
    ids = [each.attrib["id"] for each in every if "id" in each.attrib] or ["a"]
    match rng.randrange(7):
        case 0:
            ET.SubElement(one, f"{{{SVG}}}use", {HREF: f"#{rng.choice(ids)}", "x": rng.choice(LENGTHS)})
        case 1:
            ET.SubElement(root, f"{{{SVG}}}style").text = rng.choice(SHEETS) * _count(rng, 40, size)
        case 2:
            text = ET.SubElement(one, f"{{{SVG}}}text", {"x": "50", "y": "60"})
            text.text = rng.choice(LABELS)
        case 3:
            ET.SubElement(
                one,
                f"{{{SVG}}}path",
                {"d": f"M{_written(rng.uniform(0, 300))} 50{random_step(rng)}{random_step(rng)}"},
            )
        case 4:
            inner = one
            for _ in range(min(400, _count(rng, 30, size))):
                inner = ET.SubElement(inner, f"{{{SVG}}}g", {"transform": rng.choice(TRANSFORMS)})
            ET.SubElement(inner, f"{{{SVG}}}rect", {"width": "90", "height": "200"})
        case 5:
            shape = rng.choice(("circle", "ellipse", "rect", "line", "polyline", "polygon"))
            keys = ("r", "rx", "ry", "cx", "width", "height", "x2", "y2")
            attributes = {key: _written(rng.uniform(-20, 300)) for key in keys}
            ET.SubElement(
                one,
                f"{{{SVG}}}{shape}",
                {**attributes, "points": " ".join(_written(rng.uniform(0, 200)) for _ in range(7))},
            )
        case _:
            for _ in range(_count(rng, 80, size)):
                at = f"M{_written(rng.uniform(0, 400))} {_written(rng.uniform(0, 400))}"
                ET.SubElement(root, f"{{{SVG}}}path", {"d": f"{at}h30v{_written(rng.uniform(20, 60))}h-30z"})


# DXF

Pair = tuple[str, str]
LAYERS = (
    *map(str, (0, 1, 2, 3, 4, 5, 6, 7, 8, 11, 13, 14, 15, 80, 81, 82, 84, 86, 87)),
    "sew line",
    "cut line",
    "grain",
    "NET",
    "",
)
STATEMENTS = ("Piece Name: Front", "Size: M", "Quantity: 1,1", "Annotation: cut on fold", "Units: ENGLISH", "Sample Size: 38", "Grade Rule Table: x", "# 1", "# 3", "M: 1")  # fmt: skip
ENTITIES = (
    ("SPLINE", ((70, 8), (71, 3), (72, 8), (73, 4), *(((40, 0.0),) * 4), *(((40, 1.0),) * 4), *((code, v) for v in (0.0, 10.0, 30.0, 60.0) for code in (10, 20)))),
    ("SPLINE", ((70, 8), (71, 3), (74, 4), *((code, v) for v in (0.0, 10.0, 30.0, 60.0) for code in (11, 21)))),
    ("ARC", ((10, 50.0), (20, 50.0), (40, 30.0), (50, 20.0), (51, 200.0))),
    ("CIRCLE", ((10, 50.0), (20, 50.0), (40, 30.0))),
    ("ELLIPSE", ((10, 50.0), (20, 50.0), (11, 30.0), (21, 10.0), (40, 0.3), (41, 0.0), (42, 4.0))),
    ("LWPOLYLINE", ((90, 4), (70, 1), *((code, v) for v in (0.0, 90.0, 40.0, 200.0) for code in (10, 20, 42)))),
    ("LINE", ((10, 0.0), (20, 0.0), (11, 90.0), (21, 200.0))),
    ("POINT", ((10, 50.0), (20, 50.0), (50, 90.0))),
    ("MTEXT", ((10, 50.0), (20, 50.0), (1, "{\\H2;Front}\\Pcut 2 \\S1/2;"))),
    ("HATCH", ((10, 0.0), (91, 1), (92, 2))),
)  # fmt: skip


def spoil_dxf(data: bytes, rng: random.Random) -> bytes | None:
    """Change one thing of a text DXF."""
    lines = data.decode("latin-1").replace("\r\n", "\n").split("\n")
    if len(lines) < 8 or not lines[0].strip().isdigit():
        return None
    pairs = list(zip(lines[::2], lines[1::2], strict=False))
    starts = [k for k, (code, _) in enumerate(pairs) if code.strip() == "0"]
    if len(starts) < 3:
        return None
    rng.choices((_dxf_value, _dxf_entities, _dxf_added), (6, 4, 3))[0](pairs, starts, rng, len(data))
    return "".join(f"{code}\n{value}\n" for code, value in pairs).encode("latin-1")


def _dxf_value(pairs: list[Pair], starts: list[int], rng: random.Random, size: int) -> None:
    k = rng.randrange(len(pairs))
    code, value = pairs[k]
    number = int(code) if code.strip().lstrip("-").isdigit() else 1
    roll = rng.random()
    if roll < 0.08:
        del pairs[k]
    elif roll < 0.14:
        pairs[k] = (
            str(rng.choice((0, 1, 2, 3, 8, 10, 20, 11, 21, 40, 42, 50, 70, 71, 90, 210, 230, 999, -1, 5))),
            value,
        )
    elif roll < 0.2:
        pairs.insert(k, pairs[rng.randrange(len(pairs))])
    elif 10 <= number < 60 or 210 <= number < 240:
        with_number = _NUMBER.fullmatch(value.strip())
        pairs[k] = (code, _written(nearby(float(value) if with_number else 0.0, rng)))
    elif 60 <= number < 100:
        pairs[k] = (code, str(rng.choice((0, 1, 2, 3, 4, 8, 16, 64, 65, 128, -1, 25, 1000, 30000, 2**31))))
    elif number == 8:
        pairs[k] = (code, rng.choice(LAYERS))
    elif number == 0:
        pairs[k] = (code, rng.choice(("LINE", "POLYLINE", "VERTEX", "SEQEND", "TEXT", "POINT", "INSERT", "BLOCK", "ENDBLK", "ENDSEC", "EOF", "DIMENSION")))  # fmt: skip
    else:
        others = [other for its_code, other in pairs if its_code == code]
        pairs[k] = (
            code,
            rng.choice(
                (*others, *STATEMENTS, *(text.encode().decode("latin-1") for text in LABELS if "\n" not in text))
            ),
        )


def _dxf_entities(pairs: list[Pair], starts: list[int], rng: random.Random, size: int) -> None:
    which = rng.randrange(1, len(starts) - 1)
    first = starts[which]
    last = starts[min(len(starts) - 1, which + rng.choice((1, 1, 1, 2, 5, 30)))]
    taken = pairs[first:last]
    match rng.randrange(4):
        case 0:
            del pairs[first:last]
        case 1:
            its_size = sum(len(code) + len(value) + 2 for code, value in taken)
            pairs[last:last] = taken * _count(rng, its_size, size)
        case 2:
            del pairs[first:last]
            to = rng.choice([k for k, (code, _) in enumerate(pairs) if code.strip() == "0"])
            pairs[to:to] = taken
        case _:
            moved = [(code, _written(float(value) + 7.0)) if code.strip() in ("10", "11") and _NUMBER.fullmatch(value.strip()) else (code, value) for code, value in taken]  # fmt: skip
            pairs[last:last] = moved


def _dxf_added(pairs: list[Pair], starts: list[int], rng: random.Random, size: int) -> None:
    blocks = [value for k, (code, value) in enumerate(pairs) if code.strip() == "2" and any(name.strip() == "BLOCK" for _, name in pairs[max(0, k - 4) : k])]  # fmt: skip
    at = rng.choice(starts[1:])
    if blocks and rng.random() < 0.4:
        grid = rng.choice(((1, 1), (2, 3), (30, 30), (30_000, 30_000), (0, 1), (-1, 2)))
        content: Sequence[tuple[int, object]] = (
            (2, rng.choice(blocks)),
            *(
                (10, rng.uniform(-99, 99)),
                (20, 0.0),
                (41, rng.choice((1.0, -1.0, 0.0, 2.5))),
                (42, rng.choice((1.0, 0.5))),
            ),
            *(
                (50, rng.choice((0.0, 90.0, 33.0))),
                (70, grid[0]),
                (71, grid[1]),
                (44, 50.0),
                (45, rng.choice((0.0, 50.0))),
            ),
        )
        kind = "INSERT"
    else:
        kind, content = rng.choice(ENTITIES)
    entity = [("0", kind), ("8", rng.choice(LAYERS))]
    entity += [(str(code), str(nearby(value, rng)) if isinstance(value, float) and rng.random() < 0.3 else str(value)) for code, value in content]  # fmt: skip
    its_size = sum(len(code) + len(value) + 2 for code, value in entity)
    pairs[at:at] = entity * _count(rng, its_size, size)


# TOML and JSON

Tree = dict[str, Any]


def spoil_toml(data: bytes, rng: random.Random, keys: Sequence[str] = ()) -> bytes | None:
    """Change one thing of a plan, of settings or of a recipe; `keys` are further ones that may be known there."""
    try:
        tree = tomllib.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        return None
    _spoil_tree(tree, rng, keys, len(data))
    return dumped(tree).encode("utf-8", "backslashreplace")


def spoil_json(data: bytes, rng: random.Random) -> bytes | None:
    """Change one thing of a record."""
    try:
        tree = json.loads(data)
    except (ValueError, RecursionError):
        return None
    if not isinstance(tree, dict):
        return None
    _spoil_tree(tree, rng, (), len(data))
    return json.dumps(tree).encode()


def _spoil_tree(tree: Tree, rng: random.Random, keys: Sequence[str], size: int) -> None:
    holders: list[Tree | list[Any]] = []
    texts: list[str] = []

    def gather(value: Any) -> None:
        if isinstance(value, dict | list):
            holders.append(value)
            for one in value.values() if isinstance(value, dict) else value:
                gather(one)
        elif isinstance(value, str):
            texts.append(value)

    gather(tree)
    holder = rng.choice([one for one in holders if one] or [tree])
    at: Any = rng.choice(sorted(holder) if isinstance(holder, dict) else range(len(holder))) if holder else "a"
    value = holder[at] if holder else 1
    match rng.randrange(9):
        case 0 if holder:
            del holder[at]
        case 1 if isinstance(holder, dict):
            holder[rng.choice((*keys, *sorted(holder), "a", f"{at}s", "" if rng.random() < 0.1 else "of-x"))] = (
                copy.deepcopy(value)
            )
        case 2 if isinstance(holder, list):
            holder[at:at] = [copy.deepcopy(value) for _ in range(_count(rng, len(str(value)), size))]
        case 3 if isinstance(holder, dict) and isinstance(value, dict):
            for k in range(min(3000, _count(rng, len(str(value)), size))):
                holder[f"{at}-{k}"] = copy.deepcopy(value)
        case 4 if texts:
            holder[at] = rng.choice(
                (*texts, *LABELS, rng.choice(texts).partition(".")[0], f"-{rng.choice(texts)}", "*")
            )
        case 5:
            holder[at] = rng.choice(
                (True, 7, -1, 0.5, 2**70, "x", [], {}, [[1, 2]], ["a", "b"], 1e300, math.nan, [0, 0])
            )
        case 6 if isinstance(value, int | float) and not isinstance(value, bool):
            holder[at] = nearby(float(value), rng)
        case 7:
            other = rng.choice(holders)
            if other:
                where: Any = rng.choice(sorted(other) if isinstance(other, dict) else range(len(other)))
                holder[at], other[where] = copy.deepcopy(other[where]), copy.deepcopy(holder[at])
        case _ if isinstance(value, list):
            rng.shuffle(value)


def dumped(tree: Tree) -> str:
    """A tree as TOML: tables that hold tables or lists of tables get headers, all else stands in its line."""
    lines: list[str] = []

    def write(table: Tree, names: tuple[str, ...]) -> None:
        plain = {key: value for key, value in table.items() if not isinstance(value, dict) and not _tables(value)}
        lines.extend(f"{_key(key)} = {_value(value)}" for key, value in plain.items())
        for key, value in table.items():
            if key in plain:
                continue
            name = ".".join(map(_key, (*names, key)))
            for one in value if _tables(value) else [value]:
                lines.append(f"[[{name}]]" if _tables(value) else f"[{name}]")
                write(one, (*names, key))

    write(tree, ())
    return "\n".join(lines) + "\n"


def _tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value)
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, dict):
        return f"{{{', '.join(f'{_key(key)} = {_value(one)}' for key, one in value.items())}}}"
    return repr(value)


# Rules


def random_rule(names: Sequence[str], rng: random.Random) -> str:
    """A rule by the grammar of the language, about edges of these names; most of them compare what goes together."""

    def length(depth: int) -> str:
        match rng.randrange(8 if depth else 3):
            case 0:
                return f"{rng.choice((0, 1.5, 20, 480, 1e6)):g} {rng.choice(('mm', 'cm', 'in'))}"
            case 1 | 2:
                return rng.choice(names)
            case 3:
                return f"({length(depth - 1)} {rng.choice('+-')} {length(depth - 1)})"
            case 4:
                return f"{rng.choice((2, 0.5, 0, 3))} * {length(depth - 1)}"
            case 5:
                return (
                    f"{rng.choice(('abs', 'length', 'intake', 'difference', 'width', 'height'))}({rng.choice(names)})"
                )
            case 6:
                return f"{rng.choice(('min', 'max', 'distance'))}({length(depth - 1)}, {rng.choice(names)})"
            case _:
                return f"-{length(depth - 1)}"

    left, right = length(rng.randrange(4)), length(rng.randrange(4))
    if rng.random() < 0.2:
        return f"{left} between {right} and {length(1)}"
    return f"{left} {rng.choice(('=', '<=', '>='))} {right}"


# Recipes


def random_recipe(plan: Tree, rng: random.Random) -> Tree:
    """A recipe of one to three moves on the pieces of a plan; a plan without edges gives one that names what is not there."""
    pieces = {
        name: piece
        for name, piece in plan.get("pieces", {}).items()
        if isinstance(piece, dict) and piece.get("edges")
    }
    return {"format": 1, "steps": [_random_step(pieces, rng) for _ in range(rng.choice((1, 1, 2, 3)))]}


def _random_step(pieces: Tree, rng: random.Random) -> Tree:
    name = rng.choice(sorted(pieces)) if pieces else "front"
    edges: dict[str, list[str]] = pieces[name]["edges"] if pieces else {"hem": ["a", "b"], "side": ["b", "c"]}
    corners = sorted({corner for row in edges.values() for corner in row})

    def place(edge: str) -> str:
        end = rng.choice(edges[edge])
        ways = (
            f"{edge} {rng.choice((0, 5, 40, 110, 300, 9e9)):g} mm from {end}",
            f"{edge} {rng.choice((1, 40, 50, 99))} % from {end}",
        )
        return rng.choice((*ways, *ways, f"notch {rng.choice((1, 2, 0))} of {edge}", end))

    def edge() -> str:
        return rng.choice(sorted(edges))

    def amount() -> str:
        return rng.choice(("1/4 in", "6.35 mm", "1/2 in", "0.5 cm", "-3 mm", "40 mm", "900 mm", "0"))

    first, second, third = edge(), edge(), edge()
    either: Tree = {rng.choice(("spread", "overlap")): amount()}
    more: Tree = {rng.choice(("add", "take")): amount()}
    cut = [place(first), place(second)]
    moves: dict[str, Tree] = {
        "hinge": {
            "cut": cut,
            "hinge": second,
            **either,
            **({"relief": [["0.5 of cut", place(third)]]} if rng.random() < 0.3 else {}),
        },
        "parallel": {"cut": cut, **either, **({"by-grain": True} if rng.random() < 0.4 else {})},
        "scoop": {"edge": first, "from": place(first), "to": place(first), "deeper": amount()},
        "extend": {
            "corner": rng.choice(corners),
            "along": first,
            **more,
            **({"square": True} if rng.random() < 0.3 else {}),
        },
        "taper": {"edge": first, "from": place(first), "peak": place(first), **more},
        "dart": {
            "dart": rng.choice(corners),
            rng.choice(("deeper", "longer", "into", "moved")): rng.choice((amount(), place(first))),
        },
        "wedge": {"edge": first, "from": place(first), "corner": rng.choice(edges[first]), **more},
    }
    move = rng.choice(sorted(moves))
    back = {"give-back": {"edge": second, "end": rng.choice(edges[second])}} if rng.random() < 0.2 else {}
    return {"move": move, "piece": name, **moves[move], **back}


SPOILERS: dict[str, Callable[[bytes, random.Random], bytes | None]] = {
    ".svg": spoil_svg,
    ".dxf": spoil_dxf,
    ".toml": spoil_toml,
    ".json": spoil_json,
}
