"""A query string or a table row as the JSON it stands for: one schema for GET, POST and tables."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from lampwright.contract.calculations import offered
from lampwright.contract.fields import Field


@cache
def by_name(calculation: str) -> dict[str, Field]:
    """Return the fields of a calculation's request by public name."""
    schema = offered()[calculation].parts().schema
    return {str(field.data_key): field for field in schema.fields.values()}


def coerced(calculation: str, texts: Mapping[str, str]) -> dict[str, Any]:
    """Return a request whose members were texts; what does not read as its kind stays a text.

    >>> coerced("series-resistors", {"supply_voltage_v": "9", "series_count": "2", "led": "red_5mm"})
    {'supply_voltage_v': 9.0, 'series_count': 2, 'led': 'red_5mm'}
    """
    known = by_name(calculation)
    return {name: known[name].coerced(text) if name in known else text for name, text in texts.items()}
