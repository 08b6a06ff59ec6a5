"""The verbs. Each one's work is in a module of its own that is imported only when it is asked for."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

OK, FAILS, UNREADABLE = 0, 1, 2

_ABOUT = "Design, check and build workholding columns for horizontal machining centres."
_EXIT = """exit codes of check: 0 nothing fails, 1 something fails, 2 a document can't be read

The documents are explained in docs/document.md; begin with
  orthostat new my-shop
  orthostat check my-shop"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit code."""
    parser = _parser()
    chosen = parser.parse_args(arguments)
    if not hasattr(chosen, "module"):
        parser.print_help()
        return OK
    import gc
    import importlib

    # Nearly everything made at a start lives to its end: looking for garbage less often saves a twentieth.
    gc.set_threshold(100_000)
    _one_thread_for_small_matrices()
    _plain_streams()
    try:
        code: int = importlib.import_module(f"orthostat.cli.{chosen.module}").run(chosen)
        sys.stdout.flush()
    except KeyboardInterrupt:
        print("\nstopped", file=sys.stderr)
        return 130
    except BrokenPipeError:
        # Whoever read our output has seen enough.
        import os

        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    return code


def _one_thread_for_small_matrices() -> None:
    """Small dense products take longer on threads that wait for one another; what the user set stands."""
    import os

    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")


def _plain_streams() -> None:
    """A terminal that can't show a sign gets a question mark, never a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="orthostat",
        description=_ABOUT,
        epilog=_EXIT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    verbs = parser.add_subparsers(title="commands", metavar="")
    new = _verb(verbs, "new", "make a shop folder to start from", "new")
    new.add_argument("folder", help="folder to make; it must not exist yet, or be empty")
    new.add_argument(
        "--from",
        dest="example",
        default="metric",
        choices=("metric", "inch", "empty"),
        help="what to start from: an invented metric or inch shop, or an empty one (default: metric)",
    )
    sheet = _verb(verbs, "sheet", "open the page of a shop: design, check and change columns", "sheet")
    sheet.add_argument("shop", nargs="?", default=".", help="shop folder (default: this one); may be empty")
    sheet.add_argument(
        "--port", type=int, default=0, metavar="N", help="port to listen on (default: a free one)"
    )
    sheet.add_argument("--no-browser", action="store_true", help="only print the address")
    check = _verb(verbs, "check", "check the columns of a shop against everything known", "check")
    _shop_and_columns(check)
    check.add_argument("--json", action="store_true", help="for programs: findings in SI units")
    check.add_argument("--why", action="store_true", help="with the reason, rule and source of every finding")
    check.add_argument(
        "--quick",
        action="store_true",
        help="leave out what takes seconds: full stiffness model, heat of cure",
    )
    check.add_argument("--open", action="store_true", help="print only what does not hold; all is checked")
    check.add_argument("--only", metavar="SUBJECT", help="only findings of one subject, such as fit or reach")
    show = _verb(verbs, "show", "print a chapter of a column: its tables and what they say", "show")
    _shop_and_columns(show)
    show.add_argument("--chapter", metavar="NAME", help="one chapter; all of them if left out")
    draw = _verb(verbs, "draw", "write the pictures of a column's chapters to a folder", "draw")
    _shop_and_columns(draw)
    draw.add_argument("--chapter", metavar="NAME", help="one chapter; all of them if left out")
    draw.add_argument(
        "--to", metavar="FOLDER", default="pictures", help="folder to write to (default: pictures)"
    )
    draw.add_argument("--format", choices=("svg", "png", "both"), default="svg", help="default: svg")
    maps = _verb(verbs, "maps", "write maps of what every tool reaches on every face to a folder", "maps")
    _shop_and_columns(maps)
    maps.add_argument("--to", metavar="FOLDER", default="maps", help="folder to write to (default: maps)")
    maps.add_argument("--tip", metavar="LENGTH", help='tip over the face, such as "5 mm"; "-1 mm" is into it')
    maps.add_argument("--loaded", action="store_true", help="with the stations of the other faces on")
    maps.add_argument("--format", choices=("svg", "png", "both"), default="svg", help="default: svg")
    study = _verb(
        verbs, "study", "vary fields of a column: mass, movement, first mode, limit depth of each", "study"
    )
    study.add_argument("shop", help="shop folder")
    study.add_argument("column", help="column by name")
    study.add_argument(
        "--vary",
        metavar="KEY=VALUES",
        action="append",
        default=[],
        help='a key of the column and its values, such as "height = 500 mm to 700 mm in 5" or "body.plate = '
        '20 mm, 25 mm"; give it once for each key',
    )
    study.add_argument(
        "--by", default="first mode", help='rank by "first mode", movement, "limit depth" or mass'
    )
    study.add_argument(
        "--best", type=int, default=3, metavar="N", help="how many to verify by the full model (default: 3)"
    )
    study.add_argument("--to", metavar="FILE", help="write all designs to a file of comma-separated values")
    study.add_argument(
        "--learn-from",
        type=int,
        default=400,
        metavar="N",
        help="learn a study model from N designs of one kind on; fewer take the quick model (default: 400)",
    )
    study.add_argument(
        "--afresh", action="store_true", help="neither take nor keep what was learnt in an earlier run"
    )
    book = _verb(
        verbs, "book", "write the build book, models, drawings and orders of a column to a folder", "book"
    )
    _shop_and_columns(book)
    book.add_argument(
        "--to",
        metavar="FOLDER",
        default="build",
        help="folder to write to, one folder a column (default: build)",
    )
    schema = _verb(verbs, "schema", "print the JSON Schema of a document", "schema")
    schema.add_argument("document", choices=("shop", "column"))
    findings = _verb(verbs, "findings", "list every finding with its question, rule and source", "rules")
    findings.add_argument("--json", action="store_true", help="for programs")
    validation = _verb(verbs, "validation", "compute every published value and print both", "published")
    validation.add_argument("subject", nargs="?", help="only one subject, such as threads")
    validation.add_argument("--json", action="store_true", help="for programs")
    return parser


def _verb(
    verbs: argparse._SubParsersAction[argparse.ArgumentParser], name: str, help_text: str, module: str
) -> argparse.ArgumentParser:
    made = verbs.add_parser(name, help=help_text, description=help_text[0].upper() + help_text[1:] + ".")
    made.set_defaults(module=module)
    return made


def _shop_and_columns(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("shop", nargs="?", default=".", help="shop folder (default: this one)")
    parser.add_argument(
        "columns", nargs="*", metavar="column", help="columns by name; all of them if left out"
    )
