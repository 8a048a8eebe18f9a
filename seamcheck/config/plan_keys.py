"""The keys of a seam plan: what `plan_file` reads and `seamcheck explain plan` tells. The examples together are a whole plan."""

from __future__ import annotations

from seamcheck.config.keys import Key, TableKeys, below

# So much can be judged in time; a plan with more is refused.
MOST_PIECES = 1_000
MOST_CORNERS = 500  # of one piece, and as many edges
MOST_SEAMS = 2_000
MOST_IN_A_ROW = 200  # edges on one side of a seam

PLAN = TableKeys(
    "",
    "the top of the file",
    {
        "format": Key("1", "The form of the plan. It must be there, and 1 is the only form."),
        "name": Key('"Ferryhand trousers"', "What the pattern is called."),
        "units": Key('"mm"', 'Of every length in this file: "mm" (without it), "cm" or "in".'),
        "tolerance": Key(
            "1.6", "By how much the two sides of a seam may differ. Without it 1.6 mm, which is 1/16 in."
        ),
    },
)
PIECE = TableKeys(
    "[pieces.front]",
    "one piece, by the name that seams call it by",
    {
        "in-file": Key(
            '"Front"',
            "What the file calls the piece. Small and capital letters are the same, * stands for anything. "
            "Without it, the name in the head.",
        ),
        "cut": Key(
            '"pair"',
            'How it is cut: "pair" is left and right, mirrored; "one"; "fold" is drawn as a half; or a number of copies. '
            'Without it "one", or "fold" where a fold is named.',
        ),
        "fold": Key('"centre-front"', "The edge that lies on the fold. The piece is drawn as a half."),
        "line": Key(
            '"cut"', 'What the outline is: "sew" or "cut". Without it, what the file says, else the sew line.'
        ),
        "allowance": Key("10", "How far the cut line lies outside the sew line, for the whole piece."),
        "allowances": Key("{ hem = 40 }", "The same for single edges."),
        "unsewn": Key('["hem"]', "Edges that stay free: hems and openings."),
        "give-back": Key(
            '{ outseam = "side-waist" }',
            "At which end an edge is lengthened or shortened again by what a slash took or added. "
            "Without it, where custom does so: at a waist, else at a free hem.",
        ),
        "master": Key("true", "The piece is right as it is: where a seam is off, its mate gives way."),
    },
)
CORNERS = TableKeys(
    "[pieces.front.corners]",
    "where edges begin and end, by coordinates in the axes of the file; the nearest point of the outline is meant",
    {
        "side-waist": Key("[59.4, 58.0]", "A name, and where it lies: from the left, and down (in DXF up)."),
        "side-hem": Key("[80.0, 1070.0]", "Another; a corner may lie on a smooth line, too."),
        "inseam-hem": Key("[300.0, 1070.0]", ""),
        "crotch-point": Key("[342.0, 290.0]", ""),
        "cf-waist": Key("[285.4, 68.0]", ""),
        "dart-in": Key("[140.0, 62.0]", ""),
        "dart-tip": Key("[152.0, 150.0]", ""),
        "dart-out": Key("[164.0, 63.0]", ""),
        "pleat-in": Key("[200.0, 64.0]", ""),
        "pleat-out": Key("[220.0, 65.0]", ""),
    },
    open=True,
)
EDGES = TableKeys(
    "[pieces.front.edges]",
    "stretches of the outline, by their corners in the order in which they are walked",
    {
        "outseam": Key('["side-waist", "side-hem"]', "From corner to corner, past no other named corner."),
        "hem": Key('["side-hem", "inseam-hem"]', ""),
        "inseam": Key('["crotch-point", "inseam-hem"]', ""),
        "centre-front": Key('["cf-waist", "crotch-point"]', ""),
        "waist": Key(
            '["cf-waist", "pleat-out", "side-waist"]',
            "Where both ways round pass other corners, name one on the way that is meant.",
        ),
    },
    open=True,
)
DART = TableKeys(
    "[[darts]]",
    "a dart; the edge that it opens on is walked with the dart closed",
    {
        "piece": Key('"front"', "The piece that it is in."),
        "corners": Key('["dart-in", "dart-tip", "dart-out"]', "Mouth, tip, mouth."),
    },
)
PLEAT = TableKeys(
    "[[pleats]]",
    "a pleat; the edge is walked with the pleat folded",
    {
        "piece": Key('"front"', "The piece that it is in."),
        "corners": Key('["pleat-in", "pleat-out"]', "Where its two fold lines meet the edge."),
    },
)
SEAM = TableKeys(
    "[[seams]]",
    "two sides that are sewn together, both walked from the same end",
    {
        "name": Key('"inseam"', "What the seam is called."),
        "sew": Key(
            '["front.inseam", "front.inseam"]',
            "Its two sides. An edge named twice is sewn to its mirror twin. A side of several edges in a row is a list: "
            '[["front.waist", "-back.waist"], "band.lower"]. A minus walks an edge backwards.',
        ),
        "ease": Key("[0, 6]", "The first side may be so much longer than the second. One number: exactly that much."),
        "ease-between": Key(
            "[85, 400]", "All of the ease lies between these distances along the second side, from its start."
        ),
        "ratio": Key("[1.9, 2.1]", "Instead of ease, for gathers and stretch: first side divided by the second."),
        "tolerance": Key("3.0", "This seam's own."),
        "master": Key('"first"', 'The side that is right as it is: "first" or "second". The other gives way.'),
    },
)
SHAPED = TableKeys(
    "[[shaped]]",
    "a point where the line across a seam is meant to turn",
    {
        "corner": Key('"front.crotch-point"', "One of the corners that meet there."),
        "angle": Key("140", "What the angles there add to, in degrees. Without it any angle is right."),
        "why": Key('"V neck"', "For whoever reads the plan."),
    },
)
ACCEPTED = TableKeys(
    "[[accepted]]",
    "a finding that is meant to stay; an entry that matches nothing any more is told",
    {
        "check": Key('"seam-length/long"', "The name in square brackets behind a finding, or its first part alone."),
        "seam": Key('"inseam"', "Only at this seam."),
        "piece": Key('"front"', "Only at this piece."),
        "edge": Key('"front.inseam"', "Only at this edge."),
        "size": Key('"40"', "Only in this size."),
        "why": Key('"stretched on with the iron"', "The reason. Without it the entry is itself a finding."),
    },
)
OF_PIECE = (CORNERS, EDGES)
TABLES = (PIECE, *OF_PIECE, DART, PLEAT, SEAM, SHAPED, ACCEPTED)
IN_PLAN, IN_PIECE = below(TABLES), below(OF_PIECE, 2)
