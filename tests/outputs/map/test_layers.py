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


def test_interference_is_a_layer_where_it_counts() -> None:
    margin = {"margin_db": np.array([1.0, 2.0])}
    assert [layer.field for layer in layers_of(margin)] == ["margin_db"]
    counted = layers_of(margin | {"outbound_ci_db": np.array([12.0, 18.0])})
    assert [layer.field for layer in counted] == ["margin_db", "outbound_ci_db"]
    # A low ratio needs care: the larger and the darker marker.
    assert counted[1].care == "low"


def test_sites_without_a_value_are_told_why() -> None:
    nothing, unseen = "Nothing fits, or not in view", "Satellite not in view"
    assert {layer.field: layer.blank for layer in LAYERS if layer.blank != "No value"} == {
        "margin_db": "No margin: satellite not in view",
        "elevation_deg": "Satellite below the horizon",
        "antenna_m": nothing,
        "mount": "No mount chosen",
        "beam": "In no beam",
        "buc_w": nothing,
        "limiting_direction": unseen,
        "availability_achieved_pct": "Under 50 %, or not in view",
        "certainty": "No grade",
        "year_risk_pct": "Not known, or not in view",
        "site_cost": "No kit, or a price is missing",
        "life_cost": "No figure: no kit, or no price",
        "cable_class": "No cable picked",
        "cable_loss_high_db": "No cable picked",
        "clearance_deg": "No horizon known",
        "outbound_ci_db": "No kit, or not in view",
        "verdict": "Not come back",
        "pointing_error_deg": "Not measured",
        "c_n_difference_db": "Not measured",
        "best_slot": "No satellite serves it",
        "moved_m": "Not measured",
    }
