"""The list of the map's layers."""

from __future__ import annotations

import numpy as np

from siteplan.fields import lookup
from siteplan.outputs.map.layers import LAYERS, layers_of


def test_every_layer_is_a_field_of_the_dictionary() -> None:
    assert [layer.field for layer in LAYERS if lookup(layer.field) is None] == []
    assert LAYERS[0].field == "margin_db"


def test_off_axis_figures_are_layers_as_they_come() -> None:
    columns = {"off_axis_margin_db": np.array([-1.0, 3.0]), "off_axis_rule": np.array(["a", "b"])}
    assert [layer.field for layer in layers_of(columns)] == ["off_axis_margin_db"]
