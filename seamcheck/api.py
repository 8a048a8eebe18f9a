"""What a program of your own calls: read a pattern, check patterns, compare two.

They judge by the same settings and plugins as the command line: those of the folder that a file lies in. The examples run
in the folder of the demo.
"""

from __future__ import annotations

from collections.abc import Iterable
from os import PathLike, fspath
from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from seamcheck.comparison import Comparison
    from seamcheck.engine.read import Request
    from seamcheck.engine.result import Report
    from seamcheck.pattern.model import Pattern

FilePath = str | PathLike[str]
UnitWord = Literal["mm", "cm", "in"]
LineWord = Literal["sew", "cut"]


def read(
    path: FilePath,
    *,
    plan: FilePath | None = None,
    sizes: Iterable[str] = (),
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    plugins: bool = True,
) -> Pattern:
    """Read a pattern: its pieces with edges, corners, notches and grain; lengths in mm, angles in degrees.

    `plan` is the seam plan, else the one beside the file; `sizes` reads only these; `units`, `line` and `allowance` (mm) say
    what the file leaves open; without `plugins` only the built-in readers are used. SeamcheckError, one sentence, when the
    file, its plan or its settings cannot be used.

    >>> import seamcheck
    >>> pattern = seamcheck.read("ferryhand.svg")
    >>> pattern.name, pattern.sizes
    ('Ferryhand trousers', ('40',))
    >>> front = next(piece for piece in pattern.pieces if piece.name == "front")
    >>> round(front.edge("outseam").length, 1)
    1016.6
    >>> [notch.count for notch in front.edge("outseam").notches]
    [1, 1]

    In a notebook a pattern shows itself as a picture:

    >>> pattern._repr_svg_()[:4]
    '<svg'
    """
    from seamcheck.engine.read import read as read_by
    from seamcheck.engine.workspace import Shops
    from seamcheck.report import notebook  # noqa: F401  it gives what is returned its picture

    settings, registry = Shops(plugins=plugins).of(fspath(path))
    request = _request(plan=plan, sizes=sizes, units=units, line=line, allowance=allowance)
    return read_by(fspath(path), request, registry, settings)[0]


def check(
    paths: FilePath | Iterable[FilePath],
    *,
    plan: FilePath | None = None,
    sizes: Iterable[str] = (),
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    plugins: bool = True,
    jobs: int | None = 1,
    executor: Executor | None = None,
) -> Report:
    """Walk every seam of one file or of several, in every size, and say what no longer trues.

    `jobs` is how many processes judge the files, None as many as pay; or give any `executor` of `concurrent.futures`, which is
    left open: the results come in the order of `paths` either way. What could not be judged raises nothing: it is in the
    report, `report.failed` and the `failures` of its file. The other arguments are those of `read`.

    >>> import seamcheck
    >>> report = seamcheck.check("altered/prominent-calf-left.svg", plan="ferryhand.seams.toml")
    >>> report.failed
    False
    >>> worst = report.findings[0]
    >>> worst.check, worst.severity.value, worst.seam, round(worst.measured, 2)
    ('seam-length', 'error', 'outseam', 6.35)
    >>> print(worst.message.split(". ")[0])
    back.outseam is 6.4 mm (1/4 in) too short to be sewn to front.outseam
    >>> [seam.name for seam in report.files[0].seams if abs(seam.difference) > 0.8]
    ['outseam']

    Several files, by threads:

    >>> from concurrent.futures import ThreadPoolExecutor
    >>> with ThreadPoolExecutor(2) as executor:
    ...     report = seamcheck.check(["ferryhand.svg", "ferryhand-cad.dxf"], executor=executor)
    >>> [(file.path, len(file.findings)) for file in report.files]
    [('ferryhand.svg', 0), ('ferryhand-cad.dxf', 0)]
    """
    from seamcheck.engine.jobs import judge_files
    from seamcheck.engine.result import Report
    from seamcheck.engine.workspace import Shops
    from seamcheck.report import notebook  # noqa: F401  it gives what is returned its picture

    names = [fspath(paths)] if isinstance(paths, str | PathLike) else [fspath(path) for path in paths]
    request = _request(plan=plan, sizes=sizes, units=units, line=line, allowance=allowance)
    files = tuple(judge_files(names, request, plugins=plugins, jobs=jobs, executor=executor))
    return Report(files=files, rules=Shops(plugins=plugins).rules(names))


def compare(
    before: FilePath,
    after: FilePath,
    *,
    plan: FilePath | None = None,
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    plugins: bool = True,
) -> Comparison:
    """What an alteration changed between two files, piece by piece; the arguments are those of `read`.

    >>> import seamcheck
    >>> comparison = seamcheck.compare(
    ...     "ferryhand.svg", "altered/prominent-calf-left.svg", plan="ferryhand.seams.toml"
    ... )
    >>> [change.name for change in comparison.pieces if not change.unchanged]
    ['back']
    >>> round(comparison.edge("back", "outseam", "40").change, 2)
    -6.35
    """
    from seamcheck import comparison

    patterns = [
        read(path, plan=plan, units=units, line=line, allowance=allowance, plugins=plugins)
        for path in (before, after)
    ]
    return comparison.compare(*patterns)


def _request(
    *, plan: FilePath | None, sizes: Iterable[str], units: str | None, line: str | None, allowance: float | None
) -> Request:
    from seamcheck.engine.read import Request

    return Request(
        plan=None if plan is None else Path(plan), sizes=tuple(sizes), units=units, line=line, allowance=allowance
    )
