"""Build hook: the wheel holds the page's 3D library, bundled at build time."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).resolve().parent
sys.path.insert(0, str(ROOT))

from runner import assets  # noqa: E402  # beside this file, which need not be on the path


class CustomBuildHook(BuildHookInterface[Any]):
    """Makes the bundle for wheels; `run.py` makes it for a checkout by itself."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Before a wheel is put together. Raises `NotMade` where npm can't do its part."""
        if version == "editable":
            return
        assets.make(ROOT)
        build_data["artifacts"].append("/" + assets.MADE.as_posix())
