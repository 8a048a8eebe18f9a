"""What comes of one thing is told as one cause, with one head and one recipe."""

from dataclasses import replace

from test_grouping import SIZES, caused, every, finding, kink, short

from seamcheck.amounts import Name, Phrase, phrase
from seamcheck.checks.base import Severity

BROKEN = (
    finding(),
    finding("back.inseam is short.", seam="inseam", edges=("back.inseam", "front.inseam")),
    finding("the corners add to 150°.", check="corner-blend", code="pointed", seam=None, edges=("back.hem",)),
    finding("pocket.side is short", seam="pocket", pieces=("pocket",), edges=("pocket.side",)),
)


def test_one_broken_size_is_one_thing_with_what_it_brings():
    causes = caused(*BROKEN)
    assert [len(cause.signs) for cause in causes] == [2, 0]
    assert [cause.kind for cause in causes] == ["broken-size", "single"]
    assert causes[0].severity == Severity.ERROR
    assert {one.pieces for one in every(causes[:1])} == {("back", "front")}


def test_the_check_of_sizes_names_the_broken_size_and_stands_first():
    named = finding(
        "back is out of the run in size 42.", check="size-run", code="out", severity=Severity.NOTE, pieces=("back",)
    )
    (cause,) = caused(*BROKEN[:1], named)
    assert cause.worst is named
    assert cause.severity == Severity.ERROR


def test_faults_of_all_sizes_are_not_blamed_on_one():
    found = [*BROKEN, *(finding("back.hem has a kink.", code="kink", seam="hem", size=size) for size in SIZES)]
    (cause,) = [cause for cause in caused(*found) if cause.worst.code == "kink"]
    assert len(cause.findings) == 28
    assert cause.signs == ()


def test_two_sizes_have_none_that_stands_out():
    assert len(caused(*BROKEN, sizes=("40", "42"))) == len(BROKEN)


def test_what_is_accepted_stands_last_and_is_no_part_of_a_broken_size():
    causes = caused(finding("eased", seam="cap", accepted="eased with the iron"), *BROKEN)
    assert causes[-1].accepted == "eased with the iron"
    assert all(one.accepted is None for one in every(causes[:-1]))


def altered(piece: str, **changes):
    """A seam that is off since one piece was altered."""
    said = phrase("{text}", text=short())
    told = finding(**{"cause": f"piece {piece}", **changes})
    facts = (*said.facts, ("altered", Name(piece)), ("probably", phrase("{piece} was altered", piece=Name(piece))))
    return replace(told, fault=Phrase(said.template, facts))


def test_signs_of_one_alteration_are_one_cause_told_by_its_seam():
    bent = finding("back: the grain arrow is bent.", check="grain-straight", code="bent", seam=None, pieces=("back",))
    kinked = finding(kink("back.hem"), check="edge-blend", code="kink", seam=None, pieces=("back",), measured=40.0)
    strange = finding(kink("front.hem"), check="edge-blend", code="kink", seam=None, pieces=("front",))
    off = altered("back")
    causes = caused(
        replace(bent, cause="piece back"), replace(kinked, cause="piece back"), strange, off, sizes=("42",)
    )
    (cause,) = [one for one in causes if one.signs]
    assert cause.worst is off
    assert (cause.kind, cause.piece, str(cause.probably)) == ("altered-alone", "back", "back was altered")
    assert [group.worst.check for group in cause.signs] == ["edge-blend", "grain-straight"]
    assert [one.kind for one in causes if not one.signs] == ["single"]


def test_a_repeated_finding_joins_what_its_repetitions_belong_to():
    """Left and right were altered alike: the kink that is told once for both is a sign of both seams, and so they are one cause."""
    pieces = ("back-left", "back-right")
    off = [
        replace(altered(name), seam=f"side-{name}", pieces=(name, f"front-{name}"), measured=-amount)
        for name, amount in zip(pieces, (6.4, 3.2), strict=True)
    ]
    kinks = [
        finding(
            kink(f"{name}.hem"),
            check="edge-blend",
            code="kink",
            seam=None,
            pieces=(name,),
            edges=(f"{name}.hem",),
            cause=f"piece {name}",
        )
        for name in pieces
    ]
    (cause,) = caused(*off, *kinks, sizes=("42",), pieces=pieces)
    assert len(cause.findings) == 4
    assert cause.worst is off[0]


def test_what_is_accepted_is_no_sign():
    bent = finding(
        "bent", check="grain-straight", code="bent", seam=None, cause="piece back", accepted="it is only for show"
    )
    causes = caused(altered("back"), bent, sizes=("42",))
    assert [len(cause.findings) for cause in causes] == [1, 1]
