"""The locks: whole, hashed, without addresses, and in step with `pyproject.toml`."""

import re

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from architecture.project import LOCKS, ROOT, packaging


def entries(lock: str) -> list[tuple[Requirement, int]]:
    """Each locked requirement with its count of hashes."""
    text = (ROOT / lock).read_text(encoding="utf-8").replace("\\\n", " ")
    found = []
    for line in text.splitlines():
        stripped = line.split(" #", 1)[0].strip()
        if stripped and not stripped.startswith("#"):
            requirement, *hashes = re.split(r"\s+--hash=sha256:", stripped)
            assert all(re.fullmatch(r"[0-9a-f]{64}", digest) for digest in hashes)
            found.append((Requirement(requirement.strip()), len(hashes)))
    return found


def versions(lock: str) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for requirement, _ in entries(lock):
        (pin,) = requirement.specifier
        assert pin.operator == "=="
        found.setdefault(canonicalize_name(requirement.name), set()).add(pin.version)
    return found


@pytest.mark.parametrize("lock", LOCKS)
def test_no_address_is_in_a_lock(lock: str) -> None:
    text = (ROOT / lock).read_text(encoding="utf-8")
    assert "://" not in text
    assert not re.search(r"^\s*(--index|--extra-index|--find-links|-i|-f)\b", text, re.MULTILINE)


@pytest.mark.parametrize("lock", LOCKS)
def test_every_entry_is_hashed(lock: str) -> None:
    found = entries(lock)
    assert found
    assert [str(requirement) for requirement, hashes in found if hashes == 0] == []


@pytest.mark.parametrize(
    ("lock", "groups"), [(LOCKS[0], ["build"]), (LOCKS[1], ["build", "dev"]), (LOCKS[2], ["page"])]
)
def test_a_lock_is_in_step_with_the_project(lock: str, groups: list[str]) -> None:
    wanted = []
    if "build" in groups:
        wanted += [*packaging()["project"]["dependencies"], *packaging()["build-system"]["requires"]]
    for group in groups:
        wanted += packaging()["dependency-groups"][group]
    locked = versions(lock)
    for text in wanted:
        requirement = Requirement(text)
        pins = locked.get(canonicalize_name(requirement.name), set())
        assert pins, f"{requirement.name} is not in {lock}: run `python run.py lock`"
        assert all(requirement.specifier.contains(pin, prereleases=True) for pin in pins)


def test_both_locks_agree() -> None:
    runtime, developer, _ = (versions(lock) for lock in LOCKS)
    assert {name: developer.get(name) for name in runtime} == runtime
