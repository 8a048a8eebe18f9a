"""What a fit is, for the eye: what is seen in the cloth, what is done for it, and what follows; and all fits, a line each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.report.cautions import OF_FITS
from seamcheck.report.explain.laid_out import block, rows, titled, topic
from seamcheck.report.layout import paint, wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.fits.fit import Fit

UNDER_THE_SEAT = (
    ("level, tight to their ends", "low-seat: the seat of the body hangs lower than that of the trousers"),
    ("level and tight, their ends turned up or down", "deep-torso: the body is deeper than the crotch seam is long"),
    ("slanting up and outward, loose", "flat-seat: there is more cloth than the seat fills"),
    ("radiating from the middle of the seat, tight", "full-seat: there is less cloth than the seat fills"),
    (
        "slanting down the leg, gone when it is pinched up at the knee",
        "prominent-calf: the cause sits lower than the folds",
    ),
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """All fits, by the piece that they alter, and how folds under the seat are told apart."""
    pieces = sorted({_pieces(fit): len(fit.also) for fit in registry.fits}.items(), key=lambda one: (one[1], one[0]))
    brought = {fit.name for fit in registry.fits}
    known = [(seen, told) for seen, told in UNDER_THE_SEAT if told.partition(":")[0] in brought]
    return topic(
        [
            wrap("A fit is an alteration by name: what is seen in the cloth, and what is done on the paper for it.", options),
            *(
                titled(
                    f"Of the {of}:",
                    rows([(fit.name, _line(fit)) for fit in registry.fits if _pieces(fit) == of], options),
                    options,
                )
                for of, _ in pieces
            ),
            titled("Folds under the seat, and what they tell:", rows(known, options), options) if known else "",
            titled(
                "What can be asked for:",
                rows(
                    [
                        ("seamcheck alter --which", "asks what you see, and says which fit it is likely to be"),
                        ("seamcheck explain FIT", "tells one in full; with --picture FIT.svg it is drawn"),
                        ("seamcheck alter FILE FIT", "rehearses it on a pattern; with --output NEW it is carried out"),
                    ],
                    options,
                ),
                options,
            ),
            _cautions(options),
        ]
    )  # fmt: skip


def explanation(fit: Fit, registry: Registry, options: RenderOptions) -> str:
    """One fit in full: seen, told from its look-alikes, done, by how much, what is given back and what follows, and the source."""
    plugin = next((one.name for one in registry.plugins if fit.name in one.fits), "builtin")
    owner = "" if plugin == "builtin" else f", from the plugin {plugin}"
    alike = [(name, how) for name, how in fit.alike if any(one.name == name for one in registry.fits)]
    several = len(fit.done) > 1
    return topic(
        [
            f"{paint(fit.name, 'strong', options)} (a fit of the {_pieces(fit)}{owner})",
            _listed("What is seen:", fit.seen, options),
            titled("What looks like it, and how to tell:", rows(alike, options), options) if alike else "",
            _listed(f"What is done to the {fit.role}{_also(fit)}:", fit.done, options, numbered=several),
            wrap(_amount(fit), options),
            wrap(f"An amount with a minus before it {fit.minus}.", options) if fit.minus else "",
            wrap(f"Given back: {' '.join(fit.given_back)}", options) if fit.given_back else "",
            _listed("What follows:", fit.followed, options),
            _listed("Mind:", fit.warnings, options),
            wrap(f"Source: {fit.source}.", options),
            "\n".join(
                [
                    wrap("To rehearse it on a pattern, and to see it drawn:", options),
                    block(
                        f'seamcheck alter FILE {fit.name} --amount "{amounts.inches(fit.first)}"\n'
                        f"seamcheck explain {fit.name} --picture {fit.name}.svg"
                    ),
                ]
            ),
            _cautions(options),
        ]
    )


def _line(fit: Fit) -> str:
    first, *_ = fit.seen
    return first


def _pieces(fit: Fit) -> str:
    return amounts.listed((fit.role, *fit.also))


def _also(fit: Fit) -> str:
    return f", and to the {amounts.listed(fit.also)} alike" if fit.also else ""


def _amount(fit: Fit) -> str:
    what = f"{fit.amount}. " if fit.amount else ""
    return (
        f"Amount: {what}To begin with {amounts.length(fit.first)}; more than {amounts.length(fit.most)} is seldom sensible: then look "
        "for another cause."
    )


def _listed(title: str, sentences: Iterable[str], options: RenderOptions, *, numbered: bool = False) -> str:
    told: Sequence[str] = tuple(sentences)
    if not told:
        return ""
    marks = [f"{number}." if numbered else "-" for number in range(1, len(told) + 1)]
    lines = [
        wrap(f"{mark} {one}", options, indent="  ", hanging=" " * (3 + len(mark)))
        for mark, one in zip(marks, told, strict=True)
    ]
    return titled(title, lines, options)


def _cautions(options: RenderOptions) -> str:
    return "\n".join(wrap(one, options) for one in OF_FITS)
