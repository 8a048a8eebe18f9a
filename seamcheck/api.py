"""What a program of your own calls: read a pattern, check patterns, compare two, pair edges, alter and true a pattern, explain a check.

They judge by the same settings and plugins as the command line: those of the folder that a file lies in, as far as the user
trusts them, or those that you name. What they give
back is data, and tells itself as the command line does: `render` gives the text, `write` a file. The examples run in the
folder of the demo.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields
from os import PathLike, fspath
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from seamcheck.engine.report_format import RenderOptions, ReportFormat, format_of
from seamcheck.engine.result import Report
from seamcheck.errors import SeamcheckError
from seamcheck.files import write_text
from seamcheck.pairing.proposal import FORMATS as PAIRING_FORMATS
from seamcheck.pairing.proposal import Proposal
from seamcheck.spelling import nearest

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from seamcheck.altering.rehearse import Rehearsal
    from seamcheck.altering.run import AlteredFile
    from seamcheck.comparison import Comparison
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Request
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.pattern.model import Pattern
    from seamcheck.truing.changes import TruedPiece
    from seamcheck.truing.propose import CorrectionProposal
    from seamcheck.truing.run import TruedFile

FilePath = str | PathLike[str]
UnitWord = Literal["mm", "cm", "in"]
LineWord = Literal["sew", "cut"]


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class WritableReport(Report):
    """A report that tells itself in every format there is, those that plugins bring included."""

    settings: str | None = None
    plugins: bool = True

    def render(self, format: str = "text", *, width: int = 80, verbose: bool = False, only: str | None = None) -> str:
        """The text of the report in a format, as `seamcheck check --format` prints it.

        `width` is in characters, for formats that break lines; `verbose` tells all that was looked at; `only` is the one
        seam, piece or corner to draw. SeamcheckError when there is no such format, or when it draws and no curves were kept.
        """
        form = _format(format, self._formats())
        if form.geometry and any(file.sizes and file.geometry is None for file in self.files):
            raise SeamcheckError(
                f"{form.name} draws, and the report has kept no curves", remedy="check with geometry=True"
            )
        return form.render(self, RenderOptions(width=width, verbose=verbose, only=only))

    def write(
        self, path: FilePath, format: str | None = None, *, verbose: bool = False, only: str | None = None
    ) -> None:
        """Write the report to a file, whole or not at all; the suffix tells the format where none is named.

        SeamcheckError when neither tells a format, or when the file cannot be written.
        """
        known = [form.name for form in self._formats()]
        text = self.render(_named_format(path, format, known), verbose=verbose, only=only)
        write_text(text, fspath(path))

    def _formats(self) -> Sequence[ReportFormat]:
        from seamcheck.engine.workspace import Shops

        return Shops(settings=self.settings, plugins=self.plugins).formats(
            [file.path for file in self.files] or ["."]
        )


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class WritableProposal(Proposal):
    """Proposed seams that are written as a plan, a picture of it, the page to confirm it on, or data."""

    path: str
    plan_path: Path | None = None

    def render(self, format: str = "toml") -> str:
        """The proposal as "toml" (a seam plan), "svg", "html" or "json"; a plan that was there is kept to the letter."""
        from seamcheck.report.pairing.files import rendered

        return rendered(self, _known_format(format, PAIRING_FORMATS), self.path, self.plan_path)

    def write(self, path: FilePath, format: str | None = None) -> None:
        """Write the proposal to a file, whole or not at all; the suffix tells the format where none is named."""
        write_text(self.render(_named_format(path, format, PAIRING_FORMATS)), fspath(path))


@dataclass(frozen=True, slots=True, kw_only=True)
class TruedPattern:
    """A pattern with its corrections, in memory: what is proposed, what is drawn anew, what is left."""

    file: TruedFile
    request: Request = field(repr=False)
    settings: Settings = field(repr=False)
    registry: Registry = field(repr=False)

    def __repr__(self) -> str:
        """Return one line."""
        return repr(self.file)

    @property
    def proposals(self) -> tuple[CorrectionProposal, ...]:
        """The findings that a redrawn line mends, each with its alternatives: size by size, in the order of their numbers."""
        return tuple(proposal for size in self.file.sizes for proposal in size.proposals)

    @property
    def changes(self) -> tuple[TruedPiece, ...]:
        """What is drawn anew, piece by piece."""
        return self.file.changes

    @property
    def left(self) -> tuple[Finding, ...]:
        """The findings that no redrawn line mends and nobody has accepted."""
        return self.file.left

    @property
    def failures(self) -> tuple[str, ...]:
        """What could not be judged, one sentence each."""
        return self.file.failures

    def render(self, format: str = "text", *, width: int = 80) -> str:
        """The proposals as "text" or as "json"."""
        from seamcheck.report.truing.told import RENDERERS

        return RENDERERS[_known_format(format, RENDERERS)](self.file, RenderOptions(width=width), None)

    def write(self, path: FilePath, *, replace: bool = False) -> FileResult:
        """Write the trued pattern in the form of the file that was read, read it back, and give what check says of it.

        SeamcheckError when a file is there and `replace` is not set, or when it cannot be written or would not read back.
        """
        from seamcheck.truing.writing import write_trued

        return write_trued(self.file, fspath(path), self.request, self.registry, self.settings, force=replace)

    def draw(
        self,
        path: FilePath,
        *,
        scale: float | None = None,
        paper: Literal["a4", "letter"] = "a4",
        shown: Literal["changed", "all"] = "changed",
        replace: bool = False,
    ) -> tuple[str, ...]:
        """Draw the pieces that were drawn anew, or all: an SVG fitted to a page, or a PDF to print at true scale; `scale` 1 is true.

        Gives what is to be said of the picture, a sentence each: of letters that stand in no font of this machine.
        """
        from seamcheck.report.truing.write import write_picture

        return write_picture(self.file, fspath(path), scale, paper, force=replace, shown=shown)


def read(
    path: FilePath,
    *,
    plan: FilePath | None = None,
    sizes: Iterable[str] = (),
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    settings: FilePath | None = None,
    plugins: bool = True,
) -> Pattern:
    """Read a pattern: its pieces with edges, corners, notches and grain; lengths in mm, angles in degrees.

    `plan` is the seam plan, else the one beside the file; `sizes` reads only these; `units`, `line` and `allowance` (mm) say
    what the file leaves open; without `plugins` only the built-in readers are used. `settings` is a file that you answer for, in
    the stead of those of the folder, whose plugin files are run only where the user trusts them (`seamcheck trust FOLDER`).
    SeamcheckError, one sentence, when the file, its plan, its settings or their plugins cannot be used.

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

    shop, registry = Shops(settings=_named(settings), plugins=plugins).of(fspath(path))
    request = _request(plan=plan, sizes=sizes, units=units, line=line, allowance=allowance)
    return read_by(fspath(path), request, registry, shop)[0]


def check(
    paths: FilePath | Iterable[FilePath],
    *,
    plan: FilePath | None = None,
    sizes: Iterable[str] = (),
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    settings: FilePath | None = None,
    plugins: bool = True,
    jobs: int | None = 1,
    executor: Executor | None = None,
    scheduler: str | None = None,
    send: Literal["bytes", "paths"] = "bytes",
    geometry: bool = True,
) -> WritableReport:
    """Walk every seam of one file or of several, in every size, and say what no longer trues.

    `jobs` is how many processes judge the files, None as many as pay; or give any `executor` of `concurrent.futures`, which is
    left open; or the address of the `scheduler` of a cluster of dask.distributed (extra `cluster`), to which files are sent as bytes, or by their paths
    where all machines share them (`send`): the results come in the order of `paths` anyway. What could not be judged raises nothing: it is in the
    report, `report.failed` and the `failures` of its file. With `geometry` the curves that were judged are kept, which
    formats that draw need; without it thousands of files take less memory. The other arguments are those of `read`.

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

    It is told in any format; a suffix says which:

    >>> import json, tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     report.write(f"{folder}/report.html")
    ...     report.write(f"{folder}/findings.txt", "markdown")
    >>> json.loads(report.render("json"))["summary"]["error"] == report.summary["error"]
    True

    Several files, by threads:

    >>> from concurrent.futures import ThreadPoolExecutor
    >>> with ThreadPoolExecutor(2) as executor:
    ...     report = seamcheck.check(["ferryhand.svg", "ferryhand-cad.dxf"], executor=executor)
    >>> [(file.path, len(file.findings)) for file in report.files]
    [('ferryhand.svg', 0), ('ferryhand-cad.dxf', 0)]
    """
    from seamcheck.engine.jobs import judge_files
    from seamcheck.engine.workspace import Shops
    from seamcheck.report import notebook  # noqa: F401  it gives what is returned its picture
    from seamcheck.truing.recipes import with_recipes

    names = _names(paths)
    request = _request(plan=plan, sizes=sizes, units=units, line=line, allowance=allowance, geometry=geometry)
    shops = Shops(settings=_named(settings), plugins=plugins, recipes=with_recipes)
    judged = judge_files(names, request, shops=shops, jobs=jobs, executor=executor, scheduler=scheduler, send=send)
    files = tuple(judged)
    return WritableReport(files=files, rules=shops.rules(names), settings=shops.settings, plugins=plugins)


def check_each(
    paths: FilePath | Iterable[FilePath],
    *,
    plan: FilePath | None = None,
    sizes: Iterable[str] = (),
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    settings: FilePath | None = None,
    plugins: bool = True,
    jobs: int | None = 1,
    executor: Executor | None = None,
    scheduler: str | None = None,
    send: Literal["bytes", "paths"] = "bytes",
    geometry: bool = False,
) -> Iterator[FileResult]:
    """Check files and give the result of each as soon as it and those before it are judged, in the order of `paths`.

    Nothing is kept of a result that was given, so thousands of files take no more memory than a few. The arguments are
    those of `check`; the first file is begun when the first result is asked for.

    >>> import seamcheck
    >>> for file in seamcheck.check_each(["ferryhand.svg", "ferryhand-cad.dxf"]):
    ...     print(file.path, len(file.findings), len(file.failures))
    ferryhand.svg 0 0
    ferryhand-cad.dxf 0 0
    """
    from seamcheck.engine.jobs import judge_files
    from seamcheck.engine.workspace import Shops

    request = _request(plan=plan, sizes=sizes, units=units, line=line, allowance=allowance, geometry=geometry)
    shops = Shops(settings=_named(settings), plugins=plugins)
    return judge_files(
        _names(paths), request, shops=shops, jobs=jobs, executor=executor, scheduler=scheduler, send=send
    )


def compare(
    before: FilePath,
    after: FilePath,
    *,
    plan: FilePath | None = None,
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    settings: FilePath | None = None,
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
        read(path, plan=plan, units=units, line=line, allowance=allowance, settings=settings, plugins=plugins)
        for path in (before, after)
    ]
    return comparison.compare(*patterns)


def pair(
    path: FilePath,
    *,
    like: FilePath | None = None,
    plan: FilePath | None = None,
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    settings: FilePath | None = None,
    plugins: bool = True,
) -> WritableProposal:
    """Propose which edges of a pattern are sewn together, behind the seams of its plan if it has one.

    `like` is a pattern of the same family with its plan, or a folder of such, which lends names, cuts and seams. The other
    arguments are those of `read`. SeamcheckError when the file cannot be read or holds no piece, or nothing can be lent.

    >>> import seamcheck
    >>> proposal = seamcheck.pair("ferryhand-cad.dxf")
    >>> len(proposal.pattern.pieces), proposal.open_edges
    (7, ())
    >>> outseam = next(one for one in proposal.seams if one.seam.name == "outseam")
    >>> outseam.standing.value, [str(use) for side in outseam.seam.sides for use in side]
    ('written', ['front.outseam', 'back.outseam'])

    The plan, and the page to confirm it on:

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     proposal.write(f"{folder}/ferryhand.seams.toml")
    ...     proposal.write(f"{folder}/ferryhand.pairs.html")
    """
    from seamcheck.engine.propose import propose_seams
    from seamcheck.engine.read import plan_for
    from seamcheck.engine.workspace import Shops

    name = fspath(path)
    shops = Shops(settings=_named(settings), plugins=plugins)
    shop, registry = shops.of(name)
    request = _request(plan=plan, units=units, line=line, allowance=allowance)
    remembered = None
    if like is not None:
        from seamcheck.engine.lending import memories

        remembered = memories(fspath(like), name, shops)
    proposal = propose_seams(name, request, registry, shop, like=remembered)
    held = {one.name: getattr(proposal, one.name) for one in fields(proposal)}
    return WritableProposal(**held, path=name, plan_path=plan_for(name, request))


def true(
    path: FilePath,
    *,
    plan: FilePath | None = None,
    before: FilePath | None = None,
    choose: Iterable[str] = (),
    sizes: Iterable[str] = (),
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    settings: FilePath | None = None,
    plugins: bool = True,
) -> TruedPattern:
    """Propose corrections for what check finds in a pattern: only what lowers a finding and raises no other.

    `before` is the file before the alteration, of which what changed gives way. `choose` names alternatives, "2b" the
    second of proposal 2. The other arguments are those of `read`. SeamcheckError when the file cannot be read or has no
    plan; ValueError for a choice that is none.

    >>> import seamcheck
    >>> trued = seamcheck.true(
    ...     "altered/full-seat-left.svg", plan="ferryhand.seams.toml", before="ferryhand.svg"
    ... )
    >>> [(one.finding.check, len(one.alternatives)) for one in trued.proposals]
    [('edge-blend', 1)]
    >>> [change.piece for change in trued.changes], trued.left
    (['back'], ())

    The trued pattern, and the picture of what was drawn anew:

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     result = trued.write(f"{folder}/trued.svg")
    ...     said = trued.draw(f"{folder}/picture.pdf")
    >>> result.findings
    ()
    """
    from seamcheck.engine.workspace import Shops
    from seamcheck.truing.propose import Wishes, choices
    from seamcheck.truing.run import true_file

    name = fspath(path)
    shop, registry = Shops(settings=_named(settings), plugins=plugins).of(name)
    request = _request(plan=plan, sizes=sizes, units=units, line=line, allowance=allowance)
    earlier = fspath(before) if before else None
    trued = true_file(name, request, registry, shop, Wishes(choices=choices(choose)), earlier)
    return TruedPattern(file=trued, request=request, settings=shop, registry=registry)


@dataclass(frozen=True, slots=True, kw_only=True)
class AlteredPattern:
    """An alteration carried out in memory: what it does, and what is left to put right."""

    file: AlteredFile
    rehearsal: Rehearsal
    request: Request = field(repr=False)
    settings: Settings = field(repr=False)
    registry: Registry = field(repr=False)

    def __repr__(self) -> str:
        """Return one line."""
        return f"<Altered {self.file.path}: {', '.join(self.file.pieces)}>"

    @property
    def left(self) -> tuple[Finding, ...]:
        """The findings that remain and that nobody has accepted."""
        return self.file.trued.left

    def render(self, format: str = "text", *, width: int = 80) -> str:
        """What it does as "text", as "json", or as "svg": before and after, with the cuts."""
        from seamcheck.report.altering.forms import RENDERERS

        return RENDERERS[_known_format(format, RENDERERS)](self.rehearsal, RenderOptions(width=width), ())

    def write(self, path: FilePath, *, replace: bool = False) -> FileResult:
        """Write the altered pattern in the form of the file that was read, its recipe and its plan beside it; give what check says of it.

        SeamcheckError when a file is there already and `replace` is not set, or when it cannot be written as it was meant.
        """
        from seamcheck.altering.writing import write_altered

        return write_altered(self.file, fspath(path), self.request, self.registry, self.settings, force=replace)[0]


def alter(
    path: FilePath,
    recipe: str | FilePath,
    *,
    amount: float | None = None,
    piece: str = "",
    leave: bool = False,
    plan: FilePath | None = None,
    sizes: Iterable[str] = (),
    units: UnitWord | None = None,
    line: LineWord | None = None,
    allowance: float | None = None,
    settings: FilePath | None = None,
    plugins: bool = True,
) -> AlteredPattern:
    """Carry out an alteration in memory: a fit by name, of which `amount` is mm, or a recipe, by the path of its file (.toml) or as its text.

    With `leave` pieces stay as they are taped. The other arguments are those of `read`. SeamcheckError when it cannot be done.

    >>> import seamcheck
    >>> altered = seamcheck.alter("ferryhand.svg", "full-seat", amount=12.7)
    >>> [(one.edge, round(one.after - one.before, 1)) for one in altered.rehearsal.sizes[0].lengths], altered.left
    ([('crotch', 12.7)], ())
    """
    from seamcheck.altering.rehearse import rehearsed
    from seamcheck.altering.run import alter_file
    from seamcheck.config.recipe_file import parse_recipe, read_recipe
    from seamcheck.engine.workspace import Shops
    from seamcheck.pattern.recipe import FitStep, Recipe

    name, said = fspath(path), fspath(recipe)
    shop, registry = Shops(settings=_named(settings), plugins=plugins).of(name)
    request = _request(plan=plan, sizes=sizes, units=units, line=line, allowance=allowance)
    if "\n" in said:
        what = parse_recipe(said)
    elif said.endswith(".toml"):
        what = read_recipe(said)
    else:
        what = Recipe(steps=(FitStep(piece=piece, fit=said, amount=amount),))
    altered = alter_file(name, what, request, registry, shop, leave=leave)
    return AlteredPattern(
        file=altered, rehearsal=rehearsed(altered), request=request, settings=shop, registry=registry
    )


def explain(
    check: str | None = None,
    *,
    folder: FilePath = ".",
    settings: FilePath | None = None,
    plugins: bool = True,
    width: int = 80,
) -> str:
    """What a check means, why it matters at the machine and how to put it right; of all of them a line each without a name.

    `check` may be one code of a check, or a topic ("plan", "rules", "words" ...). It is told by the settings and plugins of a folder, for lines of so many
    characters. SeamcheckError, with the nearest name, where there is no such check or topic.

    >>> import seamcheck
    >>> print(seamcheck.explain("seam-length/short").splitlines()[2])
    Holds when the two sides of every seam differ by the planned ease or ratio.
    """
    from seamcheck.config.settings import settings_for, settings_named
    from seamcheck.engine.plugins import load
    from seamcheck.report.explain import explained, wants_all

    shop = settings_for(Path(folder), settings_named(_named(settings)))
    registry = load(shop, checks_only=not wants_all(check), plugins=plugins)
    return explained(check, registry, shop, RenderOptions(width=width))


def _named(settings: FilePath | None) -> str | None:
    return None if settings is None else fspath(settings)


def _names(paths: FilePath | Iterable[FilePath]) -> list[str]:
    return [fspath(paths)] if isinstance(paths, str | PathLike) else [fspath(path) for path in paths]


def _format(name: str, formats: Sequence[ReportFormat]) -> ReportFormat:
    known = {form.name: form for form in reversed(formats)}
    return known[_known_format(name, sorted(known))]


def _known_format(name: str, known: Iterable[str]) -> str:
    known = tuple(known)
    if name not in known:
        raise SeamcheckError(f'there is no format "{name}"', remedy=nearest(name, known, "format"))
    return name


def _named_format(path: FilePath, name: str | None, known: Sequence[str]) -> str:
    found = name or format_of(fspath(path), known)
    if found is None:
        raise SeamcheckError(
            "the name does not tell which format is meant", path=fspath(path), remedy='say it with format="..."'
        )
    return found


def _request(*, plan: FilePath | None, **asked: Any) -> Request:
    from seamcheck.engine.read import Request

    sizes = tuple(asked.pop("sizes", ()))
    return Request(plan=None if plan is None else Path(plan), sizes=sizes, **asked)
