"""Spoil what one reader reads, guided by which lines of the reader are reached: `python tests/fuzz/guided.py path --count 300000`.

Needs atheris (Apache 2.0; not in an extra, for its wheels follow new versions of Python late): `pip install atheris`. What is found is kept in
a folder that `--corpus` names, and another run goes on from it. Whatever is wrong has to end in the exception by which the reader
refuses, within 5 s of processor time; the whole run has to stay within 500 MB. Other exceptions are collected by where they arose, an input of each is kept
beside the corpus, and the exit code is 1.
"""

from __future__ import annotations

import argparse
import re
import resource
import sys
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(CHECKOUT), str(CHECKOUT / "tests")]
FIXTURES = CHECKOUT / "fixtures"
SLOW = 5.0  # s of processor time
LARGE = 500  # MB


@dataclass(frozen=True, slots=True)
class Target:
    """One reader: what it reads an input with, what it is begun from, and the words that inputs are made of.

    `make` imports the reader, and gives what reads and the exceptions by which it refuses.
    """

    make: Callable[[], tuple[Callable[[bytes], object], tuple[type[Exception], ...]]]
    seeds: Callable[[], Iterable[bytes]]
    words: Sequence[str]
    longest: int


def _text(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def _path() -> tuple[Callable[[bytes], object], tuple[type[Exception], ...]]:
    from seamcheck.reading.svg.path import ShapeError, path

    def read(data: bytes) -> object:
        return [(stroke.array.shape, stroke.closed) for stroke in path(_text(data), 0.25)]

    return read, (ShapeError,)


def _path_seeds() -> Iterable[bytes]:
    yield b"M0,0 L10-10h3.5.5v-1e1 H4V5 z m1 1C1 2 3 4 5 6s1 2 3 4 Q1 2 3 4t5 6 A5 6 30 1 0 9 9 a2,2,0,0110,10Z"
    for file in sorted(FIXTURES.glob("*/*.svg")):
        yield from re.findall(rb'\sd="([^"]{1,300})"', file.read_bytes())[:5]


def _tags() -> tuple[Callable[[bytes], object], tuple[type[Exception], ...]]:
    from seamcheck.errors import InputError
    from seamcheck.reading.base import Source
    from seamcheck.reading.dxf.tags import is_dxf, read_raw

    def read(data: bytes) -> object:
        source = Source("a.dxf", data)
        is_dxf(source)
        return read_raw(source)

    return read, (InputError,)


def _drawing() -> tuple[Callable[[bytes], object], tuple[type[Exception], ...]]:
    from seamcheck.errors import InputError
    from seamcheck.reading.base import Source
    from seamcheck.reading.dxf import apparel, plain
    from seamcheck.reading.svg import reader

    def read(data: bytes) -> object:
        source = Source("a", data)
        for one in (reader, apparel, plain):
            if one.recognises(source):
                return one.read(source)
        return None

    return read, (InputError,)


def _dxf_seeds() -> Iterable[bytes]:
    import dxf_making as make

    square = (0j, 200 + 0j, 200 + 300j, 300j)
    light = make.pairs(
        0, "LWPOLYLINE", 8, "0", 90, 3, 70, 1, 10, 0.0, 20, 0.0, 42, 0.5, 10, 9.0, 20, 0.0, 10, 9.0, 20, 9.0
    )
    arc = make.pairs(0, "ARC", 8, "0", 10, 1.0, 20, 2.0, 40, 5.0, 50, 10.0, 51, 170.0)
    oval = make.pairs(0, "ELLIPSE", 8, "0", 10, 1.0, 20, 2.0, 11, 9.0, 21, 0.0, 40, 0.5, 41, 0.0, 42, 6.28)
    knots = make.pairs(*(item for knot in (0, 0, 0, 0, 1, 1, 1, 1) for item in (40, float(knot))))
    ends = make.pairs(*(item for k in range(4) for item in (10, float(k), 20, float(k * k))))
    spline = make.pairs(0, "SPLINE", 8, "0", 70, 8, 71, 3, 72, 8, 73, 4) + knots + ends
    inserted = make.insert("b", 1 + 1j, 41, 2.0, 42, -1.0, 50, 30.0, 70, 2, 44, 10.0, layer="0")
    yield make.plain(
        light + arc + oval + spline + inserted, blocks=[make.block("b", make.line("0", 0j, 1j), layer="0")]
    ).encode()
    marks = (
        make.text("Piece Name: Front")
        + make.text("Size: M")
        + make.line(7, 20j, 200j)
        + make.point(4, 100j, 50, 90.0)
    )
    for piece in (make.polyline(1, square), make.marked(1, square, {1})):
        yield make.apparel(make.piece("FRONT", marks, size="M", outline=piece)).encode()


def _svg_seeds() -> Iterable[bytes]:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="3in" viewBox="0 0 200 76.2">'
    rest = (
        '<style>.cut{stroke:red;fill:none}g > path{stroke-dasharray:2 1}</style><defs><path id="p" d="M0 0h9v9z"/></defs>'
        '<g transform="rotate(30 1 2) scale(2,-1)" style="stroke:#000"><use href="#p" x="4"/><rect width="9" height="5" rx="1"/>'
        '<ellipse rx="4" ry="2"/><polygon points="0,0 9 9 3,4"/><text x="1" y="2">Front, cut 2<tspan dy="1em">grain</tspan></text></g></svg>'
    )
    yield (head + rest).encode()


def _plan() -> tuple[Callable[[bytes], object], tuple[type[Exception], ...]]:
    from seamcheck.config.plan_file import parse_plan
    from seamcheck.errors import PlanError

    return lambda data: parse_plan(_text(data), "a.seams.toml"), (PlanError,)


def _plan_seeds() -> Iterable[bytes]:
    for file in sorted(FIXTURES.glob("*/*.seams.toml")):
        data = file.read_bytes()
        if len(data) < 2500:
            yield data


def _recipe() -> tuple[Callable[[bytes], object], tuple[type[Exception], ...]]:
    from seamcheck.config.recipe_file import parse_recipe
    from seamcheck.errors import RecipeError

    return lambda data: parse_recipe(_text(data), "a.alter.toml"), (RecipeError,)


def _recipe_seeds() -> Iterable[bytes]:
    yield (
        b'format = 1\n[[steps]]\nmove = "hinge"\npiece = "back"\ncut = ["outseam 425 mm from side-hem", "notch 1 of inseam"]\nhinge = "inseam"\n'
        b'overlap = "1/4 in"\nrelief = [["0.5 of cut", "crotch 40 % from crotch-point"]]\ngive-back = { edge = "outseam", end = "side-waist" }\n'
    )
    yield b'format = 1\nname = "n"\n[[steps]]\nfit = "full-seat"\namount = "1 1/2 in"\npiece = "back"\nsizes = ["38"]\n'
    yield b'format = 1\n[[steps]]\nmove = "dart"\npiece = "back"\ndart = "tip"\nmoved = "3/8 in"\ntowards = "side"\n'


def _settings() -> tuple[Callable[[bytes], object], tuple[type[Exception], ...]]:
    from seamcheck.config.settings import parse_settings
    from seamcheck.errors import SettingsError

    return lambda data: parse_settings(_text(data), Path("/shop/seamcheck.toml")), (SettingsError,)


def _settings_seeds() -> Iterable[bytes]:
    yield (
        b'units = "mm"\nallowance = 10\n[tolerances]\nseam-length = 1.6\n"edge-blend/step" = 0.5\n[severity]\nlabels = "off"\n'
        b'[layers]\nsew-line = ["NET*", "7"]\n[limits]\nbytes = 9\n[measures]\nhem = "front.hem + back.hem"\n[[rules]]\nname = "r"\n'
        b'holds = "hem >= 48 cm"\ntolerance = 2\nseverity = "note"\nmissing = "skip"\nsizes = ["M"]\nmessage = "too narrow"\n'
    )


def _rule() -> tuple[Callable[[bytes], object], tuple[type[Exception], ...]]:
    from seamcheck.config.rule_language import RuleSyntaxError, parse_expression, parse_rule

    def read(data: bytes) -> object:
        text = _text(data)
        try:
            return parse_rule(text)
        except RuleSyntaxError as error:
            if not 0 <= error.at <= len(text):
                raise IndexError("a place outside the rule") from error
            return parse_expression(text)

    return read, (RuleSyntaxError,)


def _rule_seeds() -> Iterable[bytes]:
    yield b'front.waist + waist of back - 2 * band."lower edge" between 1 1/2 in and 13.5 cm'
    yield b"angle(front.hip) + 90 degrees >= max(100 degrees, angle(back.hip)) / 2"
    yield b"abs(difference(outseam)) <= 50% * intake(back.dart) - (-min(width(front), height of_it.a))"
    yield b"notches(front.outseam) / notches(back.outseam) = 1"
    yield b"distance(front.a, front.b) - length(front.hem) between -6 and 0 mm"


TOML = (
    '"',
    "'",
    '"""',
    "[",
    "]",
    "[[",
    "]]",
    "=",
    ".",
    ",",
    "{",
    "}",
    "#",
    "\n",
    "true",
    "nan",
    "inf",
    "0x",
    "1e9",
    "\\u0000",
    "1979-05-27",
)
PLAN = (
    "format = 1",
    "[pieces.",
    "corners]",
    "edges]",
    "[[seams]]",
    "sew",
    "name",
    "ease",
    "ratio",
    "[[darts]]",
    "[[shaped]]",
    "[[accepted]]",
)
DXF = (
    "  0\n",
    "SECTION",
    "ENDSEC",
    "BLOCK",
    "ENDBLK",
    "INSERT",
    "POLYLINE",
    "VERTEX",
    "SEQEND",
    "SPLINE",
    "HEADER",
    "ENTITIES",
    "EOF",
    " 10\n",
)
FUNCTIONS = ("length", "distance", "angle", "width", "height", "intake", "notches", "difference", "abs", "min", "max")
CALLS = tuple(f"{name}(" for name in FUNCTIONS)
TARGETS = {
    "path": Target(_path, _path_seeds, (*"MmLlHhVvCcSsQqTtAaZz", "1e9", "-.5", "0 0 1 1", "nan", "inf"), 400),
    "tags": Target(_tags, _dxf_seeds, (*DXF, "AutoCAD Binary DXF", "999\n"), 4000),
    "plan": Target(_plan, _plan_seeds, (*TOML, *PLAN), 3000),
    "rule": Target(_rule, _rule_seeds, ("between", "and", "of", "<=", ">=", "mm", "1/2 in", "degrees", "%", "(", ")", *CALLS), 300),
    "recipe": Target(_recipe, _recipe_seeds, (*TOML, "[[steps]]", "move", " mm from ", " % from ", "notch ", " of cut", "1/2 in"), 800),
    "settings": Target(_settings, _settings_seeds, (*TOML, "[[rules]]", "holds", "[limits]", "[severity]", "[layers]", "plugins"), 1500),
    "dxf": Target(_drawing, _dxf_seeds, DXF, 4000),
    "svg": Target(_drawing, _svg_seeds, ("<use", "href=", "transform=", "<g>", "</g>", "viewBox=", "style=", "<path d=", "&#1;", "%"), 1500),
}  # fmt: skip


class Trial:
    """Inputs that are read one after another, and what was wrong with any."""

    def __init__(self, target: Target, keep: Path | None = None) -> None:
        """Import what reads; `keep` is where an input of each fault goes."""
        self.read, self.refusals = target.make()
        self.keep = keep
        self.count = self.refused = 0
        self.slowest = 0.0
        self.faults: Counter[str] = Counter()

    def take(self, data: bytes) -> None:
        """Read one input."""
        self.count += 1
        begun = time.process_time()
        try:
            self.read(data)
        except self.refusals as error:
            self.refused += 1
            if "\n" in str(error) or not str(error):
                self._fault("not one sentence", data)
        except Exception as error:
            last = traceback.extract_tb(error.__traceback__)[-1]
            self._fault(
                f"{type(error).__name__}: {str(error)[:80]} ({Path(last.filename).name} line {last.lineno})", data
            )
        took = time.process_time() - begun
        self.slowest = max(self.slowest, took)
        if took > SLOW:
            self._fault(f"over {SLOW:.0f} s", data)

    def _fault(self, what: str, data: bytes) -> None:
        self.faults[what] += 1
        if self.faults[what] == 1 and self.keep:
            (self.keep / f"fault-{len(self.faults)}").write_bytes(data)
            sys.stderr.write(f"{what}\n")

    def told(self) -> str:
        """What came of it, in a line, and a line for each fault."""
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        if most > LARGE:
            self.faults[f"over {LARGE} MB"] += 1
        lines = [f"{self.count} inputs, {self.refused} refused, slowest {self.slowest:.2f} s, at most {most:.0f} MB"]
        return "\n".join([*lines, *(f"{number} times {what}" for what, number in self.faults.items())]) + "\n"


def main() -> None:
    """Run from the command line; what came of it is written to `told` in the corpus, and to stdout."""
    import atheris

    parser = argparse.ArgumentParser(description="Spoil what one reader reads, guided by the lines that are reached.")
    parser.add_argument("target", choices=TARGETS)
    parser.add_argument("--count", type=int, default=100_000, help="how many inputs")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--corpus", type=Path, required=True, help="a folder for what is found")
    chosen = parser.parse_args()
    target = TARGETS[chosen.target]
    folder = chosen.corpus / chosen.target
    found, faults = folder / "found", folder / "faults"
    for one in (found, faults):
        one.mkdir(parents=True, exist_ok=True)
    with atheris.instrument_imports(include=["seamcheck"]):
        trial = Trial(target, faults)
    for number, data in enumerate(target.seeds()):
        (found / f"seed-{number:03}").write_bytes(data)
    words = folder / "words"
    escaped = ("".join(map("\\x{:02x}".format, word.encode())) for word in target.words)
    words.write_text("".join(f'"{word}"\n' for word in escaped))
    warnings.simplefilter("error", RuntimeWarning)  # a number that came to nothing is a fault, too

    def take(data: bytes) -> None:
        trial.take(data)
        if trial.count == chosen.count:  # the library ends the process
            (folder / "told").write_text(trial.told())
            sys.stdout.write(trial.told())
            sys.stdout.flush()

    options = (f"-runs={chosen.count}", f"-seed={chosen.seed}", f"-max_len={target.longest}", f"-dict={words}")
    limits = ("-timeout=60", "-rss_limit_mb=2000", "-print_final_stats=1", f"-artifact_prefix={faults}/")
    atheris.Setup([sys.argv[0], *options, *limits, str(found)], take)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
