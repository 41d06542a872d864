"""The page's frame: what is kept of it is what folium renders, and folium is asked without it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from siteplan.outputs.map import frame

FOLDER = Path(frame.__file__).parent
#: Renders the frame in a process that refuses sockets.
RENDERING = """
import sys
def refuse(event, arguments):
    if event.startswith("socket."):
        raise PermissionError(f"no sockets here: {event}")
sys.addaudithook(refuse)
from siteplan.outputs.map import frame
sys.stdout.write(frame.rendered())
"""


@pytest.fixture
def afresh() -> Iterator[None]:
    frame._frame.cache_clear()
    yield
    frame._frame.cache_clear()


def test_the_kept_frame_is_what_folium_renders() -> None:
    (kept,) = FOLDER.glob("frame_folium_*.html")
    assert frame.rendered() == kept.read_text("utf-8")


@pytest.mark.usefixtures("afresh")
def test_another_version_of_folium_renders_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(frame.metadata, "version", lambda _: "0.20.999")
    monkeypatch.setattr(frame, "rendered", lambda: "<p><!-- gap: title --></p>")
    assert frame.filled({"title": "Here"}) == "<p>Here</p>"


@pytest.mark.usefixtures("afresh")
def test_a_gap_in_a_text_is_no_gap() -> None:
    parts = dict.fromkeys(frame._GAPS, "") | {"title": "<!-- gap: data -->", "data": "once"}
    page = frame.filled(parts)
    assert page.count("once") == 1
    assert "<title><!-- gap: data --></title>" in page


def test_folium_is_asked_without_a_socket() -> None:
    done = subprocess.run(
        [sys.executable, "-c", RENDERING], capture_output=True, text=True, check=True
    )
    assert done.stdout == frame.rendered()
