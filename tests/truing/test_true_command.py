"""The command `true`: what it prints, what it writes, and how it ends."""

import json
from pathlib import Path

import pytest

from seamcheck.cli.main import main
from seamcheck.report.truing import fonts

pytestmark = pytest.mark.usefixtures("read_once")

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
PLAN = ["--plan", str(DEMO / "ferryhand.seams.toml")]
SWAY = str(DEMO / "altered" / "sway-back-left.svg")
SEAT = str(DEMO / "altered" / "full-seat-left.svg")


def run(capsys, *words):
    with pytest.raises(SystemExit) as ended:
        main(["true", *PLAN, *words])
    said = capsys.readouterr()
    return ended.value.code, said.out, said.err


def test_it_tells_proposals_with_their_alternatives_and_draws_them(capsys, tmp_path):
    picture = tmp_path / "seat.pdf"
    code, out, err = run(
        capsys, SEAT, "--before", str(DEMO / "ferryhand.svg"), "--format", "json", "--picture", str(picture)
    )
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert told["schema"] == "seamcheck.true/1"
    (proposal,) = told["proposals"]
    assert proposal["finding"]["check"] == "edge-blend"
    (alternative,) = proposal["alternatives"]
    (stray,) = alternative["strays"]
    assert stray["edge"] == "back.outseam"
    assert 0.05 < alternative["stray"] == alternative["beyond"] == stray["most"] < 1.6
    assert told["left"] == []
    (change,) = told["changes"]
    assert change["piece"] == "back"
    assert {edge["name"] for edge in change["edges"]} == {"outseam"}
    assert picture.read_bytes().startswith(b"%PDF-1.")


def test_another_alternative_can_be_chosen(capsys):
    _, out, _ = run(capsys, SWAY, "--choose", "2b")
    assert "Do (b): Blend back.outseam from the notch or corner before it to the one" in out
    assert "with them nothing is left to put right" in out


def test_the_input_is_never_replaced_without_force(capsys, tmp_path):
    own = tmp_path / "seat.svg"
    own.write_bytes(Path(SEAT).read_bytes())
    code, out, err = run(capsys, str(own), "--output", str(own))
    assert code == 2
    assert out == ""
    assert "the file exists already; name another, or replace it with --force" in err
    assert own.read_bytes() == Path(SEAT).read_bytes()


def test_a_choice_that_names_nothing_is_refused(capsys):
    code, _, err = run(capsys, SEAT, "--choose", "b2")
    assert code == 2
    assert "write the number of the proposal and a letter, such as 2b" in err


@pytest.mark.parametrize(
    ("choice", "why"),
    [
        ("1q", "1q cannot be chosen: 1a is the last; look at the proposals once more without --choose"),
        ("7a", "7a cannot be chosen: there is no proposal 7; look at the proposals once more without --choose"),
    ],
)
def test_a_choice_that_is_not_offered_is_refused(capsys, choice, why):
    code, out, err = run(capsys, SEAT, "--choose", choice)
    assert (code, out) == (2, "")
    assert why in err


def test_a_letter_that_no_font_has_is_told_beside_the_proposals(capsys, tmp_path, monkeypatch):
    monkeypatch.setattr(fonts, "folders", lambda: [tmp_path])
    drawing = tmp_path / "前.svg"
    drawing.write_bytes(Path(SEAT).read_bytes())
    code, _, err = run(capsys, str(drawing), "--picture", str(tmp_path / "p.pdf"))
    assert code == 0
    assert (
        "1 letter stands in no font of this machine and is a box in the picture: 前; install a font that has it"
        in err
    )
