"""Packaging hook: build the documentation and put it into the wheel as ``lampwright/site``."""

from __future__ import annotations

import importlib.util
import shutil
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class SiteHook(BuildHookInterface[Any]):
    """A checkout that is installed to be edited builds its site by command; a wheel carries it."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "editable":
            return
        spec = importlib.util.spec_from_file_location("site_build", Path(__file__).with_name("build.py"))
        if spec is None or spec.loader is None:
            raise RuntimeError("site_docs/hooks/build.py cannot be loaded")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        # Not into the source tree: it may be read-only, and stays as it was.
        self.folder = Path(tempfile.mkdtemp(prefix="lampwright-site-"))
        module.build(self.folder)
        build_data["force_include"][str(self.folder)] = "lampwright/site"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        if version != "editable":
            shutil.rmtree(self.folder, ignore_errors=True)
