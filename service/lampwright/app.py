"""Build the service: calculations, lists, page and documentation behind one port."""

from __future__ import annotations

# The codec of host names, loaded before threads ask for it: a lookup that fails once in a race stays failed.
import encodings.idna  # noqa: F401
from importlib.util import find_spec
from pathlib import Path
from wsgiref.headers import Headers

from flask import Flask, Response
from whitenoise import WhiteNoise

from lampwright.api.circuits import circuits
from lampwright.api.counting import Counts
from lampwright.api.energy import energy
from lampwright.api.front import Front
from lampwright.api.limiting import Limit
from lampwright.api.reference import reference
from lampwright.api.service import health, surround
from lampwright.api.sheets import sheets
from lampwright.api.tabular import tabular
from lampwright.api.wiring import wiring
from lampwright.config import Config


def create_app(config: Config | None = None) -> Flask:
    """Return the whole service as a WSGI application.

    Parameters
    ----------
    config : Config, optional
        Settings; without it, those of the environment.
    """
    config = config or Config.from_environment()
    app = Flask("lampwright", static_folder=None)
    # Never redirect: a spreadsheet shows an error on a 308.
    app.url_map.merge_slashes = False
    app.url_map.strict_slashes = True
    counts = Counts(config.metrics_folder)
    around = surround(app, counts, log=config.log)
    app.register_blueprint(health(counts))
    for routes in (circuits, wiring, energy, sheets, reference, tabular):
        app.register_blueprint(routes())
    if find_spec("lampwright.web.routes"):
        from lampwright.web.routes import web

        app.register_blueprint(web)
    site = config.site_folder()
    if site is not None:
        _documentation(app, site)
    limit = Limit(config.limit, config.limit_store, config.proxies) if config.limit else None
    app.wsgi_app = Front(app.wsgi_app, around, limit)  # type: ignore[method-assign]
    return app


def _page_headers(headers: Headers, path: str, url: str) -> None:
    """Add what every documentation page has; the rest of its content policy stands in the page itself."""
    del path, url
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "same-origin"
    # A page cannot say this of itself.
    headers["Content-Security-Policy"] = "frame-ancestors 'self'"


def _documentation(app: Flask, site: Path) -> None:
    """Serve the built site below /docs/, from memory of its files, precompressed where it is."""
    app.wsgi_app = WhiteNoise(  # type: ignore[method-assign]
        app.wsgi_app,
        root=str(site),
        prefix="docs/",
        index_file=True,
        max_age=600,
        add_headers_function=_page_headers,
    )

    @app.get("/docs/<path:page>")
    def missing_page(page: str) -> Response:
        del page  # what is there was served before it came here
        if (site / "404.html").is_file():
            return Response((site / "404.html").read_bytes(), 404, content_type="text/html; charset=utf-8")
        return Response("not found", 404)
