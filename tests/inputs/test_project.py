import pytest

from siteplan.errors import ProjectError
from siteplan.inputs.kinds import SUFFIXES
from siteplan.inputs.project import find_project


def make(folder, *names):
    for name in names:
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_text("x")
    return folder


def test_the_parts_of_a_project(tmp_path):
    folder = make(
        tmp_path / "north",
        *("sites.csv", "network.toml", "obstructions.csv", "terrain.tif", "notes.txt"),
        *("overlays/b.kml", "overlays/a.geojson", "overlays/readme.txt"),
    )
    project = find_project(folder)
    assert project.name == "north"
    assert project.folder == folder
    assert project.sites_path == folder / "sites.csv"
    assert project.network_path == folder / "network.toml"
    assert project.obstructions_path == folder / "obstructions.csv"
    assert project.terrain_path == folder / "terrain.tif"
    assert [path.name for path in project.overlays] == ["a.geojson", "b.kml"]


@pytest.mark.parametrize("kind", SUFFIXES)
def test_each_kind_and_any_capitals(tmp_path, kind):
    name = f"Sites{kind.upper()}"
    project = find_project(make(tmp_path, name, "Network.TOML"))
    assert project.sites_path.name == name
    assert project.network_path.name == "Network.TOML"
    assert project.obstructions_path is None
    assert project.terrain_path is None
    assert project.overlays == ()


def test_lock_and_hidden_files_do_not_count(tmp_path):
    names = ("sites.xlsx", "~$sites.xlsx", ".sites.csv", ".~lock.sites.xlsx#", "network.toml")
    assert find_project(make(tmp_path, *names)).sites_path.name == "sites.xlsx"


def test_the_current_folder_has_a_name(tmp_path, monkeypatch):
    make(tmp_path, "sites.csv", "network.toml")
    monkeypatch.chdir(tmp_path)
    assert find_project(".").name == tmp_path.name


@pytest.mark.parametrize(
    ("names", "message"),
    [
        (("network.toml",), r"no table of sites\. Put one of sites\.csv"),
        (("network.toml", "sites.xls"), r"Save sites\.xls as sites\.xlsx"),
        (("network.toml", "my list.CSV"), r"Rename my list\.CSV to sites\.csv\?"),
        (
            ("network.toml", "sites.csv", "sites.xlsx"),
            r"2 tables of sites: sites\.csv, sites\.xlsx",
        ),
        (("sites.csv",), r"no network\.toml\. Make one"),
        (("sites.csv", "net.toml"), r"Rename net\.toml to network\.toml\?"),
    ],
)
def test_incomplete_projects(tmp_path, names, message):
    with pytest.raises(ProjectError, match=message):
        find_project(make(tmp_path, *names))


def test_a_file_or_nothing_is_no_project(tmp_path):
    make(tmp_path, "sites.csv")
    with pytest.raises(ProjectError, match="a project is a folder"):
        find_project(tmp_path / "sites.csv")
    with pytest.raises(ProjectError, match="no such folder"):
        find_project(tmp_path / "nowhere")
