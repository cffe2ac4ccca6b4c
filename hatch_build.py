"""Build the pages into the wheel, so that a machine without Node has them."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


def _pages(root: str) -> Any:
    """scripts/build_pages.py as a module; hatchling does not put the root on the path."""
    path = Path(root) / "scripts" / "build_pages.py"
    spec = importlib.util.spec_from_file_location("build_pages", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class PagesHook(BuildHookInterface):  # type: ignore[misc, type-arg]
    """Runs before a wheel or a source archive is put together."""

    def dependencies(self) -> list[str]:
        """Node, but only where the pages must be built: a source archive brings them along."""
        pages = _pages(self.root)
        return [] if pages.is_fresh() else [pages.NODE]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build what is not built yet.

        An archive without pages would be a quiet defect, so there a failure is one. An editable install is
        for people who can build them later (`make pages`), and everything but the pages works without.
        """
        pages = _pages(self.root)
        if pages.is_fresh():
            return
        try:
            pages.build()
        except pages.CannotBuild as err:
            if version != "editable" and not pages.is_built():
                raise
            print(f"The pages are not built, or older than their sources: {err}", file=sys.stderr)
