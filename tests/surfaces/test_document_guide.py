"""docs/document.md as its reader would use it: every snippet is read, and the columns are checked."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path

import pytest

import orthostat
from orthostat.document.schema import key_texts  # noqa: F401  (the schema room must import)

GUIDE = Path(__file__).resolve().parents[2] / "docs" / "document.md"


def _snippets(language: str) -> list[str]:
    return re.findall(
        rf"^```{language}\n(.*?)^```$", GUIDE.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE
    )


@pytest.fixture
def shop_of_the_guide(tmp_path: Path) -> Path:
    """The guide's snippets put into files where their first lines say; the rest is the shop."""
    files: dict[str, str] = {}
    current = "shop.toml"
    for snippet in _snippets("toml"):
        named = re.match(r"# (?:more of )?((?:shop|columns/\w+)\.toml)\n", snippet)
        current = named[1] if named else current
        files[current] = files.get(current, "") + snippet + "\n"
    shop = tmp_path / "my-shop"
    for name, text in files.items():
        path = shop / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return shop


def test_every_snippet_is_read_and_every_column_gets_findings(shop_of_the_guide: Path) -> None:
    shop = orthostat.open_shop(shop_of_the_guide)
    assert shop.columns == ["first", "harbour", "pent"]
    for name in shop.columns:
        assert len(shop.column(name).evaluate().findings(only="fit")) >= 8


def test_the_six_line_column_is_answered(shop_of_the_guide: Path) -> None:
    text = (shop_of_the_guide / "columns" / "first.toml").read_text("utf-8")
    assert len([line for line in text.splitlines() if line and not line.startswith("#")]) == 6
    found = {
        f.slug: f
        for f in orthostat.open_shop(shop_of_the_guide).column("first").evaluate().findings(only="fit")
    }
    # Corner of a 360 mm square: its diagonal turns.
    assert found["fit.swing"].worst.value == pytest.approx(0.360 * 2**0.5)


def test_the_python_snippet_runs(shop_of_the_guide: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (snippet,) = _snippets("python")
    monkeypatch.chdir(shop_of_the_guide.parent)
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(compile(snippet, str(GUIDE), "exec"), {})
    assert "kg without studs and stations" in printed.getvalue().splitlines()[-1]
    assert any(line.startswith("fit.swing ") for line in printed.getvalue().splitlines())
