"""Which cloud maps are in use, the way up, what is kept, and what a change of them does."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from siteplan.physics.propagation.cloud import cloud_coefficient, column_coefficient
from siteplan.physics.propagation.mapped import cloud_maps, map_cache
from siteplan.physics.propagation.mapped.cloud_files import CloudFilesError
from siteplan.physics.propagation.mapped.cloud_maps import OLDER, add, added_folder, in_use
from siteplan.physics.propagation.mapped.maps import bilinear
from tests.clouds import LEVELS_PCT, values_at

Change = Callable[[np.ndarray], np.ndarray]


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's data folder and the cache, both empty."""
    monkeypatch.setenv(cloud_maps.FOLDER_VARIABLE, str(tmp_path / "data"))
    monkeypatch.setenv(map_cache.FOLDER_VARIABLE, str(tmp_path / "cache"))
    return tmp_path / "data"


def write(folder: Path, change: Change = lambda v: v) -> Path:
    folder.mkdir(exist_ok=True)
    for p_pct in LEVELS_PCT:
        np.savez(folder / f"v9_l_{p_pct}.npz", change(values_at(p_pct)))
    return folder


def test_the_coefficient_of_the_newer_edition() -> None:
    """P.840-9 eq. 12 at 20 GHz by hand: 0.1522 exp(-0.58570) + 11.51 exp(-0.0143823) - 10.4912.

    The double-Debye part at 273.75 K is P.840-8's, tried against ITU-R's examples elsewhere.
    """
    factor = 0.1522 * 0.556715 + 11.51 * 0.985721 - 10.4912
    assert column_coefficient(20.0) == pytest.approx(
        cloud_coefficient(20.0, 273.75) * factor, rel=1e-4
    )
    assert column_coefficient(20.0) < cloud_coefficient(20.0)


def test_without_maps_the_older_are_in_use() -> None:
    assert in_use() is OLDER
    assert (OLDER.edition, OLDER.current, OLDER.place) == ("P.840-7", False, "")


def test_the_order_in_which_maps_are_taken(
    cloud_folder: Path, data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is named, else what was added, else what itur carries, else the older."""
    carried = tmp_path / "itur" / "840"
    carried.mkdir(parents=True)
    for p_pct in LEVELS_PCT[1:]:
        shutil.copyfile(cloud_folder / f"v9_l_{p_pct}.npz", carried / f"v9_l_{p_pct}.npz")
    monkeypatch.setattr(cloud_maps, "data_folder", lambda: carried.parent)
    assert in_use() is OLDER  # one of the five is missing
    shutil.copyfile(cloud_folder / "v9_l_5.npz", carried / "v9_l_5.npz")
    assert (in_use().edition, in_use().place) == ("P.840-9", None)
    assert in_use().told.startswith("of the itur package 0.")
    assert add(cloud_folder) == added_folder() == data / "cloud-maps"
    assert in_use().place == str(data / "cloud-maps")
    assert in_use(str(cloud_folder)).place == str(cloud_folder)
    assert in_use("") is OLDER


def test_maps_that_were_added_are_those(cloud_folder: Path, data: Path) -> None:
    add(cloud_folder)
    named, added = in_use(str(cloud_folder)), in_use()
    for p_pct in LEVELS_PCT:
        np.testing.assert_array_equal(added.grid(p_pct).values, named.grid(p_pct).values)
    assert [path.name for path in data.iterdir()] == ["cloud-maps"]


def test_bad_maps_leave_those_that_were_added(
    cloud_folder: Path, data: Path, tmp_path: Path
) -> None:
    add(cloud_folder)
    before = {path.name: path.read_bytes() for path in added_folder().iterdir()}
    bad = write(tmp_path / "bad", lambda v: v[:-1])
    with pytest.raises(CloudFilesError, match="its shape is 720 by 1441"):
        add(bad)
    assert {path.name: path.read_bytes() for path in added_folder().iterdir()} == before
    assert [path.name for path in data.iterdir()] == ["cloud-maps"]


def test_maps_added_again_take_the_place_of_the_former(tmp_path: Path, data: Path) -> None:
    add(write(tmp_path / "one"))
    one = in_use()
    add(write(tmp_path / "two", lambda v: v * 2))
    assert in_use().fingerprint != one.fingerprint
    assert in_use().grid(5).values.max() == 2 * values_at(5).max()
    assert [path.name for path in data.iterdir()] == ["cloud-maps"]


def test_maps_that_cannot_be_written(cloud_folder: Path, data: Path) -> None:
    data.write_text("a file where the folder should be")
    with pytest.raises(CloudFilesError, match="cannot be written") as caught:
        add(cloud_folder)
    assert str(caught.value) == (
        f"{data / 'cloud-maps'}: the maps cannot be written (Not a directory)."
        " Check its permissions, or set SITEPLAN_DATA to another folder."
    )


@pytest.mark.parametrize("way", ["from the south", "from 180 W", "both"])
def test_a_map_that_runs_the_other_way_is_turned(way: str, tmp_path: Path) -> None:
    """It has the same shape: as it stands it would give the clouds of elsewhere."""

    def turned(values: np.ndarray) -> np.ndarray:
        if way != "from the south":
            values = np.concatenate((values[:, 720:-1], values[:, :721]), axis=1)
        return values if way == "from 180 W" else values[::-1]

    found = in_use(str(write(tmp_path / "turned", turned)))
    for p_pct in LEVELS_PCT:
        np.testing.assert_array_equal(found.grid(p_pct).values, values_at(p_pct))


def test_the_maps_as_they_are_stand_upright(cloud_folder: Path) -> None:
    """With the maps themselves this tries the likeness on real data."""
    found = in_use(str(cloud_folder))
    with np.load(cloud_folder / "v9_l_30.npz") as archive:
        np.testing.assert_array_equal(found.grid(30).values, archive["arr_0"])


def test_a_map_of_something_else_is_refused(tmp_path: Path) -> None:
    rng = np.random.default_rng(9)
    noise = write(tmp_path / "noise", lambda v: rng.uniform(0, 1, v.shape))
    with pytest.raises(CloudFilesError, match="its values are no cloud") as caught:
        in_use(str(noise))
    assert str(caught.value) == (
        f"{noise / 'v9_l_5.npz'}: its values are no cloud liquid water: they agree with the older"
        " map in no way. Take the file anew from the supplement of ITU-R P.840-9."
    )
    flat = write(tmp_path / "flat", lambda v: np.full(v.shape, 0.3))
    with pytest.raises(CloudFilesError, match="its values are no cloud liquid water"):
        in_use(str(flat))


def test_points_on_all_sides_of_the_grid(cloud_folder: Path) -> None:
    maps = in_use(str(cloud_folder))
    lat, lon = np.array([90.0, -90.0, 10.0, 10.0, 10.0]), np.array([0.0, 10.0, -0.1, 359.9, 180.0])
    found = bilinear(maps.grid(5), lat, lon)
    assert np.isfinite(found).all()
    assert found[2] == pytest.approx(found[3], abs=1e-12)


def test_maps_are_kept_inflated_and_read_anew_when_they_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(map_cache.OFF_VARIABLE, raising=False)
    folder = write(tmp_path / "maps")
    first = in_use(str(folder))
    assert in_use(str(folder)) is first
    kept = sorted(path.name for path in map_cache.files() if path.name.startswith("cloud-"))
    assert len(kept) == len(LEVELS_PCT)
    cloud_maps._of.cache_clear()
    assert not in_use(str(folder)).grid(5).values.flags.writeable
    write(folder, lambda v: v + 0.001)
    again = in_use(str(folder))
    assert again.fingerprint != first.fingerprint
    assert again.grid(5).values.max() == pytest.approx(values_at(5).max() + 0.001, abs=1e-12)


def test_the_folder_of_the_user(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv(cloud_maps.FOLDER_VARIABLE)
    monkeypatch.setattr(cloud_maps.sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert cloud_maps.data_root() == tmp_path / "siteplan"
    monkeypatch.setenv("XDG_DATA_HOME", "relative")
    assert cloud_maps.data_root() == Path.home() / ".local" / "share" / "siteplan"
    monkeypatch.setattr(cloud_maps.sys, "platform", "darwin")
    assert cloud_maps.data_root().name == "siteplan"
