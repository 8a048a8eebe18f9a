"""A finding names the line of its file that draws what it is about: looked up in the file itself."""

from pathlib import Path

import pytest

import seamcheck

pytestmark = pytest.mark.usefixtures("read_once")

ALTERED = Path(__file__).parents[2] / "fixtures" / "ferryhand" / "altered"
PLAN = ALTERED.parent / "ferryhand.seams.toml"


def found(path, check, plan=PLAN):
    (file,) = seamcheck.check(path, plan=plan).files
    return next(finding for finding in file.findings if finding.check == check)


@pytest.mark.parametrize(
    ("check", "begins"),
    [("seam-length", '<path inkscape:label="sew line"'), ("grain-straight", '<polyline inkscape:label="grain"')],
)
def test_in_an_svg_it_is_the_element_with_line_and_column(check, begins):
    path = ALTERED / "prominent-calf-left.svg"
    place = found(path, check).place
    line = path.read_text(encoding="utf-8").splitlines()[place.line - 1]
    assert line[place.column - 1 :].startswith(begins)
    groups = path.read_text(encoding="utf-8").splitlines()[: place.line]
    assert [line for line in groups if line.startswith("<g")][-1].endswith('inkscape:label="Back">')


def test_the_column_counts_letters_and_not_bytes(tmp_path):
    text = (ALTERED / "prominent-calf-left.svg").read_text(encoding="utf-8")
    path = tmp_path / "one-line.svg"
    path.write_text(text.replace("\n", " ").replace("Ferryhand", "Fähre 裤"), encoding="utf-8")
    place = found(path, "grain-straight").place
    written = path.read_text(encoding="utf-8")
    assert place.line == 1
    assert written[place.column - 1 :].startswith('<polyline inkscape:label="grain"')


def test_in_a_dxf_it_is_the_line_that_begins_the_entity():
    path = ALTERED / "prominent-calf-left-cad.dxf"
    place = found(path, "grain-straight", ALTERED.parent / "ferryhand-cad.seams.toml").place
    lines = [line.strip() for line in path.read_text(encoding="utf-8").splitlines()]
    assert place == f"line {place.line}"
    assert lines[place.line - 1] == "0"
    assert lines[place.line] in ("LINE", "POLYLINE", "LWPOLYLINE")
    assert "GRAIN" in " ".join(lines[place.line : place.line + 12]).upper()


def test_what_is_about_the_whole_file_has_none():
    (file,) = seamcheck.check(ALTERED.parent / "ferryhand.svg", plan=None).files
    assert all(finding.place is None for finding in file.findings if not (finding.pieces or finding.edges))


def test_a_place_goes_whole_to_another_process():
    import pickle

    finding = found(ALTERED / "prominent-calf-left.svg", "seam-length")
    again = pickle.loads(pickle.dumps(finding)).place
    assert (again, again.line, again.column) == (finding.place, finding.place.line, finding.place.column)
