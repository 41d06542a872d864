"""What a person reads about network.toml: the whole line, for each kind of fault."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import NetworkError
from siteplan.inputs.network.assumed import assumptions
from siteplan.inputs.network.read import network_from_mapping, read_network

SATELLITE = {"longitude_deg": 3}
TABLES = (
    "[network], [satellite], [hub], [outbound], [inbound], [terminal], [[antennas]], [[bucs]],"
    " [rules], [methods], [sites], [site], [ifl], [[cables]], [[mounts]], [costs], [contacts],"
    " [sheets],"
    " [coverage], [[overlays]], [[neighbours]], [regulation], [[masks]], [[beams]],"
    " [[contours]], [traffic], [lease], [[applications]],"
    " [rollout], [climate], [uncertainty]"
)
LONGITUDE = "Orbital position, east positive (west negative)"
NUMBERS = "must be a list of numbers, such as [0, 1, 3, 6]."
ANTENNA = "above 0.3, up to 35 m"
MASK = {"name": "x", "reference_khz": 4, "segments": [[1, 180, 0, 0]]}
TWINS = [{"diameter_m": 1}, {"diameter_m": 1}]

#: Tables beside a good one, and the one line that is said of them.
LINES: list[tuple[dict[str, Any], str]] = [
    ({"zzz": {}}, f"unknown table [zzz]. The tables are {TABLES}."),
    ({"outbond": {}}, "unknown table [outbond]. Did you mean [outbound]?"),
    ({"Antenna": []}, "unknown table [Antenna]. Did you mean [[antennas]]?"),
    ({"reserve_db": 3}, "reserve_db stands outside its table. Put it below [rules]."),
    ({"diameter_m": 3}, "diameter_m stands outside its table. Put it below [[antennas]]."),
    ({"antennas": {"diameter_m": 1}},
     "[antennas] must be a list. Write [[antennas]], with double brackets, for each one."),
    ({"antennas": 3},
     "[antennas] must be a list. Write [[antennas]], with double brackets, for each one."),
    ({"hub": [{"lat": 3}]}, "[[hub]] is one table, not a list. Write [hub], with single brackets."),
    ({"satellite": [SATELLITE]},
     "[[satellite]] is one table, not a list. Write [satellite], with single brackets."),
    ({"satellite": 3},
     "satellite must be a table. Write [satellite] on a line, and its keys below."),
    ({"hub": 3}, "hub must be a table. Write [hub] on a line, and its keys below."),
    ({"hub": [1]}, "hub must be a table. Write [hub] on a line, and its keys below."),
    ({"satellite": {}},
     f"[satellite] longitude_deg is missing. Give it: {LONGITUDE} (-180 to 360 deg)."),
    ({"satellite": {"longitude_deg": 370}}, "[satellite] longitude_deg = 370 is out of range."
     f" Allowed: -180 to 360 deg. It is: {LONGITUDE}."),
    ({"bucs": [{"backoff_db": 1}]}, "[[bucs]] no. 1 rated_w is missing."
     " Give it: Rated output power (above 0, up to 2000 W)."),
    ({"overlays": [{"name": "x"}]}, "[[overlays]] no. 1 file is missing. Give it: Vector file to"
     " draw on the map, from the project's folder (text of at most 400 characters)."),
    ({"bucs": []}, "[[bucs]] is empty. Give one or more, or leave the table out."),
    ({"antennas": []}, "[[antennas]] is empty. Give one or more, or leave the table out."),
    ({"bucs": [{"rated_w": 1 + k} for k in range(41)]},
     "[[bucs]] has more than 40 entries. Keep fewer."),
    ({"hub": {"antenna_m": 99}},
     f"[hub] antenna_m = 99 is out of range. Allowed: {ANTENNA}. The default is 4.5."),
    ({"hub": {"lat": 95, "lon": 3}}, "[hub] lat = 95 is out of range. Allowed: -90 to 90 deg. It"
     " is: Latitude of the hub (absent: no hub rain, 38500 km)."),
    *(({"network": {"availability_pct": value}},
       f"[network] availability_pct = {value} is out of range. Allowed: 50 to 99.999 %. {fix}")
      for value, fix in ((0.995, "Did you mean 99.5?"), (0.5, "Did you mean 50?"),
                         (0.49, "The default is 99.5."), (1, "The default is 99.5."))),
    ({"hub": {"antenna_m": True}},
     f"[hub] antenna_m = true is not a number ({ANTENNA}). Give a number, or take the line out."),
    ({"hub": {"antenna_m": "4.5"}}, f'[hub] antenna_m = "4.5" is text ({ANTENNA}). Write the'
     " number without quotes, with a point."),
    ({"hub": {"antenna_m": "-4,5 "}}, f'[hub] antenna_m = "-4,5 " is text ({ANTENNA}). Write the'
     " number without quotes, with a point."),
    ({"hub": {"antenna_m": [4]}}, f"[hub] antenna_m = [4] is not a number ({ANTENNA}). Write a"
     " plain number without quotes and unit."),
    ({"hub": {"antenna_m": "4 m"}}, f'[hub] antenna_m = "4 m" is not a number ({ANTENNA}). Write a'
     " plain number without quotes and unit."),
    *(({"satellite": {"longitude_deg": text}},
       f'[satellite] longitude_deg = "{text}" is text (-180 to 360 deg). Write {number}: east and'
       " north positive, no quotes.")
      for text, number in (("30W", "-30"), ("30.5° E", "30.5"), ("30S", "-30"), ("30N", "30"))),
    ({"network": {"name": 5}},
     '[network] name = 5 must be text between quotes, such as "some text".'),
    ({"network": {"date": "soon"}},
     '[network] date = "soon" is no date. Write year-month-day without quotes: 2026-03-31.'),
    *(({"rules": {"margin_classes_db": value}}, f"[rules] margin_classes_db = {text} {NUMBERS}")
      for value, text in ((3, "3"), ([True], "[true]"), (["1"], '["1"]'))),
    ({"rules": {"margin_classes_db": []}}, "[rules] margin_classes_db = [] is out of range."
     " Allowed: 1 to 8 numbers dB. The default is [0, 1, 3, 6]."),
    ({"rules": {"margin_classes_db": [3, 1]}},
     "[rules] margin_classes_db must rise from each bound to the next."),
    ({"inbound": {"waveform": "dvb-s2"}}, '[inbound] waveform = "dvb-s2" is not allowed. Allowed:'
     ' "DVB-S2", "DVB-S2X", "DVB-RCS2". Did you mean "DVB-S2"?'),
    ({"inbound": {"waveform": "q"}}, '[inbound] waveform = "q" is not allowed. Allowed:'
     ' "DVB-S2", "DVB-S2X", "DVB-RCS2".'),
    ({"outbound": {"modcod": "QPSK 1/2", "es_n0_db": 3}}, "[outbound] give one of modcod, es_n0_db"
     " and eb_n0_db, not modcod and es_n0_db."),
    ({"antennas": TWINS}, "antennas: two of the same diameter_m; keep one of them."),
    *(({"antennas": [{"diameter_m": 1.2, **one}]},
       "[[antennas]] no. 1 gain_dbi and gain_ghz go together: give both or neither.")
      for one in ({"gain_dbi": 43.2}, {"gain_ghz": 14.25})),
    ({"antennas": [{"diameter_m": 1.2, "gain_dbi": 47.2, "gain_ghz": 14.25}]},
     "[[antennas]] no. 1 gain_dbi = 47.2 at gain_ghz = 14.25 would be an aperture efficiency of 1.6"
     " for diameter_m = 1.2 (allowed: above 0.1, up to 1): check that it is the gain at gain_ghz."),
    ({"antennas": [{"diameter_m": 1.2, "gain_dbi": 35, "gain_ghz": 14.25}]},
     "[[antennas]] no. 1 gain_dbi = 35 at gain_ghz = 14.25 would be an aperture efficiency of 0.098"
     " for diameter_m = 1.2 (allowed: above 0.1, up to 1): check that it is the gain at gain_ghz."),
    ({"antennas": [{"diameter_m": 1.2, "gain_dbi": "43.2", "gain_ghz": 14.25}]},
     '[[antennas]] no. 1 gain_dbi = "43.2" is text (10 to 80 dBi). Write the number without quotes,'
     " with a point."),
    ({"hub": {"antena_m": 3}}, "[hub] antena_m is an unknown key. Did you mean antenna_m?"),
    ({"hub": {"Antenna-M": 3}}, "[hub] Antenna-M is an unknown key. Did you mean antenna_m?"),
    ({"hub": {"anten": 3}}, "[hub] anten is an unknown key. Did you mean antenna_m?"),
    ({"rules": {"lnb_noise_k": 3}},
     "[rules] lnb_noise_k is an unknown key. It belongs into [terminal]."),
    ({"rules": {"rated_w": 3}}, "[rules] rated_w is an unknown key. It belongs into [[bucs]]."),
    ({"rules": {"zzz": 3}}, "[rules] zzz is an unknown key. Known keys: reserve_db,"
     " min_elevation_deg, hub_outage_share, pick, margin_classes_db, wind_basis."),
    ({"network": {"timezone": "Mars/Base"}}, "[network] timezone 'Mars/Base' is not in the time"
     " zone database; write a name such as 'America/Bogota'."),
    ({"cables": [{"name": "a"}, {"name": 6}]},
     '[[cables]] no. 2 name = 6 must be text between quotes, such as "some text".'),
    ({"mounts": [{"price": 6}]}, '[[mounts]] no. 1 kind is missing. Give it: Kind of mount that is'
     ' priced ("pole", "wall", "non_penetrating", "ground", "engineered").'),
    ({"mounts": [{"kind": "Pole"}]}, '[[mounts]] no. 1 kind = "Pole" is not allowed. Allowed:'
     ' "pole", "wall", "non_penetrating", "ground", "engineered". Did you mean "pole"?'),
    ({"mounts": [{"kind": 3}, {"kind": "pole"}]},
     '[[mounts]] no. 1 kind = 3 must be text between quotes, such as "pole".'),
    ({"mounts": [{"kind": "wall"}, {"kind": "wall"}]},
     "mounts: two of the same kind; keep one of them."),
    ({"mounts": [{"kind": "wall", "price": -1}, {"kind": "pole"}]},
     "[[mounts]] no. 1 price = -1 is out of range. Allowed: 0 to 1000000000. It is: Price of one"
     " mount of the kind, in your own unit of money (0: it costs nothing)."),
    ({"costs": {"visit": "120 EUR"}}, '[costs] visit = "120 EUR" is not a number'
     " (0 to 1000000000). Write a plain number without quotes and unit."),
    ({"overlays": [{"file": "a", "color": "x"}]}, '[[overlays]] no. 1 color = "x" is not allowed.'
     ' Allowed: "blue", "vermilion", "green", "purple", "grey", "black".'),
    ({"neighbours": {"longitude_deg": 1}},
     "[neighbours] must be a list. Write [[neighbours]], with double brackets, for each one."),
    ({"regulation": [{}]},
     "[[regulation]] is one table, not a list. Write [regulation], with single brackets."),
    ({"neighbours": [{"longitude_deg": 4}, {"name": "x"}]}, "[[neighbours]] no. 2 longitude_deg is"
     " missing. Give it: Orbital position of the neighbour, east positive (-180 to 360 deg)."),
    ({"neighbours": [{"longitude_deg": k} for k in range(10, 23)]},
     "[[neighbours]] has more than 12 entries. Keep fewer."),
    ({"neighbours": [{"longitude_deg": 3}]}, "[[neighbours]] no. 1 longitude_deg = 3 is"
     " where your own satellite is ([satellite] longitude_deg = 3): take the entry out, or correct"
     " one of the two. What shares your position belongs into ci_db of [outbound] and [inbound]."),
    ({"neighbours": [{"longitude_deg": 4, "downlink_level_db": 0, "downlink_dbw_mhz": 1}]},
     "[[neighbours]] no. 1 give downlink_level_db or downlink_dbw_mhz, not both."),
    ({"neighbours": [{"longitude_deg": 4, "uplink_dbw_40khz": 61}]}, "[[neighbours]] no. 1"
     " uplink_dbw_40khz = 61 is out of range. Allowed: -80 to 60 dBW/40 kHz. It is: EIRP density"
     " that its earth stations together send towards our satellite (absent: not counted)."),
    ({"neighbors": []}, "unknown table [neighbors]. Did you mean [[neighbours]]?"),
    ({"regulation": {"masks": "s524_9"}}, '[regulation] masks = "s524_9" must be a list of texts,'
     ' such as ["47cfr25_ku"].'),
    ({"regulation": {"simultaneous_terminals": 1.5}}, "[regulation] simultaneous_terminals = 1.5 is"
     " out of range. Allowed: whole, 1 to 10000. The default is 1."),
    ({"regulation": {"emission_class": "G7"}}, '[regulation] emission_class = "G7" is not allowed.'
     " Allowed: 3 letters or digits."),
    ({"regulation": {"masks": ["47cfr25_ka"]}}, "[regulation] masks: 47cfr25_ka holds at"
     " 28.35-28.6 and 29.25-30 GHz, and [inbound] uplink_ghz = 14.25 lies outside: take the mask"
     " out, or correct the frequency."),
    ({"regulation": {"masks": ["x"]}}, "[regulation] masks: 'x' is neither a published mask nor the"
     " name of one of [[masks]]: published are 47cfr25_ku, 47cfr25_ka, s524_9, s728_1, en301428,"
     " en301459."),
    # A limit that is wrong in itself is told once, not as missing from the list too.
    ({"regulation": {"masks": ["x"]}, "masks": [MASK | {"segments": [[1, 2, 3]]}]},
     "[[masks]] no. 1 segments = [[1, 2, 3]] must be lists of four numbers, such as"
     " [[1.5, 7, 15, 25], [7, 9.2, -6, 0]]."),
    ({"regulation": {"masks": ["x"]}, "masks": [MASK | {"reference_khz": 0.5}]},
     "[[masks]] no. 1 reference_khz = 0.5 is out of range. Allowed: 1 to 1000 kHz. It is:"
     " Bandwidth in which the mask counts, such as 4, 40 or 1000."),
    ({"regulation": {"masks": ["x"]}, "masks": [MASK | {"segments": [[2, 1, 3, 4]]}]},
     "[[masks]] no. 1 segments no. 1 goes from 2 to 1 deg: it must begin above 0, and end beyond"
     " that, at 180 at most."),
    ({"regulation": {"masks": ["x"]}, "masks": [MASK | {"name": ""}]},
     '[[masks]] no. 1 name = "" is not allowed. Allowed: text of at most 60 characters.'),
    ({"masks": [MASK]}, "[[masks]] no. 1 name = 'x' is not listed in [regulation] masks: add the"
     " name there, or take the [[masks]] out."),
    # Neither a position nor a frequency that is wrong in itself is held against other tables.
    ({"satellite": 3, "neighbours": [{"longitude_deg": 0}]},
     "satellite must be a table. Write [satellite] on a line, and its keys below."),
    ({"satellite": {"longitude_deg": 370}, "neighbours": [{"longitude_deg": 0}]},
     "[satellite] longitude_deg = 370 is out of range."
     f" Allowed: -180 to 360 deg. It is: {LONGITUDE}."),
    ({"inbound": {"uplink_ghz": 99}, "regulation": {"masks": ["47cfr25_ka"]}},
     "[inbound] uplink_ghz = 99 is out of range. Allowed: 1 to 55 GHz. The default is 14.25."),
    ({"hub": {"pattern": "file"}},
     '[hub] pattern = "file" needs pattern_file: name the file of its gains.'),
    ({"antennas": [{"diameter_m": 1, "pattern": "s58"}]},
     '[[antennas]] no. 1 pattern = "s58" is not allowed. Allowed: "s580",'
     ' "s465", "appendix_8", "s580_any_size", "file". Did you mean "s580"?'),
    ({"terminal": {"pointing_loss_db": 0.3, "pointing_error_deg": 0.1}},
     "[terminal] give pointing_loss_db or pointing_error_deg, not both."),
]  # fmt: skip


def whole(*lines: str, where: str = "mine") -> str:
    """Return the pattern of lines, nothing more and nothing less."""
    return "^" + re.escape("\n".join(f"{where}: {line}" for line in lines)) + "$"


@pytest.mark.parametrize(("tables", "line"), LINES)
def test_a_fault_is_told_in_these_words(tables: dict[str, Any], line: str) -> None:
    with pytest.raises(NetworkError, match=whole(line)):
        network_from_mapping({"satellite": SATELLITE} | tables, where="mine")


def test_faults_of_unlike_tables_are_told_together() -> None:
    """Each place on its own: an entry that is wrong does not move or hide the others."""
    with pytest.raises(NetworkError, match=whole(
        "[hub] antenna_m = 99 is out of range. Allowed: above 0.3, up to 35 m. The default is 4.5.",
        "[[antennas]] no. 2 diameter_m = 99 is out of range. Allowed: above 0.2, up to 20 m. It"
        " is: Diameter of the reflector.",
        "[[cables]] no. 2 name is missing. Give it: Name of the class (text of at most 60"
        " characters).",
    )):  # fmt: skip
        network_from_mapping(
            {
                "satellite": SATELLITE,
                "hub": {"antenna_m": 99},
                "antennas": [{"diameter_m": 1}, {"diameter_m": 99}, {"diameter_m": 3}],
                "cables": [{"name": "a"}, {"loss_db_100m": 3}],
            },
            where="mine",
        )


SYNTAX = {
    "x = 13,5": "Write decimals with a point.",
    "x = -13,5 # west": "Write decimals with a point.",
    "x = 13 E": "Write the number without its unit; the key's name carries the unit.",
    "x = 4.5m": "Write the number without its unit; the key's name carries the unit.",
    "x = 30°": "Write the number without its unit; the key's name carries the unit.",
    "x = 30 %": "Write the number without its unit; the key's name carries the unit.",
    "name = foo": "Put text between quotes.",
    "longitude_deg = 14": "The key or table is given twice: keep one.",
    "[satellite]": "The key or table is given twice: keep one.",
    "just words": "A line is key = value, or [table].",
    'name = "open': "Compare the line with the examples of the README.",
    "[open": "Compare the line with the examples of the README.",
}


@pytest.mark.parametrize(("line", "fix"), SYNTAX.items())
def test_a_line_that_is_no_toml_is_told_with_its_number_and_fix(
    tmp_path: Path, line: str, fix: str
) -> None:
    path = tmp_path / "network.toml"
    path.write_text(f"[satellite]\nlongitude_deg = 13.0\n   {line}\n")
    with pytest.raises(NetworkError, match=r"^network\.toml: line 3 is not valid TOML") as caught:
        read_network(path)
    what, told = caught.value.what, caught.value.fix
    assert re.fullmatch(rf"line 3 is not valid TOML \([a-z][^:]*\): {re.escape(line)}", what)
    assert told == fix


def test_encodings_are_refused_in_these_words(tmp_path: Path) -> None:
    path = tmp_path / "network.toml"
    for encoding in ("utf-16-le", "utf-16-be"):
        path.write_bytes("\ufeffx = 1".encode(encoding))
        told = "the file is UTF-16; TOML is UTF-8. Save it as UTF-8."
        with pytest.raises(NetworkError, match=whole(told, where="network.toml")):
            read_network(path)
    path.write_bytes(b"# \n# \nname = '\xfc'\n")
    told = "line 3 is not UTF-8; TOML is UTF-8. Save it as UTF-8."
    with pytest.raises(NetworkError, match=whole(told, where="network.toml")):
        read_network(path)


def test_no_mapping_is_told_in_these_words() -> None:
    told = "list is no mapping of tables. For example {'satellite': {'longitude_deg': 13.0}}."
    with pytest.raises(NetworkError, match=whole(told)):
        network_from_mapping([1], where="mine")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("given", "kept", "left"),
    [
        ({}, {"modcod", "waveform"}, {"es_n0_db", "eb_n0_db", "bits_per_symbol"}),
        ({"es_n0_db": 3}, set(), {"modcod", "waveform", "es_n0_db"}),
        ({"eb_n0_db": 3, "bits_per_symbol": 2}, set(), {"modcod", "waveform", "eb_n0_db"}),
    ],
)
def test_what_a_threshold_in_db_takes_the_place_of(
    given: dict[str, float], kept: set[str], left: set[str]
) -> None:
    for way in ("outbound", "inbound"):
        network = network_from_mapping({"satellite": SATELLITE, way: given})
        found = {a.key.partition(".")[2] for a in assumptions(network) if a.key.startswith(way)}
        assert kept <= found
        assert not left & found


def test_an_efficiency_that_a_gain_takes_the_place_of_is_not_assumed() -> None:
    bare, gain = {"diameter_m": 0.9}, {"diameter_m": 1.2, "gain_dbi": 43.2, "gain_ghz": 14.25}
    network = network_from_mapping({"satellite": SATELLITE, "antennas": [bare, gain]})
    found = {a.key for a in assumptions(network) if a.key.endswith(".efficiency")}
    assert "antennas.1.efficiency" in found
    assert not {k for k in found if k.startswith("antennas.2")}


def test_what_has_no_default_is_told_in_words() -> None:
    found = {a.key: a.value for a in assumptions(network_from_mapping({"satellite": SATELLITE}))}
    assert found["network.date"] == "today"
    assert found["network.install_date"] == "the plan's date"
    assert found["hub.lat"] == found["hub.lon"] == "not given"
    for key in ("network.name", "network.timezone", "satellite.name", "satellite.neighbours_deg"):
        assert key not in found
    assert not any(key.startswith(("coverage", "overlays")) for key in found)
