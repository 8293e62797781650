"""Which workshop cautions a build calls for: facts of the build first, then rows of one table.

Findings judge a build; cautions are the safety lines of the workshop that go with it even when it is
good. At most five are shown, worst first, and none that the build's own figures or parts do not call for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lampwright.physics.heating import thermal_resistance, touch_temperature
from lampwright.planner.fuse_window import limit_of, most_into_short
from lampwright.planner.models.build import CautionLine, Plan, PlannedString
from lampwright.planner.models.parts import Led
from lampwright.quantities import show
from lampwright.tables.batteries import battery_types
from lampwright.tables.cautions import CautionRow, caution_rows
from lampwright.tables.supplies import supply_types

MOST_LINES = 5
FLASH_LIMIT = 3.0  # flashes a second, WCAG 2.3.1
FLICKER_END = 60.0  # flashes a second, the fastest that trigger some people [EPILEPSY-SOCIETY]
HAND_WARM = 48.0  # held for long, IEC 62368-1 table 38
SKIN_WARM = 43.0  # worn against the skin for a day, from memory
DAMP_LIMIT = 30.0  # DC where damp, IEC 60598-1
DAMP_LIMIT_INTERRUPTED = 12.4  # DC switched 10 to 200 times a second, NFPA 70 chapter 9 table 11
MUCH_CURRENT = 5.0  # A (common practice, no source)
BRIGHT_CURRENT = 0.35  # A through one light: lighting, not indicating (common practice, no source)
BRIGHT_BLUE_CURRENT = 0.1  # A, where much of its light is blue: from half-watt parts up (common practice)
BLUE_VOLTAGE = 2.6  # V, the lowest of the blue chips (tables/data/led_colours.csv)
HOT_LIGHT = 0.5  # W in one light: more than its legs carry off (common practice, no source)
PLATE = 50.0  # cm² of aluminium a watt, cooled on one side: 10 W/(m² K) keep it 20 K above the air (computed)
HALF_OF_RATING = 0.5
_STRONG = {"lead_acid": "A lead battery", "liion": "A lithium-ion battery", "nimh": "A NiMH battery"}
_INVISIBLE = ("ultraviolet", "infrared")
_LITHIUM_METAL = ("lithium_iron", "lithium_coin")
#: Colours whose chip is blue, or that lie close to it: the light that harms the eye most.
_BLUE = ("white", "cool_white", "warm_white", "pink", "blue", "royal_blue", "violet", "cyan", "green")


@dataclass(frozen=True, slots=True)
class BuildFacts:
    """What the cautions depend on. Currents [A], voltages [V], temperatures [°C], rates [1/s].

    ``supply_kind`` is battery, adapter, usb_port, usb_charger, vehicle or volts (known by its voltage
    alone); ``hottest_share`` is the largest part of its rating a resistor uses in the worst case, and
    ``touch_high`` how hot one gets there; ``light_heat`` is the most power one light takes [W], and
    ``blue_current`` the most current through one whose light has much blue.
    """

    supply_kind: str
    supply_voltage_max: float
    chemistry: str = ""
    form: str = ""
    protected: bool = False
    rechargeable_cells: bool = False
    cell_count: int = 0
    design_current: float = 0.0
    light_current: float = 0.0
    touch: float = 25.0
    hottest_share: float = 0.0
    worn: bool = False
    enclosed: bool = False
    flash_rate: float = 0.0
    colours: tuple[str, ...] = ()
    air_travel: bool = False
    packs_in_parallel: int = 1
    short_circuit_current: float | None = None
    light_heat: float = 0.0
    blue_current: float = 0.0
    touch_high: float = 25.0

    @property
    def needs_care(self) -> bool:
        """Whether the lights of this very build can hurt: more than what goes with its kind of supply."""
        by_light = self.bright or self.hot_light or "ultraviolet" in self.colours
        return by_light or self.flashing or self.above_damp_limit

    @property
    def always(self) -> bool:
        """Whether anything is built at all."""
        return True

    @property
    def deference(self) -> bool:
        """The deference line is asked for by name, never among the five."""
        return False

    @property
    def strong_battery(self) -> bool:
        """Whether the battery starts fires: lead, lithium-ion, NiMH; not behind a bank's own guard."""
        return self.chemistry in _STRONG and not self.protected

    @property
    def lithium(self) -> bool:
        """Whether it is a bare lithium-ion cell or pack."""
        return self.chemistry == "liion" and not self.protected

    @property
    def rechargeable_lithium(self) -> bool:
        """Whether somebody will charge lithium-ion cells, a bank's among them."""
        return self.rechargeable_cells and self.chemistry == "liion"

    @property
    def rechargeable_nimh(self) -> bool:
        """Whether somebody will charge NiMH cells."""
        return self.rechargeable_cells and self.chemistry == "nimh"

    @property
    def rechargeable_lead(self) -> bool:
        """Whether somebody will charge a lead battery."""
        return self.rechargeable_cells and self.chemistry == "lead_acid"

    @property
    def strong_side_by_side(self) -> bool:
        """Whether packs that differ in charge could drive much current into each other."""
        return self.strong_battery and self.packs_in_parallel > 1

    @property
    def banks_side_by_side(self) -> bool:
        """Whether the outlets of power banks are joined."""
        return self.form == "bank" and self.packs_in_parallel > 1

    @property
    def coin_cell(self) -> bool:
        """Whether a small child could swallow it."""
        return self.form == "coin"

    @property
    def flashing(self) -> bool:
        """Whether it flashes at a rate that harms."""
        return FLASH_LIMIT <= self.flash_rate <= FLICKER_END

    @property
    def above_damp_limit(self) -> bool:
        """Whether sweat and rain make its volts unsafe."""
        switched = 10.0 <= self.flash_rate <= 200.0
        limit = DAMP_LIMIT_INTERRUPTED if switched else DAMP_LIMIT
        return self.worn and self.supply_voltage_max > limit

    @property
    def ultraviolet(self) -> bool:
        """Whether some of its light is invisible and strong enough to matter."""
        return any(colour in _INVISIBLE for colour in self.colours)

    @property
    def bright(self) -> bool:
        """Whether a single light is made for lighting rooms."""
        return self.light_current >= BRIGHT_CURRENT or self.blue_current >= BRIGHT_BLUE_CURRENT

    @property
    def hot_light(self) -> bool:
        """Whether a single light needs metal behind it to stay whole."""
        return self.light_heat >= HOT_LIGHT

    @property
    def much_current(self) -> bool:
        """Whether the current alone asks for several feeds."""
        return self.design_current > MUCH_CURRENT

    @property
    def hot_resistor(self) -> bool:
        """Whether a resistor is hot for its size, or more than warm in foam, in cloth or on skin."""
        in_cloth = self.enclosed or self.worn
        warm = SKIN_WARM if self.worn else HAND_WARM
        by_its_watts = self.hottest_share > HALF_OF_RATING and self.touch_high > HAND_WARM
        return by_its_watts or (in_cloth and self.touch > warm)

    @property
    def vehicle(self) -> bool:
        """Whether it hangs on a vehicle."""
        return self.supply_kind == "vehicle"

    @property
    def flies(self) -> bool:
        """Whether its battery flies."""
        return self.air_travel and self.supply_kind == "battery"

    @property
    def travel_lithium(self) -> bool:
        """Whether a lithium battery flies."""
        return self.flies and self.chemistry in ("liion", *_LITHIUM_METAL)

    @property
    def travel_lead(self) -> bool:
        """Whether a lead battery flies."""
        return self.flies and self.chemistry == "lead_acid"

    @property
    def travel_dry(self) -> bool:
        """Whether a battery flies that no rule of the airlines limits."""
        return self.flies and not (self.travel_lithium or self.travel_lead)

    @property
    def mains_fed(self) -> bool:
        """Whether a plug-in supply may be behind it."""
        return self.supply_kind in ("adapter", "usb_charger", "volts")

    @property
    def cells(self) -> bool:
        """Whether there are cells one might be tempted to solder on."""
        return self.supply_kind == "battery" and self.form in ("cell", "coin")

    @property
    def snap_block(self) -> bool:
        """Whether it is a 9 V block: both ends on one side."""
        return self.supply_kind == "battery" and self.form == "block" and self.chemistry != "lead_acid"

    @property
    def several_cells(self) -> bool:
        """Whether old and new cells could meet; packs and banks are joined by other rules."""
        return self.cell_count > 1 and self.form not in ("pack", "bank")


def _much_blue(led: Led) -> bool:
    """Return whether much of a light is blue; of a colour not told its voltage decides."""
    return led.colour in _BLUE or (not led.colour and led.forward_voltage >= BLUE_VOLTAGE)


def heat_of(string: PlannedString, led: Led) -> float:
    """Return the power a light of a row takes on a fresh supply [W]; 0 of a pre-wired one."""
    usual = string.solved.current_fresh or string.solved.current or 0.0
    return 0.0 if led.prewired else usual * led.forward_voltage


def facts_of(plan: Plan) -> BuildFacts:
    """Gather the facts of a planned build."""
    ask = plan.ask
    supply = ask.supply
    battery = battery_types()[supply.battery] if supply.battery else None
    touch = touch_high = ask.ambient_temperature
    share = light_current = blue_current = light_heat = 0.0
    for string in plan.strings:
        solved = string.solved
        most = solved.current_high or 0.0
        if any(led.colour not in _INVISIBLE for led in string.leds):  # those have a line of their own
            light_current = max(light_current, most)
        if any(_much_blue(led) for led in string.leds):
            blue_current = max(blue_current, most)
        light_heat = max(light_heat, *(heat_of(string, led) for led in string.leds))
        if solved.rated_dissipation and solved.dissipation is not None:
            heat = thermal_resistance(solved.rated_dissipation)
            touch = max(touch, touch_temperature(ask.ambient_temperature, solved.dissipation, heat))
            high = solved.dissipation_high or solved.dissipation
            touch_high = max(touch_high, touch_temperature(ask.ambient_temperature, high, heat))
            share = max(share, high / solved.rated_dissipation)
    kind = supply_types()[supply.part].kind if supply.part else "volts"
    kind = "battery" if battery is not None else kind
    return BuildFacts(
        supply_kind=kind,
        supply_voltage_max=supply.supply_voltage_max,
        chemistry=battery.chemistry if battery else supply.chemistry,
        form=battery.form if battery else "",
        protected=battery is not None and battery.protection == "always",
        rechargeable_cells=battery is not None and battery.rechargeable,
        cell_count=supply.cells_in_series * supply.packs_in_parallel if battery else 0,
        design_current=plan.design_current or 0.0,
        light_current=light_current,
        touch=touch,
        hottest_share=share,
        worn=ask.usage.worn,
        enclosed=ask.wire.enclosed,
        flash_rate=ask.usage.flash_rate or 0.0,
        colours=tuple(light.led.colour for light in ask.lights),
        air_travel=ask.usage.air_travel,
        packs_in_parallel=supply.packs_in_parallel if battery else 1,
        short_circuit_current=most_into_short(supply, limit_of(supply)),
        light_heat=light_heat,
        blue_current=blue_current,
        touch_high=touch_high,
    )


def cautions_for(build: Plan | BuildFacts) -> tuple[CautionLine, ...]:
    """Return the cautions a build calls for: at most five, worst first.

    >>> [line.code for line in cautions_for(BuildFacts("battery", 4.8, "alkaline", "cell", cell_count=3))]
    ['never_solder_a_cell', 'mixed_cells', 'solder_fume', 'clipped_legs']
    >>> cautions_for(BuildFacts("battery", 12.8, "lead_acid", "block"))[0].code
    'battery_hot_off_and_out'
    """
    facts = build if isinstance(build, BuildFacts) else facts_of(build)
    called_for = [row for row in caution_rows() if getattr(facts, row.applies)]
    return tuple(_line(row, facts) for row in called_for[:MOST_LINES])


def deference() -> str:
    """Return the line that defers to codes, venues and licensed practice: the last of every sheet."""
    return next(row.action for row in caution_rows() if row.applies == "deference")


def plate_side(light_heat: float) -> int:
    """Return the side of the square of aluminium one light needs behind it, in whole cm upwards.

    >>> plate_side(1.0), plate_side(2.3)
    (8, 11)
    """
    return math.ceil(math.sqrt(PLATE * light_heat))


def _invisible(colours: tuple[str, ...]) -> str:
    there = [colour for colour in _INVISIBLE if colour in colours]
    return " and ".join(there).capitalize() or "Invisible"


def _two_digits_up(value: float) -> float:
    """Return what can be said of a figure that is known roughly, and no less than it.

    >>> _two_digits_up(4.08), _two_digits_up(140.0)
    (4.1, 140.0)
    """
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return float(f"{math.ceil(value / step * (1 - 1e-12)) * step:.2g}")


def _line(row: CautionRow, facts: BuildFacts) -> CautionLine:
    much_blue = facts.blue_current >= BRIGHT_BLUE_CURRENT
    side = plate_side(facts.light_heat)
    short = facts.short_circuit_current
    gaps = {
        "chemistry": _STRONG.get(facts.chemistry, "This battery"),
        "short": show(_two_digits_up(short), "ma") if short and short != math.inf else "tens of amperes",
        "take": "take the costume" if facts.worn else "switch",
        "flash_rate": f"{facts.flash_rate:.3g}",
        "voltage": show(facts.supply_voltage_max, "v"),
        "current": show(facts.design_current, "ma"),
        "touch": show(math.ceil(max(facts.touch, facts.touch_high)), "degc"),
        "invisible": _invisible(facts.colours),
        "glare": "Bright white and blue light reaches the groups that need care."
        if much_blue
        else "So much light from one small spot dazzles and leaves an image in the eye.",
        "shield": ", shield it from the wearer's own eyes" if facts.worn else "",
        "light_heat": show(facts.light_heat, "w"),
        "plate": f"{side} × {side} cm",
        "spare": "Power banks" if facts.form == "bank" else "Spare lithium batteries",
        "limit": "up to 2 g of lithium each" if facts.chemistry in _LITHIUM_METAL else "up to 100 Wh each",
        "kept_dry": "the pack inside and dry; take it off to change cells"
        if facts.supply_kind == "battery"
        else "the supply itself dry and off the body",
    }
    return CautionLine(
        code=row.code,
        severity=row.severity,
        hazard=row.hazard.format(**gaps),
        why=row.why.format(**gaps),
        action=row.action.format(**gaps),
        source=row.source,
    )
