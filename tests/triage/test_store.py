"""The tables: rows come back as they were saved, and nonsense is refused by the file itself."""

import sqlite3

import pytest

from catalog import store as catalog_store
from catalog.database import open_database, writing
from catalog.journal import Journal
from catalog.table_files import columns, table_names
from triage import schema, store
from triage.actions import files, goods_in, lots, units
from triage.bench_file import BenchFile
from triage.lot import Happening, Lot, Need, Unit

AT = "2026-01-08T10:00:00.000+00:00"
LOT = Lot(0, "attic", "EUR", 4000, 500, "2026-01-02", "fair", 600, "2026-03-01", None, "two crates")
UNIT = Unit(
    0, 1, "", "a radio ½", ("portable_radio",), ("dead", "hum"), "untested", "R–7", "dent", "S1", "C", 3000, 0, 5, None
)
HAPPENING = Happening(0, 1, AT, "reading", "rail_5v", "bad", 4.31, "4.31", 2.5)
NEED = Need(0, 1, "leaky", "c12", 2, "47uF 25V", "electrolytic", "filter", True, "open", "box 3")
ORDER = store.Order(0, 1, "Hill & Sons", AT, "2026-01-20", "EUR", 1250, 400)
LINE = store.OrderLine(0, 1, "S1", "P1", "fuse", 2, 10, 300, (1,), (1,), "drop_in", 1)
ROWS = {
    "lots": (LOT, "id"),
    "units": (UNIT, "number"),
    "happenings": (HAPPENING, "id"),
    "needs": (NEED, "id"),
    "orders": (ORDER, "id"),
    "order_lines": (LINE, "id"),
}


@pytest.fixture
def database(tmp_path):
    database = open_database(tmp_path / "bench.db", schema.MIGRATIONS)
    yield database
    database.conn.close()


@pytest.fixture
def journal(database):
    return Journal(database)


@pytest.fixture
def filled(database, journal):
    with journal.event("fill", "fill", at=AT) as recorder:
        for table, (row, key) in ROWS.items():
            assert store.save(recorder, table, row, key) == 1
        store.save_setting(recorder, database, "tools", ["iron", "Ω meter"])
    return database


def test_the_table_list_is_complete_and_parents_come_first(database):
    assert sorted(schema.TABLES) == table_names(database)
    for place, table in enumerate(schema.TABLES):
        parents = {row[2] for row in database.conn.execute(f"PRAGMA foreign_key_list({table})")}
        assert parents <= set(schema.TABLES[: place + 1])


def test_every_table_is_strict_and_holds_only_plain_values(database):
    strict = {row[1]: row[5] for row in database.conn.execute("PRAGMA table_list") if row[1] in schema.TABLES}
    assert strict == dict.fromkeys(schema.TABLES, 1)
    kinds = {kind for table in schema.TABLES for kind in columns(database, table).values()}
    assert kinds == {"INTEGER", "REAL", "TEXT"}


def test_rows_come_back_as_they_were_saved(filled):
    def numbered(table):
        row, key = ROWS[table]
        return [type(row)(**{name: getattr(row, name) for name in row.__struct_fields__} | {key: 1})]

    assert store.lots(filled) == numbered("lots")
    assert store.units(filled) == store.units(filled, lot=1) == numbered("units")
    assert [store.unit(filled, 1)] == numbered("units")
    assert store.happenings(filled, 1) == numbered("happenings")
    assert store.needs(filled) == store.needs(filled, number=1) == store.needs(filled, lot=1) == numbered("needs")
    assert store.orders(filled) == store.orders(filled, lot=1) == numbered("orders")
    assert store.order_lines(filled) == store.order_lines(filled, order_id=1) == numbered("order_lines")
    assert store.settings(filled) == {"tools": ["iron", "Ω meter"]}
    assert (store.units(filled, lot=2), store.unit(filled, 2), store.needs(filled, number=2)) == ([], None, [])
    assert (store.needs(filled, lot=2), store.orders(filled, lot=2), store.order_lines(filled, order_id=2)) == (
        [],
        [],
        [],
    )


def test_saving_again_writes_over_and_can_be_taken_back(filled, journal):
    with journal.event("change", "change", at=AT) as recorder:
        changed = Unit(1, 1, "portable_radio", "a radio ½", pile="fix", pile_reason="gift")
        assert store.save(recorder, "units", changed, "number") == 1
        store.save_setting(recorder, filled, "tools", [])
    assert store.unit(filled, 1) == changed
    assert store.settings(filled) == {"tools": []}
    journal.undo(at=AT)
    assert store.unit(filled, 1).symptoms == ("dead", "hum")
    assert store.settings(filled) == {"tools": ["iron", "Ω meter"]}
    journal.undo(at=AT)
    assert (store.units(filled), store.lots(filled), store.settings(filled)) == ([], [], {})


def test_a_unit_number_taken_back_is_never_given_again(filled, journal):
    with journal.event("add", "add", at=AT) as recorder:
        assert store.save(recorder, "units", UNIT, "number") == 2
    journal.undo(at=AT)
    with journal.event("add", "add", at=AT) as recorder:
        assert store.save(recorder, "units", UNIT, "number") == 3


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE lots SET paid = -1",
        "UPDATE lots SET paid = 1.5",
        "UPDATE lots SET paid = 'much'",
        "UPDATE lots SET postage = -1",
        "UPDATE lots SET bench_minutes = -1",
        "UPDATE lots SET name = NULL",
        "UPDATE units SET lot = 9",
        "UPDATE units SET grade = 'D'",
        "UPDATE units SET opened_before = 'maybe'",
        "UPDATE units SET keep = 'perhaps'",
        "UPDATE lots SET no_cash_limit = 2",
        "UPDATE units SET sold_as = 'new'",
        "UPDATE happenings SET unit = 9",
        "UPDATE happenings SET minutes = -0.1",
        "UPDATE happenings SET value = 'high'",
        "UPDATE needs SET pieces = 0",
        "UPDATE needs SET unit = 9",
        "UPDATE needs SET compromise_ok = 2",
        "UPDATE orders SET lot = 9",
        "UPDATE order_lines SET order_id = 9",
        "UPDATE order_lines SET packs = 0",
        "DELETE FROM units",
        "DELETE FROM lots",
        "DELETE FROM orders",
        "INSERT INTO settings (name, value) VALUES ('tools', '[]')",
        "INSERT INTO parts (part_number, description, kind, quantity, search) VALUES ('', 'x', '', -1, 'x')",
        "INSERT INTO batches (kind, source, at) VALUES ('other', 'x', 'x')",
        "INSERT INTO suppliers (name, currency, lead_days, lead_days_late) VALUES ('x', 'EUR', 5, 4)",
        "INSERT INTO suppliers (name, currency, lead_days, lead_days_late, price_batch) VALUES ('x', 'EUR', 1, 1, 9)",
        "INSERT INTO journal (at, seat, action, summary, target) VALUES ('x', 1, 'undo', 'x', 99)",
        "INSERT INTO journal (at, seat, action, summary, final) VALUES ('x', 1, 'a', 'x', 2)",
        "INSERT INTO journal_rows VALUES (99, 1, 'units', 1, NULL, NULL)",
    ],
)
def test_nonsense_is_refused_by_the_file(filled, statement):
    with pytest.raises(sqlite3.IntegrityError), writing(filled):
        filled.conn.execute(statement)


def test_a_file_of_the_first_schema_keeps_its_orders_and_finds_the_rest_again(tmp_path, monkeypatch):
    path = tmp_path / "old.db"
    with monkeypatch.context() as past:
        past.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[:1])
        with BenchFile(path) as old:
            run = old.database.conn.execute
            run("INSERT INTO lots VALUES (1, 'box', 'SEK', 0, 0, '', '', NULL, '', NULL, '')")
            run(
                "INSERT INTO units VALUES (1, 1, '', 'x', '[]', '[]', 'faulty', '', '', '', 'B',"
                " NULL, NULL, NULL, NULL, '', '')"
            )
            for number, pieces, state in ((1, 4, "ordered"), (2, 2, "received"), (3, 1, "reserved")):
                run(
                    "INSERT INTO needs VALUES (?, 1, 'f', 'p', ?, 'SM-4K', '', '', 0, ?, 'somewhere')",
                    (number, pieces, state),
                )
            run("INSERT INTO orders VALUES (1, 1, 'North', '2026-01-01', '2026-01-05', 'SEK', 100, 0, '')")
            run("INSERT INTO order_lines VALUES (1, 1, 'S', 'SM-4K', 'stick', 3, 1, 100, '[1]', '[1]', 'exact', 2)")
            old.database.conn.commit()
    with BenchFile(path) as new:
        assert [need.state for need in store.needs(new.database)] == ["ordered", "open", "open"]
        assert [(item.need, item.pieces, item.line) for item in store.set_asides(new.database)] == [(1, 1, 1)]
        assert new.currency == "SEK"
        changed = lots.change_lot(new, 1, note="still mine")
        assert changed.note == "still mine"
        goods_in.receive(new, 1)
        assert [item.coming for item in store.set_asides(new.database)] == [False]


def test_a_file_of_the_third_schema_keeps_its_looks_and_its_undo(tmp_path, monkeypatch):
    path = tmp_path / "old.db"
    with monkeypatch.context() as past:
        past.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[:3])
        with BenchFile(path) as old:
            run = old.database.conn.execute
            run("INSERT INTO lots VALUES (1, 'box', 'EUR', 0, 0, '', '', NULL, '', 500, '')")
            held = {"lot": 1, "device_class": "", "typed": "x", "candidates": "[]", "symptoms": "[]"}
            held |= dict.fromkeys(("model", "note", "shelf", "pile", "pile_reason"), "") | {"sold_as": "faulty"}
            old.database.conn.commit()
            with old.journal.event("units_add", "added", at=AT) as recorder:
                for grade, own_worth in (("C", None), ("B", 700)):
                    recorder.insert("units", {**held, "grade": grade, "own_worth": own_worth})
            with old.journal.event("unit_change", "looks", at=AT, unit=1) as recorder:
                recorder.update("units", 1, {"grade": "A"})
    with BenchFile(path) as new:
        first, second = store.units(new.database)
        assert (first.grade, second.grade) == ("A", "B")
        for unit in (first, second):
            assert (unit.complete, unit.opened_before, unit.keep) == ("", "", "")
        assert second.own_worth == 700
        assert (store.lots(new.database)[0].cash_limit, store.lots(new.database)[0].no_cash_limit) == (500, False)
        assert new.journal.undo(at=AT).summary == "looks"  # an event of the old program
        assert store.unit(new.database, 1).grade == "C"
        assert units.change_unit(new, 1, grade="").grade == ""
        assert units.change_unit(new, 2, note="mine").keep == "yes"
        assert files.verify(new).ok
        exported = tmp_path / "out"
        files.export(new, exported)
        assert files.import_(exported, tmp_path / "again.db").digest == files.verify(new).digest


def test_a_file_of_the_fourth_schema_learns_where_parts_were_lifted_from(tmp_path, monkeypatch):
    path = tmp_path / "old.db"
    with monkeypatch.context() as past:
        past.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[:4])
        with BenchFile(path) as old:
            old.database.conn.execute("INSERT INTO lots VALUES (1, 'box', 'EUR', 0, 0, '', '', NULL, '', NULL, '', 0)")
            old.database.conn.commit()
    with BenchFile(path) as new:
        assert store.lifted_parts(new.database) == {}
        (lot,) = store.lots(new.database)
        assert (lot.name, lot.week, lot.price_fall) == ("box", "", 0.0)


def test_a_pair_of_an_older_file_says_how_well_it_fits_and_is_put_back_so(tmp_path, monkeypatch):
    path = tmp_path / "old.db"
    with monkeypatch.context() as past:
        past.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[: schema.MIGRATIONS.index(schema._own_rules)])
        with BenchFile(path) as old:
            for candidate, fits in (("K-2", 1), ("K-3", 0)):
                with old.journal.event("pair_add", candidate, at=AT) as recorder:
                    recorder.insert("pairs", {"wanted": "K-1", "candidate": candidate, "fits": fits, "at": AT})
            old.journal.undo(at=AT)
    with BenchFile(path) as new:
        assert [(pair.candidate, pair.grade) for pair in catalog_store.pairs(new.database)] == [("K-2", "drop-in")]
        new.journal.redo(at=AT)
        assert [(pair.candidate, pair.grade) for pair in catalog_store.pairs(new.database)] == [
            ("K-2", "drop-in"),
            ("K-3", "refuse"),
        ]
        assert files.verify(new).ok


def test_needs_and_pins_of_an_older_file_are_no_wishes_and_speak_of_the_whole_order(tmp_path, monkeypatch):
    path = tmp_path / "old.db"
    with monkeypatch.context() as past:
        past.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[: schema.MIGRATIONS.index(schema._later)])
        with BenchFile(path) as old:
            lots.new_lot(old, "box")
            units.add_units(old, "1 gamepad drift")
            with old.journal.event("old", "a need and a pin", at=AT) as recorder:
                need = {"unit": 1, "fault": "f", "part": "p", "pieces": 1, "text": "t", "kind": "listed", "role": ""}
                recorder.insert("needs", {**need, "compromise_ok": 0, "state": "open", "source": ""})
                recorder.insert("order_pins", {"lot": 1, "kind": "not", "supplier": "Slow Boat"})
    with BenchFile(path) as new:
        (need,) = store.needs(new.database)
        (pin,) = store.order_pins(new.database)
        assert (need.wish, need.worth, pin.need, store.spares(new.database)) == (False, None, None, [])
        new.journal.undo(at=AT)
        assert store.needs(new.database) == []
        new.journal.redo(at=AT)
        assert store.needs(new.database) == [need]
        assert files.verify(new).ok
