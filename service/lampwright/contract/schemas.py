"""What may be asked: one schema per calculation, with bounds, defaults and words.

Field names are stems; the JSON name and unit follow from the glossary. A schema loads JSON into a dict of
stems whose numbers still have their public units, so that an answer can repeat what was understood to the
last bit. GET, POST and table rows share these schemas.
"""

from __future__ import annotations

from typing import ClassVar

from lampwright.contract import bounds, words
from lampwright.contract.asking import AskSchema, Groups, Owners, Rivals
from lampwright.contract.fields import Clock, Count, Flag, Inner, Many, PartOr, Plain, Quantity, Text, Word
from lampwright.contract.pieces import (
    LED_FIGURES,
    SUPPLY,
    BenchReadingSchema,
    BuildFuseSchema,
    BuildResistorsSchema,
    BuildSupplySchema,
    BuildWireSchema,
    CircuitFuseSchema,
    CircuitWireSchema,
    FeedSchema,
    FlatSchema,
    LedFiguresFields,
    LedSchema,
    ReadingSchema,
    ResistorWishesFields,
    SupplySchema,
    UsageSchema,
    light,
    light_schema,
    string_schema,
)


class SeriesResistorsSchema(FlatSchema, LedFiguresFields, ResistorWishesFields):
    """Which resistor for this string, or how this one does."""

    document_name = "SeriesResistorsAsk"
    any_of: ClassVar[Groups] = (
        SUPPLY,
        ("led", "leds", "forward_voltage", "built_in_resistance", "rated_voltage"),
    )
    never_both: ClassVar[Rivals] = (
        *SupplySchema.never_both,
        ("leds", ("led", "series_count", *LED_FIGURES)),
        ("led", LED_FIGURES),
    )
    ascending: ClassVar[Groups] = (*SupplySchema.ascending, *LedSchema.ascending[:2])
    needs: ClassVar[Owners] = {
        **SupplySchema.needs,
        **LedSchema.needs,
        "reversed": ("led", "leds", "forward_voltage"),
    }
    swapped = (
        ("forward_voltage", "rated_current"),
        ("forward_voltage", "forward_current"),
        ("supply_voltage", "forward_current"),
        ("supply_voltage", "forward_voltage"),
    )

    led = light()
    leds = Many(light(), 1, 200)
    series_count = Count()
    forward_current = bounds.led_current()
    resistance = bounds.ohms()
    branch_count = Count(load_default=1)
    reversed = Many(Count(0, 9999), 0, 200)


class ArrangementsSchema(FlatSchema, LedFiguresFields, ResistorWishesFields):
    """How to split lights into strings."""

    document_name = "ArrangementsAsk"
    any_of: ClassVar[Groups] = (
        SUPPLY,
        ("lights", "led", "forward_voltage", "built_in_resistance", "rated_voltage"),
        ("count", "lights"),
    )
    never_both: ClassVar[Rivals] = (
        *SupplySchema.never_both,
        ("lights", ("led", "count", "forward_current", "max_forward_current", *LED_FIGURES)),
        ("led", LED_FIGURES),
    )
    ascending: ClassVar[Groups] = (*SupplySchema.ascending, *LedSchema.ascending[:2])
    needs: ClassVar[Owners] = {**SupplySchema.needs, **LedSchema.needs}
    swapped = SeriesResistorsSchema.swapped

    lights = Many(Inner(light_schema), 1, 24)
    led = light()
    count = Count()
    forward_current = bounds.led_current()
    mix_colours = Flag(load_default=False)


class WiresSchema(AskSchema):
    """Which wire for this current and run, or how this one does."""

    document_name = "WiresAsk"
    never_both: ClassVar[Rivals] = (("on_hand_awg", ("awg", "conductor_area")),)
    swapped = (("current", "supply_voltage"), ("run_length", "supply_voltage"))

    current = bounds.load_current(required=True)
    run_length = bounds.run_length(required=True)
    supply_voltage = bounds.volts(required=True)
    max_drop = bounds.allowed_drop()
    bundled_count = bounds.bundled()
    insulation = bounds.insulation()
    flexing = Flag(load_default=False)
    enclosed = Flag(load_default=False)
    on_hand_awg = Many(bounds.awg(), 1, 40)
    awg = bounds.awg()
    conductor_area = bounds.area()
    ampacity_rule = bounds.ampacity_rule()
    core = Word(words.cores, "core of a wire")
    ambient_temperature = bounds.ambient()


class FusesSchema(FlatSchema):
    """Which fuse, or how this one does."""

    document_name = "FusesAsk"
    any_of: ClassVar[Groups] = ()
    never_both: ClassVar[Rivals] = SupplySchema.never_both

    current = bounds.load_current(required=True)
    awg = bounds.awg()
    conductor_area = bounds.area()
    run_length = bounds.metres()
    bundled_count = bounds.bundled()
    insulation = bounds.insulation()
    enclosed = Flag(load_default=False)
    ampacity_rule = bounds.ampacity_rule()
    short_circuit_current = Quantity("ma", 1, 5_000_000)
    inrush = Quantity("ma", 0.1, 5_000_000)
    style = Word(words.fuse_styles, "style of fuse")
    rated_current = bounds.fuse_rating()


class CircuitChecksSchema(FlatSchema):
    """How a circuit that exists does."""

    document_name = "CircuitChecksAsk"
    any_of: ClassVar[Groups] = (SUPPLY,)

    strings = Many(Inner(string_schema), 1, 100, required=True)
    shared_resistance = bounds.ohms(load_default=0.0)
    feed = Inner(FeedSchema)
    wire = Inner(CircuitWireSchema)
    fuse = Inner(CircuitFuseSchema)


LOADS = ("load_current", "load_power", "load_resistance", "strings")
CONVERTERS = ("boost", "buck", "linear")


class RuntimesSchema(AskSchema):
    """How long a battery lasts."""

    document_name = "RuntimesAsk"
    any_of: ClassVar[Groups] = (LOADS,)
    never_both: ClassVar[Rivals] = tuple((one, LOADS[at + 1 :]) for at, one in enumerate(LOADS[:-1]))
    needs: ClassVar[Owners] = dict.fromkeys(
        ("converter_voltage", "converter_efficiency", "dropout_voltage"), ("converter",)
    )

    battery = Word(words.batteries, "battery", required=True)
    cells_in_series = bounds.cells(load_default=1)
    packs_in_parallel = bounds.cells(load_default=1)
    capacity = bounds.capacity()
    supply_voltage_max = bounds.volts()
    load_current = bounds.load_current()
    load_power = Quantity("w", 0.00001, 10_000)
    load_resistance = bounds.ohms(0.01)
    strings = Many(Inner(string_schema), 1, 100)
    duty = bounds.duty()
    hours_per_day = bounds.daily()
    stop_at_brightness = bounds.share(1, 100, load_default=50.0)
    stop_at = bounds.volts()
    wake_current = Quantity("ma", 0, 50_000)
    converter = Word(CONVERTERS, "converter")
    converter_voltage = bounds.volts()
    converter_efficiency = bounds.share(10, 100)
    dropout_voltage = Quantity("v", 0, 10)
    hours_wanted = bounds.event()
    air_travel = Flag(load_default=False)
    age_years = Plain(0, 30, load_default=0.0)
    start_clock = Clock()
    ambient_temperature = bounds.ambient()


class BuildSheetsSchema(AskSchema):
    """A whole build in plain terms."""

    document_name = "BuildSheetsAsk"

    title = Text(120, required=True)
    supply = PartOr(words.supplies, BuildSupplySchema, "supply", required=True)
    lights = Many(Inner(light_schema), 1, 24, required=True)
    resistors = Inner(BuildResistorsSchema)
    wire = Inner(BuildWireSchema)
    fuse = Inner(BuildFuseSchema)
    usage = Inner(UsageSchema)
    mix_colours = Flag(load_default=False)
    ambient_temperature = bounds.ambient()


class SupplyChoicesSchema(AskSchema):
    """Which supply for these lights, or this load, and these hours."""

    document_name = "SupplyChoicesAsk"
    any_of: ClassVar[Groups] = (("lights", "load_current"), ("supply_voltage", "lights"))
    never_both: ClassVar[Rivals] = (("lights", ("load_current", "supply_voltage")),)
    swapped = (("load_current", "supply_voltage"),)

    lights = Many(Inner(light_schema), 1, 24)
    load_current = bounds.load_current()
    supply_voltage = bounds.volts()
    hours_wanted = bounds.event(required=True)
    duty = bounds.duty()
    mass_limit = Quantity("g", 0.5, 100_000)
    air_travel = Flag(load_default=False)
    ambient_temperature = bounds.ambient()


class IdentificationsSchema(AskSchema):
    """What is inside a pre-wired light."""

    document_name = "LightIdentificationsAsk"
    any_of: ClassVar[Groups] = (("readings", "rated_voltage"), ("rated_current", "readings"))
    ascending: ClassVar[Groups] = (("rated_voltage_min", "rated_voltage", "rated_voltage_max"),)
    needs: ClassVar[Owners] = {
        "rated_voltage_min": ("rated_voltage",),
        "rated_voltage_max": ("rated_voltage",),
    }
    swapped = (("rated_voltage", "rated_current"),)

    readings = Many(Inner(ReadingSchema), 1, 50)
    rated_voltage = bounds.volts()
    rated_voltage_min = bounds.volts()
    rated_voltage_max = bounds.volts()
    rated_current = bounds.led_current()
    colour = Word(words.colours, "colour")
    supply_voltage = bounds.volts()
    led = light()
    ambient_temperature = bounds.ambient()


class DiagnosesSchema(AskSchema):
    """What is wrong with a build, given readings or signs."""

    document_name = "DiagnosesAsk"
    any_of: ClassVar[Groups] = (("build", "circuit"), ("readings", "signs"))
    never_both: ClassVar[Rivals] = (("build", ("circuit",)),)

    build = Inner(BuildSheetsSchema)
    circuit = Inner(CircuitChecksSchema)
    readings = Many(Inner(BenchReadingSchema), 1, 40)
    signs = Many(Text(40), 1, 20)
    ambient_temperature = bounds.air()


class BuildComparisonsSchema(AskSchema):
    """Two versions of a build: as it was, and as it is to be."""

    document_name = "BuildComparisonsAsk"

    before = Inner(BuildSheetsSchema, required=True)
    after = Inner(BuildSheetsSchema, required=True)


class LogFitsSchema(AskSchema):
    """A build that was made, and what the meter said at its test points, every light lit."""

    document_name = "LogFitsAsk"

    build = Inner(BuildSheetsSchema, required=True)
    readings = Many(Inner(BenchReadingSchema), 1, 60, required=True)
