"""A hem that is turned up: what lies beyond its fold line mirrors the sides above, and follows them when they are trued."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.distances import distances
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file
from seamcheck.truing.writing import write_trued

ALLOWANCE, HEM = 10.0, 40.0
LONGER = 6.0  # mm by which the front is let down along its side
SETTINGS = Settings()
REGISTRY = plugins.load(SETTINGS)
NAMES = ("centre-waist", "side-waist", "side-hem", "centre-hem")
EDGES = ("waist", "side", "hem", "centre")


def panel(flare: float, longer: float = 0.0) -> list[complex]:
    """The sew line of half a skirt: a side that flares or tapers by so much on 500 mm, its corners clockwise from the centre."""
    way = complex(flare, 500) / abs(complex(flare, 500))
    side = complex(180 + flare, 520) + longer * way
    return [20 + 20j, 180 + 20j, side, complex(20, side.imag)]


def cut_line(sew: list[complex]) -> list[complex]:
    """Its corners, clockwise from the centre's waist: the sides beyond the fold of the hem mirror those above.

    Reckoned here from the slope of the side alone.
    """
    _, top, hem, _ = sew
    way = (hem - top) / abs(hem - top)
    out = way / 1j * ALLOWANCE

    def on_side(y: float) -> complex:
        return top + out + way * ((y - (top + out).imag) / way.imag)

    fold, low = on_side(hem.imag), on_side(hem.imag + HEM)
    mirrored = complex(2 * fold.real - low.real, low.imag)
    left = sew[0].real - ALLOWANCE
    return [complex(left, 10), on_side(10.0), fold, mirrored, complex(left, low.imag)]


def written(folder: Path, *, sew_lines: bool, longer: float = LONGER) -> tuple[Path, Request]:
    """Front and back, side by side, drawn by their cut lines, with their sew lines too if so asked."""
    groups, plan = [], ['format = 1\nname = "Ferryhand skirt"\n']
    for name, flare, at in (("Front", 60.0, 0.0), ("Back", -60.0, 400.0)):
        sew = [corner + at for corner in panel(flare, longer if name == "Front" else 0.0)]
        cut = [corner + at for corner in cut_line([corner - at for corner in sew])]
        marks = [drawn("cut line", cut)]
        if sew_lines:
            marks.append(drawn("sew line", sew))
        middle = 60 + at
        marks.append(f'<path inkscape:label="grain" d="M{middle},450 L{middle},150"/>')
        marks += [
            f'<text x="{middle + 10}" y="{200 + 16 * k}" font-size="10">{word}</text>'
            for k, word in enumerate(("Ferryhand skirt", name, "Size 40", "Cut 2"))
        ]
        groups.append(f'<g inkscape:label="{name}">\n' + "\n".join(marks) + "\n</g>")
        named = sew if sew_lines else [cut[0], cut[1], cut[3], cut[4]]
        plan.append(
            f'[pieces.{name.lower()}]\nin-file = "{name}"\ncut = "pair"\nunsewn = ["waist", "hem", "centre"]\n'
            + ("" if sew_lines else f'line = "cut"\nallowance = {ALLOWANCE:g}\nallowances = {{ hem = {HEM:g} }}\n')
            + f"[pieces.{name.lower()}.corners]\n"
            + "".join(f"{word} = [{p.real:.6f}, {p.imag:.6f}]\n" for word, p in zip(NAMES, named, strict=True))
            + f"[pieces.{name.lower()}.edges]\n"
            + "".join(
                f'{edge} = ["{a}", "{b}"]\n' for edge, (a, b) in zip(EDGES, pairwise([*NAMES, NAMES[0]]), strict=True)
            )
        )
    plan.append('[[seams]]\nname = "side"\nsew = ["front.side", "back.side"]\n')
    path, named_by = folder / "skirt.svg", folder / "skirt.seams.toml"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"\n'
        'width="800mm" height="620mm" viewBox="0 0 800 620">\n<g fill="none" stroke="#202020" stroke-width="0.5">\n'
        + "\n".join(groups)
        + "\n</g>\n</svg>\n",
        encoding="utf-8",
    )
    named_by.write_text("\n".join(plan), encoding="utf-8")
    return path, Request(plan=named_by)


def drawn(label: str, corners: list[complex]) -> str:
    points = " L".join(f"{corner.real:.6f},{corner.imag:.6f}" for corner in corners)
    return f'<path inkscape:label="{label}" d="M{points} Z"/>'


@pytest.mark.parametrize("sew_lines", [False, True])
def test_a_sound_skirt_with_a_turned_up_hem_needs_nothing(sew_lines, tmp_path):
    path, request = written(tmp_path, sew_lines=sew_lines, longer=0.0)
    trued = true_file(str(path), request, REGISTRY, SETTINGS, Wishes())
    assert ([f.message for f in trued.left], trued.notes, trued.changes) == ([], (), ())


@pytest.mark.parametrize("sew_lines", [False, True])
@pytest.mark.parametrize("letter", [0, 1, 2])
def test_what_is_turned_up_follows_the_trued_sides(sew_lines, letter, tmp_path):
    path, request = written(tmp_path, sew_lines=sew_lines)
    assert [(f.check, f.seam) for f in check_file(str(path), request, REGISTRY, SETTINGS).findings] == [
        ("seam-length", "side")
    ]
    trued = true_file(str(path), request, REGISTRY, SETTINGS, Wishes(choices={0: letter}))
    assert ([f.message for f in trued.left], trued.notes) == ([], ())
    target = tmp_path / "trued.svg"
    assert write_trued(trued, str(target), request, REGISTRY, SETTINGS, force=False).findings == ()
    (size,) = trued.sizes
    for name in size.proposals[0].alternatives[letter].pieces:
        piece = size.after.pieces[name]
        (side,), (hem,) = piece.edge("side").runs, piece.edge("hem").runs
        side = side if abs(side.end - hem.start) < 1e-6 else side.reversed()
        fold = hem.tangent(0.0)
        # The side's own cut line, above the fold, laid over it is the edge of what is turned up.
        along = side.tangent(side.length, side=-1)
        beside = Curve.line(side.end - 30 * along, side.end).offset(-ALLOWANCE)
        heading = (beside.end - beside.start) / beside.length
        reach = ((hem.start - beside.end) / fold).imag / (heading / fold).imag
        vertex = beside.end + reach * heading
        laid_over = [vertex - fold * fold * (heading * s).conjugate() for s in np.linspace(1.0, HEM - 3, 20)]
        assert distances(piece.drawn, np.array(laid_over)).max() < 2e-3
        middle = hem.points(np.linspace(60.0, hem.length - 60.0, 40))  # its ends slant inward
        assert distances(piece.drawn, middle) == pytest.approx(HEM, abs=2e-3)


def test_a_hem_that_is_no_mirror_image_of_its_sides_is_left_to_the_hand(tmp_path):
    path, request = written(tmp_path, sew_lines=True)
    cut = cut_line(panel(60.0, LONGER))
    word = f"{cut[3].real:.6f},{cut[3].imag:.6f}"
    text = path.read_text(encoding="utf-8")
    assert word in text
    path.write_text(text.replace(word, f"{cut[3].real + 6:.6f},{cut[3].imag:.6f}"), encoding="utf-8")
    trued = true_file(str(path), request, REGISTRY, SETTINGS, Wishes())
    assert [note.code for note in trued.notes] == ["cut-line-not-trued"]
