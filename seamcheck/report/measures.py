"""By what measure a run judged, for the eye: every seam as walked, and the tolerances and severities in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.report import telling
from seamcheck.report.layout import aligned, width_of, wrap

if TYPE_CHECKING:
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.engine.result import FileResult, WalkedSeam


HEAD = ("seam", "size", "first", "second", "difference", "allowed")


def seam_table(file: FileResult, options: RenderOptions) -> str:
    """Every seam in every size: both lengths, what they differ by and what is allowed, in mm; a line each where no table fits."""
    rows = [HEAD, *(_seam(seam) for seam in file.seams)]
    table = aligned(rows, right=range(2, len(HEAD)))
    if max(map(len, table)) <= width_of(options):
        return "\n".join(["Seams in mm:", *table])
    told = (
        f"{name}{f', size {size}' if size else ''}: {first} and {second}, difference {difference}, allowed {allowed}"
        for name, size, first, second, difference, allowed in rows[1:]
    )
    return "\n".join(["Seams in mm:", *(wrap(one, options, indent="  ", hanging="    ") for one in told)])


def _seam(seam: WalkedSeam) -> tuple[str, ...]:
    low, high = map(_signed, seam.allowed)
    allowed = low if low == high else f"{low} to {high}"
    lengths = map(_signed, (seam.first.length, seam.second.length, seam.difference))
    return (seam.name, seam.size, *lengths, allowed)


def _signed(mm: float) -> str:
    """As a sentence tells it, with its sign; what rounds to nothing has none."""
    told = amounts.digits(mm)
    return f"-{told}" if mm < 0 and float(told) else told


def measures_in_force(file: FileResult, options: RenderOptions) -> str:
    """Tolerance and severity of every check, and where each comes from that is not the default."""
    head = f"In force, by default where no source is named ({telling.BANDS_TOLD}):"
    lines = [wrap(head, options, hanging="  ")]
    for check, told in telling.in_force(file):
        lines.append(wrap(f"{check}: {told}", options, indent="  ", hanging="    "))
    return "\n".join(lines)
