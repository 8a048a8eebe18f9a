import pytest

from seamcheck.pattern.drawing import Role
from seamcheck.pattern.words import is_generic, piece_name, role_by_words, role_in, role_named


@pytest.mark.parametrize(
    ("role", "names"),
    [
        (Role.SEW, "sew line|Seam Line|stitching-line 2|SewLine|Nahtlinie|ligne de couture|Línea de costura"),
        (Role.SEW, "linea di cucitura|Stiklijn|sew|Naht|couture|costura|cucitura|naad|Seams 2|Back_sewline"),
        (
            Role.CUT,
            "cut line|CUTLINE|cutting line|Schnittlinie|ligne de coupe|línea de corte|linea di taglio|kniplijn",
        ),
        (Role.CUT, "Cut|cut 1|Schnitt|Coupe|corte|taglio|knippen"),
        (
            Role.NOTCH,
            "notch|Notches 2|balance mark|Knips|Passzeichen|cran|encoche|piquete|muesca|tacca|inkeping|knipje",
        ),
        (
            Role.GRAIN,
            "grain|Grainline|grain line|Fadenlauf|droit-fil|recto hilo|hilo|drittofilo|draadrichting|Back grain",
        ),
        (Role.FOLD, "fold line|fold|place on fold|Stoffbruch|Bruch|pliure|doblez|ripiegatura|stofvouw|vouwlijn"),
        (Role.DART, "dart|Back darts|Abnäher|ABNAEHER|pince|pinza|figuurnaad|ripresa"),
        (Role.DRILL, "drill hole|drill|Bohrloch|trou de perçage|taladro|perforación|foro|boorgat"),
        (Role.INTERNAL, "internal line|topstitching|Innenlinie|surpiqûre|pespunte|impuntura|hulplijn"),
        (Role.CUTOUT, "cutout|Aussparung|évidement|uitsparing"),
        (Role.FURNITURE, "measure-line|dimension|Bemaßung|cotes|cotas|maatlijn|frame|Rahmen|cadre|title block"),
        (
            Role.TEST_SQUARE,
            "test square|Scale Square 5 cm|Testquadrat|carré de contrôle|cuadrado de prueba|testvierkant",
        ),
        (Role.LABEL, "label|Beschriftung|texte|etiqueta|testo|tekst"),
        (Role.OUTLINE, "outline|Umriss|contour|contorno|omtrek"),
        (
            None,
            "Front|Back 2|cut 2 on grey cloth|step-1-cut|Leg|Sewell|foldover flap|Rounded net bag|path12||Layer 1",
        ),
    ],
)
def test_words(role, names):
    for name in names.split("|"):
        assert role_in(name) == role, name


def test_a_notch_on_a_sew_line_is_a_notch():
    assert role_in("notch on sew line") == Role.NOTCH


def test_levels_from_the_mark_outwards():
    groups = ("cut line", "sew line", "Front")
    assert role_by_words(("grain",), groups, {}) == (Role.GRAIN, 'label "grain"')
    assert role_by_words(("",), groups, {}) == (Role.SEW, 'group "sew line"')
    assert role_by_words(("Front",), (), {}) == (None, "")
    assert role_by_words(("GRAIN",), (), {}, kind="layer").why == 'layer "GRAIN"'


def test_bare_word_at_the_end_of_an_own_name():
    assert role_by_words(("front-cut",), (), {}).role == Role.CUT
    assert role_by_words(("front_sew 2",), (), {}).role == Role.SEW
    assert role_by_words(("cut pocket",), (), {}).role is None
    assert role_by_words((), ("front-cut",), {}).role is None


def test_a_name_that_names_a_piece_makes_no_fold_of_its_outline():
    name = "Yoke, cut 1 on fold"
    assert role_by_words((name,), (), {}, closed=True).role is None
    assert role_by_words((), (name,), {}).role is None
    assert role_by_words(("Yoke fold line",), (), {}).role == Role.FOLD
    assert role_by_words(("grain",), (), {}, closed=True).role == Role.GRAIN
    assert role_by_words((), ("Front notches",), {}).role == Role.NOTCH
    assert role_by_words((), ("Front notches",), {}, closed=True).role is None
    assert role_by_words((), ("Front sew line",), {}, closed=True).role == Role.SEW


def test_shop_patterns():
    shop = {"sew line": ["L?", "net *"], "notch": ["K"]}
    assert role_by_words(("l7",), (), shop).role == Role.SEW
    assert role_by_words(("NET front",), (), shop).role == Role.SEW
    assert role_by_words(("L77",), (), shop).role is None
    # The nearer level wins, whichever way it is told.
    assert role_by_words(("notch",), ("L7",), shop).role == Role.NOTCH
    assert role_by_words(("x",), ("K", "sew line"), shop).role == Role.SEW


def test_roles_by_the_words_of_settings():
    for role in Role:
        assert role_named(role.value) == role
        assert role_named(role.name.lower().replace("_", "-")) == role
    assert role_named("sew-line") == Role.SEW
    assert role_named("pocket") is None


@pytest.mark.parametrize(
    ("label", "name"),
    [
        ("Front", "Front"),
        ("Front - sew line", "Front"),
        ("sew line: Back leg", "Back leg"),
        ("Back_notches", "Back"),
        ("FrontGrainline", "Front"),
        ("Vorderteil Nahtlinie", "Vorderteil"),
        ("Devant, ligne de couture", "Devant"),
        ("Waist band, cut 2", "Waist band"),
        ("2x Pocket", "Pocket"),
        ("Pocket 2", "Pocket 2"),
        ("Yoke (cut 1 on fold)", "Yoke"),
        ("front-cut", "front"),
        ("Back leg sew 2", "Back leg 2"),
        ("A", "A"),
        ("(G)", "G"),
        ("A 1", ""),
        ("a", ""),
        ("g", ""),
        ("notch", ""),
        ("cut line", ""),
        ("cut", ""),
        ("fold", ""),
        ("Layer 1", ""),
        ("Ebene 3", ""),
        ("path1178", ""),
        ("g20495-2-3", ""),
        ("", ""),
        ("test square 5 cm", ""),
    ],
)
def test_piece_name(label, name):
    assert piece_name(label) == name


def test_generic_names():
    for name in ("path1178", "Layer 1", "g12-5", "rect_2_", "", "Calque 3"):
        assert is_generic(name)
    for name in ("Front", "sew line 2", "Leg"):
        assert not is_generic(name)
