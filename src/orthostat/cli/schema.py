"""`orthostat schema`: the JSON Schema of a document."""

from __future__ import annotations

import argparse
import json

from orthostat.cli.main import OK
from orthostat.document.schema import schema_of


def run(chosen: argparse.Namespace) -> int:
    """Print the schema."""
    print(json.dumps(schema_of(chosen.document), indent=2, ensure_ascii=False))
    return OK
