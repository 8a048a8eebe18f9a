"""Which seeded faults are found, from which size on, and what else is said that nobody seeded.

Every kind of fault (tests/seeded_kinds.py) is seeded at 0.5, 1.1, 1.5, 2.5 and 4 times its tolerance in every clean pattern that has
a place for it (tests/seeded_patterns.py). The pattern is written as a drawing with curves, as a CAD drawing and as digitised
chords, read from the file and checked with the plan it had before. A fault counts as found when its own check says so
about its piece or seam, as a warning or an error; below its tolerance it should not be. A false alarm is any other
finding of that severity that does not follow from the fault by the geometry of the draft.

By itself a run takes the forms in turn, so that every kind meets every form; --all takes all forms of all.
Run by hand, some minutes: nice python tests/benchmarks/bench_seeded_faults.py [--all] [--jobs 2] [--kind "kink, a point"]
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from seeded_kinds import KINDS  # noqa: E402
from seeded_patterns import FORMS, MAKERS  # noqa: E402
from seeding import SIZES, seed  # noqa: E402


def tasks(kinds, patterns, every_form, sizes=SIZES):
    """What is to be seeded: (kind, size, pattern, form)."""
    for number in kinds:
        for k, name in enumerate(patterns):
            for s, size in enumerate(sizes):
                forms = FORMS if every_form else (FORMS[(number + k + s) % len(FORMS)],)
                for form in forms:
                    yield number, size, name, form


def run(work, jobs=1):
    """Everything seeded, in order."""
    if jobs == 1:
        seen = (seed(*task) for task in work)
        return [one for one in seen if one is not None]
    with ProcessPoolExecutor(jobs) as pool:
        return [one for one in pool.map(seed, *zip(*work, strict=True), chunksize=8) if one is not None]


def report(seen, details):
    """Recall and false alarms by kind and size, by form, and every miss and alarm if they are asked for."""
    by_kind = defaultdict(lambda: defaultdict(list))
    for one in seen:
        by_kind[one.kind][one.size].append(one)
    out = [
        f"{'found of seeded, at so many tolerances':<34}"
        + "".join(f"{size:>9g}" for size in SIZES)
        + f"{'patterns':>10}{'alarms':>8}"
    ]
    measured = {kind.name: kind.tolerance is not None for kind in KINDS}
    for kind in KINDS:
        if kind.name not in by_kind:
            continue
        sizes = by_kind[kind.name]
        cells = [f"{sum(o.found for o in sizes[size])}/{len(sizes[size])}" for size in SIZES]
        every = [one for size in SIZES for one in sizes[size]]
        alarms = sum(bool(one.others or one.failed) for one in every)
        name = kind.name if measured[kind.name] else f"{kind.name} *"
        out.append(
            f"{name:<34}"
            + "".join(f"{cell:>9}" for cell in cells)
            + f"{len({o.pattern for o in every}):>10}{alarms:>8}"
        )
    out.append("* not measured: seeded at five places, always to be found\n")
    due = [one for one in seen if one.size > 1 or not measured[one.kind]]
    early = [one for one in seen if one.size < 1 and measured[one.kind]]
    for title, rows in (("all", due), *((form, [one for one in due if one.form == form]) for form in FORMS)):
        if rows:
            found = sum(one.found for one in rows)
            alarms = sum(bool(one.others or one.failed) for one in rows)
            out.append(
                f"{title:<12} found {found} of {len(rows)} ({100 * found / len(rows):.1f} %), false alarms in {alarms}"
            )
    out.append(f"below tolerance: told of {sum(one.found for one in early)} of {len(early)}, false alarms in "
               f"{sum(bool(one.others or one.failed) for one in early)}")  # fmt: skip
    if details:
        out += ["", "Missed:"] + [
            f"  {one.kind}, {one.size:g} x, {one.pattern}, {one.form}" for one in due if not one.found
        ]
        out += ["Told below its tolerance:"] + [
            f"  {one.kind}, {one.size:g} x, {one.pattern}, {one.form}" for one in early if one.found
        ]
        out += ["False alarms:"]
        for words, count in Counter(
            (one.kind, one.pattern, one.form, f"{one.size:g} x", *(one.others or (one.failed,)))
            for one in seen
            if one.others or one.failed
        ).items():
            out.append(f"  {'; '.join(words)}" + (f" ({count} times)" if count > 1 else ""))
    sys.stdout.write("\n".join(out) + "\n")


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--all", action="store_true", help="every fault in every form")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--kind", action="append", help="only kinds whose name holds these words")
    parser.add_argument("--pattern", action="append", choices=sorted(MAKERS), help="only these patterns")
    parser.add_argument("--size", action="append", type=float, choices=SIZES, help="only these sizes, in tolerances")
    parser.add_argument("--details", action="store_true", help="list what was missed and what was told beside")
    options = parser.parse_args()
    start = time.perf_counter()
    kinds = [k for k, kind in enumerate(KINDS) if not options.kind or any(word in kind.name for word in options.kind)]
    work = list(tasks(kinds, options.pattern or list(MAKERS), options.all, options.size or SIZES))
    seen = run(work, options.jobs)
    sys.stdout.write(f"{len(seen)} faults of {len(kinds)} kinds, {time.perf_counter() - start:.0f} s\n\n")
    report(seen, options.details)


if __name__ == "__main__":
    main()
