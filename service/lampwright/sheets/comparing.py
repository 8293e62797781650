"""Two versions of a build side by side: what was changed, and what that does, in plain words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.build import Sheet
from lampwright.planner.models.comparison import BuildComparisonAnswer, BuildComparisonAsk, Version
from lampwright.planner.names import own_names
from lampwright.quantities import show, three_digits
from lampwright.sheets.build import build_sheet
from lampwright.sheets.carrying import carried
from lampwright.sheets.parts import supply_words
from lampwright.sheets.wording import hours, hours_moved

MOVED = 0.02  # a smaller change of current or hours is none (common practice, no source)
_SAFE = {"yes": "safe to build", "with_care": "safe to build with care", "no": "not safe to build"}


@dataclass(frozen=True, slots=True)
class Difference:
    """What was changed between two versions, and what it does; both as sentences."""

    changed: tuple[str, ...]
    effects: tuple[str, ...]
    safer: bool | None  # True safer, False less safe, None neither


def compare(before: Sheet, after: Sheet) -> Difference:
    """Return how the second version differs from the first."""
    rank = ("no", "with_care", "yes")
    step = rank.index(after.safe) - rank.index(before.safe)
    return Difference(
        tuple(_changes(before, after)), tuple(_effects(before, after)), None if step == 0 else step > 0
    )


def compare_builds(ask: BuildComparisonAsk) -> BuildComparisonAnswer:
    """Return two versions of a build side by side, each planned and audited as for a sheet."""
    before, after = build_sheet(ask.before), build_sheet(ask.after)
    found = compare(before, after)
    return BuildComparisonAnswer(
        changes=found.changed,
        effects=found.effects,
        safer=found.safer,
        before=_version(before),
        after=_version(after),
        findings=tuple(_placed(each) for each in after.findings),
        working=_working(before, after),
        sources=tuple(dict.fromkeys((*after.sources, *before.sources))),
    )


def _placed(found: Finding) -> Finding:
    """Return a finding of the version after, its field counted from there."""
    return replace(found, field=f"after.{found.field}") if found.field else found


def _version(sheet: Sheet) -> Version:
    hours_ = sheet.plan.runtime
    return Version(
        title=sheet.title,
        safe=sheet.safe,
        buildable=sheet.buildable,
        supply_current=sheet.plan.supply_current,
        design_current=sheet.plan.design_current,
        runtime=None if hours_ is None else hours_.runtime,
        runtime_low=None if hours_ is None else hours_.runtime_low,
        runtime_high=None if hours_ is None else hours_.runtime_high,
    )


def _working(before: Sheet, after: Sheet) -> tuple[Step, ...]:
    """Return how the changes were worked out: each version for itself, then after over before."""
    steps = [
        Step(
            what="Each version is planned, solved and audited for itself; then the two are held side by side",
            equation="change = after / before − 1",
            values=f"less than {100 * MOVED:g} % counts as no change",
            result=f"before: {_SAFE[before.safe]}; after: {_SAFE[after.safe]}",
        )
    ]
    old, new = _version(before), _version(after)
    for what, was, now, unit in (
        ("Current from the supply", old.supply_current, new.supply_current, "ma"),
        ("Hours on a set", old.runtime, new.runtime, "h"),
    ):
        if was and now:
            steps.append(
                Step(
                    what=what,
                    equation="change = after / before − 1",
                    values=f"{show(now, unit)} / {show(was, unit)} − 1",
                    result=show(now / was - 1, "pct"),
                )
            )
    return tuple(steps)


def _flat(value: object, path: tuple[str, ...] = ()) -> dict[tuple[str, ...], object]:
    """Return the members of a request with their places: lights, Wing edge, count."""
    if isinstance(value, Mapping):
        found: dict[tuple[str, ...], object] = {}
        for name, item in value.items():
            found.update(_flat(item, (*path, str(name))))
        return found
    if isinstance(value, list) and value and all(isinstance(item, Mapping) for item in value):
        found = {}
        for at, item in enumerate(value):
            found.update(
                _flat({k: v for k, v in item.items() if k != "name"}, (*path, str(item.get("name", at))))
            )
        return found
    return {path: value}


_MEMBERS = {
    "count": "count",
    "led": "kind of light",
    "forward_current_ma": "current, mA",
    "run_length_m": "run, m",
    "dim_to_pct": "dimmed to, %",
    "e_series": "series of resistors",
    "tolerance_pct": "tolerance of resistors, %",
    "hours_wanted_h": "hours wanted",
    "flexing": "moves",
    "worn": "worn",
    "max_drop_pct": "loss in the wire, %",
    "ambient_temperature_degc": "air, °C",
}
_UNITS = {
    "ma": "mA",
    "v": "V",
    "ohm": "Ω",
    "pct": "%",
    "h": "h",
    "m": "m",
    "w": "W",
    "hz": "Hz",
    "degc": "°C",
}


def _called(path: tuple[str, ...]) -> str:
    """Return what one calls a member.

    >>> _called(("fuse", "rated_current_ma")), _called(("lights", "Wing", "led", "forward_voltage_v"))
    ('fuse, mA', 'forward voltage, V')
    """
    member = path[-1]
    if path[0] == "fuse":
        return "fuse, mA" if member == "rated_current_ma" else "style of fuse"
    if member in _MEMBERS:
        return _MEMBERS[member]
    stem, _, unit = member.rpartition("_")
    said = f"{stem}, {_UNITS[unit]}" if stem and unit in _UNITS else member
    return said.replace("_", " ")


def _said(value: object) -> str:
    if value is None:
        return "not set"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return three_digits(float(value))
    return str(value).replace("_", " ")


def _changes(before: Sheet, after: Sheet) -> list[str]:
    old, new = carried(before.plan.ask), carried(after.plan.ask)
    found = []
    if old.pop("title") != new.pop("title"):
        found.append(f"Title: {before.title}, now {after.title}.")
    if old.pop("supply") != new.pop("supply"):
        now, was = supply_words(after.plan), supply_words(before.plan)
        found.append(f"Supply: {was}, now {now}." if now != was else f"Supply: {now}, with other limits.")
    first, second = _flat(old), _flat(new)
    own = own_names(before.plan) | own_names(after.plan)
    names_before = {light.name for light in before.plan.ask.lights}
    names_after = {light.name for light in after.plan.ask.lights}
    found += [f"{own[name]}: taken out." for name in sorted(names_before - names_after)]
    for light in after.plan.ask.lights:
        if light.name not in names_before:
            found.append(f"{own[light.name]}: new, {light.count} of {light.led.name}.")
    for path in dict.fromkeys([*first, *second]):
        owner = path[1] if path[0] == "lights" else ""
        if owner and (owner not in names_before or owner not in names_after):
            continue
        if first.get(path) != second.get(path):
            what = _called(path)
            head = f"{own[owner]}, {what}" if owner else what[:1].upper() + what[1:]
            # A kind of light may be an id, or figures that stand one by one.
            no_id = "figures of its own" if path[-1] == "led" else None
            values = [_said(each.get(path, no_id)) for each in (first, second)]
            found.append(f"{head}: {values[0]}, now {values[1]}.")
    return found


def _moved(before: float | None, after: float | None) -> bool:
    if before is None or after is None:
        return before is not after
    return abs(after - before) > MOVED * max(abs(before), abs(after), 1e-12)


def _effects(before: Sheet, after: Sheet) -> list[str]:
    old, new = before.plan, after.plan
    found = []
    if before.safe != after.safe:
        found.append(f"It was {_SAFE[before.safe]} and is now {_SAFE[after.safe]}.")
    told = {each.code for each in before.findings}
    found += [
        f"{'Stop' if each.severity == 'stop' else 'Take care'}, new: {each.message}"
        for each in after.findings
        if each.severity != "note" and each.code not in told
    ]
    still = {each.code for each in after.findings}
    found += [
        f"No longer: {each.message}"
        for each in before.findings
        if each.severity != "note" and each.code not in still
    ]
    if _moved(old.supply_current, new.supply_current) and old.supply_current and new.supply_current:
        word = "more" if new.supply_current > old.supply_current else "less"
        found.append(
            f"It takes {word}: {show(new.supply_current, 'ma')} in place of {show(old.supply_current, 'ma')}."
        )
    was = old.runtime.runtime if old.runtime is not None else None
    now = new.runtime.runtime if new.runtime is not None else None
    if was and now and _moved(was, now):
        found.append(f"A set {hours_moved(now, was)}.")
    elif was and not now:
        found.append("It has no battery to run flat any more.")
    elif now and not was:
        found.append(f"It runs on a battery now, about {hours(now)} on a set.")
    if old.fuse is not None and new.fuse is not None and old.fuse.rated_current != new.fuse.rated_current:
        one, other = old.fuse.rated_current, new.fuse.rated_current
        found.append(
            f"Fuse F1: {show(one, 'ma') if one else 'none'}, now {show(other, 'ma') if other else 'none'}."
        )
    values = [
        " ".join(sorted({show(s.solved.resistance, "ohm") for s in plan.strings if s.solved.resistance}))
        for plan in (old, new)
    ]
    if values[0] != values[1]:
        found.append(f"Resistors: {values[0] or 'none'}, now {values[1] or 'none'}.")
    return found or ["It does the same as before."]
