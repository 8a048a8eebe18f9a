"""How many patterns traced by hand are judged as the curves that they were traced from, and where the others go wrong.

Three sets (tests/traced_cases.py): one that the reading of chords is tuned on, and two of other designs that it is not. Run by hand,
some minutes a set: nice python tests/benchmarks/bench_traced.py [--set "held out"] [--details]
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

import seeded_patterns  # noqa: E402, F401
from traced_cases import CHORDS, LENGTH_OFF, NOISES, SETS, cases, judge, severe  # noqa: E402


def report(seen, details):
    """Right cases by chord and noise, and by what the others went wrong."""
    out = [f"{sum(one.right for one in seen)} of {len(seen)} right; "
           f"{sum(one.missed for one in seen)} of {sum(bool(one.case.fault) for one in seen)} faults missed"]  # fmt: skip
    out.append("right, by chord (down) and noise (across), mm")
    out.append(" " * 8 + "".join(f"{noise:>8g}" for noise in NOISES))
    for chord in CHORDS:
        cells = []
        for noise in NOISES:
            here = [one for one in seen if one.case.chord == chord and one.case.noise == noise]
            cells.append(f"{sum(one.right for one in here)}/{len(here)}")
        out.append(f"{chord:>8g}" + "".join(f"{cell:>8}" for cell in cells))
    loud = sum(any(map(severe, one.false)) for one in seen)
    out.append(
        f"false warnings or errors in {loud}, false notes alone in {sum(bool(one.false) for one in seen) - loud}"
    )
    clean = [one for one in seen if not one.case.fault]
    out.append(f"lengths off by more than {LENGTH_OFF} mm in {sum(one.length_off > LENGTH_OFF for one in clean)} of {len(clean)}, "
               f"worst {max(one.length_off for one in clean):.2f} mm")  # fmt: skip
    angles = sorted(one.angle_off for one in clean)
    out.append(f"worst angle of a corner: median of the cases {angles[len(angles) // 2]:.1f}, worst {angles[-1]:.1f} degrees; "
               f"all within what is said of them in {sum(one.within for one in clean)} of {len(clean)}")  # fmt: skip
    kinds = Counter(said.partition(":")[0] for one in seen for said in one.false)
    out += [f"  {count:>4} {kind}" for kind, count in kinds.most_common()]
    if details:
        for one in seen:
            if not one.right:
                case = one.case
                out.append(f"{case.pattern} {case.chord:g}/{case.noise:g} #{case.number} {case.fault}"
                           f"{' MISSED' if one.missed else ''} length {one.length_off:.2f} angle {one.angle_off:.1f}")  # fmt: skip
                out += [f"    {said}" for said in one.false]
    sys.stdout.write("\n".join(out) + "\n")


def main():
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--set", choices=sorted(SETS), default="tuning")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--chord", type=float, action="append")
    parser.add_argument("--noise", type=float, action="append")
    parser.add_argument("--details", action="store_true")
    options = parser.parse_args()
    work = [
        case
        for case in cases(options.set)
        if (not options.chord or case.chord in options.chord) and (not options.noise or case.noise in options.noise)
    ]
    if options.jobs == 1:
        seen = [judge(case) for case in work]
    else:
        with ProcessPoolExecutor(options.jobs) as pool:
            seen = list(pool.map(judge, work, chunksize=4))
    report(seen, options.details)


if __name__ == "__main__":
    main()
