"""The first of many by a key that may grow: as after looking up all of it, and no more looked up than matters."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from catalog import first_of as held
from catalog.first_of import first_of

ROWS = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 4), st.integers(0, 3)), max_size=40)


@given(ROWS, st.integers(1, 12))
def test_it_is_the_order_of_the_whole_key(rows, limit):
    last, least, more = (np.array(column, np.int64) for column in (zip(*rows, strict=True) if rows else ([], [], [])))
    number = np.arange(len(rows))
    found = first_of([number, last, least, -last // 3], 2, limit, lambda some: least[some] + more[some])
    slow = np.lexsort([number, last, least + more, -last // 3])[:limit]
    assert found.tolist() == slow.tolist()


def test_no_more_is_looked_up_than_can_matter(monkeypatch):
    least = np.repeat([0, 1, 2], 50)
    asked = []

    def grown(some):
        asked.extend(some.tolist())
        return least[some] + (some < 10)

    assert first_of([np.arange(150), least], 1, 10, grown).tolist() == list(range(10, 20))
    assert sorted(asked) == list(range(20))
    monkeypatch.setattr(held, "MOST", 35)
    asked.clear()
    found = first_of([np.arange(150), least], 1, 10, lambda some: (asked.extend(some.tolist()), least[some] + 9)[1])
    assert sorted(asked) == list(range(40))
    assert found.tolist() == list(range(10))  # 40 comes before them by what it is at least, and was not looked up
