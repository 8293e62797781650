"""Which workshop cautions a build calls for: facts of the build first, then rows of one table.

Findings judge a build; cautions are the safety lines of the workshop that go with it even when it is
good. At most five are shown, worst first, and none that the build's own figures or parts do not call for.
"""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.physics.heating import thermal_resistance, touch_temperature
from lampwright.planner.models.build import CautionLine, Plan
from lampwright.quantities import show
from lampwright.tables.batteries import battery_types
from lampwright.tables.cautions import CautionRow, caution_rows
from lampwright.tables.supplies import supply_types

MOST_LINES = 5
FLASH_LIMIT = 3.0  # flashes a second, WCAG 2.3.1
FLICKER_END = 100.0  # from here on the eye sees dimming, not flashing (common practice, no source)
HAND_WARM = 48.0  # held for long, IEC 62368-1 table 38
SKIN_WARM = 43.0  # worn against the skin for a day, from memory
DAMP_LIMIT = 30.0  # DC where damp, IEC 60598-1
DAMP_LIMIT_INTERRUPTED = 12.4  # DC switched 10 to 200 times a second, NFPA 70 chapter 9 table 11
MUCH_CURRENT = 5.0  # A (common practice, no source)
BRIGHT_CURRENT = 0.35  # A through one light: lighting, not indicating (common practice, no source)
HALF_OF_RATING = 0.5
_STRONG = {"lead_acid": "A lead battery", "liion": "A lithium-ion battery", "nimh": "A NiMH battery"}
_INVISIBLE = ("ultraviolet", "infrared")


@dataclass(frozen=True, slots=True)
class BuildFacts:
    """What the cautions depend on. Currents [A], voltages [V], temperatures [°C], rates [1/s].

    ``supply_kind`` is battery, adapter, usb_port, usb_charger, vehicle or volts (known by its voltage
    alone); ``hottest_share`` is the largest part of its rating a resistor uses in the worst case.
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
    def rechargeable(self) -> bool:
        """Whether somebody will charge it."""
        return self.rechargeable_cells

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
        return self.light_current >= BRIGHT_CURRENT

    @property
    def much_current(self) -> bool:
        """Whether the current alone asks for several feeds."""
        return self.design_current > MUCH_CURRENT

    @property
    def hot_resistor(self) -> bool:
        """Whether a resistor is hot for its size, or more than warm in foam, in cloth or on skin."""
        in_cloth = self.enclosed or self.worn
        warm = SKIN_WARM if self.worn else HAND_WARM
        return self.hottest_share > HALF_OF_RATING or (in_cloth and self.touch > warm)

    @property
    def vehicle(self) -> bool:
        """Whether it hangs on a vehicle."""
        return self.supply_kind == "vehicle"

    @property
    def travel(self) -> bool:
        """Whether its battery flies."""
        return self.air_travel and self.supply_kind == "battery"

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
        """Whether old and new cells could meet."""
        return self.cell_count > 1


def facts_of(plan: Plan) -> BuildFacts:
    """Gather the facts of a planned build."""
    ask = plan.ask
    supply = ask.supply
    battery = battery_types()[supply.battery] if supply.battery else None
    touch, share = ask.ambient_temperature, 0.0
    light_current = 0.0
    for string in plan.strings:
        solved = string.solved
        light_current = max(light_current, solved.current_high or 0.0)
        if solved.rated_dissipation and solved.dissipation is not None:
            heat = thermal_resistance(solved.rated_dissipation)
            touch = max(touch, touch_temperature(ask.ambient_temperature, solved.dissipation, heat))
            high = solved.dissipation_high or solved.dissipation
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


def _line(row: CautionRow, facts: BuildFacts) -> CautionLine:
    gaps = {
        "chemistry": _STRONG.get(facts.chemistry, "This battery"),
        "flash_rate": f"{facts.flash_rate:.3g}",
        "voltage": show(facts.supply_voltage_max, "v"),
        "current": show(facts.design_current, "ma"),
        "touch": show(round(facts.touch), "degc"),
    }
    return CautionLine(
        code=row.code,
        severity=row.severity,
        hazard=row.hazard.format(**gaps),
        why=row.why.format(**gaps),
        action=row.action.format(**gaps),
        source=row.source,
    )
