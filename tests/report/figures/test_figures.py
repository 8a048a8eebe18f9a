"""What holds for every drawing: well-formed, the same again, nothing written over anything else, one thing alone by its name."""

import cmath
import json
import os
import subprocess
import sys
from functools import partial
from pathlib import Path
from xml.etree import ElementTree

import pytest
from browser import browser, find_browser
from click.testing import CliRunner
from drawing import DEMO, NUMBER, SVG, altered, judged, left, root, texts

import seamcheck
from seamcheck.cli.main import main
from seamcheck.errors import Failure, SeamcheckError
from seamcheck.report.figures.base import inline, standalone
from seamcheck.report.figures.graph import graph_figure
from seamcheck.report.figures.junction import junction_figure
from seamcheck.report.figures.marks import Marked, marked
from seamcheck.report.figures.only import only_figure
from seamcheck.report.figures.piece import piece_figure
from seamcheck.report.figures.seam import seam_figure
from seamcheck.report.figures.sheet import sheet
from seamcheck.report.figures.sizes import sizes_figure

pytestmark = pytest.mark.usefixtures("read_once")

CHECKOUT = Path(seamcheck.__file__).parents[1]
LEFT = [
    "deep-torso",
    "flat-seat",
    "full-seat",
    "gaping-band",
    "low-seat",
    "prominent-calf",
    "sway-back",
    "sway-back-quick",
]
LETTERED = [
    partial(left, "sway-back-quick"),
    partial(left, "low-seat"),
    partial(altered, "bosun-six-panel-cap", ".dxf"),
    partial(altered, "sculler-round-kit-bag"),
    partial(altered, "quayside-frilled-skirt"),
    partial(altered, "stage-bodice-set-in-sleeve"),
]
FILES = [*(partial(left, name) for name in LEFT), partial(judged, "ferryhand/ferryhand-nest.dxf"), *LETTERED[2:]]
IDS = [file.args[0] for file in FILES]


def every(file):
    """Every figure that can be made of a file, of a nest those of its middle size."""
    size = file.sizes[len(file.sizes) // 2]
    yield graph_figure(file)
    for seam in file.seams:
        if seam.size == size:
            yield seam_figure(file, seam.name, size)
            yield seam_figure(file, seam.name, size, narrow=True)
            yield sizes_figure(file, seam.name)
    for k, junction in enumerate(file.junctions):
        if junction.size == size:
            yield junction_figure(file, k)
    for name in file.pieces:
        found = [marked(file, one) for one in file.findings if one.size == size]
        marks = {k: at[1] for k, at in enumerate(found, 1) if at is not None and at[0] == name}
        for compact in (False, True):
            yield piece_figure(file, name, size, marks, compact=compact)


@pytest.mark.parametrize("file", FILES, ids=IDS, indirect=True)
def test_a_sheet_is_well_formed_and_names_all_that_was_found(file):
    told = " ".join(texts(sheet([file])))
    for finding in file.findings:
        assert finding.message.split(".")[0].split()[0] in told
    assert ElementTree.fromstring(standalone(sheet([file]))).get("role") == "img"


def test_a_file_that_was_not_judged_is_told_on_the_sheet():
    from seamcheck.engine.result import FileResult

    told = " ".join(
        texts(sheet([FileResult(path="gone.svg", failures=(Failure("there is no such file", "gone.svg"),))]))
    )
    assert "could not be judged" in told or "there is no such file" in told


def test_what_stands_in_a_page_names_itself():
    file = left(LEFT[0])
    element = ElementTree.fromstring(inline(graph_figure(file), identifier="g<1>"))
    assert element.get("role") == "img"
    names = element.get("aria-labelledby").split()
    assert names == ["g<1>-title", "g<1>-about"]
    assert [element.find(f"*[@id='{name}']").text for name in names] == [
        "What is sewn to what",
        graph_figure(file).description,
    ]
    assert "style" not in element.attrib
    assert "#" not in element.attrib.get("fill", "")


def test_the_same_result_is_drawn_the_same_whatever_the_hash_seed():
    command = [sys.executable, "-m", "seamcheck", "check", "altered/sway-back-quick-left.svg"]
    command += ["--plan", "ferryhand.seams.toml", "--format", "svg"]
    drawn = [
        subprocess.run(
            command,
            capture_output=True,
            cwd=DEMO,
            env={**os.environ, "PYTHONPATH": str(CHECKOUT), "PYTHONHASHSEED": seed},
            timeout=60,
            check=False,
        ).stdout
        for seed in ("1", "2")
    ]
    assert drawn[0] == drawn[1] != b""


# One thing alone


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("outseam", "Seam outseam, size 36"),
        ("seam outseam", "Seam outseam, size 36"),
        ("front.outseam", "Seam outseam, size 36"),
        ("back", "Piece back, size 36"),
        ("front.crotch-point", "Where back.crotch-point and front.crotch-point come together, size 36"),
    ],
)
def test_a_name_is_of_a_seam_a_piece_a_corner_or_an_edge(name, title):
    assert only_figure(judged("ferryhand/ferryhand-nest.dxf"), name).title == title


def test_one_picture_by_the_command():
    options = ["check", str(DEMO / "ferryhand-nest.dxf"), "--format", "svg", "--size", "42", "--only", "outseam"]
    result = CliRunner().invoke(main, options)
    assert result.exit_code == 0, result.stderr
    assert ElementTree.fromstring(result.stdout).find("{http://www.w3.org/2000/svg}title").text == "Seam outseam"


def test_where_a_seam_and_a_piece_have_one_name_a_word_tells_which():
    file = altered("bosun-six-panel-cap", ".dxf")
    assert only_figure(file, "band").title == "Seam band"
    assert only_figure(file, "piece band").title == "Piece band"


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("outsaem", 'there is no seam, piece or corner "outsaem"; the nearest name is "outseam"'),
        ("front.crotchpoint", 'the nearest name is "front.crotch-point"'),
        ("back.dart-tip", "no angles were judged at corner back.dart-tip"),
    ],
)
def test_a_name_that_cannot_be_drawn_is_one_sentence(name, sentence):
    with pytest.raises(SeamcheckError) as error:
        only_figure(left("sway-back"), name)
    assert sentence in str(error.value)


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (
            ["ferryhand.svg", "ferryhand-cad.dxf", "--format", "svg"],
            "--only draws one thing of one file; name one file",
        ),
        (["ferryhand.svg"], "--only is for pictures; add --format svg"),
        (["ferryhand.svg", "--format", "svg", "--format", "json", "--output", "a.svg"], "--only is for pictures"),
    ],
)
def test_only_is_refused_where_it_cannot_be_one_picture(options, sentence, monkeypatch):
    monkeypatch.chdir(DEMO)
    result = CliRunner().invoke(main, ["check", *options, "--only", "outseam"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert sentence in result.stderr
    assert not Path("a.svg").exists()


def test_pieces_are_drawn_as_they_were_read():
    result = CliRunner().invoke(main, ["pieces", str(DEMO / "ferryhand-nest.dxf"), "--format", "svg"])
    assert result.exit_code == 0, result.stderr
    told = [
        "".join(one.itertext()) for one in ElementTree.fromstring(result.stdout).iter() if one.tag.endswith("text")
    ]
    assert {"front", "back", "pocket"} <= set(told)
    assert "What was read: 7 pieces, 5 sizes; the last is named, the others are faint." in told


# As a browser shows it

OVERLAPPING = """(() => {
  const pad = 0.15, bad = [];
  for (const svg of document.querySelectorAll('svg')) {
    const boxes = [...svg.querySelectorAll('text')].filter(t => t.textContent.trim()).map(t => {
      const m = t.getCTM(), b = t.getBBox(), f = Number(t.getAttribute('font-size'));
      // The letters, without the room above and below them, as four corners where they stand.
      const top = Number(t.getAttribute('y')) - 0.72 * f, low = Number(t.getAttribute('y'));
      return {text: t.textContent, at: [[b.x + pad, top], [b.x + b.width - pad, top],
        [b.x + b.width - pad, low], [b.x + pad, low]].map(([x, y]) => [m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f])};
    });
    const apart = (p, q) => [p, q].some(s => s.some((a, i) => {
      const b = s[(i + 1) % 4], n = [b[1] - a[1], a[0] - b[0]];
      const on = r => r.map(c => c[0] * n[0] + c[1] * n[1]);
      return Math.max(...on(p)) <= Math.min(...on(q)) || Math.max(...on(q)) <= Math.min(...on(p));
    }));
    const frame = svg.getBoundingClientRect();
    boxes.forEach((one, i) => {
      for (const other of boxes.slice(i + 1)) if (!apart(one.at, other.at)) bad.push([svg.id, one.text, other.text]);
      if (one.at.some(([x, y]) => x < -1 || y < -1 || x > frame.width + 1 || y > frame.height + 1))
        bad.push([svg.id, one.text, 'the edge of the picture']);
    });
  }
  return bad;
})()"""


@pytest.fixture(scope="module")
def window():
    executable = find_browser()
    if executable is None:
        pytest.skip("no Chromium is installed to show the drawings in")
    with browser(executable) as opened:
        yield opened


def _overlapping(window, folder, svgs):
    page = folder / "figures.html"
    body = "".join(svg.replace("<svg ", f'<svg id="{k}" ', 1) for k, svg in enumerate(svgs))
    page.write_text(f"<!doctype html><meta charset=utf-8><title>figures</title>{body}", encoding="utf-8")
    window.open(page)
    assert window.errors == []
    assert window.js("document.querySelectorAll('svg').length") == len(svgs)
    return window.js(OVERLAPPING)


def test_nothing_is_written_over_anything_else(window, tmp_path):
    drawn = [standalone(figure).partition("?>\n")[2] for file in LETTERED for figure in every(file())]
    overlapping = _overlapping(window, tmp_path, drawn)
    assert overlapping == [], json.dumps(overlapping, indent=1, ensure_ascii=False)


def test_what_is_written_over_something_is_seen(window, tmp_path):
    words = [
        (5, 10, "outseam", ""),
        (20, 11, "inseam", ""),
        (20, 30, "hem", ""),
        (22, 33, "waist", "rotate(-80 22 33)"),
    ]
    inside = "".join(
        f'<text x="{x}" y="{y}" font-size="5" transform="{turn}">{word}</text>' for x, y, word, turn in words
    )
    svg = f'<svg viewBox="0 0 60 50" width="60mm" height="50mm">{inside}<text x="55" y="45" font-size="5">crotch</text></svg>'
    assert [found[1:] for found in _overlapping(window, tmp_path, [svg])] == [
        ["outseam", "inseam"],
        ["hem", "waist"],
        ["crotch", "the edge of the picture"],
    ]


def test_the_rings_of_marks_tell_how_grave_each_is_and_the_description_says_how():
    file = left(LEFT[0])
    (size,) = file.sizes[:1]
    piece = file.geometry.pieces[0]
    at = piece.outline.point(10.0)
    marks = {1: Marked(at, "error"), 2: Marked(at, "note")}
    drawn = piece_figure(file, piece.name, size, marks)
    assert drawn.description.endswith(" 2 places are marked (heavy ring: error; dotted ring: note).")
    assert [f'class="mark grade-{one.grade}" data-finding="{k}"' in drawn.body for k, one in marks.items()] == [
        True,
        True,
    ]
    alone = piece_figure(file, piece.name, size, {7: Marked(at, "warning")})
    assert alone.description.endswith(" 1 place is marked (dashed ring: warning).")
    assert "marked" not in piece_figure(file, piece.name, size, {}).description


def test_the_stretch_is_marked_on_the_piece_that_the_recipe_draws_anew_first():
    file = left("sway-back-quick")
    (worst,) = [one for one in file.findings if one.check == "seam-length"]
    name, mark = marked(file, worst)
    assert name == worst.recipe.pieces[0] == "band-back"
    (walk,) = [one for one in file.geometry.walks if one.name == "waist-back"]
    # Both stretches differ: between them they are all of the side.
    assert sum(run.length for run in mark.stretch) == pytest.approx(walk.seam.second.length)


def test_a_presumed_slash_runs_from_its_hinge_through_the_bend_of_the_grain_to_the_stretch():
    file = left("prominent-calf")
    (worst,) = [one for one in file.findings if one.check == "seam-length"]
    kink, bent = (
        next(one for one in file.findings if one.check == check) for check in ("edge-blend", "grain-straight")
    )
    name, mark = marked(file, worst)
    assert name == "back"
    hinge, end = mark.slash
    assert hinge == pytest.approx(kink.at, abs=1e-6)
    assert min(run.nearest(end).distance for run in mark.stretch) < 1e-6
    way = (end - hinge) / abs(end - hinge)
    assert abs(((bent.at - hinge) * way.conjugate()).imag) < 1e-6
    (stretch,) = mark.stretch
    # The last stretch, from the notch that lies 433.65 mm from the hem on the longer front, is 6.35 mm longer there.
    assert stretch.length == pytest.approx(440.0 - 6.35, abs=0.01)


def test_the_new_line_of_the_recipe_is_dashed_beside_the_old_one_as_far_off_as_true_puts_it():
    file = left("low-seat")
    (worst,) = [one for one in file.findings if one.check == "seam-length"]
    name, mark = marked(file, worst)
    assert name == "back"
    # Its recipe leads the inseam on straight past the crotch point by the 6.35 mm that the alteration took away (fixtures/draft.py).
    inseam = next(one for one in file.geometry.pieces if one.name == "back").edge("inseam")
    (new,) = [line for line in mark.ought if line.nearest(inseam.runs[-1].point(100.0)).distance < 1e-6]
    old = [run.length for run in inseam.runs]
    assert new.length - sum(old) == pytest.approx(6.35, abs=0.01)
    figure = piece_figure(file, "back", "40", {1: mark}, compact=True)
    assert "Dashed beside the old line is the new one, as the recipe draws it." in figure.description
    assert 'class="ought"' in figure.body
    assert "dashed: the new line" in texts(figure)
    tree = root(figure)
    (inset,) = [one for one in tree.iter(f"{SVG}g") if one.get("class") == "inset"]
    (circle,) = inset.iter(f"{SVG}circle")
    centre = complex(float(circle.get("cx")), float(circle.get("cy")))
    kinds = [one.get("class") for one in inset.iter(f"{SVG}path")]
    assert "edge" in kinds
    assert "ought" in kinds
    for one in inset.iter(f"{SVG}path"):
        if one.get("class") == "fine":
            continue  # the line to the place
        numbers = [float(word) for word in NUMBER.findall(one.get("d"))]
        assert all(abs(complex(*at) - centre) < 11.5 for at in zip(numbers[::2], numbers[1::2], strict=True))


def test_a_new_line_that_is_not_seen_is_not_told_of():
    file = left("full-seat")
    (kink,) = [one for one in file.findings if one.check == "edge-blend"]
    _, mark = marked(file, kink)
    assert mark.ought
    assert "new one" not in piece_figure(file, "back", "40", {1: mark}, compact=True).description


def test_a_bend_is_drawn_stronger_by_as_much_as_the_picture_says():
    file = left("prominent-calf")
    found = [marked(file, one) for one in file.findings if one.check == "edge-blend"]
    figure = piece_figure(file, "back", "40", {1: found[0][1]}, compact=True)
    assert figure.exaggerated == 10.0
    assert "drawn 10 times" in texts(figure)
    tree = root(figure)
    (inset,) = [one for one in tree.iter(f"{SVG}g") if one.get("class") == "inset"]
    arms = []
    for one in inset.iter(f"{SVG}path"):
        if one.get("class") == "edge":
            numbers = [float(number) for number in NUMBER.findall(one.get("d"))]
            arms.append(complex(numbers[2] - numbers[0], numbers[3] - numbers[1]))
    before, behind = arms
    drawn = abs(cmath.phase(-behind / before)) * 180 / cmath.pi
    # Part of the turn is the curve's own within the circle; the rest is ten times the kink of 1.8 degrees.
    assert drawn == pytest.approx(10 * 1.7968, abs=1.0)
