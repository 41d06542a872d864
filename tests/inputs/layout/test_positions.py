"""Where the position of a table is read, in the shapes that people send.

Each row is a file and the places that it means, worked out by hand from its degrees.
"""

from __future__ import annotations

import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
import pyproj
import pytest
import shapely

from siteplan.errors import SitesError
from siteplan.inputs.sites.read import iter_site_lists, read_sites, sites_from_frame
from siteplan.model import SiteList

#: A file's text, and its places (lat, lon) [deg].
FILES = {
    "decimals beside packed": (
        "Name,Latitude,Longitude,Lat (decimal),Long (decimal)\n"
        "Low Hill,521500000,-42000000,52.25,-4.3333\nHigh Hill,524800000,-33000000,52.8,-3.5\n",
        [(52.25, -4.3333), (52.8, -3.5)],
    ),
    "decimals beside marks": (
        "Name,Lat DMS,Lon DMS,Latitude,Longitude\n"
        "A,\"4°30'00\"\"S\",\"55°15'00\"\"E\",-4.5,55.25\n",
        [(-4.5, 55.25)],
    ),
    "blank beside full": (
        "name,lat,lon,Latitude,Longitude\nA,,,1.25,36.5\nB,,,1.5,36.75\n",
        [(1.25, 36.5), (1.5, 36.75)],
    ),
    "packed with signs": (
        "id,lat,lon\n1,-331500,-703000\n2,-334530,-704515\n3,-325959,-710001\n4,-330000,-701206\n",
        [(-33.25, -70.5), (-33.758333, -70.754167), (-32.999722, -71.000278), (-33.0, -70.201667)],
    ),
    "packed with decimals of seconds": (
        "id,lat,lon\n1,331500.36,-703000.36\n2,334530.0,-704515.0\n3,325959.9,-710001.8\n"
        "4,330000.0,-701206.0\n",
        [(33.2501, -70.5001), (33.758333, -70.754167), (32.999972, -71.0005), (33.0, -70.201667)],
    ),
    "packed under headings that say so": (
        "id,Latitud GMS (S),Longitud GMS (O)\n1,331500,703000\n", [(-33.25, -70.5)],
    ),
    "packed degrees and minutes": (
        "id,lat,lon\n" + "".join(f"{k},-33{5 * k:02d}.50,-70{3 * k:02d}.25\n" for k in range(11)),
        [(-33 - (5 * k + 0.5) / 60, -70 - (3 * k + 0.25) / 60) for k in range(11)],
    ),
    "halves in the headings": (
        "nombre,Latitud (Sur),Longitud (Oeste)\nA,12.25,70.5\nB,12.75,71.5\n",
        [(-12.25, -70.5), (-12.75, -71.5)],
    ),
    "halves in the headings and signs": (
        "name,Latitude S,Longitude W\nA,-12.25,-70.5\n", [(-12.25, -70.5)],
    ),
    "halves in headings and letters": (
        "name,Latitude S,Longitude W\nA,12.25S,70.5W\nB,12.75,71.5\n",
        [(-12.25, -70.5), (-12.75, -71.5)],
    ),
    "a heading that says east over signs": (
        "name,Lat N,Lon E\nA,12.25,-70.5\n", [(12.25, -70.5)],
    ),
    "parts": (
        "name,lat_deg,lat_min,lat_sec,lon_deg,lon_min,lon_sec\nA,0,45,0,9,27,36\n", [(0.75, 9.46)],
    ),
    "parts with signs": (
        "name,latd,latm,lats,longd,longm,longs\nA,-0,45,0,-9,27,36\n", [(-0.75, -9.46)],
    ),
    "parts with a column for the half": (
        "name,Grados Latitud,Minutos Latitud,N/S,Grados Longitud,Minutos Longitud,E/O\n"
        "A,33,15,S,70,30,O\nB,33,45.5,S,70,12,O\n",
        [(-33.25, -70.5), (-33.758333, -70.2)],
    ),
    "parts with east and west in German": (
        "Name,Breite Grad,Breite Min,N/S,Länge Grad,Länge Min,O/W\nA,48,15,N,11,30,O\n",
        [(48.25, 11.5)],
    ),
    "parts under two lines of headings": (
        "Name,Latitude,,,,Longitude,,,\n,Deg,Min,Sec,Dir,Deg,Min,Sec,Dir\n"
        "A,33,15,0,S,70,30,0,W\n",
        [(-33.25, -70.5)],
    ),
    "a title over groups of headings": (
        "List of 2024\nSite,,Position,\nNo,Name,Lat,Lon\n1,A,1.25,36.5\n", [(1.25, 36.5)],
    ),
    "WKT": ("id,geom_wkt,geom\n1,x,POINT (36.5 -1.25)\n2,y,POINT(36.75 -1.5)\n",
            [(-1.25, 36.5), (-1.5, 36.75)]),
    "WKT with height": ("id,the_geom\n1,POINT Z (36.5 -1.25 1500)\n", [(-1.25, 36.5)]),
    "EWKT": ("id,geometry\n1,SRID=4326;POINT(36.5 -1.25)\n", [(-1.25, 36.5)]),
    "WKB": (f"id,geom\n1,{shapely.to_wkb(shapely.Point(36.5, -1.25), hex=True)}\n",
            [(-1.25, 36.5)]),
    "GeoJSON in cells": (
        'id,shape\n1,"{""type"":""Point"",""coordinates"":[36.5,-1.25]}"\n', [(-1.25, 36.5)],
    ),
    "a pair in the heading's order": (
        'id,"Longitude, Latitude"\n1,"36.5, -1.25"\n', [(-1.25, 36.5)],
    ),
    "a pair in the only order": (
        'id,coordinates\n1,"-1.25 136.5"\n2,"-1.5 36.75"\n', [(-1.25, 136.5), (-1.5, 36.75)],
    ),
    "a pair with letters": (
        "id,GPS\n1,33°15'00\"S 70°30'00\"W\n", [(-33.25, -70.5)],
    ),
    "a pair the other way round": (
        "id,GPS\n1,70°30'W 33°15'S\n", [(-33.25, -70.5)],
    ),
    "a point of a survey form": ("_gps,n\n-1.25 36.5 1661.0 4.9,1\n", [(-1.25, 36.5)]),
    "a group's name in front": (
        "grp/pos/_latitude,grp/pos/_longitude,grp/station_name\n1.25,36.5,A\n", [(1.25, 36.5)],
    ),
    "x and y in degrees": ("FID,X,Y\n0,36.5012,-1.2512\n", [(-1.2512, 36.5012)]),
    "one letter wrong": ("id,Latitiude,Longitute\n1,1.25,36.5\n", [(1.25, 36.5)]),
    "units below": ("id,lat,lon\n,degrees N,degrees E\n1,1.25,36.5\n", [(1.25, 36.5)]),
    "tags below": ("Nom,Lat,Long\n#loc +name,#geo +lat,#geo +lon\nA,1.25,36.5\n", [(1.25, 36.5)]),
    "tags of other words below": (
        "Nom,Lat,Long\n#adm1+name,#y_coord,#x_coord\nA,1.25,36.5\n", [(1.25, 36.5)],
    ),
    "tags alone": ("#loc+name,#geo+lat,#geo+lon\nA,1.25,36.5\n", [(1.25, 36.5)]),
    "forty lines above": ("".join(f"Note {k}\n" for k in range(40)) + "id,lat,lon\n1,1.25,36.5\n",
                          [(1.25, 36.5)]),
    "another heading twice": ("id,lat,lon,beds,beds\n1,1.25,36.5,3,4\n", [(1.25, 36.5)]),
    "ours twice, the second blank": ("id,lat,lon,lat,lon\n1,1.25,36.5,,\n", [(1.25, 36.5)]),
    "ours twice, the first blank": ("id,lat,lon,lat,lon\n1,,,1.25,36.5\n", [(1.25, 36.5)]),
    "Russian": ("Название,Широта,Долгота\nА,\"55°15'00\"\" с.ш.\",\"37°30'00\"\" в.д.\"\n",
                [(55.25, 37.5)]),
    "Turkish": ("Ad,Enlem,Boylam\nA,41° 15' 0 K,28° 30' 0 D\nB,41° 15' 0 G,28° 30' 0 B\n",
                [(41.25, 28.5), (-41.25, -28.5)]),
    "Chinese": ("名称,纬度,经度\nA,北纬31度15分,东经121度30分\nB,南緯31度15分,西經121度30分\n",
                [(31.25, 121.5), (-31.25, -121.5)]),
    "Japanese": ("名称,緯度,経度\nA,北緯35度15分0秒,東経139度30分0秒\n", [(35.25, 139.5)]),
    "Indonesian": ("Nama,Lintang,Bujur\nA,1°15' LS,116°30' BT\nB,1°15' LU,116°30' BB\n",
                   [(-1.25, 116.5), (1.25, -116.5)]),
    "Arabic": ("الاسم,خط العرض,خط الطول\nA,24.25 شمالا,46.5 شرقا\nB,24.25 جنوبا,46.5 غربا\n",
               [(24.25, 46.5), (-24.25, -46.5)]),
    "Polish": ("Nazwa,Szerokość,Długość\nA,52.25 północ,21.5 wschód\n", [(52.25, 21.5)]),
    "Portuguese": ("Nome,Latitude,Longitude\nA,12°15' Sul,36°30' L\nB,12°15' S,36°30' O\n",
                   [(-12.25, 36.5), (-12.25, -36.5)]),
    "O beside words": ("Nom,lat,lon\nA,12.25 Sud,70.5 Ouest\nB,12.75 S,71.5 O\n",
                       [(-12.25, -70.5), (-12.75, -71.5)]),
    "O under a German heading": ("Name,Breitengrad,Längengrad\nA,48.25 N,11.5 O\n",
                                 [(48.25, 11.5)]),
    "O under a Spanish heading": ("Nombre,Latitud,Longitud\nA,8.25 N,71.5 O\n", [(8.25, -71.5)]),
}  # fmt: skip


def write(folder: Path, text: str) -> Path:
    path = folder / "sites.csv"
    path.write_text(text, encoding="utf-8")
    return path


def places(found: SiteList) -> list[tuple[float, float]]:
    assert found.rejects == ()
    return list(zip(found.sites.lat.tolist(), found.sites.lon.tolist(), strict=True))


@pytest.mark.parametrize("name", FILES)
def test_a_file_is_read_where_it_means(tmp_path: Path, name: str) -> None:
    text, true = FILES[name]
    found = read_sites(write(tmp_path, text))
    np.testing.assert_allclose(places(found), true, atol=1e-6)


@pytest.mark.parametrize("name", FILES)
def test_chunks_of_one_row_equal_the_whole(tmp_path: Path, name: str) -> None:
    path = write(tmp_path, FILES[name][0])
    whole, chunks = read_sites(path), list(iter_site_lists(path, 1))
    assert [lat for c in chunks for lat in c.sites.lat] == whole.sites.lat.tolist()
    assert [i for c in chunks for i in c.sites.site_id] == whole.sites.site_id.tolist()
    assert {(c.columns, c.remarks) for c in chunks} == {(whole.columns, whole.remarks)}


@pytest.mark.parametrize(
    "name", ["parts", "WKT", "halves in the headings", "decimals beside packed"]
)
def test_other_formats_are_read_the_same(tmp_path: Path, name: str) -> None:
    text, true = FILES[name]
    frame = pd.read_csv(write(tmp_path, text))
    frame.to_excel(tmp_path / "sites.xlsx", index=False)
    frame.to_parquet(tmp_path / "sites.parquet")
    for suffix in ("xlsx", "parquet"):
        np.testing.assert_allclose(
            places(read_sites(tmp_path / f"sites.{suffix}")), true, atol=1e-6
        )
    np.testing.assert_allclose(places(sites_from_frame(frame)), true, atol=1e-6)


def test_two_lines_of_headings_in_a_workbook(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["Name", "Latitude", None, "Longitude", None], [None, "Deg", "Min", "Deg", "Min"],
                ["A", -33, 15, -70, 30]):  # fmt: skip
        book.active.append(row)
    book.save(tmp_path / "sites.xlsx")
    assert places(read_sites(tmp_path / "sites.xlsx")) == [(-33.25, -70.5)]


def test_what_was_read_is_carried_as_well(tmp_path: Path) -> None:
    found = read_sites(write(tmp_path, FILES["parts with a column for the half"][0]))
    assert found.sites.extra["Grados Latitud"].tolist() == ["33", "33"]
    assert {c.taken_as for c in found.columns} == {"name", "lat", "lon"}


def test_points_of_a_file_go_before_its_columns(tmp_path: Path) -> None:
    data = gpd.GeoDataFrame(
        {"Lat": ["x"], "lat": [7.0], "name": ["A"]}, geometry=[shapely.Point(36.5, 1.25)], crs=4326
    )
    data.to_parquet(tmp_path / "sites.parquet")
    found = read_sites(tmp_path / "sites.parquet")
    assert places(found) == [(1.25, 36.5)]
    assert list(found.sites.extra) == ["Lat", "lat_2"]


#: A reference system, a place in it [deg], the headings of easting and northing.
GRIDS = [
    ("EPSG:2056", (46.8, 8.3), ("E", "N")),
    ("EPSG:31467", (51.2, 9.5), ("Rechtswert", "Hochwert")),
    ("EPSG:27700", (52.0, -1.5), ("Easting", "Northing")),
    ("EPSG:2154", (47.0, 3.2), ("X", "Y")),
    ("EPSG:2154", (47.0, 3.2), ("Coordonnée X", "Coordonnée Y")),
    ("EPSG:5254", (39.0, 30.2), ("Sağa Değer", "Yukarı Değer")),
    ("EPSG:32719", (-24.0, -69.2), ("Coordenada Este", "Coordenada Norte")),
    ("EPSG:32719", (-24.0, -69.2), ("lon", "lat")),
    ("EPSG:2180", (52.1, 19.2), ("easting", "northing")),
    ("EPSG:31467", (51.2, 9.5), ("Y", "X")),
    ("EPSG:31467", (51.2, 9.5), ("X", "Y")),
    ("EPSG:28992", (52.1, 5.2), ("x_coord", "y_coord")),
]


@pytest.mark.parametrize(("crs", "true", "headings"), GRIDS)
def test_a_named_grid_is_read_by_its_headings(
    tmp_path: Path, crs: str, true: tuple[float, float], headings: tuple[str, str]
) -> None:
    lat, lon = true
    east, north = pyproj.Transformer.from_crs(4326, crs, always_xy=True).transform(lon, lat)
    text = f"id,{headings[0]},{headings[1]}\n1,{east:.3f},{north:.3f}\n"
    found = read_sites(write(tmp_path, text), crs)
    np.testing.assert_allclose(places(found), [true], atol=1e-6)
    assert crs in found.remarks[0].sentence


def test_a_grid_whose_axes_could_be_either_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, "id,X,Y\n1,470447.11,513695.38\n")
    with pytest.raises(SitesError, match="either way, and EPSG:2180 itself calls its northing X"):
        read_sites(path, "EPSG:2180")


def test_a_grid_of_elsewhere_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, "id,E,N\n1,2600000,1200000\n")
    with pytest.raises(SitesError, match="'E' and 'N' do not lie in the area of EPSG:27700"):
        read_sites(path, "EPSG:27700")


def test_degrees_go_before_a_grid_that_nobody_named(tmp_path: Path) -> None:
    path = write(tmp_path, "id,E,N,lat,lon\n1,2600000,1200000,46.95,7.44\n")
    assert places(read_sites(path)) == [(46.95, 7.44)]


#: A zone as it is written; its place, for an easting of 500 km and a northing of 9,900 km.
ZONES = [("37S", False), ("37M", False), ("37 south", False), ("UTM 37S", False), ("37N", True)]


@pytest.mark.parametrize(("zone", "north"), ZONES)
def test_a_column_of_zones(tmp_path: Path, zone: str, north: bool) -> None:
    found = read_sites(write(tmp_path, f"id,Este,Norte,Huso\n1,500000,9300000,{zone}\n"))
    crs = "EPSG:32637" if north else "EPSG:32737"
    there = pyproj.Transformer.from_crs(crs, 4326, always_xy=True).transform(500000, 9300000)
    np.testing.assert_allclose(places(found), [there[::-1]], atol=1e-9)


def test_a_zone_in_the_headings(tmp_path: Path) -> None:
    found = read_sites(write(tmp_path, "id,X_UTM37S,Y_UTM37S\n1,500000,9300000\n"))
    np.testing.assert_allclose(places(found), [(-6.33288, 39.0)], atol=1e-4)


def test_the_band_s_lies_north_of_the_equator(tmp_path: Path) -> None:
    """Zone 11S beside 11T: bands; a northing of 3,800 km is then 34 degrees north."""
    text = "id,Easting,Northing,Zone\n1,500000,3800000,11S\n2,500000,4600000,11T\n"
    assert places(read_sites(write(tmp_path, text)))[0][0] == pytest.approx(34.34, abs=0.01)


def test_columns_without_a_heading_are_carried_by_their_place(tmp_path: Path) -> None:
    found = read_sites(
        write(tmp_path, ",id,lat,lon,,,\n0,A,1.25,36.5,seen,,\n1,B,1.5,36.75,,ok,\n")
    )
    assert len(found.sites) == 2
    assert {name: v.tolist() for name, v in found.sites.extra.items()} == {
        "column_1": ["0", "1"], "column_5": ["seen", ""], "column_6": ["", "ok"],
    }  # fmt: skip
    assert [c.taken_as for c in found.columns if c.heading == "column_7"] == [""]


def test_a_second_free_column_of_one_heading_is_carried_under_another(tmp_path: Path) -> None:
    found = read_sites(write(tmp_path, FILES["another heading twice"][0]))
    assert {name: v.tolist() for name, v in found.sites.extra.items()} == {
        "beds": ["3"], "beds_2": ["4"],
    }  # fmt: skip


def test_rows_keep_their_numbers_below_a_second_heading(tmp_path: Path) -> None:
    text = "id,lat,lon\n#loc+code,#geo+lat,#geo+lon\n1,1.25,36.5\n2,95,36.5\n"
    found = read_sites(write(tmp_path, text))
    assert found.sites.source_row.tolist() == [3]
    assert [reject.row for reject in found.rejects] == [4]
    assert found.rows_read == 2


def test_long_texts_are_no_pairs_and_take_no_time(tmp_path: Path) -> None:
    """The patterns of pairs would take minutes over such a cell."""
    text = f"id,lat,lon\n1,1.25,36.5\n2,x{'9' * 20_000}x,36.5\n"
    used = time.process_time()
    found = read_sites(write(tmp_path, text))
    assert time.process_time() - used < 5
    assert found.sites.lat.tolist() == [1.25]
    assert [reject.row for reject in found.rejects] == [3]
