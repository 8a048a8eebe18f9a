"""A run over many files: which are judged, by what, and what of it is kept for the next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.report.explain.laid_out import block, titled, topic
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions

FILES = (
    "A file stands for itself, a plan for the patterns of its name beside it, a folder for those of all plans in it and below, "
    "to watch for those without a plan, too. A name "
    "with * in quotes stands for what it matches, and ** for folders in folders: seamcheck check 'styles/**/*.svg'",
    "A minus stands for what comes by stdin; --stdin-name is the name under which it is told, and by which its plan and settings are "
    "found: draw | seamcheck check - --stdin-name styles/skirt.svg",
    "Hidden folders are not looked into, nor are build, dist, node_modules, site-packages, __pycache__, venv and environments of Python; to "
    "name such a folder is to have it checked. --exclude NAME leaves out files and folders of that name, with / in it of that "
    "path, and * is allowed. But for what is hidden, a sentence on stderr says what was left out.",
)
BY = (
    "--select CHECK judges by that check alone, --ignore CHECK by all but that one; both take CHECK/CODE too, and may be repeated. "
    'Silence must mean looked at: the verdict of every format says "turned off by --select" or "--ignore", and how a cause is put right is '
    "what seamcheck true proposes, which goes by all checks. What is selected is looked at also where a folder's settings turn it off.",
    "Other settings than those of the folder are named with --settings FILE: seamcheck explain settings",
)
TOLD = (
    "-q tells only the files that are not good, a line each. --statistics tells how much was found of what, by check, by file and by "
    "cause. For programs: seamcheck explain formats",
    "The shell completes commands, options and names of files, once it is told so. In bash, in ~/.bashrc:",
)
COMPLETION = """\
eval "$(_SEAMCHECK_COMPLETE=bash_source seamcheck)"
"""
SHELLS = (
    "In zsh likewise with zsh_source, in ~/.zshrc. In fish, in ~/.config/fish/completions/seamcheck.fish: "
    "_SEAMCHECK_COMPLETE=fish_source seamcheck | source"
)
KEPT = (
    "What check finds in a pattern is kept. At the next run it is told again without judging anew, as long as nothing has changed "
    "of what it was made from: the bytes of the pattern, its plan, its rule tables, the earlier file and the settings, what was "
    "asked for, the plugins with their versions and files, the program and the libraries it computes with. A record of known "
    "findings is held against the result each time. What could not be judged whole is never kept.",
    "It lies in your own folder for caches (~/.cache/seamcheck, or where XDG_CACHE_HOME says; ~/Library/Caches; "
    "%LOCALAPPDATA%), and never beside the patterns: a folder that a supplier sent could bring results that nobody judged. It is "
    "data only, is used only where nobody but you may write to it, and may be taken away at any time. It grows to 256 MB at most; "
    "what was used longest ago goes first. Two runs may share it. Where it cannot be written all is still judged.",
    "--no-cache judges everything anew and keeps nothing: say where a plugin reads a file by itself, which cannot be seen.",
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """All of it."""
    return topic(
        [
            _told("Which files:", FILES, options),
            _told("By which checks:", BY, options),
            _told("How it is told:", TOLD, options),
            block(COMPLETION),
            wrap(SHELLS, options, indent="  "),
            _told("What is kept of a run:", KEPT, options),
        ]
    )


def _told(title: str, parts: tuple[str, ...], options: RenderOptions) -> str:
    return titled(title, [wrap(part, options, indent="  ", hanging="  ") for part in parts], options)
