"""Whatever a message advises is followed here, and lands within 100 m of the true place."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from siteplan.errors import SitesError
from siteplan.inputs.sites.read import read_sites

#: Some 100 m. [deg]
NEAR_DEG = 1e-3


def renamed(text: str, **names: str) -> str:
    """Return a file with headings renamed."""
    head, _, rows = text.partition("\n")
    cells = [names.get(cell.strip('"'), cell) for cell in head.split(",")]
    return ",".join(cells) + "\n" + rows


def as_told(message: str, text: str) -> str:
    """Return a file with the headings renamed as a message says: 'a' to b."""
    names = dict(re.findall(r"'([^']+)' to (lat|lon)\b", message))
    assert names, message
    return renamed(text, **names)


def halves(message: str, text: str) -> str:
    """Return a file with the form and the halves in its headings, as the message shows."""
    assert re.search(r"'Latitude DMS \(N\)' and 'Longitude DMS \(W\)'", message)
    return renamed(text, lat="Latitude DMS (N)", lon="Longitude DMS (W)")


def order(message: str, text: str) -> str:
    assert "Call the column lat_lon or lon_lat" in message
    return renamed(text, GPS="lon_lat")


def signs_are_right(message: str, text: str) -> str:
    assert "call the column lat" in message
    return renamed(text, **{"Latitude S": "lat"})


def all_lie_south(message: str, text: str) -> str:
    assert "if all lie south, take them out" in message
    return text.replace("-12", "12")


def say_west(message: str, text: str) -> str:
    assert "'Longitude W'" in message
    return renamed(text, **{"Longitude O": "Longitude W"})


def say_east(message: str, text: str) -> str:
    assert "'Longitude E'" in message
    return renamed(text, **{"Longitude O": "Longitude E"})


def half_of_zone(message: str, text: str) -> str:
    assert "write north or south behind each number of 'Huso', as in 19 south" in message
    return text.replace(",18\n", ",18 south\n").replace(",19\n", ",19 south\n")


def axes(message: str, text: str) -> str:
    assert "Call the two columns easting and northing" in message
    return renamed(text, X="northing", Y="easting")


def one_kept(message: str, text: str) -> str:
    assert "Keep one, or rename the other" in message
    return renamed(text, site_lat="surveyed", site_lon="surveyed too")


def heading_above(message: str, text: str) -> str:
    assert "put a line of headings above it" in message
    return "id,lat,lon\n" + text


def lines_deleted(message: str, text: str) -> str:
    assert "Delete the lines above it" in message
    return "".join(line for line in text.splitlines(keepends=True) if "," in line)


Follow = Callable[[str, str], str]
#: The file, the reference system that network.toml names, what is refused, how the advice is
#: followed, and the true place of the first site [deg].
REFUSED: dict[str, tuple[str, str, str, Follow, tuple[float, float]]] = {
    "packed without signs": (
        "id,lat,lon\n1,331500,703000\n2,334530,704515\n3,325959,710001\n", "",
        "run together .lat 331500 is 33°15'00\"", halves, (33.25, -70.5),
    ),
    "packed without signs, many": (
        "id,lat,lon\n" + "".join(f"{k},33{k:02d}00,70{k:02d}30\n" for k in range(15, 40)), "",
        "no sign or letter tells north from south", halves, (33.25, -70.258333),
    ),
    "packed, few": (
        "id,lat,lon\n1,331500,-703000\n2,334530,-704515\n", "", "run together", halves,
        (33.25, -70.5),
    ),
    "packed minutes": (
        "id,lat,lon\n1,3315,7030\n2,3345,7045\n3,3259,7100\n", "", "run together", halves,
        (33.25, -70.5),
    ),
    "an open pair": ('id,GPS\n1,"36.5, -1.25"\n', "", "which is the latitude", order,
                     (-1.25, 36.5)),
    "signs against the heading": (
        "id,Latitude S,lon\n1,12.25,70.5\n2,-12.75,71.5\n", "", "says south, and 1 of its 2 values",
        signs_are_right, (12.25, 70.5),
    ),
    "signs for the heading": (
        "id,Latitude S,lon\n1,-12.25,70.5\n2,12.75,71.5\n", "", "says south", all_lie_south,
        (-12.25, 70.5),
    ),
    "O for west": ("id,lat,Longitude O\n1,12.25,70.5\n", "", "may be east", say_west,
                   (12.25, -70.5)),
    "O for east": ("id,lat,Longitude O\n1,12.25,70.5\n", "", "may be east", say_east,
                   (12.25, 70.5)),
    "words before the position": (
        "id,hub_latitude,hub_longitude\n1,1.25,36.5\n", "", "no coordinates", as_told, (1.25, 36.5),
    ),
    "zones without a half": (
        "id,Este,Norte,Huso\n1,500000,7300000,19\n2,500000,7300000,18\n", "",
        "metres of a projected grid", half_of_zone, (-24.4144, -69.0),
    ),
    "axes either way": (
        "id,X,Y\n1,470447.11,513695.38\n", "EPSG:2180", "either way", axes, (52.1, 19.2),
    ),
    "two that differ": (
        "id,lat,lon,site_lat,site_lon\n1,1.25,36.5,1.35,36.6\n", "", "differ in 1 row", one_kept,
        (1.25, 36.5),
    ),
    "no headings": ("7,1.25,36.5\n8,1.5,36.75\n", "", "first line looks like a site",
                    heading_above, (1.25, 36.5)),
    "far below": ("".join(f"Note {k}\n" for k in range(250)) + "id,lat,lon\n1,1.25,36.5\n", "",
                  "no line of headings in the first 200 lines", lines_deleted, (1.25, 36.5)),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_advice_leads_to_the_place(tmp_path: Path, name: str) -> None:
    text, crs, refused, follow, true = REFUSED[name]
    path = tmp_path / "sites.csv"
    path.write_text(text)
    with pytest.raises(SitesError, match=refused) as caught:
        read_sites(path, crs)
    path.write_text(follow(str(caught.value), text))
    sites = read_sites(path, crs).sites
    np.testing.assert_allclose([sites.lat[0], sites.lon[0]], true, atol=NEAR_DEG)


#: Metres, where the message names the keys that would place them, and the place of the second.
METRES = [
    ("id,Coordenada Este,Coordenada Norte,Huso\n1,500000,7300000,19\n", 1, (-24.4144, -69.0)),
    ("id,Easting,Northing,Zone\n1,500000,3800000,11S\n", 0, (34.3423, -117.0)),
]


@pytest.mark.parametrize(("text", "which", "true"), METRES)
def test_the_key_that_is_named_places_the_metres(
    tmp_path: Path, text: str, which: int, true: tuple[float, float]
) -> None:
    path = tmp_path / "sites.csv"
    path.write_text(text)
    with pytest.raises(SitesError, match="metres of a projected grid") as caught:
        read_sites(path)
    named = re.findall(r'"(EPSG:\d+)"', str(caught.value))
    sites = read_sites(path, named[which]).sites
    np.testing.assert_allclose([sites.lat[0], sites.lon[0]], true, atol=NEAR_DEG)


@pytest.mark.parametrize(
    "text",
    [
        "state,county,name\nXX,North,Old Hall\n",
        "plate,late,longest\n1.5,2.5,3.5\n",
        "longueur,largeur\n36.5,1.25\n",
        "name,latitude_rank,longitude_rank\nA,first,second\n",
    ],
)
def test_no_column_is_proposed_that_holds_no_position(tmp_path: Path, text: str) -> None:
    path = tmp_path / "sites.csv"
    path.write_text(text)
    with pytest.raises(SitesError, match=r"no coordinates .*Add the columns lat and lon") as caught:
        read_sites(path)
    assert "rename" not in str(caught.value).lower()


def test_one_column_missing_is_named(tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    path.write_text("name,lat,state\nA,1.25,2\n")
    with pytest.raises(SitesError, match=r"no column for lon\. .*Add the columns? lon") as caught:
        read_sites(path)
    assert "'state' to" not in str(caught.value)


@pytest.mark.parametrize(
    "point", ["POINT (257300.5 9876900.1)", "SRID=32737;POINT(257300.5 9876900.1)"]
)
def test_points_as_text_in_metres(tmp_path: Path, point: str) -> None:
    path = tmp_path / "sites.csv"
    path.write_text(f"id,geom\n1,{point}\n")
    if point.startswith("POINT"):
        with pytest.raises(SitesError, match=r"metres of a projected grid .*\[sites\] crs"):
            read_sites(path)
    sites = read_sites(path, "EPSG:32737" if point.startswith("POINT") else "").sites
    np.testing.assert_allclose([sites.lat[0], sites.lon[0]], (-1.11291, 36.81904), atol=NEAR_DEG)
