"""Clean patterns, written to files of three forms and read again: what faults are seeded in.

The patterns are those of the corpus and the Ferryhand trousers as drafted, each with its true plan. A fault changes the draft;
the file is written by the same writers as the fixtures and read by the same road as any file.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path

FIXTURES = Path(__file__).parent.parent / "fixtures"
sys.path.insert(0, str(FIXTURES))

from corpus_drafting import bodices, further, gear, skirts, tops, trousers  # noqa: E402
from corpus_drafting.draw import Pattern as Drafted  # noqa: E402
from corpus_drafting.draw import notched, uses  # noqa: E402
from corpus_drafting.habits import Habits, laid_out, with_grain, with_texts  # noqa: E402
from corpus_drafting.unseen import breeches, frocks, hemlines, shirts  # noqa: E402
from corpus_drafting.write_plan import plan as corpus_plan  # noqa: E402
from drafting.ferryhand import SAMPLE, SEAMS, STYLE, ferryhand  # noqa: E402
from drafting.shapes import Piece  # noqa: E402
from drafting.sheet import Sheet  # noqa: E402
from drafting.write_apparel_dxf import apparel_dxf  # noqa: E402
from drafting.write_plain_dxf import plain_dxf  # noqa: E402
from drafting.write_plan import plan as ferryhand_plan  # noqa: E402
from drafting.write_svg import svg  # noqa: E402

from seamcheck.config.settings import Settings  # noqa: E402
from seamcheck.engine import plugins  # noqa: E402
from seamcheck.engine.judge import check_file  # noqa: E402
from seamcheck.engine.read import Request  # noqa: E402
from seamcheck.engine.result import FileResult  # noqa: E402
from seamcheck.geometry.curve import Affine  # noqa: E402

SIZE = "40"
CHORD = 3.0  # mm, of the digitised form
FORMS = ("curves", "cad", "digitised")
SUFFIX = {"curves": ".svg", "cad": ".dxf", "apparel": ".dxf", "digitised": ".svg"}


@dataclass(frozen=True)
class Clean:
    """A pattern that trues: its pieces by key, its seams as (name, first side, second side) and who writes its plan.

    The plan is written from the clean pieces, whatever becomes of them: it is the one that was there before the fault.
    """

    slug: str
    title: str
    pieces: Mapping[str, Piece]
    seams: tuple[tuple[str, str, str], ...]
    write_plan: Callable[[Callable[[str], Affine]], str] = field(repr=False)
    eased: frozenset[str] = frozenset()  # seams with planned ease or ratio

    @property
    def sheet(self) -> Sheet:
        """The sheet on which the clean pieces lie, with room for what a fault adds."""
        return laid_out(tuple(self.pieces.values()), self.title)

    def sides(self, seam: str) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
        """The (piece, edge) pairs of both sides of a seam."""
        _, first, second = next(one for one in self.seams if one[0] == seam)
        return [(key, edge) for key, edge, _ in uses(first)], [(key, edge) for key, edge, _ in uses(second)]


def _corpus(drafted: Drafted) -> Clean:
    marked = notched(drafted)
    pieces = {}
    for piece in marked.pieces:
        whole = replace(with_grain(piece, drafted.along.get(piece.key, 90.0)), size=SIZE)
        pieces[piece.key] = with_texts(whole, "en")
    names = {key: piece.name for key, piece in pieces.items()}
    return Clean(
        slug=drafted.slug,
        title=drafted.title,
        pieces=pieces,
        seams=tuple((seam.name, seam.first, seam.second) for seam in drafted.seams),
        write_plan=lambda place: corpus_plan(drafted, tuple(pieces.values()), names, place, Habits()),
        eased=frozenset(seam.name for seam in drafted.seams if seam.ease is not None or seam.ratio is not None),
    )


def _ferryhand() -> Clean:
    pieces = {piece.key: piece for piece in ferryhand(SAMPLE)}
    return Clean(
        slug="ferryhand-trousers",
        title=STYLE,
        pieces=pieces,
        seams=tuple(tuple(seam) for seam in SEAMS),
        write_plan=lambda place: ferryhand_plan(tuple(pieces.values()), SEAMS, STYLE, place, "The clean draft."),
    )


MAKERS: Mapping[str, Callable[[], Clean]] = {
    "ferryhand": _ferryhand,
    **{
        make.__name__: lambda make=make: _corpus(make())
        for make in (
            skirts.straight,
            skirts.half_circle,
            skirts.gored_two,
            skirts.frilled,
            trousers.darts_and_band,
            trousers.with_yoke,
            trousers.pyjamas,
            trousers.slant_pockets,
            bodices.set_in,
            bodices.princess,
            tops.waistcoat,
            tops.smock,
            gear.apron,
        )
    },
}


# Of other designs: what is tuned on the patterns above is reported on these.
OTHERS: Mapping[str, Callable[[], Clean]] = {
    make.__name__: lambda make=make: _corpus(make())
    for make in (
        breeches.fly_trousers,
        breeches.jeans,
        breeches.cargo_shorts,
        frocks.dress,
        hemlines.six_gores,
        hemlines.panelled,
        hemlines.wrapped,
        shirts.polo,
        shirts.sweatshirt,
    )
}

# Of yet other designs, to be traced and for nothing else.
FURTHER: Mapping[str, Callable[[], Clean]] = {
    make.__name__: lambda make=make: _corpus(make())
    for make in (
        further.sun_hat,
        further.collared_blouse,
        further.split_skirt,
        further.sling_bag,
        further.panelled_waistcoat,
        further.shaped_yoke_skirt,
        further.seat_cover,
    )
}


@cache
def clean(name: str) -> Clean:
    """A clean pattern by its name in MAKERS, OTHERS or FURTHER, drafted once."""
    return {**MAKERS, **OTHERS, **FURTHER}[name]()


@dataclass(frozen=True)
class Spoilt:
    """A pattern with a fault: its pieces as they are now, and what was done to its plan and to the text of its file."""

    clean: Clean
    pieces: Mapping[str, Piece]
    plan: Callable[[str], str] | None = None
    drawing: Callable[[str, str], str] | None = None


def written(spoilt: Spoilt, form: str) -> tuple[str, str]:
    """The text of the drawing and of the plan."""
    pieces, sheet = tuple(spoilt.pieces.values()), spoilt.clean.sheet
    places = {**sheet.places, **{key: complex(40, -900) for key in spoilt.pieces if key not in sheet.places}}
    sheet = replace(sheet, places=places)
    if form == "cad":
        drawing, place = plain_dxf(pieces, sheet), sheet.upright
    elif form == "apparel":
        drawing, place = apparel_dxf(sheet.title, {SIZE: pieces}, SIZE), lambda key: Affine.identity()
    else:
        drawing, place = svg(pieces, sheet, CHORD if form == "digitised" else None), sheet.hanging
    plan = spoilt.clean.write_plan(place)
    if spoilt.plan is not None:
        plan = spoilt.plan(plan)
    if spoilt.drawing is not None:
        drawing = spoilt.drawing(drawing, form)
    return drawing, plan


@cache
def _registry() -> plugins.Registry:
    return plugins.load(Settings())


def judged(spoilt: Spoilt, form: str, folder: Path) -> FileResult:
    """The result of checking a pattern in a form of file, written into a folder and read from there."""
    drawing, plan = written(spoilt, form)
    path = folder / f"{spoilt.clean.slug}{SUFFIX[form]}"
    path.write_text(drawing, encoding="utf-8")
    plan_path = path.with_suffix(".seams.toml")
    plan_path.write_text(plan, encoding="utf-8")
    return check_file(str(path), Request(plan=plan_path, geometry=True), _registry(), Settings())


def with_ease(plan: str, seam: str, low: float, high: float) -> str:
    """A plan with ease for a seam that has none."""
    head = f'name = "{seam}"\n'
    return re.sub(rf"({re.escape(head)}sew = .*\n)", rf"\1ease = [{low:g}, {high:g}]\n", plan, count=1)
