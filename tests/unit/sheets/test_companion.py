"""The bench companion: what it answers, and how it refuses."""

import pytest

from lampwright.errors import ContradictionError, UnknownPartError
from lampwright.planner.catalogue import led_from_part
from lampwright.planner.models.circuits import CircuitAsk, StringAsk
from lampwright.planner.models.diagnosis import DiagnosisAsk, Reading
from lampwright.planner.supplies import supply_from_voltage
from lampwright.sheets.bench import bench_of_plan
from lampwright.sheets.diagnosis import diagnose
from lampwright.sheets.metering import readings
from tests.builds import example_ask, example_sheet

ASK = example_ask("observatory_diorama")


def asked(*pairs, signs=()):
    taken = tuple(
        Reading(check, current=value) if check == "total_current" else Reading(check, voltage=value)
        for check, value in pairs
    )
    return diagnose(DiagnosisAsk(build=ASK, readings=taken, signs=signs))


def test_without_anything_it_asks_for_a_reading():
    answer = asked()
    assert answer.next_check is not None
    assert sum(cause.likelihood for cause in answer.causes) == pytest.approx(1, abs=0.1)


def test_a_sound_build_is_said_to_be_sound():
    shown = readings(bench_of_plan(example_sheet("observatory_diorama").plan))
    answer = asked(
        *[(check, shown[check]) for check in ("supply_on", "resistor_0", "resistor_1", "resistor_2")]
    )
    assert answer.causes[0].faults[0] == "none"


def test_a_dark_row_is_one_cause_with_the_walk_that_finds_the_light():
    answer = asked(("resistor_1", 0.0), signs=("row_out_1",))
    first = answer.causes[0]
    assert "one of the lights of row E is the wrong way round" in first.what
    assert "Walk along row E" in first.fix
    assert len(first.faults) > 5


def test_the_light_that_shows_the_supply_is_named():
    answer = asked(("led_1_2", 8.0), signs=("row_out_1",))
    assert answer.causes[0].faults[0] in ("light_reversed_1_2", "light_open_1_2")
    assert "E3" in answer.causes[0].what


def test_nothing_behind_the_switch():
    answer = asked(("supply_on", 12.0), ("after_switch", 0.0), signs=("nothing_lights",))
    assert {"fuse_open", "switch_open"} & set(answer.causes[0].faults)
    assert "Never bridge it" in answer.causes[0].fix or "S1" in answer.causes[0].fix


def test_what_may_burn_is_said_before_anything_else():
    answer = asked(("resistor_0", 0.9), signs=("row_bright_0",))
    assert answer.causes[0].burns
    assert answer.findings[0].code == "fault_may_burn"
    assert "Switch off" in answer.causes[0].fix


def test_a_current_read_at_a_resistor_counts_as_its_volts():
    volts = asked(("resistor_0", 3.5))
    amps = diagnose(DiagnosisAsk(build=ASK, readings=(Reading("resistor_0", current=3.5 / 470),)))
    assert [cause.what for cause in volts.causes] == [cause.what for cause in amps.causes]


@pytest.mark.parametrize(
    ("ask", "error"),
    [
        (DiagnosisAsk(), ContradictionError),
        (DiagnosisAsk(build=ASK, readings=(Reading("resistor_9", voltage=1.0),)), UnknownPartError),
        (DiagnosisAsk(build=ASK, readings=(Reading("supply_on"),)), ContradictionError),
        (DiagnosisAsk(build=ASK, readings=(Reading("total_current", voltage=1.0),)), ContradictionError),
        (DiagnosisAsk(build=ASK, signs=("on_fire",)), UnknownPartError),
    ],
)
def test_what_cannot_be_taken_is_refused(ask, error):
    with pytest.raises(error):
        diagnose(ask)


def test_a_circuit_as_it_is_works_too():
    red = led_from_part("red_5mm")
    circuit = CircuitAsk(supply_from_voltage(9.0), (StringAsk((red, red), resistance=270.0),))
    answer = diagnose(
        DiagnosisAsk(
            circuit=circuit, readings=(Reading("supply_on", voltage=9.0), Reading("resistor_0", voltage=0.0))
        )
    )
    assert answer.causes[0].likelihood > 0.3
    assert any("row A" in cause.what for cause in answer.causes[:2])


def test_the_next_reading_says_what_it_would_tell():
    answer = asked(signs=("nothing_lights",))
    assert answer.next_check is not None
    assert len(answer.next_check.tells) >= 2
    assert all(":" in line for line in answer.next_check.tells)


@pytest.mark.parametrize(
    ("reading", "field"),
    [
        (Reading("total_current", voltage=1.0), "readings.1.voltage"),
        (Reading("supply_on", current=0.1), "readings.1.current"),
        (Reading("supply_on"), "readings.1"),
    ],
)
def test_a_reading_of_the_wrong_kind_is_named_itself(reading, field):
    with pytest.raises(ContradictionError) as found:
        diagnose(DiagnosisAsk(build=ASK, readings=(Reading("supply_off", voltage=12.0), reading)))
    assert found.value.field == field
