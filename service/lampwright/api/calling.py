"""One calculation over HTTP: read, have it worked out, say it in the form wanted.

``offer`` gives a blueprint the routes of a calculation whose planner is there, and nothing of one whose
planner is not: its path is then 404.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping
from difflib import get_close_matches
from functools import cached_property
from typing import Any

from flask import Blueprint, Response, request

from lampwright.api import incoming, outgoing
from lampwright.api.incoming import StatusError
from lampwright.api.problems import parameter_fault
from lampwright.contract import flat
from lampwright.contract.answers import dump, members_told
from lampwright.contract.calculations import offered, refusing, understand
from lampwright.contract.query import coerced

#: Makes another form of an answer: takes the planner's answer and the JSON-ready one.
Writer = Callable[[Any, Mapping[str, Any]], str | bytes]


def csv_row(found: Any, answer: Mapping[str, Any]) -> str:
    """Return an answer as one row of CSV under its header."""
    row = flat.flat_answer(answer)
    return flat.written(list(row), [row])


class Kept:
    """Answers to repeated GETs, the longest unused dropped first; at most ``room`` bytes."""

    def __init__(self, room: int = 8_000_000) -> None:
        self.room = room
        self.used = 0
        self.entries: OrderedDict[tuple[str, str, str], tuple[bytes, str, str]] = OrderedDict()

    def get(self, key: tuple[str, str, str]) -> tuple[bytes, str, str] | None:
        """Return what was answered to the same question."""
        try:
            self.entries.move_to_end(key)
            return self.entries[key]
        except KeyError:  # another thread may have dropped it meanwhile
            return None

    def put(self, key: tuple[str, str, str], body: bytes, media: str, tag: str) -> None:
        """Keep an answer."""
        if len(body) > 100_000 or key in self.entries:
            return
        self.entries[key] = (body, media, tag)
        self.used += len(body)
        while self.used > self.room and self.entries:
            try:
                _, (old, _, _) = self.entries.popitem(last=False)
            except KeyError:
                return
            self.used -= len(old)


#: One store for all calculations of a process: a path is part of the question.
KEPT = Kept()


def _form(
    params: Mapping[str, str], forms: tuple[str, ...], fixed: str | None, missing: Mapping[str, str]
) -> str | Response:
    """Return the form wanted: by the path, by ``format``, else by Accept."""
    wanted = params.get("format")
    if wanted is not None and wanted not in forms:
        return parameter_fault("format", "is not made here", f"send one of {', '.join(forms)}", wanted)
    if fixed is not None:
        if wanted not in (None, fixed):
            return parameter_fault("format", f"contradicts a path ending in .{fixed}", "leave it out", wanted)
        return fixed
    if wanted is not None and wanted in missing:
        raise StatusError(406, missing[wanted], {"Vary": "Accept"})
    if wanted is not None:
        return wanted
    accept = request.environ.get("HTTP_ACCEPT")
    if "pick" in params:
        outgoing.form_wanted(accept, ("text", "json"))
        return "text"
    if "rows" in params:
        return "csv"
    return outgoing.form_wanted(accept, forms, missing)


class Offer:
    """The HTTP side of one calculation."""

    def __init__(
        self, name: str, writers: Mapping[str, Writer] | None = None, missing: Mapping[str, str] | None = None
    ) -> None:
        self.name = name
        self.parts = offered()[name].parts()
        # A range such as text/* is answered with the first form within it.
        self.writers: dict[str, Writer] = dict(writers or {})
        self.writers.setdefault("csv", csv_row)
        self.missing = missing or {}
        self.forms = ("json", *self.writers)

    @cached_property
    def told(self) -> list[str]:
        """The members of its answer."""
        return ["inputs", *members_told(self.parts.answer)]

    def _controls(self, params: Mapping[str, str]) -> Response | None:
        """Refuse unknown words of form and extent."""
        detail = params.get("detail")
        if detail is not None and detail not in ("short", "full"):
            return parameter_fault("detail", "is not known", "send short or full", detail, "short")
        for name in ("pick", "rows"):
            head = params.get(name, "inputs").partition(".")[0]
            if head not in self.told:
                near = get_close_matches(head[:60], self.told, n=1)
                hint = f"did you mean {near[0]}?" if near else f"known here: {', '.join(self.told)}"
                return parameter_fault(
                    name, "is not in this answer", hint, head[:100], near[0] if near else None
                )
        return None

    def plain(self, raw: bytes, *, working: bool) -> bytes:
        """Return the JSON answer to a JSON body; whatever is wrong with it is raised."""
        members = incoming.parsed(raw)
        inputs, ask = understand(self.name, members)
        with refusing(members):
            found = self.parts.planner(ask)
        return outgoing.json_bytes(dump(inputs, found, working=working))

    def post(self) -> Response:
        """Answer a POST."""
        params = incoming.query_texts(request)
        for name, value in params.items():
            if name not in incoming.CONTROLS:
                hint = "members go into the body; known here: " + ", ".join(incoming.CONTROLS)
                return parameter_fault(name[:100], "is not known here", hint, value[:100])
        fault = self._controls(params)
        form = fault or _form(params, self.forms, None, self.missing)
        if isinstance(form, Response):
            return form
        said = self._said(incoming.json_body(request), params, form)
        return said if isinstance(said, Response) else outgoing.uncached(*said)

    def get(self, fixed: str | None = None) -> Response:
        """Answer a GET; what was asked before is kept."""
        environ = request.environ
        key = (request.path, environ.get("QUERY_STRING", ""), environ.get("HTTP_ACCEPT", ""))
        kept = KEPT.get(key)
        if kept is None:
            texts = incoming.query_texts(request)
            params = {name: texts.pop(name) for name in incoming.CONTROLS if name in texts}
            fault = self._controls(params)
            form = fault or _form(params, self.forms, fixed, self.missing)
            if isinstance(form, Response):
                return form
            said = self._said(coerced(self.name, texts), params, form)
            if isinstance(said, Response):
                return said
            body, media = said
            kept = (body, media, outgoing.etag_of(body))
            KEPT.put(key, *kept)
        return outgoing.cacheable(request, *kept)

    def get_csv(self) -> Response:
        """Answer a GET whose path ends in .csv."""
        return self.get("csv")

    def _said(self, members: Any, params: Mapping[str, str], form: str) -> tuple[bytes, str] | Response:
        """Read, have it worked out, say it."""
        inputs, ask = understand(self.name, members)
        with refusing(members):
            found = self.parts.planner(ask)
        head = (params.get("pick") or params.get("rows") or "").partition(".")[0]
        answer = dump(inputs, found, working=params.get("detail") != "short" or head == "working")
        if "pick" in params and "rows" in params:
            return parameter_fault(
                "rows", "cannot be taken together with pick", "send one of them", status=422
            )
        try:
            if "pick" in params:
                return flat.pick(answer, params["pick"]).encode(), outgoing.MEDIA["text"]
            if "rows" in params:
                return flat.rows(answer, params["rows"]).encode(), outgoing.MEDIA["csv"]
        except flat.NoSuchValueError as error:
            name = "pick" if "pick" in params else "rows"
            return parameter_fault(name, error.detail, error.hint, params[name][:100])
        if form == "json":
            return outgoing.json_bytes(answer), outgoing.MEDIA["json"]
        body = self.writers[form](found, answer)
        return body.encode() if isinstance(body, str) else body, outgoing.MEDIA[form]


#: The calculations of this process by path, for the short way in ``front``.
OFFERS: dict[str, Offer] = {}


def offer(
    blueprint: Blueprint,
    name: str,
    writers: Mapping[str, Writer] | None = None,
    missing: Mapping[str, str] | None = None,
) -> None:
    """Register the routes of a calculation, if its planner is there.

    ``missing`` says of forms that are not made on this machine how to have them made.
    """
    entry = offered().get(name)
    if entry is None:
        return
    one = Offer(name, writers, missing)
    path = f"/v1/{name}"
    OFFERS[path] = one
    blueprint.add_url_rule(path, f"{name}-post", one.post, methods=["POST"])
    if entry.by_get:
        blueprint.add_url_rule(path, f"{name}-get", one.get, methods=["GET"])
        blueprint.add_url_rule(f"{path}.csv", f"{name}-csv", one.get_csv, methods=["GET"])
