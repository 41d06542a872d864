import re
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.errors import NetworkError
from siteplan.inputs.network.assumed import assumptions
from siteplan.inputs.network.read import network_from_mapping, read_network
from siteplan.network import Network
from siteplan.network.reference import network_reference

GOOD = "[satellite]\nlongitude_deg = 13.0\n"


def write(folder, text, encoding="utf-8"):
    path = folder / "network.toml"
    path.write_bytes(text.encode(encoding))
    return path


def message(text, folder):
    with pytest.raises(NetworkError, match=r"network\.toml") as caught:
        read_network(write(folder, text))
    return str(caught.value)


def test_only_the_longitude_is_needed(tmp_path):
    network = read_network(write(tmp_path, GOOD))
    assert network.satellite.longitude_deg == 13
    assert network.outbound.uplink_ghz == 14.25
    assert network.inbound.symbol_rate_msps == 0.256


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_encodings(tmp_path, encoding):
    text = GOOD + 'name = "Süd 東"\n'
    assert read_network(write(tmp_path, text, encoding)).satellite.name == "Süd 東"


def test_line_ends_of_windows(tmp_path):
    assert read_network(write(tmp_path, GOOD.replace("\n", "\r\n"))).satellite.longitude_deg == 13


@pytest.mark.parametrize(
    ("encoding", "words"), [("utf-16", "the file is UTF-16"), ("cp1252", "line 3 is not UTF-8")]
)
def test_other_encodings_are_refused(tmp_path, encoding, words):
    path = write(tmp_path, GOOD + 'name = "Süd"\n', encoding)
    with pytest.raises(NetworkError, match=words):
        read_network(path)


def test_missing_file(tmp_path):
    with pytest.raises(NetworkError, match="there is no such file"):
        read_network(tmp_path / "network.toml")
    with pytest.raises(NetworkError, match="cannot be read"):
        read_network(tmp_path)


@pytest.mark.parametrize("length", [100, 101])
def test_of_a_long_line_100_letters_are_told(tmp_path, length):
    line = ("name " + "abcdefghij" * 20)[:length]
    assert message(GOOD + line, tmp_path).splitlines()[0].count(line[:100]) == 1
    assert (line in message(GOOD + line, tmp_path)) == (length == 100)


@pytest.mark.parametrize(
    ("line", "number", "fix"),
    [
        ("x = 13,5", 3, "Write decimals with a point"),
        ("x = 13 E", 3, "without its unit"),
        ("name = foo", 3, "Put text between quotes"),
        ("longitude_deg = 14", 3, "given twice"),
        ("just words", 3, "A line is key = value"),
        ('name = "open', 3, "examples of the README"),
    ],
)
def test_syntax_errors_name_line_and_fix(tmp_path, line, number, fix):
    text = message(GOOD + line, tmp_path)
    assert f"line {number} is not valid TOML" in text
    assert line in text
    assert fix in text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[satellite]\nlongitude = 13", "longitude is an unknown key. Did you mean longitude_deg?"),
        (GOOD + "[hub]\nantena_m = 4", "[hub] antena_m is an unknown key. Did you mean antenna_m?"),
        (GOOD + "[hub]\nAntenna_M = 4", "Did you mean antenna_m?"),
        (GOOD + "[rules]\nlnb_noise_k = 4", "It belongs into [terminal]"),
        (GOOD + "[rules]\nzzz = 4", "Known keys: reserve_db"),
        (GOOD + "[[antennas]]\ndiameter = 1.2", "Did you mean diameter_m?"),
        (GOOD + "[outbond]\n", "unknown table [outbond]. Did you mean [outbound]?"),
        (GOOD + "[zzz]\n", "The tables are [network], [satellite]"),
        ("reserve_db = 3\n" + GOOD, "stands outside its table. Put it below [rules]"),
        (GOOD + "[antennas]\ndiameter_m = 1", "Write [[antennas]], with double brackets"),
        ("[[satellite]]\nlongitude_deg = 3", "Write [satellite], with single brackets"),
        ("hub = 3\n" + GOOD, "hub must be a table"),
        ("", "[satellite] longitude_deg is missing"),
        (GOOD + "[[bucs]]\nbackoff_db = 1", "[[bucs]] no. 1 rated_w is missing"),
        ("bucs = []\n" + GOOD, "[[bucs]] is empty"),
        (
            "[satellite]\nlongitude_deg = 370",
            "longitude_deg = 370 is out of range. Allowed: -180 to 360 deg",
        ),
        (
            GOOD + "[hub]\nantenna_m = 99",
            "antenna_m = 99 is out of range. Allowed: above 0.3, up to 35 m. The default is 4.5",
        ),
        (GOOD + "[network]\navailability_pct = 0.995", "Did you mean 99.5?"),
        (GOOD + "[hub]\nantenna_m = inf", "antenna_m = inf is out of range"),
        (GOOD + "[rules]\nhub_outage_share = nan", "hub_outage_share = nan is out of range"),
        (GOOD + "[hub]\nantenna_m = true", "antenna_m = true is not a number"),
        (GOOD + '[hub]\nantenna_m = "4.5"', "without quotes"),
        ('[satellite]\nlongitude_deg = "30W"', "Write -30: east and north positive"),
        (GOOD + "[hub]\nantenna_m = [4]", "antenna_m = [4] is not a number"),
        (GOOD + "[network]\nname = 5", "name = 5 must be text between quotes"),
        (GOOD + '[network]\ndate = "soon"', "Write year-month-day without quotes"),
        (GOOD + "[rules]\nmargin_classes_db = 3", "must be a list of numbers"),
        (GOOD + "[rules]\nmargin_classes_db = [true]", "must be a list of numbers"),
        (GOOD + "[rules]\nmargin_classes_db = []", "Allowed: 1 to 8 numbers"),
        (GOOD + "[rules]\nmargin_classes_db = [3, 1]", "must rise"),
        (GOOD + '[inbound]\nwaveform = "dvb-s2"', 'Did you mean "DVB-S2"?'),
        (
            GOOD + '[outbound]\nmodcod = "QPSK 1/2"\nes_n0_db = 3',
            "[outbound] give one of modcod, es_n0_db and eb_n0_db, not modcod and es_n0_db",
        ),
        (GOOD + "[inbound]\neb_n0_db = 3", "eb_n0_db and bits_per_symbol go together"),
        (GOOD + "[hub]\nlat = 3", "give both lat and lon"),
        (GOOD + "[[bucs]]\nrated_w = 2\n[[bucs]]\nrated_w = 2", "two of the same rated_w"),
    ],
)
def test_errors_name_the_place_and_the_fix(tmp_path, text, words):
    told = message(text, tmp_path)
    assert words in told
    assert told.startswith("network.toml: ")
    assert "pydantic" not in told
    assert "http" not in told
    assert "Input should" not in told


def test_all_errors_come_at_once_one_a_line(tmp_path):
    text = """
    [satellite]
    longitude_deg = "13E"
    [hub]
    lat = 1
    antenna_m = true
    antena_m = 2
    [outbound]
    modcod = "QPSK 3/4"
    es_n0_db = 3
    [inbound]
    eb_n0_db = 2
    roll_off = 2
    symbol_rate_msps = 0
    [rules]
    margin_classes_db = [3, 1]
    [[antennas]]
    diameter_m = 99
    [[antennas]]
    efficiency = 0.6
    [[bucs]]
    rated_w = 2
    [[bucs]]
    rated_w = 2
    [outbund]
    """
    lines = message(text, tmp_path).split("\n")
    for words in (
        *("longitude_deg = ", "antenna_m = true", "antena_m", "both lat and lon"),
        *("give one of modcod", "roll_off = 2", "symbol_rate_msps = 0", "go together"),
        *("must rise", "no. 1 diameter_m = 99", "no. 2 diameter_m is missing"),
        *("two of the same rated_w", "unknown table [outbund]"),
    ):
        assert sum(words in line for line in lines) == 1, words
    assert len(lines) == 13
    assert all(line.startswith("network.toml: ") for line in lines)


def test_a_check_across_keys_is_silent_about_values_refused_already(tmp_path):
    told = message(GOOD + "[inbound]\neb_n0_db = 3\nbits_per_symbol = 99\n", tmp_path)
    assert "bits_per_symbol = 99" in told
    assert "go together" not in told


def test_mapping_and_models_are_taken_too():
    network = network_from_mapping({"satellite": {"longitude_deg": 13}})
    again = network_from_mapping({"satellite": network.satellite, "hub": network.hub})
    assert again.satellite == network.satellite
    with pytest.raises(NetworkError, match="list is no mapping of tables"):
        network_from_mapping([1])
    with pytest.raises(NetworkError, match=r"^mine: \[satellite\]"):
        network_from_mapping({}, where="mine")


def assumed(text):
    return {a.key: a for a in assumptions(network_from_mapping(tomllib.loads(text)))}


def test_every_default_used_is_listed():
    found = assumed(GOOD)
    assert found["outbound.satellite_eirp_dbw"].value == "48"
    assert found["outbound.satellite_eirp_dbw"].unit == "dBW"
    assert found["antennas.1.diameter_m"].value == "1.2"
    assert found["bucs.3.rated_w"].value == "3"
    assert found["network.date"].value == "today"
    assert found["hub.lat"].value == "not given"
    assert found["rules.margin_classes_db"].value == "[0, 1, 3, 6]"
    assert "satellite.longitude_deg" not in found
    assert "outbound.es_n0_db" not in found


def test_what_is_given_is_not_assumed():
    found = assumed(
        GOOD
        + "[outbound]\nsatellite_eirp_dbw = 48\nes_n0_db = 4\n"
        + "[[antennas]]\ndiameter_m = 1.2\n[hub]\nlat = 1\nlon = 2\n"
    )
    for key in ("outbound.satellite_eirp_dbw", "antennas.1.diameter_m", "hub.lat"):
        assert key not in found
    assert found["antennas.1.efficiency"].value == "0.65"
    assert "antennas.2.diameter_m" not in found
    assert "outbound.modcod" not in found  # a threshold in dB takes its place
    assert "inbound.modcod" in found


def test_a_file_that_gives_every_default_assumes_only_the_rest():
    """The reference, written as a file, is accepted and leaves no default to assume."""
    lines, table = [], ""
    for row in network_reference():
        if row.table in ("overlays", "neighbours", "masks", "beams", "contours"):
            continue  # lists that are empty unless given
        if row.table != table:
            table = row.table
            lines.append(f"[[{table}]]" if row.is_list else f"[{table}]")
        needed = {"longitude_deg": "13", "diameter_m": "1.2", "rated_w": "2", "name": '"series 6"',
                  "kind": '"wall"'}  # fmt: skip
        value = row.default or needed.get(row.key, "")
        if value:
            lines.append(f"{row.key} = {value}")
    keys = set(assumed("\n".join(lines)))
    absent = {"network.date", "network.install_date", "hub.lat", "hub.lon", "site.wind_m_s"}
    absent |= {"traffic.utilisation"}
    assert keys == absent


#: Defaults that count only where neighbours, limits or another polarization are told of.
SILENT = re.compile(r"(.*\.)?(pattern|xpi_db)|(neighbours|regulation|masks)\..*")


def of_interference(text):
    """Return what is assumed beyond a file without the keys of interference and limits."""
    found = assumed(GOOD + text)
    return {k: a.value for k, a in found.items() if SILENT.fullmatch(k)}, found


def test_without_neighbours_and_limits_nothing_is_told_of_them():
    told, before = of_interference("")
    assert told == {}
    for text in ("[regulation]\naction = 'report'\n", "[hub]\nxpi_db = 30\npattern = 's465'\n"):
        told, found = of_interference(text)
        assert told == {}
        assert set(found) | {"hub.pattern", "hub.xpi_db"} >= set(before)


def test_what_is_assumed_of_neighbours_is_told():
    patterns = {f"antennas.{k}.pattern": "s580" for k in (1, 2, 3)} | {"hub.pattern": "s580"}
    unknown = {"neighbours.1.hub_level_db": "as at the sites"}
    unknown |= {"neighbours.1.uplink_dbw_40khz": "not counted"}
    text = "[[neighbours]]\nlongitude_deg = 10\n"
    told, _ = of_interference(text)
    assert told == patterns | unknown | {"neighbours.1.downlink_level_db": "0"}
    told, _ = of_interference(text + "downlink_dbw_mhz = 20\n")
    assert told == patterns | unknown
    told, _ = of_interference(text + "downlink_level_db = 0\nhub_level_db = 0\n"
                              "uplink_dbw_40khz = 5\n[hub]\npattern = 's580'\n")  # fmt: skip
    assert told == {k: v for k, v in patterns.items() if k != "hub.pattern"}


def test_what_is_assumed_of_limits_is_told():
    patterns = {f"antennas.{k}.pattern": "s580" for k in (1, 2, 3)} | {"hub.pattern": "s580"}
    rules = {"regulation.action": "cut_power", "regulation.simultaneous_terminals": "1",
             "regulation.emission_class": "G7W"}  # fmt: skip
    told, _ = of_interference("[regulation]\nmasks = ['s524_9']\n")
    assert told == patterns | rules
    own = "[[masks]]\nname = 'own'\nreference_khz = 40\nsegments = [[1, 180, 0, 0]]\n"
    told, _ = of_interference("[regulation]\nmasks = ['own']\naction = 'report'\n" + own)
    del rules["regulation.action"]
    assert told == patterns | rules | {"masks.1.angle_from": "axis"}


def test_isolations_are_told_where_another_polarization_is_in_use():
    told, _ = of_interference("[inbound]\ncross_polar_level_db = 0\n")
    assert told == {
        **{f"antennas.{k}.xpi_db": "30" for k in (1, 2, 3)},
        **{"hub.xpi_db": "35", "satellite.xpi_db": "30"},
    }


def test_an_error_of_pointing_takes_the_place_of_its_loss():
    assert "terminal.pointing_loss_db" in assumed(GOOD)
    assert "terminal.pointing_loss_db" not in assumed(GOOD + "[terminal]\npointing_error_deg = 0\n")


def test_ranges_of_the_reference_are_those_that_are_enforced():
    for row in network_reference():
        if row.kind != "number" or " to " not in row.range:
            continue
        high = float(row.range.split(" to ")[1])
        table = {row.key: high + 1}
        data = {"satellite": {"longitude_deg": 1}}
        data[row.table] = [table] if row.is_list else {**data.get(row.table, {}), **table}
        with pytest.raises(NetworkError, match=f"{row.key} = .* is out of range"):
            network_from_mapping(data)


@given(
    st.recursive(
        st.booleans() | st.integers() | st.floats() | st.text() | st.none(),
        lambda children: (
            st.lists(children, max_size=3)
            | st.dictionaries(
                st.sampled_from(
                    [
                        *("lat", "diameter_m", "x", "longitude_deg", "name", "segments", "masks"),
                        *("direction", "peak", "file"),
                    ]
                )
                | st.text(),
                children,
                max_size=3,
            )
        ),
        max_leaves=8,
    ),
    st.sampled_from(
        [
            "satellite",
            "hub",
            "outbound",
            "antennas",
            "bucs",
            "rules",
            "network",
            "x",
            "neighbours",
            "regulation",
            "masks",
            "contours",
        ]
    ),
)
def test_any_value_is_taken_or_refused_in_our_words(value, table):
    try:
        network = network_from_mapping({"satellite": {"longitude_deg": 1}, table: value})
    except NetworkError as error:
        told = str(error)
    else:
        told = ""
        assert isinstance(network, Network)
    assert "Input should" not in told


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ({"network": {"timezone": "Mars/Base"}}, "not in the time zone database"),
        ({"ifl": {"supply_v": 12}}, r"\[ifl\] buc_min_v must be smaller than supply_v"),
        ({"ifl": {"low_mhz": 3000}}, "low_mhz must be smaller than high_mhz"),
        ({"cables": [{"diameter_mm": 7}]}, r"\[\[cables\]\] no. 1 name is missing"),
        ({"cables": [{"name": "a"}, {"name": "a"}]}, "two of the same name"),
        ({"cables": [{"name": 6}]}, r"name = 6 must be text"),
        ({"site": {"terrain_category": "V"}}, "Allowed"),
        ({"site": {"exposure_limits": "icnirp"}}, "ICNIRP 2020"),
        ({"satellite": {"longitude_deg": 3, "neighbours_deg": 5}}, "must be a list of numbers"),
    ],
)
def test_keys_of_the_site_pack(tables: dict, words: str):
    with pytest.raises(NetworkError, match=words):
        network_from_mapping({"satellite": {"longitude_deg": 3}} | tables)


def test_cables_given_leave_the_typical_ones_out():
    found = network_from_mapping({"satellite": {"longitude_deg": 3}, "cables": [{"name": "ours"}]})
    assert [c.name for c in found.cables] == ["ours"]
    assert "cables.1.loss_db_100m" in {a.key for a in assumptions(found)}
