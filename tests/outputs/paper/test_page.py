"""Pages to print: one head and style, texts of users as text."""

from __future__ import annotations

import pytest
from jinja2 import UndefinedError
from lxml import html

from siteplan.outputs.paper.page import head, on_page, rendered, tail

INDEX = "sheets/templates/sheet_index.html"
FOUND = {"network": "<b>Net</b>", "groups": []}


def test_a_page_is_head_body_tail() -> None:
    assert on_page("T", INDEX, FOUND) == head("T") + rendered(INDEX, FOUND) + tail()


def test_texts_of_users_are_text() -> None:
    page = html.fromstring(on_page("<script>1</script><!-- body -->", INDEX, FOUND))
    assert page.findtext(".//title") == "<script>1</script><!-- body -->"
    assert page.findtext(".//h1") == "<b>Net</b>: sheets for the crew"
    assert page.findall(".//script") == []


def test_the_page_asks_for_nothing() -> None:
    page = html.fromstring(head("T") + tail())
    (policy,) = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert "default-src 'none'" in policy
    assert "@import" not in page.findtext(".//style")


def test_what_a_template_misses_is_an_error() -> None:
    with pytest.raises(UndefinedError, match="groups"):
        rendered(INDEX, {"network": "Net"})
