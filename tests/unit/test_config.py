"""Settings: each with a default and a meaning, each from its variable."""

from __future__ import annotations

from pathlib import Path

import pytest

from lampwright.config import Config, settings


def test_each_setting_has_a_meaning() -> None:
    for name, _, meaning in settings():
        assert name.startswith("LAMPWRIGHT_")
        assert meaning.endswith(".")


def test_each_default_is_one_the_environment_could_give() -> None:
    given = {name: default for name, default, _ in settings()}
    assert Config.from_environment(given) == Config()
    assert given["LAMPWRIGHT_LOG"] == "0"


def test_the_environment_decides() -> None:
    given = {"LAMPWRIGHT_HOST": "0.0.0.0", "LAMPWRIGHT_WORKERS": "4", "LAMPWRIGHT_LOG": "yes"}  # noqa: S104
    config = Config.from_environment(given)
    assert (config.host, config.workers, config.log) == ("0.0.0.0", 4, True)  # noqa: S104
    assert Config.from_environment({}) == Config()
    with pytest.raises(ValueError, match="invalid literal"):
        Config.from_environment({"LAMPWRIGHT_PORT": "http"})


def test_the_site_is_where_it_was_built(tmp_path: Path) -> None:
    assert Config(site=str(tmp_path)).site_folder() is None
    (tmp_path / "index.html").write_text("x", "utf-8")
    assert Config(site=str(tmp_path)).site_folder() == tmp_path
