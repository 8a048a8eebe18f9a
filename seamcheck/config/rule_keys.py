"""The keys of a shop's own rules: declared apart from what reads them, which is loaded only where there are rules."""

from __future__ import annotations

from seamcheck.config.keys import Key, TableKeys

FACTS = ("left", "right", "measured", "wanted", "amount")  # what a message or an advice may speak of, in braces
MISSING = "missing"  # the code of a finding that tells of such a name
SKIP, ERROR = "skip", "error"  # what becomes of a rule that names what a pattern does not have
LENGTH_TOLERANCE = 1.6  # mm, as between two sides of a seam
ANGLE_TOLERANCE = 3.5  # degrees, as at a junction
NUMBER_TOLERANCE = 0.0

EACH = ("seam", "piece", "edge")  # what a rule may be for each of

MEASURES = TableKeys(
    "[measures]",
    "names for what rules speak of again and again",
    {"hem.width": Key('"front.hem + back.hem"', "A sum that rules may speak of by this name.")},
    open=True,
)
RULE = TableKeys(
    "[[rules]]",
    "one rule; it becomes a check like any other",
    {
        "name": Key('"room-for-a-boot"', 'The name of the check: small letters and digits, "-" between words.'),
        "holds": Key('"hem.width >= 480 mm"', "What must hold."),
        "for-each": Key(
            '"seam"',
            'The rule is held against each of them: "seam", "piece" or "edge". That word then stands for the one at hand.',
        ),
        "matches": Key(
            '["side*"]', "With for-each: only those of such a name, or of a name in the file; of an edge piece.edge."
        ),
        "when": Key('"length(seam) >= 600 mm"', "Only where this holds; it is written as the rule is."),
        "tolerance": Key(
            "1.6",
            "In the units of the settings, degrees or plain numbers. Up to half of it nothing is said, up to all of it is "
            "a note, up to twice a warning, beyond that an error. Without it "
            f"{LENGTH_TOLERANCE:g} mm, {ANGLE_TOLERANCE:g} degrees or {NUMBER_TOLERANCE:g}.",
        ),
        "severity": Key('"error"', 'Whatever the amount: "error", "warning", "note" or "off".'),
        "sizes": Key('["38", "40"]', "Only in these sizes."),
        "patterns": Key('["*trousers*"]', "Only for patterns whose name, or whose file's name, is so."),
        "missing": Key(
            f'"{ERROR}"',
            f'Where a pattern does not have what the rule names: "{ERROR}" tells the nearest name there is. Without it, '
            f'"{SKIP}", the rule is listed as skipped, and so is one whose name is misspelt.',
        ),
        "message": Key(
            '"The hem does not go over a boot."',
            f"Said before the figures. It may speak of {', '.join(f'{{{fact}}}' for fact in FACTS)}.",
        ),
        "advice": Key('"Widen both hems by {amount} together."', "What to do; it may speak of the same."),
        "why": Key(
            '"The crew wears boots on the slip."',
            "Why it matters; told with the finding, and by `seamcheck explain`.",
        ),
    },
)
