"""The file that the page to confirm seams by is, without a browser."""

import json
import re

from proposing import DEMO_TEXT, asking, demo

from seamcheck.config.plan_file import format_plan
from seamcheck.pattern.plan import Plan
from seamcheck.report.table.page import pairing_page


def test_the_page_is_one_file_that_asks_for_nothing_and_is_the_same_every_time():
    text = asking(DEMO_TEXT, "waist-back")
    page = pairing_page(demo("waist-back"), text)
    assert pairing_page(demo("waist-back"), text) == page
    assert not re.search(r"""(?:src|href)\s*=\s*["'](?!#)""", page)
    # The names of XML vocabularies are no addresses that anything is fetched from.
    assert set(re.findall(r"https?://[^\"' <)]+", page)) == {"http://www.w3.org/2000/svg"}
    assert "default-src 'none'" in page
    assert page.count("<script") == 2


def test_a_text_that_is_not_this_plan_is_not_kept():
    proposal = demo()
    other = DEMO_TEXT.replace("side-hem = [80, 1070]", "side-hem = [80, 1000]")
    for text in (other, "format = 2", "no plan at all", format_plan(Plan())):
        assert f"# {'the fly opening'}" not in pairing_page(proposal, text)
    assert "# the fly opening" in pairing_page(proposal, DEMO_TEXT)


def test_seams_that_a_text_lacks_are_added_behind_it():
    proposal = demo("facing-side")
    block = '[[seams]]\nname = "facing-side"\nsew = ["facing-front.side", "facing-back.side"]'
    text = DEMO_TEXT.replace(block, "").replace("# to its own mirror twin", "# mine")
    data = json.loads(
        re.search(r'<script type="application/json" id="data">(.*?)</script>', pairing_page(proposal, text))[1]
    )
    assert "# mine" in data["text"]
    assert (
        "# Is this a seam? the lengths agree within 0.1 mm; one notch of the first side has no mate" in data["text"]
    )
    assert '# name = "facing-side"' in data["text"]
