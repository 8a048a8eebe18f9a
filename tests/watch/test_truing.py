"""Lines drawn anew: shown before they are taken, written beside the original, and taken back."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import judging
from serving import demo_in, serving


def test_one_proposal_is_taken_written_beside_the_original_and_taken_back(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    original = drawing.read_bytes()
    trued = tmp_path / "ferryhand-trued.svg"
    with serving(drawing) as served:
        size = served.state()["size"]
        told = served.ask(f"truing?size={size}").data
        first = told["proposals"][0]
        assert first["title"].startswith("back.outseam, 6.4 mm (1/4 in)")
        assert len(first["ways"]) > 2
        assert all(way["lines"] and way["box"] for way in first["ways"])
        assert "strays" in first["ways"][0]["strays"]
        assert not trued.exists()
        taken = served.post("take?file=0", {"size": size, "finding": 0, "letter": first["ways"][1]["letter"]}).data
        assert taken["written"] == "ferryhand-trued.svg"
        assert drawing.read_bytes() == original
        result = judging.judged(trued, plan=tmp_path / "ferryhand.seams.toml")
        assert "seam-length" not in {finding.check for finding in result.findings}
        back = served.post("back?file=0", {"size": size}).data
        assert (back["taken"], back["written"]) == ([], "")
        assert not trued.exists()
        assert served.post("back?file=0", {"size": size}).status == 422


def test_all_at_once_leaves_what_true_leaves(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    with serving(drawing) as served:
        size = served.state()["size"]
        told = served.post("take?file=0", {"size": size, "all": True}).data
        assert told["said"] == "Nothing is left to put right."
        assert served.ask("tiles.pdf").status == 200
        assert served.ask("tiles.pdf").headers["content-type"] == "application/pdf"


def test_a_trued_file_that_somebody_changed_is_neither_written_over_nor_taken_away(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    theirs = tmp_path / "ferryhand-trued.svg"
    theirs.write_text("somebody's", encoding="utf-8")
    with serving(drawing) as served:
        size = served.state()["size"]
        told = served.post("take?file=0", {"size": size, "all": True}).data
        assert told["written"] == "ferryhand-trued-2.svg"
        assert theirs.read_text(encoding="utf-8") == "somebody's"
        (tmp_path / "ferryhand-trued-2.svg").write_text("changed", encoding="utf-8")
        back = served.post("back?file=0", {"size": size}).data
        assert (tmp_path / "ferryhand-trued-2.svg").read_text(encoding="utf-8") == "changed"
        assert back["did"].startswith(
            "ferryhand-trued-2.svg was changed elsewhere since it was written, and stays as it is."
        )
        assert "It still holds what was taken" in back["did"]
        assert (back["taken"], back["written"], back["left"]) == ([], "", [])


def test_of_what_is_left_of_two_steps_another_file_is_written_where_somebody_changed_the_first(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    first, second = tmp_path / "ferryhand-trued.svg", tmp_path / "ferryhand-trued-2.svg"
    with serving(drawing) as served:
        size = served.state()["size"]
        way = served.ask(f"truing?size={size}").data["proposals"][0]["ways"][1]
        one = served.post("take?file=0", {"size": size, "finding": 0, "letter": way["letter"]}).data
        assert one["did"].startswith("Taken, and written to ferryhand-trued.svg: ")
        after_one = first.read_bytes()
        served.post("take?file=0", {"size": size, "all": True})
        back = served.post("back?file=0", {"size": size}).data
        assert back["did"].endswith("ferryhand-trued.svg is written without it.")
        assert first.read_bytes() == after_one
        served.post("take?file=0", {"size": size, "all": True})
        first.write_text("changed", encoding="utf-8")
        back = served.post("back?file=0", {"size": size}).data
        assert back["did"].endswith("What else was taken is written to ferryhand-trued-2.svg.")
        assert "ferryhand-trued.svg was changed elsewhere since" in back["did"]
        assert (first.read_text(encoding="utf-8"), second.read_bytes()) == ("changed", after_one)
        gone = served.post("back?file=0", {"size": size}).data
        assert gone["did"].endswith("ferryhand-trued-2.svg is taken away.")
        assert not second.exists()


def test_when_the_drawing_changes_what_was_taken_is_told_of_and_can_still_be_taken_back(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    trued = tmp_path / "ferryhand-trued.svg"
    with serving(drawing) as served:
        size = served.state()["size"]
        served.post("take?file=0", {"size": size, "all": True})
        written, version = trued.read_bytes(), served.state()["version"]
        text = drawing.read_text(encoding="utf-8")
        drawing.write_text(text.replace("</svg>", "<!-- once more --></svg>"), encoding="utf-8")
        served.until(lambda one: one["version"] > version)
        told = served.ask(f"truing?size={size}").data
        (left,) = told["left"]
        assert left.startswith("ferryhand-trued.svg holds what was taken before the drawing or its plan changed: ")
        assert (told["taken"], told["written"]) == ([], "")
        # What is taken now is of the drawing as it is now, and another file.
        now = served.post("take?file=0", {"size": size, "all": True}).data
        assert (now["written"], now["left"]) == ("ferryhand-trued-2.svg", [left])
        assert trued.read_bytes() == written
        served.post("back?file=0", {"size": size})
        assert not (tmp_path / "ferryhand-trued-2.svg").exists()
        back = served.post("back?file=0", {"size": size}).data
        assert back["did"].endswith("ferryhand-trued.svg is taken away.")
        assert (back["left"], trued.exists()) == ([], False)
        assert served.post("back?file=0", {"size": size}).status == 422


def test_a_trued_file_that_was_taken_away_meanwhile_is_said_to_be_gone(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    with serving(drawing) as served:
        size = served.state()["size"]
        served.post("take?file=0", {"size": size, "all": True})
        (tmp_path / "ferryhand-trued.svg").unlink()
        back = served.post("back?file=0", {"size": size}).data
        assert back["did"].endswith("ferryhand-trued.svg was gone already.")


def test_without_a_plan_nothing_is_trued_and_it_is_said_why(tmp_path):
    with serving(demo_in(tmp_path, plan=False)) as served:
        served.state()
        answer = served.ask("truing?size=")
        assert answer.status == 422
        assert "sew its edges together first" in answer.data["said"]


def test_the_report_and_the_picture_are_those_of_the_commands(tmp_path):
    with serving(demo_in(tmp_path, altered=True)) as served:
        served.state()
        report = served.ask("report")
        assert "back.outseam" in report.text
        assert report.text.startswith("<!DOCTYPE html>")
        picture = served.ask("picture.svg")
        assert picture.headers["content-type"] == "image/svg+xml"
        assert picture.text.startswith("<?xml")
