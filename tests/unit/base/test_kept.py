"""What is kept of answers that are worked out many at once."""

from orthostat.base.kept import Kept


def test_each_is_worked_out_once_and_the_oldest_goes() -> None:
    kept: Kept[int, int] = Kept(2)
    asked: list[list[int]] = []

    def squares(fresh: list[int]) -> list[int]:
        asked.append(fresh)
        return [number * number for number in fresh]

    assert kept.answers([2, 3, 2], squares) == [4, 9, 4]
    assert kept.answers([3], squares) == [9]
    assert kept.answers([5, 4, 3], squares) == [25, 16, 9]  # more than are kept
    assert asked == [[2, 3], [5, 4]]
    assert kept.get(2) is None
    kept.keep({2: 4})
    assert kept.get(2) == 4
