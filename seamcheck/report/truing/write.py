"""The picture of a truing written to a file."""

from __future__ import annotations

from pathlib import Path

from seamcheck.errors import SeamcheckError
from seamcheck.files import replacing, unwritten
from seamcheck.truing.run import TruedFile
from seamcheck.truing.writing import free

WRITING = 3.0  # mm on paper
TRUE_WRITING = 4.0  # mm at true scale, where it is read on a table
MOST_LETTERS = 12  # that are told of those in no font
FITTED = 260.0  # mm on paper of a picture whose scale is not told


def draw_picture(trued: TruedFile, suffix: str, scale: float | None, paper: str) -> tuple[bytes, str]:
    """The picture of what was drawn anew, as ".svg" or as ".pdf" in tiles of a paper, and letters that no font has.

    `scale` is mm on paper for a mm of cloth. An SVG without one is fitted to a page; a PDF is at true scale.
    """
    from seamcheck.report.truing.picture import picture
    from seamcheck.report.truing.picture_pdf import pdf
    from seamcheck.report.truing.picture_svg import svg

    by_size = [
        (one.before, one.after, [change for change in trued.changes if change.size == one.before.size])
        for one in trued.sizes
    ]
    if not trued.changes:
        raise SeamcheckError("nothing is redrawn, so there is no picture", path=trued.path)
    as_pdf = suffix == ".pdf"
    if scale is None and not as_pdf:
        rough = picture(by_size, squares=False, text=20.0)
        scale = FITTED / max(rough.width, rough.height)
    scale = scale or 1.0
    text = (TRUE_WRITING if scale >= 0.99 else WRITING) / scale
    drawn = picture(by_size, squares=abs(scale - 1.0) < 1e-9, text=text)
    if as_pdf:
        return pdf(drawn, scale, text, paper, Path(trued.path).name)
    return svg(drawn, scale, text).encode(), ""


def write_picture(trued: TruedFile, output: str, scale: float | None, paper: str, *, force: bool) -> tuple[str, ...]:
    """Draw the picture into a file whose name ends in .svg or .pdf, and give what is to be said of it, a sentence each."""
    target = free(output, force=force)
    suffix = target.suffix.lower()
    if suffix not in (".svg", ".pdf"):
        raise SeamcheckError(
            "a picture is drawn as SVG or as PDF", path=output, remedy="name a file that ends in .svg or .pdf"
        )
    drawn, boxes = draw_picture(trued, suffix, scale, paper)
    try:
        with replacing(target, drawn):
            pass
    except OSError as error:
        raise unwritten(error, output) from None
    return (_of_boxes(boxes, output),) if boxes else ()


def _of_boxes(letters: str, output: str) -> str:
    shown = " ".join(letters[:MOST_LETTERS]) + (" ..." if len(letters) > MOST_LETTERS else "")
    stand = "letter stands" if len(letters) == 1 else "letters stand"
    return (
        f"{output}: {len(letters)} {stand} in no font of this machine and {'is a box' if len(letters) == 1 else 'are boxes'} "
        f"in the picture: {shown}; install a font that has {'it' if len(letters) == 1 else 'them'} and draw it again"
    )
