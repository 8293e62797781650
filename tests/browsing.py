"""The one browser of a test session: Debian's Chromium, driven by playwright."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def needs(*commands: str) -> None:
    """Skip a test whose program is not installed; where CI=true a skip is a failure."""
    for command in commands:
        if shutil.which(command) is None:
            pytest.skip(f"{command} is not installed: see tests/system-packages.txt")


def launched_browser() -> Iterator[Browser]:
    """Yield a browser: one for all tests, because playwright runs once in a process."""
    needs(CHROMIUM)
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield launched
        launched.close()
