"""What a licence asks of a plan: masks in force, stations, curves."""

from __future__ import annotations

from siteplan.answers import _Answer
from siteplan.frozen import frozen


@frozen(eq=False)
class MaskInForce(_Answer):
    """A limit off axis that holds: where it stands, and what it counts in.

    ``edition`` is empty for one of the operator's own, ``tag`` says what a published one was
    copied from. The limit counts in ``reference_khz``, its angles from the dish's ``axis`` or from
    the line to the ``satellite``. ``hub_judged`` is False where its band does not hold the hub's
    uplink.
    """

    name: str
    edition: str
    date: str
    source: str
    reference_khz: float
    angle_from: str
    tag: str
    hub_judged: bool = True

    @property
    def told(self) -> str:
        """Edition and date, and how it was copied."""
        text = ", ".join(filter(None, (self.edition or "the operator's own", self.date)))
        return f"{text} ({self.tag})" if self.tag else text


@frozen(eq=False)
class Station(_Answer):
    """What the stations of one antenna and one transmitter radiate; ``hub`` for the hub's one.

    Powers are the greatest of its ``sites`` in clear sky, the hub's with the range of its power
    control; ``tx_power_w`` is the BUC's output, ``feed_w`` what reaches the antenna's flange,
    ``allowed_feed_w`` what the masks allow there. Densities are in 4 and 40 kHz, that towards the
    horizon in ``horizon_density_khz`` at the least elevation. The margin is the least, under
    ``off_axis_mask`` at ``off_axis_angle_deg``. What is not known is NaN, or empty.
    """

    kind: str
    antenna_m: float
    buc_w: float
    sites: int
    efficiency: float
    tx_gain_dbi: float
    rx_gain_dbi: float
    tx_pattern: str
    rx_pattern: str
    tx_power_w: float
    feed_w: float
    allowed_feed_w: float
    eirp_dbw: float
    feed_density_dbw_4khz: float
    feed_density_dbw_40khz: float
    eirp_density_dbw_4khz: float
    eirp_density_dbw_40khz: float
    horizon_density_dbw: float
    horizon_density_khz: float
    emission: str
    symbol_rate_msps: float
    uplink_ghz: float
    uplink_polarization: str
    downlink_ghz: float
    downlink_polarization: str
    least_elevation_deg: float
    greatest_elevation_deg: float
    off_axis_margin_db: float
    off_axis_mask: str
    off_axis_angle_deg: float

    @property
    def exceeds(self) -> bool:
        """Whether a mask is exceeded."""
        return self.off_axis_margin_db < 0


@frozen
class HubPlace:
    """Where the hub stands and looks: its place, its altitude [m], its look angles [deg]."""

    lat: float
    lon: float
    altitude_m: float
    azimuth_true_deg: float
    elevation_deg: float


#: A line of a drawing: angle [deg] and EIRP density [dBW in a reference bandwidth] of each point.
DensityLine = tuple[tuple[float, float], ...]


@frozen
class MaskCurves:
    """One mask and one antenna: the limit's parts, and what the antenna radiates off its axis.

    ``edition`` is what `MaskInForce.told` says.
    Densities count in the mask's ``reference_khz``, angles from what the mask counts from. The
    limit is the one that holds: less 10 log N. ``allowed`` is drawn at the power that all masks
    together allow, ``used`` at the greatest in use. ``touches_deg`` is the angle where ``allowed``
    meets this limit; NaN where another mask is the tightest.
    """

    mask: str
    edition: str
    reference_khz: float
    angle_from: str
    limit: tuple[DensityLine, ...]
    allowed: DensityLine
    used: DensityLine
    touches_deg: float


@frozen
class MaskDrawing:
    """What is drawn of one antenna, a panel a mask; ``hub`` for the hub's."""

    kind: str
    antenna_m: float
    tx_pattern: str
    allowed_feed_w: float
    used_feed_w: float
    panels: tuple[MaskCurves, ...]


@frozen
class Licence:
    """What a licence asks: the masks in force, the hub's carrier, each kind of terminal, curves.

    ``simultaneous`` is N of 10 log N, which counts for terminals; ``action`` whether a power that
    is too high is cut or reported. ``hub_place`` is None where the hub is not placed. ``types`` go
    by size of antenna, then of BUC; ``to_40khz_db`` is what a terminal's density in 40 kHz is over
    that in 4 kHz [dB]. ``beams`` are those that the carriers serve, where there are several, and
    ``others`` what is asked for the carriers of other beams, each with its own hub.
    """

    masks: tuple[MaskInForce, ...]
    simultaneous: int
    action: str
    hub: Station
    hub_place: HubPlace | None
    hub_drawing: MaskDrawing | None
    to_40khz_db: float
    types: tuple[Station, ...] = ()
    drawings: tuple[MaskDrawing, ...] = ()
    beams: tuple[str, ...] = ()
    others: tuple[Licence, ...] = ()
