"""The rule table that goes with an apparel DXF: how far each ruled point moves from size to size.

The table is a text file beside the drawing. Its grammar is that of ASTM D6673's companion ("RULE: DELTA id", then a
pair of x and y for each size); pairs are measured from the sample size, x along the grade reference line.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import isfinite
from pathlib import Path

from seamcheck.config.limits import ReadOptions
from seamcheck.errors import InputError
from seamcheck.files import at
from seamcheck.pattern.drawing import Note
from seamcheck.pattern.scale import FACTORS
from seamcheck.places import Place
from seamcheck.reading.base import Source, read_source
from seamcheck.reading.dxf.apparel_blocks import GRADE, BlockDraft, DraftPoint
from seamcheck.reading.dxf.apparel_lines import DraftLine
from seamcheck.reading.dxf.text import decode, statement
from seamcheck.reading.dxf.units import stated_unit


@dataclass(frozen=True, slots=True)
class GradeRules:
    """A rule table as it is written. `moves` gives each rule one move for each size, in the table's own unit.

    `step` is the rounding step of its numbers in that unit; `unit` is None where the table does not say.
    """

    path: str
    sizes: tuple[str, ...]
    sample: str
    unit: str | None
    step: float
    moves: Mapping[str, tuple[complex, ...]]
    notes: tuple[Note, ...] = ()
    headers: Mapping[str, str] = field(default_factory=dict)

    def factor(self, drawing_factor: float) -> float:
        """Mm per unit of the table; where it does not say, that of its drawing."""
        return FACTORS[self.unit] if self.unit else drawing_factor


_RULE = re.compile(r"\s*RULE\s*:\s*DELTA\s+(\S+)\s*", re.IGNORECASE)
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_BETWEEN = re.compile(r"[\s,;]*")


def find_companion(path: str, table: str) -> str | None:
    """The rule table beside a drawing: the file it names, else the one called as it is; case ignored."""
    folder = Path(path).parent
    wanted = [f"{Path(path).stem}.rul".casefold()]
    if table.strip():
        name = re.split(r"[\\/]", table.strip())[-1].casefold()
        wanted = [name, f"{name}.rul", *wanted] if name.endswith(".rul") else [f"{name}.rul", *wanted]
    try:
        there = {file.name.casefold(): file for file in sorted(at(folder).iterdir()) if file.is_file()}
    except OSError:
        return None
    return next((str(folder / there[name].name) for name in wanted if name in there), None)


def read_rules(path: str, options: ReadOptions) -> GradeRules:
    """Read a rule table. InputError, with the line, when it is not one or its rules do not fit its sizes."""
    source = read_source(path, options)
    decoded = decode(source)
    rules = parse_rules(source, decoded.text)
    return replace(rules, notes=decoded.notes)


def parse_rules(source: Source, text: str) -> GradeRules:
    """Parse the text of a rule table."""
    headers: dict[str, str] = {}
    moves: dict[str, list[float]] = {}
    places: dict[str, int] = {}
    decimals = 0
    current: str | None = None
    for number, line in enumerate(text.split("\n"), start=1):
        if line.strip().upper() == "END":
            break
        rule = _RULE.fullmatch(line)
        if rule:
            current = rule[1]
            if current in moves:
                raise _fault(source, number, f"rule {current} stands there a second time", "delete one of the two")
            moves[current], places[current] = [], number
        elif current is not None:
            values, most = _values(source, number, line)
            moves[current] += values
            decimals = max(decimals, most)
        else:
            said, value = statement(line)
            headers[said.upper()] = value
    sizes = tuple(headers.get("SIZE LIST", "").split())
    if not moves or not sizes:
        raise _fault(source, 1, "this rule table has no sizes or no rules", "save it again with the drawing")
    count = headers.get("NUMBER OF SIZES", "")
    if count.isascii() and count.isdecimal() and count.lstrip("0") != str(len(sizes)):
        raise _fault(source, 1, f"{count} sizes are announced and {len(sizes)} listed", "correct the size list")
    sample = headers.get("SAMPLE SIZE", "")
    by_name = {size.casefold(): size for size in sizes}
    if sample.casefold() not in by_name:
        raise _fault(
            source, 1, f'the sample size "{sample}" is not in the size list', "correct SAMPLE SIZE or SIZE LIST"
        )
    sample = by_name[sample.casefold()]
    pairs = {rule: _pairs(source, rule, places[rule], values, sizes, sample) for rule, values in moves.items()}
    return GradeRules(
        source.path, sizes, sample, stated_unit(headers.get("UNITS", "")), 10.0**-decimals, pairs, (), headers
    )


def _fault(source: Source, line: int, what: str, remedy: str) -> InputError:
    return InputError(what, path=source.path, place=Place(f"line {line}", line), remedy=remedy)


def _values(source: Source, number: int, line: str) -> tuple[list[float], int]:
    """The numbers of one line and the most decimals among them."""
    values, decimals, at = [], 0, 0
    for match in _NUMBER.finditer(line):
        if not _BETWEEN.fullmatch(line[at : match.start()]):
            break
        at = match.end()
        values.append(float(match[0]))
        fraction = match[0].lower().split("e")[0].partition(".")[2]
        decimals = max(decimals, len(fraction))
    if not _BETWEEN.fullmatch(line[at:]) or not all(map(isfinite, values)):
        raise _fault(
            source, number, f'"{line.strip()[:60]}" is no row of numbers', "put pairs of x and y there, nothing else"
        )
    return values, decimals


def _pairs(
    source: Source, rule: str, line: int, values: Sequence[float], sizes: Sequence[str], sample: str
) -> tuple[complex, ...]:
    if len(values) != 2 * len(sizes):
        raise _fault(
            source,
            line,
            f"rule {rule} has {len(values)} numbers where {len(sizes)} sizes need {2 * len(sizes)}",
            "give every rule one pair of x and y for each size",
        )
    pairs = tuple(complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True))
    if pairs[sizes.index(sample)] != 0:
        raise _fault(
            source,
            line,
            f"rule {rule} moves a point in the sample size {sample} itself",
            "rules are measured from the sample size, where every one must be 0, 0",
        )
    return pairs


def graded(draft: BlockDraft, rules: GradeRules, size: str, drawing_factor: float) -> BlockDraft:
    """A piece in another size: every ruled point moved, those between them in step with their neighbours.

    The standard does not say how points without a rule move; here a vertex between two ruled ones moves in
    proportion to its way along the line.
    InputError when the drawing names a rule that the table has not.
    """
    index = rules.sizes.index(size)
    factor = rules.factor(drawing_factor)
    reference = next((line for line in draft.lines if line.layer == GRADE and len(line.points) == 2), None)
    along = 1 + 0j
    if reference is not None and (way := reference.points[1] - reference.points[0]) != 0:
        along = way / abs(way)

    def move(rule: str) -> complex:
        if rule not in rules.moves:
            raise InputError(
                f'the drawing asks for grade rule {rule} on piece "{draft.piece}", which the table has not',
                path=rules.path,
                remedy="save drawing and rule table together again",
            )
        return rules.moves[rule][index] * factor * along

    lines = [_moved_line(line, [None if rule is None else move(rule) for rule in line.rules]) for line in draft.lines]
    points = [
        _moved_point(point, draft.lines, lines, move(point.rule) if point.rule else None) for point in draft.points
    ]
    return replace(draft, size=size, lines=lines, points=points)


def _moved_line(line: DraftLine, moves: Sequence[complex | None]) -> DraftLine:
    known = [index for index, move in enumerate(moves) if move is not None]
    if line.exact is not None or not known:
        return replace(line, like=line)
    count = len(line.points)
    way = [0.0]
    for step in [abs(b - a) for a, b in zip(line.points, [*line.points[1:], line.points[0]], strict=True)]:
        way.append(way[-1] + step)

    def at(index: int) -> complex:
        if moves[index] is not None:
            return moves[index] or 0j
        before = max((k for k in known if k < index), default=None)
        after = min((k for k in known if k > index), default=None)
        start, end = before if before is not None else known[-1], after if after is not None else known[0]
        first, last = moves[start] or 0j, moves[end] or 0j
        if not line.closed and (before is None or after is None):
            return last if before is None else first
        lap = way[count]
        span = (way[end] - way[start]) % lap or lap
        share = ((way[index] - way[start]) % lap) / span if span else 0.0
        return first + (last - first) * share

    return replace(line, points=[point + at(index) for index, point in enumerate(line.points)], like=line)


def _moved_point(
    point: DraftPoint, before: Sequence[DraftLine], after: Sequence[DraftLine], move: complex | None
) -> DraftPoint:
    if point.vertex is not None:
        line, vertex = point.vertex
        move = after[line].points[vertex] - before[line].points[vertex]
    return replace(point, at=point.at + (move or 0j))
