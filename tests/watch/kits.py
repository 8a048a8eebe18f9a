"""Sheets of 7, 12 and 30 pieces without names, made of drafted patterns laid beside each other: what a kit room cuts at once."""

from __future__ import annotations

import re
import shutil
import xml.etree.ElementTree as ET
from pathlib import Path

from drafted import drafted

KITS = {
    7: ("heldout/band-concert-peplum-bodice-bare",),
    12: ("unseen/winter-training-sweatshirt-bare", "unseen/ergometer-pull-ons-bare"),
    30: (
        "fourth/headwind-spray-top-bare",
        "heldout/harbour-master-jacket-bare",
        "heldout/band-concert-peplum-bodice-bare",
        "heldout/headrace-wide-trousers-bare",
    ),
}
BETWEEN = 100.0  # mm
SVG = "http://www.w3.org/2000/svg"
IN_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96}  # CSS Values 3, section 5.2

Part = tuple[Path, Path, complex]  # a drawing, its plan, and how far it was moved, in mm


def kit(pieces: int, folder: Path) -> tuple[Path, list[Part]]:
    """A sheet of so many pieces in a folder, and the patterns that lie on it."""
    sources = [drafted(name.partition("/")[0]) / f"{name.partition('/')[2]}.svg" for name in KITS[pieces]]
    target = folder / f"kit-{pieces}.svg"
    plans = [source.with_suffix(".seams.toml") for source in sources]
    if len(sources) == 1:
        shutil.copy(sources[0], target)
        return target, [(sources[0], plans[0], 0j)]
    across, moved, parts = 0.0, [], []
    deep = 0.0
    for source, plan in zip(sources, plans, strict=True):
        root = ET.parse(source).getroot()
        wide, high = (_mm(root.get(name, "")) for name in ("width", "height"))
        box = [float(one) for one in root.get("viewBox", f"0 0 {wide} {high}").split()]
        scale = wide / box[2]
        group = ET.Element(
            f"{{{SVG}}}g", {"transform": f"translate({across - box[0] * scale} {-box[1] * scale}) scale({scale})"}
        )
        group.extend(root)
        moved.append(group)
        parts.append((source, plan, complex(across, 0)))
        across += wide + BETWEEN
        deep = max(deep, high)
    sheet = ET.Element(
        f"{{{SVG}}}svg", {"width": f"{across}mm", "height": f"{deep}mm", "viewBox": f"0 0 {across} {deep}"}
    )
    sheet.extend(moved)
    ET.ElementTree(sheet).write(target, encoding="utf-8", xml_declaration=True)
    return target, parts


def _mm(length: str) -> float:
    number, unit = re.fullmatch(r"([\d.]+)([a-z]*)", length).groups()
    return float(number) * IN_MM[unit]
