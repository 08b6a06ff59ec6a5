"""Words for keys: each belongs to a key that there is, and no two keys of a part are called alike."""

from __future__ import annotations

from orthostat.document.fields import _WORDS, Key, keys_of


def all_keys() -> dict[str, dict[str, Key]]:
    """Keys by part of the documents and name."""
    found: dict[str, dict[str, Key]] = {}
    todo = ["shop", "column"]
    while todo:
        part = todo.pop()
        if part in found:
            continue
        found[part] = {key.name: key for key in keys_of(part)}
        for key in found[part].values():
            shape = key.shape
            todo += [each.part for each in (shape, shape.item) if each is not None and each.part]
    return found


def test_words_are_of_keys_that_there_are() -> None:
    shown = {key.label for keys in all_keys().values() for key in keys.values()}
    assert set(_WORDS.values()) <= shown


def test_keys_of_a_part_are_called_differently() -> None:
    for part, keys in all_keys().items():
        labels = [key.label for key in keys.values()]
        assert len(set(labels)) == len(labels), part
