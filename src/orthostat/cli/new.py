"""`orthostat new`: a shop folder to start from."""

from __future__ import annotations

import argparse
from pathlib import Path

from orthostat.base.problems import DocumentError
from orthostat.cli.main import OK, UNREADABLE
from orthostat.cli.terminal import print_problems
from orthostat.document.starting import new_shop


def run(chosen: argparse.Namespace) -> int:
    """Make the folder; 2 when it can't be made."""
    try:
        written = new_shop(Path(chosen.folder), chosen.example)
    except DocumentError as error:
        print_problems(error.problems)
        return UNREADABLE
    print(f"made {chosen.folder} with {', '.join(written)}")
    return OK
