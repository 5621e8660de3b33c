"""How the road engine is set up: for building, and for asking."""

from __future__ import annotations

import copy
import os
from pathlib import Path
from typing import Any, Literal

import valhalla

from routing.farm.models import RoadRules

LIMITLESS = 1_000_000_000
"""The engine refuses more places, pairs or metres than its settings allow; a farm is never stopped by that."""

_NOT_USED = ("admin", "timezone", "tile_extract", "traffic_extract", "landmarks", "transit_dir", "transit_feeds_dir")


def engine_settings(tiles: Path, logging: Literal["", "std_out"] = "") -> dict[str, Any]:
    """Return the engine's settings for a folder of tiles.

    Matrices are made by searches from both ends, with a second try over private ways: of what the engine offers, that
    alone reached every place on two real maps and agreed with the single ways it gives.
    """
    settings: dict[str, Any] = copy.deepcopy(valhalla.get_config(tile_extract="", tile_dir=tiles))
    for name in _NOT_USED:
        settings["mjolnir"].pop(name, None)
    settings["mjolnir"]["concurrency"] = max(1, (os.cpu_count() or 1))
    settings["mjolnir"]["shortcuts"] = False  # only for long ways; with very long chains of roads its builder fails
    settings["logging"] = {"type": logging, "color": False}
    settings["thor"]["source_to_target_algorithm"] = "costmatrix"
    settings["thor"]["costmatrix"]["allow_second_pass"] = True
    limits = settings["service_limits"]
    limits["auto"] = {
        "max_distance": LIMITLESS,
        "max_locations": LIMITLESS,
        "max_matrix_distance": LIMITLESS,
        "max_matrix_location_pairs": LIMITLESS,
    }
    limits["max_distance_disable_hierarchy_culling"] = LIMITLESS
    return settings


def driving(rules: RoadRules) -> dict[str, Any]:
    """Return the part of every question that says how the vehicle drives: for the least time, gates counted.

    Private stretches are only for the last or first part of a way, so the engine's penalty on them stays.
    """
    return {
        "costing": "auto",
        "costing_options": {
            "auto": {
                "use_highways": 1.0,
                "use_tracks": 1.0,
                "service_factor": 1.0,
                "service_penalty": 0,
                "maneuver_penalty": 0,
                "gate_cost": round(rules.gate_minutes.value * 60),
                "gate_penalty": 0,
                "disable_hierarchy_pruning": True,
            }
        },
    }
