"""Which seams the trade eases by custom, and which side of them is the longer one."""

import pytest
from pattern_making import box, graph, line_mark

from seamcheck.checks.seam_kinds import CAP, INSEAM, SHOULDER, WAIST, customary


def seam(first: str, second: str):
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
    (only,) = graph(marks, f'{plan}[[seams]]\nname = "s"\nsew = ["{first}", "{second}"]\n').seams
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
        ("band.waist", "facing.waist"),
        ("band-front.side", "band-back.side"),
        ("p1.e1", "p2.e3"),
    ],
)
def test_names_that_say_nothing_hold_nothing_against_a_seam(first, second):
    assert customary(seam(first, second)) is None
