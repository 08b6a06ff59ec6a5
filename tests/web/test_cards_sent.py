"""What the browser is sent of a card: only what it has not, with the inputs of what is being tried."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from orthostat.document.editing import Edit
from orthostat.presentation.cards import Card
from orthostat.web import requests
from orthostat.web.asking import Design
from orthostat.web.board import Part, Snapshot
from orthostat.web.links import Links, links_of
from orthostat.web.refusals import BadRequest
from orthostat.web.rendering import findings_shown

COLUMN = 'height = 500\nplan = { shape = "square", across_flats = 300 }\n[[studs]]\ntorque = "90 N*m"\n'
SHOP = '[machines.alder]\nswing = "760 mm"\n'
PATHS = (
    "columns.quay.height",
    "columns.quay.plan.across_flats",
    "columns.quay.studs[0].torque",
    "machines.alder.swing",
)
CARD = Card(
    "fit.swing", "fit", "holds", "Does it fit?", "", "577", "mm", "≤ 760", "mm", "24%", "<svg></svg>", "",
    ("It fits.",), ("columns.quay.height",), "", "", PATHS,
)  # fmt: skip


def links() -> Links:
    return links_of("quay", COLUMN, SHOP, ())


def told(card: Card, found: Links, held: dict[str, str]) -> dict[str, str]:
    part = Part("fit", "fresh", (card,), version=1)
    snapshot = Snapshot(1, Design("", "quay", SHOP, COLUMN), (), (part,))
    (sent,) = findings_shown(snapshot, 0, found, held)["parts"]["fit"]["cards"]
    return dict(sent)


def test_a_card_that_the_page_has_comes_without_its_html() -> None:
    first = told(CARD, links(), {})
    assert "Does it fit?" in first["html"]
    assert "It fits." in first["why"]
    again = told(CARD, links(), {"fit.swing": first["mark"]})
    assert not {"html", "cells", "why"} & set(again)
    assert again["mark"] == first["mark"]
    other = told(replace(CARD, value="578"), links(), {"fit.swing": first["mark"]})
    assert "578" in other["cells"]
    assert other["html"] == first["html"]
    assert other["mark"] != first["mark"]
    assert "html" in told(CARD, links(), {"fit.other": first["mark"]})


def test_what_went_in_is_that_of_the_edit_that_is_tried() -> None:
    saved = links()
    before = [saved.link(path) for path in PATHS]
    assert [each.value for each in before] == ["500", "300", "90 N*m", "760 mm"]
    tried = saved.tried((Edit("set", ("studs", 0, "torque"), "95 N*m"),))
    after = [tried.link(path) for path in PATHS]
    assert [each.value for each in after] == ["500", "300", "95 N*m", "760 mm"]
    assert after[0] is before[0]  # found once
    assert [saved.link(path) for path in PATHS] == before
    assert "95 N*m" in told(CARD, tried, {"fit.swing": told(CARD, saved, {})["mark"]})["why"]


@pytest.mark.parametrize(
    "edit", [Edit("remove", ("height",)), Edit("append", ("studs",), {"torque": "7 N*m"})]
)
def test_any_other_edit_is_looked_at_anew(edit: Edit) -> None:
    saved = links()
    saved.link(PATHS[0])
    fresh = Links("quay", saved.column, saved.shop, {}).tried((edit,))
    assert [saved.tried((edit,)).link(path) for path in PATHS] == [fresh.link(path) for path in PATHS]


@pytest.mark.parametrize("sent", [[], {"a": 1}, {"a": "x" * 201}, {str(k): "" for k in range(11)}])
def test_what_a_page_says_it_has_is_checked(sent: object) -> None:
    with pytest.raises(BadRequest, match="held"):
        requests.texts(json.loads(json.dumps({"held": sent})), "held", most=10)
    assert requests.texts({}, "held", most=10) == {}
