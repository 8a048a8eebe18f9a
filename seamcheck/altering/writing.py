"""An altered pattern written in the form of the file that was read, its recipe and its plan beside it; and undone again."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.altering.run import AlteredFile
from seamcheck.altering.undo import PatchError, digest, patch, undone
from seamcheck.amounts import UNITS
from seamcheck.config.plan_file import find_plan, format_plan, parse_plan
from seamcheck.config.recipe_file import SUFFIX, format_recipe, parse_recipe
from seamcheck.config.toml import key_lines, parse, read_text
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import read_options, read_whole
from seamcheck.errors import RecipeError, SeamcheckError
from seamcheck.exact import steady
from seamcheck.files import replacing, unwritten, write_text
from seamcheck.pattern.plan import PiecePlan, Plan
from seamcheck.pattern.recipe import Recipe
from seamcheck.reading.base import Source
from seamcheck.truing.writing import free, write_trued

if TYPE_CHECKING:
    from seamcheck.altering.one_side import OtherSide
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Request
    from seamcheck.engine.result import FileResult

PLAN_SUFFIX = ".seams.toml"
APPAREL = "apparel dxf"
READS_BACK = 0.05  # mm
SAME = 0.5  # mm: a size whose corners are this near to those of the plan is the one that it was written for


def recipe_beside(path: str | Path) -> Path:
    """Where the recipe of an altered pattern is kept."""
    path = Path(path)
    return path.with_name(path.stem + SUFFIX)


def write_altered(
    altered: AlteredFile,
    output: str,
    request: Request,
    registry: Registry,
    settings: Settings,
    *,
    force: bool,
    only: str = "",
) -> tuple[FileResult, tuple[str, ...]]:
    """Write the altered pattern, its recipe, and its plan where none is there; what was read back, and the paths written beside.

    Of `only` the "left" or the "right" side altered, each piece that changes is cut as two, and the plan is always written.
    SeamcheckError where a file exists and `force` is not set, or what was written does not read back as it was drawn.
    """
    assert altered.reading.plan is not None
    recipe_path = recipe_beside(output)
    if recipe_path.exists() and not force:
        free(str(recipe_path), force=force)
    if altered.reading.drawing.format.casefold() == APPAREL and any(
        _ways(altered, piece) != piece.edges for piece in altered.reading.plan.pieces
    ):
        raise SeamcheckError(
            "a dart that is closed into another place cannot be written into apparel DXF, whose vertices keep their number and order",
            path=altered.path,
            remedy="alter the pattern as a CAD drawing or an SVG",
        )
    earlier = Path(altered.path).read_bytes()
    source = Path(altered.reading.plan.path)
    if only:
        return _write_one_side(altered, output, only, request, registry, settings, force=force)
    mine = Path(altered.path).resolve() == Path(output).resolve()
    plan_path = Path(output).with_name(Path(output).stem + PLAN_SUFFIX)
    kept = find_plan(output) is not None and not force
    new_plan = None if mine or kept else plan_after(altered, read_text(source, SeamcheckError, "plan"))
    if new_plan is not None:  # first, since what is written is judged by it
        write_text(new_plan, str(plan_path))
    try:
        result = write_trued(
            altered.trued,
            output,
            request,
            registry,
            settings,
            force=force,
            plan=None if new_plan is None else plan_path,
        )
    except BaseException:
        if new_plan is not None:
            plan_path.unlink(missing_ok=True)
        raise
    later = Path(output).read_bytes()
    beside = [str(recipe_path)]
    write_text(_with_undo(altered.recipe, Path(altered.path).name, later, earlier), str(recipe_path))
    if new_plan is not None:
        beside.append(str(plan_path))
    return result, tuple(beside)


def _write_one_side(
    altered: AlteredFile,
    output: str,
    only: str,
    request: Request,
    registry: Registry,
    settings: Settings,
    *,
    force: bool,
) -> tuple[FileResult, tuple[str, ...]]:
    """Write a pattern of which one side alone is altered; SeamcheckError where what was written does not read back as it is meant."""
    from seamcheck.altering.one_side import other_sides, split_plan

    assert altered.reading.plan is not None
    target, plan_path = free(output, force=force), Path(output).with_name(Path(output).stem + PLAN_SUFFIX)
    free(str(plan_path), force=force)
    if target.resolve() == Path(altered.path).resolve():
        raise SeamcheckError(
            "the pattern of both sides would be lost", path=output, remedy="write one side alone under another name"
        )
    sides = other_sides(altered, only)
    plan = split_plan(_with_ways(altered, altered.reading.plan), sides, only)
    data = _both_sides(altered, sides, only, request, registry, settings)
    write_text(format_plan(plan), str(plan_path))
    try:
        with replacing(target, data) as part:
            result = check_file(str(part), replace(request, plan=plan_path), registry, settings)
            _require_both(altered, str(part), plan_path, sides, only, request, registry, settings)
    except OSError as error:
        plan_path.unlink(missing_ok=True)
        raise unwritten(error, output) from None
    except BaseException:
        plan_path.unlink(missing_ok=True)
        raise
    recipe_path = recipe_beside(output)
    earlier = Path(altered.path).read_bytes()
    write_text(_with_undo(altered.recipe, Path(altered.path).name, data, earlier), str(recipe_path))
    return replace(result, path=output), (str(recipe_path), str(plan_path))


def _both_sides(
    altered: AlteredFile,
    sides: Sequence[OtherSide],
    only: str,
    request: Request,
    registry: Registry,
    settings: Settings,
) -> bytes:
    """The file with the altered pieces in place, and the other sides of them beside the sheet."""
    from seamcheck.altering.one_side import edits_of
    from seamcheck.altering.write_one_side import frame_of, probed, with_names_dxf, with_sides_svg
    from seamcheck.truing.edits import edits
    from seamcheck.truing.write_dxf import write_dxf
    from seamcheck.truing.write_svg import write_svg

    data, drawing = Path(altered.path).read_bytes(), altered.reading.drawing
    own = [edit for truing in altered.trued.sizes for edit in edits(truing.before, truing.after)]
    if drawing.format.casefold() == "svg":
        written = write_svg(data, altered.path, drawing.lines, own)
        source = Source(altered.path, probed(data), read_options(request, settings))
        importer = next(one for one in registry.importers if one.recognises(source))
        return with_sides_svg(written, frame_of(importer.read(source).lines, altered.path), altered, sides, only)
    if drawing.format.casefold() == "dxf":
        # The other sides first, since they are drawn like lines that are old ones afterwards.
        written = write_dxf(data, altered.path, drawing.lines, [*edits_of(sides), *own])
        return with_names_dxf(written, altered, sides, only)
    raise SeamcheckError(
        f"one side alone cannot be written into {drawing.format}, in which a piece and its sizes are one block",
        path=altered.path,
        remedy="alter the pattern as a CAD drawing or an SVG",
    )


def _require_both(
    altered: AlteredFile,
    path: str,
    plan: Path,
    sides: Sequence[OtherSide],
    only: str,
    request: Request,
    registry: Registry,
    settings: Settings,
) -> None:
    """Read a file once more, and refuse it where a side of a split piece is not as long all round as it was meant."""
    from seamcheck.altering.one_side import OTHER

    pattern = read_whole(path, replace(request, plan=plan), registry, settings).pattern
    (size,) = altered.sizes
    for side in sides:
        for which, state in ((only, size.after), (OTHER[only], size.before)):
            name, meant = f"{side.piece}-{which}", state.pieces[side.piece]
            found = next((piece for piece in pattern.pieces if piece.name == name), None)
            edges = {edge.name: edge.length for edge in found.edges} if found is not None else {}
            if any(
                abs(edges.get(edge.name, 0.0) - edge.length) > READS_BACK for edge in meant.edges if not edge.inside
            ):
                raise SeamcheckError(
                    f"{name} would not read back as it is meant",
                    path=altered.path,
                    remedy="nothing was written; please report it",
                )


def _with_undo(recipe: Recipe, name: str, later: bytes, earlier: bytes) -> str:
    return "\n".join(
        [
            format_recipe(recipe),
            "# What makes the pattern before these steps of the one beside this file: seamcheck alter --undo",
            "[undo]",
            f'of = "{name}"',
            f'altered = "{digest(later)}"',
            f'before = "{digest(earlier)}"',
            f"patch = '''{_guarded(patch(later, earlier))}'''",
            "",
        ]
    )


def _guarded(letters: str) -> str:
    """Letters that no TOML quote ends: none of base 85 is a single quote."""
    assert "'" not in letters
    return letters


def undo(path: str) -> tuple[bytes, str, Recipe]:
    """The pattern as it was before it was altered, its name then, and the recipe that is undone.

    SeamcheckError where no recipe lies beside the file, or where the file was changed since.
    """
    where = recipe_beside(path)
    if not where.exists():
        raise SeamcheckError(
            "no recipe lies beside it, so nothing says how it was altered",
            path=path,
            remedy=f"it would be called {where.name}",
        )
    text = read_text(where, RecipeError, "recipe")
    recipe = parse_recipe(text, str(where))
    table = parse(text, str(where), RecipeError).table("undo")
    table.only("of", "altered", "before", "patch")
    for key in ("altered", "before", "patch"):
        if key not in table.values:
            raise RecipeError(
                "the recipe was not kept with a pattern, so there is nothing to undo",
                path=str(where),
                place=table.place(),
            )
    try:
        data = Path(path).read_bytes()
    except OSError as error:
        raise SeamcheckError(f"the pattern cannot be opened: {error.strerror}", path=path) from None
    if digest(data) != table.text("altered"):
        raise SeamcheckError(
            "the file was changed since it was altered, so the alteration alone cannot be taken out of it",
            path=path,
            remedy="go back to the pattern before it, or alter this one the other way",
        )
    try:
        earlier = undone(data, table.text("patch") or "")
    except PatchError:
        earlier = b""
    if digest(earlier) != table.text("before"):
        raise RecipeError("what undoes the alteration is damaged", path=str(where), place=table.place("patch"))
    return earlier, table.text("of") or Path(path).name, recipe


def write_undone(path: str, output: str, *, force: bool) -> Recipe:
    """Write the pattern as it was before it was altered; the recipe goes where the file itself is written over."""
    earlier, _, recipe = undo(path)
    target = free(output, force=force)
    try:
        with replacing(target, earlier):
            pass
        if target.resolve() == Path(path).resolve():
            recipe_beside(path).unlink()
    except OSError as error:
        raise unwritten(error, output) from None
    return recipe


def plan_after(altered: AlteredFile, text: str) -> str:
    """The text of the plan with the corners of altered pieces where they are now; all else to the letter."""
    plan = altered.reading.plan
    assert plan is not None
    if any(_ways(altered, piece) != piece.edges for piece in plan.pieces):
        return format_plan(_with_ways(altered, plan))
    unit = UNITS[plan.units]
    lines = text.splitlines(keepends=True)
    where = key_lines(text)
    for piece in plan.pieces:
        size = next((one for one in altered.sizes if _is_meant(piece, one.before.plans)), None)
        if size is None:
            continue
        for corner, at in size.after.plans[piece.name].corners.items():
            line = where.get(("pieces", piece.name, "corners", corner))
            if line is None or abs(at - piece.corners[corner]) < 1e-4:
                continue
            key = re.compile(
                r"(?<![\w-])(?P<key>"
                + re.escape(corner)
                + r"|\""
                + re.escape(corner)
                + r"\")(?P<is>\s*=\s*)\[[^\]]*\]"
            )
            told = f"[{_number(at.real / unit)}, {_number(at.imag / unit)}]"
            lines[line - 1] = key.sub(rf"\g<key>\g<is>{told}", lines[line - 1], count=1)
    new = "".join(lines)
    parse_plan(new, plan.path)
    return new


def _ways(altered: AlteredFile, piece: PiecePlan) -> Mapping[str, tuple[str, ...]]:
    """The ways of the edges of a piece as they are now: a dart that was closed into another place lies on another one."""
    plans = altered.sizes[0].after.plans
    return plans[piece.name].edges if piece.name in plans else piece.edges


def _with_ways(altered: AlteredFile, plan: Plan) -> Plan:
    """The plan written anew: with the ways of edges as they are, and the corners where they are."""
    pieces = []
    for piece in plan.pieces:
        size = next((one for one in altered.sizes if _is_meant(piece, one.before.plans)), None)
        pieces.append(
            piece
            if size is None
            else replace(piece, corners=_rounded(size.after.plans[piece.name].corners), edges=_ways(altered, piece))
        )
    return replace(plan, pieces=tuple(pieces))


def _rounded(corners: Mapping[str, complex]) -> dict[str, complex]:
    """Corners to a thousandth of a mm."""
    return {name: complex(round(steady(at.real), 3), round(steady(at.imag), 3)) for name, at in corners.items()}


def _is_meant(piece: PiecePlan, plans: Mapping[str, PiecePlan]) -> bool:
    """Whether a size has the corners of a piece where the plan says that they are."""
    found = plans.get(piece.name)
    return found is not None and all(abs(found.corners[name] - at) <= SAME for name, at in piece.corners.items())


def _number(value: float) -> str:
    return f"{steady(value):.3f}".rstrip("0").rstrip(".")
