"""What a reading outside its band means: each fault put into the circuit, and named where its reading falls.

Theory of operation. A fault is solved, the reading at a test point taken, and its words stand under zero,
low or high as the reading says, so no cause stands where its reading would not lie. What leaves a reading
good though the light is not stands beside the good band. Readings are taken in order: one counts only when
those before it are good, so a later one names nothing that an earlier one has found. Causes with which the
row looks alike (dark, dim, too bright) stand together, the likeliest first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from lampwright.physics.diodes import forward_voltage, string_current
from lampwright.planner.catalogue import led_from_part, led_model
from lampwright.quantities import show
from lampwright.records import altered, quickly_made
from lampwright.sheets.bench import Bench, Fault, Row, Solved, alone, fades, faults_of, shorts, solve
from lampwright.sheets.fault_words import rechargeable
from lampwright.sheets.faults import BRIGHT, DARK, DIM, OFTEN, burns, overloaded, rows_tried
from lampwright.sheets.metering import over_light, over_resistor, trunk_readings
from lampwright.sheets.wording import listed

ZERO = 0.05  # of what is expected: nearer a meter with shaky tips does not tell from nothing
TOLD = 2  # causes of one look under one head; more would not be read
#: A light out of another bag: one of the low-voltage family, one of the high-voltage one.
OTHER_LIGHTS = ("red_5mm", "white_5mm")
OTHER_OFTEN = 0.5
ANOTHER = "other kind of light"
DAMAGED = "a damaged light"  # one that was overloaded leaks beside its junction (common practice, no source)

Band = tuple[float, float, float]  # least, expected, most


@quickly_made
@dataclass(frozen=True, slots=True)
class Meanings:
    """Words under each head; ``good_but`` is what is wrong though the reading is good."""

    zero: str = ""
    low: str = ""
    high: str = ""
    good_but: str = ""


@quickly_made
@dataclass(frozen=True, slots=True)
class _Told:
    """A cause at one test point: what it reads, how the row looks with it, how often it happens."""

    words: str
    value: float
    look: str
    weight: float
    burns: bool = False


def head_of(value: float, band: Band) -> str:
    """Return under which head a reading falls."""
    least, expected, most = band
    zero = ZERO * expected if least <= 0 else min(ZERO * expected, 0.5 * least)
    if abs(value) <= zero:
        return "zero"
    return "low" if value < least else "high" if value > most else "good_but"


def _meanings(told: Iterable[_Told], band: Band, most: int = TOLD) -> Meanings:
    """Sort causes under the heads where their readings fall, and say each head in a line."""
    heads: dict[str, dict[str, list[_Told]]] = {}
    for each in told:
        if each.value > -ZERO * band[1]:
            heads.setdefault(head_of(each.value, band), {}).setdefault(each.look, []).append(each)
    return Meanings(**{head: _line(looks, most, head == "high") for head, looks in heads.items()})


def _line(looks: Mapping[str, Sequence[_Told]], most: int, values: bool) -> str:
    """Return "dark: a joint open or a light the wrong way round; too bright (off!): it is bridged"."""
    said = []
    for look, causes in sorted(looks.items(), key=lambda item: -sum(each.weight for each in item[1])):
        weights: dict[str, float] = {}
        for each in causes:
            weights[each.words] = weights.get(each.words, 0.0) + each.weight
        words = sorted(weights, key=lambda word: -weights[word])[:most]
        kept = [each for each in causes if each.words in words]
        text = _either(words)
        if values and look == "dark":  # over a break the meter shows a voltage of its own
            text = _with_volts(words, kept)
        stop = any(each.burns for each in kept)
        if look:
            said.append(f"{look}{' (off!)' if stop else ''}: {text}")
        else:
            said.append(f"{text}: off" if stop else text)
    return "; ".join(said)


def _either(words: Sequence[str]) -> str:
    """Return causes in words, parted so that an "or" inside one does not run into the next."""
    return "; or ".join(words) if any(" or " in word for word in words) else listed(words, "or")


def _with_volts(words: Sequence[str], causes: Sequence[_Told]) -> str:
    shown = {each.words: show(float(f"{each.value:.2g}"), "v") for each in causes}
    if len(set(shown.values())) == 1:
        return f"{listed(words, 'or')} ({shown[words[0]]})"
    return listed([f"{word} ({shown[word]})" for word in words], "or")


# -- at a row -----------------------------------------------------------------------------------------

_AT_RESISTOR = {
    "row_open": "a joint open",
    "light_reversed": "a light the wrong way round",
    "light_open": "a light broken",
    "light_short": "a light shorted",
    "resistor_open": "open",
    "resistor_short": "bridged",
    "resistor_high": "value too high",
    "resistor_low": "value too low",
}
# Of the other faults of a row only that it is open: the rest is told at the resistor, read before.
_AT_LIGHT = {
    "light_reversed": "the wrong way round",
    "light_open": "open",
    "light_short": "it is shorted",
    "resistor_open": "row open elsewhere",
    "row_open": "row open elsewhere",
}


_OF_SUPPLY = (
    ("low", ("supply_weak", "holder_poor", "contact_poor"), "supply: readings 1 to 3"),
    ("high", ("supply_high",), "supply: reading 1"),
)


def row_faults(row: Row, place: int, at: int) -> tuple[Fault, ...]:
    """Return the faults a row can have; of its lights, those of one."""
    found = [Fault("row_open", place)]
    if row.resistance > 0:
        found += [Fault(f"resistor_{kind}", place) for kind in ("open", "short", "high", "low")]
    return (*found, *(Fault(f"light_{kind}", place, at) for kind in ("reversed", "open", "short")))


def _look(ratio: float) -> str:
    return "dark" if ratio < DARK else "dim" if ratio < DIM else "too bright" if ratio > BRIGHT else ""


@quickly_made
@dataclass(frozen=True, slots=True)
class _Fault:
    """A fault in a row with the circuit it makes, how the row looks, and whether it harms."""

    fault: Fault
    state: Solved
    look: str
    burns: bool


def _faulty(bench: Bench, fault: Fault, *, exact: bool) -> _Fault:
    """Return a row's fault worked out: with the whole circuit, or the row on its own."""
    row = bench.rows[fault.row]
    if exact or shorts(bench, fault):
        state, over = solve(bench, "expected", fault), burns(bench, fault)
    else:
        state = alone(bench, "expected", fault)
        over = overloaded(row, alone(bench, "high", fault).faulty, fault)
    if fault.kind == "light_short":
        return _Fault(fault, state, "one light dark" if len(row.leds) > 1 else "dark", over)
    usual = solve(bench).currents[fault.row]
    return _Fault(fault, state, _look(state.faulty / usual) if usual > 0 else "", over)


@quickly_made
@dataclass(frozen=True, slots=True)
class _Other:
    """A row with a light of another kind in it: volts over its resistor and that light, and its look."""

    over_resistor: float
    over_light: float
    look: str
    burns: bool


def _other_lights(bench: Bench, place: int, at: int) -> list[_Other]:
    row, usual = bench.rows[place], solve(bench).currents[place]
    if row.leds[at].prewired or usual <= 0:
        return []
    lights = row.lights["expected"]
    own = [diode for light in lights for diode in light[0]]
    rest = [diode for other, light in enumerate(lights) if other != at for diode in light[0]]
    resistance = row.resistance + sum(light[1] for light in lights)
    # The volts over the row as it is: what the wires lose hardly moves with one light.
    volts = sum(forward_voltage(diode, usual) for diode in own) + resistance * usual
    found = []
    for part in OTHER_LIGHTS:
        led = led_from_part(part)
        other, _ = led_model(led, "expected", led.reference_temperature)
        current = string_current(volts, (*rest, *other), resistance) if resistance else 0.0
        across = sum(forward_voltage(diode, current) for diode in other) if current > 0 else volts
        over = any(current > each.max_forward_current for each in (led, *row.leds))
        found.append(_Other(current * row.resistance, across, _look(current / usual), over))
    return found


def at_resistor(bench: Bench, place: int, band: Band, *, exact: bool = True) -> Meanings:
    """Return what the volts over a row's resistor mean; not ``exact``: the row taken on its own."""
    row = bench.rows[place]
    told = []
    for fault in row_faults(row, place, 0):
        words = _AT_RESISTOR[fault.kind]
        if len(row.leds) == 1:
            words = words.replace("a light", "its light")
        found = _faulty(bench, fault, exact=exact)
        value = over_resistor(bench, place, "expected", fault, found.state)
        told.append(_Told(words, value, found.look, OFTEN[fault.kind], found.burns))
    return _completed(
        told,
        lambda: [
            _Told(ANOTHER, other.over_resistor, other.look, OTHER_OFTEN, other.burns)
            for other in _other_lights(bench, place, 0)
        ],
        lambda fault: over_resistor(bench, place, "expected", fault, solve(bench, "expected", fault)),
        band,
    )


def _completed(
    told: Sequence[_Told],
    others: Callable[[], Sequence[_Told]] | None,
    with_fault: Callable[[Fault], float],
    band: Band,
) -> Meanings:
    """Return the meanings; where no fault of the row falls, another kind of light, else the supply's."""
    known = {head_of(each.value, band) for each in told}
    if others is not None and not {"low", "high"} <= known:
        told = [*told, *(each for each in others() if head_of(each.value, band) not in {*known, "good_but"})]
    found = _meanings(told, band)
    for head, kinds, words in _OF_SUPPLY:
        if not getattr(found, head) and any(head_of(with_fault(Fault(kind)), band) == head for kind in kinds):
            found = altered(found, **{head: words})
    return found


def _filled(meanings: Meanings, **empty: str) -> Meanings:
    """Return the meanings, with words for heads under which no fault falls."""
    return altered(meanings, **{head: words for head, words in empty.items() if not getattr(meanings, head)})


def at_light(bench: Bench, place: int, at: int, band: Band, *, exact: bool = True) -> Meanings:
    """Return what the volts over one light mean; not ``exact``: the row taken on its own."""
    row = bench.rows[place]
    told = []
    for fault in row_faults(row, place, at):
        if fault.kind in _AT_LIGHT and not shorts(bench, fault):  # which shows at the fuse, before it
            found = _faulty(bench, fault, exact=exact)
            value = over_light(bench, place, at, "expected", fault, found.state)
            told.append(_Told(_AT_LIGHT[fault.kind], value, found.look, OFTEN[fault.kind], found.burns))
    meant = _completed(
        told,
        lambda: [
            _Told(ANOTHER, other.over_light, other.look, OTHER_OFTEN, other.burns)
            for other in _other_lights(bench, place, at)
        ],
        lambda fault: over_light(bench, place, at, "expected", fault, solve(bench, "expected", fault)),
        band,
    )
    return meant if row.leds[at].prewired else _filled(meant, low=DAMAGED)


# -- where all rows hang together -----------------------------------------------------------------------

TRUNK = ("supply_off", "supply_on", "after_switch", "far_end", "total_current")


def _trunk_words(bench: Bench) -> dict[str, dict[str, str]]:
    """Return what each fault of the common way is called at each test point."""
    if fades(bench.supply):
        weak = "flat or cold: charge it" if rechargeable(bench) else "used or cold cells"
        wrong = "wrong battery, or a charger on" if rechargeable(bench) else "wrong battery"
        dead, poor = "dead, or contact open", "poor contact, worn cells"
    elif bench.supply.battery:
        dead, weak, wrong = "empty, asleep or not plugged in", "a failing bank or lead", "wrong supply"
        poor = "poor plug, or thin lead"
    else:
        dead, weak, wrong = "not plugged in, or dead", "wrong supply, or a failing one", "wrong supply"
        poor = "poor plug, or supply of too few mA"
    fuse = "F1 or " if bench.fuse_rated_current else ""
    far = bench.rows[bench.far].run
    way = f"W0 or {far}" if far else "the wire"
    return {
        "supply_off": {"supply_dead": dead, "supply_weak": weak, "supply_high": wrong},
        "supply_on": {"holder_poor": poor, "rails_short": "plus and minus touch"},
        "after_switch": {
            "fuse_open": "F1 blown or loose",
            "lead_open": "the wire before S1 open",
            "switch_open": "S1 off or faulty",
            "rails_short": "F1 blown or loose",
            "contact_poor": f"poor contact, {fuse}S1",
        },
        "far_end": {
            "main_open": f"{way} open",
            "run_open": f"{way} open",
            "main_poor": f"poor joint, {way}",
            "run_poor": f"poor joint, {way}",
        },
    }


def at_trunk(bench: Bench, bands: Mapping[str, Band]) -> dict[str, Meanings]:
    """Return what the readings at supply, switch and far end, and of all current, mean.

    Parameters
    ----------
    bench : Bench
    bands : mapping of str to (float, float, float)
        Least, expected and most of each of these readings.
    """
    words = _trunk_words(bench)
    told: dict[str, list[_Told]] = {check: [] for check in words}
    looks: dict[str, set[str]] = {}
    for fault in _trunk_faults(bench):
        state = solve(bench, "expected", fault)
        shown = (
            trunk_readings(bench, "expected", fault)
            if fault.row < 0
            else {"supply_on": state.terminal, "after_switch": state.behind, "total_current": state.total}
        )
        for check in TRUNK:
            if check not in shown:
                continue
            head = head_of(shown[check], bands[check])
            if check == "total_current":
                look = _seen(bench, fault, state)
                looks.setdefault(head, set()).add(look)
            elif head != "good_but":
                text = words[check].get(fault.kind, "") or _at_supply(bench, fault, check, head)
                # A blown fuse has switched off already; a wrong supply is not left on to see what happens.
                over = fault.kind == "supply_high" or (check != "after_switch" and burns(bench, fault))
                if text:
                    told[check].append(_Told(text, shown[check], "", OFTEN[fault.kind], over))
                break  # a later reading does not count
    found = {check: _meanings(each, bands[check], 3) for check, each in told.items()}
    for check in ("supply_on", "after_switch", "far_end"):
        found[check] = _filled(found[check], zero="see reading 1", high="see reading 1")
    found["total_current"] = _at_total(bench, looks)
    return found


def _trunk_faults(bench: Bench) -> Iterable[Fault]:
    """Return the faults that readings of the whole can show; of those that open a row, one."""
    tried = rows_tried(bench)
    for fault in faults_of(bench, every_light=False):
        if fault.row < 0 or (
            fault.row in tried and fault.kind not in ("light_open", "light_reversed", "resistor_open")
        ):
            yield fault


def _at_supply(bench: Bench, fault: Fault, check: str, head: str) -> str:
    """Return what is said of faults beyond the switch that show at the supply already."""
    if check != "supply_on":
        return ""
    if head == "high":
        return "the lights are not on"
    if fault.row < 0:
        return ""
    if shorts(bench, fault):
        return "plus and minus touch"
    return "the row takes too much" if _one_row(bench) else "a row takes too much"


def _one_row(bench: Bench) -> bool:
    return len(bench.rows) == 1 and bench.rows[0].count == 1


def _seen(bench: Bench, fault: Fault, state: Solved) -> str:
    """Return what the eye sees of a row that a reading of all current counts in."""
    if fault.kind == "light_short":
        return "one light dark" if len(bench.rows[fault.row].leds) > 1 else "dark"
    if fault.row >= 0:
        return _look(state.faulty / max(solve(bench).currents[fault.row], 1e-12))
    return "dark" if fault.kind == "run_open" else "dim" if fault.kind == "run_poor" else ""


def _at_total(bench: Bench, looks: Mapping[str, set[str]]) -> Meanings:
    """Return what the sum of all rows means: which rows to look at."""
    one = _one_row(bench)
    row = "the row" if one else "a row"

    def said(head: str) -> str:
        there = looks.get(head, set())
        found = [look for look in ("dark", "dim", "too bright") if look in there]
        text = f"{row} is {listed(found, 'or')}" if found else ""
        if "one light dark" in there:
            text = f"{text}, or a light dark" if text else "a light is dark"
        return f"{text}: off" if "too bright" in found else text

    zero = "meter's own fuse or socket"
    return Meanings(
        zero=f"{zero}; {said('zero')}" if said("zero") else zero,
        low=said("low") or f"{row if one else 'rows'} dark or dim",
        high=said("high"),
        good_but="a row is dark: count the lit ones" if "dark" in looks.get("good_but", set()) else "",
    )
