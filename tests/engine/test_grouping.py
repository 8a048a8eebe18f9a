"""Findings that repeat are told once, and none is lost or told twice."""

import random
from dataclasses import replace
from itertools import chain

from seamcheck.amounts import Angle, Length, Name, Phrase, phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.causes import Cause, causes_of
from seamcheck.engine.grouping import Group, fold
from seamcheck.engine.result import FileResult, Finding

SIZES = tuple(str(size) for size in range(34, 34 + 2 * 28, 2))


def short(one: str = "back.side", other: str = "front.side", amount: float = 6.4) -> Phrase:
    return phrase(
        "{one} is {amount} too short to be sewn to {other}.", one=Name(one), amount=Length(amount), other=Name(other)
    )


def kink(edge: str) -> Phrase:
    return phrase("{edge} has a kink of {angle}.", edge=Name(edge), angle=Angle(5.0))


def finding(message: str | Phrase | None = None, **changes) -> Finding:
    given = {
        "check": "seam-length",
        "code": "short",
        "severity": Severity.ERROR,
        "size": "42",
        "remedy": phrase("Give it back."),
        "seam": "side",
        "pieces": ("back", "front"),
        "edges": ("back.side", "front.side"),
        "measured": -6.4,
        "unit": "mm",
        "tolerance": 1.6,
        "at": 10 + 10j,
    }
    return Finding(fault=phrase("{text}", text=short() if message is None else message), **{**given, **changes})


def missing(piece: str, **changes) -> Finding:
    nothing = {"seam": None, "edges": (), "measured": None, "unit": None, "tolerance": None}
    return finding(
        phrase("{piece} has no grain arrow.", piece=Name(piece)),
        **{"check": "grain-present", "code": "missing", "pieces": (piece,), **nothing, **changes},
    )


def folded(*findings: Finding, sizes=SIZES, pieces=("front", "back")) -> tuple[Group, ...]:
    return fold(FileResult(path="skirt.dxf", sizes=sizes, pieces=pieces, findings=findings))


def caused(*findings: Finding, sizes=SIZES, pieces=("front", "back")) -> tuple[Cause, ...]:
    return causes_of(FileResult(path="skirt.dxf", sizes=sizes, pieces=pieces, findings=findings))


def every(causes: tuple[Cause, ...]) -> list[Finding]:
    return list(chain.from_iterable(cause.findings for cause in causes))


def test_one_finding_in_all_sizes_is_one_with_its_range():
    found = [finding(short(amount=k), size=size, measured=-float(k)) for k, size in enumerate(SIZES, 2)]
    (group,) = folded(*found)
    assert group.sizes == SIZES
    assert group.worst.measured == -29.0
    least, most = group.range
    assert (least.size, most.size) == (SIZES[0], SIZES[-1])


def test_sizes_stand_in_the_order_of_the_file_and_not_of_their_names():
    sizes = ("S", "M", "L")
    (group,) = folded(*(finding(size=size) for size in sorted(sizes)), sizes=sizes)
    assert group.sizes == sizes
    assert group.range is None


def test_two_notches_on_one_edge_stay_two():
    notches = [finding(size=size, at=complex(at)) for size in SIZES[:3] for at in (10, 20)]
    assert [[one.at for one in group.findings] for group in folded(*notches)] == [[10, 10, 10], [20, 20, 20]]


def test_a_notch_that_one_size_lacks_leaves_the_others_together():
    notches = [finding(size=size, at=complex(at)) for size in SIZES for at in (10, 200)]
    del notches[10]
    assert sorted(len(group.findings) for group in folded(*notches)) == [27, 28]


def test_what_is_told_in_the_same_words_goes_together_before_what_is_near():
    def off(mm: float, corner: str, size: str, at: complex) -> Finding:
        told = phrase(
            "In size {size} notch {number}, {where}, is off",
            size=Name(size),
            number=int(mm),
            where=phrase("{mm} from {corner}", mm=Length(mm), corner=Name(corner)),
        )
        return finding(told, size=size, at=at)

    found = [off(10, "waist", "34", 0j), off(30, "hem", "34", 30j)]
    found += [off(31, "hem", "36", 1j), off(11, "waist", "36", 31j)]
    assert [[one.at for one in group.findings] for group in folded(*found)] == [[0j, 31j], [30j, 1j]]


def test_what_differs_is_not_folded():
    kinds = [finding(), finding(code="long"), finding(check="seam-span"), finding(seam="inseam")]
    kinds += [finding(edges=("front.hem",)), finding(pieces=("front",)), finding(accepted="known")]
    assert len(folded(*kinds, sizes=("42",))) == len(kinds)


def test_mirrored_twins_are_one():
    pieces = ("back-left", "front-left", "back-right", "front-right")
    left, right = (
        finding(
            short(f"back-{which}.side", f"front-{which}.side"),
            seam=f"side-{which}",
            pieces=(f"back-{which}", f"front-{which}"),
            edges=(f"back-{which}.side", f"front-{which}.side"),
            measured=-6.4 + nothing,
        )
        for which, nothing in (("left", 0.0), ("right", 1e-9))
    )
    (group,) = folded(left, right, pieces=pieces)
    assert len(group.places) == 2
    # Another amount is another fault.
    assert len(folded(left, replace(right, measured=-6.2), pieces=pieces)) == 2
    for other in (
        short("back-right.side", "front-right.side", 6.2),
        short("back-right.side", "front-right.hem"),
        short("back-right.side", "back-right.side"),
    ):
        assert len(folded(left, replace(right, fault=other), pieces=pieces)) == 2


def test_what_was_left_out_everywhere_is_one_thing():
    names = tuple(f"panel {k}" for k in range(21))
    (group,) = folded(*map(missing, names), pieces=names)
    assert sorted(one.pieces[0] for one in group.findings) == sorted(names)


def test_two_faults_of_one_piece_are_two():
    first = finding(kink("back.side"), pieces=("back",), edges=("back.side",), seam=None)
    second = finding(kink("back.hem"), pieces=("back",), edges=("back.hem",), seam=None)
    assert len(folded(first, second)) == 2


def test_a_name_within_a_longer_one_is_not_taken_for_it():
    one = finding(kink("back"), pieces=("back",), seam=None)
    other = finding(kink("back-facing"), pieces=("back-facing",), seam=None)
    of_both = phrase("{facing} of {edge}", facing=Name("back-facing"), edge=kink("back"))
    third = finding(of_both, pieces=("back",), seam=None)
    groups = folded(one, other, third, pieces=("back", "back-facing"))
    assert sorted(len(group.places) for group in groups) == [1, 2]


def test_no_finding_is_lost_or_told_twice_and_the_order_given_does_not_matter():
    chance = random.Random(5)
    pieces = [f"{name}-{which}" for name in ("front", "back", "pocket") for which in ("left", "right")]
    for _ in range(60):
        found = []
        for _ in range(chance.randrange(1, 60)):
            piece, size, amount = chance.choice(pieces), chance.choice(SIZES[:5]), float(chance.randrange(1, 4))
            words = f"{piece}.side is {amount} off, {chance.randrange(3)} mm from hem"
            check = chance.choice(["size-run", "seam-length", "edge-blend"])
            at = complex(chance.randrange(5), len(found))
            found.append(
                finding(
                    words,
                    check=check,
                    pieces=(piece,),
                    size=size,
                    measured=amount,
                    at=at,
                    seam=None,
                    cause=chance.choice(["", "", "seam side", f"piece {piece}"]),
                )
            )
        causes = caused(*found, sizes=SIZES[:5], pieces=tuple(pieces))
        assert sorted(map(id, every(causes))) == sorted(map(id, found))
