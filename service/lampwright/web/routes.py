"""The calculator page, the page for clubs, and the component for other people's pages.

The page is a talker like the API: it reads a build through the contract, has ``sheets`` work it out and
``paper`` write it, so that a complete sheet stands in the page before any script runs.
"""

from __future__ import annotations

import gzip
import hashlib
import io
from base64 import b64encode
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, abort, render_template, request, url_for

from lampwright import __version__
from lampwright.errors import LampwrightError
from lampwright.web import builds, choices, sheet_view

web = Blueprint("web", __name__, template_folder="templates")

_STATIC = Path(__file__).parent / "static"
_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'self'",
    )
)
#: Longest text drawn as a code; longer ones no longer scan from a screen.
_CODE_LIMIT = 300
_JAVASCRIPT = "text/javascript; charset=utf-8"


@cache
def _stamp(name: str) -> str:
    return hashlib.sha256((_STATIC / name).read_bytes()).hexdigest()[:10]


def asset(name: str) -> str:
    """Return the address of a static file; it changes with the file, so caches never serve an old one."""
    return url_for("web.static_file", name=name, v=_stamp(name))


def integrity(content: bytes) -> str:
    """Return the hash a page may put beside a script's address."""
    return "sha384-" + b64encode(hashlib.sha384(content).digest()).decode()


@lru_cache(maxsize=64)
def _gzip(content: bytes) -> bytes:
    return gzip.compress(content, 6, mtime=0)


def _packed(content: bytes, kind: str) -> Response:
    """Return an answer, compressed for whoever takes that."""
    taken = request.accept_encodings.quality("gzip") > 0
    answer = Response(_gzip(content) if taken else content, content_type=kind)
    answer.headers["Vary"] = "Accept-Encoding"
    if taken:
        answer.headers["Content-Encoding"] = "gzip"
    return answer


def _page(template: str, **values: Any) -> Response:
    text = render_template(template, asset=asset, version=__version__, **values).encode()
    page = _packed(text, "text/html; charset=utf-8")
    page.headers["Content-Security-Policy"] = _POLICY
    page.headers["Referrer-Policy"] = "same-origin"
    page.headers["X-Content-Type-Options"] = "nosniff"
    page.headers["Cache-Control"] = "no-cache"
    page.add_etag()
    page.make_conditional(request)
    return page


@web.get("/")
def plan() -> Response:
    """Return the calculator page with a complete sheet below the form."""
    errors: dict[str, str] = {}
    if "title" in request.args or "power" in request.args:
        build = builds.build_from_form(builds.shown_fields(request.args.to_dict(flat=False)))
        try:
            sheet = sheet_view.sheet_of(build, request.host_url)
        except LampwrightError as error:
            errors = sheet_view.told(error)
            sheet = ""
    else:
        name = request.args.get("example", builds.EXAMPLES[0])
        build = builds.example(name if name in builds.EXAMPLES else builds.EXAMPLES[0])
        sheet = sheet_view.example_sheet(
            name if name in builds.EXAMPLES else builds.EXAMPLES[0], request.host_url
        )
    return _page(
        "page.html",
        here="plan",
        build=_for_form(build),
        power=choices.power_of(build),
        errors=errors,
        sheet=sheet,
        sheet_version=sheet_view.style_stamp(),
        leds=choices.led_choices(),
        powers=choices.power_choices(),
        colours=choices.colour_choices(),
        insulations=choices.insulation_choices(),
        fuse_styles=choices.fuse_style_choices(),
        wire_sizes=choices.wire_areas(),
        examples=[(name, builds.example(name)["title"]) for name in builds.EXAMPLES],
    )


def _for_form(build: dict[str, Any]) -> dict[str, Any]:
    """Return a build in which every group is there, lists are text, and no light is missing."""
    groups = {group: build.get(group, {}) for group in ("supply", "resistors", "wire", "fuse", "usage")}
    shown = {name: dict(group) if isinstance(group, dict) else {} for name, group in groups.items()}
    for group in shown.values():
        for name, value in group.items():
            if isinstance(value, list):
                group[name] = "; ".join(str(one) for one in value)
    return {**build, **shown, "lights": build.get("lights") or [{"count": 1}]}


@web.get("/sheet.css")
def sheet_style() -> Response:
    """Return the style of a sheet, as its printed form has it, for the sheet inside the page."""
    return _fixed(sheet_view.style(), "text/css; charset=utf-8")


@web.get("/examples/<name>.json")
def example_file(name: str) -> Response:
    """Return one of the example builds."""
    if name not in builds.EXAMPLES:
        abort(404)
    return _fixed(builds.example_text(name), "application/json")


@web.post("/code.svg")
def code() -> Response:
    """Return a code to scan (QR, ISO/IEC 18004) for a text of at most 300 characters."""
    if (request.content_length or 0) > 4 * _CODE_LIMIT:
        abort(413)
    text = request.get_data(as_text=True)
    if not 0 < len(text) <= _CODE_LIMIT:
        abort(413)
    import segno  # only here: a service that draws no code does not load it

    drawn = io.BytesIO()
    segno.make_qr(text, error="l").save(drawn, kind="svg", scale=4, border=4, xmldecl=False, svgns=True)
    return Response(drawn.getvalue(), mimetype="image/svg+xml", headers={"Cache-Control": "no-store"})


@web.get("/club")
def club() -> Response:
    """Return the page that writes the lines to paste into one's own page."""
    source = url_for("web.embed", _external=True)
    snippet = "\n".join(
        (
            f'<script type="module" src="{source}"></script>',
            '<lampwright-resistor volts="9"></lampwright-resistor>',
        )
    )
    frozen = _STATIC / "embed" / f"{__version__}.js"
    return _page("club.html", here="club", snippet=snippet, integrity=integrity(frozen.read_bytes()))


def _fixed(content: bytes | str, kind: str, *, age: int = 0) -> Response:
    answer = _packed(content.encode() if isinstance(content, str) else content, kind)
    answer.headers["Access-Control-Allow-Origin"] = "*"
    answer.headers["Cross-Origin-Resource-Policy"] = "cross-origin"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Cache-Control"] = f"public, max-age={age}, immutable" if age else "no-cache"
    answer.add_etag()
    answer.make_conditional(request)
    return answer


_KINDS = {
    ".js": _JAVASCRIPT,
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".json": "application/json",
}


@cache
def _files() -> dict[str, Path]:
    return {path.relative_to(_STATIC).as_posix(): path for path in _STATIC.rglob("*") if path.is_file()}


@web.get("/assets/<path:name>")
def static_file(name: str) -> Response:
    """Return a part of the page."""
    if name not in _files():
        abort(404)
    path = _files()[name]
    return _fixed(path.read_bytes(), _KINDS[path.suffix])


@web.get("/embed.js")
def embed() -> Response:
    """Return the newest component."""
    return _fixed((_STATIC / "embed.js").read_bytes(), _JAVASCRIPT)


@web.get("/embed/<version>.js")
def embed_version(version: str) -> Response:
    """Return the component of one version; such a file never changes."""
    kept = {path.stem: path for path in (_STATIC / "embed").glob("*.js")}
    if version not in kept:
        abort(404)
    return _fixed(kept[version].read_bytes(), _JAVASCRIPT, age=31_536_000)


@web.get("/embed/texts/<lang>.json")
def embed_texts(lang: str) -> Response:
    """Return the component's words in another language."""
    kept = {path.stem: path for path in (_STATIC / "texts").glob("*.json")}
    if lang not in kept:
        abort(404)
    return _fixed(kept[lang].read_bytes(), "application/json")
