"""Build the documentation: ``python site_docs/hooks/build.py [FOLDER]``.

Without a folder it goes to ``service/lampwright/site``, where a checkout serves it from. The build is
strict: a warning ends it. The packaging hook beside this file builds the same into the wheel.

Every page gets a content policy of its own once it is written: scripts and styles that stand in the page
are let in by their hash, and by nothing else.
"""

from __future__ import annotations

import gzip
import hashlib
import logging
import os
import re
import sys
from base64 import b64encode
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SITE = ROOT / "service" / "lampwright" / "site"

_SCRIPT = re.compile(r"<script(?P<set>[^>]*)>(?P<text>.*?)</script>", re.DOTALL)
_STYLE = re.compile(r"<style[^>]*>(?P<text>.*?)</style>", re.DOTALL)
_CHARSET = re.compile(r'<meta charset="utf-8" ?/?>')
_NOT_RUN = ("src=", "application/json")
# The theme fetches the index of the search with every page, or, opened from a folder, once the search is.
_FETCHES_INDEX = re.compile(r'location\.protocol!=="file:"(?=\),\w+\("search"\)\)\.pipe)')


def _hashes(texts: list[str]) -> str:
    """Return the hashes of inline texts as sources of a content policy (CSP level 3)."""
    digests = dict.fromkeys(hashlib.sha256(text.encode()).digest() for text in texts)
    return "".join(f" 'sha256-{b64encode(digest).decode()}'" for digest in digests)


def with_policy(page: str) -> str:
    """Return a page with its content policy, which allows this folder and the page's own inline texts."""
    scripts = [
        found["text"] for found in _SCRIPT.finditer(page) if not any(w in found["set"] for w in _NOT_RUN)
    ]
    styles = [found["text"] for found in _STYLE.finditer(page)]
    if re.search(r"<[^>]*\s(?:style|on[a-z]+)=[\"']", _SCRIPT.sub("", page)):
        raise ValueError("a page has style or event attributes, which its policy would drop")
    policy = "; ".join(
        (
            "default-src 'none'",
            f"script-src 'self'{_hashes(scripts)}",
            f"style-src 'self'{_hashes(styles)}",
            "img-src 'self' data:",
            "font-src 'self'",
            "connect-src 'self'",
            "worker-src 'self'",
            "form-action 'self'",
            "base-uri 'none'",
        )
    )
    # Right behind the character set: it holds for what comes after it alone.
    marked, count = _CHARSET.subn(
        lambda found: f'{found[0]}<meta http-equiv="Content-Security-Policy" content="{policy}">', page, 1
    )
    if not count:
        raise ValueError("a page does not say its character set")
    return marked


def _index_on_demand(folder: Path) -> None:
    """Have the index of the search fetched when the search is first opened: a third of a page's weight."""
    (script,) = (folder / "assets" / "javascripts").glob("bundle.*.min.js")
    text, count = _FETCHES_INDEX.subn("!1", script.read_text("utf-8"))
    if count != 1:
        raise ValueError(f"{script.name}: where the theme fetches the index of the search has changed")
    script.write_text(text, "utf-8")


def build(folder: Path = SITE) -> None:
    """Build the site into a folder, or raise."""
    # The theme prints a notice about a successor of its builder; the pins say which one we use.
    os.environ["NO_MKDOCS_2_WARNING"] = "1"
    for place in (ROOT / "service", Path(__file__).parent):
        if str(place) not in sys.path:
            sys.path.insert(0, str(place))
    from mkdocs.commands.build import build as build_site
    from mkdocs.config import load_config

    logging.basicConfig(level=logging.INFO, format="%(levelname)-8s %(message)s")
    logging.getLogger("MARKDOWN").setLevel(logging.INFO)
    config = load_config(str(ROOT / "site_docs" / "mkdocs.yml"), site_dir=str(folder), strict=True)
    config.plugins.on_startup(command="build", dirty=False)
    try:
        build_site(config)
    finally:
        config.plugins.on_shutdown()
    _index_on_demand(folder)
    for path in folder.rglob("*.html"):
        try:
            path.write_text(with_policy(path.read_text("utf-8")), "utf-8")
        except ValueError as error:
            raise ValueError(f"{path.relative_to(folder)}: {error}") from error
    for path in folder.rglob("*"):
        if path.suffix in (".html", ".css", ".js", ".json", ".svg", ".xml") and path.stat().st_size > 1000:
            # The service hands these out as they are: compressing on every request would cost time.
            path.with_name(path.name + ".gz").write_bytes(gzip.compress(path.read_bytes(), mtime=0))


if __name__ == "__main__":
    build(Path(sys.argv[1]) if len(sys.argv) > 1 else SITE)
