"""What `seamcheck pair` writes: the plan, the picture of it, the page to confirm it on, and all of it as data."""

from __future__ import annotations

from pathlib import Path

from seamcheck.pairing.proposal import FORMATS as FORMATS
from seamcheck.pairing.proposal import Proposal
from seamcheck.pairing.text import pairing_json, plan_text


def rendered(proposal: Proposal, format_name: str, source: str, plan_path: Path | None) -> str:
    """The proposal in one of FORMATS; the text of an older plan at `plan_path` is kept to the letter."""
    if format_name == "json":
        from seamcheck.report.json import dump

        return dump(pairing_json(proposal, source))
    if format_name == "svg":
        from seamcheck.report.pairing.svg import pairing_svg

        return pairing_svg(proposal)
    written = None if plan_path is None else plan_path.read_text(encoding="utf-8-sig")
    text = plan_text(proposal, Path(source).name, written)
    if format_name == "html":
        from seamcheck.report.table.page import pairing_page

        return pairing_page(proposal, text)
    return text


def beside(proposal: Proposal, text: str, output: str) -> dict[str, str]:
    """The picture and the page that go beside a plan file, by their paths."""
    from seamcheck.report.pairing.svg import pairing_svg
    from seamcheck.report.table.page import pairing_page

    path = Path(output)
    stem = path.name.removesuffix(".toml").removesuffix(".seams")
    return {
        str(path.with_name(f"{stem}.pairs.svg")): pairing_svg(proposal),
        str(path.with_name(f"{stem}.pairs.html")): pairing_page(proposal, text),
    }
