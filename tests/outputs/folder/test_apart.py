"""An output that would swallow what is read is refused, however the two are spelled."""

from __future__ import annotations

from pathlib import Path

import pytest

from siteplan.errors import OutputError
from siteplan.outputs.folder.apart import apart

PROJECT = "the project itself lies there"
READ = "is read from there"
LAYERS = "the next run would take the outputs for map layers"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project ``p`` in ``around``, with layers, and links to all of them."""
    project = tmp_path / "around" / "p"
    (project / "overlays").mkdir(parents=True)
    for name in ("sites.csv", "network.toml", "overlays/roads.geojson"):
        (project / name).write_text("x")
    (tmp_path / "to p").symlink_to(project)
    (tmp_path / "to around").symlink_to("around")
    (tmp_path / "out of links").mkdir()
    (tmp_path / "out of links" / "p").symlink_to(project)
    (tmp_path / "around" / "area.geojson").write_text("x")
    monkeypatch.chdir(tmp_path / "around")
    return tmp_path


@pytest.mark.parametrize(
    "output", ["{}/around/p", "{}/around", "{}", "p", ".", "..", "{}/to p", "{}/to around",
               "p/../p", "{}/to around/p", "p/overlays/..", "/"],
)  # fmt: skip
@pytest.mark.parametrize("project", ["{}/around/p", "p", "{}/to p", "{}/to around/p", "p/."])
def test_a_project_in_its_own_output(output: str, project: str, here: Path) -> None:
    with pytest.raises(OutputError, match=PROJECT) as caught:
        apart(Path(output.format(here)), Path(project.format(here)))
    assert caught.value.exit_code == 2
    assert caught.value.fix == "Choose another folder with --output."


@pytest.mark.parametrize(
    "output", ["p/out", "p2", "../out", "p/output/p", "P.out", "missing/p", "p/overlays2"]
)
def test_outputs_beside_and_in_the_project_are_fine(output: str, here: Path) -> None:
    apart(Path(output), Path("p"), [Path("p/sites.csv"), Path("area.geojson")])
    Path(output).mkdir(parents=True)
    apart(Path(output), Path("p"), [Path("p/sites.csv"), Path("area.geojson")])


def test_a_project_that_is_named_by_a_link_in_its_output(here: Path) -> None:
    with pytest.raises(OutputError, match=PROJECT):
        apart(here / "out of links", here / "out of links" / "p")
    apart(here / "out of links", here / "around" / "p")


def test_where_the_disk_tells_no_capitals_apart(
    here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is asked whether two folders are one, not their names."""
    (here / "around" / "P").symlink_to("p")  # stands for such a disk: another name, the same place
    with pytest.raises(OutputError, match=PROJECT):
        apart(Path("P"), Path("p"))


@pytest.mark.parametrize("output", ["p/overlays", "p/overlays/out", "{}/to p/overlays"])
@pytest.mark.parametrize("there", [True, False])
def test_the_projects_own_layers(output: str, there: bool, here: Path) -> None:
    if not there:
        (here / "around/p/overlays/roads.geojson").unlink()
        (here / "around/p/overlays").rmdir()
    with pytest.raises(OutputError, match=LAYERS):
        apart(Path(output.format(here)), Path("p"))


def test_single_files_that_are_read(here: Path) -> None:
    """An area, a layer, or a filled-in list in the folder that is replaced; or a link to it."""
    out = here / "out"
    (out / "built").mkdir(parents=True)
    (out / "area.geojson").write_text("x")
    (out / "built" / "back.csv").write_text("x")
    (here / "link.geojson").symlink_to(out / "area.geojson")
    for name in (out / "area.geojson", here / "link.geojson", out / "built" / "back.csv"):
        with pytest.raises(OutputError, match=f"{name.name} {READ}.*Move {name.name} elsewhere"):
            apart(out, Path("p"), [Path("p/sites.csv"), name])
    apart(out, Path("p"), [out / "area.geojson"], part="built")
    with pytest.raises(OutputError, match=f"out/built: back.csv {READ}"):
        apart(out, Path("p"), [out / "built" / "back.csv"], part="built")
    apart(out, Path("p"), [out / "not there.geojson"])


def test_the_home_folder_is_no_output(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    home = here / "home" / "me"
    home.mkdir(parents=True)
    monkeypatch.setenv("HOME", str(home))
    for output in (home, here / "home"):
        with pytest.raises(OutputError, match="not a folder for outputs alone"):
            apart(output, Path("p"))
    apart(home / "out", Path("p"))
    monkeypatch.setenv("HOME", "")
    apart(home, Path("p"))
