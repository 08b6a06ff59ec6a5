"""Numbers of a range picture never lie on one another, whatever the range."""

from __future__ import annotations

import re

import pytest

from orthostat.presentation.ranges import NUMBER, Bar, range_picture


@pytest.mark.parametrize(
    ("low", "likely", "high"),
    [
        (2.52, 3.8, 9.04),
        (1.0, 5.0, 9.0),
        (4.99, 5.0, 5.01),
        (0.0, 0.0, 9.0),
        (0.001, 8.9, 9.0),
        (5.0, 5.0, 5.0),
    ],
)
def test_no_number_lies_on_another(low: float, likely: float, high: float) -> None:
    bars = (Bar("torque", low, likely, high, "moment"), Bar("again", low, likely, high, "moment"))
    picture = range_picture("title", bars, "metric", "words")
    boxes = []
    for attributes, words in re.findall(r"<text([^>]*)>([^<]*N·m)</text>", picture):
        x, y = (float(re.search(rf'\b{key}="([-\d.]+)"', attributes)[1]) for key in ("x", "y"))  # type: ignore[index]
        wide = 0.6 * NUMBER * len(words)
        anchor = re.search(r'text-anchor="(\w+)"', attributes)
        left = x - {"middle": 0.5, "end": 1.0}.get(anchor[1] if anchor else "", 0.0) * wide
        boxes.append((left, left + wide, y - NUMBER, y))
    assert len(boxes) == 6
    for k, a in enumerate(boxes):
        for b in boxes[k + 1 :]:
            assert a[1] <= b[0] or b[1] <= a[0] or a[3] <= b[2] or b[3] <= a[2], (a, b)
