"""How truing does: how often it ends quiet, how far its lines stray, and at which end of a seam it corrects first. From any folder.

`bench_truing.py --count 200 --seed 1`: random pairs of slash-and-hinge alterations of the demo, written, trued, written and
checked. Each pair slashes two places of the back, the front or the back band and overlaps or spreads them by 3 to 12 mm (the
band by 2 to 5). Prints one line a pattern and the shares.
`bench_truing.py --what fixtures`: the demo's eight alterations as left, in their four forms: how far every alternative strays from
the old lines or the old lines led on, and how far past what its correction asks. The median and the worst.
`bench_truing.py --what ends`: twenty edges led on or cut back at an end that is known, with the file before and without: at which
end the seam is corrected first. `ruled-ends`: the same, the line beside ruled to the new corner, so that it has a kink.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "fixtures")]

from drafting.ferryhand import SAMPLE, SEAMS, ferryhand  # noqa: E402
from drafting.shapes import Piece, apply, strokes  # noqa: E402
from drafting.sheet import FERRYHAND_SHEET  # noqa: E402
from drafting.slash import Place, beyond, hinge, place  # noqa: E402
from drafting.write_plan import plan  # noqa: E402
from drafting.write_svg import svg  # noqa: E402

from seamcheck.config.settings import Settings  # noqa: E402
from seamcheck.engine import plugins  # noqa: E402
from seamcheck.engine.judge import check_file  # noqa: E402
from seamcheck.engine.read import Request  # noqa: E402
from seamcheck.errors import SeamcheckError  # noqa: E402
from seamcheck.geometry.curve import Affine, Curve  # noqa: E402
from seamcheck.truing.propose import Wishes  # noqa: E402
from seamcheck.truing.run import true_file  # noqa: E402
from seamcheck.truing.writing import write_trued  # noqa: E402

# Piece, edge that is opened, edge that holds the hinge, smallest and largest amount in mm.
SLASHES = [
    ("back", "crotch", "outseam", 3.0, 12.0),
    ("back", "outseam", "inseam", 3.0, 12.0),
    ("back", "outseam", "crotch", 3.0, 12.0),
    ("back", "inseam", "outseam", 3.0, 12.0),
    ("front", "outseam", "inseam", 3.0, 12.0),
    ("front", "inseam", "outseam", 3.0, 12.0),
    ("band-back", "upper", "lower", 2.0, 5.0),
]


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def overlapped(piece: Piece, opened: Place, hinged: Place, amount: float) -> Piece:
    """Turn the part of a piece that lies clockwise between two places over the other one, and join the cut edges.

    What lies over one another is cut away half from either side, and a straight stub joins the two, as a person tapes it.
    """
    before, after = piece.stretches[opened.stretch].curve.split(opened.station)
    centre = piece.stretches[hinged.stretch].curve.point(hinged.station)
    move = Affine.rotation(math.degrees(amount / abs(before.end - centre)), centre)
    kept, moved = before.between(0.0, before.length - amount / 2), after.between(amount / 2, after.length)
    moved = moved.transformed(move)
    result = []
    for index, stretch in enumerate(piece.stretches):
        if index == opened.stretch:
            line = Curve.join([kept, Curve.line(kept.end, moved.start), moved])
        elif index == hinged.stretch:
            first, last = stretch.curve.split(hinged.station)
            line = Curve.join([first.transformed(move), last])
        else:
            result.append(stretch.moved(move) if beyond(piece, opened, hinged, Place(index, 0.0)) else stretch)
            continue
        result.append(replace(stretch, strokes=strokes(line)))
    taped = replace(piece, stretches=tuple(result))
    notches = []
    for notch in piece.notches:
        at, _ = piece.point(notch.edge, notch.station)
        at = apply(move, at) if beyond(piece, opened, hinged, place(piece, notch.edge, at)) else at
        notches.append(replace(notch, station=taped.station(notch.edge, at)))
    return replace(taped, notches=tuple(notches))


def altered(pieces: dict, chance: random.Random) -> str:
    """Alter one piece at random; what was done, in words."""
    while True:
        name, opened, hinged, low, high = chance.choice(SLASHES)
        amount = chance.choice((-1, 1)) * chance.uniform(low, high)
        piece = pieces[name]
        shares = chance.uniform(0.15, 0.85), chance.uniform(0.15, 0.85)
        try:
            start, _ = piece.point(opened, shares[0] * piece.length(opened))
            end, _ = piece.point(hinged, shares[1] * piece.length(hinged))
            places = place(piece, opened, start), place(piece, hinged, end)
            pieces[name] = hinge(piece, *places, amount).piece if amount > 0 else overlapped(piece, *places, -amount)
        except (ValueError, ArithmeticError, IndexError):
            continue
        return f"{name}: {opened} at {shares[0]:.2f} to {hinged} at {shares[1]:.2f} by {amount:+.1f} mm"


ALTERATIONS = (
    "prominent-calf",
    "sway-back",
    "sway-back-quick",
    "gaping-band",
    "flat-seat",
    "low-seat",
    "deep-torso",
    "full-seat",
)
FORMS = {  # name and plan of each form
    "svg": ("{}-left.svg", "ferryhand"),
    "cad dxf": ("{}-left-cad.dxf", "ferryhand-cad"),
    "apparel dxf": ("{}-left-apparel.dxf", "ferryhand-nest"),
    "digitised": ("{}-left-digitised.svg", "ferryhand-digitised"),
}


def worst_strays(part: int, parts: int) -> None:
    """How far the alternatives for the demo's alterations stray, form by form."""
    registry, folder = plugins.load(Settings()), ROOT / "fixtures" / "ferryhand"
    for form, (pattern, plan_name) in FORMS.items():
        every: list[float] = []
        beyond: list[float] = []
        for name in ALTERATIONS[part::parts]:
            path = folder / "altered" / pattern.format(name)
            request = Request(plan=folder / f"{plan_name}.seams.toml")
            trued = true_file(str(path), request, registry, Settings(), Wishes())
            proposals = [proposal for size in trued.sizes for proposal in size.proposals]
            offered = [alternative for proposal in proposals for alternative in proposal.alternatives]
            every += [alternative.stray for alternative in offered]
            beyond += [alternative.beyond for alternative in offered]
            taken = max((p.alternatives[p.taken].beyond for p in proposals), default=0.0)
            most = max((a.beyond for a in offered), default=0.0)
            tell(
                f"{form}, {name}: {len(offered)} offered, beyond at most {most:.2f} mm, of those taken {taken:.2f} mm"
            )
        tell(
            f"{form}: {len(every)} offered; stray median {median(every):.2f} mm, worst {max(every):.2f} mm; "
            f"beyond what is asked median {median(beyond):.2f} mm, worst {max(beyond):.2f} mm"
        )


ENDS = [
    *((piece, *end) for piece in ("front", "back") for end in (("outseam", "side-waist"), ("outseam", "side-hem"))),
    *((piece, *end) for piece in ("front", "back") for end in (("inseam", "crotch-point"), ("inseam", "inseam-hem"))),
    *((piece, "waist", "side-waist") for piece in ("front", "back")),
]


def let_out(piece: Piece, edge: str, corner: str, amount: float, *, ruled: bool = False) -> Piece:
    """An edge led on or cut back at a corner, the line beside it drawn anew from its middle to the new corner; notches stay.

    A hand in a hurry has it `ruled`, which leaves a kink.
    """
    own = next(k for k, s in enumerate(piece.stretches) if s.edge == edge and corner in (s.start, s.end))
    away = piece.stretches[own].start == corner
    beside = (own - 1 if away else own + 1) % len(piece.stretches)
    line = piece.stretches[own].backward if away else piece.stretches[own].curve
    if amount > 0:
        line = Curve.join([line, Curve.line(line.end, line.end + amount * line.tangent(line.length, side=-1))])
    else:
        line = line.between(0.0, line.length + amount)
    other = piece.stretches[beside].curve if away else piece.stretches[beside].backward
    kept, gone = other.split(other.length / 2)
    reach = gone.length / 3
    tip = Curve.cubic(
        kept.end,
        kept.end + reach * kept.tangent(kept.length, side=-1),
        line.end - reach * other.tangent(other.length, side=-1),
        line.end,
    )
    other = Curve.join([kept, Curve.line(kept.end, line.end) if ruled else tip])
    new = list(piece.stretches)
    new[own] = replace(new[own], strokes=strokes(line.reversed() if away else line))
    new[beside] = replace(new[beside], strokes=strokes(other if away else other.reversed()))
    result = replace(piece, stretches=tuple(new))
    notches = [replace(n, station=result.station(n.edge, piece.point(n.edge, n.station)[0])) for n in piece.notches]
    return replace(result, notches=tuple(notches))


def first_ends(part: int, parts: int, *, ruled: bool) -> None:
    """At which end a seam that was altered at one is corrected first."""
    registry = plugins.load(Settings())
    base = {piece.key: piece for piece in ferryhand(SAMPLE)}
    seams = {edge: seam.name for seam in SEAMS for edge in (seam.first, seam.second)}
    right, total = {False: 0, True: 0}, 0
    with tempfile.TemporaryDirectory() as folder:
        old = ROOT / "fixtures" / "ferryhand" / "ferryhand.svg"
        cases = [(*end, amount) for end in ENDS for amount in (6.0, -6.0)]
        for number, (name, edge, corner, amount) in list(enumerate(cases))[part::parts]:
            pieces = tuple((base | {name: let_out(base[name], edge, corner, amount, ruled=ruled)}).values())
            path = Path(folder) / f"{number}.svg"
            path.write_text(svg(pieces, FERRYHAND_SHEET), encoding="utf-8")
            named = path.with_suffix(".seams.toml")
            named.write_text(plan(pieces, SEAMS, "Altered", FERRYHAND_SHEET.hanging, ""), encoding="utf-8")
            total += 1
            for against in (False, True):
                request = Request(plan=named)
                before = str(old) if against else None
                trued = true_file(str(path), request, registry, Settings(), Wishes(), before)
                seam = seams[f"{name}.{edge}"]
                proposals = [p for size in trued.sizes for p in size.proposals if p.finding.seam == seam]
                first = proposals[0].alternatives[0] if proposals else None
                right[against] += first is not None and (name, corner) in first.at
                tell(
                    f"{name}.{edge} by {amount:+g} mm at {corner}{', with the file before' if against else ''}: "
                    + (f"{first.what} (beyond {first.beyond:.2f} mm)" if first else "nothing proposed")
                    + f"; {len(trued.left)} left"
                )
    tell(
        f"of {total} corrected first at the end that was altered: {right[False]}, with the file before {right[True]}"
    )


def main() -> None:
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--part", default="0/1", help="only every so many-th pattern, such as 0/2")
    parser.add_argument("--what", choices=("random", "fixtures", "ends", "ruled-ends"), default="random")
    options = parser.parse_args()
    part, parts = (int(number) for number in options.part.split("/"))
    if options.what != "random":
        if options.what == "fixtures":
            worst_strays(part, parts)
        else:
            first_ends(part, parts, ruled=options.what == "ruled-ends")
        return
    registry = plugins.load(Settings())
    base = {piece.key: piece for piece in ferryhand(SAMPLE)}
    tally = {
        "patterns": 0,
        "sound as altered": 0,
        "quiet": 0,
        "no warning": 0,
        "quiet and none taken strays past 3 mm": 0,
        "refused": 0,
        "findings": 0,
        "left": 0,
    }
    with tempfile.TemporaryDirectory() as folder:
        for number in range(part, options.count, parts):
            chance = random.Random(options.seed * 100_003 + number)
            pieces = dict(base)
            told = [altered(pieces, chance), altered(pieces, chance)]
            path, new = Path(folder) / f"{number}.svg", Path(folder) / f"{number}-trued.svg"
            path.write_text(svg(tuple(pieces.values()), FERRYHAND_SHEET), encoding="utf-8")
            # The plan with the corners where they are now: it is truing that is measured, not the naming of corners.
            named = path.with_suffix(".seams.toml")
            named.write_text(
                plan(tuple(pieces.values()), SEAMS, "Altered", FERRYHAND_SHEET.hanging, ""), encoding="utf-8"
            )
            request = Request(plan=named)
            before = check_file(str(path), request, registry, Settings())
            begun = time.perf_counter()
            tally["patterns"] += 1
            tally["findings"] += len(before.findings)
            try:
                trued = true_file(str(path), request, registry, Settings(), Wishes())
                after = write_trued(trued, str(new), request, registry, Settings(), force=False)
            except SeamcheckError as error:
                tally["refused"] += 1
                tell(f"{number}: {'; '.join(told)}: {error}")
                continue
            tally["left"] += len(after.findings)
            tally["sound as altered"] += not before.findings
            tally["quiet"] += not after.findings
            beyond = max(
                (p.alternatives[p.taken].beyond for size in trued.sizes for p in size.proposals), default=0.0
            )
            tally["quiet and none taken strays past 3 mm"] += not after.findings and beyond <= 3.0
            tally["no warning"] += all(finding.severity == "note" for finding in after.findings)
            left = ", ".join(
                f"{f.check}/{f.code} {'+'.join(f.edges or f.pieces)} {f.measured or 0:.2f}" for f in after.findings
            )
            seconds = time.perf_counter() - begun
            done = f"{len(before.findings)} found, left: {left or 'none'}, beyond {beyond:.2f} mm ({seconds:.1f} s)"
            tell(f"{number}: {'; '.join(told)}: {done}")
            new.unlink()
    tell(", ".join(f"{count} {word}" for word, count in tally.items()))


if __name__ == "__main__":
    main()
