"""Build the documentation: ``python site_docs/hooks/build.py [FOLDER]``.

Without a folder it goes to ``service/lampwright/site``, where a checkout serves it from. The build is
strict: a warning ends it. The packaging hook beside this file builds the same into the wheel.
"""

from __future__ import annotations

import gzip
import logging
import os
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SITE = ROOT / "service" / "lampwright" / "site"


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
    for path in folder.rglob("*"):
        if path.suffix in (".html", ".css", ".js", ".json", ".svg", ".xml") and path.stat().st_size > 1000:
            # The service hands these out as they are: compressing on every request would cost time.
            path.with_name(path.name + ".gz").write_bytes(gzip.compress(path.read_bytes(), mtime=0))


if __name__ == "__main__":
    build(Path(sys.argv[1]) if len(sys.argv) > 1 else SITE)
