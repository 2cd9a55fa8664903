"""Lists staged, taken in together and fetched from a server on this machine."""

import http.server
from datetime import date
from hashlib import sha256

import pytest

from catalog.columns import Unmapped
from catalog.feeds import Unreachable
from catalog.text import Refused
from triage import schema
from triage.actions import files, history, parts, prices, sheets, staging
from triage.bench_file import BenchFile

SHOPS = "supplier,lead_days,lead_days_late,min_order,shipping,free_from\nNorth Counter,3,5,10.00,3.95,20.00\n"
OFFERS = "supplier,sku,description,price\nNorth Counter,F1,fuse T2A 250V 5x20,0.30\nNorth Counter,F2,glow lamp,1.00\n"
FOREIGN = "Artikelnummer;Bezeichnung;Preis netto;Farbe\nF1;fuse T2A 250V 5x20;0,35;red\nF9;zzfrob;2,00;\n"
SAID = {"Artikelnummer": "sku", "Bezeichnung": "description", "Preis netto": "price", "Farbe": "-"}


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 1, 8)) as opened:
        yield opened


@pytest.fixture
def stocked(bench, write):
    staging.commit(bench, prices.stage_files(bench, [write(OFFERS, "o.csv"), write(SHOPS, "s.csv")]))
    return bench


class Lists(http.server.ThreadingHTTPServer):
    """Hands out the texts it holds, by path, each with a tag of its version."""

    daemon_threads = True

    def __init__(self):
        super().__init__(("127.0.0.1", 0), Answer)
        self.held = {}
        self.given = []

    def at(self, path):
        return f"http://127.0.0.1:{self.server_port}/{path}"


class Answer(http.server.BaseHTTPRequestHandler):
    def log_message(self, *_):
        """Quiet."""

    def do_GET(self):
        body = self.server.held.get(self.path.strip("/"), "").encode()
        tag = f'"{sha256(body).hexdigest()}"'
        status = 404 if not body else 304 if self.headers.get("If-None-Match") == tag else 200
        self.server.given.append((self.path.strip("/"), status))
        self.send_response(status)
        if status == 200:
            self.send_header("ETag", tag)
            self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if status == 200:
            self.wfile.write(body)


@pytest.fixture
def server(serve):
    return serve(Lists())


def offers(bench):
    return {offer.sku: offer.steps[0].amount for offer in prices.list_offers(bench)}


# ---- staged


def test_staging_writes_nothing_and_tells_what_would_change(stocked, write):
    before = files.verify(stocked).digest
    newer = OFFERS.replace("0.30", "0.36").replace("F2,glow lamp", "F3,zzfrob qqq")
    staged = prices.stage_files(stocked, [write(newer, "newer.csv")])
    assert [(change.what, change.name) for change in staged.changes] == [
        ("new", "North Counter F3"),
        ("dearer", "North Counter F1"),
        ("gone", "North Counter F2"),
    ]
    assert staged.unread == ("zzfrob qqq",)
    assert files.verify(stocked).digest == before
    (done,) = staging.commit(stocked, staged)
    assert (done.added, done.dearer, done.cheaper, done.changed, done.gone, done.unchanged) == (1, 1, 0, 0, 1, 0)
    assert done.summary == "offers from newer.csv: 1 added, 1 dearer, 1 gone; 1 not understood"
    assert offers(stocked) == {"F1": 36, "F3": 100}


def test_several_lists_are_one_event_whatever_their_order(bench, write):
    done = staging.commit(
        bench,
        prices.stage_files(
            bench, [write(OFFERS, "o.csv"), write("description\nbelt\n", "p.csv"), write(SHOPS, "s.csv")]
        ),
    )
    assert [one.kind for one in done] == ["suppliers", "parts", "offers"]
    assert len(bench.journal.history()) == 1
    assert history.take_back(bench).action == "import_lists"
    assert (prices.list_suppliers(bench), prices.list_offers(bench), parts.list_parts(bench)) == ([], [], [])
    history.do_again(bench)
    assert offers(bench) == {"F1": 30, "F2": 100}


def test_one_bad_list_keeps_all_of_them_out(bench, write):
    bad = write(OFFERS + "North Counter,F3,belt,much\nNorth Counter,F4,belt,0\n", "o.csv")
    staged = prices.stage_files(bench, [write(SHOPS, "s.csv"), bad])
    assert [problem.where for problem in staged.problems] == [f"{bad}:4:price", f"{bad}:5:price"]
    assert staged.problem_count == 2
    with pytest.raises(Refused, match=r"o\.csv:4:price: .*1 more problem"):
        staging.commit(bench, staged)
    assert prices.list_suppliers(bench) == []
    assert bench.journal.history() == []


def test_two_lists_of_the_same_supplier_do_not_overwrite_each_other(stocked, write):
    two = [write(OFFERS, "one.csv"), write(OFFERS.replace("F1", "F7"), "two.csv")]
    with pytest.raises(Refused, match=r"two\.csv: “North Counter” is in .*one\.csv too"):
        prices.stage_files(stocked, two)


def test_what_was_shown_is_what_is_kept(stocked, write):
    """Somebody changes the prices between the look and the yes."""
    staged = prices.stage_files(stocked, [write(OFFERS.replace("0.30", "0.36"), "newer.csv")])
    prices.import_offers(stocked, write(OFFERS.replace("0.30", "0.40"), "other.csv"))
    with pytest.raises(Refused, match="changed meanwhile"):
        staging.commit(stocked, staged)
    assert offers(stocked) == {"F1": 40, "F2": 100}
    parts.add_part(stocked, "belt 43 mm")
    staged = prices.stage_files(stocked, [write(OFFERS, "back.csv")])
    parts.add_part(stocked, "belt 44 mm")
    staging.commit(stocked, staged)
    assert offers(stocked) == {"F1": 30, "F2": 100}


def test_what_a_supplier_list_leaves_out_stays(stocked, write):
    (before,) = prices.list_suppliers(stocked)
    prices.import_suppliers(stocked, write("supplier,lead_days,shipping,free_from\nnorth counter,4,,\n", "less.csv"))
    (after,) = prices.list_suppliers(stocked)
    assert (after.lead_days, after.lead_days_late) == (4, 5)
    assert (after.min_order, after.shipping, after.free_from) == (before.min_order, before.shipping, before.free_from)
    assert after.price_batch == before.price_batch
    prices.import_suppliers(stocked, write("supplier,lead_days\nNorth Counter,9\n", "slow.csv"))
    assert prices.list_suppliers(stocked)[0].lead_days_late == 9
    prices.import_suppliers(stocked, write("supplier,lead_days,currency,shipping\nNorth Counter,9,JPY,500\n", "y.csv"))
    (moved,) = prices.list_suppliers(stocked)
    assert (moved.currency, moved.min_order, moved.shipping, moved.free_from) == ("JPY", 0, 500, None)
    prices.import_suppliers(stocked, write("supplier,lead_days,shipping\nNorth Counter,9,600\n", "z.csv"))
    (held,) = prices.list_suppliers(stocked)
    assert (held.currency, held.shipping) == ("JPY", 600)


# ---- columns


def test_a_foreign_header_is_said_once_and_remembered(stocked, write):
    path = write(FOREIGN, "f.csv")
    with pytest.raises(Unmapped, match=r"f\.csv:1: .*perhaps --as offers .*“Preis netto=price”.*“Farbe=-”"):
        prices.import_any(stocked, path)
    with pytest.raises(Unmapped, match="--supplier"):
        prices.stage_files(stocked, [path], SAID)
    staging.commit(stocked, prices.stage_files(stocked, [path], SAID, supplier="NORTH counter"))
    assert offers(stocked) == {"F1": 35, "F9": 200}
    turned = "Farbe,BEZEICHNUNG,Preis-netto,artikelnummer\n,belt 43 mm,0.40,F5\n"
    staging.commit(stocked, prices.stage_files(stocked, [write(turned, "g.csv")], supplier="North Counter"))
    assert offers(stocked) == {"F5": 40}
    with pytest.raises(Unmapped, match="--supplier"):  # whose list it is cannot be told by its header
        prices.import_any(stocked, path)
    with pytest.raises(Unmapped, match="does not tell"):  # another header is another question
        prices.import_any(stocked, write(FOREIGN.replace("Farbe", "Colour"), "h.csv"))


def test_what_is_said_now_goes_before_what_was_remembered(bench, write):
    prices.import_any(bench, write("Was;Wo\nlens;box\n", "a.csv"), {"Was": "description", "Wo": "place"})
    assert parts.list_parts(bench)[0].place == "box"
    prices.import_any(bench, write("Was;Wo\nlamp;box\n", "b.csv"), {"wo": "-"})
    prices.import_any(bench, write("Was;Wo\nbelt;box\n", "c.csv"))
    assert [part.place for part in parts.list_parts(bench)] == ["box", "", ""]
    assert bench.database.conn.execute("SELECT count(*) FROM layouts").fetchone() == (1,)
    for _ in range(3):
        history.take_back(bench)
    with pytest.raises(Unmapped):
        prices.import_any(bench, write("Was;Wo\nlens;box\n", "a.csv"))


def test_several_files_each_take_what_is_said_of_their_columns(bench, write):
    foreign = write(FOREIGN, "f.csv")
    staging.commit(bench, prices.stage_files(bench, [write(SHOPS, "s.csv"), foreign], SAID, supplier="North Counter"))
    assert offers(bench) == {"F1": 35, "F9": 200}
    with pytest.raises(Refused, match="none of the lists"):
        prices.stage_files(bench, [write(SHOPS, "s.csv"), foreign], {"Nowhere": "sku"})


def test_the_question_holds_all_a_screen_has_to_ask(stocked, write):
    opened = sheets.open_file(write(FOREIGN, "f.csv"))
    question = sheets.question_of(stocked, opened)
    assert question.kind == "offers"
    assert [title.text for title in question.titles] == list(SAID)
    assert question.titles[0].samples == ("F1", "F9")
    assert question.suppliers == ("North Counter",)
    chosen = question.guesses["offers"]
    assert sheets.answer_of(question, chosen) == SAID
    assert sheets.still_missing("offers", chosen) == ("supplier",)
    assert sheets.still_missing("offers", chosen, "North Counter") == ()


# ---- fetched


def test_an_address_is_kept_and_asked_only_for_what_changed(stocked, server):
    server.held["o"] = OFFERS.replace("0.30", "0.33")
    first = prices.fetch(stocked, server.at("o"))
    assert prices.list_feeds(stocked) == []
    staging.commit(stocked, first.stage)
    assert offers(stocked)["F1"] == 33
    again = prices.fetch(stocked)
    assert (again.same, again.stage.lists) == ((server.at("o"),), ())
    server.held["o"] = OFFERS
    staging.commit(stocked, prices.fetch(stocked).stage)
    assert offers(stocked)["F1"] == 30
    assert [status for _, status in server.given] == [200, 304, 200]
    (feed,) = prices.list_feeds(stocked)
    assert (feed.address, feed.kind) == (server.at("o"), "offers")


def test_the_marks_hold_only_while_the_list_stands(stocked, server, write):
    """Otherwise “nothing new” would be said of prices that are no longer in force."""
    server.held["o"] = OFFERS.replace("0.30", "0.33")
    staging.commit(stocked, prices.fetch(stocked, server.at("o")).stage)
    prices.import_offers(stocked, write(OFFERS, "by hand.csv"))
    assert prices.fetch(stocked).stage.changes[0].note == "0.30 EUR → 0.33 EUR (+10 %)"
    history.take_back(stocked)
    assert prices.fetch(stocked).same == (server.at("o"),)
    history.take_back(stocked)
    assert prices.list_feeds(stocked) == []
    assert offers(stocked)["F1"] == 30
    assert prices.fetch(stocked, server.at("o")).stage.changes
    history.do_again(stocked)
    assert prices.fetch(stocked).same == (server.at("o"),)


def test_a_foreign_list_without_its_supplier_is_known_by_its_address(stocked, server):
    server.held["f"] = FOREIGN
    with pytest.raises(Unmapped) as caught:
        prices.fetch(stocked, server.at("f"))
    assert caught.value.where == f"{server.at('f')}:1"
    staging.commit(stocked, prices.fetch(stocked, server.at("f"), SAID, supplier="North Counter").stage)
    server.held["f"] = FOREIGN.replace("0,35", "0,45")
    staging.commit(stocked, prices.fetch(stocked).stage)
    assert offers(stocked) == {"F1": 45, "F9": 200}


def test_what_fails_changes_nothing_and_holds_up_no_other(stocked, server):
    server.held |= {"o": OFFERS.replace("0.30", "0.33"), "s": SHOPS, "p": "description,quantity\nlens,1\n"}
    for path in ("s", "o", "p"):
        staging.commit(stocked, prices.fetch(stocked, server.at(path)).stage)
    before = files.verify(stocked).digest
    with pytest.raises(Unreachable, match="no such list"):
        prices.fetch(stocked, server.at("nothing"))
    assert files.verify(stocked).digest == before
    server.held |= {"o": OFFERS, "s": "", "p": "description,quantity\nlens,many\n"}
    found = prices.fetch(stocked)
    assert [line.partition(": ")[0] for line in (*found.failed, *found.refused)] == [
        server.at("s"),
        f"{server.at('p')}:2:quantity",
    ]
    assert files.verify(stocked).digest == before
    staging.commit(stocked, found.stage)
    assert offers(stocked)["F1"] == 30
    with pytest.raises(Unreachable, match="called off"):
        prices.fetch(stocked, cancelled=lambda: True)


def test_an_address_can_be_forgotten_and_brought_back(stocked, server):
    server.held["o"] = OFFERS
    staging.commit(stocked, prices.fetch(stocked, server.at("o")).stage)
    assert prices.forget_feed(stocked, server.at("o") + "#part") == server.at("o")
    with pytest.raises(Refused, match="no address is known"):
        prices.fetch(stocked)
    with pytest.raises(Refused, match="not known"):
        prices.forget_feed(stocked, server.at("o"))
    history.take_back(stocked)
    assert [feed.address for feed in prices.list_feeds(stocked)] == [server.at("o")]


def test_addresses_and_layouts_survive_export_and_import(stocked, server, tmp_path):
    server.held["f"] = FOREIGN.replace("Farbe", "Far\\be ½")
    said = {name.replace("Farbe", "Far\\be ½"): field for name, field in SAID.items()}
    staging.commit(stocked, prices.fetch(stocked, server.at("f"), said, supplier="North Counter").stage)
    before = files.verify(stocked)
    assert before.problems == ()
    assert (before.counts["feeds"], before.counts["layouts"]) == (1, 1)
    files.export(stocked, tmp_path / "out")
    assert files.import_(tmp_path / "out", tmp_path / "new.db") == before
    with BenchFile(tmp_path / "new.db") as new:
        assert prices.list_feeds(new) == prices.list_feeds(stocked)
        assert prices.fetch(new).same == (server.at("f"),)


def test_a_file_of_the_first_schema_gets_the_new_tables(tmp_path, monkeypatch):
    with monkeypatch.context() as past:
        past.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[:1])
        with BenchFile(tmp_path / "old.db") as old:
            parts.add_part(old, "belt 43 mm")
    with BenchFile(tmp_path / "old.db") as new:
        assert prices.list_feeds(new) == []
        assert [part.description for part in parts.list_parts(new)] == ["belt 43 mm"]
        assert files.verify(new).ok
    assert len(list(tmp_path.glob("old-schema1*.db"))) == 1
