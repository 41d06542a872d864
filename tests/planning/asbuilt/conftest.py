"""A small project with a plan, for what comes back from its sites."""

from __future__ import annotations

from pathlib import Path

import pytest

from siteplan.api import plan_sites, read_project
from siteplan.results import Plan
from tests.planning.asbuilt.built import NETWORK, SITES


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("asbuilt") / "alp"
    folder.mkdir()
    (folder / "network.toml").write_text(NETWORK, encoding="utf-8")
    (folder / "sites.csv").write_text(SITES, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def planned(project: Path) -> Plan:
    _, site_list, network = read_project(project)
    return plan_sites(site_list, network)
