import os
import subprocess
import sys
from pathlib import Path

import pytest

import seamcheck

CHECKOUT = Path(seamcheck.__file__).parents[1]

# Each of these takes longer to import than all that the command itself needs to answer.
HEAVY = {
    "cssselect2",
    "ezdxf",
    "fontTools",
    "jinja2",
    "networkx",
    "numpy",
    "reportlab",
    "starlette",
    "svgelements",
    "tinycss2",
    "uharfbuzz",
    "uvicorn",
    "watchfiles",
}


def imported(*arguments: str) -> set[str]:
    """The top-level modules that a command line imports."""
    result = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "seamcheck", *arguments],
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
        timeout=60,
        check=False,
    )
    assert result.returncode == 0, result.stderr
    names = {
        line.rpartition("|")[2].strip() for line in result.stderr.splitlines() if line.startswith("import time:")
    }
    assert "seamcheck.cli.main" in names
    return {name.partition(".")[0] for name in names}


@pytest.mark.parametrize(
    "arguments",
    [
        ["--help"],
        ["--version"],
        ["check", "--help"],
        ["pieces", "--help"],
        ["watch", "--help"],
        ["explain", "--help"],
        ["explain"],
        ["explain", "seam-length"],
        ["explain", "full-seat"],
        ["explain", "fits"],
        ["explain", "plan"],
        ["explain", "rules"],
        ["explain", "words"],
        ["schema", "report"],
    ],
    ids=" ".join,
)
def test_no_heavy_library_is_imported_before_a_file_is_read(arguments):
    assert not imported(*arguments) & HEAVY


def test_plugins_are_not_looked_for_before_they_are_needed():
    assert "pluggy" not in imported("--help")
