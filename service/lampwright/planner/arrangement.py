"""How to split lights into rows: the sensible ways side by side, and one of them recommended.

Theory of operation. Lights of one kind and one wanted current stand in rows of one colour. A row may take
what the supply has at its lowest less a headroom, so that it still lights then; fewest rows is also least
current, least waste and fewest parts. Beside that way stand: all in one row, rows of the same length, each
light by itself, rows that use up the fresh supply, and mixed colours. Each is solved over the supply's
whole window. Rows that are alike are one entry with a count, so an answer does not grow with the lights.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from lampwright.planner.findings import finding
from lampwright.planner.judging import (
    LIMIT_ROUNDING,
    NEXT_TO_NOTHING,
    over_maximum,
    supply_load_findings,
    unlit,
)
from lampwright.planner.models.base import Finding, Step, stopped
from lampwright.planner.models.circuits import (
    Arrangement,
    ArrangementAnswer,
    ArrangementAsk,
    LightGroup,
    StringAnswer,
)
from lampwright.planner.models.parts import Led, Supply
from lampwright.planner.one_row import Lights, Rows, SolvedRow
from lampwright.planner.packing import pack
from lampwright.planner.rows import MIXED, Known, RowsImpossible, solve_rows
from lampwright.planner.strings import source_resistances, string_model
from lampwright.planner.texts import counted, milliamps, volts
from lampwright.planner.what_if import if_one_opens, if_one_shorts
from lampwright.records import quickly_made

#: Of the usual voltage a row leaves this part to its resistor, and no less than so many volts
#: (common practice, no source).
HEADROOM_PART = 0.20
HEADROOM_LEAST = 1.0
#: Of the lowest voltage it leaves this part.
LOWEST_PART = 0.05
_ROW_TAKES = (
    f"V_row = min(V_S − max({HEADROOM_LEAST:g} V, {HEADROOM_PART:g}·V_S), {1 - LOWEST_PART:g}·V_S,min)"
)
#: Rows of which one gets less than this part of another's share are seen to differ (common practice, no
#: source: half the current looks about three quarters as bright).
EVEN = 0.7
#: The rows of a way: the kinds of their lights, and how often.
Shape = tuple[tuple[tuple[int, ...], int], ...]
#: Daring, cautions (uneven light is one), mixed unasked, rows; and after them how unsteady, and the place.
Rank = tuple[bool, int, bool, int, float, int]
#: Whether no way of so little a rank can be the best any more.
Beaten = Callable[[tuple[bool, int, bool, int]], bool]
_SOURCES = ("BANWELL-2000", "IEC-60062", "IEC-60063", "PRACTICE", "YAGEO-CFR")


@quickly_made
@dataclass(frozen=True, slots=True)
class Kind:
    """Lights of one group at their wanted current; ``each`` is what one takes, in V.

    ``number`` is the place of the first group with equal lights at an equal current; ``ambient_temperature``
    is that of the air, in °C.
    """

    group: LightGroup
    wanted: float
    each: float
    number: int
    ambient_temperature: float
    _rows: dict[int, Lights] = field(default_factory=dict, compare=False)

    def row(self, length: int) -> Lights:
        """Return a row of so many of these lights."""
        lights = self._rows.get(length)
        if lights is None:
            leds = (self.group.led,) * length
            model = string_model(leds, self.ambient_temperature)
            kinds = (self.number,) * length
            lights = self._rows[length] = Lights(leds, model, self.wanted, self.group.place, kinds)
        return lights


@quickly_made
@dataclass(frozen=True, slots=True)
class Split:
    """One way to split all lights; ``careful`` where every row keeps the headroom."""

    rows: Rows
    careful: bool
    proved: bool
    mixed: bool = False


def wanted_current(group: LightGroup) -> float:
    """Return the current wanted through each light of a group: dimmed lights want less, in A."""
    full = group.forward_current or group.led.rated_current
    return full if group.dim_to is None else full * group.dim_to


def row_capacity(ask: ArrangementAsk) -> float:
    """Return how many volts the lights of one row may take together, in V."""
    supply = ask.supply
    usual = supply.supply_voltage - max(HEADROOM_LEAST, HEADROOM_PART * supply.supply_voltage)
    return min(usual, supply.supply_voltage_min * (1 - LOWEST_PART))


def arrangements(ask: ArrangementAsk) -> ArrangementAnswer:
    """Return the sensible ways to wire the lights, compared, and which one we would take.

    Parameters
    ----------
    ask : ArrangementAsk
        Lights by group; groups never share a row unless ``mix_colours`` allows it or a mixed way is
        shown beside the others.

    Returns
    -------
    answer : ArrangementAnswer
        ``recommended`` is None where nothing may be built; findings say why.
    """
    kinds = _kinds(ask)
    known = Known(ask)
    found: list[Arrangement] = []
    refused: list[tuple[Finding, ...]] = []
    ranks: list[tuple[bool, float]] = []
    seen: set[Shape] = set()
    for split in _splits(ask, kinds, _none_beaten):
        if _known_already(split, seen):
            continue
        try:
            way, steadiness = _arranged(known, split)
        except RowsImpossible as impossible:
            refused.append(_distinct(impossible.findings, "stop"))
            continue
        found.append(way)
        ranks.append((not split.careful, -round(steadiness, 2)))
    best = _best(found, ranks, ask.mix_colours)
    sources = dict.fromkeys(
        (*_SOURCES, *(source for kind in kinds for source in kind.group.led.sources), *ask.supply.sources)
    )
    findings: tuple[Finding, ...] = ()
    if best is None:
        findings = _refused(refused)
    return ArrangementAnswer(
        arrangements=tuple(found),
        recommended=best,
        reason=_reason(found, best),
        findings=findings,
        working=_working(ask, kinds),
        sources=tuple(sources),
    )


def recommended_way(ask: ArrangementAsk) -> Arrangement | None:
    """Return the way ``arrangements`` would recommend, None where nothing may be built.

    Ways that cannot be better than one that is found already are not worked out.
    """
    kinds = _kinds(ask)
    if _hopeless(ask, kinds):
        return None
    known = Known(ask)
    best: Arrangement | None = None
    least: Rank | None = None

    def beaten(rank: tuple[bool, int, bool, int]) -> bool:
        return least is not None and least[:4] < rank

    seen: set[Shape] = set()
    for at, split in enumerate(_splits(ask, kinds, beaten)):
        if _known_already(split, seen):
            continue
        try:
            way, steadiness = _arranged(known, split)
        except RowsImpossible:
            continue
        rank = _rank(way, (not split.careful, -round(steadiness, 2)), at, ask.mix_colours)
        if least is None or rank < least:
            best, least = way, rank
    return best


def _hopeless(ask: ArrangementAsk, kinds: Sequence[Kind]) -> bool:
    """Return whether a pre-wired light rules out every way: it stands alone in each, with nothing before it.

    It gets the most where nothing else pulls the supply down, and the least where all other lights take
    what they stand at most; more than that no way lets them take.
    """
    supply = ask.supply
    source_low, _, _ = source_resistances(supply)
    most = sum([kind.group.count * kind.group.led.max_forward_current for kind in kinds])
    least_volts = supply.supply_voltage_max - source_low * most * LIMIT_ROUNDING
    for kind in kinds:
        if kind.group.led.prewired:
            model = kind.row(1).model
            if unlit(model, model.expected.current(supply.supply_voltage, 0.0)):
                return True
            if least_volts > 0 and over_maximum(model, model.high.current(least_volts, 0.0)):
                return True
    return False


def _known_already(split: Split, seen: set[Shape]) -> bool:
    """Return whether a way has the rows of one before it, and keep its rows for those after it."""
    shape = tuple([(lights.kinds, count) for lights, count in split.rows])
    if shape in seen:
        return True
    seen.add(shape)
    return False


def _none_beaten(_: tuple[bool, int, bool, int]) -> bool:
    return False


def _kinds(ask: ArrangementAsk) -> list[Kind]:
    """Return the lights of each group at their wanted current."""
    ambient = ask.ambient_temperature
    kinds: list[Kind] = []
    numbers: dict[tuple[Led, float], int] = {}
    for place, group in enumerate(ask.lights):
        wanted = wanted_current(group)
        each = string_model((group.led,), ambient).expected.voltage(wanted)
        kinds.append(Kind(group, wanted, each, numbers.setdefault((group.led, wanted), place), ambient))
    return kinds


def _splits(ask: ArrangementAsk, kinds: Sequence[Kind], beaten: Beaten) -> Iterator[Split]:
    """Return every way worth showing, the careful one first; what is ``beaten`` beforehand is left out."""
    capacity = row_capacity(ask)
    longest = [_longest(kind, capacity) for kind in kinds]
    yield Split(_even(kinds, longest), True, True)
    careful = [Split(_filled(kinds, longest), True, True)]
    alike = [_divisor(kind.group.count, most) for kind, most in zip(kinds, longest, strict=True)]
    if any(most > 1 for most in alike):
        careful.append(Split(_even(kinds, alike), True, False))
    careful.append(Split(_even(kinds, [1] * len(kinds)), True, max(longest) == 1))
    for split in careful:
        if not beaten((False, 0, False, sum([count for _, count in split.rows]))):
            yield split
    if not beaten((False, 0, not ask.mix_colours, 0)):
        mixed = _mixed(kinds, capacity)
        if mixed is not None:
            yield mixed
    if beaten((True, 0, False, 0)):
        return
    daring = [_daring(ask, kind, most) for kind, most in zip(kinds, longest, strict=True)]
    further = [min(most + 1, far) for most, far in zip(longest, daring, strict=True)]
    for lengths in (further, daring):
        if lengths != longest:
            yield Split(_even(kinds, lengths), False, False)


def _longest(kind: Kind, capacity: float) -> int:
    """Return how many lights of a kind a careful row takes: pre-wired ones always stand alone."""
    if kind.group.led.prewired:
        return 1
    return max(1, min(kind.group.count, int(capacity / kind.each * (1 + 1e-12))))


def _daring(ask: ArrangementAsk, kind: Kind, careful: int) -> int:
    """Return how many lights a row takes that still gets half its current from the fresh supply."""
    led = kind.group.led
    if led.prewired:
        return 1
    half = kind.row(1).model.expected.voltage(kind.wanted / 2)
    source_low, _, _ = source_resistances(ask.supply)
    room = ask.supply.supply_voltage_max - source_low * kind.wanted / 2
    return max(careful, min(kind.group.count, int(room / half)))


def _even(kinds: Sequence[Kind], lengths: Sequence[int]) -> Rows:
    """Return each kind in the fewest rows of at most so many, as alike as can be: 10 by 3 are 3, 3, 2, 2."""
    found = []
    for kind, most in zip(kinds, lengths, strict=True):
        count = kind.group.count
        rows = -(-count // most)
        short, longer = divmod(count, rows)
        if longer:
            found.append((kind.row(short + 1), longer))
        found.append((kind.row(short), rows - longer))
    return tuple(found)


def _filled(kinds: Sequence[Kind], lengths: Sequence[int]) -> Rows:
    """Return each kind in rows filled one after the other: 10 by 3 are 3, 3, 3, 1."""
    found = []
    for kind, most in zip(kinds, lengths, strict=True):
        whole, rest = divmod(kind.group.count, most)
        if whole:
            found.append((kind.row(most), whole))
        if rest:
            found.append((kind.row(rest), 1))
    return tuple(found)


def _divisor(count: int, most: int) -> int:
    """Return the longest row length, no more than so many, that leaves no shorter row."""
    return next(length for length in range(most, 0, -1) if count % length == 0)


def _mixed(kinds: Sequence[Kind], capacity: float) -> Split | None:
    """Return rows of mixed colours where that saves rows, packed among kinds of equal wanted current."""
    partners_by: dict[object, list[Kind]] = {}
    for at, kind in enumerate(kinds):
        apart = kind.group.led.prewired or kind.each > capacity
        partners_by.setdefault(at if apart else f"{kind.wanted:.6g}", []).append(kind)
    rows: list[tuple[Lights, int]] = []
    proved = True
    saved = False
    for partners in partners_by.values():
        longest = [_longest(partner, capacity) for partner in partners]
        if len(partners) == 1:
            rows.extend(_even(partners, longest))
            continue
        counts = [partner.group.count for partner in partners]
        # Whole millivolts, rounded up: a row never takes more than its capacity.
        sizes = [-int(-partner.each * 1000 // 1) for partner in partners]
        packed = pack(sizes, counts, int(capacity * 1000))
        apart_rows = sum([-(-count // most) for count, most in zip(counts, longest, strict=True)])
        saved = saved or packed.rows < apart_rows
        proved = proved and packed.proved
        rows.extend([(_row_of(partners, pattern), times) for pattern, times in packed.patterns])
    return Split(tuple(rows), True, proved, mixed=True) if saved else None


def _row_of(kinds: Sequence[Kind], pattern: Sequence[int]) -> Lights:
    """Return a row of so many lights of each kind."""
    there = [(kind, amount) for kind, amount in zip(kinds, pattern, strict=True) if amount]
    first, amount = there[0]
    if len(there) == 1:
        return first.row(amount)
    leds: tuple[Led, ...] = ()
    numbers: tuple[int, ...] = ()
    for kind, amount in there:
        leds += (kind.group.led,) * amount
        numbers += (kind.number,) * amount
    return Lights(leds, string_model(leds, first.ambient_temperature), kinds[0].wanted, MIXED, numbers)


def _arranged(known: Known, split: Split) -> tuple[Arrangement, float]:
    """Return one way, solved and judged, and its steadiness; RowsImpossible where it may not be built."""
    supply = known.ask.supply
    solved = solve_rows(known.ask, split.rows, known)
    rows, total = solved.rows, solved.supply_current
    power = solved.terminal_voltage * total
    wasted = fresh = lowest_lit = 0.0
    row_count = resistors = joints = longest = 0
    answers = []
    for row in rows:
        count, answer = row.count, row.answer
        length, lit = answer.series_count, answer.lowest_lit_voltage
        answers.append(answer)
        row_count += count
        wasted += count * row.heat
        fresh += count * row.currents.fresh
        # Both ends of a row, one between each two parts.
        joints += count * (length + 1)
        if answer.resistance:
            resistors += count
            joints += count
        if length > longest:
            longest = length
        if lit is not None and lit > lowest_lit:
            lowest_lit = lit
    findings = list(solved.findings)
    if split.mixed and not split.proved:
        findings.append(finding("rows_not_proved_fewest", field="lights", rows=row_count))
    findings.extend(supply_load_findings(supply, total, fresh))
    if not split.careful:
        findings.append(_little_headroom(answers))
    if stopped(findings):
        raise RowsImpossible(tuple(findings))
    evenness, steadiness = _evenness(supply, rows)
    way = Arrangement(
        kind="series" if row_count == 1 else "parallel" if longest == 1 else "series_parallel",
        strings=tuple(answers),
        supply_current=total,
        supply_power=power,
        wasted_power=wasted,
        efficiency=1 - wasted / power if power > 0 else 0.0,
        resistor_count=resistors,
        joint_count=joints,
        evenness=evenness,
        lowest_lit_voltage=lowest_lit,
        if_one_opens=if_one_opens(supply, rows),
        if_one_shorts=if_one_shorts(rows),
        proved_fewest=split.proved,
        mixed_colours=split.mixed,
        findings=_distinct(findings),
    )
    return way, steadiness


def _little_headroom(answers: Sequence[StringAnswer]) -> Finding:
    """Return the caution of rows longer than the supply comfortably bears."""
    tightest = min(answers, key=lambda answer: answer.headroom or 0.0)
    low = tightest.current_low or 0.0
    return finding(
        "little_headroom",
        field="lights",
        count=tightest.series_count,
        left=volts(max(tightest.headroom or 0.0, 0.0)),
        low=milliamps(low) if low >= NEXT_TO_NOTHING else "nothing",
        high=milliamps(tightest.current_high or 0.0),
    )


def _evenness(supply: Supply, rows: Sequence[SolvedRow]) -> tuple[float, float]:
    """Return dimmest over brightest, as expected and where over the supply's window it is worst.

    Of what was wanted of each: lights meant to be dimmer are no unevenness.
    """
    expected = _dimmest_to_brightest([row.currents.expected / row.lights.wanted for row in rows])
    if supply.supply_voltage_min == supply.supply_voltage_max and not any(source_resistances(supply)):
        return expected, expected
    fresh = _dimmest_to_brightest([row.currents.fresh / row.lights.wanted for row in rows])
    empty = _dimmest_to_brightest([row.currents.empty / row.lights.wanted for row in rows])
    return expected, min(expected, fresh, empty)


def _dimmest_to_brightest(shares: Sequence[float]) -> float:
    most = max(shares)
    return min(shares) / most if most > 0 else 0.0


def _row_count(answers: Sequence[StringAnswer]) -> int:
    return sum([answer.branch_count for answer in answers])


def _refused(ways: Sequence[tuple[Finding, ...]]) -> tuple[Finding, ...]:
    """Return why none of some ways may be built; of resistors too small, what the easiest way asks for."""
    first: dict[tuple[str, str], Finding] = {}
    for way in ways:
        for item in way:
            first.setdefault((item.code, item.field), item)
    hot = [way for way in ways if any(_watts(item) for item in way)]
    # A way that nothing but its resistors speaks against can be mended by them.
    hot = [way for way in hot if all(_watts(item) for item in way)] or hot
    if hot:
        easiest = min((max(way, key=_watts) for way in hot), key=_watts)
        first[easiest.code, easiest.field] = easiest
    return tuple(first.values())


def _watts(item: Finding) -> float:
    """Return what a finding about a resistor's heat asks for, in W, endless where none is enough; else 0."""
    if item.field != "rated_dissipation":
        return 0.0
    asked = item.suggestion.get("rated_dissipation", math.inf)
    return asked if isinstance(asked, float) else math.inf


def _distinct(findings: Sequence[Finding], severity: str = "") -> tuple[Finding, ...]:
    """Return the first finding of each code about each member, the gravest first.

    All rows have resistors of one size: of their heat the one is told that asks for the most.
    """
    first: dict[tuple[str, str], Finding] = {}
    for item in findings:
        if not severity or item.severity == severity:
            known = first.setdefault((item.code, item.field), item)
            if _watts(item) > _watts(known):
                first[item.code, item.field] = item
    order = ("stop", "caution", "note")
    return tuple(sorted(first.values(), key=lambda item: order.index(item.severity)))


def _best(found: Sequence[Arrangement], ranks: Sequence[tuple[bool, float]], mix_colours: bool) -> int | None:
    """Return the index of the way we would take: careful, few cautions, fewest rows, steady."""
    ranked = [
        _rank(way, rank, at, mix_colours) for at, (way, rank) in enumerate(zip(found, ranks, strict=True))
    ]
    return min(ranked)[-1] if ranked else None


def _rank(way: Arrangement, rank: tuple[bool, float], at: int, mix_colours: bool) -> Rank:
    """Return a way's place among the others, the best least; the one before where they are alike."""
    daring, unsteady = rank
    cautions = len({item.code for item in way.findings if item.severity == "caution"})
    if way.evenness < EVEN:  # nobody wants it, though it harms nothing
        cautions += 1
    foreign = way.mixed_colours and not mix_colours
    return daring, cautions, foreign, _row_count(way.strings), unsteady, at


def _reason(found: Sequence[Arrangement], best: int | None) -> str:
    """Return in one sentence why the recommended way, or why none."""
    if best is None:
        return "Nothing here may be built as asked; the findings say what to change."
    way = found[best]
    rows = _row_count(way.strings)
    longest = max(answer.series_count for answer in way.strings)
    lit = f"keep half their light down to {volts(way.lowest_lit_voltage)}"
    current = milliamps(way.supply_current)
    if way.kind == "series":
        if longest == 1:
            lit = lit.replace("keep half their", "keeps half its")
            return f"The light takes {current} and {lit}."
        colours = ", colours mixed," if way.mixed_colours else ""
        return (
            f"One row{colours} needs one resistor and the least current: the lights take {current} and {lit}."
        )
    if way.kind == "parallel":
        lone = "each light has its own resistor" if way.resistor_count else "each has its resistor inside"
        if len(found) == 1 or not way.resistor_count:
            return f"The lights stand side by side and {lone}: they take {current} and {lit}."
        return (
            "Rows of more than one would leave too little of the supply, "
            f"so {lone}: they take {current} and {lit}."
        )
    most = max(other.supply_current for other in found) / way.supply_current
    saved = f", where lights side by side would take {most:.1f} times as much" if most > 1.1 else ""
    colours = ", colours mixed," if way.mixed_colours else ""
    return f"{rows} rows of up to {longest}{colours} take {current}{saved}, and {lit}."


def _working(ask: ArrangementAsk, kinds: Sequence[Kind]) -> tuple[Step, ...]:
    """Return how long a row may be, for each kind of light."""
    supply = ask.supply
    capacity = row_capacity(ask)
    taken = volts(max(capacity, 0.0))
    steps = [
        Step(
            "What the lights of one row may take: a fifth of the supply is left to the resistor, "
            "and they must still light at its lowest",
            _ROW_TAKES,
            f"supply {volts(supply.supply_voltage)}, lowest {volts(supply.supply_voltage_min)}",
            taken,
        )
    ]
    for kind in kinds:
        if kind.group.led.prewired:
            continue
        most = _longest(kind, capacity)
        rows = -(-kind.group.count // most)
        steps.append(
            Step(
                f"{kind.group.name or kind.group.led.name}: lights in one row",
                "n = V_row / V_F, rounded down, at least 1",
                f"{taken} / {volts(kind.each)} at {milliamps(kind.wanted)}",
                f"{most}, so {counted(rows, 'row')} for {kind.group.count}",
            )
        )
    needed = sum([kind.group.count * kind.each for kind in kinds])
    several = sum([kind.group.count for kind in kinds]) > 1
    if several and not any([kind.group.led.prewired for kind in kinds]):
        fits = needed < supply.supply_voltage_max
        steps.append(
            Step(
                "All of them in one row",
                "V = Σ V_F",
                f"{volts(needed)} against {volts(supply.supply_voltage_max)} at the highest",
                "would light on this supply when fresh" if fits else "this supply is not enough",
            )
        )
    return tuple(steps)
