"""How surely edge-blend finds kinks, steps and flat spots, and how seldom it finds one where there is none.

Edges as on garments (tests/edge_making.py) are looked at whole and with one fault of a known size, drawn as true curves and digitised
in chords of 0.5 to 10 mm, with each vertex up to 0.3 mm beside its place. A fault counts as found when something of its kind is
reported near its place with at least the threshold; a false alarm is anything else that is reported with at least the threshold, on
a whole edge or away from the fault. The thresholds of the tables are those from which a finding is told: half of a tolerance.

Run by hand, about ten minutes on one core: python tests/benchmarks/bench_edge_blend.py [--edges 52] [--jobs 2]
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from edge_making import CHORDS, FAULTS, KINDS, NOISES, digitised, edge, faulty, forms  # noqa: E402

from seamcheck.checks.edges import EDGE_BLEND, MEANT  # noqa: E402
from seamcheck.geometry.kinks import Kink, Step, blemishes  # noqa: E402

DEGREES = (0.5, 1.0, 1.75, 2.5, 3.5, 5.0, 7.0)
MM = (0.2, 0.4, 0.8, 1.2, 1.6, 2.4)
TOLD = EDGE_BLEND.tolerance / 2  # degrees
TOLD_STEP = EDGE_BLEND.code("step").tolerance / 2  # mm


class Seen(NamedTuple):
    """One edge in one form: what was done to it and what was reported, near that place and away from it.

    Amounts are in degrees for kinks and flat spots and in mm for steps; 0 where nothing was reported.
    """

    shape: str
    fault: str
    size: float
    chord: float | None
    noise: float
    near: dict[str, float]
    away: dict[str, float]


def look(curve, bent, fault, chord, noise, number):
    """What is reported on an edge, as the largest amount of each kind near the fault and away from it."""
    drawn = bent if chord is None else digitised(bent, chord, noise, number)
    near, away = defaultdict(float), defaultdict(float)
    for found in blemishes(drawn):
        if isinstance(found, Step):
            kind, amount = "step", found.jog
        else:
            kind = "kink" if isinstance(found, Kink) else "flat"
            amount = max(abs(turn) for turn in ([found.turn] if isinstance(found, Kink) else found.turns))
            if amount > MEANT:
                continue
        at = drawn.point(found.station)
        reach = max(6.0, 1.5 * (chord or 0.0))
        there = (
            fault is not None and bent.between(fault.start - reach, fault.end + reach).nearest(at).distance < reach
        )
        pot = near if there else away
        pot[kind] = max(pot[kind], amount)
    return dict(near), dict(away)


def one_edge(task):
    shape, number = task
    rows = []
    curve = edge(shape, number)
    fault_of = list(FAULTS)[number % len(FAULTS)]
    sizes = FAULTS[fault_of][1]
    size_of = sizes[(number // len(FAULTS) + list(KINDS).index(shape)) % len(sizes)]
    for kind, size in ((None, 0.0), (fault_of, size_of)):
        bent, fault = (curve, None) if kind is None else faulty(curve, kind, size, number)
        for chord, noise in forms():
            near, away = look(curve, bent, fault, chord, noise, number)
            rows.append(Seen(shape, kind or "whole", size, chord, noise, near, away))
    return rows


def run(edges, jobs=1):
    """Everything that is seen on so many edges of every shape."""
    tasks = [(shape, number) for shape in KINDS for number in range(edges)]
    if jobs == 1:
        return [row for task in tasks for row in one_edge(task)]
    with ProcessPoolExecutor(jobs) as pool:
        return [row for rows in pool.map(one_edge, tasks, chunksize=4) for row in rows]


def hit(row, threshold=None, threshold_step=None):
    """Whether a fault was found; a flat spot also by the kinks at its ends, and a kink also as a flat spot."""
    degrees = TOLD if threshold is None else threshold
    if row.fault == "step":
        return row.near.get("step", 0.0) >= (TOLD_STEP if threshold_step is None else threshold_step)
    return max(row.near.get("kink", 0.0), row.near.get("flat", 0.0)) >= degrees


def alarm(row, threshold=TOLD, threshold_step=TOLD_STEP):
    """Whether something is reported where nothing is."""
    return (
        max(row.away.get("kink", 0.0), row.away.get("flat", 0.0)) >= threshold
        or row.away.get("step", 0.0) >= threshold_step
    )


def share(rows, test):
    rows = list(rows)
    return f"{100 * sum(map(test, rows)) / len(rows):5.1f}" if rows else "    -"


def table(title, rows, heads, cells):
    """One table on the standard output."""
    out = [title, " " * 22 + "".join(f"{head:>7}" for head in heads)]
    out += [f"{name:<22}" + "".join(f"{cell:>7}" for cell in cells(row)) for name, row in rows]
    sys.stdout.write("\n".join(out) + "\n\n")


def report(seen):
    """All tables: found and false alarms by kind, size, chord and noise, and the points of the curves over the threshold."""
    columns = [None, *CHORDS]
    heads = ["curve", *(f"{chord:g} mm" for chord in CHORDS)]
    whole = [row for row in seen if row.fault == "whole"]
    for noise in NOISES:
        mine = [row for row in seen if row.noise == noise]

        def by_chord(rows, test):
            return [share((row for row in rows if row.chord == chord), test) for chord in columns]

        for kind, (_, sizes) in FAULTS.items():
            unit = "mm" if kind == "step" else "deg"
            told = TOLD_STEP if kind == "step" else TOLD
            table(
                f"{kind}: found, % (told from {told:g} {unit} on), noise up to {noise:g} mm",
                [
                    (f"{size:g} {unit}", [row for row in mine if row.fault == kind and row.size == size])
                    for size in sizes
                ],
                heads,
                lambda rows: by_chord(rows, hit),
            )
        table(
            f"False alarms on whole edges, %, noise up to {noise:g} mm",
            [(shape, [row for row in whole if row.noise == noise and row.shape == shape]) for shape in KINDS]
            + [("all", [row for row in whole if row.noise == noise])],
            heads,
            lambda rows: by_chord(rows, alarm),
        )
        table(
            f"False alarms away from the fault, %, noise up to {noise:g} mm",
            [(kind, [row for row in mine if row.fault == kind]) for kind in FAULTS],
            heads,
            lambda rows: by_chord(rows, alarm),
        )
    forms_shown = [(None, 0.0), *((chord, noise) for noise in (0.0, 0.3) for chord in (1.0, 2.0, 5.0, 10.0))]
    for kind, thresholds in (("kink", DEGREES), ("step", MM), ("flat", DEGREES)):
        unit = "mm" if kind == "step" else "deg"
        least = 1.0 if kind == "step" else 2.0

        def points(form, kind=kind, thresholds=thresholds, least=least):
            own = [row for row in seen if (row.chord, row.noise) == form]
            faults = [row for row in own if row.fault == kind and row.size >= least]
            wholes = [row for row in own if row.fault == "whole"]
            cells = []
            for threshold in thresholds:
                true = share(faults, lambda row, t=threshold: hit(row, t, t))
                if kind == "step":
                    false = share(wholes, lambda row, t=threshold: row.away.get("step", 0.0) >= t)
                else:
                    false = share(wholes, lambda row, t=threshold: alarm(row, t, float("inf")))
                cells.append(f"{true.strip()}/{false.strip()}")
            return [f"{cell:>12}" for cell in cells]

        out = [
            f"{kind} of {least:g} {unit} and more, over the threshold in {unit}: found / false alarms on whole edges, %"
        ]
        out.append(" " * 22 + "".join(f"{threshold:>12g}" for threshold in thresholds))
        for form in forms_shown:
            name = "true curve" if form[0] is None else f"{form[0]:g} mm, noise {form[1]:g}"
            out.append(f"{name:<22}" + "".join(points(form)))
        sys.stdout.write("\n".join(out) + "\n\n")
    exact = [abs(row.near.get("kink", 0.0) - row.size) for row in seen if row.fault == "kink" and row.chord is None]
    sys.stdout.write(f"Kinks of true curves: measured to {max(exact):.1e} degrees at worst.\n")


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--edges", type=int, default=45, help="how many edges of every shape")
    parser.add_argument("--jobs", type=int, default=1)
    options = parser.parse_args()
    start = time.perf_counter()
    seen = run(options.edges, options.jobs)
    sys.stdout.write(
        f"{options.edges * len(KINDS)} edges of {len(KINDS)} shapes, {len(seen)} drawings, "
        f"{time.perf_counter() - start:.0f} s\n\n"
    )
    report(seen)


if __name__ == "__main__":
    main()
