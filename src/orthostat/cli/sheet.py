"""`orthostat sheet`: the page of a shop folder, in the browser."""

from __future__ import annotations

import argparse
import importlib
from pathlib import Path

from orthostat.base.problems import Problem
from orthostat.cli.main import UNREADABLE
from orthostat.cli.terminal import print_problems


def run(chosen: argparse.Namespace) -> int:
    """Serve until Ctrl+C; 2 where the folder can't be used or the port is taken."""
    folder = Path(chosen.shop)
    if folder.exists() and not folder.is_dir():
        print_problems([Problem(str(folder), "is a file; a shop is a folder")])
        return UNREADABLE
    # The page is a leaf of its own: it is started here, not built upon.
    page = importlib.import_module("orthostat.web.listening")
    code: int = page.serve(folder, port=chosen.port, open_browser=not chosen.no_browser)
    return code
