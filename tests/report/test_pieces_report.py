import json
import math

import pytest

from seamcheck.engine.report_format import RenderOptions
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Ledger, LengthSource, Note
from seamcheck.pattern.model import Corner, Dart, Edge, Grainline, Notch, OpenOutline, Pattern, Piece, TakenFor
from seamcheck.places import Place
from seamcheck.report.pieces import RENDERERS, render_json, render_text

# The keys that other programs rely on; more may be added, none renamed or taken away.
PATTERN = {"schema", "path", "units", "notes", "pieces"}
PIECE = {
    *("name", "in_file", "size", "line", "perimeter", "area", "bounds", "corners", "edges", "grain", "darts"),
    *("labels", "text"),
}


def panel(**changes) -> Piece:
    """A panel of 100 by 200 mm whose right side bulges by a half circle of radius 100."""
    side = Curve.arc(100 + 100j, 100, start=-90, sweep=180)
    lines = (Curve.line(0, 100), side, Curve.line(100 + 200j, 200j), Curve.line(200j, 0))
    corners = tuple(
        Corner(name, at, angle, station, named=name == "cb-waist")
        for name, at, angle, station in (
            ("cb-waist", 0j, 90.0, 0.0),
            ("c2", 100 + 0j, 180.0, 100.0),
            ("c3", 100 + 200j, 180.0, 100 + 100 * math.pi),
            ("c4", 200j, 90.0, 200 + 100 * math.pi),
        )
    )
    given = {
        "name": "back",
        "in_file": "Back",
        "size": "M",
        "line": "sew",
        "outline": Curve.join(lines),
        "drawn": Curve.join(lines),
        "corners": corners,
        "edges": (
            Edge(name="waist", start="cb-waist", end="c2", runs=(lines[0],), named=True),
            Edge(
                name="e2",
                start="c2",
                end="c3",
                runs=(side,),
                notches=(Notch(200 + 100j, 50 * math.pi, 2, "layer NOTCH"),),
                source=LengthSource.SPLINE,
                chord_difference=0.25,
            ),
            Edge(name="e3", start="c3", end="c4", runs=(lines[2],)),
            Edge(name="e4", start="c4", end="cb-waist", runs=(lines[3],)),
        ),
        "y_down": True,
        "grainlines": (Grainline((50 + 20j, 50 + 180j), "a straight line with an arrow"),),
        "darts": (
            Dart(
                corners=("dart-in", "dart-tip", "dart-out"),
                points=(40 + 0j, 50 + 90j, 60 + 0j),
                legs=(Curve.line(40, 50 + 90j), Curve.line(60, 50 + 90j)),
            ),
        ),
        "drill_holes": (50 + 80j,),
        "stray_notches": (-20 - 20j,),
        "labels": {"quantity": "2", "material": "twill"},
        "texts": ("Back", "cut 2"),
        "reasons": (
            TakenFor("piece", 'label "sew line"'),
            TakenFor("hole", "a closed line inside", 2),
            TakenFor("hole", "layer 11"),
        ),
        "place": "group Back",
    }
    return Piece(**{**given, **changes})


def pattern(*pieces: Piece, **changes) -> Pattern:
    given = {
        "path": "ferryhand.svg",
        "name": "Ferryhand trousers",
        "format": "SVG",
        "units": "mm",
        "y_down": True,
        "sizes": ("M",),
        "pieces": pieces,
        "notes": (Note("no-test-square", "there is no test square in the file"),),
        "ledger": Ledger(read=9, used=7, aside={"image on layer Photo": 1, "hidden path": 1}),
    }
    return Pattern(**{**given, **changes})


def test_json_has_all_keys_and_exact_figures():
    told = json.loads(render_json(pattern(panel()), RenderOptions()))
    assert told.keys() >= PATTERN
    assert told["schema"] == "seamcheck.pieces/1"
    (piece,) = told["pieces"]
    assert piece.keys() >= PIECE
    assert piece["perimeter"] == pytest.approx(400 + 100 * math.pi, abs=1e-5)
    assert piece["area"] == pytest.approx(100 * 200 + math.pi * 100**2 / 2, abs=1e-3)
    assert piece["bounds"] == pytest.approx([0, 0, 200, 200], abs=1e-5)
    assert piece["corners"][0] == {
        "name": "cb-waist",
        "at": [0.0, 0.0],
        "angle": 90.0,
        "named": True,
        "uncertainty": 0.0,
        "notches": 0,
    }
    assert [edge["name"] for edge in piece["edges"]] == ["waist", "e2", "e3", "e4"]
    side = piece["edges"][1]
    assert (side["from"], side["to"]) == ("c2", "c3")
    assert side["length"] == pytest.approx(100 * math.pi, abs=1e-5)
    assert side["notches"] == [{"at": [200.0, 100.0], "station": 157.079633, "count": 2, "why": "layer NOTCH"}]
    assert (side["source"], side["chord_difference"]) == ("spline through the curve points", 0.25)
    grain = {"from": [50.0, 20.0], "to": [50.0, 180.0], "length": 160.0, "angle": 90.0}
    assert piece["grain"] == {**grain, "why": "a straight line with an arrow"}
    assert piece["reasons"] == ['piece: label "sew line"', "hole: a closed line inside (2 of them)", "hole: layer 11"]
    (dart,) = piece["darts"]
    assert dart["corners"] == ["dart-in", "dart-tip", "dart-out"]
    assert dart["legs"] == pytest.approx([math.hypot(10, 90)] * 2, abs=1e-6)
    assert dart["intake"] == 20.0
    assert piece["labels"] == {"material": "twill", "quantity": "2"}
    assert piece["text"] == ["Back", "cut 2"]
    aside = {"hidden path": 1, "image on layer Photo": 1}
    assert told["ledger"] == {"read": 9, "used": 7, "kept_aside": 2, "aside": aside}


def test_json_of_a_piece_without_grain_has_null():
    (piece,) = json.loads(render_json(pattern(panel(grainlines=())), RenderOptions()))["pieces"]
    assert piece["grain"] is None


def test_text_tells_every_piece():
    text = render_text(pattern(panel()), RenderOptions(width=100))
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert (
        lines[0] == "ferryhand.svg: 1 piece in 1 size (M), read as SVG, drawn in mm; here in mm, x to the right and y"
    )
    assert 'back, size M ("Back" in the file)' in lines
    assert "The outline is the sew line; 714.2 mm round, 200.0 mm by 200.0 mm." in lines
    assert "waist 100.0 mm from cb-waist to c2" in lines
    assert "e2 314.2 mm from c2 to c3, notched at 157.1 mm (double), length by spline through the curve" in lines
    assert "Grain: 160.0 mm at 90.0° from (50.0, 20.0) to (50.0, 180.0)" in lines
    assert "Darts: dart-in, dart-tip, dart-out: legs 90.6 mm and 90.6 mm, intake 20.0 mm" in lines
    assert "Notches on no edge: (-20.0, -20.0)" in lines
    assert "Note: there is no test square in the file" in lines
    assert 'Why piece: label "sew line"' in lines
    assert "Why hole: a closed line inside (2 of them); layer 11" in lines
    assert "Why notch: at 157.1 mm on e2: layer NOTCH" in lines
    assert "Why grain: a straight line with an arrow" in lines
    assert lines[-1] == "9 entities read, 7 used, 2 kept aside: 1 × hidden path; 1 × image on layer Photo."


def test_text_names_the_most_frequent_kinds_that_were_kept_aside():
    aside = {f"line on layer {k}": k for k in range(1, 15)}
    text = render_text(pattern(ledger=Ledger(read=105, used=0, aside=aside)), RenderOptions(width=500))
    last = " ".join(text.split("\n\n")[-1].split()).partition("file ")[2]
    assert last.startswith("105 entities read, 0 used, 105 kept aside: 14 × line on layer 14; 13 × line on layer 13;")
    assert last.endswith("3 × line on layer 3; 3 of 2 more kinds (all of them with --format json).")


def test_text_gathers_notches_of_one_reason():
    notches = tuple(Notch(0j, 10.0 * k, 1, "label “notch”") for k in range(1, 6))
    edge = Edge(name="waist", start="c1", end="c2", runs=(Curve.line(0, 100),), notches=notches)
    assert "Why notch: at 10.0 mm on waist and 4 other places: label" in render_text(
        pattern(panel(edges=(edge,))), RenderOptions(width=100)
    )


def test_text_says_which_line_was_walked():
    def line(**changes) -> str:
        return render_text(pattern(panel(**changes)), RenderOptions())

    assert "is not known" in line(line="unknown")
    assert "lengths are along the sew line" in line(line="cut")
    outline = panel().outline
    assert "lengths are along it" in line(line="cut", outline=outline, drawn=outline)


def test_an_outline_that_stays_open_is_told():
    open_outline = OpenOutline(name="band", size="M", ends=(0j, 3 + 4j), gap=5.0, place=Place("element path7"))
    given = pattern(panel(), open_outlines=(open_outline,))
    assert "Open: band, size M: the outline does not close; 5.0 mm (3/16 in) between its ends" in render_text(
        given, RenderOptions(width=100)
    )
    assert json.loads(render_json(given, RenderOptions()))["open_outlines"][0]["ends"] == [[0.0, 0.0], [3.0, 4.0]]


def test_names_in_a_file_cannot_steer_the_terminal():
    text = render_text(pattern(panel(in_file="\x1b[2J", texts=("\x07",))), RenderOptions())
    assert "\x1b" not in text
    assert "\x07" not in text


def test_every_form_is_offered():
    assert list(RENDERERS) == ["text", "json", "svg"]
