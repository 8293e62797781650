"""Fuse and switch: the window, the short circuit, what a source asks for; properties with Hypothesis."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.errors import ContradictionError, OutOfRangeError, UnknownPartError
from lampwright.physics.protection import (
    fuse_derating,
    hold_derating,
    longest_opening_time,
    short_circuit_current,
    smallest_rating,
)
from lampwright.planner.ampacity import Surroundings, ampacity
from lampwright.planner.fuse_window import LEADS
from lampwright.planner.models.build import PlannedWire
from lampwright.planner.models.wiring import FuseAsk, WireAsk
from lampwright.planner.protection import fuse, guarded, needed, switch
from lampwright.planner.supplies import supply_from_battery, supply_from_part, supply_from_voltage
from lampwright.planner.wire import wire
from lampwright.tables.wires import wire_size


def codes(answer):
    return [each.code for each in answer.findings]


@pytest.mark.parametrize(
    ("battery", "cells", "expected"),
    [
        ("lead_acid_12v", 1, "required"),
        ("liion_18650", 2, "required"),
        ("lipo_3s", 1, "required"),
        ("nimh_aa", 4, "required"),
        ("nimh_9v", 1, "required"),
        ("alkaline_aa", 4, "advised"),
        ("alkaline_aaa", 3, "advised"),
        ("alkaline_d", 2, "advised"),
        ("lithium_iron_aa", 2, "advised"),
        ("alkaline_9v", 1, "optional"),
        ("carbon_zinc_9v", 1, "optional"),
        ("lithium_coin_cr2032", 1, "optional"),
        ("alkaline_button_lr44", 3, "optional"),
        ("power_bank_5v", 1, "advised"),
    ],
)
def test_what_a_battery_asks_for(battery, cells, expected):
    # Common practice, no source: lead, lithium-ion and NiMH start fires, coin cells and 9 V blocks do not.
    ask = FuseAsk(current=0.02, awg=26, run_length=0.5, supply=supply_from_battery(battery, cells))
    answer = fuse(ask)
    assert answer.needed == expected
    assert "battery" in answer.placement


def test_what_a_supply_asks_for():
    assert fuse(FuseAsk(current=1.0, awg=18, supply=supply_from_part("vehicle_12v"))).needed == "required"
    limited = supply_from_voltage(12.0, current_limit=1.0)
    assert fuse(FuseAsk(current=0.2, awg=22, supply=limited)).needed == "optional"
    assert fuse(FuseAsk(current=0.2, awg=30, supply=limited)).needed == "advised"
    assert fuse(FuseAsk(current=0.2, awg=30, short_circuit_current=40.0)).needed == "required"
    assert needed(None, None, math.inf) == "advised"


def test_the_window():
    answer = fuse(FuseAsk(current=0.3, awg=26, run_length=0.8, supply=supply_from_battery("alkaline_aa", 4)))
    assert math.isclose(answer.smallest, 0.3 / 0.75)
    assert math.isclose(answer.largest, ampacity(wire_size(26).conductor_area, Surroundings()).ampacity)
    assert answer.smallest <= answer.rated_current <= answer.largest
    assert answer.clears_short is True
    assert codes(answer) == []


def test_no_value_fits_asks_for_thicker_wire_never_a_bigger_fuse():
    answer = fuse(FuseAsk(current=1.2, awg=26, run_length=2.0, supply=supply_from_battery("lead_acid_12v")))
    assert answer.rated_current is None
    assert codes(answer) == ["no_fuse_fits"]
    assert "hicker wire" in answer.findings[0].remedy
    assert "Never a bigger fuse" in answer.findings[0].remedy
    assert fuse(
        FuseAsk(current=1.2, awg=22, run_length=2.0, supply=supply_from_battery("lead_acid_12v"))
    ).rated_current


def test_why_no_value_fits_is_told_apart():
    between = fuse(FuseAsk(current=2.6, awg=20, short_circuit_current=100.0, style="glass_5x20"))
    assert between.rated_current is None
    assert between.smallest < ampacity(wire_size(20).conductor_area, Surroundings()).ampacity
    assert codes(between) == ["no_fuse_between"]
    # No fuse of the usual styles breaks 20 kA; the wire is not to blame.
    strong = FuseAsk(current=0.3, awg=24, short_circuit_current=20_000.0)
    assert codes(fuse(strong)) == ["fuse_style_unfit"]
    assert codes(fuse(replace(strong, rated_current=0.0))) == ["fuse_missing", "fuse_style_unfit"]
    assert codes(fuse(replace(strong, short_circuit_current=500.0, style="glass_5x20"))) == [
        "fuse_style_unfit"
    ]
    assert codes(fuse(replace(strong, short_circuit_current=500.0))) == []


@pytest.mark.parametrize("capacity", [7.0, 18.0, 45.0, 100.0])
def test_leads_up_to_the_fuse_tame_a_big_battery(capacity):
    """0.4 m of 18 AWG is 8 mΩ, so that not even a short of the rest sends 1.6 kA through the fuse at 12 V.

    The copper: 1.7241e-8 Ω·m over 0.823 mm² [ASTM-B258].
    """
    assert math.isclose(LEADS, 0.4 * 1.7241e-8 / 0.823e-6, rel_tol=0.06)
    supply = supply_from_battery("lead_acid_12v", capacity=capacity)
    answer = fuse(FuseAsk(current=0.3, awg=24, run_length=1.0, supply=supply))
    assert answer.rated_current is not None
    assert answer.style in ("blade", "ceramic_5x20")
    assert codes(answer) == []
    # What was measured or sent counts as it is.
    told = fuse(FuseAsk(current=0.3, awg=24, supply=supply, short_circuit_current=20_000.0))
    assert codes(told) == ["fuse_style_unfit"]


def test_a_power_bank_gives_no_more_than_its_guard_lets_it():
    """A bank switches off or holds back at some amperes (from memory): a glass fuse breaks that."""
    bank = supply_from_battery("power_bank_5v")
    answer = fuse(FuseAsk(current=0.16, awg=28, run_length=1.0, supply=bank))
    assert (answer.style, answer.rated_current) == ("glass_5x20", 0.4)
    thick = fuse(FuseAsk(current=0.16, awg=18, run_length=1.0, supply=bank))
    assert thick.needed == "optional"
    assert "4 A" in thick.findings[-1].message


def test_a_source_that_needs_no_fuse_is_not_warned_of_one_slow_to_open():
    coin = FuseAsk(
        current=0.002,
        awg=30,
        run_length=1.0,
        supply=supply_from_battery("lithium_coin_cr2032"),
        rated_current=0.2,
    )
    answer = fuse(coin)
    assert (answer.needed, answer.clears_short) == ("optional", False)
    assert "fuse_slow_to_open" not in codes(answer)


def test_none_fitted_is_judged():
    lithium = FuseAsk(current=0.2, awg=28, supply=supply_from_battery("liion_18650"), rated_current=0.0)
    answer = fuse(lithium)
    assert answer.rated_current == 0.0
    assert codes(answer) == ["fuse_missing"]
    assert answer.findings[0].suggestion["rated_current"] == answer.alternatives[0].rated_current
    alkaline = replace(lithium, supply=supply_from_battery("alkaline_aa", 3))
    assert codes(fuse(alkaline)) == ["fuse_advised"]
    coin = replace(lithium, current=0.002, supply=supply_from_battery("lithium_coin_cr2032"))
    assert codes(fuse(coin)) == ["fuse_not_needed"]


def test_fuses_sent_are_judged():
    ask = FuseAsk(current=0.3, awg=26, run_length=0.5, supply=supply_from_battery("alkaline_aa", 4))
    assert codes(fuse(replace(ask, rated_current=0.5))) == []
    assert codes(fuse(replace(ask, rated_current=5.0)))[0] == "fuse_too_big"
    assert codes(fuse(replace(ask, rated_current=0.25))) == ["fuse_too_small"]
    assert codes(fuse(replace(ask, rated_current=0.315))) == ["fuse_little_reserve"]


@pytest.mark.parametrize("style", [None, "glass_5x20", "blade", "resettable"])
@pytest.mark.parametrize("rated", [0.0, 0.1, 0.5, 1.0, 7.5, 30.0])
@pytest.mark.parametrize("battery", ["liion_18650", "lead_acid_12v", "nimh_aa"])
def test_a_fuse_suggested_in_place_of_another_is_sound(style, rated, battery):
    supply = supply_from_battery(battery)
    ask = FuseAsk(current=0.8, awg=22, run_length=1.0, supply=supply, rated_current=rated, style=style)
    for found in fuse(ask).findings:
        if found.severity != "note":
            assert found.suggestion
            assert codes(fuse(replace(ask, **found.suggestion))) == []


def test_a_fuse_is_suggested_with_its_style_where_a_glass_one_would_burst():
    strong = supply_from_battery("liion_18650")
    (found,) = fuse(FuseAsk(current=0.8, awg=22, supply=strong, rated_current=0.0)).findings
    assert found.suggestion == {"rated_current": 2.0, "style": "blade"}
    assert "blade" in found.remedy


def test_another_style_is_suggested_where_the_one_asked_for_has_none():
    strong = supply_from_battery("liion_18650")
    ask = FuseAsk(current=0.8, awg=22, supply=strong, style="glass_5x20")
    (found,) = fuse(ask).findings
    assert (found.code, found.suggestion) == ("fuse_style_unfit", {"style": "blade"})
    assert fuse(replace(ask, style="blade")).rated_current == 2.0


@pytest.mark.parametrize("short", [0.5, 1.0, 2.0, 20.0])
@pytest.mark.parametrize("style", [None, "ceramic_5x20", "resettable"])
def test_other_fuses_offered_open_in_a_short_circuit(short, style):
    supply = supply_from_battery("nimh_aaa")
    ask = FuseAsk(current=0.02, run_length=2.0, supply=supply, short_circuit_current=short, style=style)
    for other in fuse(ask).alternatives:
        sent = replace(ask, rated_current=other.rated_current, style=other.style)
        assert "fuse_will_not_open" not in codes(fuse(sent))


def test_no_fuse_is_suggested_where_none_fits():
    thin = FuseAsk(current=3.0, awg=30, supply=supply_from_battery("liion_18650"), rated_current=1.0)
    assert not any(found.suggestion for found in fuse(thin).findings)


def test_a_glass_fuse_bursts_on_a_lead_battery():
    ask = FuseAsk(current=0.5, awg=20, supply=supply_from_battery("lead_acid_12v"), style="glass_5x20")
    assert fuse(ask).rated_current is None
    sent = fuse(replace(ask, rated_current=1.0))
    assert "fuse_cannot_break" in codes(sent)
    free = fuse(replace(ask, style=None))
    assert free.style in ("blade", "ceramic_5x20")
    assert codes(free) == []


def test_a_long_thin_run_opens_no_fuse():
    ask = FuseAsk(current=0.2, awg=30, run_length=6.0, supply=supply_from_battery("nimh_aa", 2))
    answer = fuse(ask)
    assert answer.clears_short is False
    assert codes(answer) == ["fuse_will_not_open"]


def test_a_weak_source_harms_no_wire():
    answer = fuse(FuseAsk(current=0.002, awg=30, supply=supply_from_battery("lithium_coin_cr2032")))
    assert answer.clears_short is False
    assert codes(answer) == ["fuse_not_needed"]
    assert (
        fuse(FuseAsk(current=1.8, awg=22, supply=supply_from_voltage(12.0, current_limit=2.0))).rated_current
        == 0.0
    )


def test_warm_places_take_a_larger_fuse():
    cool = fuse(FuseAsk(current=0.36, awg=20, ambient_temperature=25.0))
    warm = fuse(FuseAsk(current=0.36, awg=20, ambient_temperature=60.0))
    assert (cool.rated_current, warm.rated_current) == (0.5, 0.63)


def test_inrush():
    assert fuse(FuseAsk(current=0.1, awg=20, inrush=4.0)).rated_current == 1.0


def test_resettable_devices_are_judged_by_their_trip_current():
    answer = fuse(FuseAsk(current=0.06, awg=30, run_length=1.0, style="resettable",
                          supply=supply_from_battery("alkaline_aa", 3)))  # fmt: skip
    assert (answer.style, answer.rated_current) == ("resettable", 0.1)
    assert 2 * answer.rated_current <= ampacity(wire_size(30).conductor_area, Surroundings()).ampacity
    assert codes(answer) == ["resettable_drops_volts"]


def test_wires_are_thickened_until_a_fuse_works():
    supply = supply_from_battery("nimh_aa", 2)

    def wires(least):
        found = wire(
            WireAsk(current=0.2, run_length=6.0, supply_voltage=2.4, max_drop=0.5, ampacity_min=least)
        )
        return (PlannedWire("W0", "every row", 6.0, 0.2, found),)

    def asked(planned):
        size = planned[0].figures
        return FuseAsk(current=0.2, awg=size.awg, loop_resistance=size.loop_resistance, supply=supply)

    before = fuse(asked(wires(0.0)))
    after, answer = guarded(wires, asked)
    assert "fuse_will_not_open" in codes(before)
    assert codes(answer) == []
    assert after[0].figures.awg < wires(0.0)[0].figures.awg


def test_bad_questions():
    with pytest.raises(UnknownPartError):
        fuse(FuseAsk(current=0.1, style="nail"))
    with pytest.raises(UnknownPartError):
        fuse(FuseAsk(current=0.1, awg=8))
    with pytest.raises(ContradictionError):
        fuse(FuseAsk(current=0.1, awg=22, conductor_area=2.5))


def test_switches():
    assert switch(0.1, 6.0).rated_current == 0.3
    assert switch(0.25, 6.0).rated_current == 1.0
    assert switch(1.0, 48.0).rated_voltage >= 48.0
    assert "relay" in switch(30.0, 48.0).kind
    assert switch(30.0, 48.0).rated_current == 45.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: fuse_derating(200.0),
        lambda: smallest_rating(-1.0, 1.0),
        lambda: smallest_rating(1.0, 0.0),
        lambda: smallest_rating(1.0, 1.0, 1.5),
        lambda: longest_opening_time(-1.0, [(2.0, 1.0)]),
        lambda: longest_opening_time(1.0, []),
        lambda: short_circuit_current(-1.0, 0.0, 0.0),
    ],
)
def test_outside_a_formula(call):
    with pytest.raises(OutOfRangeError):
        call()


sources = st.sampled_from(
    [
        supply_from_battery("alkaline_aa", 4),
        supply_from_battery("nimh_aa", 6),
        supply_from_battery("lead_acid_12v"),
        supply_from_battery("liion_18650", 2),
        supply_from_battery("lithium_coin_cr2032"),
        supply_from_part("adapter_12v"),
        supply_from_part("vehicle_12v"),
        supply_from_voltage(24.0, current_limit=5.0),
        supply_from_voltage(5.0),
        None,
    ]
)


@settings(max_examples=300, deadline=None)
@given(
    st.builds(
        FuseAsk,
        current=st.floats(0.001, 8.0),
        awg=st.sampled_from(range(10, 37)),
        run_length=st.floats(0.05, 10.0),
        bundled_count=st.integers(1, 20),
        insulation=st.sampled_from(["pvc_80", "pvc_105", "silicone_180"]),
        enclosed=st.booleans(),
        supply=sources,
        inrush=st.one_of(st.none(), st.floats(0.1, 10.0)),
        style=st.sampled_from([None, None, "glass_5x20", "blade", "ceramic_5x20", "resettable"]),
        ambient_temperature=st.floats(-20.0, 70.0),
    )
)
def test_wherever_a_fuse_is_answered_it_fits(ask):
    answer = fuse(ask)
    if not answer.rated_current:
        assert answer.rated_current == 0 or any(each.severity == "stop" for each in answer.findings)
        return
    style = answer.style
    derating = (hold_derating if style == "resettable" else fuse_derating)(ask.ambient_temperature)
    carried = ampacity(
        wire_size(ask.awg).conductor_area,
        Surroundings(ask.insulation, ask.bundled_count, ask.enclosed, ask.ambient_temperature),
    ).ampacity
    assert ask.current <= 0.75 * derating * answer.rated_current * (1 + 1e-12)
    assert answer.rated_current <= carried
    stops = [each.code for each in answer.findings if each.severity == "stop"]
    if answer.clears_short is False and not stops:
        assert "fuse_not_needed" in codes(answer) or answer.short_circuit_current <= carried
