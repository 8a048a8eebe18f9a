"""A fit: legs that are let out from the knee down, for those who row in boots.

A fit says what is seen, what is done and by how much; its steps are made for one piece, with places from the piece's own
proportions, and are carried out by seamcheck. `also` names the pieces that are altered alike, here the front as the back.
"""

from __future__ import annotations

from seamcheck.plugin import Answer, AtCorner, Fit, FitPiece, Question, Sign, Step, Taper

INCH = 25.4  # mm

ROWS_IN = Question(
    name="rows-in",
    asks="What is worn with them on the water?",
    answers=(Answer("boots", "rubber boots"), Answer("shoes", "shoes that stay in the boat")),
)


def let_out_for_boots(piece: FitPiece, amount: float) -> tuple[Step, ...]:
    """Set both seams of a leg out by half of the amount at the hem, running out to nothing at the knee."""
    return tuple(
        Taper(
            piece=piece.piece.name,
            edge=piece.edge(seam).name,
            start=piece.along(seam, round(0.56 * piece.length("inseam")), "hem"),
            peak=AtCorner(piece.corner(seam, "hem")),
            amount=amount / 2,
        )
        for seam in ("inseam", "outseam")
    )


BOOTS = Fit(
    name="room-for-boots",
    title="Room for boots",
    role="back",
    also=("front",),
    seen=("The hem does not go over a rubber boot.",),
    done=("Set out inseam and outseam of front and back at the hem, running out to nothing at the knee.",),
    first=INCH / 2,
    most=INCH * 2,
    amount="what front and back each gain at the hem; the hem gains twice as much",
    given_back=("Nothing. All four leg seams stay as long as their mates.",),
    followed=("A facing of the hem gains as much.",),
    signs=(Sign(ROWS_IN, "boots", 3.0), Sign(ROWS_IN, "shoes", -3.0, "no boot has to go through", decides=True)),
    source="house rule of the kit room",
    steps=let_out_for_boots,
)
