"""Real drawings from the path to the result, held to what was measured on them independently. Skipped where absent."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request, read

FOLDER = Path(__file__).parents[2] / "shared" / "samples"
pytestmark = pytest.mark.skipif(not FOLDER.is_dir(), reason="the sample drawings are not here")


@pytest.fixture(scope="module")
def registry():
    return plugins.load(Settings())


def sample(start: str) -> str:
    (path,) = FOLDER.glob(f"{start}-*")
    return str(path)


def pattern_of(start: str, registry):
    return read(sample(start), Request(), registry, Settings())[0]


def notes(pattern):
    return {note.code: note.message for note in pattern.notes}


SKIRT = """\
format = 1
name = "half circle skirt"

[pieces.skirt]
in-file = "len* of the skirt"
cut = "one"
unsewn = ["hem", "left", "right"]
[pieces.skirt.corners]
left-hem = [50.13, 453.98]
right-hem = [1290.13, 453.98]
left-waist = [450.13, 453.98]
right-waist = [890.13, 453.98]
middle-waist = [670.13, 672.98]
[pieces.skirt.edges]
hem = ["left-hem", "right-hem"]
left = ["left-hem", "left-waist"]
right = ["right-waist", "right-hem"]
waist = ["left-waist", "middle-waist", "right-waist"]

[pieces.band]
in-file = "Waist band*"
cut = "one"
unsewn = ["upper", "left", "right"]
[pieces.band.corners]
upper-left = [340.28, 73.88]
upper-right = [1039.14, 73.88]
lower-right = [1039.14, 272.74]
lower-left = [340.28, 272.74]
[pieces.band.edges]
upper = ["upper-left", "upper-right"]
right = ["upper-right", "lower-right"]
lower = ["lower-left", "lower-right"]
left = ["upper-left", "lower-left"]

[[seams]]
name = "waist"
sew = ["skirt.waist", "band.lower"]
"""


def test_the_half_circle_skirt_is_shorter_at_its_waist_than_its_band(tmp_path, registry):
    # "These lengths shall be equal", says the drawing; they are not.
    plan = tmp_path / "skirt.seams.toml"
    plan.write_text(SKIRT)
    result = check_file(sample("01"), Request(plan=plan), registry, Settings())
    assert result.failures == ()
    (seam,) = result.seams
    assert seam.first.length == pytest.approx(229.644 + 230.293 + 229.644, abs=0.005)
    assert seam.second.length == pytest.approx(698.860, abs=0.001)
    assert seam.difference == pytest.approx(-9.28, abs=0.005)
    (finding,) = [one for one in result.findings if one.check == "seam-length"]
    assert (finding.code, finding.severity.value) == ("short", "error")
    assert finding.measured == pytest.approx(-9.28, abs=0.005)
    # What is no test of the waist: the line is drawn inside the piece, so that no corner can be judged there.
    assert any(one.check == "corner-blend" for one in result.skipped)


def test_the_skirt_has_two_pieces(registry):
    pattern = pattern_of("01", registry)
    assert len(pattern.pieces) == 2
    assert {piece.name.partition(" ")[0] for piece in pattern.pieces} == {"Waist", "lenght"}


def test_of_the_rucksack_only_pieces_are_left(registry):
    pattern = pattern_of("06", registry)
    assert pattern.units == "cm"
    boxes = [piece.drawn.bounds() for piece in pattern.pieces]
    sizes = sorted((round(x1 - x0), round(y1 - y0)) for x0, y0, x1, y1 in boxes)
    # The panels with their allowance, as their own dimensions say: 740 x 830, 300 x 830 (twice), 300 x 600, 300 x 240,
    # 1020 x 170, 120 x 120 mm; and the straps that are drawn for themselves, 25.4 mm wide.
    for panel in [(740, 810), (300, 830), (300, 600), (300, 240), (1020, 190), (120, 120)]:
        assert any(abs(w - panel[0]) <= 2 and abs(h - panel[1]) <= 25 for w, h in sizes), panel
    assert sum(min(size) <= 26 and max(size) >= 400 for size in sizes) == 8
    # No buckle, no swatch of the legend, no strip that is drawn where it is sewn on.
    assert min(max(size) for size in sizes) > 75
    assert len(sizes) <= 24
    assert "small closed line without a name" in notes(pattern)["not-a-piece"]
    # 533 elements are hidden in the file: 323 paths, 106 texts and their 104 tspans. One rect is neither stroked nor filled.
    hidden = sum(count for kind, count in pattern.ledger.aside.items() if kind.startswith("hidden"))
    assert hidden == 323 + 106 + 1


def test_a_sketch_holds_no_piece():
    result = CliRunner().invoke(main, ["pieces", sample("07")])
    assert result.exit_code == 2
    assert result.stderr.count("\n") == 1
    assert "no piece was found" in result.stderr
    assert "14 entities read, 0 used, 14 kept aside" in " ".join(result.stdout.split())
    judged = CliRunner().invoke(main, ["check", sample("07")])
    assert judged.exit_code == 2
    assert "there is no closed outline of more than 4 square centimetres" in judged.stderr


def test_the_pouch_has_four_panels_and_two_tabs(registry):
    pattern = pattern_of("11", registry)
    sewn = {piece.name: piece for piece in pattern.pieces if piece.line == "sew"}
    assert set(sewn) == {
        "Posterior panel",
        "Anterior panel",
        "Intermediate panel superior section",
        "Intermediate panel inferior section",
    }
    for piece in sewn.values():
        # The allowance is a paler rect behind: 10 mm.
        around, within = piece.drawn.bounds(), piece.outline.bounds()
        assert [abs(a - b) for a, b in zip(around, within, strict=True)] == pytest.approx([10] * 4, abs=0.3)
    tabs = [piece for piece in pattern.pieces if piece.line != "sew"]
    assert [round(piece.outline.length, 1) for piece in tabs] == [254.0, 254.0]
    assert len(sewn["Posterior panel"].internals) >= 4  # its webbing
    notched = {
        edge.name: [n.station for n in edge.notches] for edge in sewn["Intermediate panel superior section"].edges
    }
    assert [len(stations) for stations in notched.values()] == [2, 0, 2, 0]


def test_the_note_kit_has_four_pieces_with_their_names(registry):
    pattern = pattern_of("17", registry)
    sizes = {}
    for piece in pattern.pieces:
        x0, y0, x1, y1 = piece.drawn.bounds()
        sizes[piece.name] = (round(x1 - x0, 2), round(y1 - y0, 2))
    assert sizes == {
        "Main panel": (240, 170),
        "Left Pocket": (110, 170),
        "Right Pocket": (110, 170),
        "Organizer": (110, 130),
    }
    furniture = sum(count for kind, count in pattern.ledger.aside.items() if kind.endswith("dimension or note"))
    assert furniture == 29
    assert sum(count for kind, count in pattern.ledger.aside.items() if kind.startswith("hidden")) == 32


def test_the_basket_closes_only_with_its_gaps_bridged(registry):
    pattern = pattern_of("24", registry)
    pieces = {piece.name: piece for piece in pattern.pieces}
    assert set(pieces) == {"collar", "side", "bottom"}
    assert {name: piece.labels["quantity"] for name, piece in pieces.items()} == {
        "collar": "2",
        "side": "2",
        "bottom": "1",
    }
    told = [note.message for note in pattern.notes if note.code == "gap-bridged"]
    # Ends miss each other by up to 0.04 in; the drawing's own coordinates give the places.
    assert len(told) == 1
    assert "0.95 mm at (606.4, 381.5)" in told[0]
    assert pieces["bottom"].gap == pytest.approx(0.04 * 25.4, abs=0.1)

    def slanted(piece, inches):
        return sorted(edge.length / 25.4 for edge in piece.edges if abs(edge.length / 25.4 - inches) < 0.1)

    assert slanted(pieces["bottom"], 5.05) == pytest.approx([5.044, 5.062, 5.062, 5.062], abs=0.03)
    assert slanted(pieces["side"], 5.02) == pytest.approx([5.025, 5.025], abs=0.03)
    assert pattern.ledger.aside["DIMENSION on layer dims"] == 17


@pytest.mark.parametrize("start", ["01", "06", "07", "11", "17", "24"])
def test_the_result_of_every_sample_is_json_and_text(start, tmp_path):
    for form in ("json", "text"):
        result = CliRunner().invoke(main, ["pieces", sample(start), "--format", form])
        assert result.exit_code == (2 if start == "07" else 0)
        assert "Traceback" not in result.stderr
        if form == "json":
            told = json.loads(result.stdout)
            assert told["ledger"]["read"] == told["ledger"]["used"] + told["ledger"]["kept_aside"]
