"""The report for a person at the cutting table: the verdict first, then the worst first, then what was looked at."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seamcheck import wording
from seamcheck.report.base import RenderOptions, ReportFormat
from seamcheck.report.cautions import CAUTIONS
from seamcheck.report.layout import count, paint, printable, wrap

if TYPE_CHECKING:
    from seamcheck.result import FileResult, Finding, Report, Skipped

MOST_NAMES = 12  # a longer list of names is given as its number alone


@dataclass(frozen=True, slots=True)
class Entry:
    """What is told in one paragraph: one finding, or the same finding in several sizes, in the file's order."""

    findings: tuple[Finding, ...]

    @property
    def worst(self) -> Finding:
        """The finding that is told in full."""
        return min(self.findings, key=_weight)

    @property
    def accepted(self) -> bool:
        """Whether the shop has accepted it."""
        return self.worst.accepted is not None


def render(report: Report, options: RenderOptions) -> str:
    """All files one after the other, and the cautions once."""
    parts = ["\n\n".join(_file(file, options)) for file in report.files]
    if any(file.sizes for file in report.files):  # where nothing was judged there is nothing to be cautious about
        parts.append("\n".join(wrap(caution, options) for caution in CAUTIONS))
    return "\n\n".join(parts) + "\n"


def _file(file: FileResult, options: RenderOptions) -> Iterable[str]:
    entries = fold(file.findings)
    told = sorted((entry for entry in entries if not entry.accepted), key=lambda entry: _weight(entry.worst))
    yield _verdict(file, told, options)
    for failure in file.failures:
        yield wrap(f"Not judged: {failure.removeprefix(file.path).lstrip(',: ')}", options, hanging="  ")
    for entry in told:
        yield _paragraph(entry, file, options)
    if file.sizes:
        yield _looked_at(file, options)
    rest = [
        *_skipped(file.skipped, options),
        *(_accepted(entry, file, options) for entry in entries if entry.accepted),
        *(wrap(f"Note: {note.message}", options, hanging="  ") for note in file.notes),
    ]
    if rest:
        yield "\n".join(rest)


def fold(findings: Sequence[Finding]) -> list[Entry]:
    """Put findings together that say the same of several sizes.

    Where one size has several of the kind, say two notches on one edge, they go together in order if every size has
    as many; otherwise nobody can say which belongs to which, and each stands alone.
    """
    kinds: dict[object, dict[str, list[Finding]]] = {}
    for finding in findings:
        kind = (finding.check, finding.code, finding.seam, finding.pieces, finding.edges, finding.accepted)
        kinds.setdefault(kind, {}).setdefault(finding.size, []).append(finding)
    entries = []
    for sizes in kinds.values():
        if len({len(found) for found in sizes.values()}) == 1:
            entries += [Entry(found) for found in zip(*sizes.values(), strict=True)]
        else:
            entries += [Entry((finding,)) for found in sizes.values() for finding in found]
    return entries


def _weight(finding: Finding) -> tuple[int, float]:
    """Sorts the worst first: by severity; in one severity what cannot be measured, then by tolerances missed."""
    if finding.measured is None:
        return finding.severity.rank, float("-inf")
    return finding.severity.rank, -abs(finding.measured) / (finding.tolerance or 1.0)


def _verdict(file: FileResult, entries: Sequence[Entry], options: RenderOptions) -> str:
    ranks = [entry.worst.severity.value for entry in entries]
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


def _paragraph(entry: Entry, file: FileResult, options: RenderOptions) -> str:
    finding = entry.worst
    word = finding.severity.value.capitalize()
    rule = f"{finding.check}/{finding.code}"
    if finding.plugin not in ("", "builtin"):
        rule += f", a rule of {finding.plugin}"
    head = ", ".join(part for part in (word, _place(entry, file)) if part)
    parts = [f"{head}: {_ended(finding.message)}", _range(entry)]
    if finding.at is not None:
        parts.append(f"In the drawing at x {_coordinate(finding.at.real)}, y {_coordinate(finding.at.imag)} mm.")
    parts.append(f"[{rule}]")
    lines = wrap(" ".join(part for part in parts if part), options, hanging="  ")
    lines = paint(word, finding.severity.value, options) + lines[len(word) :]
    if finding.advice:
        lines += "\n" + wrap(f"Do: {_ended(finding.advice)}", options, indent="  ", hanging="      ")
    return lines


def _place(entry: Entry, file: FileResult) -> str:
    """Where a finding is, as far as its message does not say so itself."""
    finding = entry.worst
    parts = [f"seam {finding.seam}"] if finding.seam else []
    names = finding.edges or finding.pieces
    if not all(_named_in(finding.message, name) for name in names):
        parts.append(wording.listed(names) if len(names) <= MOST_NAMES else count(len(names), "place"))
    sizes = _sizes([one.size for one in entry.findings], file)
    return ", ".join([*parts, sizes] if sizes else parts)


def _named_in(message: str, name: str) -> bool:
    """Whether a message names an edge or piece, and not only a longer name that holds its own."""
    return re.search(rf"(?<![\w.-]){re.escape(name)}(?![\w-])", message) is not None


def _sizes(sizes: Sequence[str], file: FileResult) -> str:
    named = [size for size in sizes if size]
    if len(file.sizes) < 2 or not named:
        return ""
    if len(named) == len(file.sizes):
        return f"all {len(named)} sizes"
    return f"size {named[0]}" if len(named) == 1 else f"sizes {wording.listed(named)}"


def _range(entry: Entry) -> str:
    """The span of amounts over the sizes, where they are not all told alike."""
    if len({finding.message for finding in entry.findings}) == 1:
        return ""
    told = f"So in size {entry.worst.size}"
    measured = [finding for finding in entry.findings if finding.measured is not None]
    if len(measured) < 2:
        return f"{told}, and likewise in the others."
    least, most = (choose(measured, key=lambda one: abs(one.measured or 0.0)) for choose in (min, max))
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
    """One line for each check and reason, with the places it holds for."""
    places: dict[tuple[str, str], dict[str, None]] = {}
    for one in skipped:
        edge = f"{one.piece}.{one.edge}" if one.piece and one.edge and "." not in one.edge else one.edge
        place = (f"seam {one.seam}" if one.seam else "") or edge or one.piece or ""
        places.setdefault((one.check, one.why), {})[place] = None
    for (check, why), where in places.items():
        named = [place for place in where if place]
        listed = f" ({', '.join(named) if len(named) <= MOST_NAMES else count(len(named), 'place')})" if named else ""
        yield wrap(f"Skipped: {check}{listed}: {why}", options, hanging="  ")


def _accepted(entry: Entry, file: FileResult, options: RenderOptions) -> str:
    finding = entry.worst
    head = ", ".join(part for part in ("Accepted", _place(entry, file)) if part)
    return wrap(f"{head}: {_ended(finding.message)} Because: {_ended(finding.accepted or '')}", options, hanging="  ")


REPORT = ReportFormat("text", "for a person to read", render)
