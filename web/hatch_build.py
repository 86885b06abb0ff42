"""Build hook: the pages are built with the package, by Node from PATH or from a Python package that brings it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from server.page_build import (  # the build environment has only what is put on its path
    NODE_HELP,
    NODE_REQUIREMENT,
    PageBuildError,
    build_pages,
    find_node,
    is_fresh,
)


class PageBuildHook(BuildHookInterface):  # type: ignore[type-arg]  # generic only in the newest hatchling
    """Runs before wheel, editable and source builds; does nothing when the pages are up to date."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Ask for Node only when it will be needed and is not here."""
        return [] if is_fresh(Path(self.root)) or find_node() else [NODE_REQUIREMENT]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the pages."""
        root = Path(self.root)
        if is_fresh(root):
            return
        node = find_node()
        if node is None:
            raise PageBuildError(f"no Node for the pages: {NODE_HELP}")
        build_pages(root, node)
