"""What a sheet says: steps with gates, parts with spares, event card, reserve, refusals."""

import re
from dataclasses import replace

import pytest

from lampwright.auditor import AuditReport, Failure
from lampwright.paper.tables import joints as joints_table
from lampwright.paper.tables import key_figures
from lampwright.paper.text import render_text
from lampwright.planner.catalogue import led_from_figures, led_from_part
from lampwright.planner.labels import LETTERS, row_index, row_letter, rows_in
from lampwright.planner.models.circuits import LightGroup
from lampwright.planner.sheet import plan_build
from lampwright.planner.supplies import supply_from_battery, supply_from_part, supply_from_voltage
from lampwright.sheets import build
from lampwright.sheets.build import build_sheet
from lampwright.sheets.parts import light_spares
from lampwright.sheets.steps import spread, useful
from tests.builds import NAMES, example_ask, example_sheet, rows_ask


def test_no_row_letter_names_anything_else():
    assert not set("FGRSWXIO") & set(LETTERS)
    assert [row_letter(row_index(row_letter(at))) for at in range(400)] == [
        row_letter(at) for at in range(400)
    ]


@pytest.mark.parametrize("name", NAMES)
def test_lights_are_all_there_once(name):
    plan = example_sheet(name).plan
    for light in plan.ask.lights:
        found = sum(
            string.solved.branch_count * string.light_names.count(light.name) for string in plan.strings
        )
        assert found == light.count
    labels = [row for string in plan.strings for row in rows_in(string.row)]
    assert len(set(labels)) == len(labels) == sum(string.solved.branch_count for string in plan.strings)


def test_equal_lights_under_two_names_keep_their_names():
    ask = example_ask("moth_wings")
    light = replace(ask.lights[0], count=5)
    twins = (light, replace(light, name="Other edge", count=3))
    plan = plan_build(replace(ask, lights=twins))
    names = [
        name
        for string in plan.strings
        for _ in range(string.solved.branch_count)
        for name in string.light_names
    ]
    assert sorted(names) == sorted(["Wing edge"] * 5 + ["Other edge"] * 3)


@pytest.mark.parametrize("name", NAMES)
def test_every_row_has_a_test_gate_with_its_reading(name):
    sheet = example_sheet(name)
    gates = [step for step in sheet.build_steps if step.gate]
    for place, string in enumerate(sheet.plan.strings):
        check = f"resistor_{place}" if string.solved.resistance else f"led_{place}_0"
        assert any(step.reading.startswith(check) for step in gates), check
    assert any(step.reading.startswith("after_switch") for step in gates)
    assert any(step.reading.startswith("total_current") for step in gates)
    assert any(step.reading.startswith("touch") for step in gates)
    assert [step.number for step in sheet.build_steps] == list(range(1, len(sheet.build_steps) + 1))
    glue = next(step.number for step in sheet.build_steps if step.text.startswith("Glue"))
    assert all(step.number < glue for step in gates)


def test_spares():
    """A tenth of the lights or two, two resistors of a value (common practice, no source)."""
    assert [light_spares(count) for count in (1, 20, 21, 100)] == [2, 2, 3, 10]
    sheet = example_sheet("observatory_diorama")
    resistors = [line for line in sheet.parts_list if line.item == "Resistor"]
    assert [line.spares for line in resistors] == [2] * len(resistors)
    assert sum(line.count for line in resistors) == sum(
        string.solved.branch_count for string in sheet.plan.strings
    )
    assert next(line for line in sheet.parts_list if line.item == "Fuse").spares == sheet.plan.fuse.spares


def test_the_reserve_of_a_good_build_is_said():
    sheet = example_sheet("miners_lamp")
    used = 100 * sheet.plan.design_current / sheet.plan.fuse.rated_current
    assert f"{used:.0f} % of the fuse" in sheet.reserve
    assert "times the event" in sheet.reserve


def test_the_event_card_has_hours_sets_and_blanks():
    card = {line.what: line.says for line in example_sheet("moth_wings").event_card}
    assert card["Started at"] == card["Phone"] == ""
    assert "about" in card["A set lasts"]
    assert card["Sets to pack"].startswith(str(example_sheet("moth_wings").plan.runtime.sets_needed))


def test_drawing_in_words_goes_from_plus_to_minus():
    text = example_sheet("observatory_diorama").drawing_text
    assert text.startswith("Supply G1")
    assert text.rstrip(".").endswith("supply G1 minus")
    first = text.split("\n")[0]
    assert first.index("F1") < first.index("S1") < first.index("W0")


def test_too_little_voltage_is_a_stop_without_numbers():
    ask = replace(example_ask("observatory_diorama"), supply=supply_from_voltage(2.5))
    sheet = build_sheet(ask)
    assert not sheet.buildable
    assert sheet.safe == "no"
    assert sheet.plan.supply_current is None
    assert not sheet.parts_list
    assert any(each.severity == "stop" for each in sheet.findings)


def test_an_overloaded_supply_is_a_stop_and_a_full_one_a_caution():
    base = example_ask("observatory_diorama")
    need = plan_build(base).design_current
    over = plan_build(replace(base, supply=replace(base.supply, current_limit=0.9 * need)))
    full = plan_build(replace(base, supply=replace(base.supply, current_limit=1.1 * need)))
    fine = plan_build(replace(base, supply=replace(base.supply, current_limit=1.3 * need)))
    assert "supply_overloaded" in {each.code for each in over.findings}
    assert not over.buildable
    assert "supply_nearly_full" in {each.code for each in full.findings}
    assert full.buildable
    assert not {"supply_overloaded", "supply_nearly_full"} & {each.code for each in fine.findings}


def test_what_the_audit_refuses_is_never_buildable(monkeypatch):
    failure = Failure("wire_over_ampacity", "wires[0]", "W0 carries too much")
    monkeypatch.setattr(build, "audit", lambda document: AuditReport(False, True, (failure,), (), 1))
    sheet = build_sheet(example_ask("moth_wings"))
    assert not sheet.buildable
    assert sheet.safe == "no"
    assert sheet.findings[0].severity == "stop"
    assert "W0 carries too much" in sheet.findings[0].message


def test_supply_current_is_the_sum_of_all_rows():
    plan = example_sheet("observatory_diorama").plan
    rows = sum(string.solved.branch_count * string.solved.current for string in plan.strings)
    assert rows * 0.97 < plan.supply_current <= rows
    assert plan.supply_current_low < plan.supply_current < plan.supply_current_high <= plan.design_current


def test_prewired_lights_get_no_resistor_and_no_resistor_reading():
    light = LightGroup(
        "Lantern",
        led_from_figures(
            forward_voltage=3.1,
            rated_current=0.02,
            built_in_resistance=470.0,
            rated_voltage=12.0,
            colour="white",
        ),
        3,
    )
    sheet = build_sheet(replace(example_ask("observatory_diorama"), lights=(light,)))
    checks = {check.check for check in sheet.bench_checks}
    if sheet.plan.strings and not sheet.plan.strings[0].solved.resistance:
        assert "resistor_0" not in checks
        assert "led_0_0" in checks


def test_useful_digits():
    assert [useful(value) for value in (0.2991, 3.514, 12.63, 117.2)] == ["0.3", "3.5", "12.6", "117"]
    assert spread(2.7, 2.3, 3.1, 1.0, "V") == "2.7 V (2.3 to 3.1)"


def test_many_rows_keep_their_order_and_wires():
    plan = plan_build(rows_ask(40))
    served = [row for wire in plan.wires if wire.label != "W0" for row in re.split(", ", wire.serves)]
    assert served == [string.row for string in plan.strings]


def test_rows_that_fade_are_named_and_one_light_is_not_told_to_be_fewer():
    fades = next(each for each in example_sheet("miners_lamp").findings if each.code == "fades_with_supply")
    for string in example_sheet("miners_lamp").plan.strings:
        kept = string.solved.current_empty / string.solved.current
        assert f"{string.row.replace('–', ' to ')} {100 * kept:.0f} %" in fades.message
    assert "ewer lights" not in fades.remedy
    ask = example_ask("miners_lamp")
    reds = replace(ask.lights[2], count=4)
    pair = plan_build(replace(ask, supply=supply_from_battery("alkaline_aa", 4), lights=(reds,)))
    assert max(len(string.leds) for string in pair.strings) > 1
    said = [each for each in pair.findings if each.code in ("fades_with_supply", "goes_out_early")]
    assert said
    assert all("Fewer lights in a row" in each.remedy for each in said)


def bank_ask(count: int):
    """Return a lantern of some lights on a power bank, for six hours."""
    ask = example_ask("miners_lamp")
    lights = (replace(ask.lights[0], count=count, forward_current=0.015),)
    return replace(
        ask,
        supply=supply_from_battery("power_bank_5v"),
        lights=lights,
        usage=replace(ask.usage, hours_wanted=6 * 3600.0, worn=False),
        wire=replace(ask.wire, flexing=False),
    )


def test_no_number_of_banks_that_fall_asleep_is_packed():
    sheet = build_sheet(bank_ask(2))
    plan = sheet.plan
    assert plan.runtime is not None
    assert plan.runtime.ended_by == "asleep"
    assert plan.runtime.sets_needed is None
    assert plan.runtime.swap_times == ()
    battery = next(line for line in sheet.parts_list if line.item == "Battery")
    assert (battery.count, battery.spares) == (1, 0)
    card = {line.what: line.says for line in sheet.event_card}
    assert "Swap the set" not in card
    assert "Sets to pack" not in card
    assert "falls asleep" in card["A set lasts"]
    assert "falls asleep" in sheet.summary
    assert "sets" not in sheet.reserve
    assert dict(key_figures(sheet))["A set lasts"] == card["A set lasts"]


def test_banks_are_never_offered_side_by_side():
    sheet = build_sheet(bank_ask(8))
    assert sheet.plan.runtime is not None
    assert sheet.plan.runtime.ended_by == "empty"
    assert all(each.packs_in_parallel == 1 for each in sheet.plan.comparison)
    card = {line.what: line.says for line in sheet.event_card}
    assert card["Swap the set"] == "when it goes dark"


def test_half_the_light_is_not_said_to_look_half():
    """Half the current looks about three quarters as bright (common practice, no source)."""
    card = {line.what: line.says for line in example_sheet("moth_wings").event_card}
    assert card["Swap the set"] == "when it looks a quarter dimmer"


def test_a_row_that_lasts_the_event_does_not_go_out_early():
    """NiMH cells stay near 1.2 V for most of their charge: 48 h of light are not over early in 4 h."""
    ask = example_ask("miners_lamp")
    blue = replace(example_ask("moth_wings").lights[1], count=4, forward_current=0.01)
    ask = replace(ask, supply=supply_from_battery("nimh_aa", 3), lights=(blue,))
    long = plan_build(replace(ask, usage=replace(ask.usage, hours_wanted=40 * 3600.0)))
    assert "goes_out_early" in {each.code for each in long.findings}
    short = plan_build(replace(ask, usage=replace(ask.usage, hours_wanted=4 * 3600.0)))
    said = {each.code: each for each in short.findings}
    assert "goes_out_early" not in said
    assert "rows keep a part of their light" in said["fades_with_supply"].message


def test_a_coin_cell_within_its_limit_is_not_nearly_full():
    """A red at 2 mA takes at most 2.9 mA: CR2032 are recommended up to 3 mA continuously."""
    red = replace(example_ask("miners_lamp").lights[2], count=1, forward_current=0.002)
    ask = replace(
        example_ask("miners_lamp"), supply=supply_from_battery("lithium_coin_cr2032"), lights=(red,)
    )
    sheet = build_sheet(replace(ask, usage=replace(ask.usage, hours_wanted=5 * 3600.0)))
    assert sheet.plan.design_current is not None
    assert 0.0024 < sheet.plan.design_current < 0.003
    assert sheet.safe == "yes"


def all_words(sheet):
    """Return what a sheet says of faults, on its card and in its steps, in one text."""
    return " ".join(
        [
            *(f"{row.look_first} {' '.join(row.causes)} {row.cure}" for row in sheet.fault_finding),
            *(f"{line.what} {line.says}" for line in sheet.event_card),
            *(step.text for step in sheet.build_steps),
        ]
    )


def test_nobody_turns_a_bank_round_or_looks_for_the_holder_of_a_block():
    said = all_words(build_sheet(bank_ask(8)))
    assert "way round, fuse" not in said
    assert "battery the right way round" not in said
    assert "battery contacts" not in said
    assert "wake the bank" in said
    ask = example_ask("miners_lamp")
    block = all_words(build_sheet(replace(ask, supply=supply_from_battery("alkaline_9v"))))
    assert "holder's contacts" not in block
    assert "its clip or plug is loose" in block
    charged = all_words(build_sheet(replace(ask, supply=supply_from_battery("nimh_aa", 3))))
    assert "fit charged cells" in charged
    assert "put the cells in" in charged
    one = all_words(build_sheet(replace(ask, supply=supply_from_battery("liion_18650"))))
    assert "put the cell in" in one
    assert "the cells in" not in one
    two = all_words(build_sheet(replace(ask, supply=supply_from_battery("alkaline_9v", 2))))
    assert "snap the blocks on" in two
    assert "the block on" not in two
    assert "snap the block on" in block


def test_a_resistor_that_is_told_to_be_hot_is_not_told_to_be_hand_warm():
    """One red at 14 mA on 9 V: 0.1 W in a quarter-watt resistor, some 58 C at its hottest."""
    ask = example_ask("miners_lamp")
    red = replace(ask.lights[2], count=1, forward_current=0.014)
    hot = replace(ask, supply=supply_from_voltage(9.0, source_resistance=0.0), lights=(red,))
    hot = replace(hot, resistors=replace(hot.resistors, rated_dissipation=0.25))
    touch = build_sheet(hot).bench_checks[-1]
    assert touch.tips.endswith("joints, plug; not R-A: made to run hotter")
    pair = build_sheet(replace(hot, lights=(red, replace(red, name="Other", forward_current=0.012))))
    assert pair.bench_checks[-1].tips.endswith("; not R-A and R-B: made to run hotter")
    cool = build_sheet(replace(hot, lights=(replace(red, forward_current=0.003),))).bench_checks[-1]
    assert cool.tips.endswith("touch resistors, joints, plug")


def test_a_build_whose_lights_can_hurt_is_safe_with_care_only():
    ask = example_ask("miners_lamp")
    assert build_sheet(ask).safe == "yes"
    flashing = replace(ask, usage=replace(ask.usage, flash_rate=8.0))
    assert build_sheet(flashing).safe == "with_care"
    star = replace(
        ask.lights[0],
        count=1,
        forward_current=0.35,
        led=led_from_figures(
            forward_voltage=2.9, rated_current=0.35, max_forward_current=1.0, colour="white"
        ),
    )
    lamp = build_sheet(replace(ask, supply=supply_from_battery("liion_18650"), lights=(star,)))
    assert lamp.safe == "with_care"
    plates = [line for line in lamp.parts_list if line.item == "Heat sink"]
    assert [line.count for line in plates] == [1]
    assert any(line.code == "hot_light" for line in lamp.cautions)
    steps = [step.text for step in lamp.build_steps]
    mounted = next(at for at, text in enumerate(steps) if "fix each light on its aluminium" in text)
    assert steps[mounted].startswith("Row A: ")
    assert mounted < next(at for at, text in enumerate(steps) if "TEST row A" in text)
    assert "aluminium" not in " ".join(step.text for step in build_sheet(ask).build_steps)
    assert not [line for line in build_sheet(ask).parts_list if line.item == "Heat sink"]


def test_a_build_no_fuse_fits_says_so_once():
    """Two big lead batteries give more into a short circuit than any fuse here breaks."""
    ask = example_ask("miners_lamp")
    packs = supply_from_battery("lead_acid_12v", 2, capacity=100.0)
    sheet = build_sheet(replace(ask, supply=packs))
    said = {each.code: each for each in sheet.findings}
    assert sheet.safe == "no"
    assert "audit_failed" not in said
    assert "smaller pack" in said["fuse_style_unfit"].remedy
    assert dict(key_figures(sheet))["Fuse"] == "none fits"


def test_one_light_that_cannot_be_wired_is_it():
    ask = example_ask("miners_lamp")
    lone = replace(ask, supply=supply_from_battery("alkaline_aa"), lights=(replace(ask.lights[1], count=1),))
    assert "no safe way to wire it was found" in build_sheet(lone).summary


def test_the_loss_of_one_run_is_told_beside_that_of_the_whole_way():
    ask = example_ask("observatory_diorama")
    thin = replace(ask, supply=supply_from_voltage(5.0), wire=replace(ask.wire, on_hand_awg=(36,)))
    said = next(each for each in plan_build(thin).findings if each.code == "wire_drop_high")
    assert "(of 3 % in all)" in said.message


def test_bare_leads_of_a_strong_battery_are_kept_apart_until_there_is_a_fuse():
    ask = example_ask("miners_lamp")
    lead = build_sheet(replace(ask, supply=supply_from_battery("lead_acid_12v")))
    assert "bare ends apart" in next(step.text for step in lead.build_steps if step.gate)
    assert "bare ends apart" not in " ".join(step.text for step in build_sheet(ask).build_steps)


def test_infrared_is_looked_at_through_a_camera():
    ask = example_ask("miners_lamp")
    unseen = replace(ask.lights[0], led=led_from_part("ir_940_3mm"))
    said = all_words(build_sheet(replace(ask, lights=(unseen,))))
    assert "phone's camera" in said
    assert "camera" not in all_words(build_sheet(ask))


def test_a_plug_with_no_fuse_before_it_begins_its_sentence():
    red = replace(example_ask("miners_lamp").lights[2], count=1, forward_current=0.002)
    ask = replace(
        example_ask("miners_lamp"), supply=supply_from_battery("lithium_coin_cr2032"), lights=(red,)
    )
    said = all_words(build_sheet(replace(ask, usage=replace(ask.usage, worn=True))))
    assert "Sleeves on. Supply+ and supply− to the socket half" in said


def test_one_row_keeps_its_light_and_one_light_is_not_told_to_be_fewer():
    ask = example_ask("miners_lamp")
    white = replace(example_ask("observatory_diorama").lights[0], count=1, forward_current=0.02)
    plan = plan_build(replace(ask, supply=supply_from_battery("liion_18650"), lights=(white,)))
    said = {each.code: each for each in plan.findings}
    assert re.search(r"row A keeps [0-9.]+ % of its light", said["fades_with_supply"].message)
    assert "fewer lights" not in said["dimmed_by_spread"].remedy
    assert "costume" not in said["lithium_ion_unprotected"].remedy


def test_a_white_light_on_a_coin_cell_may_be_built():
    """At 1 mA a white light needs some 2.7 V: brooches do it; beyond 3 mA of expected parts it is a stop."""
    ask = example_ask("miners_lamp")
    white = replace(ask.lights[1], count=1, forward_current=0.001, led=led_from_part("white_3mm"))
    coin = replace(ask, supply=supply_from_battery("lithium_coin_cr2032"), lights=(white,))
    coin = replace(coin, usage=replace(coin.usage, hours_wanted=5 * 3600.0))
    sheet = build_sheet(coin)
    assert sheet.buildable
    # The worst light at the lowest voltage takes some nanoamperes: no meter shows them.
    assert "0.000" not in render_text(sheet).partition("WHAT THE FIGURES")[0]
    assert not build_sheet(replace(coin, lights=(replace(white, count=5),))).buildable
    red = replace(ask.lights[2], count=2, forward_current=0.0025)
    assert "coin_over_limit" in {each.code for each in build_sheet(replace(coin, lights=(red,))).findings}


def test_lights_printed_5_v_are_made_for_a_usb_charger():
    """USB-C allows 5.5 V at the socket [USB-C, vSafe5V]; such lights are sold for it."""
    ask = example_ask("miners_lamp")
    net = replace(ask.lights[0], count=20, forward_current=None, led=led_from_part("prewired_warm_white_5v"))
    sheet = build_sheet(replace(ask, supply=supply_from_part("usb_charger_5v"), lights=(net,)))
    assert sheet.safe == "yes"


def test_sets_are_told_where_one_is_swapped_before_it_is_used_up():
    ask = example_ask("miners_lamp")
    runtime = build_sheet(ask).plan.runtime
    assert runtime is not None
    assert runtime.runtime is not None
    close = replace(ask, usage=replace(ask.usage, hours_wanted=0.95 * runtime.runtime))
    sheet = build_sheet(close)
    assert "3 sets carry it through the event" in sheet.reserve
    assert "times the event" not in sheet.reserve
    assert "times the event" in build_sheet(ask).reserve


def test_no_more_than_all_of_a_supply_is_said_to_be_in_reserve():
    ask = example_ask("miners_lamp")
    lamps = replace(
        ask.lights[0], count=4, forward_current=None, led=led_from_part("prewired_warm_white_12v")
    )
    block = replace(ask, supply=supply_from_battery("alkaline_9v"), lights=(lamps,))
    sheet = build_sheet(replace(block, usage=replace(block.usage, hours_wanted=3 * 3600.0)))
    assert sheet.safe == "yes"
    assert "of the supply" not in sheet.reserve


def test_the_main_run_is_not_the_thin_end_of_a_thicker_one():
    """Ten metres at 5 V ask for thick wire; the 30 cm before it are cut from the same."""
    ask = example_ask("miners_lamp")
    far = replace(ask.lights[1], count=10, forward_current=0.02, run_length=10.0)
    sheet = build_sheet(replace(ask, supply=supply_from_part("usb_charger_5v"), lights=(far,)))
    gauges = {wire.label: wire.figures.awg for wire in sheet.plan.wires}
    assert gauges["W0"] == gauges["W1"]
    assert gauges["W1"] is not None
    assert gauges["W1"] < 24
    assert "may be one piece" in joints_table(sheet).note
    assert [each.code for each in sheet.findings].count("higher_voltage_saves") == 1
    for each in build_sheet(ask).plan.wires[1:]:
        assert (each.figures.awg or 0) >= (build_sheet(ask).plan.wires[0].figures.awg or 0)


def test_a_short_circuit_that_needs_no_fuse_burns_nothing():
    """A coin cell gives less than its wire carries: the weak points say what the note on the fuse says."""
    red = replace(example_ask("miners_lamp").lights[2], count=1, forward_current=0.002)
    ask = replace(
        example_ask("miners_lamp"), supply=supply_from_battery("lithium_coin_cr2032"), lights=(red,)
    )
    shorted = next(line for line in build_sheet(ask).break_it if line.part == "plus and minus")
    assert not shorted.burns
    fused = build_sheet(example_ask("miners_lamp")).break_it
    assert next(line for line in fused if line.part == "plus and minus").burns
