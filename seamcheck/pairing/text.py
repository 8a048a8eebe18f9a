"""A proposal as a person likes to read it: each seam with its lengths and reasons, and questions marked.

A question stands in the file as a seam behind "#": take the marks away, and it is one. What a person wrote in
an older plan is kept to the letter; only what is new is added behind it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from seamcheck import amounts
from seamcheck.amounts import Phrase, PlainLength, joined, phrase
from seamcheck.config.plan_file import format_plan
from seamcheck.pairing.proposal import Proposal, ProposedSeam, Standing
from seamcheck.pattern.drawing import Note
from seamcheck.pattern.model import Piece
from seamcheck.pattern.plan import EdgeUse, Plan, SeamPlan

OPEN = (Standing.GUESS, Standing.QUESTION)  # what a person is asked about
MOST_LIKELY = 0.99  # what is only likely is never told as more
WIDTH = 110
MOST_REASONS = 4
MOST_NAMES = 12
ASKED = "Is {first} sewn to {second}? {why} It was not judged."
GUESSED = "{first} is taken to be sewn to {second}, as the best guess. {why}"
ADDED = "# Added to what was written above:"

LENT = "Taken for {of}: what it and its edges are called, how it is cut and what stays unsewn is from there."


def plan_text(proposal: Proposal, source: str, written: str | None = None) -> str:
    """The whole plan file; `written` is the text of an older plan, which is kept to the letter."""
    if written is not None:
        return _added(proposal, written)
    sure, asked = _of(proposal, Standing.SURE), _of(proposal, *OPEN)
    head = [
        f"Seams proposed for {source}: {len(sure)} sure, {len(asked)} to ask about.",
        'A seam behind "#" is a question: take the # away from its lines if it is sewn. What is neither sewn nor',
        'unsewn is named below its piece; write it under unsewn if it stays free. "-" walks an edge backwards.',
    ]
    widths = {piece.allowance for piece in proposal.plan.pieces if piece.allowance is not None}
    if widths:
        told = amounts.listed([amounts.millimetres(width) for width in sorted(widths)])
        head.append(
            f"The file draws cut lines and does not say how wide the allowance is. With {told} far more edges are as "
            "long as each other than with any other usual width; measure it on the paper."
        )
    blocks = format_plan(replace(proposal.plan, seams=())).rstrip("\n").split("\n\n")
    out = ["\n".join(line for text in head for line in _comment(text)), blocks[0]]
    pieces = [piece.name for piece in proposal.plan.pieces]
    lengths = _lengths(proposal)
    for block in blocks[1:]:
        if pieces and block.startswith("[pieces."):
            name = pieces.pop(0)
            block = _with_open(block, name, proposal.open_edges, lengths)
            if name in proposal.lent:
                block = "\n".join([*_comment(LENT.format(of=proposal.lent[name])), block])
        out.append(block)
    out += [seam_block(one) for one in sure]
    if asked:
        out.append("# Questions")
        out += [question_block(one) for one in asked]
    return "\n\n".join(out) + "\n"


def _added(proposal: Proposal, written: str) -> str:
    """The text of an older plan, to the letter, and behind it what the proposal has beyond it."""
    from seamcheck.config.plan_file import parse_plan

    known = {piece.name for piece in parse_plan(written).pieces}
    units = proposal.plan.units
    pieces = tuple(piece for piece in proposal.plan.pieces if piece.name not in known)
    darts = tuple(dart for dart in proposal.plan.darts if dart.piece not in known)
    extra = Plan(pieces=pieces, darts=darts, units=units)
    blocks = format_plan(extra).rstrip("\n").split("\n\n")[1:]
    blocks += [seam_block(one, units) for one in _of(proposal, Standing.SURE)]
    blocks += [question_block(one, units) for one in _of(proposal, *OPEN)]
    blocks += [
        "\n".join(_comment(f"Perhaps {told}; this plan has no names for these edges, so give them names first."))
        for told in proposal.unnamed
    ]
    # A question that stands there already is not asked again.
    blocks = [block for block in blocks if _sewn_line(block) not in written]
    if not blocks:
        return written
    head = "" if ADDED in written else f"{ADDED}\n\n"
    return written.rstrip("\n") + "\n\n" + head + "\n\n".join(blocks) + "\n"


def _sewn_line(block: str) -> str:
    """The line that says what is sewn together, or the whole block where there is none."""
    return next((line for line in block.split("\n") if line.removeprefix("# ").startswith("sew = ")), block)


def _of(proposal: Proposal, *standing: Standing) -> list[ProposedSeam]:
    return [one for one in proposal.seams if one.standing in standing]


def _lengths(proposal: Proposal) -> dict[str, float]:
    """The length of every edge in mm, in the middle one of the sizes."""
    sizes = proposal.pattern.sizes
    size = sizes[len(sizes) // 2] if sizes else ""
    return {
        f"{piece.name}.{edge.name}": edge.length for piece in proposal.pattern.in_size(size) for edge in piece.edges
    }


def _with_open(block: str, piece: str, left: Sequence[str], lengths: dict[str, float]) -> str:
    own = [name for name in left if name.rsplit(".", 1)[0] == piece]
    if not own:
        return block
    told = ", ".join(f"{name.rsplit('.', 1)[1]} ({amounts.millimetres(lengths.get(name, 0.0))})" for name in own)
    return "\n".join([block, *_comment(f"In no seam: {told}.")])


def seam_block(one: ProposedSeam, units: str = "mm") -> str:
    """A seam as it stands in the file, its reasons above it."""
    return "\n".join([*_comment(str(why(one))), _lines_of(one.seam, units)])


def question_block(one: ProposedSeam, units: str = "mm") -> str:
    """A question as it stands in the file: a seam behind "#"."""
    body = [f"# {line}" for line in _lines_of(one.seam, units).split("\n")]
    asked = "Best guess:" if one.standing is Standing.GUESS else "Is this a seam?"
    return "\n".join([*_comment(f"{asked} {why(one)}"), *body])


def _lines_of(seam: SeamPlan, units: str) -> str:
    return format_plan(Plan(seams=(seam,), units=units)).rstrip("\n").split("\n\n")[1]


def why(one: ProposedSeam) -> Phrase:
    """What a proposed seam rests on, in a sentence or two."""
    first, second = (PlainLength(length, None) for length in one.lengths)
    twin = one.seam.sides[0] == one.seam.sides[1]
    lengths = joined((first, ", to its mirror twin")) if twin else joined((first, second), " and ")
    return phrase(
        "{reasons}. {confidence}{otherwise}.",
        reasons=joined((lengths, *reasons(one)), "; "),
        confidence="Sure" if one.standing is Standing.SURE else f"{min(one.confidence, MOST_LIKELY):.0%} likely",
        otherwise=f"; else {one.runner_up}" if one.runner_up else "",
    )


def reasons(one: ProposedSeam) -> list[str]:
    """The weightiest reasons in words, each once."""
    told = [reason.words for reason in one.reasons if reason.words and abs(reason.weight) >= 0.5]
    return list(dict.fromkeys(told))[:MOST_REASONS]


def _comment(text: str) -> Iterable[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="# ", subsequent_indent="# ", break_long_words=False)


def inferred_notes(proposal: Proposal, *, guesses: bool) -> list[Note]:
    """What a report says of the seams that were inferred, of those guessed, and of what is only asked about."""
    open_ones = (Standing.QUESTION,) if guesses else OPEN
    notes = [_sure_note(proposal, len(_of(proposal, *open_ones)))]
    if guesses:
        notes += [_note_of(one, "seam-guessed", GUESSED) for one in _of(proposal, Standing.GUESS)]
    return notes + [_note_of(one, "seam-question", ASKED) for one in _of(proposal, *open_ones)]


def _sure_note(proposal: Proposal, asked: int) -> Note:
    names = [one.seam.name for one in _of(proposal, Standing.SURE)]
    told = f" ({amounts.listed(names)})" if 0 < len(names) <= MOST_NAMES else ""
    judged = "no seam was" if not names else "1 seam was" if len(names) == 1 else f"{len(names)} seams were"
    questions = "none is" if not asked else "1 is" if asked == 1 else f"{asked} are"
    return Note(
        "seams-inferred",
        f"There is no plan: {judged} inferred from the drawing and judged{told}; {questions} only asked about. "
        "Write a plan to confirm or correct them with: seamcheck pair FILE --output NAME.seams.toml",
    )


def _note_of(one: ProposedSeam, code: str, told: str) -> Note:
    first, second = (side_text(side) for side in one.seam.sides)
    return Note(
        code, phrase(told, first=first, second="its mirror twin" if first == second else second, why=why(one))
    )


def pairing_json(proposal: Proposal, path: str) -> dict[str, object]:
    """The proposal as plain data, schema `seamcheck.pair/1`: lengths in mm."""
    sizes = proposal.pattern.sizes
    pieces = {piece.name: piece for piece in proposal.pattern.in_size(sizes[len(sizes) // 2] if sizes else "")}
    return {
        "schema": "seamcheck.pair/1",
        "path": path,
        "seams": [
            {
                "name": one.seam.name,
                "standing": str(one.standing),
                "confidence": one.confidence,
                "sew": [[str(use) for use in side] for side in one.seam.sides],
                "stretches": [
                    [_stretch(use, pieces) for use in side if _is_drawn(use, pieces)] for side in one.seam.sides
                ],
                "lengths": list(one.lengths),
                "difference": one.lengths[0] - one.lengths[1],
                "ease": list(one.seam.ease) if one.seam.ease else None,
                "ratio": list(one.seam.ratio) if one.seam.ratio else None,
                "reasons": [
                    {"evidence": reason.term, "points": reason.weight, "words": reason.words}
                    for reason in one.reasons
                ],
                "runner_up": one.runner_up or None,
            }
            for one in proposal.seams
        ],
        "open": list(proposal.open_edges),
        "lent": [{"piece": name, "from": told} for name, told in proposal.lent.items()],
        "free": [f"{piece.name}.{edge}" for piece in proposal.plan.pieces for edge in piece.unsewn],
    }


def _is_drawn(use: EdgeUse, pieces: Mapping[str, Piece]) -> bool:
    """Whether the file has an edge that a plan names: a swallowed one it has not."""
    return use.piece in pieces and any(edge.name == use.edge for edge in pieces[use.piece].edges)


def _stretch(use: EdgeUse, pieces: Mapping[str, Piece]) -> dict[str, object]:
    """An edge as a side walks it: its piece, the points it runs between in the file's axes, its length."""
    piece = pieces[use.piece]
    edge = piece.edge(use.edge)
    ends = edge.runs[0].start, edge.runs[-1].end
    start, end = ends[::-1] if use.backwards else ends
    return {
        "piece": use.piece,
        "in_file": piece.in_file,
        "from": [start.real, start.imag],
        "to": [end.real, end.imag],
        "length": edge.length,
    }


def side_text(side: Sequence[EdgeUse]) -> str:
    """One side of a seam as one says it."""
    return " + ".join(use.name for use in side)
