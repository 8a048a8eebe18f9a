"""A fit rehearsed in a size while its amount is moved, and carried out beside the original."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import judging
from serving import demo_in, serving


def test_a_fit_is_rehearsed_and_its_mates_move_with_the_amount(tmp_path):
    drawing = demo_in(tmp_path)
    before = {path.name for path in tmp_path.iterdir()}
    with serving(drawing) as served:
        size = served.state()["size"]
        fits = {one["name"]: one for one in served.ask(f"fits?size={size}").data["fits"]}
        calf = fits["prominent-calf"]
        assert calf["pieces"] == ["back"]
        off = {}
        for amount in (3.0, 6.35):
            wish = {"fit": "prominent-calf", "piece": "back", "amount": amount, "size": size, "whole": False}
            told = served.post("rehearse?file=0", wish).data
            assert len(told["old"]) == len(told["new"]) == 1
            assert told["cuts"]
            off[amount] = {seam["seam"]: seam["off"] for seam in told["seams"]}
        # What is taken out at one end is what the mate would need, whatever the amount.
        assert [abs(off[amount]["outseam"]) for amount in off] == pytest.approx([3.0, 6.35], abs=0.2)
        assert {path.name for path in tmp_path.iterdir()} == before


def test_it_is_carried_out_trued_and_written_beside_under_a_free_name(tmp_path):
    drawing = demo_in(tmp_path)
    original = drawing.read_bytes()
    theirs = tmp_path / "ferryhand-altered.svg"
    theirs.write_text("somebody's", encoding="utf-8")
    with serving(drawing) as served:
        size = served.state()["size"]
        wish = {"fit": "prominent-calf", "piece": "back", "amount": 6.35, "size": size}
        written = served.post("alter?file=0", wish).data["written"]
        assert written[:2] == ["ferryhand-altered-2.svg", "ferryhand-altered-2.alter.toml"]
        assert drawing.read_bytes() == original
        assert theirs.read_text(encoding="utf-8") == "somebody's"
        result = judging.judged(
            tmp_path / "ferryhand-altered-2.svg", plan=tmp_path / "ferryhand-altered-2.seams.toml"
        )
        assert "seam-length" not in {finding.check for finding in result.findings}


def test_what_cannot_be_altered_is_said_in_a_sentence(tmp_path):
    with serving(demo_in(tmp_path)) as served:
        size = served.state()["size"]
        wish = {"fit": "no-such-fit", "piece": "back", "amount": 6.35, "size": size}
        answer = served.post("rehearse?file=0", wish)
        assert answer.status == 422
        assert "no-such-fit" in answer.data["said"]
        for amount in ("much", None, float("inf")):
            assert served.post("rehearse?file=0", wish | {"amount": amount}).status == 400


def test_which_fit_it_is_is_told_of_those_that_a_piece_is_for_with_drawings_of_what_is_asked(tmp_path):
    with serving(demo_in(tmp_path)) as served:
        size = served.state()["size"]
        names = {one["name"] for one in served.ask(f"fits?size={size}").data["fits"]}

        def which(asked="", **answers):
            return served.post("which?file=0", {"size": size, "answers": answers, "asked": asked})

        first = which().data
        assert first["asked"] == first["next"] == "place"
        assert {one["name"] for one in first["fits"]} <= names
        answers = next(one for one in first["questions"] if one["name"] == "place")["answers"]
        assert first["drawn"].keys() == {one["name"] for one in answers if one["drawn"]}
        assert all(one.startswith("<svg") for one in first["drawn"].values())
        told = which(place="under-seat", folds="slanting-up", cloth="loose").data
        assert told["likeliest"] == ["flat-seat"]
        assert next(one for one in told["fits"] if one["name"] == "full-seat")["ruled_out"]
        assert "no exact science" in told["cautions"][0]
        # What was answered may be asked once more.
        again = which("folds", place="under-seat", folds="level").data
        assert again["asked"] == "folds"
        assert again["drawn"]
        for wrong in ({"place": "elsewhere"}, {"colour": "red"}):
            assert which(**wrong).status == 400
        assert served.post("which?file=0", {"size": size, "answers": "level"}).status == 400


def test_without_a_plan_it_is_said_what_to_do_first(tmp_path):
    with serving(demo_in(tmp_path, plan=False)) as served:
        served.state()
        assert "sew its edges together first" in served.ask("fits?size=").data["said"]
