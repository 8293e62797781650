"""What may be asked: one schema per calculation, with bounds, defaults and words.

Field names are stems; the JSON name and unit follow from the glossary. A schema loads JSON into a dict of
stems whose numbers still have their public units, so that an answer can repeat what was understood to the
last bit. GET, POST and table rows share these schemas. Rules between members stand as class attributes:
``any_of`` (400 where none is there), ``never_both``, ``needs`` and ``ascending`` (422).
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache
from itertools import pairwise
from typing import Any, ClassVar

from marshmallow import RAISE, Schema, ValidationError

from lampwright.contract import words
from lampwright.contract.fields import (
    ABOVE_60,
    BROKEN,
    UNTAKEABLE,
    Clock,
    Count,
    Fault,
    Flag,
    Inner,
    Many,
    PartOr,
    Plain,
    Quantity,
    Text,
    Word,
    plain_number,
)
from lampwright.contract.quick import QuickReader
from lampwright.quantities import json_name

Groups = tuple[tuple[str, ...], ...]
Rivals = tuple[tuple[str, tuple[str, ...]], ...]
Owners = dict[str, tuple[str, ...]]

EXPLAINED = 20  # unknown members; looking for the nearest name costs time

LED_AMPS = "for a light that needs more, use a driver made for it"


def _volts(**settings: Any) -> Quantity:
    return Quantity("v", 0.5, 60, why_high=ABOVE_60, **settings)


def _led_current(**settings: Any) -> Quantity:
    return Quantity("ma", 0.1, 5000, why_high=LED_AMPS, **settings)


def _load_current(**settings: Any) -> Quantity:
    return Quantity("ma", 0.01, 50_000, **settings)


def _ohms(low: float = 0, **settings: Any) -> Quantity:
    return Quantity("ohm", low, 100_000_000, **settings)


def _share(low: float, high: float, **settings: Any) -> Quantity:
    return Quantity("pct", low, high, **settings)


def _metres(**settings: Any) -> Quantity:
    return Quantity("m", 0, 500, **settings)


class AskSchema(Schema):
    """Base of all asks: unknown members refused with the nearest name, rules between members."""

    document_name: ClassVar[str] = "Ask"
    any_of: ClassVar[Groups] = ()
    never_both: ClassVar[Rivals] = ()
    needs: ClassVar[Owners] = {}
    ascending: ClassVar[Groups] = ()
    swapped: ClassVar[tuple[tuple[str, str], ...]] = ()

    class Meta:
        """Unknown members are faults."""

        unknown = RAISE

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self._quick = QuickReader(self)

    def load(self, data: Any, **settings: Any) -> Any:
        """Return the members under their stems, or raise every fault at once."""
        quick = self._quick.read(data)
        if quick is not None:
            return quick
        return self.load_slowly(data, **settings)

    def load_slowly(self, data: Any, **settings: Any) -> Any:
        """Do as ``load`` does, field by field as the schema library does it."""
        if not isinstance(data, Mapping):
            raise ValidationError({"_schema": [Fault("is not an object", "send a JSON object")]})
        try:
            found = super().load(data, **settings)
            faults: dict[str, Any] = {}
        except ValidationError as error:
            faults = dict(error.messages_dict)
            found = error.valid_data if isinstance(error.valid_data, dict) else {}
            self._explain(faults, data)
        self._judge(found, data, faults)
        if faults:
            raise ValidationError(faults, data=dict(data))
        return found

    def _explain(self, faults: dict[str, Any], data: Mapping[str, Any]) -> None:
        """Say what an unknown member was probably meant to be; see whether two were swapped."""
        names = [str(field.data_key) for field in self.fields.values()]
        for count, (name, messages) in enumerate(faults.items()):
            if name not in names and count >= EXPLAINED:
                faults[name] = [Fault("is no member that is known here")]
            elif name not in names:
                near = [known for known in names if known.startswith(f"{name}_")][:1]
                near = near or get_close_matches(str(name)[:60].lower(), names, n=1, cutoff=0.6)
                hint = f"did you mean {near[0]}?" if near else f"known here: {', '.join(names)}"
                faults[name] = [Fault("is no member that is known here", hint, near[0] if near else None)]
            elif isinstance(messages, list) and not isinstance(messages[0], Fault):
                faults[name] = [Fault(str(messages[0]))]
        # The first pair that explains a fault is the likeliest.
        any(self._unswap(first, second, faults, data) for first, second in self.swapped)

    def _unswap(self, first: str, second: str, faults: dict[str, Any], data: Mapping[str, Any]) -> bool:
        one, two = self.fields[first], self.fields[second]
        given: tuple[Any, Any] = (data.get(str(one.data_key)), data.get(str(two.data_key)))
        if not ({str(one.data_key), str(two.data_key)} & faults.keys()):
            return False
        if not (isinstance(one, Quantity) and isinstance(two, Quantity)):
            return False
        if not all(type(value) in (int, float) for value in given):
            return False
        if not (one.low <= given[1] <= one.high and two.low <= given[0] <= two.high):
            return False
        for field, value, other in ((one, given[1], two), (two, given[0], one)):
            key = str(field.data_key)
            old = faults[key][0] if key in faults else "looks like the other one's value"
            faults[key] = [Fault(old, f"swapped with {other.data_key}?", value)]
        return True

    def _judge(self, found: dict[str, Any], data: Mapping[str, Any], faults: dict[str, Any]) -> None:
        """Apply the rules between members."""
        sent = {stem for stem, field in self.fields.items() if field.data_key in data}
        for group in self.any_of:
            if sent.isdisjoint(group):
                shown = " or ".join(json_name(stem) for stem in group)
                detail = "is missing" if len(group) == 1 else f"is missing: {shown} is needed"
                faults.setdefault(json_name(group[0]), [Fault(detail, f"send {shown}", None, BROKEN)])
        for one, others in self.never_both:
            both = [stem for stem in others if stem in sent] if one in sent else []
            for stem in both:
                self._cannot(
                    faults, stem, f"cannot be taken together with {json_name(one)}", "send one of them"
                )
        for stem, owners in self.needs.items():
            if stem in sent and sent.isdisjoint(owners):
                shown = " or ".join(json_name(owner) for owner in owners)
                self._cannot(faults, stem, f"means nothing without {shown}", f"send {shown}, or leave it out")
        for row in self.ascending:
            present = [stem for stem in row if stem in sent and isinstance(found.get(stem), float)]
            for lower, upper in pairwise(present):
                if found[lower] > found[upper]:
                    low, high = plain_number(found[lower]), plain_number(found[upper])
                    detail = f"{low} is above {json_name(upper)}, {high}"
                    self._cannot(
                        faults, lower, detail, "swapped? lowest, expected, highest go upwards", found[upper]
                    )

    def _cannot(
        self, faults: dict[str, Any], stem: str, detail: str, hint: str, suggestion: object = None
    ) -> None:
        key = json_name(stem) if stem not in self.fields else str(self.fields[stem].data_key)
        faults.setdefault(key, [Fault(detail, hint, suggestion, UNTAKEABLE)])


class LedFiguresFields(AskSchema):
    """The figures of a light, wherever they stand."""

    forward_voltage = Quantity("v", 0.8, 12)
    forward_voltage_min = Quantity("v", 0.5, 12)
    forward_voltage_max = Quantity("v", 0.8, 13)
    rated_current = _led_current()
    max_forward_current = _led_current()
    max_reverse_voltage = Quantity("v", 0, 60)
    ideality = Plain(1, 10)
    series_resistance = Quantity("ohm", 0, 1000)
    reference_temperature = Quantity("degc", -40, 125)
    colour = Word(words.colours, "colour")
    built_in_resistance = _ohms()
    rated_voltage = _volts()
    rated_voltage_min = _volts()
    rated_voltage_max = _volts()
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


def _light(**settings: Any) -> PartOr:
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

    supply_voltage = _volts()
    supply_voltage_min = _volts()
    supply_voltage_max = _volts()
    source_resistance = _ohms()
    current_limit = Quantity("ma", 0.1, 500_000)
    battery = Word(words.batteries, "battery")
    cells_in_series = Count(1, 10_000)
    packs_in_parallel = Count(1, 10_000)
    capacity = Quantity("mah", 1, 1_000_000)


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

    ambient_temperature = Quantity("degc", -40, 85, load_default=25.0)


class ResistorWishesFields(AskSchema):
    """What resistors there are to choose from."""

    e_series = Word(words.E_SERIES, "series of preferred values", load_default="E24")
    tolerance = _share(0, 20, load_default=5.0)
    rated_dissipation = Quantity("w", 0.01, 100)
    on_hand_resistance = Many(_ohms(0.01), 1, 60)


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

    led = _light()
    leds = Many(_light(), 1, 200)
    series_count = Count()
    forward_current = _led_current()
    resistance = _ohms()
    branch_count = Count(load_default=1)
    reversed = Many(Count(0, 9999), 1, 200)


class LightSchema(AskSchema):
    """Some equal lights of a build."""

    document_name = "Light"

    name = Text(60, required=True)
    led = _light(required=True)
    count = Count(required=True)
    forward_current = _led_current()
    run_length = Quantity("m", 0.01, 500)
    dim_to = _share(1, 100)


@cache
def light_schema() -> LightSchema:
    """Return the one schema of some equal lights."""
    return LightSchema()


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
    led = _light()
    count = Count()
    forward_current = _led_current()
    mix_colours = Flag(load_default=False)


class WiresSchema(AskSchema):
    """Which wire for this current and run, or how this one does."""

    document_name = "WiresAsk"
    never_both: ClassVar[Rivals] = (("on_hand_awg", ("awg", "conductor_area")),)
    swapped = (("current", "supply_voltage"), ("run_length", "supply_voltage"))

    current = _load_current(required=True)
    run_length = Quantity("m", 0.01, 500, required=True)
    supply_voltage = _volts(required=True)
    max_drop = _share(0.1, 50, load_default=3.0)
    bundled_count = Count(1, 1000, load_default=2)
    insulation = Word(words.insulations, "insulation", load_default="pvc_80")
    flexing = Flag(load_default=False)
    enclosed = Flag(load_default=False)
    on_hand_awg = Many(Count(10, 36), 1, 40)
    awg = Count(10, 36)
    conductor_area = Quantity("mm2", 0.005, 60)
    ampacity_rule = Word(words.ampacity_rules, "rule of wire current", load_default="bundled")
    core = Word(words.cores, "core of a wire")
    ambient_temperature = Quantity("degc", -40, 85, load_default=25.0)


class FusesSchema(FlatSchema):
    """Which fuse, or how this one does."""

    document_name = "FusesAsk"
    any_of: ClassVar[Groups] = ()
    never_both: ClassVar[Rivals] = SupplySchema.never_both

    current = _load_current(required=True)
    awg = Count(10, 36)
    conductor_area = Quantity("mm2", 0.005, 60)
    run_length = Quantity("m", 0, 500)
    bundled_count = Count(1, 1000, load_default=2)
    insulation = Word(words.insulations, "insulation", load_default="pvc_80")
    enclosed = Flag(load_default=False)
    ampacity_rule = Word(words.ampacity_rules, "rule of wire current", load_default="bundled")
    short_circuit_current = Quantity("ma", 1, 5_000_000)
    inrush = Quantity("ma", 0.1, 5_000_000)
    style = Word(words.fuse_styles, "style of fuse")
    rated_current = Quantity("ma", 0, 100_000)


class StringSchema(AskSchema):
    """A string as it is built: lights from plus, and its resistor."""

    document_name = "String"
    any_of: ClassVar[Groups] = (("led", "leds"),)
    never_both: ClassVar[Rivals] = (("leds", ("led", "series_count")),)

    led = _light()
    leds = Many(_light(), 1, 200)
    series_count = Count()
    forward_current = _led_current()
    resistance = _ohms()
    tolerance = _share(0, 20, load_default=5.0)
    rated_dissipation = Quantity("w", 0.01, 100)
    branch_count = Count(load_default=1)
    reversed = Many(Count(0, 9999), 1, 200)


@cache
def string_schema() -> StringSchema:
    """Return the one schema of a string."""
    return StringSchema()


class FeedSchema(AskSchema):
    """A two-wire feed; loop resistances, out and back."""

    document_name = "Feed"

    lead_loop = _ohms(load_default=0.0)
    segment_loop = _ohms(load_default=0.0)
    far_end_lead_loop = _ohms()


class CircuitWireSchema(AskSchema):
    """The wire of a circuit."""

    document_name = "CircuitWire"

    awg = Count(10, 36, required=True)
    run_length = _metres(required=True)


class CircuitFuseSchema(AskSchema):
    """The fuse of a circuit."""

    document_name = "CircuitFuse"

    rated_current = Quantity("ma", 0, 100_000, required=True)


class CircuitChecksSchema(FlatSchema):
    """How a circuit that exists does."""

    document_name = "CircuitChecksAsk"
    any_of: ClassVar[Groups] = (SUPPLY,)

    strings = Many(Inner(string_schema), 1, 100, required=True)
    shared_resistance = _ohms(load_default=0.0)
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

    battery = Word(words.batteries, "battery", required=True)
    cells_in_series = Count(1, 10_000, load_default=1)
    packs_in_parallel = Count(1, 10_000, load_default=1)
    capacity = Quantity("mah", 1, 1_000_000)
    supply_voltage_max = _volts()
    load_current = _load_current()
    load_power = Quantity("w", 0.00001, 10_000)
    load_resistance = _ohms(0.01)
    strings = Many(Inner(string_schema), 1, 100)
    duty = _share(0.1, 100, load_default=100.0)
    hours_per_day = Quantity("h", 0.01, 24, load_default=24.0)
    stop_at_brightness = _share(1, 100, load_default=50.0)
    stop_at = _volts()
    wake_current = Quantity("ma", 0, 50_000)
    converter = Word(CONVERTERS, "converter")
    converter_voltage = _volts()
    converter_efficiency = _share(10, 100)
    dropout_voltage = Quantity("v", 0, 10)
    hours_wanted = Quantity("h", 0.01, 100_000)
    air_travel = Flag(load_default=False)
    age_years = Plain(0, 30, load_default=0.0)
    start_clock = Clock()
    ambient_temperature = Quantity("degc", -40, 85, load_default=25.0)


class BuildResistorsSchema(ResistorWishesFields):
    """What resistors a build may use."""

    document_name = "BuildResistors"


class BuildWireSchema(AskSchema):
    """What wire a build may use, and where it goes."""

    document_name = "BuildWire"

    on_hand_awg = Many(Count(10, 36), 1, 40)
    max_drop = _share(0.1, 50, load_default=3.0)
    flexing = Flag(load_default=False)
    enclosed = Flag(load_default=False)
    bundled_count = Count(1, 1000, load_default=2)
    insulation = Word(words.insulations, "insulation", load_default="pvc_80")


class UsageSchema(AskSchema):
    """How a build is used."""

    document_name = "Usage"

    hours_wanted = Quantity("h", 0.01, 100_000)
    duty = _share(0.1, 100, load_default=100.0)
    hours_per_day = Quantity("h", 0.01, 24, load_default=24.0)
    air_travel = Flag(load_default=False)
    flash_rate = Quantity("hz", 0, 100_000)
    worn = Flag(load_default=False)
    start_clock = Clock()


class BuildSheetsSchema(AskSchema):
    """A whole build in plain terms."""

    document_name = "BuildSheetsAsk"

    title = Text(120, required=True)
    supply = PartOr(words.supplies, BuildSupplySchema, "supply", required=True)
    lights = Many(Inner(light_schema), 1, 24, required=True)
    resistors = Inner(BuildResistorsSchema)
    wire = Inner(BuildWireSchema)
    usage = Inner(UsageSchema)
    mix_colours = Flag(load_default=False)
    ambient_temperature = Quantity("degc", -40, 85, load_default=25.0)


@cache
def build_defaults() -> dict[str, dict[str, Any]]:
    """Return what a build takes for granted about resistors, wire and use."""
    kinds = {"resistors": BuildResistorsSchema, "wire": BuildWireSchema, "usage": UsageSchema}
    return {member: kind().load({}) for member, kind in kinds.items()}


class SupplyChoicesSchema(AskSchema):
    """Which supply for these lights, or this load, and these hours."""

    document_name = "SupplyChoicesAsk"
    any_of: ClassVar[Groups] = (("lights", "load_current"), ("supply_voltage", "lights"))
    never_both: ClassVar[Rivals] = (("lights", ("load_current", "supply_voltage")),)
    swapped = (("load_current", "supply_voltage"),)

    lights = Many(Inner(light_schema), 1, 24)
    load_current = _load_current()
    supply_voltage = _volts()
    hours_wanted = Quantity("h", 0.01, 100_000, required=True)
    duty = _share(0.1, 100, load_default=100.0)
    mass_limit = Quantity("g", 0.5, 100_000)
    air_travel = Flag(load_default=False)
    ambient_temperature = Quantity("degc", -40, 85, load_default=25.0)


class ReadingSchema(AskSchema):
    """One meter reading of a pre-wired light."""

    document_name = "MeterReading"
    swapped = (("voltage", "current"),)

    voltage = Quantity("v", 0, 60, why_high=ABOVE_60, required=True)
    current = Quantity("ma", 0, 5000, required=True)


class IdentificationsSchema(AskSchema):
    """What is inside a pre-wired light."""

    document_name = "LightIdentificationsAsk"
    any_of: ClassVar[Groups] = (("readings", "rated_voltage"), ("rated_current", "readings"))
    ascending: ClassVar[Groups] = (("rated_voltage_min", "rated_voltage", "rated_voltage_max"),)
    swapped = (("rated_voltage", "rated_current"),)

    readings = Many(Inner(ReadingSchema), 1, 50)
    rated_voltage = _volts()
    rated_voltage_min = _volts()
    rated_voltage_max = _volts()
    rated_current = _led_current()
    colour = Word(words.colours, "colour")
    supply_voltage = _volts()
    led = _light()
    ambient_temperature = Quantity("degc", -40, 85, load_default=25.0)


class BenchReadingSchema(AskSchema):
    """One reading at a test point of a sheet."""

    document_name = "BenchReading"
    any_of: ClassVar[Groups] = (("voltage", "current"),)
    never_both: ClassVar[Rivals] = (("voltage", ("current",)),)

    check = Text(40, required=True)
    voltage = Quantity("v", -60, 60, why_high=ABOVE_60)
    current = Quantity("ma", -50_000, 50_000)


class DiagnosesSchema(AskSchema):
    """What is wrong with a build, given readings or signs."""

    document_name = "DiagnosesAsk"
    any_of: ClassVar[Groups] = (("build", "circuit"), ("readings", "signs"))
    never_both: ClassVar[Rivals] = (("build", ("circuit",)),)

    build = Inner(BuildSheetsSchema)
    circuit = Inner(CircuitChecksSchema)
    readings = Many(Inner(BenchReadingSchema), 1, 40)
    signs = Many(Text(40), 1, 20)


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
