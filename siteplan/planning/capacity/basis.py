"""Which figures of a transmission plan rest on keys that nobody gave."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from siteplan.answers.transmission import AssumedKey, Basis
from siteplan.network import Carrier, Network
from siteplan.network.reference import toml_text
from siteplan.planning.report import assumed

_WIDTH: Final = ("own.symbol_rate_msps", "own.roll_off")
_SHARE: Final = (*_WIDTH, "own.transponder_mhz", "own.input_backoff_db", "own.output_backoff_db")
_MODCOD: Final = ("own.waveform", "own.modcod")
_REMOTE: Final = ("terminal.tx_loss_db", "terminal.pointing_loss_db", "antennas", "bucs")
_DRIVE: Final = ("own.sfd_dbw_m2", *_SHARE, *_REMOTE, "own.uplink_ghz")
_RAISED: Final = (*_DRIVE, "terminal.power_control_db")
_OUT_FLUX: Final = ("own.sfd_dbw_m2", *_SHARE)
_OUT_LEVEL: Final = tuple(
    key.replace("own.", "outbound.") for key in (*_OUT_FLUX, "own.uplink_ghz")
)
_HUB_FEED: Final = (*_OUT_LEVEL, "hub.antenna_m", "hub.efficiency")
#: What a carrier's figures rest on whatever its direction; ``own`` is its table.
_CARRIER: Final[Mapping[str, tuple[str, ...]]] = {
    "uplink": ("own.uplink_ghz",),
    "downlink": ("own.downlink_ghz",),
    "uplink_polarization": ("own.uplink_polarization",),
    "downlink_polarization": ("own.downlink_polarization",),
    "symbol_rate_msps": ("own.symbol_rate_msps",),
    "roll_off": ("own.roll_off",),
    "modcod": _MODCOD,
    "required_es_n0_db": (*_MODCOD, "own.implementation_loss_db"),
    "information_rate_kbit_s": (*_MODCOD, "own.symbol_rate_msps", "own.frame_efficiency"),
    "emission": (*_WIDTH, "regulation.emission_class"),
    "occupied_mhz": _WIDTH,
    "transponder_mhz": ("own.transponder_mhz",),
    "input_backoff_db": ("own.input_backoff_db",),
    "output_backoff_db": ("own.output_backoff_db",),
    "satellite_g_t_db_k": ("own.satellite_g_t_db_k",),
    "sfd_dbw_m2": ("own.sfd_dbw_m2",),
    "satellite_eirp_dbw": ("own.satellite_eirp_dbw",),
}
_LEASED: Final = ("lease.guard_pct",)
#: What else they rest on outbound, and inbound.
_WAYS: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    "outbound": {
        "power_equivalent_mhz": _WIDTH,
        "leased_mhz": (*_WIDTH, *_LEASED),
        "flux_dbw_m2": _OUT_FLUX,
        "eirp_dbw": (*_OUT_FLUX, "own.uplink_ghz"),
        "greatest_eirp_dbw": (*_OUT_FLUX, "own.uplink_ghz", "hub.power_control_db"),
        "carrier_input_backoff_db": _SHARE,
        "carrier_output_backoff_db": _SHARE,
        "carrier_eirp_dbw": (*_SHARE, "own.satellite_eirp_dbw"),
    },
    "inbound": {
        "power_equivalent_mhz": _DRIVE,
        "leased_mhz": (*_DRIVE, *_LEASED),
        "flux_dbw_m2": _DRIVE,
        "eirp_dbw": _DRIVE,
        "greatest_eirp_dbw": _RAISED,
        "carrier_input_backoff_db": _DRIVE,
        "carrier_output_backoff_db": _DRIVE,
        "carrier_eirp_dbw": (*_DRIVE, "own.satellite_eirp_dbw"),
    },
}
#: What the figures of a hub rest on.
_HUB: Final[Mapping[str, tuple[str, ...]]] = {
    "antenna_m": ("hub.antenna_m",),
    "carriers": ("hub.carriers",),
    "eirp_dbw": _OUT_LEVEL,
    "tx_gain_dbi": ("hub.antenna_m", "hub.efficiency", "outbound.uplink_ghz"),
    "g_t_db_k": ("hub.antenna_m", "hub.efficiency", "hub.lna_noise_k", "inbound.downlink_ghz"),
    "feed_w": _HUB_FEED,
    "greatest_feed_w": (*_HUB_FEED, "hub.power_control_db"),
    "needed_hpa_w": (
        *_HUB_FEED,
        *("hub.power_control_db", "hub.tx_loss_db", "hub.hpa_backoff_db", "hub.carriers"),
    ),
    "hpa_backoff_db": ("hub.hpa_backoff_db",),
    "power_control_db": ("hub.power_control_db",),
}
#: What the range of power control rests on where the amplifier is given, and what falls with it.
_AMPLIFIER: Final = ("hub.tx_loss_db", "hub.hpa_backoff_db", "hub.carriers", *_HUB_FEED)
_LEVELS: Final = (
    *("eirp_dbw", "flux_dbw_m2", "carrier_eirp_dbw"),
    *("carrier_input_backoff_db", "carrier_output_backoff_db"),
)
_FEED: Final = tuple(key.replace("own.", "inbound.") for key in _DRIVE)
#: What those of a type of terminals rest on.
_TERMINAL: Final[Mapping[str, tuple[str, ...]]] = {
    "antenna_m": ("antennas",),
    "buc_w": ("bucs",),
    "tx_gain_dbi": ("antennas", "inbound.uplink_ghz"),
    "g_t_db_k": ("antennas", "terminal.lnb_noise_k", "terminal.spillover_noise_k",
                 "terminal.rx_loss_db", "terminal.pointing_loss_db", "outbound.downlink_ghz"),
    "feed_w": _FEED,
    "faded_feed_w": (*_FEED, "terminal.power_control_db"),
    "eirp_dbw": _FEED,
    "faded_eirp_dbw": (*_FEED, "terminal.power_control_db"),
    "flux_dbw_m2": _FEED,
    "power_equivalent_mhz": _FEED,
    "sfd_dbw_m2": ("inbound.sfd_dbw_m2",),
    "uplink": ("inbound.uplink_ghz",),
}  # fmt: skip
#: What an access test asks for rests on.
_TEST: Final[Mapping[str, tuple[str, ...]]] = {
    "cross_polar_db": ("site.cross_polar_db",),
    "acceptance_db": ("site.acceptance_db",),
}


def of_carrier(
    network: Network, way: str, *, counted: Iterable[str] = (), short: bool = False
) -> Basis:
    """Return which figures of the carriers of a direction rest on what nobody gave.

    Parameters
    ----------
    network : Network
        Of one beam.
    way : str
        ``outbound`` or ``inbound``.
    counted : iterable of str
        Keys that nobody gave and that the number of carriers rests on.
    short : bool
        Whether the hub's amplifier falls short of clear sky's power.
    """
    carrier: Carrier = getattr(network, way)
    rests_on = {**_CARRIER, **_WAYS[way]}
    if way == "outbound":
        rests_on = _amplified(network, rests_on, ("greatest_eirp_dbw", *(_LEVELS if short else ())))
    figures, keys = _basis(network, rests_on, way, _idle(carrier))
    more = tuple(counted)
    return (figures | {"number"}, (*keys, *more)) if more else (figures, keys)


def of_hub(network: Network, *, short: bool = False) -> Basis:
    """Return which figures of a hub rest on what nobody gave; ``short`` as in `of_carrier`."""
    levels = ("eirp_dbw", "feed_w") if short else ()
    moved = ("greatest_feed_w", "power_control_db", *levels)
    return _basis(network, _amplified(network, _HUB, moved))


def _amplified(
    network: Network, rests_on: Mapping[str, tuple[str, ...]], moved: Iterable[str]
) -> dict[str, tuple[str, ...]]:
    """Return what figures rest on, with what an amplifier that is given leaves of them."""
    found = dict(rests_on)
    if network.hub.hpa_w is not None:
        found |= {figure: (*found[figure], *_AMPLIFIER) for figure in moved}
    return found


def of_terminals(network: Network) -> Basis:
    """Return which figures of terminals rest on what nobody gave."""
    return _basis(network, _TERMINAL)


def of_tests(network: Network) -> Basis:
    """Return which figures of an access test rest on what nobody gave."""
    return _basis(network, _TEST)


def told(keys: Iterable[str], networks: Iterable[Network]) -> tuple[AssumedKey, ...]:
    """Return keys that nobody gave with their values, each value once."""
    every = tuple(networks)
    found = [_told(key, of) for key in dict.fromkeys(keys) for of in every if _absent(of, key)]
    return tuple(dict.fromkeys(found))


def _told(key: str, network: Network) -> AssumedKey:
    """Return a key with the value that is used."""
    table, _, name = key.partition(".")
    of = getattr(network, table)
    if not name:
        sizes = [next(iter(each.model_dump().values())) for each in of]
        return AssumedKey(key, ", ".join(map(toml_text, sizes)), _UNITS[key], _MEANINGS[key])
    extra: Any = type(of).model_fields[name].json_schema_extra
    value = _value(network, key, getattr(of, name))
    label = assumed.table()[assumed.rank_of(key)].label
    return AssumedKey(key, value, extra["unit"] if value else "", label)


_UNITS: Final = {"antennas": "m", "bucs": "W"}
_MEANINGS: Final = {
    "antennas": "Antennas to choose from", "bucs": "BUCs to choose from by rated power"
}  # fmt: skip


def _value(network: Network, key: str, value: Any) -> str:
    """Return a value as text; empty where nothing stands for it."""
    if key == "traffic.utilisation":
        return toml_text(network.traffic.used)
    return "" if value is None else toml_text(value).strip('"')


def _basis(
    network: Network,
    rests_on: Mapping[str, tuple[str, ...]],
    way: str = "",
    idle: frozenset[str] = frozenset(),
) -> Basis:
    """Return the figures that rest on a key nobody gave, and those keys."""
    figures, keys = set(), dict[str, None]()
    for figure, those in rests_on.items():
        named = (key.replace("own.", f"{way}.") for key in those if key not in idle)
        if missing := [key for key in named if _absent(network, key)]:
            figures.add(figure)
            keys |= dict.fromkeys(missing)
    return frozenset(figures), tuple(keys)


def _absent(network: Network, key: str) -> bool:
    """Whether nobody gave a key: ``table.key``, or a list of tables."""
    table, _, name = key.partition(".")
    if not name:
        return table not in network.model_fields_set
    if key == "terminal.pointing_loss_db" and network.terminal.pointing_error_deg is not None:
        return False
    return name not in getattr(network, table).model_fields_set


def _idle(carrier: Carrier) -> frozenset[str]:
    """Return the keys of a carrier that another key takes the place of."""
    by_figure = carrier.es_n0_db is not None or carrier.eb_n0_db is not None
    return frozenset(_MODCOD) if by_figure else frozenset()


def both(*of: Basis) -> Iterator[str]:
    """Yield the keys of several, each once."""
    yield from dict.fromkeys(key for _, keys in of for key in keys)
