"""The keys of a recipe: what `recipe_file` reads and `seamcheck explain alter` tells."""

from __future__ import annotations

from collections.abc import Mapping

from seamcheck.config.keys import Key, TableKeys

RECIPE = TableKeys(
    "",
    "the top of the file",
    {
        "format": Key("1", "The form of the recipe. It must be there, and 1 is the only form."),
        "name": Key('"Ferryhand, second fitting"', "What the alteration is called."),
    },
)
_WHERE = {
    "piece": Key('"back"', "The piece, as the plan calls it."),
    "sizes": Key('["38", "40"]', "In which sizes. Without it in all, each place at the same share of its edge."),
}
EVERY = {
    **_WHERE,
    "give-back": Key(
        '{ edge = "outseam", end = "side-waist" }',
        "An edge that gets back what the move took from it, or loses what it gained, and at which of its ends; in square brackets, several.",
    ),
}
FIT = TableKeys(
    "[[steps]]",
    "an alteration by name",
    {
        "fit": Key('"prominent-calf"', "Its name: seamcheck explain lists those that there are."),
        "amount": Key('"1/4 in"', "How much of it. Without it, the usual first amount."),
        **_WHERE,
    },
)
_SPREAD = {
    "spread": Key('"1/4 in"', "By how much the cut opens: so much longer becomes the edge."),
    "overlap": Key('"1/4 in"', "By how much it is lapped over: so much shorter."),
}
_ADD = {
    "add": Key('"1/2 in"', "How much is added."),
    "take": Key('"1/2 in"', "How much is taken away."),
}
_STAYS = Key(
    '"hem"', "An edge or corner on the part that lies still. Without it, where most of the grain arrow runs."
)
MOVES: Mapping[str, TableKeys] = {
    "hinge": TableKeys(
        "[[steps]]",
        "a cut that is hinged at one end and spread or overlapped at the other",
        {
            "cut": Key(
                '["outseam 425 mm from side-hem", "inseam 383 mm from crotch-point"]', "Both ends of the cut."
            ),
            "hinge": Key('"inseam"', "Which of both is the hinge: its edge or corner."),
            **_SPREAD,
            "relief": Key(
                '[["0.5 of cut", "crotch 150 mm from crotch-point"]]',
                "Second cuts, from the first to an edge where they are hinged; they open so that the paper lies flat.",
            ),
            "stays": _STAYS,
        },
    ),
    "parallel": TableKeys(
        "[[steps]]",
        "a cut from edge to edge, spread or tucked by the same amount all along",
        {
            "cut": Key('["inseam 300 mm from inseam-hem", "outseam 300 mm from side-hem"]', "Both ends of the cut."),
            **_SPREAD,
            "by-grain": Key("true", "The parts move along the grain arrow, and not square to the cut."),
            "stays": _STAYS,
        },
    ),
    "scoop": TableKeys(
        "[[steps]]",
        "an edge redrawn deeper between two places that stay",
        {
            "edge": Key('"crotch"', "The edge."),
            "from": Key('"crotch 110 mm from cb-waist"', "Where the new line leaves the old one."),
            "to": Key('"crotch-point"', "Where it comes back to it."),
            "deeper": Key('"1/4 in"', "How much deeper it is half-way; negative fills it out."),
        },
    ),
    "extend": TableKeys(
        "[[steps]]",
        "a corner moved on the line of one of its edges, the other one blended to it",
        {
            "corner": Key('"crotch-point"', "The corner."),
            "along": Key('"crotch"', "The edge that is led on past its end, or cut back."),
            **_ADD,
            "blend": Key('"notch 1 of inseam"', "How far the other edge is redrawn. Without it, to its next mark."),
            "square": Key("true", "The corner moves square out of the edge instead, and both edges are redrawn."),
        },
    ),
    "taper": TableKeys(
        "[[steps]]",
        "an edge set out or taken in, from nothing to all of it",
        {
            "edge": Key('"outseam"', "The edge."),
            "from": Key('"notch 1 of outseam"', "Where there is nothing yet."),
            "peak": Key(
                '"outseam 300 mm from side-waist"', "Where there is all of it: a place, or the end of the edge."
            ),
            "to": Key(
                '"outseam 60 mm from side-waist"',
                "Where it has run out to nothing. Without it, it stays to the edge's end.",
            ),
            **_ADD,
        },
    ),
    "dart": TableKeys(
        "[[steps]]",
        "a dart deeper, longer, moved, or closed into another place",
        {
            "dart": Key('"dart-tip"', "The dart, by one of its corners."),
            "deeper": Key('"1/4 in"', "So much wider its mouth; negative makes it narrower."),
            "longer": Key('"1/2 in"', "So much farther its tip from the mouth; negative makes it shorter."),
            "moved": Key('"3/8 in"', "So far along its edge."),
            "towards": Key('"side-waist"', "Towards which end of that edge it is moved."),
            "into": Key('"outseam 80 mm from side-waist"', "It is closed, and opened there, about the same tip."),
            "stays": _STAYS,
        },
    ),
    "wedge": TableKeys(
        "[[steps]]",
        "an edge turned as it is about a place on it",
        {
            "edge": Key('"waist"', "The edge."),
            "from": Key('"side-waist"', "The place that it turns about."),
            "corner": Key('"cb-waist"', "Its end that goes, on the line of the other edge there."),
            **_ADD,
        },
    ),
}
