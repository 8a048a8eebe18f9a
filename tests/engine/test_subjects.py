"""A finding carries what it is about, and a junction is found by its number or its corners, never by its place."""

from dataclasses import replace
from pathlib import Path

import pytest

import seamcheck
from seamcheck.amounts import phrase
from seamcheck.checks.base import Check, Code, Context, Observation, Severity
from seamcheck.config.settings import Settings
from seamcheck.engine.grading import grade
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.engine.result import FileResult, Finding, JudgedJunction
from seamcheck.engine.workspace import Shops
from seamcheck.pattern.subject import PATTERN, Subject

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"

WAIST, HEM = ("back.waist", "front.waist"), ("back.hem", "front.hem")
JUNCTIONS = tuple(
    JudgedJunction(corners=corners, size=size, angle=181.0, expected=180.0)
    for size in ("38", "40")
    for corners in (WAIST, HEM)
)


def about(subject: Subject, size: str = "40") -> int | None:
    finding = Finding(
        check="corner-blend",
        code="hollow",
        severity=Severity.NOTE,
        size=size,
        fault=phrase("It is off."),
        remedy=phrase("Mend it."),
        subject=subject,
    )
    return FileResult(path="skirt.svg", junctions=JUNCTIONS).junction_of(finding)


@pytest.mark.parametrize(
    ("subject", "index"),
    [
        (Subject("junction", WAIST, 0), 2),
        (Subject("junction", HEM, 1), 3),
        (Subject("junction", HEM), None),  # it could not be judged
        (Subject("junction", HEM, 7), None),
        (Subject.corner("front", "hem"), 3),
        (Subject.corner("front", "knee"), None),
        (Subject("mouth", WAIST), 2),
        (Subject("mouth", ("back.waist", "back.hem")), None),
        (Subject("edge", ("front.hem",)), None),
        (PATTERN, None),
    ],
)
def test_a_junction_is_found_among_those_of_its_size(subject, index):
    assert about(subject) == index


@pytest.mark.parametrize(
    ("given", "subject"),
    [
        ({"seam": "side", "edges": ("front.side",), "pieces": ("front",)}, Subject("seam", ("side",))),
        ({"edges": ("front.side",), "pieces": ("front",)}, Subject("edge", ("front.side",))),
        ({"pieces": ("front", "back")}, Subject("piece", ("front", "back"))),
        ({}, PATTERN),
        ({"seam": "side", "subject": Subject("junction", WAIST, 0)}, Subject("junction", WAIST, 0)),
    ],
)
def test_an_observation_that_names_no_subject_is_about_what_it_names(given, subject):
    def run(context: Context):
        yield from ()

    check = Check(
        name="ours",
        family="ours",
        meaning="it is so",
        why="It is.",
        remedy="Mend it.",
        source="ours",
        codes=(Code(name="off", meaning="it is not", message="It is not.", advice="Mend it."),),
        run=run,
    )
    assert grade(Observation(code="off", **given), check, "40", Settings()).subject == subject


def test_each_finding_of_a_junction_is_that_of_the_junction_it_was_measured_at():
    path = DEMO / "altered" / "low-seat-left.svg"
    settings, registry = Shops(plugins=False).of(str(path))
    request = Request(plan=DEMO / "ferryhand.seams.toml", geometry=True)
    file = check_file(str(path), request, registry, settings)
    found = [one for one in file.findings if one.check == "corner-blend"]
    assert found
    for finding in found:
        index = file.junction_of(finding)
        junction = file.junctions[index]
        assert finding.measured == pytest.approx(junction.angle - junction.expected)
        assert finding.at == file.geometry.junctions[index].at
        moved = replace(finding, at=finding.at + 100)
        assert file.junction_of(moved) == index


def test_a_notch_is_told_by_its_number_on_its_edge():
    (file,) = seamcheck.check(DEMO / "altered" / "prominent-calf-left.svg", plan=DEMO / "ferryhand.seams.toml").files
    (pattern_piece,) = [
        piece
        for piece in seamcheck.read(
            DEMO / "altered" / "prominent-calf-left.svg", plan=DEMO / "ferryhand.seams.toml"
        ).pieces
        if piece.name == "back"
    ]
    notches = [
        one for one in file.findings if one.subject.kind == "notch" and one.subject.names[0].startswith("back.")
    ]
    for finding in notches:
        notch = pattern_piece.edge(finding.subject.names[0].removeprefix("back.")).notches[finding.subject.number]
        assert notch.place == finding.place
