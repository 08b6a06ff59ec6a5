"""What `python run.py ...` can be asked for."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from runner.environment import CannotRun, Environment
from runner.gate import gate, test
from runner.locks import remake
from runner.page import prepare_page

ROOT = Path(__file__).resolve().parent.parent
DEMO = "demo-shop"
FIRST_COLUMN = "harbour"
"""The demo column that gets a build book; the first one there is where it has been taken out."""

NOT_READY = 3
"""Exit code when the environment cannot be made; 0, 1 and 2 belong to the command line."""

UNREADABLE = 2
"""The command line's exit code for a document that cannot be read."""

_OWN_VERBS = """
Of run.py itself:
  python run.py               check the demo shop in ./demo-shop, made if there is none, write the
                              build book of one of its columns, and open its page
  python run.py test [...]    run the tests; what follows goes to pytest
  python run.py gate          everything a change must pass: format, lint, types, imports, tests
  python run.py docs          write docs/findings.md and docs/validation.md
  python run.py lock          remake the lock files (see CONTRIBUTING.md)
"""


def main(arguments: list[str]) -> int:
    """Do what `arguments` ask, in the environment; the exit code."""
    environment = Environment(ROOT)
    try:
        match arguments:
            case []:
                return _demo(environment)
            case ["test", *rest]:
                environment.prepare(developer=True)
                prepare_page(environment, developer=True)
                return test(environment, rest)
            case ["gate", *rest]:
                environment.prepare(developer=True)
                prepare_page(environment, developer=True)
                return gate(environment, rest)
            case ["docs"]:
                environment.prepare()
                return environment.run(["-m", "runner.pages"], cwd=ROOT)
            case ["lock", *rest]:
                environment.prepare(developer=True)
                return remake(environment, rest)
            case _:
                return _command_line(environment, arguments)
    except CannotRun as reason:
        print(reason, file=sys.stderr)
        return NOT_READY
    except KeyboardInterrupt:
        print("\nStopped. Run the same command again to go on.", file=sys.stderr)
        return 130


def _command_line(environment: Environment, arguments: list[str]) -> int:
    environment.prepare()
    if arguments[:1] == ["sheet"]:
        prepare_page(environment)
    code = environment.run(["-m", "orthostat", *arguments])
    if arguments in (["--help"], ["-h"]):
        print(_OWN_VERBS.rstrip())
    return code


def _demo(environment: Environment) -> int:
    """The first job: a demo shop, its findings, a build book on disk, what to type next, and its page.

    A finding that fails is an answer, not a failure of the run: the exit code is 0 for it.
    """
    environment.prepare()
    prepare_page(environment)
    shop = Path(DEMO)
    if not shop.exists():
        made = environment.run(["-m", "orthostat", "new", DEMO])
        if made != 0:
            return made
        print()
    code = environment.run(["-m", "orthostat", "check", DEMO, "--quick", "--open"])
    if code not in (0, 1):
        return code
    column = _first_column(shop)
    if column is not None:
        chosen = column.stem
        print(f"\nWriting the build book of {chosen}; this takes some seconds.", flush=True)
        code = environment.run(["-m", "orthostat", "book", DEMO, chosen, "--to", str(shop / "build")])
        if code != 0:
            return code
    print(_next_steps(shop))
    if not _at_a_desk():
        return 0
    print()
    return environment.run(["-m", "orthostat", "sheet", DEMO])


def _at_a_desk() -> bool:
    """Whether a person sits before this terminal, to whom a page can be shown."""
    return "CI" not in os.environ and sys.stdin.isatty() and sys.stdout.isatty()


def _first_column(shop: Path) -> Path | None:
    columns = sorted((shop / "columns").glob("*.toml"))
    return next((each for each in columns if each.stem == FIRST_COLUMN), next(iter(columns), None))


def _next_steps(shop: Path) -> str:
    one = _first_column(shop)
    run = f"python {_shown(Path(sys.argv[0]))}"
    lines = ["", "Next:"]
    if one is not None:
        lines += [
            f"  all of one design:          {run} check {DEMO} {one.stem} --why",
            f"  its chapters and pictures:  {run} draw {DEMO} {one.stem} --to pictures",
            f"  its build book and files:   {run} book {DEMO} {one.stem} --to {DEMO}/build",
            f"  change it and check again:  edit {one}",
        ]
    lines += [
        f"  open its page again:        {run} sheet {DEMO}",
        f"  begin a shop of your own:   {run} sheet my-shop",
        f"  see all there is:           {run} --help",
    ]
    return "\n".join(lines)


def _shown(script: Path) -> str:
    text = str(script)
    return f'"{text}"' if " " in text else text
