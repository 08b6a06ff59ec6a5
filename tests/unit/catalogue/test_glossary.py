"""The glossary is in order and says each word once."""

import re
from pathlib import Path

GLOSSARY = Path(__file__).parents[3] / "docs" / "glossary.md"


def test_words_are_in_order_and_said_once() -> None:
    words = re.findall(r"^\*\*(.+?)\.\*\*", GLOSSARY.read_text(encoding="utf-8"), re.MULTILINE)
    assert len(words) > 40
    assert words == sorted(set(words), key=str.casefold)
