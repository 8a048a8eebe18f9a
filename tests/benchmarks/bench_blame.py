"""How often the piece that a report blames is the one that was altered: by form, and traced by hand.

One edge of one piece of every draft is lengthened, shortened, spread or overlapped; its mates stay. A report blames the piece, or withholds
its blame. Run: python tests/benchmarks/bench_blame.py
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2] / "fixtures")]

from seeded_kinds import KINDS  # noqa: E402
from seeded_patterns import FURTHER, MAKERS, OTHERS, Spoilt, clean, judged  # noqa: E402
from traced_cases import Case, traced  # noqa: E402

AMOUNTS = (4.0, 6.35)  # mm
FORMS = {"curves": None, "traced, 3 mm": (3.0, 0.0), "traced, 3 mm, noise 0.1 mm": (3.0, 0.1)}
ALTERED = [kind for kind in KINDS if kind.check == "seam-length" and (" end" in kind.name or "notches" in kind.name)]


def blamed(name: str, spoilt: Spoilt, hand: tuple[float, float] | None, number: int) -> list[str | None]:
    """The piece that each seam which is off is blamed on; None where the blame is withheld."""
    drawn = spoilt if hand is None else traced(spoilt, Case(name, *hand, number))
    with TemporaryDirectory() as folder:
        found = judged(drawn, "curves", Path(folder)).findings
    return [
        str(one.facts["altered"]) if "altered" in one.facts else None for one in found if one.check == "seam-length"
    ]


def main() -> None:
    """Print how often the blame is right, withheld and wrong."""
    for form, hand in FORMS.items():
        if "--noise" in sys.argv and not (hand and hand[1]):
            continue
        told: Counter[str] = Counter()
        for number, name in enumerate(sorted({*MAKERS, *OTHERS, *FURTHER})):
            pattern = clean(name)
            for k, kind in enumerate(ALTERED):
                places = kind.places(pattern)
                if not places:
                    continue
                place = places[(number + k) % len(places)]
                spoilt = kind.make(pattern, place, AMOUNTS[(number + k) % 2])
                for piece in blamed(name, spoilt, hand, 7000 + 10 * number + k):
                    verdict = "withheld" if piece is None else "right" if piece == place.piece else "wrong"
                    told[verdict] += 1
                    if verdict == "wrong" and "--wrong" in sys.argv:
                        sys.stdout.write(f"  {name}: {kind.name} of {place.piece}.{place.edge}; blamed: {piece}\n")
        sys.stdout.write(f"{form}: {told['right']} right, {told['withheld']} withheld, {told['wrong']} wrong\n")


if __name__ == "__main__":
    main()
