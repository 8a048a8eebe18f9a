import os
from dataclasses import replace

import pytest
from drafted import fixture

import seamcheck
from seamcheck.amounts import phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.result import FileResult, Finding, JudgedJunction, Skipped, WalkedSeam, WalkedSide
from seamcheck.pattern.drawing import Note


def _finding(**changes) -> Finding:
    given = {
        "check": "seam-length",
        "code": "short",
        "severity": Severity.ERROR,
        "size": "M",
        "seam": "outseam",
        "pieces": ("back",),
        "edges": ("front.outseam", "back.outseam"),
        "measured": -6.35,
        "unit": "mm",
        "allowed": (0.0, 0.0),
        "tolerance": 1.6,
        "at": 12 + 34j,
        "message": "The back is 6.4 mm (1/4 in) shorter than the front",
        "advice": "lengthen the back below the knee",
        "plugin": "builtin",
    }
    told = {**given, **changes}
    message, advice = (phrase("{text}", text=told.pop(key)) for key in ("message", "advice"))
    return Finding(fault=message, remedy=advice, **told)


def _seam(size: str = "M", **changes) -> WalkedSeam:
    given = {
        "name": "outseam",
        "size": size,
        "first": WalkedSide(edges=("front.outseam",), length=1043.21),
        "second": WalkedSide(edges=("back.outseam",), length=1043.2),
        "difference": 0.01,
        "allowed": (0.0, 0.0),
    }
    return WalkedSeam(**{**given, **changes})


def _judged(*findings: Finding, sizes: tuple[str, ...] = ("M",), **changes) -> FileResult:
    given = {
        "path": "ferryhand.svg",
        "pattern": "Ferryhand trousers",
        "units": "mm",
        "plan": "ferryhand.seams.toml",
        "sizes": sizes,
        "pieces": ("back", "front"),
        "checks": ("corner-blend", "seam-length"),
        "notes": (Note("no-test-square", "there is no test square in the file"),),
        "planned": ("outseam",),
        "seams": tuple(_seam(size) for size in sizes),
        "junctions": tuple(
            JudgedJunction(corners=("front.side-waist", "back.side-waist"), size=size, angle=179.8, expected=180.0)
            for size in sizes
        ),
        "skipped": tuple(
            Skipped(check="grain-turned", size=size, piece=piece, why=phrase("no earlier file to compare with"))
            for size in sizes
            for piece in ("back", "front")
        ),
        "findings": findings,
    }
    return FileResult(**{**given, **changes})


@pytest.fixture
def finding():
    return _finding


@pytest.fixture
def seam():
    return _seam


@pytest.fixture
def judged():
    return _judged


@pytest.fixture(scope="session")
def run_of_all_kinds():
    """A real run: altered, sound, graded and careless files, one that is not there and one with a finding that is accepted."""
    names = (
        "ferryhand/altered/prominent-calf-left.svg",
        "ferryhand/ferryhand.svg",
        "lookalikes/careless.dxf",
        "lookalikes/nest.dxf",
        "corpus/steward-waistcoat-altered.svg",
        "gone.svg",
    )
    report = seamcheck.check([os.path.relpath(fixture(name)) for name in names])
    first = report.files[0]
    accepted = replace(first.findings[-1], accepted="the kit room likes it <so> & so: it's known")
    return replace(report, files=(replace(first, findings=(*first.findings[:-1], accepted)), *report.files[1:]))
