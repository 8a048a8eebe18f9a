"""The one door for plugins: all that a check, a reader, a report or a pairing hint is made of.

A whole check, in a file `hem_width.py` that `plugins` in `seamcheck.toml` names:

    from seamcheck.plugin import Check, Code, Length, Observation, Unit

    OFF = Code(name="off", meaning="a hem has another width", message="{edge} is {width} wide.",
               advice="Redraw it 200 mm wide.", facts=("edge", "width"))

    def hems_fit_the_binder(context):
        for name, piece in context.pieces.items():
            width = piece.edge("hem").length
            yield Observation(code="off", deviation=width - 200, pieces=(name,),
                              facts={"edge": f"{name}.hem", "width": Length(width)})

    def seamcheck_register_checks(register):
        register(Check(name="hem-width", family="house rules", meaning="every hem is 200 mm wide",
                       why="The binder is set to it.", remedy="Redraw the hem.", source="house rule of the kit room",
                       tolerance=1.0, unit=Unit.LENGTH, codes=(OFF,), run=hems_fit_the_binder))

A check       Check, Code, Context, Observation, LookedAt, Skip, Severity; Tolerance, Subject, Repetition for what it is about
says          Length, Angle, Unit; PlainLength, PlainAngle, Share, Number where one unit is enough; Name for what file or plan
              name, Listed for several of them, Phrase and phrase for words that hold such facts
sees          Pattern, Piece, Edge, Corner, Notch, Grainline, Dart, Pleat, Curve, Affine; Plan, SeamGraph, Seam, Side, Junction,
              Walk; Settings, Table for the options of the shop; Comparison with the file before an alteration
A reader      Importer, Source, Drawing, LineMark, PointMark, TextMark, Role, Place, Note, Ledger; InputError, SeamcheckError
              for what cannot be read; builtin_importer gives a reader that is there, to build on
A report      ReportFormat, RenderOptions; Report, FileResult, Finding, Failure, Skipped, WalkedSeam
A hint        PairingHint
A fit         Fit; Question, Answer and Sign for what tells it in the cloth; Sketch with Crease and Cut for a small drawing of it;
              FitPiece, LacksRoleError for the piece that its steps are made for; Hinge with Relief, Parallel, Scoop, Extend, Taper,
              DartMove, Wedge, with GiveBack: its steps; AtCorner, AlongEdge, AtNotch, AlongCut: each a Spot of a piece that they are
              made at; Step, any of them
Any           hookimpl, a mark that a hook may bear; `seamcheck.hooks` says which hooks there are, when each is called and how often

Lengths are mm, angles degrees, points complex numbers in the axes of the file. What tests of a plugin need is in
`seamcheck.testing`; nothing else of seamcheck is meant to be imported by a plugin.

What holds: a name in `__all__` keeps its meaning within a major version. What comes is added, with a default, so that what is
written today goes on. What goes stays for one minor version more, and says so with a DeprecationWarning.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.lazy import handed_on

if TYPE_CHECKING:
    from seamcheck.amounts import (
        Angle,
        Length,
        Listed,
        Name,
        Number,
        Phrase,
        PlainAngle,
        PlainLength,
        Share,
        Unit,
        phrase,
    )
    from seamcheck.builtin import builtin_importer
    from seamcheck.checks.base import (
        Check,
        Code,
        Context,
        LookedAt,
        Observation,
        Repetition,
        Severity,
        Skip,
        Tolerance,
    )
    from seamcheck.comparison import Comparison
    from seamcheck.config.settings import Settings
    from seamcheck.config.toml import Table
    from seamcheck.engine.hookspecs import hookimpl
    from seamcheck.engine.report_format import RenderOptions, ReportFormat
    from seamcheck.engine.result import FileResult, Finding, Report, Skipped, WalkedSeam
    from seamcheck.errors import Failure, InputError, SeamcheckError
    from seamcheck.fits.fit import Answer, Fit, Question, Sign
    from seamcheck.fits.piece import FitPiece, LacksRoleError
    from seamcheck.fits.sketch import Crease, Cut, Sketch
    from seamcheck.geometry.curve import Affine, Curve
    from seamcheck.pairing.hints import PairingHint
    from seamcheck.pattern.drawing import Drawing, Ledger, LineMark, Note, Place, PointMark, Role, TextMark
    from seamcheck.pattern.junctions import Junction
    from seamcheck.pattern.model import Corner, Dart, Edge, Grainline, Notch, Pattern, Piece, Pleat
    from seamcheck.pattern.plan import Plan
    from seamcheck.pattern.recipe import (
        AlongCut,
        AlongEdge,
        AtCorner,
        AtNotch,
        DartMove,
        Extend,
        GiveBack,
        Hinge,
        Parallel,
        Relief,
        Scoop,
        Spot,
        Step,
        Taper,
        Wedge,
    )
    from seamcheck.pattern.seam_graph import SeamGraph
    from seamcheck.pattern.seams import Seam, Side
    from seamcheck.pattern.subject import Subject
    from seamcheck.pattern.walk import Walk
    from seamcheck.reading.base import Importer, Source

__all__ = [
    "Affine",
    "AlongCut",
    "AlongEdge",
    "Angle",
    "Answer",
    "AtCorner",
    "AtNotch",
    "Check",
    "Code",
    "Comparison",
    "Context",
    "Corner",
    "Crease",
    "Curve",
    "Cut",
    "Dart",
    "DartMove",
    "Drawing",
    "Edge",
    "Extend",
    "Failure",
    "FileResult",
    "Finding",
    "Fit",
    "FitPiece",
    "GiveBack",
    "Grainline",
    "Hinge",
    "Importer",
    "InputError",
    "Junction",
    "LacksRoleError",
    "Ledger",
    "Length",
    "LineMark",
    "Listed",
    "LookedAt",
    "Name",
    "Notch",
    "Note",
    "Number",
    "Observation",
    "PairingHint",
    "Parallel",
    "Pattern",
    "Phrase",
    "Piece",
    "Place",
    "PlainAngle",
    "PlainLength",
    "Plan",
    "Pleat",
    "PointMark",
    "Question",
    "Relief",
    "RenderOptions",
    "Repetition",
    "Report",
    "ReportFormat",
    "Role",
    "Scoop",
    "Seam",
    "SeamGraph",
    "SeamcheckError",
    "Settings",
    "Severity",
    "Share",
    "Side",
    "Sign",
    "Sketch",
    "Skip",
    "Skipped",
    "Source",
    "Spot",
    "Step",
    "Subject",
    "Table",
    "Taper",
    "TextMark",
    "Tolerance",
    "Unit",
    "Walk",
    "WalkedSeam",
    "Wedge",
    "builtin_importer",
    "hookimpl",
    "phrase",
]

# Each name is imported when it is first asked for: a command that only lists the checks reads no pattern.
__getattr__, __dir__ = handed_on(
    __name__,
    {
        "seamcheck.amounts": (
            "Angle",
            "Length",
            "Listed",
            "Name",
            "Number",
            "Phrase",
            "PlainAngle",
            "PlainLength",
            "Share",
            "Unit",
            "phrase",
        ),
        "seamcheck.builtin": ("builtin_importer",),
        "seamcheck.checks.base": (
            "Check",
            "Code",
            "Context",
            "LookedAt",
            "Observation",
            "Repetition",
            "Severity",
            "Skip",
            "Tolerance",
        ),
        "seamcheck.comparison": ("Comparison",),
        "seamcheck.config.settings": ("Settings",),
        "seamcheck.config.toml": ("Table",),
        "seamcheck.engine.hookspecs": ("hookimpl",),
        "seamcheck.engine.report_format": ("RenderOptions", "ReportFormat"),
        "seamcheck.engine.result": ("FileResult", "Finding", "Report", "Skipped", "WalkedSeam"),
        "seamcheck.errors": ("Failure", "InputError", "SeamcheckError"),
        "seamcheck.fits.fit": (
            "Answer",
            "Fit",
            "Question",
            "Sign",
        ),
        "seamcheck.fits.piece": (
            "FitPiece",
            "LacksRoleError",
        ),
        "seamcheck.pattern.recipe": (
            "AlongCut",
            "AlongEdge",
            "AtCorner",
            "AtNotch",
            "DartMove",
            "Extend",
            "GiveBack",
            "Hinge",
            "Parallel",
            "Relief",
            "Scoop",
            "Spot",
            "Step",
            "Taper",
            "Wedge",
        ),
        "seamcheck.fits.sketch": ("Crease", "Cut", "Sketch"),
        "seamcheck.geometry.curve": ("Affine", "Curve"),
        "seamcheck.pairing.hints": ("PairingHint",),
        "seamcheck.pattern.drawing": (
            "Drawing",
            "Ledger",
            "LineMark",
            "Note",
            "Place",
            "PointMark",
            "Role",
            "TextMark",
        ),
        "seamcheck.pattern.junctions": ("Junction",),
        "seamcheck.pattern.model": ("Corner", "Dart", "Edge", "Grainline", "Notch", "Pattern", "Piece", "Pleat"),
        "seamcheck.pattern.plan": ("Plan",),
        "seamcheck.pattern.seam_graph": ("SeamGraph",),
        "seamcheck.pattern.seams": ("Seam", "Side"),
        "seamcheck.pattern.subject": ("Subject",),
        "seamcheck.pattern.walk": ("Walk",),
        "seamcheck.reading.base": ("Importer", "Source"),
    },
)
