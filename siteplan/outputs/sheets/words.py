"""The fixed words of the crew's sheet: cautions, abort criteria, caveats, photos."""

from __future__ import annotations

from typing import Final

from siteplan.words import CAVEAT

#: Stands with every figure of wind, ballast and load.
WIND_CAVEAT: Final = (
    f"Every figure here is {CAVEAT}. It approves no roof, wall or ground; local codes and the"
    " maker's data come first."
)
#: Stands with every distance and density of exposure.
EXPOSURE_CAVEAT: Final = (
    f"Every figure here is {CAVEAT}. Local rules and the licence decide, and what is measured"
    " comes before what is computed. Stay out of the beam even where no rule's limit is reached,"
    " and switch off before anybody enters it."
)
WIND_BASIS: Final = {
    "mean_10min": "The design wind is a 10-minute mean (EN 1991-1-4), terrain category {terrain}.",
    "gust_3s": "The design wind is a 3-second gust (0.613 V², ASCE 7), exposure {exposure}.",
}
#: Follows the basis: an ultimate speed holds the factor on the load already.
WIND_FACTOR: Final = (
    "Ballast is worked out with a safety factor of {safety:g}. Where a code's speed is an ultimate"
    " one, its factor is in the speed already and must not be taken twice."
)
#: The trade's usual cautions; common practice, no source.
CAUTIONS: Final = (
    "Radio waves: never stand in front of a dish that may transmit, nor reach between feed and"
    " reflector. Lock the transmitter off and tag it.",
    "Height: fall protection for all; a ladder is tied, footed and not a place to work from.",
    "Power lines: look up before lifting poles, dishes or ladders; keep the distance that the"
    " line's owner asks for.",
    "Lightning: bond dish, mount and cable as the local code asks, before the cable goes in.",
    "Lifting: two people or a hoist; no hand under ballast; a dish in the wind is a sail.",
    "Roof: walk and load only what its owner has confirmed; protect the skin under a frame.",
    "Drilling: find cables and pipes first.",
)
#: Where nobody gives words of their own; common practice, no source.
LONE_WORKER: Final = (
    "Alone: tell somebody where you are and when you will call; nobody alone goes up, lifts, or"
    " works on a line that may be live."
)
#: The gust stands in {wind}.
ABORT: Final = (
    "thunder is heard; gusts pass {wind}, or the maker's, the lift's or your employer's lower"
    " limit; ice or no safe way up; a line within reach; roof, wall or ground not as described;"
    " something stands in the beam; people cannot be kept out of it; C/N stays under the least"
    " accepted. Leave the dish secured and the transmitter off, and call the planner."
)
#: What is made fast before anybody leaves; common practice, no source.
MADE_FAST: Final = (
    "Bolts at the maker's torque, each marked; checked again after peaking",
    "Earth conductor and bonds, size and route as the local code asks",
)
#: Beside the loads on a dish that stands: those of its mount hang on what holds it.
NO_MOUNT: Final = (
    "Loads of footing, frame or fixings are left out: nobody has told what holds the dish."
)
#: Stands over loads that a design must still put a factor on.
NO_FACTOR: Final = "No safety factor included in:"
PHOTOS: Final = (
    "Dish from the front, from behind, from both sides",
    "View along the beam to the horizon, compass in the picture",
    "Obstacles near the beam",
    "Mount's base, ballast or fixings; roof before and after",
    "Cable entry, plugs sealed, drip loop",
    "Bonding, both ends",
    "Serial numbers of BUC, LNB, modem",
    "Receiver's screen with C/N",
)
#: What a new survey of a site without kit brings home; common practice, no source.
SURVEY: Final = (
    "Position and altitude, read where a dish could stand",
    "Bearing and height of all that stands near the satellite's bearing, drawn into the sky plot",
    "Another place on the grounds with a freer sky: bearing and distance from here",
    "Room and ground, roof or wall for a larger antenna, and who may allow it",
    "What dish or transmitter stands here already, with its plates",
)
SURVEY_PHOTOS: Final = (
    "View along the satellite's bearing, compass in the picture",
    "All around, from where a dish could stand",
    "Building, roof and ground from afar",
    "Kit that stands here already: dish, plates, mount",
)
SURVEY_ABORT: Final = (
    "thunder is heard; gusts pass {wind}, or the lift's or your employer's lower limit; ice or no"
    " safe way up; a line within reach; roof, wall or ground not as described. Call the planner."
)
#: What every installation takes beside the big parts; common practice, no source.
SMALL_PARTS: Final = (
    "LNB, feed, filter; plugs and sealing tape for the cable's class",
    "Bonding conductor and clamps as the local code asks",
    "Warning sign for the beam; barrier where people can reach it",
)
SKETCHED: Final = "dish, obstacles, cable's way, north"
#: What a crew ticks off before a round; common practice, no source. The gust stands in {wind}.
COVER: Final = (
    "Sheets, this page and the map at hand, and on a charged device",
    "Operator told of visits and hours; telephone numbers tried",
    "Site contacts called: access, keys, permits",
    "Weather looked at: no thunder, gusts under {wind}",
    "Questions of mounts to be surveyed settled, or the planner asked",
    "Kit counted against this list; plugs and tape for the cable's class",
    "Compass, inclinometer, receiver that shows C/N, multimeter, torque wrench",
    "Fall protection, ladder, barriers, warning signs, first aid",
    "Lock and tag for the transmitter",
    "Somebody knows the way, and the hour of each call",
)
#: Stand with the azimuth; the turn in {by}.
CLOCKWISE: Final = "clockwise"
SENSITIVE: Final = "A wrong position turns it {by}: measure the position first"
#: What is looked at where the dish stands already; common practice, no source.
STANDING_MOUNT: Final = (
    "What holds it written down: pole, bracket or frame, its size, its footing or ballast",
    "No rust, cracks, play or lean; else photographed, and the planner called",
)
STANDING_PARTS: Final = (
    "LNB, feed, filter; plugs, seals and drip loop sound",
    "Bonding sound, both ends",
    "Warning sign for the beam; barrier where people can reach it",
)
#: Stand with a part that is there already, with a mount that is, and over them.
STANDS: Final = "stands already, plate read"
AS_IT_STANDS: Final = "as it stands, not to be built"
TO_CHECK: Final = "What stands, to check"
SEVERITY: Final = {"stop": "Stop", "warn": "Decide", "note": "Know"}
MOUNTS: Final = {
    "pole": "pole in a footing",
    "wall": "wall bracket",
    "non_penetrating": "ballasted frame on the roof, nothing drilled",
    "ground": "ballasted frame on the ground",
    "engineered": "a footing or frame designed by an engineer",
}


def clipped(text: str, longest: int) -> str:
    """Return a text of at most ``longest`` characters; a cut one says where the rest stands."""
    if len(text) <= longest:
        return text
    return f"{text[:longest].rstrip()} … (in full in sites.csv)"


def cut(text: str, longest: int) -> str:
    """Return a text of at most ``longest`` characters, with a mark where it was cut."""
    return text if len(text) <= longest else f"{text[: longest - 1].rstrip()}…"
