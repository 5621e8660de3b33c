"""The target `map`: a road map in XML or packed, read and written down for the engine, without building its tiles."""

from __future__ import annotations

from pathlib import Path

from routing.farm.folder import read_farm
from routing.farm.models import Drives
from routing.travel.roads.extract import read_extract
from routing.travel.roads.ground import read_ground, write_ground
from routing.travel.roads.store import background, write_store
from routing.travel.roads.vehicle_map import write_vehicle_map
from tests.fuzz import small_farm
from tests.fuzz.inputs import Files
from tests.fuzz.mutate import bytes_changed, markup_changed
from tests.fuzz.target import Target, scratch, written

MAP = b"""<?xml version="1.0" encoding="UTF-8"?>
<osm version="0.6" generator="by hand">
<node id="1" version="1" lat="52.30" lon="-2.50"><tag k="place" v="village"/><tag k="name" v="Overlea"/></node>
<node id="2" version="1" lat="52.31" lon="-2.50"><tag k="barrier" v="gate"/><tag k="access" v="private"/></node>
<node id="3" version="1" lat="52.32" lon="-2.49"><tag k="ford" v="yes"/></node>
<node id="4" version="1" lat="52.33" lon="-2.48"/>
<way id="10" version="1"><nd ref="1"/><nd ref="2"/><nd ref="3"/><tag k="highway" v="unclassified"/><tag k="name" v="Mill Lane"/>
<tag k="maxspeed" v="30 mph"/><tag k="oneway" v="yes"/><tag k="lanes" v="1"/><tag k="width" v="2.5"/></way>
<way id="11" version="1"><nd ref="3"/><nd ref="4"/><tag k="highway" v="track"/><tag k="tracktype" v="grade3"/>
<tag k="motor_vehicle" v="destination"/><tag k="surface" v="gravel"/><tag k="bridge" v="yes"/><tag k="layer" v="1"/></way>
<way id="12" version="1"><nd ref="2"/><nd ref="4"/><tag k="railway" v="rail"/></way>
<way id="13" version="1"><nd ref="1"/><nd ref="4"/><nd ref="1"/><tag k="natural" v="water"/></way>
<relation id="20" version="1"><member type="way" ref="10" role="from"/><member type="node" ref="3" role="via"/>
<member type="way" ref="11" role="to"/><tag k="type" v="restriction"/><tag k="restriction" v="no_left_turn"/></relation>
</osm>
"""


def map_target() -> Target:
    """Return the target."""
    folder, packed = scratch(), scratch() / "map.osm.pbf"
    rules = read_farm(written(small_farm.example(), scratch())).rules.roads
    assert rules is not None
    drives: Drives = "van"

    def run(files: Files) -> None:
        written(files, folder)
        for name in ("map.osm", "map.osm.pbf"):
            path = folder / name
            if not path.exists():
                continue
            extract = read_extract(path)
            write_store(extract, folder / "store.npz")
            write_ground(extract, rules, [drives], folder / "ground.npz")
            (folder / "out.osm.pbf").unlink(missing_ok=True)
            write_vehicle_map(extract, drives, rules, folder / "out.osm.pbf")
            read_ground(folder / "ground.npz")
            background(folder / "store.npz", extract.box, "by hand")

    seeds: tuple[Files, ...] = ({"map.osm": MAP}, {"map.osm.pbf": _packed(packed)})
    return Target(
        "map",
        {"map.osm": markup_changed, "map.osm.pbf": bytes_changed},
        seeds,
        run,
        ("travel/roads/tags.py", "travel/roads/may_stop.py"),
    )


def _packed(path: Path) -> bytes:
    """Return the map in the packed form."""
    import osmium  # noqa: PLC0415

    plain = path.with_name("map.osm")
    plain.write_bytes(MAP)
    with osmium.SimpleWriter(str(path)) as writer:
        for thing in osmium.FileProcessor(str(plain)):
            writer.add(thing)
    return path.read_bytes()
