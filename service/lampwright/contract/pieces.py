"""What asks are made of: lights, supplies, rows, readings; each a schema of its own."""

from __future__ import annotations

from functools import cache
from typing import Any, ClassVar

from lampwright.contract import bounds, words
from lampwright.contract.asking import AskSchema, Groups, Owners, Rivals
from lampwright.contract.fields import (
    ABOVE_60,
    HIGHEST_VOLTS,
    Clock,
    Count,
    Flag,
    Many,
    PartOr,
    Plain,
    Quantity,
    Text,
    Word,
)
from lampwright.tables.resistors import E_SERIES


class LedFiguresFields(AskSchema):
    """The figures of a light, wherever they stand."""

    forward_voltage = Quantity("v", 0.8, 12)
    forward_voltage_min = Quantity("v", 0.5, 12)
    forward_voltage_max = Quantity("v", 0.8, 13)
    rated_current = bounds.led_current()
    max_forward_current = bounds.led_current()
    max_reverse_voltage = Quantity("v", 0, 60)
    ideality = Plain(1, 10)
    series_resistance = Quantity("ohm", 0, 1000)
    reference_temperature = Quantity("degc", -40, 125)
    colour = Word(words.colours, "colour")
    built_in_resistance = bounds.ohms()
    rated_voltage = bounds.volts()
    rated_voltage_min = bounds.volts()
    rated_voltage_max = bounds.volts()
    built_in_series_count = Count(1, 20)


class LedSchema(LedFiguresFields):
    """A light described by its figures: one LED, or a pre-wired light."""

    document_name = "Led"
    any_of: ClassVar[Groups] = (("forward_voltage", "built_in_resistance", "rated_voltage"),)
    ascending: ClassVar[Groups] = (
        ("forward_voltage_min", "forward_voltage", "forward_voltage_max"),
        ("rated_voltage_min", "rated_voltage", "rated_voltage_max"),
        ("rated_current", "max_forward_current"),
    )
    needs: ClassVar[Owners] = {
        "forward_voltage_min": ("forward_voltage",),
        "forward_voltage_max": ("forward_voltage",),
        "rated_voltage_min": ("rated_voltage",),
        "rated_voltage_max": ("rated_voltage",),
    }
    swapped = (("forward_voltage", "rated_current"),)


@cache
def led_schema() -> LedSchema:
    """Return the one schema of a light's figures."""
    return LedSchema()


LED_FIGURES = (
    "forward_voltage",
    "forward_voltage_min",
    "forward_voltage_max",
    "rated_current",
    "max_reverse_voltage",
    "ideality",
    "series_resistance",
    "reference_temperature",
    "colour",
    "built_in_resistance",
    "rated_voltage",
    "rated_voltage_min",
    "rated_voltage_max",
    "built_in_series_count",
)


def light(**settings: Any) -> PartOr:
    """Return a light: a part, or its figures."""
    return PartOr(words.leds, led_schema, "light", **settings)


class SupplyFields(AskSchema):
    """A supply by its volts or by a battery."""

    any_of: ClassVar[Groups] = (("supply_voltage", "battery"),)
    never_both: ClassVar[Rivals] = (
        ("battery", ("supply_voltage", "supply_voltage_min", "source_resistance", "current_limit")),
    )
    needs: ClassVar[Owners] = {
        "cells_in_series": ("battery",),
        "packs_in_parallel": ("battery",),
        "capacity": ("battery",),
        "supply_voltage_min": ("supply_voltage",),
        "supply_voltage_max": ("supply_voltage", "battery"),
        "source_resistance": ("supply_voltage",),
        "current_limit": ("supply_voltage",),
    }
    ascending: ClassVar[Groups] = (("supply_voltage_min", "supply_voltage", "supply_voltage_max"),)

    supply_voltage = bounds.volts()
    supply_voltage_min = bounds.volts()
    supply_voltage_max = bounds.volts()
    source_resistance = bounds.ohms()
    current_limit = Quantity("ma", 0.1, 500_000)
    battery = Word(words.batteries, "battery")
    cells_in_series = bounds.cells()
    packs_in_parallel = bounds.cells()
    capacity = bounds.capacity()


class SupplySchema(SupplyFields):
    """A supply: by its volts, by a battery, or by a part."""

    any_of: ClassVar[Groups] = (("supply_voltage", "battery", "supply"),)
    never_both: ClassVar[Rivals] = (
        *SupplyFields.never_both,
        ("supply", ("supply_voltage", "battery", "supply_voltage_min", "source_resistance", "current_limit")),
    )

    supply = Word(words.supplies, "supply")


class BuildSupplySchema(SupplyFields):
    """The supply of a build, an object of its own."""

    document_name = "BuildSupply"


SUPPLY = ("supply_voltage", "battery", "supply")


class FlatSchema(SupplySchema):
    """Base of the calculations whose supply stands flat beside their own members."""

    ambient_temperature = bounds.ambient()


class ResistorWishesFields(AskSchema):
    """What resistors there are to choose from."""

    e_series = Word(E_SERIES, "series of preferred values", load_default="E24")
    tolerance = bounds.tolerance()
    rated_dissipation = bounds.watts()
    on_hand_resistance = Many(bounds.ohms(0.01), 1, 60)


class LightSchema(AskSchema):
    """Some equal lights of a build."""

    document_name = "Light"

    name = Text(60, required=True)
    led = light(required=True)
    count = Count(required=True)
    forward_current = bounds.led_current()
    run_length = bounds.run_length()
    dim_to = bounds.share(1, 100)


@cache
def light_schema() -> LightSchema:
    """Return the one schema of some equal lights."""
    return LightSchema()


class StringSchema(AskSchema):
    """A string as it is built: lights from plus, and its resistor."""

    document_name = "String"
    any_of: ClassVar[Groups] = (("led", "leds"),)
    never_both: ClassVar[Rivals] = (("leds", ("led", "series_count")),)

    led = light()
    leds = Many(light(), 1, 200)
    series_count = Count()
    forward_current = bounds.led_current()
    resistance = bounds.ohms()
    tolerance = bounds.tolerance()
    rated_dissipation = bounds.watts()
    branch_count = Count(load_default=1)
    reversed = Many(Count(0, 9999), 0, 200)


@cache
def string_schema() -> StringSchema:
    """Return the one schema of a string."""
    return StringSchema()


class FeedSchema(AskSchema):
    """A two-wire feed; loop resistances, out and back."""

    document_name = "Feed"

    lead_loop = bounds.ohms(load_default=0.0)
    segment_loop = bounds.ohms(load_default=0.0)
    far_end_lead_loop = bounds.ohms()


class CircuitWireSchema(AskSchema):
    """The wire of a circuit."""

    document_name = "CircuitWire"

    awg = bounds.awg(required=True)
    run_length = bounds.metres(required=True)


class CircuitFuseSchema(AskSchema):
    """The fuse of a circuit."""

    document_name = "CircuitFuse"

    rated_current = bounds.fuse_rating(required=True)
    style = Word(words.fuse_styles, "style of fuse")


class BuildFuseSchema(AskSchema):
    """The fuse a build has: kept and judged; left out, one is found where one is needed."""

    document_name = "BuildFuse"

    rated_current = bounds.fuse_rating()
    style = Word(words.fuse_styles, "style of fuse")


class BuildResistorsSchema(ResistorWishesFields):
    """What resistors a build may use."""

    document_name = "BuildResistors"


class BuildWireSchema(AskSchema):
    """What wire a build may use, and where it goes."""

    document_name = "BuildWire"

    on_hand_awg = Many(bounds.awg(), 1, 40)
    max_drop = bounds.allowed_drop()
    flexing = Flag(load_default=False)
    enclosed = Flag(load_default=False)
    bundled_count = bounds.bundled()
    insulation = bounds.insulation()


class UsageSchema(AskSchema):
    """How a build is used."""

    document_name = "Usage"

    hours_wanted = bounds.event()
    duty = bounds.duty()
    hours_per_day = bounds.daily()
    air_travel = Flag(load_default=False)
    flash_rate = Quantity("hz", 0, 100_000)
    worn = Flag(load_default=False)
    start_clock = Clock()


@cache
def build_defaults() -> dict[str, dict[str, Any]]:
    """Return what a build takes for granted about resistors, wire and use."""
    kinds = {"resistors": BuildResistorsSchema, "wire": BuildWireSchema, "usage": UsageSchema}
    return {member: kind().load({}) for member, kind in kinds.items()}


class ReadingSchema(AskSchema):
    """One meter reading of a pre-wired light."""

    document_name = "MeterReading"
    swapped = (("voltage", "current"),)

    voltage = Quantity("v", 0, HIGHEST_VOLTS, why_high=ABOVE_60, required=True)
    current = Quantity("ma", 0, 5000, required=True)


class BenchReadingSchema(AskSchema):
    """One reading at a test point of a sheet."""

    document_name = "BenchReading"
    any_of: ClassVar[Groups] = (("voltage", "current"),)
    never_both: ClassVar[Rivals] = (("voltage", ("current",)),)

    check = Text(40, required=True)
    voltage = Quantity("v", -HIGHEST_VOLTS, HIGHEST_VOLTS, why_high=ABOVE_60)
    current = Quantity("ma", -50_000, 50_000)
