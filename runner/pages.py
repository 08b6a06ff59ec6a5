"""Write the generated pages of the docs; run in the environment by `python run.py docs`."""

from __future__ import annotations

from pathlib import Path

from orthostat.checks import all_rules
from orthostat.document.folder import write_whole
from orthostat.presentation.generated import findings_page, validation_page
from orthostat.validation import all_cases


def main() -> None:
    """Write both pages and say so."""
    docs = Path(__file__).resolve().parent.parent / "docs"
    for name, text in (
        ("findings.md", findings_page(all_rules())),
        ("validation.md", validation_page(all_cases())),
    ):
        write_whole(docs / name, text)
        print(f"wrote {docs / name}")


if __name__ == "__main__":
    main()
