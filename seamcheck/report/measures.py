"""By what measure a run judged, for the eye: every seam as walked, and the tolerances and severities in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck import wording
from seamcheck.report.layout import printable, wrap

if TYPE_CHECKING:
    from seamcheck.report.base import RenderOptions
    from seamcheck.result import FileResult, InForce, WalkedSeam

BANDS = "bands"
DEFAULT = "default"


def seam_table(file: FileResult) -> str:
    """Every seam in every size: both lengths, what they differ by and what is allowed, in mm."""
    head = ("seam", "size", "first", "second", "difference", "allowed")
    rows = [head, *(_seam(seam) for seam in file.seams)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(head))]
    lines = ["Seams in mm:"]
    for row in rows:
        cells = [
            cell.ljust(width) if k < 2 else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append(printable("  " + "  ".join(cells).rstrip()))
    return "\n".join(lines)


def _seam(seam: WalkedSeam) -> tuple[str, ...]:
    low, high = (round(end, 2) + 0.0 for end in seam.allowed)
    allowed = f"{low:.2f}" if low == high else f"{low:.2f} to {high:.2f}"
    lengths = (f"{round(one, 2) + 0.0:.2f}" for one in (seam.first.length, seam.second.length, seam.difference))
    return (seam.name, seam.size, *lengths, allowed)


def measures_in_force(file: FileResult, options: RenderOptions) -> str:
    """Tolerance and severity of every check, and where each comes from that is not the default."""
    of_check: dict[str, list[InForce]] = {}
    for row in file.in_force:
        of_check.setdefault(row.check, []).append(row)
    head = (
        "In force, by default where no source is named (up to half a tolerance nothing is said, up to the tolerance it is a "
        "note, up to twice a warning, beyond that an error):"
    )
    lines = [wrap(head, options, hanging="  ")]
    for check, rows in of_check.items():
        name_codes = len([row for row in rows if row.codes]) > 1
        told = "; ".join(_row(row, name_codes=name_codes) for row in rows)
        lines.append(wrap(f"{check}: {told}", options, indent="  ", hanging="    "))
    return "\n".join(lines)


def _row(row: InForce, *, name_codes: bool) -> str:
    parts = []
    if row.tolerance is not None:
        say = wording.angle if row.unit == "degrees" else wording.length
        parts.append(f"{say(row.tolerance)}{_origin(row.tolerance_from)}")
    if row.severity != BANDS:
        parts.append(f"{_graded(row.severity)}{_origin(row.severity_from)}")
    where = list(row.codes if name_codes else ()) or [
        place for place in row.places if not row.tolerance_from.endswith(place)
    ]
    return f"{wording.listed(where)} {', '.join(parts)}".strip()


def _graded(severity: str) -> str:
    return "turned off" if severity == "off" else f"always {'an' if severity == 'error' else 'a'} {severity}"


def _origin(source: str) -> str:
    return "" if source == DEFAULT else f" from {source}"
