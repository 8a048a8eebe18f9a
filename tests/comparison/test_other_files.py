"""Pieces are known again however they lie, are called or were written, and what did not change is said not to have."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from drafted import drafted

from seamcheck.cli.main import main
from seamcheck.comparison import Comparison
from seamcheck.comparison.consequences import consequences
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read_both

pytestmark = pytest.mark.usefixtures("read_once")

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
SETTINGS = Settings()
REGISTRY = plugins.load(SETTINGS)
OLD = DEMO / "ferryhand.svg"


def compared(before: Path, after: Path, **asked: object) -> Comparison:
    return read_both(str(before), str(after), Request(**asked), REGISTRY, SETTINGS)[1]


def unchanged(comparison: Comparison) -> set[str]:
    return {piece.name for piece in comparison.pieces if piece.unchanged}


ALL = {"front", "back", "band-front", "band-back", "facing-front", "facing-back", "pocket"}


def test_a_file_is_as_it_was_against_itself() -> None:
    assert unchanged(compared(OLD, OLD)) == ALL


@pytest.mark.parametrize(
    "transform",
    ["rotate(33 200 700)", "translate(1100 0) scale(-1 1)"],
)
def test_an_alteration_is_the_same_wherever_the_pieces_lie(transform: str, tmp_path: Path) -> None:
    text = (DEMO / "altered" / "sway-back-left.svg").read_text(encoding="utf-8")
    moved = re.sub(r'(<g [^>]*inkscape:label="(?:Back|Front)"[^>]*)>', rf'\1 transform="{transform}">', text)
    assert moved != text
    path = tmp_path / "moved.svg"
    path.write_text(moved, encoding="utf-8")
    comparison = compared(OLD, path, plan=DEMO / "ferryhand.seams.toml")
    assert unchanged(comparison) == ALL - {"back"}
    back = comparison.piece("back", "40")
    assert back is not None
    assert back.mirrored == ("scale" in transform)
    (cut,) = back.cuts
    # The upper part turned anticlockwise on the table; turned over it is seen from behind.
    assert cut.turn == pytest.approx(-2.8313 if back.mirrored else 2.8313, abs=1e-3)
    assert sorted(one.amount for one in cut.breaks) == pytest.approx([-12.7, 0.0], abs=1e-3)
    assert cut.hinge is not None
    assert (cut.hinge.before.edge, cut.hinge.before.corner) == ("outseam", "side-waist")
    assert cut.hinge.before.distance == pytest.approx(143.037, abs=0.01)


def test_pieces_of_other_names_are_known_by_their_shapes(tmp_path: Path) -> None:
    text = (DEMO / "altered" / "deep-torso-left.svg").read_text(encoding="utf-8")
    path = tmp_path / "later.svg"
    path.write_text(text.replace('"Back"', '"Hinterhose"').replace('"Front"', '"Vorderhose"'), encoding="utf-8")
    reading, comparison = read_both(
        str(OLD), str(path), Request(plan=DEMO / "ferryhand.seams.toml"), REGISTRY, SETTINGS
    )
    assert unchanged(comparison) == ALL - {"back"}
    assert {piece.after.in_file for piece in comparison.pieces if piece.name in ("front", "back")} == {
        "Hinterhose",
        "Vorderhose",
    }
    assert [note.code for note in reading.pattern.notes].count("renamed") == 2
    (end,) = comparison.piece("back", "40").ends
    assert end.amount == pytest.approx(12.7, abs=1e-3)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("ferryhand.svg", "full-seat-left-digitised.svg"),
        ("ferryhand-digitised.svg", "full-seat-left.svg"),
        ("ferryhand.svg", "full-seat-left-apparel.dxf"),
    ],
)
def test_an_alteration_is_the_same_in_another_kind_of_file(before: str, after: str) -> None:
    comparison = compared(DEMO / before, DEMO / "altered" / after, sizes=("40",))
    assert unchanged(comparison) == ALL - {"back"}
    (cut,) = comparison.piece("back", "40").cuts
    assert cut.turn == pytest.approx(-2.7495, abs=0.05)
    opened, hinge = sorted(cut.breaks, key=lambda one: -abs(one.amount))
    assert opened.amount == pytest.approx(12.7, abs=0.05)
    assert hinge.before.along == pytest.approx(184.186, abs=0.5)


def test_a_file_without_any_plan_is_compared_by_its_own_corners(tmp_path: Path) -> None:
    paths = []
    for name in ("ferryhand.svg", "altered/sway-back-left.svg"):
        path = tmp_path / Path(name).name
        path.write_bytes((DEMO / name).read_bytes())
        paths.append(path)
    comparison = compared(*paths)
    assert len(comparison.pieces) == 7
    (changed,) = [piece for piece in comparison.pieces if not piece.unchanged]
    assert changed.name == "Back"
    (cut,) = changed.cuts
    assert cut.turn == pytest.approx(2.8313, abs=1e-3)
    assert sorted(one.amount for one in cut.breaks) == pytest.approx([-12.7, 0.0], abs=1e-3)


def test_a_digitiser_with_an_unsteady_hand_is_not_taken_for_an_alteration(tmp_path: Path) -> None:
    random = np.random.default_rng(7)
    text = (DEMO / "altered" / "sway-back-left-digitised.svg").read_text(encoding="utf-8")

    def shaken(path: re.Match[str]) -> str:
        return re.sub(r"\d+(?:\.\d+)?", lambda number: f"{float(number[0]) + random.normal(0.0, 0.03):.3f}", path[0])

    later = tmp_path / "later.svg"
    later.write_text(re.sub(r'(?<= d=")[^"]{400,}', shaken, text), encoding="utf-8")
    comparison = compared(DEMO / "ferryhand-digitised.svg", later, plan=DEMO / "ferryhand-digitised.seams.toml")
    assert {piece.name for piece in comparison.pieces if piece.same_outline} == ALL - {"back"}
    back = comparison.piece("back", "40")
    assert back is not None
    assert 0.005 < back.noise < 0.1
    (cut,) = back.cuts
    assert cut.turn == pytest.approx(2.8313, abs=0.05)
    assert min(one.amount for one in cut.breaks) == pytest.approx(-12.7, abs=0.5)
    assert cut.hinge is not None
    assert cut.hinge.before.along == pytest.approx(143.037, abs=0.5)


def test_what_was_carried_to_the_mates_is_said_to_be() -> None:
    reading, comparison = read_both(
        str(OLD), str(DEMO / "altered" / "sway-back-quick-trued.svg"), Request(), REGISTRY, SETTINGS
    )
    effects = consequences(comparison, reading.plan)
    assert {(one.seam, one.outcome) for one in effects.seams} >= {
        ("waist-back", "carried"),
        ("band-upper-back", "carried"),
    }
    assert all(one.outcome == "carried" for one in (*effects.seams, *effects.junctions))


def test_a_band_that_hangs_on_a_changed_waist_is_left_behind_with_its_facing() -> None:
    reading, comparison = read_both(
        str(OLD), str(DEMO / "altered" / "sway-back-quick-left.svg"), Request(), REGISTRY, SETTINGS
    )
    effects = consequences(comparison, reading.plan)
    (waist,) = [one for one in effects.seams if one.outcome == "left"]
    assert (waist.seam, waist.hanging) == ("waist-back", ("facing-back",))
    assert waist.left is not None
    assert waist.left.edges == ("band-back.lower",)
    assert waist.deviation == pytest.approx(-9.525, abs=0.01)


def test_the_notches_tell_what_happened() -> None:
    change = compared(OLD, DEMO / "altered" / "sway-back-left.svg").piece("back", "40")
    assert change is not None
    (notch,) = change.edge("crotch").notches
    assert notch.kind == "step"
    assert (notch.from_start, notch.from_end) == pytest.approx((-12.7, 0.0), abs=1e-3)
    assert notch.drift == 0.0


def run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, list(arguments))
    return result.exit_code, result.output


def test_the_same_as_json() -> None:
    code, output = run("compare", str(OLD), str(DEMO / "altered" / "prominent-calf-left.svg"), "--format", "json")
    assert code == 0
    told = json.loads(output)
    assert told["schema"] == "seamcheck.compare/1"
    (back,) = [piece for piece in told["pieces"] if not piece["unchanged"]]
    assert [round(part["turn"], 3) for part in back["parts"]] == [0.0, -1.501, -1.797]
    assert [one["outcome"] for one in told["seams"]] == ["left"]


def test_a_check_against_the_earlier_file_says_what_turned() -> None:
    path = str(DEMO / "altered" / "prominent-calf-left.svg")
    code, output = run("check", path, "--before", str(OLD), "--format", "json")
    assert code == 1
    (file,) = json.loads(output)["files"]
    (turned,) = [one for one in file["findings"] if one["check"] == "grain-turned"]
    assert turned["measured"] == pytest.approx(-1.5013, abs=1e-3)
    assert not [one for one in file["skipped"] if one["check"] in ("grain-turned", "notch-drift")]


def test_a_check_without_an_earlier_file_says_so() -> None:
    code, output = run("check", str(OLD), "--format", "json")
    assert code == 0
    (file,) = json.loads(output)["files"]
    skipped = {one["check"]: one["why"] for one in file["skipped"]}
    assert skipped["grain-turned"] == skipped["notch-drift"] == "no earlier file to compare with"


@pytest.mark.parametrize("command", [("compare", "gone.svg"), ("check", "--before", "gone.svg")])
def test_an_earlier_file_that_is_not_there_is_one_sentence(command: tuple[str, ...]) -> None:
    code, output = run(*command, str(OLD))
    assert code == 2
    assert "gone.svg" in output
    assert "Traceback" not in output


def test_files_with_nothing_in_common_are_not_compared(tmp_path: Path) -> None:
    other = tmp_path / "panel.svg"
    other.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="600mm" viewBox="0 0 600 600">'
        '<path id="sail" d="M50,50 H450 L50,550 Z" fill="none" stroke="black"/></svg>',
        encoding="utf-8",
    )
    code, output = run("compare", str(OLD), str(other), "--plan", str(DEMO / "ferryhand.seams.toml"))
    assert code == 2
    assert "none of its pieces is found in the earlier file" in output


def test_the_first_line_tells_what_only_one_file_has(tmp_path: Path) -> None:
    text = OLD.read_text(encoding="utf-8")
    start = text.index('<g id="pocket"')
    pocket = text[start : text.index("</g>", start) + 4]
    path = tmp_path / "later.svg"
    path.write_text(text.replace(pocket, ""), encoding="utf-8")
    code, output = run("compare", str(OLD), str(path))
    assert code == 0
    headline = " ".join(output.split("\n\n")[0].split())  # it is wrapped where the path is long
    assert headline.endswith("nothing changed; pocket only in the earlier file")


def test_an_open_outline_is_not_compared_and_that_is_said(tmp_path: Path) -> None:
    text = OLD.read_text(encoding="utf-8")
    path = tmp_path / "open.svg"
    path.write_text(
        text.replace("48.698746,102.729016 59.437233,58 Z", "48.698746,102.729016 57,66"), encoding="utf-8"
    )
    code, output = run("compare", str(OLD), str(path))
    assert code == 2
    assert "Front not compared" in " ".join(output.split("\n\n")[0].split())
    assert "Not compared: Front, whose outline is open by 8.4 mm (5/16 in) in the later file." in " ".join(
        output.split()
    )


def test_pieces_of_a_nest_are_listed_once() -> None:
    nest = str(DEMO / "ferryhand-nest.dxf")
    _, output = run("compare", nest, nest)
    said = " ".join(output.split())
    assert (
        "As before, within 0.05 mm: front, back, band-front, band-back, facing-front, facing-back and pocket in every size."
        in said
    )


def test_a_dart_that_moved_along_its_edge_is_told_as_that(tmp_path: Path) -> None:
    bodice = drafted("corpus") / "stage-bodice-set-in-sleeve.svg"
    text = bodice.read_text(encoding="utf-8")
    legs = "208,600 L195,470 L182,600"
    assert text.count(legs) == 1
    path = tmp_path / "moved.svg"
    path.write_text(text.replace(legs, "198,600 L185,470 L172,600"), encoding="utf-8")
    _, output = run("compare", str(bodice), str(path))
    assert "The dart at dart-tip moved by 10.0 mm (3/8 in) along the waist." in output
    assert "between them" not in output


def test_a_disc_has_no_corners_and_is_compared_all_the_same(tmp_path: Path) -> None:
    disc = '<circle id="disc" cx="{}" cy="100" r="{}" fill="none" stroke="black"/>'
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">'
    old, larger = (tmp_path / f"{name}.svg" for name in ("old", "larger"))
    for path, x, radius in ((old, 100, 50), (larger, 100, 52)):
        path.write_text(f"{head}{disc.format(x, radius)}</svg>", encoding="utf-8")
    assert unchanged(compared(old, old)) == {"disc"}
    told = CliRunner().invoke(main, ["compare", str(old), str(larger)])
    assert told.exit_code == 0
    assert "12.6 mm" in told.output  # 2 pi times the 2 mm by which the radius grew
    as_json = json.loads(CliRunner().invoke(main, ["compare", str(old), str(larger), "--format", "json"]).output)
    assert as_json["pieces"][0]["unchanged"] is False
