"""Settings with their defaults, each from an environment variable; one line says what it is for."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

_PREFIX = "LAMPWRIGHT_"


def _setting(default: Any, meaning: str) -> Any:
    return field(default=default, metadata={"meaning": meaning})


@dataclass(frozen=True)
class Config:
    """How the service runs. Each setting is ``LAMPWRIGHT_`` and its name in capitals."""

    host: str = _setting("127.0.0.1", "Address the service listens on; 0.0.0.0 for all of them.")
    port: int = _setting(8350, "Port the service listens on.")
    workers: int = _setting(2, "Worker processes; one for each processor core serves best.")
    site: str = _setting("", "Folder of the built documentation; empty: the one that was installed.")
    metrics_folder: str = _setting("", "Folder the workers share their counts in; empty: each counts alone.")
    log: bool = _setting(False, "1: a line of JSON is written for each request, without personal data.")
    limit: int = _setting(
        0, "Requests to the API that one address may send in a minute; 0: as many as it likes."
    )
    limit_store: str = _setting(
        "",
        "Where all workers and machines count together: redis://HOST:PORT; empty: each worker for itself.",
    )
    proxies: int = _setting(
        0,
        "Proxies of your own in front of the service; callers are then told apart by what they say.",
    )

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] | None = None) -> Config:
        """Return the settings that the environment asks for.

        >>> Config.from_environment({"LAMPWRIGHT_PORT": "9000"}).port
        9000
        """
        given = os.environ if environment is None else environment
        found: dict[str, Any] = {}
        for entry in fields(cls):
            text = given.get(_PREFIX + entry.name.upper())
            if text is None:
                continue
            if isinstance(entry.default, bool):
                found[entry.name] = text.strip().lower() in ("1", "true", "yes", "on")
            elif isinstance(entry.default, int):
                found[entry.name] = int(text)
            else:
                found[entry.name] = text
        return cls(**found)

    def site_folder(self) -> Path | None:
        """Return where the built documentation is, or None where nobody built it."""
        place = Path(self.site) if self.site else Path(__file__).parent / "site"
        return place if (place / "index.html").is_file() else None


def settings() -> list[tuple[str, str, str]]:
    """Return name of the variable, default and meaning of every setting, for the documentation."""
    return [
        # As one would write it in the environment: 0, not False.
        (
            _PREFIX + entry.name.upper(),
            str(int(entry.default) if isinstance(entry.default, bool) else entry.default),
            str(entry.metadata["meaning"]),
        )
        for entry in fields(Config)
    ]
