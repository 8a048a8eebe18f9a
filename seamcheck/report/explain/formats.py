"""What is read and what is written, told from the readers and reports that are registered, and from the schemas."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.engine.report_format import SUFFIXES
from seamcheck.report import schemas
from seamcheck.report.explain.laid_out import block, rows, titled, topic
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions

READ = (
    "What kind a file is, its content tells, not its name. An SVG may come from any vector editor. A DXF of the apparel "
    "interchange has one block a piece, numbered layers, graded nests, and rule tables beside it. A DXF drawing has loose "
    "lines. How to draw so that all of it is understood: seamcheck explain drawing",
)
OUTPUT = (
    "--output may be repeated, each with its --format: the first format goes to the first output and so on. One format more "
    "than outputs goes to stdout, which carries at most one. Without any --format the suffixes tell. A minus, as in "
    '"--output -", is stdout. A file is written under a temporary name and takes its own when it is whole.'
)
ONLY = (
    'A picture of one thing: "--format svg --only outseam", "--only front.crotch-point" or "--only \'piece back\'". Of several '
    "sizes it shows the worst, or that of --size."
)
TRUED = (
    'What "seamcheck true --output NEW" writes has the form of the file that was read. Everything that is not redrawn is kept '
    'byte for byte. In an SVG the lines that were replaced stand on a layer "before truing", which is not read again, and '
    'the new ones beside them on "trued". In a CAD drawing the layers are BEFORE_TRUING and, behind each layer\'s own name, '
    "-TRUED. In an SVG the old lines are dashed and the new ones twice as heavy, up to 1 mm. In a CAD drawing the layer of the old is "
    "dashed and 0.13 mm heavy, those of the new 0.5 mm; a DXF of before 2000 knows no weights. An old line that has dashes of its "
    "own keeps them. In apparel DXF the new line stays on the layer that the standard gives it, the layer of the old is dashed, for which "
    "a file without tables is given some, vertices keep their number and order, "
    "and a nest is trued size by size. A file is written only if it reads back as it was meant. Where only the cut line is "
    "drawn, the sew line is moved and the cut line offset anew round it; a turned-up hem, a cut line beside a drawn sew line, "
    "and one in apparel DXF are left to the hand, and that is said.",
    "--picture draws the pieces that were drawn anew, with --print all every piece: the old line thin and dashed, the new one "
    "heavy, in dashes and dots the mate as it lies along the seam at both ends, with the amounts where they are measured. It is "
    "an SVG, or a PDF to print at true scale on A4 or letter paper. Its first sheet has a 50 mm and a 2 in square to check the "
    "printer by, and the map of the sheets; the next is a work sheet with the steps in order and what to measure for each on a "
    "paper pattern. Then come the pieces, on sheets that name their neighbours. The same file gives the same bytes: the day on "
    "the first sheet is that on which the file was saved, in UTC, or that of SOURCE_DATE_EPOCH where that is set.",
)
MANY = (
    "Of thousands of styles no more is kept than of a few in the formats that are told file by file, jsonl and table. The files are judged by "
    "as many processes as pay, or by --jobs N. On a cluster of dask (extra cluster) they are judged with --scheduler ADDRESS, "
    "which sends the bytes of pattern, plan, rule tables and plugin files, or with --send paths their paths, where all machines share "
    "them under the same names. They go in batches, the results come in the order of the files, and what a lost worker had is judged by "
    "another. A cluster without any worker is waited for one minute.",
    "A table of a whole corpus, and what a library makes of it:",
)
TABLE = """\
seamcheck check styles --format table --output styles.ndjson
>>> pandas.read_json("styles.ndjson", lines=True).groupby("check").size()
"""
RECORD = (
    "A shop with many old patterns begins with a record of what is known, and keeps it in its repository. For every file, way "
    "of failing and seam (else edges, else pieces) it holds how grave the findings are that were there. As long as there are no "
    "more of them and none became graver, they are known, which is told in a line and does not count; --verbose tells each. Otherwise all of that kind and seam count. A "
    "file that was renamed is found again by its bytes, or by its pieces and seams, while the old name is gone."
)
RECORDING = """\
seamcheck check styles --record known.json      # the first time: exit code 0
seamcheck check styles --only-new known.json    # from then on only what is new counts
seamcheck check styles --record known.json      # takes out what was mended; adds nothing
"""
STABLE = (
    "JSON for other programs keeps its keys: one may be added, none is renamed, none changes its meaning. Should that ever have "
    'to be, the number at the end of "schema" rises. Names of checks and their codes stay as well; sentences may change in any '
    "version, so read the codes and the facts. The whole policy: seamcheck explain changes"
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """What is read, what check writes, what the other commands write, and what of it other programs can rely on."""
    suffixes = [(f".{suffix}", name) for suffix, name in sorted(SUFFIXES.items())]
    return topic(
        [
            titled("Read:", rows([(one.name, one.meaning) for one in registry.importers], options), options),
            *(wrap(part, options) for part in READ),
            titled("Written by seamcheck check --format:", _reports(registry, options), options),
            wrap(ONLY, options),
            titled("Written by the others:", rows(_of_commands(), options), options),
            wrap(OUTPUT, options),
            titled(
                "A suffix that is a format's name means that format; and so do:", rows(suffixes, options), options
            ),
            *(wrap(part, options) for part in MANY),
            block(TABLE),
            *(wrap(part, options) for part in TRUED),
            wrap(RECORD, options),
            block(RECORDING),
            titled(
                '"seamcheck schema NAME" prints the JSON Schema (2020-12) of:',
                rows(schemas.titles(), options),
                options,
            ),
            wrap(STABLE, options),
        ]
    )


def _reports(registry: Registry, options: RenderOptions) -> list[str]:
    """Each report format: what it is, and what to know of it."""
    return rows([(one.name, f"{one.meaning}. {one.details}".rstrip(" ")) for one in registry.reports], options)


def _of_commands() -> list[tuple[str, str]]:
    from seamcheck.report import pieces, plugins
    from seamcheck.report.altering.forms import RENDERERS as ALTERED
    from seamcheck.report.comparison import told as comparison
    from seamcheck.report.pairing.files import FORMATS
    from seamcheck.report.truing import told as truing

    formats = {
        "pieces": pieces.RENDERERS,
        "pair": FORMATS,
        "compare": comparison.RENDERERS,
        "true": truing.RENDERERS,
        "alter": ALTERED,
        "plugins": plugins.RENDERERS,
    }
    return [(f"seamcheck {command}", ", ".join(names)) for command, names in formats.items()]
