"""What all tests share: a map cache of the run's own, a browser that cannot reach a network."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# A machine's speed fails no property; in CI the examples are the same every time.
settings.register_profile("siteplan", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("siteplan")

# What a developer added for all projects is not the tests' business.
os.environ["SITEPLAN_DATA"] = str(Path(__file__).parent / "no-such-folder")


def pytest_configure(config: pytest.Config) -> None:
    """Keep the run's maps in a folder of its own, cold at the start, for all its processes."""
    if hasattr(config, "workerinput"):  # one of several workers: it has its parent's folder
        return
    patch = pytest.MonkeyPatch()
    folder = tempfile.mkdtemp(prefix="siteplan-maps-")
    patch.setenv("SITEPLAN_CACHE", folder)
    patch.delenv("SITEPLAN_NO_CACHE", raising=False)
    config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))
    config.add_cleanup(patch.undo)


_CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
_SWITCHES = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-default-apps",
    "--no-first-run",
    "--force-device-scale-factor=1",
    # The machine itself can be reached: tests serve tiles from there.
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
    "--proxy-server=127.0.0.1:9",
)


def _missing(what: str) -> None:
    """Skip where a browser is missing, but fail where the tests are the gate."""
    if os.environ.get("CI"):
        pytest.fail(f"{what} is missing, and CI must run the browser tests")
    pytest.skip(f"{what} is missing")


class Browser:
    """A Selenium driver for Chromium, with what its console and its network saw."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def open(
        self, path: Path, *, width: int = 1366, height: int = 768, touch: bool = False
    ) -> None:
        """Open the file at ``path`` in a viewport of ``width`` x ``height`` CSS pixels."""
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": touch}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        touching = {"enabled": touch, "maxTouchPoints": 1}
        self.driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", touching)
        self.driver.get("about:blank")
        self.console()
        self.requests()
        self.driver.get(path.resolve().as_uri())
        self.settle()

    def run(self, script: str, *arguments: Any) -> Any:
        """Return what ``script`` returns in the page."""
        return self.driver.execute_script(script, *arguments)

    def settle(self) -> None:
        """Wait until the page has drawn twice."""
        self.driver.execute_async_script(
            "const done = arguments[0];"
            "requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 0)));"
        )

    def console(self) -> list[dict[str, Any]]:
        """Return the console's messages since the last call."""
        messages: list[dict[str, Any]] = self.driver.get_log("browser")
        return messages

    def requests(self) -> list[str]:
        """Return the addresses that the page asked for since the last call."""
        events = (
            json.loads(row["message"])["message"] for row in self.driver.get_log("performance")
        )
        sent = [e["params"] for e in events if e["method"] == "Network.requestWillBeSent"]
        return [params["request"]["url"] for params in sent]

    def click(self, x: float, y: float) -> None:
        """Press and release the left button at ``x``, ``y`` in the viewport."""
        for kind in ("mouseMoved", "mousePressed", "mouseReleased"):
            event = {"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1}
            self.driver.execute_cdp_cmd("Input.dispatchMouseEvent", event)
        self.settle()

    def tap(self, x: float, y: float) -> None:
        """Put a finger on ``x``, ``y`` in the viewport and lift it."""
        start = {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]}
        self.driver.execute_cdp_cmd("Input.dispatchTouchEvent", start)
        end = {"type": "touchEnd", "touchPoints": []}
        self.driver.execute_cdp_cmd("Input.dispatchTouchEvent", end)
        self.settle()

    def keys(self, *keys: str) -> None:
        """Press ``keys`` one after another where the focus is."""
        from selenium.webdriver.common.action_chains import ActionChains

        ActionChains(self.driver).send_keys(*keys).perform()
        self.settle()

    def pixel(self, pane: str, lat: float, lon: float) -> list[int]:
        """Red, green, blue and opacity of a pane's canvas at a place."""
        found: list[int] = self.run(
            # Read from a copy: a canvas that is read again and again gets a warning in the console.
            "const [pane, lat, lon] = arguments;"
            "const canvas = document.querySelector(`.leaflet-${pane}-pane canvas`);"
            "const corner = L.DomUtil.getPosition(canvas);"
            "const p = siteplan.map.latLngToLayerPoint([lat, lon]).subtract(corner).floor();"
            "const often = {willReadFrequently: true};"
            "const copy = document.createElement('canvas').getContext('2d', often);"
            "copy.drawImage(canvas, -p.x, -p.y);"
            "return [...copy.getImageData(0, 0, 1, 1).data];",
            pane,
            lat,
            lon,
        )
        return found


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A headless Chromium with an empty profile and no way out."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    found = next(filter(None, map(shutil.which, _CHROMIUM)), None)
    driver_path = shutil.which("chromedriver")
    if found is None or driver_path is None:
        _missing("chromium" if found is None else "chromedriver")
    options = webdriver.ChromeOptions()
    options.binary_location = str(found)
    profile = tmp_path_factory.mktemp("profile")
    for switch in (*_SWITCHES, f"--user-data-dir={profile}"):
        options.add_argument(switch)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(driver_path))
    try:
        yield Browser(driver)
    finally:
        driver.quit()


@pytest.fixture(scope="session")
def cloud_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of P.840-9's five cloud maps.

    ``SITEPLAN_CLOUD_MAPS`` names that of the maps themselves; else one is built whose values are
    P.840-9's around the places of ITU-R's examples, and P.840-7's elsewhere.
    """
    from tests.clouds import write_maps

    named = os.environ.get("SITEPLAN_CLOUD_MAPS")
    return Path(named) if named else write_maps(tmp_path_factory.mktemp("clouds"))
