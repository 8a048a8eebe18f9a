"""What is said of a result, in sentences: the same words in every report for a person, which only lays them out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple, overload

from seamcheck import amounts
from seamcheck.amounts import Angle, Fact, Length, Name, Phrase, count, joined, opened, phrase
from seamcheck.checks.base import NOT_ASKED, TURNED_OFF
from seamcheck.engine.causes import causes_of
from seamcheck.engine.said import all_alike, names_said, tells
from seamcheck.exact import steady

if TYPE_CHECKING:
    from seamcheck.engine.causes import Cause
    from seamcheck.engine.grouping import Group, Occurrence
    from seamcheck.engine.result import FileResult, Finding, InForce, Report, Skipped
    from seamcheck.errors import Failure

MOST_NAMES = 12  # a longer list of names is given as its number alone
BANDS = "bands"
DEFAULT = "default"
RAISED = "tolerance raised by {by}: {what}"
MILDER = {
    "off": "{what} turned off by {by}",
    "note": "{what} weighed as a note only by {by}",
    "warning": "{what} weighed as a warning at most by {by}",
}
BANDS_TOLD = "up to half a tolerance nothing is said, up to the tolerance it is a note, up to twice a warning, beyond that an error"


def sum_of(report: Report) -> str:
    """How many files are good, how many are not, and which could not be judged."""
    unjudged = [file for file in report.files if file.failures]
    worst = [
        min((finding.severity.rank for finding in file.findings if finding.counts), default=3)
        for file in report.files
    ]
    faulty = sum(rank < 2 for rank in worst)
    known = sum(any(finding.known for finding in file.findings) for file in report.files)
    new = "new " if known else ""
    parts = [f"{count(len(report.files), 'file')}", f"{faulty or 'none'} with something {new}to put right"]
    if known:
        parts.append(f"{known} with something known")
    lax = sum(file.is_lax for file in report.files)
    if lax:
        parts.append(f"{lax} judged less strictly than is usual")
    if unjudged:
        parts.append(f"{len(unjudged)} not judged or not whole ({_some([file.path for file in unjudged])})")
    if report.left_aside:
        parts.append(left_aside(report))
    return f"{parts[0]}: {', '.join(parts[1:])}."


def left_aside(report: Report) -> str:
    """How many drawings nobody judged, since no plan of their name lies beside them, and which."""
    number = len(report.left_aside)
    return f"{count(number, 'drawing')} without a plan left aside ({_some(report.left_aside)})"


def verdict(file: FileResult, causes: Sequence[Cause]) -> tuple[str, str]:
    """What a file comes to, by what counts of it; and its kind: a severity or "good"."""
    ranks = [cause.severity.value for cause in causes]
    faults, notes = len(ranks) - ranks.count("note"), ranks.count("note")
    if not file.sizes:
        return "could not be judged", "error"
    parts = []
    if faults:
        parts.append(f"{count(faults, 'thing')} to put right")
    if notes:
        parts.append(f"{count(notes, 'small thing')} to look at")
    known = known_of(file)
    describe = " and ".join(parts) or ("nothing new" if known else "nothing to put right")
    kind = min(ranks, key=["error", "warning", "note"].index, default="note" if file.looked_at_in_part else "good")
    told = "; ".join([describe, *known, coverage(file), *laxer(file)])
    return (f"{told}; not everything could be judged", "error") if file.failures else (told, kind)


def known_of(file: FileResult) -> list[str]:
    """How much of what was found is in the record, by severity, and the name that the file has there; nothing where none is."""
    severities = [cause.severity.value for cause in causes_of(file) if cause.worst.known]
    if not severities:
        return []
    told = [count(severities.count(one), one) for one in dict.fromkeys(severities)]
    renamed = f", recorded as {file.recorded_as}" if file.recorded_as else ""
    return [f"{len(severities)} known{renamed}: {amounts.listed(told)}"]


def coverage(file: FileResult) -> str:
    """How many seams were judged, and how many edges nobody looked at."""
    judged, open_edges = len(file.judged_seams), len(file.open_edges)
    planned = len({*file.planned})
    of = (
        f"{judged} of {count(planned, 'seam')}"
        if planned and file.plan
        else count(judged, "seam")
        if judged
        else "no seam"
    )
    told = f"{of} judged"
    if not open_edges:
        return f"{told}, every edge sewn, free or a fold" if file.pieces else told
    told += f", {count(open_edges, 'edge')} not looked at"
    return told if file.plan else f"{told}: say which seams they are (seamcheck pair)"


def laxer(file: FileResult) -> list[str]:
    """What is weighed less, may be off by more or is accepted, other than is usual: a part for each way and for each file that says so, the shop's or the plan."""
    rows: dict[str, list[InForce]] = {}
    for row in file.in_force:
        rows.setdefault(row.check, []).append(row)
    said: dict[tuple[str, str], dict[str, None]] = {}
    for of_check in rows.values():
        for row in of_check:
            if row.milder:
                alike = len({one.severity for one in of_check if one.codes}) == 1
                said.setdefault((MILDER[row.severity], row.severity_from), {})[_rules(row, alike=alike)] = None
            elif row.widened:
                alike = len({one.tolerance for one in of_check if one.codes}) == 1
                say = amounts.angle if row.unit == "degrees" else amounts.length
                at = f" at {amounts.listed(row.places)}" if row.places else ""
                told = f"{_rules(row, alike=alike)} to {say(row.tolerance or 0.0)}{at}"
                said.setdefault((RAISED, row.tolerance_from), {})[told] = None
    parts = [way.format(what=_checks(tuple(what)), by=by) for (way, by), what in said.items()]
    accepted = sum(finding.accepted is not None for finding in file.findings)
    return [*parts, f"{count(accepted, 'finding')} accepted by {file.plan or 'the plan'}"] if accepted else parts


def _checks(told: Sequence[str]) -> str:
    return amounts.listed(told) if len(told) <= MOST_NAMES else count(len(told), "check")


def _rules(row: InForce, *, alike: bool) -> str:
    return row.check if alike or not row.codes else amounts.listed([f"{row.check}/{code}" for code in row.codes])


def site(file: FileResult, failure: Failure) -> tuple[str, dict[str, int]]:
    """The path that a failure leads to, and the line and column there as far as they are known: perhaps in the plan.

    What leads to no line is told at the pattern, which could not be judged.
    """
    at = failure.at
    if at.line is None:
        return file.path, {}
    column = {} if at.column is None else {"column": at.column}
    return failure.path or file.path, {"line": at.line} | column


def rule(finding: Finding) -> str:
    """The name under which a finding is explained and accepted."""
    name = f"{finding.check}/{finding.code}"
    return name if finding.plugin in ("", "builtin") else f"{name}, a rule of {finding.plugin}"


def place(group: Group, file: FileResult) -> str:
    """Where and in which sizes a finding is, as far as its message does not say so itself."""
    sizes = sizes_of(group.sizes, file)
    if len(group.sizes) == 1 and group.worst.size in names_said(group.worst):
        sizes = ""
    return ", ".join([*where(group.worst), sizes] if sizes else where(group.worst))


def where(finding: Finding) -> list[str]:
    """The seam and the edges or pieces of a finding, as far as its message does not name them."""
    said = names_said(finding)
    # A piece may bear the name of a seam.
    named = finding.seam in said - {*finding.pieces}
    parts = [f"seam {finding.seam}"] if finding.seam and not named else []
    names = finding.edges or finding.pieces
    if not said.issuperset(names):
        parts.append(_some(names))
    return parts


def named(cause: Cause, file: FileResult) -> str:
    """What is to be put right: the edges of the piece that was altered, else the seam, or the edges or pieces; how many more, and its sizes."""
    finding, group = cause.worst, cause.head
    own = [edge.lstrip("-") for edge in finding.edges if edge.lstrip("-").partition(".")[0] == cause.piece]
    name = (
        _some(own)
        or (f"seam {finding.seam}" if finding.seam else _some(finding.edges or finding.pieces))
        or "the file"
    )
    more = len(group.places) - 1
    parts = [f"{name} and {more} more" if more else name, sizes_of(group.sizes, file)]
    return ", ".join(part for part in parts if part)


def amount(cause: Cause) -> Fact:
    """How much a cause is off at most, by its head; "" where nothing is measured."""
    finding = cause.worst
    if finding.measured is None:
        return ""
    return (Angle if finding.unit == "degrees" else Length)(abs(finding.measured))


def near(cause: Cause) -> str:
    """The end of the edge at which a cause lies, where its head tells one."""
    end = cause.worst.facts.get("near")
    return f"differs at {end}" if end else ""


MOST_WAYS = 3  # of what else may be done, so many are told


def steps(cause: Cause) -> list[Phrase]:
    """What to do, a sentence each: the recipe, or the advice of the head where none was tried."""
    if cause.recipe is None:
        return [ended(cause.worst.remedy)] if cause.worst.advice else []
    return [ended(step) for step in cause.recipe.steps]


def other_ways(cause: Cause) -> Iterable[tuple[str, Phrase]]:
    """What else may be done in the stead of the first step: the label and the words, by the letters that `true --choose` takes."""
    recipe = cause.recipe
    if recipe is None:
        return
    ways = list(recipe.others)
    first = []
    if cause.piece is None and cause.worst.seam and ways:
        # Nothing tells which side was altered: what is done to the other is named first.
        taken = recipe.pieces
        other = next((way for way in ways if not set(way.pieces) & set(taken)), None)
        if other is not None:
            ways.remove(other)
            first = [other]
            words = "Nothing shows which side was altered; if it was {pieces}, ({letter}) {what}."
            own = [piece for piece in other.pieces if piece not in other.followers]
            yield "Or", phrase(words, pieces=amounts.listed(own), letter=other.letter, what=other.what)
    told = ways[: MOST_WAYS - len(first)]
    if told:
        more = len(ways) - len(told)
        said = [phrase("({letter}) {what}", letter=way.letter, what=way.what) for way in told]
        said += [phrase("{more} with seamcheck true", more=count(more, "other way"))] if more else []
        yield ("Or, and keep the alteration" if recipe.undo else "Or"), ended(joined(said, "; "))
    if recipe.undo:
        yield "Or undo it", ended(recipe.undo)


def describe(group: Group) -> Phrase:
    """What was found, over which span of sizes, and what else the same holds for."""
    parts = (ended(opened(group.worst.fault)), _range(group), likewise(group))
    return joined((part for part in parts if part), " ")


def drawn_at(finding: Finding) -> str:
    """Where a finding lies in the drawing; "" where it lies nowhere."""
    if finding.at is None:
        return ""
    return f"in the drawing at x {_coordinate(finding.at.real)}, y {_coordinate(finding.at.imag)} mm."


def _some(names: Sequence[str]) -> str:
    return amounts.listed(names) if len(names) <= MOST_NAMES else count(len(names), "place")


def likewise(group: Group) -> str:
    """The other pieces that the same is said of."""
    others = [_names_of(place) for place in group.places[1:]]
    if not others:
        return ""
    named = f"{len(others)} more" if len(others) > MOST_NAMES else amounts.listed(others)
    return f"The same holds for {named}."


def _names_of(place: Occurrence) -> str:
    finding = place[0]
    return f"seam {finding.seam}" if finding.seam else " and ".join(finding.edges or finding.pieces)


def sizes_of(sizes: Sequence[str], file: FileResult) -> str:
    """Sizes as a person names them: all of them, all but a few, a run from one to another, or one by one."""
    named = [size for size in sizes if size]
    if len(file.sizes) < 2 or not named:
        return ""
    if len(named) == len(file.sizes):
        return f"all {len(named)} sizes"
    others = [size for size in file.sizes if size not in named]
    if len(others) <= 2 and len(named) > 2 * len(others):
        return f"all sizes but {amounts.listed(others)}"
    runs = _runs([list(file.sizes).index(size) for size in named])
    each = [
        f"{file.sizes[first]} to {file.sizes[last]}" if last > first + 1 else file.sizes[k]
        for first, last in runs
        for k in ([first] if last > first + 1 else range(first, last + 1))
    ]
    return f"size {each[0]}" if len(named) == 1 else f"sizes {amounts.listed(each)}"


def _runs(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """Numbers that follow each other, as first and last."""
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = runs[-1][0], number
        else:
            runs.append((number, number))
    return runs


def _range(group: Group) -> Fact:
    """The span of amounts over the sizes, where they are not all told alike."""
    if all_alike(group.places[0]):
        return ""
    so = f"So in size {group.worst.size}"
    # What is measured is told only where the sentence tells it too: how far a distance is from enough is no distance.
    if group.range is None or not all(tells(one, _amount(one)) for one in group.range):
        return f"{so}, and likewise in the others."
    least, most = group.range
    return phrase(
        "{so}; from {least} in size {smallest} to {most} in size {largest}.",
        so=so,
        least=_amount(least),
        smallest=Name(least.size),
        most=_amount(most),
        largest=Name(most.size),
    )


def _amount(finding: Finding) -> Length | Angle:
    amount = abs(finding.measured or 0.0)
    return Angle(amount) if finding.unit == "degrees" else Length(amount)


def _coordinate(value: float) -> str:
    return f"{round(steady(value), 1) + 0.0:.1f}"


@overload
def ended(said: str) -> str: ...
@overload
def ended(said: Phrase) -> Phrase: ...
def ended(said: str | Phrase) -> str | Phrase:
    """A sentence with its full stop."""
    if str(said).endswith((".", "!", "?")):
        return said
    return said + "." if isinstance(said, str) else joined((said, "."))


def looked_at(file: FileResult, *, named: bool = True) -> str:
    """Pieces, seams, junctions, sizes and checks, and the plan they were judged by; `named` gives short lists by name."""
    say = _names if named else _number
    seams = tuple(dict.fromkeys(seam.name for seam in file.seams))
    guessed = {seam.name for seam in file.seams if seam.inferred}
    sizes = tuple(size for size in file.sizes if size)
    parts = [say(file.pieces, "piece"), say(seams, "seam")]
    if guessed:
        parts[-1] += f", {len(guessed)} of them guessed for want of a plan"
    if file.junctions:
        parts.append(count(len({junction.corners for junction in file.junctions}), "junction"))
    if sizes:
        parts.append(say(sizes, "size"))
    skipped = len({one.check for one in _news(file)}) if named else 0
    parts.append(
        count(len({*file.checks} - _turned_off(file)), "check")
        + (f", {skipped} skipped in whole or in part" if skipped else "")
    )
    parts.append(f"by the plan {file.plan}" if file.plan else "without a plan")
    return f"Looked at: {'; '.join(parts)}."


def left_out(file: FileResult, *, more: str = "--verbose tells which and why") -> str:
    """How many checks had nothing to judge by, and at how many places others could not judge; "" where all was looked at.

    `more` says where each is told.
    """
    places: dict[str, dict[_Where, None]] = {}
    for one in _news(file):
        places.setdefault(one.check, {})[_where(one)] = None
    at = {check: sum(bool(one.names) for one in found) for check, found in places.items()}
    idle = sum(not number for number in at.values())
    parts = [f"{count(idle, 'check')} with nothing to judge by"] if idle else []
    parts += [f"{check} at {count(number, 'place')}" for check, number in at.items() if number]
    return f"Left out: {', '.join(parts)}; {more}." if parts else ""


def _news(file: FileResult) -> Iterable[Skipped]:
    """What was skipped of the checks that ran; what runs only where it is asked for, and was not, is no news, nor is what was turned off."""
    ran = {*file.checks} - _turned_off(file)
    return (one for one in file.skipped if one.reason not in (NOT_ASKED, TURNED_OFF) and one.check in ran)


def _turned_off(file: FileResult) -> set[str]:
    """The checks of which nothing is told, whatever they find."""
    told = {row.check for row in file.in_force if row.severity != "off"}
    return {row.check for row in file.in_force} - told


def _number(names: Sequence[str], noun: str) -> str:
    return count(len(names), noun) if names else f"no {noun}"


def _names(names: Sequence[str], noun: str) -> str:
    if not names or len(names) > MOST_NAMES:
        return _number(names, noun)
    return f"{count(len(names), noun)} ({', '.join(names)})"


def skipped(these: Sequence[Skipped], *, every: bool = False) -> Iterable[Phrase]:
    """One sentence for each reason, with the checks and the places it holds for; `every` names them all.

    What runs only where it is asked for, and was not, is no news.
    """
    said: dict[str, Fact] = {}
    places: dict[tuple[str, str], dict[_Where, None]] = {}
    for one in these:
        if one.reason == NOT_ASKED and not every:
            continue
        said.setdefault(str(one.why), one.why)
        places.setdefault((str(one.why), one.check), {})[_where(one)] = None
    checks: dict[tuple[str, tuple[_Where, ...]], list[str]] = {}
    for (why, check), at_each in places.items():
        checks.setdefault((why, tuple(at for at in at_each if at.names)), []).append(check)
    for (why, named), names in checks.items():
        most = len(named) if every else MOST_NAMES
        listed = f" ({_places(named) if len(named) <= most else count(len(named), 'place')})" if named else ""
        yield phrase("{checks}{places}: {why}", checks=amounts.listed(names), places=listed, why=said[why])


class _Where(NamedTuple):
    """What could not be judged: a seam, or an edge or a piece, or the corners of a junction."""

    kind: str
    names: tuple[str, ...]


def _where(one: Skipped) -> _Where:
    if one.seam:
        return _Where("seam", (one.seam,))
    edge = f"{one.piece}.{one.edge}" if one.piece and one.edge and "." not in one.edge else one.edge
    name = edge or one.piece
    return _Where("piece", (name,)) if name else _Where("junction", one.corners)


def _places(each: Sequence[_Where]) -> str:
    seams = [name for one in each if one.kind == "seam" for name in one.names]
    others = [one.names for one in each if one.kind != "seam"]
    parts = [f"{'seam' if len(seams) == 1 else 'seams'} {', '.join(seams)}"] if seams else []
    between = "; " if any(len(names) > 1 for names in others) else ", "
    return "; ".join([*parts, between.join(map(amounts.listed, others))] if others else parts)


def in_force(file: FileResult) -> Iterable[tuple[str, Phrase]]:
    """Each check with its tolerance and severity, and where each comes from that is not the default."""
    of_check: dict[str, list[InForce]] = {}
    for row in file.in_force:
        of_check.setdefault(row.check, []).append(row)
    for check, rows in of_check.items():
        name_codes = len([row for row in rows if row.codes]) > 1
        yield check, joined((_row(row, name_codes=name_codes) for row in rows), "; ")


def _row(row: InForce, *, name_codes: bool) -> Phrase:
    parts: list[Fact] = []
    if row.tolerance is not None:
        parts.append(joined((_tolerance(row), _origin(row.tolerance_from))))
    if row.severity != BANDS:
        parts.append(f"{_graded(row.severity)}{_origin(row.severity_from)}")
    at = (row.codes if name_codes else ()) or row.places
    said = joined(parts, ", ")
    return joined((amounts.listed(at), said), " ") if at else said


def _tolerance(row: InForce) -> Length | Angle:
    amount = row.tolerance or 0.0
    return Angle(amount) if row.unit == "degrees" else Length(amount)


def _graded(severity: str) -> str:
    return "turned off" if severity == "off" else f"always {'an' if severity == 'error' else 'a'} {severity}"


def _origin(source: str) -> str:
    return "" if source == DEFAULT else f" from {source}"
