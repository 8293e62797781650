"""Turn what was loaded into the planner's asks, and fill in the defaults an answer repeats.

Each ``*_ask`` takes the loaded members (stems, public units), returns a frozen ask (inner units) and adds
to the members what the planner was told beyond them, so that ``inputs`` changes nothing silently and can
be sent again for the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from lampwright.contract import bounds
from lampwright.contract.pieces import LED_FIGURES, build_defaults
from lampwright.contract.slips import (
    check_fuse,
    check_light,
    check_printed,
    check_readings,
    check_sold,
    check_supply,
    within,
)
from lampwright.errors import ContradictionError
from lampwright.planner.catalogue import led_from_figures, led_from_part
from lampwright.planner.models.build import BuildAsk, FuseWishes, ResistorWishes, Usage, WireWishes
from lampwright.planner.models.circuits import (
    ArrangementAsk,
    CircuitAsk,
    Feed,
    IdentificationAsk,
    LightGroup,
    MeterReading,
    ResistorAsk,
    StringAsk,
)
from lampwright.planner.models.comparison import BuildComparisonAsk
from lampwright.planner.models.diagnosis import DiagnosisAsk, Reading
from lampwright.planner.models.energy import RuntimeAsk, SupplyChoiceAsk
from lampwright.planner.models.parts import Led, Supply
from lampwright.planner.models.refit import LogFitAsk
from lampwright.planner.models.wiring import FuseAsk, WireAsk
from lampwright.planner.supplies import supply_from_battery, supply_from_part, supply_from_voltage
from lampwright.quantities import json_name, unit_of
from lampwright.tables.batteries import figures_of

Loaded = dict[str, Any]

#: Watts of a resistor whose value was sent without them: the size everybody has.
USUAL_WATTS = 0.25


def inner(stem: str, value: Any) -> Any:
    """Return a public number, or a list of them, in the inner unit."""
    unit = unit_of(stem)
    if unit is None or value is None:
        return value
    if isinstance(value, list):
        return tuple(unit.inner(item) for item in value)
    return unit.inner(value)


def outer(stem: str, value: Any) -> Any:
    """Return an inner value in the public unit."""
    unit = unit_of(stem)
    return value if unit is None or value is None else unit.outer(value)


def picked(loaded: Mapping[str, Any], stems: Iterable[str]) -> dict[str, Any]:
    """Return those of some members that are there, in inner units."""
    return {stem: inner(stem, loaded[stem]) for stem in stems if stem in loaded}


_BY_VOLTAGE = (
    "supply_voltage",
    "supply_voltage_min",
    "supply_voltage_max",
    "source_resistance",
    "current_limit",
)
_BY_BATTERY = ("battery", "cells_in_series", "packs_in_parallel", "capacity", "supply_voltage_max")


def read_supply(loaded: Loaded) -> Supply:
    """Return the supply that some members describe."""
    if "battery" in loaded:
        supply = supply_from_battery(**picked(loaded, _BY_BATTERY))
        loaded.setdefault("cells_in_series", 1)
        loaded.setdefault("packs_in_parallel", 1)
        return supply
    if isinstance(loaded.get("supply"), str):
        return supply_from_part(loaded["supply"])
    supply = supply_from_voltage(**picked(loaded, _BY_VOLTAGE))
    loaded.setdefault("supply_voltage_min", loaded["supply_voltage"])
    loaded.setdefault("supply_voltage_max", loaded["supply_voltage"])
    loaded.setdefault("source_resistance", 0.0)
    return supply


def named_inside(loaded: Mapping[str, Any]) -> dict[str, Any]:
    """Return loaded members under their public names."""
    return {json_name(stem): value for stem, value in loaded.items()}


_FIGURES = (*LED_FIGURES, "max_forward_current")


def _from_figures(loaded: Loaded) -> Led:
    """Return a light by its figures; odd ones are likelier a slip than a marvel."""
    check_light(loaded)
    led = led_from_figures(**picked(loaded, _FIGURES))
    for stem in _FIGURES:
        value = getattr(led, stem)
        # A hidden resistor that was worked out is an answer, not an input.
        if stem not in loaded and stem != "built_in_resistance" and value not in (None, ""):
            loaded[stem] = outer(stem, value)
    return replace(led, as_sent=named_inside(loaded))


def read_led(value: str | Loaded) -> Led:
    """Return a light by its id, or by the figures in an object."""
    return led_from_part(value) if isinstance(value, str) else _from_figures(value)


def _flat_led(loaded: Loaded) -> Led:
    """Return a light whose figures stand flat among other members."""
    figures = {stem: loaded[stem] for stem in _FIGURES if stem in loaded}
    check_light(loaded)
    led = _from_figures(figures)
    loaded.update(figures)
    return led


def _led_within(loaded: Loaded) -> Led:
    """Return the light that is a member of some object."""
    if isinstance(loaded["led"], str):
        return led_from_part(loaded["led"])
    with within("led"):
        return read_led(loaded["led"])


def _strings(loaded: Loaded) -> tuple[StringAsk, ...]:
    """Return the strings of a request."""
    found = []
    for at, entry in enumerate(loaded.get("strings", ())):
        with within("strings", at):
            found.append(read_string(entry))
    return tuple(found)


def _lights_of(strings: list[Loaded]) -> Iterator[tuple[str, object]]:
    """Return every light of some strings with its place."""
    for at, entry in enumerate(strings):
        yield f"strings.{at}.led.", entry.get("led")
        for index, led in enumerate(entry.get("leds", ())):
            yield f"strings.{at}.leds.{index}.", led


def _capped(led: Led, loaded: Loaded) -> Led:
    """Return a light with the limit sent beside it."""
    if "max_forward_current" not in loaded:
        return led
    limit = inner("max_forward_current", loaded["max_forward_current"])
    if limit < led.rated_current:
        raise ContradictionError(
            "max_forward_current",
            f"the limit is below the light's rated current, {led.rated_current * 1000:g} mA",
            "send a limit of at least the rated current, or the light's own figures",
        )
    return replace(led, max_forward_current=limit)


def read_string(loaded: Loaded) -> StringAsk:
    """Return a string; a resistor that was sent has the usual watts unless told otherwise."""
    if "leds" in loaded:
        found = []
        for at, item in enumerate(loaded["leds"]):
            with within("leds", at):
                found.append(read_led(item))
        leds = tuple(_capped(led, loaded) for led in found)
    else:
        led = _led_within(loaded) if "led" in loaded else _flat_led(loaded)
        leds = (_capped(led, loaded),) * loaded.setdefault("series_count", 1)
    turned = tuple(loaded.get("reversed", ()))
    for index in turned:
        if index >= len(leds):
            raise ContradictionError("reversed", f"there is no light {index} in this row", "count from 0")
    if loaded.get("resistance"):
        loaded.setdefault("rated_dissipation", USUAL_WATTS)
    return StringAsk(
        leds,
        loaded.get("resistance"),
        inner("tolerance", loaded["tolerance"]),
        loaded.get("rated_dissipation"),
        loaded["branch_count"],
        turned,
        inner("forward_current", loaded.get("forward_current")),
        "leds" in loaded,
    )


def resistor_ask(loaded: Loaded) -> ResistorAsk:
    """Return the ask of ``/v1/series-resistors``."""
    check_supply(loaded, "", _flat_lights(loaded))
    string = read_string(loaded)
    if "forward_current" not in loaded:
        loaded["forward_current"] = outer("rated_current", min([led.rated_current for led in string.leds]))
    return ResistorAsk(
        read_supply(loaded),
        string,
        loaded["e_series"],
        _floats(loaded.get("on_hand_resistance")),
        loaded["ambient_temperature"],
    )


def _flat_lights(loaded: Loaded) -> Iterator[tuple[str, object]]:
    """Return the lights of a flat request with their places."""
    yield "", loaded
    yield "led.", loaded.get("led")
    for at, led in enumerate(loaded.get("leds", ())):
        yield f"leds.{at}.", led
    for at, entry in enumerate(loaded.get("lights", ())):
        yield f"lights.{at}.led.", entry["led"]


def _floats(values: list[float] | None) -> tuple[float, ...] | None:
    return None if values is None else tuple(values)


def _lights(entries: list[Loaded]) -> tuple[LightGroup, ...]:
    groups = []
    for at, entry in enumerate(entries):
        with within("lights", at):
            led = _led_within(entry)
        groups.append(
            LightGroup(
                name=entry["name"],
                led=led,
                count=entry["count"],
                place=f"lights.{at}",
                **picked(entry, ("forward_current", "run_length", "dim_to")),
            )
        )
        entry.setdefault("forward_current", outer("rated_current", led.rated_current))
    return tuple(groups)


def arrangement_ask(loaded: Loaded) -> ArrangementAsk:
    """Return the ask of ``/v1/arrangements``."""
    check_supply(loaded, "", _flat_lights(loaded))
    if "lights" in loaded:
        lights = _lights(loaded["lights"])
    else:
        led = _capped(_led_within(loaded) if "led" in loaded else _flat_led(loaded), loaded)
        current = inner("forward_current", loaded.get("forward_current"))
        lights = (LightGroup(name=led.name, led=led, count=loaded["count"], forward_current=current),)
        loaded.setdefault("forward_current", outer("rated_current", led.rated_current))
    return ArrangementAsk(
        supply=read_supply(loaded),
        lights=lights,
        mix_colours=loaded["mix_colours"],
        e_series=loaded["e_series"],
        tolerance=inner("tolerance", loaded["tolerance"]),
        rated_dissipation=loaded.get("rated_dissipation"),
        on_hand=_floats(loaded.get("on_hand_resistance")),
        ambient_temperature=loaded["ambient_temperature"],
    )


_WIRE = (
    "current",
    "run_length",
    "supply_voltage",
    "max_drop",
    "bundled_count",
    "insulation",
    "flexing",
    "enclosed",
    "awg",
    "conductor_area",
    "ampacity_rule",
    "core",
    "ambient_temperature",
)


def _gauges(loaded: Loaded) -> tuple[int, ...] | None:
    found = loaded.get("on_hand_awg")
    return None if found is None else tuple(found)


def wire_ask(loaded: Loaded) -> WireAsk:
    """Return the ask of ``/v1/wires``."""
    return WireAsk(**picked(loaded, _WIRE), on_hand_awg=_gauges(loaded))


_FUSE = (
    "current",
    "awg",
    "conductor_area",
    "run_length",
    "bundled_count",
    "insulation",
    "enclosed",
    "ampacity_rule",
    "short_circuit_current",
    "inrush",
    "style",
    "rated_current",
    "ambient_temperature",
)


def fuse_ask(loaded: Loaded) -> FuseAsk:
    """Return the ask of ``/v1/fuses``; its supply is optional."""
    check_fuse(loaded.get("rated_current"))
    named = any(stem in loaded for stem in ("battery", "supply", "supply_voltage"))
    return FuseAsk(**picked(loaded, _FUSE), supply=read_supply(loaded) if named else None)


def circuit_ask(loaded: Loaded) -> CircuitAsk:
    """Return the ask of ``/v1/circuit-checks``."""
    wire, fuse, feed = loaded.get("wire"), loaded.get("fuse"), loaded.get("feed")
    check_supply(loaded, "", _lights_of(loaded["strings"]))
    if fuse is not None:
        with within("fuse"):
            check_fuse(fuse["rated_current"])
    return CircuitAsk(
        supply=read_supply(loaded),
        strings=_strings(loaded),
        shared_resistance=loaded["shared_resistance"],
        feed=None if feed is None else Feed(**feed),
        wire_awg=None if wire is None else wire["awg"],
        wire_run_length=None if wire is None else wire["run_length"],
        fuse_rated_current=None if fuse is None else inner("rated_current", fuse["rated_current"]),
        fuse_style=None if fuse is None else fuse.get("style"),
        ambient_temperature=loaded["ambient_temperature"],
    )


_RUNTIME = (
    "load_current",
    "load_power",
    "load_resistance",
    "duty",
    "hours_per_day",
    "stop_at_brightness",
    "stop_at",
    "wake_current",
    "converter",
    "converter_voltage",
    "converter_efficiency",
    "dropout_voltage",
    "hours_wanted",
    "air_travel",
    "age_years",
    "start_clock",
    "ambient_temperature",
)


def runtime_ask(loaded: Loaded) -> RuntimeAsk:
    """Return the ask of ``/v1/runtimes``."""
    from lampwright.planner.lasting import usual_wake_current

    kind = loaded.get("converter")
    if kind is not None:
        from lampwright.planner.feeding import USUAL_DROPOUT, USUAL_EFFICIENCY

        loaded.setdefault("converter_efficiency", outer("converter_efficiency", USUAL_EFFICIENCY[kind]))
        loaded.setdefault("dropout_voltage", USUAL_DROPOUT[kind])
    supply = read_supply(loaded)
    wake = usual_wake_current(figures_of(supply.battery))
    if wake is not None:
        loaded.setdefault("wake_current", outer("wake_current", wake))
    return RuntimeAsk(supply=supply, strings=_strings(loaded), **picked(loaded, _RUNTIME))


_USAGE = (
    "hours_wanted",
    "duty",
    "hours_per_day",
    "air_travel",
    "flash_rate",
    "worn",
    "start_clock",
)
_WISHES = ("max_drop", "flexing", "enclosed", "bundled_count", "insulation")


def _fuse_wishes(fuse: Loaded) -> FuseWishes:
    """Return the fuse a build names, refused where no such rating is sold."""
    wishes = FuseWishes(**picked(fuse, ("rated_current", "style")))
    if wishes.rated_current:
        from lampwright.planner.fuse_window import sold_ratings

        with within("fuse"):
            check_fuse(fuse["rated_current"])
            check_sold(fuse["rated_current"], sold_ratings(wishes.style))
    return wishes


def build_ask(loaded: Loaded) -> BuildAsk:
    """Return the ask of ``/v1/build-sheets``."""
    from lampwright.planner.sheet import DEFAULT_RUN

    for member, defaults in build_defaults().items():
        loaded.setdefault(member, dict(defaults))
    resistors, wire, usage = (loaded[member] for member in ("resistors", "wire", "usage"))
    supply = loaded["supply"]
    if not isinstance(supply, str):
        check_supply(supply, "supply.", _flat_lights({"lights": loaded["lights"]}))
    with within("supply"):
        source = supply_from_part(supply) if isinstance(supply, str) else read_supply(supply)
    ask = BuildAsk(
        title=loaded["title"],
        supply=source,
        lights=_lights(loaded["lights"]),
        resistors=ResistorWishes(
            **picked(resistors, ("e_series", "tolerance", "rated_dissipation")),
            on_hand=_floats(resistors.get("on_hand_resistance")),
        ),
        wire=WireWishes(**picked(wire, _WISHES), on_hand_awg=_gauges(wire)),
        usage=Usage(**picked(usage, _USAGE)),
        fuse=_fuse_wishes(loaded.get("fuse", {})),
        mix_colours=loaded["mix_colours"],
        ambient_temperature=loaded["ambient_temperature"],
    )
    # Told only now: the sheet says which runs nobody gave.
    for light in loaded["lights"]:
        light.setdefault("run_length", DEFAULT_RUN)
    return ask


def supply_choice_ask(loaded: Loaded) -> SupplyChoiceAsk:
    """Return the ask of ``/v1/supply-choices``."""
    return SupplyChoiceAsk(
        lights=_lights(loaded.get("lights", [])),
        **picked(
            loaded,
            (
                "hours_wanted",
                "load_current",
                "supply_voltage",
                "duty",
                "mass_limit",
                "air_travel",
                "ambient_temperature",
            ),
        ),
    )


_IDENTIFY = (
    "rated_voltage",
    "rated_voltage_min",
    "rated_voltage_max",
    "rated_current",
    "colour",
    "supply_voltage",
    "ambient_temperature",
)


def identification_ask(loaded: Loaded) -> IdentificationAsk:
    """Return the ask of ``/v1/light-identifications``."""
    check_printed(loaded)
    if "readings" in loaded:
        check_readings(loaded["readings"], loaded.get("rated_voltage_max", loaded.get("rated_voltage")))
    readings = tuple(
        MeterReading(**picked(entry, ("voltage", "current"))) for entry in loaded.get("readings", ())
    )
    led = _led_within(loaded) if "led" in loaded else None
    return IdentificationAsk(readings=readings, led=led, **picked(loaded, _IDENTIFY))


def _bench_readings(loaded: Loaded) -> tuple[Reading, ...]:
    return tuple(
        Reading(check=entry["check"], **picked(entry, ("voltage", "current")))
        for entry in loaded.get("readings", ())
    )


def _same_air(loaded: Loaded, inside: Loaded) -> None:
    """Have the air of a question and that of the build or circuit in it be one.

    Raises
    ------
    ContradictionError
        If both were sent and differ.
    """
    given, there = loaded.get("ambient_temperature"), inside["ambient_temperature"]
    if given is None:
        loaded["ambient_temperature"] = there
        return
    if there not in (given, bounds.ROOM):
        raise ContradictionError(
            "ambient_temperature", f"{given:g} °C here and {there:g} °C inside", "send one temperature"
        )
    inside["ambient_temperature"] = given


def diagnosis_ask(loaded: Loaded) -> DiagnosisAsk:
    """Return the ask of ``/v1/diagnoses``."""
    build, circuit = loaded.get("build"), loaded.get("circuit")
    _same_air(loaded, loaded["build" if build is not None else "circuit"])
    with within("build"):
        built = None if build is None else build_ask(build)
    with within("circuit"):
        existing = None if circuit is None else circuit_ask(circuit)
    return DiagnosisAsk(
        build=built,
        circuit=existing,
        readings=_bench_readings(loaded),
        signs=tuple(loaded.get("signs", ())),
    )


def _build_within(loaded: Loaded, member: str) -> BuildAsk:
    """Return a build that is a member; what is wrong with it is told from the top of the request."""
    with within(member):
        return build_ask(loaded[member])


def build_comparison_ask(loaded: Loaded) -> BuildComparisonAsk:
    """Return the ask of ``/v1/build-comparisons``."""
    return BuildComparisonAsk(_build_within(loaded, "before"), _build_within(loaded, "after"))


def log_fit_ask(loaded: Loaded) -> LogFitAsk:
    """Return the ask of ``/v1/log-fits``."""
    return LogFitAsk(_build_within(loaded, "build"), _bench_readings(loaded))
