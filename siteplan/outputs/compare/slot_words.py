"""The fixed words of comparisons of satellites and of the sheets to turn dishes by."""

from __future__ import annotations

from typing import Final

from siteplan.outputs.sheets.words import CAUTIONS

#: Whether a dish still does at another satellite, in a cell.
FITS: Final = {
    "yes": "yes",
    "under_reserve": "under the reserve",
    "no": "no",
    "below_minimum": "no: too low",
    "outside_beam": "no: in no beam",
    "out_of_view": "no: out of view",
    "": "no kit",
}
#: The same in a sentence; the margins stand in {margin} and {reserve}.
FITS_TOLD: Final = {
    "yes": "Yes: margin {margin} at the target, {reserve} after the reserve.",
    "under_reserve": "Only without the reserve: margin {margin} at the target, {reserve} after it."
    " Ask the planner before you turn.",
    "no": "No: margin {margin} at the target. Turn it only with other kit.",
    "below_minimum": "No: the satellite stands lower than the plan's rules allow.",
    "outside_beam": "No: no beam of the satellite reaches the site.",
    "out_of_view": "No: the satellite is below the horizon.",
}
#: What stands over a sheet whose dish is not to be turned as it is.
STOPS: Final = frozenset(("no", "below_minimum", "outside_beam", "out_of_view"))
#: Whether the sky is free in the new direction, in a cell; '' where nothing was surveyed.
HORIZON: Final = {"clear": "clear", "tight": "tight", "blocked": "blocked", "": "not surveyed"}
#: The same in a sentence; the clearance stands in {clear}.
HORIZON_TOLD: Final = {
    "clear": "Yes, by what was surveyed: the beam clears it by {clear}.",
    "tight": "Just: the beam clears it by {clear}, less than the plan asks for. Look along the new"
    " direction before you turn.",
    "blocked": "No, by what was surveyed: the beam's lower edge lies {clear} under what stands"
    " there. Do not turn before the planner has found another place.",
    "": "Nobody surveyed it: look along the new direction before you turn, and write in what"
    " stands there.",
}
#: Whether the mount holds the dish in the new direction, in a cell; '' where there is none.
MOUNT: Final = {
    "yes": "yes",
    "no": "no: wall in the way",
    "over_wall": "ask: over the wall",
    "facing_unknown": "ask: wall's facing",
    "parapet": "ask: parapet",
    "engineered": "ask its engineer",
    "": "none",
}
#: The same in a sentence.
MOUNT_TOLD: Final = {
    "yes": "Yes: it turns that far.",
    "no": "No: the bracket's wall stands in the way. Do not turn before the planner has found"
    " another mount.",
    "over_wall": "Only if the beam passes over the wall behind the bracket: look, and ask the"
    " planner before you turn.",
    "facing_unknown": "Nobody told which way the bracket's wall faces: look whether it stands in"
    " the new direction before you turn.",
    "parapet": "The beam gets lower: look whether the frame stands far enough behind the parapet,"
    " and ask the planner before you move it.",
    "engineered": "An engineer designed it: ask before you turn.",
    "": "None is planned: look how far what stands there turns.",
}
#: Of polarizations that are others on the new satellite.
PORTS_SWAP: Final = (
    "Polarizations change: beside the turn above, turn the feed by 90° or exchange the ports of LNB"
    " and BUC, as the new operator says."
)
ONE_PORT: Final = (
    "One port's polarization changes, the other's does not: ask the planner which feed it takes."
)
OTHER_FEED: Final = "Another feed: of linear and circular polarization one changes into the other."
TRANSMIT_OFF: Final = (
    "Lock the transmitter off and tag it before the first bolt is loosened, and keep it off while"
    " the dish turns: its beam sweeps over other satellites. It stays off until the operator of"
    " the new satellite has run the access test with you and said go. Leave to transmit on the old"
    " satellite is none on the new one."
)
#: What is done, in order; common practice, no source.
STEPS: Final = (
    "Planner and both operators know the hour; leave for the new satellite has a reference",
    "Photo of the dish from behind and from the side; present azimuth, elevation and feed marked"
    " on mount and feed, so that it can go back",
    "Receiver's C/N on the old satellite written in",
    "Transmitter off, locked, tagged; beam's way looked along: nobody and nothing in it",
    "Elevation set first, then azimuth, then the feed; bolts loosened one axis at a time, the dish"
    " held",
    "New carrier found: frequency, symbol rate and name of the network read from the receiver, as"
    " a strong neighbour looks like success",
    "Peaked in azimuth, elevation and polarization; C/N written in",
    "Bolts at the maker's torque, marked; peak checked again",
    "Access test with the new operator; only then the carrier",
    "If it cannot be found or accepted: back to the marks, transmitter still off, call the planner",
)
#: The trade's usual cautions that turning a dish asks for; common practice, no source.
TURNING: Final = (CAUTIONS[0], CAUTIONS[1], CAUTIONS[2], CAUTIONS[4], CAUTIONS[5])
#: Of the page.
AGAIN: Final = (
    "A comparison changes nothing of the project: to plan with another satellite, write its"
    " position and figures in place of those of the project's satellite."
)
PERMISSION: Final = (
    "No dish transmits on another satellite before its operator has accepted it, and while it"
    " turns it does not transmit at all."
)
