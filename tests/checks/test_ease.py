"""Which seams the trade eases by custom, and which side of them is the longer one."""

import pytest
from faulty_skirts import hem_leaving, inseam
from pattern_making import box, graph, line_mark
from skirt_making import CHECKS, SHOP, Sheet

from seamcheck.checks.seam_kinds import CAP, INSEAM, OUTER, SHOULDER, WAIST, customary
from seamcheck.engine.judge import judge
from seamcheck.engine.result import FileResult


def seam(first: str, second: str, called: str = "s"):
    """A seam between two edges, each "piece.edge"."""
    marks, plan = [], ""
    for k, name in enumerate((first, second)):
        piece, edge = name.split(".")
        x = 400 * k
        marks.append(line_mark(box(at=complex(x, 0)), label=piece))
        plan += (
            f'[pieces."{piece}"]\n[pieces."{piece}".corners]\na = [{x}, 0]\nb = [{x + 200}, 0]\nc = [{x + 200}, 300]\n'
            f'[pieces."{piece}".edges]\n"{edge}" = ["a", "b"]\n'
        )
    (only,) = graph(marks, f'{plan}[[seams]]\nname = "{called}"\nsew = ["{first}", "{second}"]\n').seams
    return only


@pytest.mark.parametrize(
    ("first", "second", "kind", "sign"),
    [
        ("sleeve.cap", "front.armhole", CAP, 1),
        ("back.armscye", "top sleeve.sleeve-head", CAP, -1),
        ("sleeve.armhole", "back.armhole", CAP, 1),
        ("Ärmel.Armkugel", "Rücken.Armloch", CAP, 1),
        ("manche.tête", "dos.emmanchure", CAP, 1),
        ("back.shoulder", "front.shoulder", SHOULDER, 1),
        ("front.shoulder", "yoke-back.shoulder", SHOULDER, -1),
        ("Vorderteil.Schulter", "Rückenteil.Schulter", SHOULDER, -1),
        ("devant.épaule", "dos.épaule", SHOULDER, -1),
        ("delantero.hombro", "espalda.hombro", SHOULDER, -1),
        ("davanti.spalla", "dietro.spalla", SHOULDER, -1),
        ("voorpand.schouder", "rugpand.schouder", SHOULDER, -1),
        ("skirt.waist", "band.lower", WAIST, 1),
        ("Bund.unten", "Rock.Taille", WAIST, -1),
        ("falda.cintura", "pretina.abajo", WAIST, 1),
        ("front.inseam", "back.inseam", INSEAM, 1),
        ("band.waist", "facing.waist", OUTER, 1),
        ("undercollar.outer", "collar.outer", OUTER, -1),
        ("Beleg.oben", "Bund.oben", OUTER, -1),
    ],
)
def test_a_seam_is_known_by_its_words(first, second, kind, sign):
    found = customary(seam(first, second))
    assert found is not None
    assert (found.kind, found.sign) == (kind, sign)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("front.side", "back.side"),
        ("front.outseam", "back.outseam"),
        ("leg.inseam", "other leg.inseam"),
        ("front.shoulder", "yoke.shoulder"),
        ("arm-band.lower", "front.armhole"),  # a binding, not a sleeve
        ("band-front.side", "band-back.side"),
        ("p1.e1", "p2.e3"),
    ],
)
def test_names_that_say_nothing_hold_nothing_against_a_seam(first, second):
    assert customary(seam(first, second)) is None


@pytest.mark.parametrize(
    ("name", "first", "second", "kind", "sign"),
    [
        ("shoulder", "front.e1", "back.e2", SHOULDER, -1),
        ("armhole", "sleeve.e2", "front.e3", CAP, 1),
        ("waist-front", "front.e1", "band.e2", WAIST, 1),
        ("inseam", "back.e1", "front.e4", INSEAM, -1),
    ],
)
def test_where_edges_have_no_names_the_seam_tells(name, first, second, kind, sign):
    found = customary(seam(first, second, name))
    assert found is not None
    assert (found.kind, found.sign) == (kind, sign)
    assert customary(seam(first, second)) is None


def inferred(sheet: Sheet) -> FileResult:
    """What is said of a sheet whose plan nobody wrote."""
    pattern, plan = sheet.pattern(), sheet.plan
    assert plan is not None
    return judge(pattern, plan, CHECKS, SHOP, inferred={one.name: 0.9 for one in plan.seams})


def test_usual_ease_is_a_note_where_nobody_could_plan_it():
    """Up to 1/2 in of an inseam: common practice; beyond that it is judged as any other, and on the other side always."""
    assert inferred(inseam((200.0,), (197.0,), 3.0, ease=None)).findings == ()
    for amount, severity in ((12.0, "note"), (14.0, "error"), (-4.0, "error")):
        (finding,) = inferred(inseam((200.0,), (200.0 - amount,), amount, ease=None)).findings
        assert (finding.check, finding.severity.value) == ("seam-length", severity)


@pytest.mark.parametrize("degrees", [35.0, -35.0])
def test_a_sharp_point_is_taken_for_meant_only_where_nobody_could_say_so(degrees):
    sheet = hem_leaving(degrees)
    assert [one.severity.value for one in sheet.judged().findings if one.check == "corner-blend"] == ["error"]
    result = inferred(sheet)
    assert [one for one in result.findings if one.check == "corner-blend"] == []
    (why,) = (one.message for one in result.skipped if one.check == "corner-blend" and "meant" in one.message)
    assert (
        why
        == "back.side-hem and front.side-hem: the line across them turns by more than 30°, which was taken for meant"
    )
