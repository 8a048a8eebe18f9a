"""A trued pattern and its picture written to files: whole or not at all, and read back before they take their names."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.amounts import UNITS
from seamcheck.checks.base import Severity
from seamcheck.engine import judge
from seamcheck.engine.result import FileResult, Finding
from seamcheck.errors import InputError, SeamcheckError
from seamcheck.files import replacing, unwritten
from seamcheck.truing.edits import Edit, edits
from seamcheck.truing.run import TruedFile
from seamcheck.truing.weigh import raised

SIZE_RUN = "size-run"  # the check that looks from size to size

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Request


def write_trued(
    trued: TruedFile,
    output: str,
    request: Request,
    registry: Registry,
    settings: Settings,
    *,
    force: bool,
    plan: Path | None = None,
) -> FileResult:
    """Write the trued pattern in the form of the file that was read, and check what was written, by the plan that it was read by or another.

    By way of a temporary file beside it. SeamcheckError when the file exists and `force` is not set, when the form
    cannot be written, or when what was written does not read back as it was drawn.
    """
    target = free(output, force=force)
    if target.suffix.lower() != Path(trued.path).suffix.lower():
        raise SeamcheckError(
            f"the pattern is written in the form of the file read, {Path(trued.path).suffix}",
            path=output,
            remedy=f"name a file that ends in {Path(trued.path).suffix}",
        )
    data = Path(trued.path).read_bytes()
    new = _writer(trued.reading.drawing.format)(data, trued)
    assert trued.reading.plan is not None
    # Companions, such as a rule table, are found beside the file that was read.
    again = replace(request, plan=plan or Path(trued.reading.plan.path))
    try:
        with replacing(target, new) as part:
            result = judge.check_file(str(part), again, registry, settings)
            _same_as_drawn(trued, result, str(part))
    except OSError as error:
        raise unwritten(error, output) from None
    return replace(result, path=output)


def free(output: str, *, force: bool) -> Path:
    """Where to write; SeamcheckError when a file is there already and `force` is not set."""
    target = Path(output)
    if target.exists() and not force:
        raise SeamcheckError(
            "the file exists already", path=output, remedy="name another, or replace it with --force"
        )
    return target


def _same_as_drawn(trued: TruedFile, result: FileResult, part: str) -> None:
    """Refuse a file that reads back with findings which the corrected pattern has not."""
    if result.failures and not trued.failures:
        raise SeamcheckError(
            f"what would be written does not read back ({result.failures[0].where_named(part)})",
            path=trued.path,
            remedy="nothing was written; please report it",
        )
    for truing in trued.sizes:
        size = truing.after.size
        # A note is within what is tolerated: the vertices of a digitised line alone may bring one about.
        counts = (
            f for f in result.findings if f.size == size and f.severity is not Severity.NOTE and _is_of(f, trued)
        )
        mine = replace(result, findings=tuple(counts))
        worse = raised(truing.left, mine)
        if worse is not None:
            raise SeamcheckError(
                f"what would be written reads back with a finding that is not meant ({worse.message})",
                path=trued.path,
                remedy="nothing was written; please report it",
            )


def _is_of(finding: Finding, trued: TruedFile) -> bool:
    """Whether a finding says something of the sizes that were trued, and nothing of those beside them that were left out."""
    return finding.check != SIZE_RUN or len(trued.reading.pattern.sizes) == len(trued.reading.sheet.sizes)


Writer = Callable[[bytes, TruedFile], bytes]


def _writer(form: str) -> Writer:
    writers: dict[str, Writer] = {"svg": _svg, "dxf": _dxf, "apparel dxf": _apparel}
    form = form.casefold()
    if form not in writers:
        raise InputError(f"a {form} cannot be written yet", remedy="save the pattern as SVG or DXF")
    return writers[form]


def _all_edits(trued: TruedFile) -> list[Edit]:
    return [edit for truing in trued.sizes for edit in edits(truing.before, truing.after)]


def _svg(data: bytes, trued: TruedFile) -> bytes:
    from seamcheck.truing.write_svg import write_svg

    return write_svg(data, trued.path, trued.reading.drawing.lines, _all_edits(trued))


def _dxf(data: bytes, trued: TruedFile) -> bytes:
    from seamcheck.truing.write_dxf import write_dxf

    return write_dxf(data, trued.path, trued.reading.drawing.lines, _all_edits(trued))


def _apparel(data: bytes, trued: TruedFile) -> bytes:
    from seamcheck.truing.write_apparel import write_apparel

    return write_apparel(
        data, trued.path, UNITS[trued.reading.drawing.units], [(t.before, t.after) for t in trued.sizes]
    )
