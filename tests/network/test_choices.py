"""The words that a key allows are those that other rooms know."""

from __future__ import annotations

import typing

import pytest
from pydantic import BaseModel

from siteplan.network import Carrier, Inbound, Outbound, OverlayFile, SitePack, Waveform
from siteplan.outputs.map.overlays import COLORS
from siteplan.physics.radio.waveforms import find_modcod, modcods
from siteplan.physics.wind import EXPOSURE, TERRAIN


def choices(model: type[BaseModel], key: str) -> list[str]:
    """Return the words that a key allows."""
    return list(typing.get_args(model.model_fields[key].annotation))


def test_choices_of_the_wind_are_those_that_physics_knows() -> None:
    assert choices(SitePack, "terrain_category") == list(TERRAIN)
    assert choices(SitePack, "gust_exposure") == list(EXPOSURE)


def test_each_waveform_has_modcods() -> None:
    assert choices(Carrier, "waveform") == list(typing.get_args(Waveform))
    for waveform in typing.get_args(Waveform):
        assert modcods(waveform)


def test_each_color_of_an_overlay_is_drawn() -> None:
    words, _ = typing.get_args(OverlayFile.model_fields["color"].annotation)
    assert set(typing.get_args(words)) == set(COLORS)


@pytest.mark.parametrize("carrier", [Outbound(), Inbound()])
def test_the_default_modcods_are_their_waveforms(carrier: Carrier) -> None:
    assert carrier.modcod is not None
    assert find_modcod(carrier.waveform, carrier.modcod).name == carrier.modcod
