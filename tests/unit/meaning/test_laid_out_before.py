"""What is kept of the parts that were laid out, and what is not."""

from __future__ import annotations

from orthostat.document.parts import Circle
from orthostat.document.shop import Shop
from orthostat.meaning.faults import Faults
from orthostat.meaning.kept import kept
from orthostat.meaning.names import Names


def _names(shop: Shop, prefix: str = "") -> Names:
    return Names(shop, Faults("shop.toml", ""), prefix)


def test_only_what_is_alike_in_all_is_not_made_again() -> None:
    made = []

    @kept(8)
    def ring(part: Circle, others: tuple[Circle, ...], size: float, names: Names) -> int:
        made.append((part, others, size, names.scope))
        return len(made)

    shop = Shop()
    one, other = (Circle.model_validate({"diameter": "40 mm", "count": 3}) for _ in range(2))
    assert one == other
    first = ring(one, (), 1.0, _names(shop))
    assert ring(one, (), 1.0, _names(shop)) == first
    different = [
        ring(other, (), 1.0, _names(shop)),  # told by which it is
        ring(one, (other,), 1.0, _names(shop)),
        ring(one, (one,), 1.0, _names(shop)),
        ring(one, (), 2.0, _names(shop)),
        ring(one, (), 1.0, _names(Shop())),
        ring(one, (), 1.0, _names(shop, "columns.other.")),
    ]
    assert len({first, *different}) == 7


def test_a_fault_is_noted_each_time() -> None:
    @kept(8)
    def place(name: str, names: Names) -> str:
        names.thread("M0", (name,))
        return name

    shop = Shop()
    for _ in range(2):
        names = _names(shop)
        assert place("studs", names) == "studs"
        place("studs", names)
        assert [problem.key for problem in names.faults.problems] == ["studs"]
