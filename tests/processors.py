"""What is made of the fixtures on other processors: `python tests/processors.py`, from any folder, compares all of it.

A process for each set of features that this processor has, some of them kept from numpy, from its BLAS and from the C library,
drafts every drawing, judges them and writes what each command tells and writes. All must make the same bytes. The test of the
same name does so with a slice of the drawings. With `--shaken SEED` one more process moves every result that may be rounded
otherwise elsewhere by a last bit or so, by chance (`shaken.py`): harder on the program than any processor is.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

TESTS = Path(__file__).resolve().parent
ROOT = TESTS.parent
# Drawings in which a choice, or a digit, once hung on a last bit. All commands are run with the first of them, the others checked.
SLICE = (
    "corpus/gangway-gored-skirt-altered.dxf",
    "corpus/thwart-box-cushion-altered.svg",
    "ferryhand/altered/prominent-calf-left.svg",
    "heldout/pavilion-shirt.svg",
    "lookalikes/nest.dxf",
    "unseen/stevedore-jeans.dxf",
)
# Patterns whose drafts once hung on a last bit, beside those of the slice.
HUNG = (
    *("coaching-launch-polo", "finish-judge-cape", "market-tote-gusset", "oarlock-trousers-scoop"),
    *("river-patrol-backpack-pocket", "towpath-bucket-hat"),
)
AVX512, AVX2 = r"X86_V4|AVX512.*", r"X86_V3|AVX2|FMA3|AVX|F16C|FMA4|XOP"


def sets() -> dict[str, dict[str, str]]:
    """The sets of features to reckon with, each by its name: the variables that keep the rest from a process.

    All that the processor has; on x86 without AVX-512 and without AVX2, where it has them; elsewhere with none that is optional.
    """
    features = _found()
    found = {"all features": dict[str, str]()}
    if any(re.fullmatch(AVX512, name) for name in features):
        kept_back = [name for name in features if re.fullmatch(AVX512, name)]
        found["without AVX-512"] = _kept_back(kept_back, "Haswell", "-AVX512F")
    if any(re.fullmatch(AVX2, name) for name in features):
        found["without AVX2"] = _kept_back(features, "Nehalem", "-AVX512F,-AVX2,-FMA,-FMA4")
    elif features and len(found) == 1:
        found["none that is optional"] = _kept_back(features, "", "")
    return found


def _found() -> list[str]:
    """The features that numpy would choose its code by at run time, as it calls them, and that are here."""
    try:
        from numpy._core import _multiarray_umath as core
    except ImportError:  # numpy 1
        from numpy.core import _multiarray_umath as core
    return [name for name in core.__cpu_dispatch__ if core.__cpu_features__.get(name)]


def _kept_back(features: Sequence[str], blas: str, library: str) -> dict[str, str]:
    variables = {"NPY_DISABLE_CPU_FEATURES": " ".join(features)}
    if blas:
        variables["OPENBLAS_CORETYPE"] = blas
    if library:
        variables["GLIBC_TUNABLES"] = f"glibc.cpu.hwcaps={library}"
    return variables


def started(folder: Path, features: dict[str, str], *options: str) -> subprocess.Popen[str]:
    """A process of its own that writes all it makes into a folder."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("NPY_", "OPENBLAS_"))}
    return subprocess.Popen(
        [sys.executable, "-W", "ignore", __file__, "--into", str(folder), *options],
        env={**environment, **features, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def differing(one: Path, other: Path) -> list[str]:
    """The files of two folders that are not the same, or in one of them alone."""
    names = {path.relative_to(folder).as_posix() for folder in (one, other) for path in folder.rglob("*.*")}
    return sorted(name for name in names if _bytes(one / name) != _bytes(other / name))


def _bytes(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None


# In a process of its own


def drafted(*, every: bool) -> dict[str, bytes]:
    """The drawings and plans that the drafting scripts make, by path under fixtures/: all, or of the corpora a few patterns."""
    import draft
    import draft_corpus
    import draft_sewline
    import make_lookalikes

    corpora = draft_corpus.files() if every else _few_patterns()
    texts = {**draft.files(), **corpora, **draft_sewline.files()}
    lookalikes = {f"lookalikes/{name}": content for name, content in make_lookalikes.files().items()}
    return {name: text.encode("utf-8") for name, text in texts.items()} | lookalikes


def _few_patterns() -> dict[str, str]:
    from corpus_drafting.files import SETS, pattern_files

    texts: dict[str, str] = {}
    for folder, (patterns, _, _) in SETS.items():
        for make, habits in patterns:
            pattern = make()
            if pattern.slug in HUNG or any(name.startswith(f"{folder}/{pattern.slug}") for name in SLICE):
                texts |= {f"{folder}/{name}": text for name, text in pattern_files(pattern, habits).items()}
    return texts


def made(drawing: Path) -> Iterator[tuple[str, str]]:
    """What every command tells of a drawing and writes of it, by name."""
    import write_reports

    plan = write_reports.plan_of(drawing)
    yield from checked(drawing)
    yield from _paired(drawing)
    if (before := _before(drawing)) is not None:
        yield from _altered(drawing, before, ("--plan", str(plan)) if plan else ())


def checked(drawing: Path) -> Iterator[tuple[str, str]]:
    """What is read and found in a drawing, in every format; "report.txt" is what its committed report tells."""
    import write_reports

    from seamcheck.config.settings import Settings
    from seamcheck.engine import plugins
    from seamcheck.engine.jobs import judge_one
    from seamcheck.engine.read import Request
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.engine.result import Report
    from seamcheck.engine.workspace import Shops
    from seamcheck.truing.recipes import with_recipes

    result = judge_one(
        str(drawing),
        Request(plan=write_reports.plan_of(drawing)),
        Shops(plugins=False, recipes=with_recipes),
    )
    yield "report.txt", write_reports.told(result)
    for report in plugins.load(Settings(), plugins=False).reports:
        yield f"check.{report.name}", report.render(Report(files=(result,)), RenderOptions(width=100))
    yield "pieces.json", _told("pieces", str(drawing), "--format", "json")


def _paired(drawing: Path) -> Iterator[tuple[str, str]]:
    alone = Path("alone") / drawing.name  # without the plan that lies beside it
    alone.parent.mkdir(exist_ok=True)
    alone.write_bytes(drawing.read_bytes())
    written = {form: alone.with_name(f"paired.{form}") for form in ("toml", "json", "svg", "html")}
    yield (
        "pair.text",
        _told("pair", str(alone), *(word for path in written.values() for word in ("--output", str(path)))),
    )
    for form, path in written.items():
        if path.exists():
            yield f"pair.{form}", path.read_text(encoding="utf-8")
            path.unlink()
    alone.unlink()


def _altered(drawing: Path, before: Path, plan: Sequence[str]) -> Iterator[tuple[str, str]]:
    yield "compare.json", _told("compare", str(before), str(drawing), "--format", "json", *plan)
    yield "since.json", _told("check", str(drawing), "--before", str(before), "--format", "json", *plan)
    written = {"new": Path("alone") / f"new-{drawing.name}", "picture": Path("alone") / f"{drawing.stem}.svg"}
    outputs = ["--output", str(written["new"]), "--picture", str(written["picture"])]
    yield "true.json", _told("true", str(drawing), *plan, "--before", str(before), "--format", "json", *outputs)
    for name, path in written.items():
        if path.exists():
            yield f"true.{name}", path.read_bytes().decode("latin-1")
            path.unlink()


def _before(drawing: Path) -> Path | None:
    """The drawing that an altered one was made from; None where there is none of its form."""
    if drawing.parent.name == "altered":
        before = drawing.parents[1] / f"ferryhand{drawing.name.partition('-left')[2]}"
        return before if "-left" in drawing.name and before.exists() else None
    if drawing.stem.endswith("-altered"):
        return drawing.with_name(drawing.name.replace("-altered", ""))
    return None


def _told(*command: str) -> str:
    """What a command of the program writes to stdout and stderr."""
    from click.testing import CliRunner

    from seamcheck.cli.main import main

    return str(CliRunner().invoke(main, ["--no-plugins", *command]).output)


def write(folder: Path, *, every: bool, shaken_by: int | None, drawn: Path | None) -> None:
    """Draft all drawings into a folder, or copy them from one, judge those of the slice, or all, and write what is made of them."""
    sys.path[:0] = [str(TESTS), str(ROOT / "fixtures"), str(ROOT)]
    if shaken_by is not None:
        import shaken

        shaken.install(shaken_by)
    if drawn is not None:
        shutil.copytree(drawn / "fixtures", folder / "fixtures")
    for name, content in drafted(every=every).items() if drawn is None else ():
        path = folder / "fixtures" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    os.chdir(folder)
    told = Path("told")
    told.mkdir()
    drawings = sorted(path for path in Path("fixtures").rglob("*") if path.suffix in (".svg", ".dxf"))
    few = [Path("fixtures") / name for name in SLICE]
    if drawn is not None:
        few = few[:2]
    for drawing in drawings if every else few:
        for name, text in (made if every or (drawing == few[0] and drawn is None) else checked)(drawing):
            stem = drawing.relative_to("fixtures").as_posix().replace("/", "~")
            (told / f"{stem}.{name}").write_text(text, encoding="utf-8")


def main(arguments: Sequence[str] | None = None) -> int:
    """Compare all that is made under every set of features; the exit code is 1 if anything differs."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--slice", action="store_true", help="only the drawings of the test")
    parser.add_argument("--shaken", type=int, metavar="SEED", help="also with results moved by a last bit")
    parser.add_argument("--into", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--drawn", type=Path, help=argparse.SUPPRESS)
    given = parser.parse_args(arguments)
    if given.into is not None:
        write(given.into, every=not given.slice, shaken_by=given.shaken, drawn=given.drawn)
        return 0
    options = ["--slice"] if given.slice else []
    wanted = {name: (features, options) for name, features in sets().items()}
    if given.shaken is not None:
        wanted["shaken"] = ({}, [*options, "--shaken", str(given.shaken)])
    with tempfile.TemporaryDirectory() as work:
        folders = {name: Path(work) / str(number) for number, name in enumerate(wanted)}
        for folder in folders.values():
            folder.mkdir()
        runs = {name: started(folders[name], features, *more) for name, (features, more) in wanted.items()}
        said = {name: run.communicate()[0] for name, run in runs.items()}
        failed = [f"failed {name}: {said[name]}" for name, run in runs.items() if run.returncode]
        first, *others = folders
        found = [f"differs {name}: {file}" for name in others for file in differing(folders[first], folders[name])]
    sys.stdout.write("\n".join([*failed, *found, f"compared: {', '.join(wanted)}\n"]))
    return 1 if found or failed else 0


if __name__ == "__main__":
    sys.exit(main())
