"""Files of cloud maps: known by the percentage in their name and by their shape, else refused."""

from __future__ import annotations

import re
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from siteplan.physics.propagation.mapped.cloud_files import (
    EXPECTED,
    LEVELS_PCT,
    SHAPE,
    CloudFilesError,
    MapFile,
    find,
    percentage,
    read,
)
from tests.clouds import values_at, write_maps


@pytest.fixture(scope="module")
def texts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The maps as text, as the Recommendation's supplement names them, with its other files."""
    folder = write_maps(tmp_path_factory.mktemp("texts"), "L_{}.TXT")
    np.savetxt(folder / "L_mean.TXT", np.zeros((1, SHAPE[1])))
    np.savetxt(folder / "Lat.txt", np.zeros((1, SHAPE[1])))
    (folder / "L_01.TXT").write_text("a percentage that does not matter here is not read")
    (folder / "readme.txt").write_text("Annual maps.\n")
    (folder / "notes.pdf").write_bytes(b"%PDF")
    return folder


@pytest.fixture
def folder(cloud_folder: Path, tmp_path: Path) -> Path:
    """A copy that a test may damage."""
    copy = tmp_path / "maps"
    copy.mkdir()
    for p_pct in LEVELS_PCT:
        name = f"v9_l_{p_pct:g}.npz"
        shutil.copyfile(cloud_folder / name, copy / name)
    return copy


def zipped(folder: Path, path: Path, under: str = "") -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for file in sorted(folder.iterdir()):
            archive.write(file, under + file.name)
    return path


@pytest.mark.parametrize(
    ("name", "p_pct"),
    [
        ("L_5", 5), ("l_10", 10), ("L50", 50), ("v9_l_30", 30), ("L_5_v9", 5), ("L_0.5", 0.5),
        ("L_05", 0.5), ("L_001", 0.01), ("L_100", 100),
        ("clouds", None), ("v7_lred_5", None), ("L_mean", None), ("map5", None), ("L_", None),
    ],
)  # fmt: skip
def test_percentages_in_names(name: str, p_pct: float | None) -> None:
    assert percentage(name) == p_pct


def test_the_supplement_as_text_and_zipped(texts: Path, tmp_path: Path) -> None:
    for place in (texts, zipped(texts, tmp_path / "p840.ZIP", "Annual/")):
        found = find(place)
        assert tuple(found) == LEVELS_PCT
        np.testing.assert_array_equal(read(found[5.0]), values_at(5))


def test_a_zip_of_npz(folder: Path, tmp_path: Path) -> None:
    found = find(zipped(folder, tmp_path / "maps.zip"))
    np.testing.assert_array_equal(read(found[50.0]), read(MapFile(folder / "v9_l_50.npz")))


@pytest.mark.parametrize("ending", [".npz", ".txt"])
def test_a_map_without_a_percentage_is_refused_with_the_names(folder: Path, ending: str) -> None:
    if ending == ".npz":
        shutil.copyfile(folder / "v9_l_5.npz", folder / "clouds.npz")
    else:
        (folder / "clouds.txt").write_text(" ".join(["0"] * SHAPE[1]) + "\n")
    with pytest.raises(CloudFilesError, match=f"no percentage in its name.*{re.escape(EXPECTED)}"):
        find(folder)
    assert "L_5.txt, L_10.txt" in EXPECTED
    assert "v9_l_50.npz" in EXPECTED


@pytest.mark.parametrize("name", [".L_5.txt", "~L_5.txt", ".clouds.txt", "L_5.txt.bak", "sub.txt"])
def test_what_programs_leave_beside_the_maps_is_passed_over(folder: Path, name: str) -> None:
    """Locks and half-written copies have a map's shape and name; a folder may have its name."""
    if name == "sub.txt":
        (folder / "L_5.txt").mkdir()
    else:
        (folder / name).write_text(" ".join(["0"] * SHAPE[1]) + "\n")
    found = find(folder)
    assert [file.path.name for file in found.values()] == [f"v9_l_{p:g}.npz" for p in LEVELS_PCT]


@pytest.mark.parametrize("start", ["", "v9_"])
@pytest.mark.parametrize(
    "name", ["L_mean", "L_std", "m", "m_L", "mL", "s", "S_L", "P", "p_l", "pl", "Lat", "LON"]
)
def test_the_supplement_s_other_grids_are_passed_over(folder: Path, start: str, name: str) -> None:
    (folder / f"{start}{name}.txt").write_text(" ".join(["0"] * SHAPE[1]) + "\n")
    assert tuple(find(folder)) == LEVELS_PCT


@pytest.mark.parametrize("name", ["mean", "L_means", "xlat", "clouds", "x_lon"])
def test_names_like_theirs_are_not(folder: Path, name: str) -> None:
    (folder / f"{name}.txt").write_text(" ".join(["0"] * SHAPE[1]) + "\n")
    with pytest.raises(CloudFilesError, match=rf"{name}\.txt: it has the shape of a cloud map"):
        find(folder)


@pytest.mark.parametrize("numbers", [SHAPE[1] - 1, SHAPE[1] + 1, 0])
def test_other_texts_without_a_percentage_are_passed_over(folder: Path, numbers: int) -> None:
    (folder / "notes.txt").write_text(" ".join(["0"] * numbers) + "\n")
    assert tuple(find(folder)) == LEVELS_PCT


def test_a_sky_without_clouds_is_a_value(folder: Path) -> None:
    values = values_at(20).copy()
    values[0] = 0.0
    np.savez(folder / "v9_l_20.npz", values)
    np.testing.assert_array_equal(read(find(folder)[20.0]), values)


ANEW = "Take the file anew from the supplement of ITU-R P.840-9."


@pytest.mark.parametrize(
    ("spoil", "fix"),
    [
        (lambda f: np.savez(f / "v9_l_20.npz", values_at(20)[:-1]), ANEW),
        (lambda f: np.savez(f / "v9_l_20.npz", values_at(20) - 1), ANEW),
        (lambda f: np.savez(f / "v9_l_20.npz", np.full(SHAPE, "a")), ANEW),
        (lambda f: (f / "v9_l_20.npz").write_bytes(b"no archive"), "Take the file anew."),
        (
            lambda f: (f / "v9_l_20.npz").rename(f / "v9_l_20.txt").write_text("much\n"),
            "A map is 721 lines of 1441 numbers with spaces between.",
        ),
        (
            lambda f: (f / "L_5.txt").write_text("0\n"),
            "Name the folder or ZIP of the annual maps alone.",
        ),
        (lambda f: (f / "v9_l_5.npz").unlink(), f"Expected names: {EXPECTED}."),
        (
            lambda f: (f / "v9_l_5.npz").rename(f / "clouds.npz"),
            f"Expected names: {EXPECTED}.",
        ),
    ],
    ids=["shape", "negative", "text", "no npz", "words", "two", "missing", "nameless"],
)
def test_every_refusal_says_what_to_do(
    folder: Path, spoil: Callable[[Path], object], fix: str
) -> None:
    spoil(folder)
    with pytest.raises(CloudFilesError, match=f"{re.escape(fix)}$") as caught:
        read(find(folder)[20.0])
    assert caught.value.fix == fix
    assert str(caught.value) == f"{caught.value.where}: {caught.value.what} {fix}"


@pytest.mark.parametrize("gone", [(50,), (5, 30), LEVELS_PCT])
def test_fewer_than_the_five_are_refused(folder: Path, gone: tuple[float, ...]) -> None:
    for p_pct in gone:
        (folder / f"v9_l_{p_pct:g}.npz").unlink()
    told = ", ".join(f"{p:g}" for p in gone)
    with pytest.raises(CloudFilesError, match=f"those for {told} % are missing.*Expected names"):
        find(folder)


def test_two_maps_of_one_percentage_are_refused(folder: Path) -> None:
    (folder / "L_5.txt").write_text("0\n")
    with pytest.raises(CloudFilesError, match=r"two maps for 5 %: .*L_5\.txt and .*v9_l_5\.npz"):
        find(folder)


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda v: v[:-1], r"its shape is 720 by 1441; .* are 721 by 1441"),
        (lambda v: v.T, "its shape is 1441 by 721"),
        (lambda v: v[0], "its shape is 1441;"),
        (lambda v: np.where(v == v.max(), np.nan, v), r"\d+ of its values are not a number"),
        (lambda v: np.where(v == v.max(), np.inf, v), r"\d+ of its values are .* infinite"),
        (lambda v: v - 0.001, r"\d+ of its values are .* below zero"),
        (lambda v: v.astype(str), "it does not hold numbers"),
        (lambda v: v.astype(object), "it does not hold one array of numbers"),
    ],
    ids=["a row short", "turned", "a line", "NaN", "infinite", "negative", "text", "objects"],
)
def test_values_that_are_no_map_are_refused(
    folder: Path, spoil: Callable[[np.ndarray], np.ndarray], told: str
) -> None:
    path = folder / "v9_l_20.npz"
    np.savez(path, spoil(values_at(20)))
    with pytest.raises(CloudFilesError, match=rf"v9_l_20\.npz: {told}"):
        read(find(folder)[20.0])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", r"no grid of numbers \(it is empty\)"),
        ("0.1 0.2\n0.3\n", "no grid of numbers"),
        ("0.1 much\n", "no grid of numbers"),
        ("0.1 0.2\n", "its shape is 1 by 2"),
    ],
    ids=["empty", "ragged", "a word", "small"],
)
def test_texts_that_are_no_map_are_refused(tmp_path: Path, text: str, told: str) -> None:
    (tmp_path / "L_5.txt").write_text(text)
    with pytest.raises(CloudFilesError, match=told):
        read(MapFile(tmp_path / "L_5.txt"))


def test_files_that_cannot_be_read(folder: Path, tmp_path: Path) -> None:
    (folder / "v9_l_5.npz").write_bytes(b"PK\x03\x04 cut short")
    with pytest.raises(CloudFilesError, match=r"v9_l_5\.npz: it does not hold one array"):
        read(MapFile(folder / "v9_l_5.npz"))
    with pytest.raises(CloudFilesError, match=r"v9_l_6\.npz: it cannot be read \(No such file"):
        read(MapFile(folder / "v9_l_6.npz"))
    (folder / "v9_l_5.npz").write_bytes(b"0123456789" * 100)
    broken = zipped(folder, tmp_path / "maps.zip")
    content = bytearray(broken.read_bytes())
    start = content.index(b"v9_l_10.npz") + len("v9_l_10.npz")
    content[start : start + 100] = bytes(100)
    broken.write_bytes(content)
    file = find(broken)[10.0]
    with pytest.raises(CloudFilesError, match=r"maps\.zip, v9_l_10\.npz: it cannot be read"):
        read(file)


def test_places_that_hold_no_maps(folder: Path, tmp_path: Path) -> None:
    with pytest.raises(CloudFilesError, match="there is no such folder or ZIP") as caught:
        find(tmp_path / "nowhere")
    assert str(caught.value) == (
        f"{tmp_path / 'nowhere'}: there is no such folder or ZIP of cloud maps."
        " Check the path; [methods] cloud_maps of a network.toml counts from the folder of that"
        " file."
    )
    with pytest.raises(CloudFilesError, match="it is neither a folder nor a ZIP") as caught:
        find(folder / "v9_l_5.npz")
    assert str(caught.value) == (
        f"{folder / 'v9_l_5.npz'}: it is neither a folder nor a ZIP of cloud maps."
        f" Name the folder or the ZIP that holds the five: {EXPECTED}."
    )
