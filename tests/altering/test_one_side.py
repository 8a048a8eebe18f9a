"""One side alone altered: the file has both, the plan names both, and what is read of it is what was meant, mirrored by shapely."""

import dataclasses
import gzip

import pytest
import shapely
from patterns import FORMS, PANEL_CUT, SETTINGS, panel_files, registry
from shapely import affinity

from seamcheck.altering.one_side import other_sides
from seamcheck.altering.run import alter_file
from seamcheck.altering.write_one_side import frame_of, with_names_dxf
from seamcheck.altering.writing import undo, write_altered
from seamcheck.engine.read import Request, read
from seamcheck.errors import SeamcheckError
from seamcheck.pattern.recipe import AlongEdge, FitStep, Hinge, Recipe

SEAT = Hinge(
    piece="back",
    opens=AlongEdge("crotch", 150.0, "cb-waist"),
    hinge=AlongEdge("outseam", 216.0, "side-waist"),
    amount=6.35,
)
PLAIN = [form for form in FORMS if form != "apparel"]


def altered(form, step, sizes=(), leave=False):
    return alter_file(
        str(FORMS[form]), Recipe(steps=(step,)), Request(sizes=sizes), registry(), SETTINGS, leave=leave
    )


def written(made, folder, form, only="left"):
    target = folder / f"new{FORMS[form].suffix}"
    return target, *write_altered(made, str(target), Request(), registry(), SETTINGS, force=False, only=only)


def polygon(piece) -> shapely.Polygon:
    return shapely.Polygon([(p.real, p.imag) for p in piece.outline.polygon(0.001)])


def at_origin(shape: shapely.Polygon) -> shapely.Polygon:
    x, y, _, _ = shape.bounds
    return affinity.translate(shape, -x, -y)


@pytest.mark.parametrize("only", ["left", "right"])
@pytest.mark.parametrize("form", PLAIN)
def test_both_sides_are_read_again_the_one_altered_and_the_other_as_it_was_in_a_mirror(form, only, tmp_path):
    made = altered(form, SEAT)
    target, result, beside = written(made, tmp_path, form, only)
    assert [path.rpartition("/")[2] for path in beside] == ["new.alter.toml", "new.seams.toml"]
    pattern, plan = read(str(target), Request(), registry(), SETTINGS)
    other = {"left": "right", "right": "left"}[only]
    (size,) = made.sizes
    for name, state in ((f"back-{only}", size.after), (f"back-{other}", size.before)):
        found, meant = pattern.piece(name), state.pieces["back"]
        assert {edge.name: edge.length for edge in found.edges} == pytest.approx(
            {edge.name: edge.length for edge in meant.edges}, abs=0.02
        )
        assert [len(edge.notches) for edge in found.edges] == [len(edge.notches) for edge in meant.edges]
        assert found.darts[0].intake == pytest.approx(meant.darts[0].intake, abs=0.02)
        assert len(found.grainlines) == 1
        assert plan.piece(name).cut == "one"
    mirrored = affinity.scale(polygon(size.before.pieces["back"]), -1.0, 1.0, origin=(0, 0))
    laid = polygon(pattern.piece(f"back-{other}"))
    assert at_origin(laid).symmetric_difference(at_origin(mirrored)).area < 5.0
    assert not any(laid.intersects(polygon(piece)) for piece in pattern.pieces if piece.name != f"back-{other}")
    # All that is left to tell is that the two are sewn to one another, and no longer alike.
    left = [(one.check, one.seam) for one in result.findings if one.severity != "note"]
    assert left == [("seam-length", "crotch-back")]
    assert len(result.seams) == len(plan.seams) == 13
    assert undo(str(target))[0] == FORMS[form].read_bytes()


def test_the_seams_are_those_of_both_sides(tmp_path):
    target, _, _ = written(altered("curves", SEAT), tmp_path, "curves")
    _, plan = read(str(target), Request(), registry(), SETTINGS)
    sewn = {seam.name: [[str(use) for use in side] for side in seam.sides] for seam in plan.seams}
    assert sewn["crotch-back"] == [["back-left.crotch"], ["back-right.crotch"]]
    assert sewn["inseam-left"] == [["front.inseam"], ["back-left.inseam"]]
    assert sewn["inseam-right"] == [["front.inseam"], ["back-right.inseam"]]
    assert sewn["waist-front"] == [["front.waist"], ["band-front.lower"]]
    assert [dart.piece for dart in plan.darts] == ["back-left", "back-right"]
    assert plan.piece("back-right").in_file == "Back right"


def test_the_sheet_is_as_wide_as_what_lies_on_it(tmp_path):
    target, _, _ = written(altered("curves", SEAT), tmp_path, "curves")
    pattern, _ = read(str(target), Request(), registry(), SETTINGS)
    right = max(piece.outline.bounds()[2] for piece in pattern.pieces)
    head = target.read_text()[:600]
    assert 'height="1100mm"' in head
    width = float(head.partition('width="')[2].partition("mm")[0])
    assert right < width < 1.1 * right
    assert f'viewBox="0 0 {width:g} 1100"' in head


@pytest.mark.parametrize(
    ("form", "step", "sizes", "told"),
    [
        ("curves", FitStep(piece="", fit="gaping-waistband"), (), "is drawn as half of what is cut on a fold"),
        ("apparel", SEAT, (), "written of one size at a time"),
        ("apparel", SEAT, ("40",), "cannot be written into apparel DXF"),
    ],
)  # fmt: skip
def test_what_has_no_side_of_its_own_is_told(form, step, sizes, told, tmp_path):
    with pytest.raises(SeamcheckError, match=told):
        written(altered(form, step, sizes), tmp_path, form)
    assert list(tmp_path.iterdir()) == []


def test_a_piece_that_is_cut_once_has_no_other_side(tmp_path):
    path = panel_files(tmp_path)
    made = alter_file(str(path), Recipe(steps=(PANEL_CUT,)), Request(), registry(), SETTINGS)
    with pytest.raises(SeamcheckError, match="is not cut as a pair"):
        write_altered(made, str(tmp_path / "new.svg"), Request(), registry(), SETTINGS, force=False, only="left")


def test_a_packed_sheet_stays_packed_and_is_read_again(tmp_path):
    path = tmp_path / "trousers.svgz"
    path.write_bytes(gzip.compress(FORMS["curves"].read_bytes()))
    path.with_suffix(".seams.toml").write_text(FORMS["curves"].with_suffix(".seams.toml").read_text())
    made = alter_file(str(path), Recipe(steps=(SEAT,)), Request(), registry(), SETTINGS)
    target = tmp_path / "new.svgz"
    write_altered(made, str(target), Request(), registry(), SETTINGS, force=False, only="left")
    assert b"Back right" in gzip.decompress(target.read_bytes())
    assert read(str(target), Request(), registry(), SETTINGS)[1].piece("back-right").cut == "one"


def test_a_sheet_on_which_nothing_shows_at_its_end_is_told():
    with pytest.raises(SeamcheckError, match="nothing can be drawn beside the sheet; take out what hides"):
        frame_of([], "trousers.svg")


def test_a_cad_piece_whose_name_is_no_text_is_told(tmp_path):
    made = altered("cad", SEAT)
    data = FORMS["cad"].read_bytes()
    (size,) = made.sizes
    shape = dataclasses.replace(size.before.shapes["back"], name="Nobody")
    side = dataclasses.replace(other_sides(made, "left")[0], shape=shape)
    with pytest.raises(SeamcheckError, match="Nobody has no text with its name, so its right side cannot be named"):
        with_names_dxf(data, made, [side], "left")
