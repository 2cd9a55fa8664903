"""Columns and rows without a solver."""

from __future__ import annotations

import pytest

from catalog.model import INF, Model


def test_columns_and_rows_are_known_by_index():
    model = Model()
    x, y = model.column(3, high=4, whole=True, name="x"), model.choice(5)
    limit = model.row([(x, 1), (y, 2)], low=1, high=6, name="limit")
    assert (x, y, limit) == (0, 1, 0)
    assert model.columns[y].high == 1
    assert model.columns[y].whole
    assert model.rows[limit].terms == {x: 1, y: 2}
    assert model.value([2, 1]) == 11


def test_a_column_named_twice_is_added_up_and_zeros_are_left_out():
    model = Model()
    x, y = model.column(), model.column()
    row = model.row([(x, 2), (y, 1), (x, -2)])
    assert model.rows[row].terms == {y: 1}
    model.add_term(row, y, 3)
    assert model.rows[row].terms == {y: 4}


def test_a_cost_can_be_set_later():
    model = Model()
    x = model.column(1, high=2, name="x")
    model.set_cost(x, 7)
    assert model.value([2]) == 14
    assert (model.columns[x].high, model.columns[x].name) == (2, "x")


def test_what_values_break_is_named():
    model = Model()
    x = model.column(high=3, whole=True, name="packs")
    model.row([(x, 2)], high=5, name="stock")
    model.row([(x, 1)], low=1)
    assert model.broken([2.0]) == []
    assert model.broken([2.5]) == ["packs"]
    assert model.broken([3.0]) == ["stock"]
    assert model.broken([0.0]) == ["row 1"]


def test_impossible_ranges_and_unknown_columns_are_refused():
    model = Model()
    with pytest.raises(ValueError, match="spares: low 2 is above high 1"):
        model.column(low=2, high=1, name="spares")
    with pytest.raises(ValueError, match="no column 5"):
        model.row([(5, 1)])
    assert INF > 10**18
