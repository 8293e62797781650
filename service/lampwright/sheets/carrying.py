"""A build that carries itself: as short JSON, inside a link, and back.

Nothing is stored anywhere: the build travels in the part of a link that no browser sends to a server
(after ``#b=``): JSON with short names, deflated, in base64 for links. The calculator page reads and
writes the same (``web/static/keep.js``). Defaults are left out, so that an ordinary build fits a code.
"""

from __future__ import annotations

import base64
import binascii
import json
import re
import zlib
from collections.abc import Mapping
from dataclasses import fields
from functools import cache

from lampwright.errors import QuantityError
from lampwright.planner.models.build import BuildAsk
from lampwright.planner.models.circuits import LightGroup
from lampwright.planner.models.parts import Supply
from lampwright.planner.supplies import supply_from_battery
from lampwright.quantities import json_name, unit_of
from lampwright.sheets.writing import as_json

# Long names to short ones; a name without a short one travels as it is.
SHORT = {
    "title": "t",
    "supply": "s",
    "lights": "l",
    "name": "n",
    "led": "k",
    "count": "c",
    "forward_current_ma": "i",
    "run_length_m": "w",
    "dim_to_pct": "d",
    "battery": "b",
    "cells_in_series": "x",
    "packs_in_parallel": "y",
    "capacity_mah": "q",
    "supply_voltage_v": "v",
    "supply_voltage_min_v": "m",
    "supply_voltage_max_v": "M",
    "source_resistance_ohm": "r",
    "current_limit_ma": "I",
    "resistors": "R",
    "e_series": "e",
    "tolerance_pct": "T",
    "rated_dissipation_w": "p",
    "on_hand_ohm": "h",
    "wire": "W",
    "on_hand_awg": "a",
    "max_drop_pct": "D",
    "flexing": "f",
    "bundled_count": "B",
    "insulation": "j",
    "usage": "u",
    "hours_wanted_h": "H",
    "duty_pct": "g",
    "hours_per_day_h": "z",
    "air_travel": "A",
    "mix_colours": "X",
    "ambient_temperature_degc": "C",
    "worn": "O",
    "enclosed": "F",
    "flash_rate_hz": "P",
    "start_clock": "S",
    "fuse": "U",
    "style": "Y",
    "forward_voltage_v": "V",
    "rated_current_ma": "E",
    "colour": "o",
}
LONG = {short: long for long, short in SHORT.items()}
LIMIT = 20_000  # characters of an unpacked build; more is no build
LINK_LIMIT = 300  # characters of a link whose code still scans from paper
_LINK = re.compile(r"#b=([\w-]+)\s*$", re.ASCII)


def _number(stem: str, value: object) -> object:
    """Return a value in its public unit, whole numbers without a point, no digits beyond the ninth."""
    unit = unit_of("on_hand_resistance" if stem == "on_hand" else stem)
    if isinstance(value, tuple):
        return [_number(stem, item) for item in value]
    if isinstance(value, bool) or not isinstance(value, (int, float)) or unit is None:
        return value
    outer = float(f"{unit.outer(value):.9g}")
    return int(outer) if outer.is_integer() else outer


def _changed(value: object, usual: object) -> dict[str, object]:
    """Return the members of a dataclass that differ from the usual ones, under public names."""
    found = {}
    for field in fields(value):  # type: ignore[arg-type]
        mine = getattr(value, field.name)
        if mine is not None and mine != getattr(usual, field.name):
            name = "on_hand_ohm" if field.name == "on_hand" else json_name(field.name)
            found[name] = _number(field.name, mine)
    return found


def _supply(supply: Supply) -> object:
    if supply.part:
        return supply.part
    if supply.battery:
        usual = supply_from_battery(
            supply.battery, supply.cells_in_series, supply.packs_in_parallel, supply.capacity
        )
        found: dict[str, object] = {"battery": supply.battery, "cells_in_series": supply.cells_in_series}
        if supply.packs_in_parallel > 1:
            found["packs_in_parallel"] = supply.packs_in_parallel
        if supply.capacity is not None:
            found["capacity_mah"] = _number("capacity", supply.capacity)
        if supply.supply_voltage_max != usual.supply_voltage_max:
            found["supply_voltage_max_v"] = _number("supply_voltage", supply.supply_voltage_max)
        return found
    found = {"supply_voltage_v": _number("supply_voltage", supply.supply_voltage)}
    for stem in ("supply_voltage_min", "supply_voltage_max"):
        if getattr(supply, stem) != supply.supply_voltage:
            found[json_name(stem)] = _number(stem, getattr(supply, stem))
    if supply.source_resistance:
        found["source_resistance_ohm"] = _number("source_resistance", supply.source_resistance)
    if supply.current_limit is not None:
        found["current_limit_ma"] = _number("current_limit", supply.current_limit)
    return found


def _light(light: LightGroup) -> dict[str, object]:
    led = light.led.as_sent if light.led.as_sent is not None else light.led.name
    found: dict[str, object] = {"name": light.name, "led": as_json(led, top=False), "count": light.count}
    for stem in ("forward_current", "run_length", "dim_to"):
        value = getattr(light, stem)
        if value is not None:
            found[json_name(stem)] = _number(stem, value)
    return found


def carried(ask: BuildAsk) -> dict[str, object]:
    """Return a build as the request it came from, defaults left out."""
    found: dict[str, object] = {
        "title": ask.title,
        "supply": _supply(ask.supply),
        "lights": [_light(light) for light in ask.lights],
    }
    usual = BuildAsk(ask.title, ask.supply, ask.lights)
    for member in ("resistors", "wire", "fuse", "usage"):
        changed = _changed(getattr(ask, member), getattr(usual, member))
        if changed:
            found[member] = changed
    if ask.mix_colours:
        found["mix_colours"] = True
    if ask.ambient_temperature != usual.ambient_temperature:
        found["ambient_temperature_degc"] = _number("ambient_temperature", ask.ambient_temperature)
    return found


def _renamed(value: object, names: Mapping[str, str]) -> object:
    if isinstance(value, list):
        return [_renamed(item, names) for item in value]
    if isinstance(value, Mapping):
        return {names.get(name, name): _renamed(item, names) for name, item in value.items()}
    return value


def pack(build: Mapping[str, object]) -> str:
    """Return a build as it stands in a link.

    >>> unpack(pack({"title": "Lamp", "lights": []}))
    {'title': 'Lamp', 'lights': []}
    """
    text = json.dumps(_renamed(build, SHORT), ensure_ascii=False, separators=(",", ":"))
    deflate = zlib.compressobj(9, zlib.DEFLATED, -15)
    packed = deflate.compress(text.encode()) + deflate.flush()
    return base64.urlsafe_b64encode(packed).decode().rstrip("=")


def unpack(packed: str) -> dict[str, object]:
    """Return the build in a link.

    Raises
    ------
    QuantityError
        If it was cut short, edited or is no build.
    """
    broken = QuantityError(
        "this link holds no build that can be read", "perhaps a part of it is missing: copy the whole link"
    )
    try:
        raw = base64.b64decode(packed + "=" * (-len(packed) % 4), altchars=b"-_", validate=True)
        inflate = zlib.decompressobj(-15)
        text = inflate.decompress(raw, 4 * LIMIT)
        if inflate.unconsumed_tail or not inflate.eof or inflate.unused_data or len(text.decode()) > LIMIT:
            raise broken
        build = _renamed(json.loads(text), LONG)
    except (binascii.Error, zlib.error, ValueError, RecursionError) as error:
        raise broken from error
    if not isinstance(build, dict) or not isinstance(build.get("lights"), list):
        raise broken
    return build


def link_of(address: str, ask: BuildAsk) -> str:
    """Return the link that opens a build on the calculator page at an address."""
    return f"{address.rstrip('/')}/#b={pack(carried(ask))}"


def read_link(text: str) -> dict[str, object] | None:
    """Return the build in a text that is such a link, None where it is none.

    >>> read_link("examples/moth_wings.json") is None
    True
    """
    found = _LINK.search(text)
    return unpack(found[1]) if found else None


@cache
def file_name(title: str) -> str:
    """Return the file name a build is kept under.

    >>> file_name("Miner's lamp"), file_name("…")
    ('miners_lamp.json', 'build.json')
    """
    words = re.findall(r"[a-z0-9]+", re.sub("['\u2019]", "", title.lower()))
    return ("_".join(words)[:40] or "build") + ".json"
