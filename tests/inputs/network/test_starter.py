"""The starter project: it can be planned at once, and its network file explains every key."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from siteplan.errors import OutputError
from siteplan.inputs.network.assumed import assumptions
from siteplan.inputs.network.read import read_network
from siteplan.inputs.network.starter import starter_network, write_starter
from siteplan.inputs.sites.read import read_sites
from siteplan.network import DEFAULT_ANTENNAS_M, DEFAULT_BUCS_W
from siteplan.network.reference import is_list_table, key_rows, table_types

GIVEN = {"name", "longitude_deg", "lat", "lon"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_starter(tmp_path / "new" / "one")
    return tmp_path / "new" / "one"


def test_it_is_read_without_a_note_or_a_reject(folder: Path) -> None:
    found = read_sites(folder / "sites.csv")
    assert found.rejects == ()
    assert dict(found.sites.notes) == {}
    assert found.sites.site_id.tolist() == ["A01", "A02", "A03", "A04", "A05"]
    assert found.sites.group.tolist() == ["coast", "coast", "inland", "inland", "upland"]
    assert found.sites.structure.tolist() == ["flat_roof", "wall", "ground", "pitched_roof",
                                              "ground"]  # fmt: skip
    assert found.sites.wall_facing_deg[1] == 200
    assert found.sites.lat.round(1).tolist() == [38.7, 38.8, 39.2, 38.6, 40.3]
    assert found.sites.lon.round(1).tolist() == [-9.1, -9.4, -8.7, -7.9, -7.6]


def test_its_network_gives_what_it_says_and_leaves_the_rest_to_the_defaults(folder: Path) -> None:
    network = read_network(folder / "network.toml")
    assert network.network.name == "Starter network"
    assert (network.satellite.longitude_deg, network.hub.lat, network.hub.lon) == (-8, 40.42, -3.7)
    assert [a.diameter_m for a in network.antennas] == list(DEFAULT_ANTENNAS_M)
    assert [b.rated_w for b in network.bucs] == list(DEFAULT_BUCS_W)
    told = {a.key for a in assumptions(network)}
    assert "hub.antenna_m" in told
    assert not {"hub.lat", "hub.lon", "satellite.longitude_deg", "bucs.1.rated_w"} & told


def test_every_key_stands_on_a_line_with_its_default_unit_and_meaning(folder: Path) -> None:
    text = (folder / "network.toml").read_text(encoding="utf-8")
    assert text == starter_network()
    for table in table_types():
        head = rf"^(# )?\[{{1,2}}{table}\]{{1,2}}$"
        assert re.search(head, text, re.MULTILINE), table
        block = re.split(head, text, flags=re.MULTILINE)[2]
        block = re.split(r"^(?:# )?\[", block, flags=re.MULTILINE)[0]
        for row in key_rows(table):
            unit = f" [{row.unit}]" if row.unit and table != "cables" else ""
            given = row.key in GIVEN and not is_list_table(table) and table != "satellite"
            given |= row.key == "longitude_deg" or row.key in ("diameter_m", "rated_w")
            value = r"\S.*?" if given or is_list_table(table) else re.escape(row.default or "...")
            mark = "" if given and row.key != "diameter_mm" and table != "neighbours" else "# "
            if table == "network" and row.key != "name":
                mark = "# "
            line = rf"^{mark}{row.key} = {value} +# {re.escape(row.meaning + unit)}$"
            assert re.search(line, block, re.MULTILINE), (table, row.key)


def test_every_line_behind_a_mark_can_be_taken_in(folder: Path, tmp_path: Path) -> None:
    """With every '#' before a key taken away, all but the keys without a default are accepted."""
    lines = starter_network().splitlines()
    keys = [line.removeprefix("# ") for line in lines
            if re.match(r"(# )?(\[|[a-z_0-9]+ = )", line) and " = ... " not in line]  # fmt: skip
    assert sum(key.startswith("[") for key in keys) == sum(
        line.removeprefix("# ").startswith("[") for line in lines
    )
    path = tmp_path / "all.toml"
    # Overlays cannot be without a file, neighbours without a position, limits without parts, nor
    # applications without a name.
    text, _, rest = "\n".join(keys).partition("[[overlays]]")
    text += rest[rest.index("[regulation]") : rest.index("[[masks]]")]
    text += "\n" + rest[rest.index("[traffic]") : rest.index("[[applications]]")]
    text += rest[rest.index("[rollout]") :]
    path.write_text(text, encoding="utf-8")
    taken = {a.key for a in assumptions(read_network(path))}
    assert {key for key in taken if not re.match(r"(antennas|bucs)\.", key)} == {
        "network.date", "network.install_date", "site.wind_m_s", "traffic.utilisation"
    }  # fmt: skip


def test_lines_are_aligned() -> None:
    for line in starter_network().splitlines():
        setting, _, meaning = line.partition(" # ")
        if meaning and " = " in setting and len(setting.rstrip()) <= 40:
            assert len(setting) == 40, line


def test_nothing_is_written_over(folder: Path) -> None:
    before = (folder / "sites.csv").read_bytes()
    told = f"{folder}: the folder is not empty; nothing was written. Name a new folder."
    with pytest.raises(OutputError, match=f"^{re.escape(told)}$"):
        write_starter(folder)
    assert (folder / "sites.csv").read_bytes() == before
    file = folder / "sites.csv"
    told = f"{file}: cannot make the project: File exists. Name another folder."
    with pytest.raises(OutputError, match=f"^{re.escape(told)}$"):
        write_starter(file)
