"""How to draw so that it is read: the topic "drawing" of `seamcheck explain`, made from the words that the program itself goes by."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck.engine.report_format import RenderOptions
from seamcheck.report.layout import paint, wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry

# What is told of each role, in the order in which a piece is drawn.
_TOLD = {
    "sew line": "where the stitches go. Seams are walked on it.",
    "cut line": "where the scissors go. Where it alone is drawn, write the allowance in the plan.",
    "outline": "a closed line of which the file does not say whether it is sewn or cut.",
    "notch": "a short line, up to 15 mm, on the line or across it, or a small V or triangle on it; two within 10 mm are a double notch.",
    "grainline": "one straight line, with arrowheads or with the word on it or beside it, or a closed block arrow, well inside the piece.",
    "fold line": "the line that lies on the fold of the cloth. The piece is drawn as half, up to it.",
    "dart": "mouth, tip, mouth: drawn into the sew line, or as lines inside the piece whose corners the plan names.",
    "drill hole": "a point, or a small circle.",
    "internal line": "what is marked inside: pockets, topstitching, pleats.",
    "cutout": "what is cut out of the piece.",
    "test square": "a square with its side written in it; the scale is judged by it.",
    "corner": "a point of the outline where one edge ends, also on a smooth line.",
    "grading mark": "what grading needs; no line of the piece.",
    "label": "what is only written.",
    "dimension or note": "dimensions, notes, frames: part of no piece.",
    "line before truing": "what `true` replaced and kept beside the new lines.",
}
# The layers of the apparel interchange that hold lines and points of a piece.
LAYERS = {
    1: "outline",
    2: "turn points (corners)",
    3: "curve points",
    4: "notches (also 80 to 83)",
    6: "fold (mirror line)",
    7: "grain",
    8: "inside lines",
    11: "cutouts",
    13: "drill holes",
    14: "sew line",
    15: "texts",
    84: "validation curves (84 to 87)",
}
_HABITS = (
    (
        "Pieces",
        "Draw every piece as one closed line, in a group or a layer of its own that is called as the piece is: Front. Loose lines are "
        "joined where their ends meet within 1 mm, and every gap is told; what runs over its corners by up to 15 mm is trimmed. A closed line round less than 4 square centimetres is a "
        "mark and no piece. A frame round the sheet is none either, nor is its title block (Sheet 1 of 2, Scale 1:1).",
    ),
    (
        "Curves",
        "Draw curves as curves, or digitise them with vertices up to 6 mm apart. A row of straight lines of 12 to 40 mm that turns evenly to one "
        "side, by less than 30 degrees at a vertex, is taken for a curve all the same: a spline through the vertices is walked, it is "
        "told, and its blends are judged no more finely than it is drawn. Of a piece in several sizes the first one decides for all.",
    ),
    (
        "Words",
        "Write inside each piece, a line each: the style, the piece's name, the size (Size 40), how often it is cut (Cut 2). A name "
        "is short, or one capital that stands on no other piece; sentences name nothing. What stands on a layer called notes is part of no piece.",
    ),
    (
        "Labels",
        "A line is what its label says: the label of an object, its id, the name of its layer or of its group, the nearest first. "
        "Capitals and accents do not matter. What has no label is told by its form: a tick on the outline is a notch, a straight "
        "line with a drawn head is the grain arrow, the inner of two parallel closed lines is the sew line. Why each line is what it is taken for is told by seamcheck pieces.",
    ),
    (
        "Allowances",
        "Draw both lines, or one and its allowance in the plan; hems may have their own. A sew line may also be drawn as open lines, one "
        "for every edge, dashed or called so; they are led on to where they meet, and may end at the fold, where no allowance is. Dashed "
        "lines without a label are taken for the sew line from 8 mm on. The strip between the two may be called",
    ),
    (
        "Units",
        "Save SVG with its width and height in mm, DXF with its unit in the header. Where a file does not say how large it is, a "
        "test square with its side written in it does (5 cm; This square is 2 x 2 in); where it does, the square is held against it.",
    ),
    (
        "Sizes",
        "One size to a file, written on the pieces; or a graded nest, one block to a piece and size, with the marks and words of the "
        "sample size serving all; or the sample size with its rule table (.rul) beside it.",
    ),
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """How to draw, by habits, by words and by layers."""
    return "\n\n".join(_parts(options)) + "\n"


def _parts(options: RenderOptions) -> Iterator[str]:
    from seamcheck.pattern.drawing import Role  # it brings the geometry along
    from seamcheck.pattern.words import allowance_words, words_of

    yield wrap(
        "How to draw so that it is read. fixtures/how-to-draw.svg of the project shows all of it on one sheet.",
        options,
    )
    for title, told in _HABITS:
        if title == "Allowances":
            told = f"{told} {', '.join(allowance_words())}."
        yield f"{paint(title, 'strong', options)}\n{wrap(told, options, indent='  ')}"
    yield wrap(
        "What a label may say, in English; German; French; Spanish; Italian; Dutch. Words in brackets count only where they stand alone:",
        options,
    )
    for role, meaning in _TOLD.items():
        phrases, bare = words_of(Role(role))
        lines = [f"{paint(role, 'strong', options)}: {meaning}", *filter(None, (phrases, bare and f"({bare})"))]
        yield "\n".join(wrap(line, options, indent="  " if k else "", hanging="  ") for k, line in enumerate(lines))
    layers = "; ".join(f"{number} {meaning}" for number, meaning in LAYERS.items())
    yield wrap(f"Layers of an apparel DXF (ASTM D6673), a block for each piece and size: {layers}.", options)
    yield wrap(
        'A shop that draws on layers of its own names them in seamcheck.toml, under [layers]: sew = ["STITCH*"]. '
        '"seamcheck pieces FILE" tells what each line was taken for and why, and what was not used.',
        options,
    )
