"""A shop's settings, told from the keys that their reader takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.config import settings as declared
from seamcheck.config.rule_keys import MEASURES, RULE
from seamcheck.report.explain.laid_out import table, titled, topic
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions

INTRODUCTION = (
    f"What a shop sets for all its patterns stands in {declared.FILE_NAME}, or under [tool.seamcheck] in a pyproject.toml, in "
    "the nearest folder on the way up from the pattern. Settings of several folders are never mixed. Everything may be left out.",
)
TRUST = (
    "Code and leniency come from the one who runs the program.",
    "Plugin files are programs, and may do whatever you may do. They are run where you name the settings yourself, with "
    f"--settings FILE or in the environment as {declared.VARIABLE}; such settings hold in the stead of those of the folders. They are run, "
    'too, where you have trusted the folder of the settings once: "seamcheck trust FOLDER". What is trusted is kept for you alone, in '
    "your own configuration folder, with a digest of each file; one that has changed since has to be trusted again, and "
    '"seamcheck trust --forget FOLDER" takes it back. What such a file loads by itself is not watched. Elsewhere they are not run: a '
    "sentence says so, all else is judged, and the exit code is 2. Limits that a folder raises are trusted with its files, and "
    "until then the usual ones hold. A plugin file never lies outside the folder of its settings, by a link neither.",
    "A cluster judges by the settings and plugin files that hold where the run was started, and runs no other bytes of them; a worker "
    "with another seamcheck, or other installed plugins, refuses. The other way round there is no guard: name with --scheduler only a "
    "cluster that you trust, for who owns its scheduler or a worker can run programs on your machine. An address that begins with "
    "tls:// is reached with the certificates of dask's own configuration.",
    "Every run says on stderr which plugin files were run. Installed plugins are run always, for you have installed them.",
    "Results that are kept from run to run lie in your own folder for caches, so that no folder can bring a verdict that nobody "
    "judged: seamcheck explain runs",
    "For the rest a folder's settings and plans hold whoever wrote them, and what they make laxer is said in the verdict of every "
    'report: "turned off by FILE", "tolerance raised by FILE", "accepted by FILE". In JUnit it is a case that is skipped. What makes a check stricter, or names '
    "layers and units, is said with --verbose only.",
)
TABLES = (declared.SETTINGS, *(table for table in declared.TABLES if table not in (MEASURES, RULE)))
KNOWN = "Layers and labels that are called so, in English, German, French, Spanish, Italian or Dutch, are known without it."
CLOSING = (
    "What one check says, another does not repeat. With seam-length turned off, or given a wide tolerance, seam-span speaks "
    "of the stretch that is off. A check of a plugin that is wholly turned off is not run at all.",
    '"seamcheck plugins" lists what is loaded and from where. "seamcheck --no-plugins check FILE" judges by the built-in '
    "checks alone.",
    "[measures] and [[rules]] are a shop's own rules: seamcheck explain rules",
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """Where settings stand, which hold here, and every key."""
    here = f"Here they come from {settings.path}." if settings.path else "Here there are none, so all is by default."
    from seamcheck.pattern.drawing import Role  # it brings the geometry along

    roles = ", ".join(role.value.replace(" ", "-") for role in Role)
    return topic(
        [
            *(wrap(part, options) for part in (*INTRODUCTION, here)),
            *(table(keys, options) for keys in TABLES),
            wrap(f"The roles that [layers] knows: {roles}. {KNOWN}", options),
            *(wrap(part, options) for part in CLOSING),
            titled("Whom to trust:", [wrap(part, options, indent="  ", hanging="  ") for part in TRUST], options),
        ]
    )
