"""Lists that do not depend on a question: parts, sources, the OpenAPI document."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

from flask import Blueprint, Response, request

from lampwright.api import incoming, outgoing
from lampwright.api.problems import parameter_fault
from lampwright.contract import flat
from lampwright.contract.parts import LISTS, parts_list, source_list

_DAY = 86_400


@cache
def _said(name: str, form: str) -> tuple[bytes, str, str]:
    """Return a list in one form, with media type and tag."""
    lists: dict[str, Sequence[dict[str, Any]]] = {}
    if name == "sources":
        lists[name] = source_list()
    for kind in LISTS if name == "parts" else [name] if name in LISTS else []:
        lists[kind] = parts_list(kind)
    if form == "csv":
        lines = [
            {"kind": kind, **flat.flat(entry)} if name == "parts" else flat.flat(entry)
            for kind, entries in lists.items()
            for entry in entries
        ]
        columns = list(dict.fromkeys(column for line in lines for column in line))
        body = flat.written(columns, lines).encode()
    else:
        body = outgoing.json_bytes(lists)
    return body, outgoing.MEDIA[form], outgoing.etag_of(body)


def _answer(name: str, fixed: str | None) -> Response:
    params = incoming.query_texts(request)
    for unknown in params.keys() - {"format"}:
        return parameter_fault(unknown[:100], "is not known here", "known here: format")
    wanted = params.get("format", fixed)
    if wanted not in (None, "json", "csv"):
        return parameter_fault("format", "is not made here", "send json or csv", wanted)
    if fixed and wanted != fixed:
        return parameter_fault("format", "contradicts a path ending in .csv", "leave it out", wanted)
    form = wanted or outgoing.form_wanted(request.environ.get("HTTP_ACCEPT"), ("json", "csv"))
    return outgoing.cacheable(request, *_said(name, form), seconds=_DAY)


def _view(name: str, fixed: str | None) -> Callable[[], Response]:
    return lambda: _answer(name, fixed)


def openapi() -> Response:
    """Answer the OpenAPI document."""
    from lampwright.api.document import document_bytes

    for unknown in incoming.query_texts(request):
        return parameter_fault(unknown[:100], "is not known here", "this path has no parameters")
    body = document_bytes()
    return outgoing.cacheable(request, body, outgoing.MEDIA["json"], outgoing.etag_of(body))


def reference() -> Blueprint:
    """Return the routes of the lists."""
    routes = Blueprint("reference", __name__)
    for name, path in (("parts", "/v1/parts"), *((kind, f"/v1/parts/{kind}") for kind in LISTS)):
        routes.add_url_rule(path, f"{name}-list", _view(name, None), methods=["GET"])
        routes.add_url_rule(f"{path}.csv", f"{name}-list-csv", _view(name, "csv"), methods=["GET"])
    routes.add_url_rule("/v1/sources", "sources-list", _view("sources", None), methods=["GET"])
    routes.add_url_rule("/v1/sources.csv", "sources-list-csv", _view("sources", "csv"), methods=["GET"])
    routes.add_url_rule("/v1/openapi.json", "openapi", openapi, methods=["GET"])
    return routes
