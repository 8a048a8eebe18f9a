"""The report for a person at the cutting table: the verdict first, then the worst first, then what was looked at."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from seamcheck import wording
from seamcheck.folding import fold
from seamcheck.report.base import RenderOptions, ReportFormat
from seamcheck.report.cautions import CAUTIONS
from seamcheck.report.layout import count, paint, printable, wrap
from seamcheck.report.measures import measures_in_force, seam_table

if TYPE_CHECKING:
    from seamcheck.folding import Group, Place
    from seamcheck.result import FileResult, Finding, Report, Skipped

MOST_NAMES = 12  # a longer list of names is given as its number alone
MOST_RELATED = 6  # of what one broken size brings with it, so many are told each


def render(report: Report, options: RenderOptions) -> str:
    """All files one after the other, where there are several their sum, and the cautions once."""
    parts = []
    for k, file in enumerate(report.files):
        # What is in force is told once, and anew where a file is judged by other measures.
        measures = options.verbose and (k == 0 or file.in_force != report.files[k - 1].in_force)
        parts.append("\n\n".join(_file(file, options, measures=measures)))
    if len(report.files) > 1:
        parts.append(_sum(report, options))
    if any(file.sizes for file in report.files):  # where nothing was judged there is nothing to be cautious about
        parts.append("\n".join(wrap(caution, options) for caution in CAUTIONS))
    return "\n\n".join(parts) + "\n"


def _file(file: FileResult, options: RenderOptions, *, measures: bool) -> Iterable[str]:
    groups = fold(file)
    told = [group for group in groups if group.accepted is None]
    yield _verdict(file, told, options)
    for failure in file.failures:
        yield wrap(f"Not judged: {failure.removeprefix(file.path).lstrip(',: ')}", options, hanging="  ")
    for group in told:
        yield _paragraph(group, file, options)
    accepted = [_accepted(group, file, options) for group in groups if group.accepted is not None]
    if accepted:
        yield "\n".join(accepted)
    if file.sizes:
        yield _looked_at(file, options)
    if options.verbose and file.seams:
        yield seam_table(file)
    if measures and file.in_force:
        yield measures_in_force(file, options)
    skipped = list(_skipped(file.skipped, options))
    if skipped:
        yield "\n".join(["Skipped:", *skipped])
    if file.notes:
        notes = (wrap(note.message, options, indent="  ", hanging="    ") for note in file.notes)
        yield "\n".join(["Of the file:", *notes])


def _sum(report: Report, options: RenderOptions) -> str:
    """How many files are good, how many are not, and which could not be judged."""
    unjudged = [file for file in report.files if file.failures]
    worst = [
        min((finding.severity.rank for finding in file.findings if finding.accepted is None), default=3)
        for file in report.files
    ]
    faulty = sum(rank < 2 for rank in worst)
    parts = [f"{count(len(report.files), 'file')}", f"{faulty or 'none'} with something to put right"]
    if unjudged:
        parts.append(f"{len(unjudged)} not judged or not whole ({_some([file.path for file in unjudged])})")
    return wrap(f"{parts[0]}: {', '.join(parts[1:])}.", options, hanging="  ")


def _verdict(file: FileResult, groups: Sequence[Group], options: RenderOptions) -> str:
    ranks = [group.severity.value for group in groups]
    faults, notes = len(ranks) - ranks.count("note"), ranks.count("note")
    if not file.sizes:
        verdict, kind = "could not be judged", "error"
    else:
        parts = []
        if faults:
            parts.append(f"{count(faults, 'thing')} to put right")
        if notes:
            parts.append(f"{count(notes, 'small thing')} to look at")
        verdict = " and ".join(parts) or "nothing to put right"
        kind = min(ranks, key=["error", "warning", "note"].index, default="good")
        if file.failures:
            verdict, kind = f"{verdict}, but not everything could be judged", "error"
        elif not file.seams:
            verdict += "; no seam was walked"
    return paint(printable(f"{file.path}: {verdict}"), kind, options)


def _paragraph(group: Group, file: FileResult, options: RenderOptions) -> str:
    finding = group.worst
    word = group.severity.value.capitalize()
    head = ", ".join(part for part in (word, _place(group, file)) if part)
    parts = [f"{head}: {_ended(finding.message)}", _range(group), _likewise(group)]
    if finding.at is not None:
        parts.append(f"In the drawing at x {_coordinate(finding.at.real)}, y {_coordinate(finding.at.imag)} mm.")
    parts.append(f"[{_rule(finding)}]")
    told = wrap(" ".join(part for part in parts if part), options, hanging="  ")
    lines = [paint(word, group.severity.value, options) + told[len(word) :]]
    if finding.advice:
        lines.append(wrap(f"Do: {_ended(finding.advice)}", options, indent="  ", hanging="      "))
    lines += _with_it(group.related, options)
    return "\n".join(lines)


def _rule(finding: Finding) -> str:
    rule = f"{finding.check}/{finding.code}"
    return rule if finding.plugin in ("", "builtin") else f"{rule}, a rule of {finding.plugin}"


def _with_it(related: Sequence[Group], options: RenderOptions) -> Iterable[str]:
    """What one broken size brings with it: a line each, or their number where there are many."""
    most = len(related) if options.verbose else MOST_RELATED
    for group in related[:most]:
        head = ", ".join(["With it", *_where(group.worst)])
        told = " ".join(part for part in (f"{head}: {_ended(group.worst.message)}", _likewise(group)) if part)
        yield wrap(f"{told} [{_rule(group.worst)}]", options, indent="  ", hanging="      ")
    if len(related) > most:
        rules = dict.fromkeys(_rule(group.worst) for group in related[most:])
        more = f"With it: {len(related) - most} more of {wording.listed(tuple(rules))}; --verbose tells each."
        yield wrap(more, options, indent="  ", hanging="      ")


def _place(group: Group, file: FileResult) -> str:
    """Where and in which sizes a finding is, as far as its message does not say so itself."""
    sizes = _sizes(group.sizes, file)
    if len(group.sizes) == 1 and _named_in(group.worst.message, sizes):
        sizes = ""
    return ", ".join([*_where(group.worst), sizes] if sizes else _where(group.worst))


def _where(finding: Finding) -> list[str]:
    parts = [f"seam {finding.seam}"] if finding.seam and f"seam {finding.seam}" not in finding.message else []
    names = finding.edges or finding.pieces
    if not all(_named_in(finding.message, name) for name in names):
        parts.append(_some(names))
    return parts


def _some(names: Sequence[str]) -> str:
    return wording.listed(names) if len(names) <= MOST_NAMES else count(len(names), "place")


def _likewise(group: Group) -> str:
    """The other pieces that the same is said of."""
    others = [_names_of(place) for place in group.places[1:]]
    if not others:
        return ""
    told = f"{len(others)} more" if len(others) > MOST_NAMES else wording.listed(others)
    return f"The same holds for {told}."


def _names_of(place: Place) -> str:
    finding = place[0]
    return f"seam {finding.seam}" if finding.seam else " and ".join(finding.edges or finding.pieces)


def _named_in(message: str, name: str) -> bool:
    """Whether a message names an edge or piece, and not only a longer name that holds its own."""
    return re.search(rf"(?<![\w.-]){re.escape(name)}(?![\w-])", message) is not None


def _sizes(sizes: Sequence[str], file: FileResult) -> str:
    """Sizes as a person names them: all of them, all but a few, a run from one to another, or one by one."""
    named = [size for size in sizes if size]
    if len(file.sizes) < 2 or not named:
        return ""
    if len(named) == len(file.sizes):
        return f"all {len(named)} sizes"
    others = [size for size in file.sizes if size not in named]
    if len(others) <= 2 and len(named) > 2 * len(others):
        return f"all sizes but {wording.listed(others)}"
    runs = _runs([list(file.sizes).index(size) for size in named])
    told = [
        f"{file.sizes[first]} to {file.sizes[last]}" if last > first + 1 else file.sizes[k]
        for first, last in runs
        for k in ([first] if last > first + 1 else range(first, last + 1))
    ]
    return f"size {told[0]}" if len(named) == 1 else f"sizes {wording.listed(told)}"


def _runs(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """Numbers that follow each other, as first and last."""
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = runs[-1][0], number
        else:
            runs.append((number, number))
    return runs


def _range(group: Group) -> str:
    """The span of amounts over the sizes, where they are not all told alike."""
    if len({finding.message for finding in group.places[0]}) == 1:
        return ""
    told = f"So in size {group.worst.size}"
    if group.range is None:
        return f"{told}, and likewise in the others."
    least, most = group.range
    return f"{told}; from {_amount(least)} in size {least.size} to {_amount(most)} in size {most.size}."


def _amount(finding: Finding) -> str:
    amount = abs(finding.measured or 0.0)
    return wording.angle(amount) if finding.unit == "degrees" else wording.length(amount)


def _coordinate(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f}"


def _ended(sentence: str) -> str:
    return sentence if sentence.endswith((".", "!", "?")) else sentence + "."


def _looked_at(file: FileResult, options: RenderOptions) -> str:
    seams = tuple(dict.fromkeys(seam.name for seam in file.seams))
    guessed = {seam.name for seam in file.seams if seam.inferred}
    sizes = tuple(size for size in file.sizes if size)
    parts = [_names(file.pieces, "piece"), _names(seams, "seam")]
    if guessed:
        parts[-1] += f", {len(guessed)} of them guessed for want of a plan"
    if file.junctions:
        parts.append(count(len({junction.corners for junction in file.junctions}), "junction"))
    if sizes:
        parts.append(_names(sizes, "size"))
    parts.append(count(len(file.checks), "check"))
    parts.append(f"by the plan {file.plan}" if file.plan else "without a plan")
    return wrap(f"Looked at: {'; '.join(parts)}.", options, hanging="  ")


def _names(names: Sequence[str], noun: str) -> str:
    if not names or len(names) > MOST_NAMES:
        return count(len(names), noun) if names else f"no {noun}"
    return f"{count(len(names), noun)} ({', '.join(names)})"


def _skipped(skipped: Sequence[Skipped], options: RenderOptions) -> Iterable[str]:
    """One line for each reason, with the checks and the places it holds for."""
    places: dict[tuple[str, str], dict[str, None]] = {}
    for one in skipped:
        edge = f"{one.piece}.{one.edge}" if one.piece and one.edge and "." not in one.edge else one.edge
        place = (f"seam {one.seam}" if one.seam else "") or edge or one.piece or ""
        places.setdefault((one.why, one.check), {})[place] = None
    checks: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for (why, check), where in places.items():
        checks.setdefault((why, tuple(place for place in where if place)), []).append(check)
    for (why, named), names in checks.items():
        most = len(named) if options.verbose else MOST_NAMES
        told = f" ({_places(named) if len(named) <= most else count(len(named), 'place')})" if named else ""
        yield wrap(f"{wording.listed(names)}{told}: {why}", options, indent="  ", hanging="    ")


def _places(names: Sequence[str]) -> str:
    seams = [name.removeprefix("seam ") for name in names if name.startswith("seam ")]
    others = [name for name in names if not name.startswith("seam ")]
    told = [f"{'seam' if len(seams) == 1 else 'seams'} {', '.join(seams)}"] if seams else []
    return "; ".join([*told, ", ".join(others)] if others else told)


def _accepted(group: Group, file: FileResult, options: RenderOptions) -> str:
    head = ", ".join(part for part in ("Accepted", _place(group, file)) if part)
    parts = (f"{head}: {_ended(group.worst.message)}", _range(group), _likewise(group))
    told = " ".join(part for part in parts if part)
    return wrap(f"{told} Because: {_ended(group.accepted or '')}", options, hanging="  ")


REPORT = ReportFormat("text", "for a person to read", render)
