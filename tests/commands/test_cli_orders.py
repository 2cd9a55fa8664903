"""Parts, prices, the plan of the lot, its order and goods in; and the bench file as a whole."""

import csv

import pytest

LINE_FIELDS = {"supplier", "sku", "packs", "pieces", "line_cents", "units", "grade"}


def test_parts_go_in_and_out_and_are_found(lot, tmp_path):
    form = lot("parts", "add", "fuse", "T1A", "250V", "5x20", "--quantity", "4", "--cost", "0.30", "--json").form
    assert (form["kind"], form["quantity"], form["unit_cost_cents"]) == ("fuse", 4, 30)
    assert len(lot("parts", "list", "--json").form["parts"]) == 3
    hits = lot("find", "4.7u", "25v", "--json", "--limit", "3").form["hits"]
    assert 1 <= len(hits) <= 3
    assert {"source", "id", "description", "grade", "why", "quantity", "place", "supplier"} <= set(hits[0])
    assert "4.7uF" in hits[0]["description"]
    assert "box 1" in lot("find", "4.7u 25v").out
    assert hits[0]["bad"] is None
    lot("parts", "add", "fuse", "T1A", "250V", "5x20", "blown", "--quantity", "2", "--json")
    good, *_, blown = lot("find", "fuse T1A 250V 5x20", "--json", "--limit", "3").form["hits"]
    assert (good["grade"], good["bad"], blown["grade"], blown["bad"]) == ("exact", None, "refuse", "blown")
    assert "bad, refuse" in lot("find", "fuse T1A 250V 5x20").out
    lot("undo", "--json")
    out = tmp_path / "out.csv"
    assert lot("parts", "export", out, "--json").form["parts"] == 3
    assert lot("parts", "export", out).code == 3
    again = lot("parts", "import", out, "--json").form
    assert (again["added"], again["changed"], again["unchanged"]) == (0, 0, 3)
    assert lot("parts", "add", "--cost", "x", "fuse T2A").code == 3


def test_an_unmapped_list_is_refused_until_its_columns_are_named(lot, write):
    path = write("Was,Stk\nfuse T3.15A 250V 5x20,7\n", "mine.csv")
    ran = lot("parts", "import", path)
    assert ran.code == 3
    assert ran.complaint.startswith(f"{path}:1:Was: ")
    assert "--map" in ran.complaint
    assert (
        lot("parts", "import", path, "--map", "Was=description", "--map", "Stk=quantity", "--json").form["added"] == 1
    )
    assert lot("parts", "import", path, "--map", "Was").code == 3


def test_prices_show_what_is_in_force(lot):
    form = lot("prices", "show", "--json").form
    assert form["suppliers"][0]["shipping_cents"] == 350
    assert form["offers"][0]["steps"] == [
        {"from": 1, "price_cents": 210, "price_per": 1},
        {"from": 5, "price_cents": 180, "price_per": 1},
    ]
    assert "5+ 1.80" in lot("prices", "show", "north bench supply").out
    assert lot("prices", "show", "nobody").code == 3


def test_a_part_is_asked_for_then_described_then_ordered(described, tmp_path):
    (need,) = described("need", 1, "--json").form["needs"]
    assert (need["part"], need["described"], need["text"], need["state"]) == ("stick_module", True, "STK-10", "open")
    plan = described("plan", "--json").form
    assert {"status", "gap_cents", "decisions", "order"} <= set(plan)
    assert (plan["status"], plan["gap_cents"]) == ("optimal", 0)
    assert {"unit": 1, "branch": "fix"}.items() <= plan["decisions"][0].items()
    assert set(plan["order"]) >= {"lines", "shipping_cents", "total_cents"}
    assert "STK-10" in described("need", 1).out
    order = described("order", "--json").form
    assert order == plan["order"]
    (line,) = order["lines"]
    assert set(line) >= LINE_FIELDS
    assert (line["supplier"], line["sku"], line["packs"], line["line_cents"], line["units"]) == (
        "North Bench Supply",
        "NB-1",
        1,
        210,
        [1],
    )
    assert (order["shipping_cents"], order["total_cents"]) == (350, 560)
    for shown in (described("plan").out, described("order").out):
        assert "together 5.60 EUR" in shown
    folder = tmp_path / "papers"
    assert described("order", "--write", folder).code == 0
    (sheet,) = folder.glob("*.csv")
    with sheet.open(encoding="utf-8", newline="") as file:
        assert next(csv.DictReader(file))["line_total"] == "2.10"
    assert (folder / "order.md").is_file()


def test_an_order_is_placed_received_and_stands(described):
    (placed,) = described("order", "--place", "--json").form["orders"]
    (line,) = placed["lines"]
    assert (placed["goods_cents"], placed["shipping_cents"], line["received_packs"]) == (210, 350, 0)
    assert described("undo").code == 3
    assert described("lot", "show", "--json").form["units"][0]["waits_for"]
    assert described("order", "--json").form["lines"] == []
    assert described("order", "--place").code == 3
    assert "days late" in described("--today", "2026-12-24", "order", "--placed").out
    assert "late" not in described("order", "--placed").out
    assert described("receive", line["line"], 1, "--json").form["received_packs"] == 1
    assert described("receive", line["line"]).code == 3
    assert described("order", "--placed", "--json").form["orders"][0]["lines"][0]["received_packs"] == 1
    assert described("order", "--cancel", placed["order"]).code == 3


def test_what_came_of_a_line_can_be_bad_too(described):
    (placed,) = described("order", "--place", "--json").form["orders"]
    line = placed["lines"][0]["line"]
    assert described("receive", line, "--dud", "--wrong", "knob").code == 2
    form = described("receive", line, "--wrong", "knob", "--json").form
    assert (form["received_packs"], form["failed_packs"]) == (0, 1)
    assert "knob" in described("parts", "list").out
    late = described("--today", "2026-12-24", "order", "--placed")
    assert "days late" not in late.out
    assert late.out.splitlines()[2].split()[:5] == [str(line), "NB-1", "1", "0", "1"]
    assert [one["sku"] for one in described("order", "--json").form["lines"]] == ["NB-1"]
    assert described("receive", line, "--never").code == 3
    assert described("lot", "ready", "--json").form == {"ready": []}
    sender = described("prices", "show", "--json").form["suppliers"][0]
    assert (sender["used_days"], sender["orders_seen"]) == (sender["lead_days"], 0)


def test_an_order_is_taken_back_by_a_counter_entry(described):
    number = described("order", "--place", "--json").form["orders"][0]["order"]
    assert described("order", "--cancel", number, "--json").form["orders"][0]["cancelled"]
    assert len(described("order", "--json").form["lines"]) == 1
    assert described("order", "--cancel", number, "--place").code == 2


def test_a_need_can_be_dropped(described):
    assert described("need", 1, "stick_module", "--drop").code == 0
    assert described("order", "--json").form["lines"] == []
    assert described("need", 1, "stick_module", "--drop").code == 3
    assert described("need", 1, "stick_module", "--want", "--drop").code == 2
    (need,) = [item for item in described("need", 1, "--json").form["needs"] if item["text"]]
    assert (need["part"], need["aside"]) == ("stick_module", "dropped")
    assert described("need", 1, "stick_module", "--want").code == 0
    assert described("order", "--json").form["lines"] != []
    assert described("need", 1, "stick_module").code == 3
    assert described("need", 1, "--drop").code == 2


def test_where_no_plan_exists_the_exit_is_4(described):
    described("lot", "set", "cash_limit=1.00")
    ran = described("plan", "--json")
    assert ran.code == 4
    assert ran.forms[0]["status"] == "infeasible"
    assert ran.complaint.startswith("no plan exists: ")
    assert described("order").code == 4


def test_a_lot_with_nothing_to_order_has_an_empty_order(lot):
    form = lot("order", "--json").form
    assert (form["lines"], form["total_cents"]) == ([], 0)
    assert lot("order", "--write", "papers").code == 3


def test_backup_export_and_import_keep_everything(described, tmp_path):
    digest = described("verify", "--digest").out
    assert len(digest.strip()) == 64
    copy, folder, twin = tmp_path / "copy.db", tmp_path / "export", tmp_path / "twin.db"
    assert described("backup", copy, "--json").form["file"] == str(copy)
    assert described("backup", copy).code == 3
    assert described("--bench", copy, "verify", "--digest").out == digest
    assert described("export", folder, "--json").form["counts"]["units"] == 3
    assert described("import", folder, "--bench", twin, "--json").form["digest"] == digest.strip()
    assert described("verify", "--json", "--bench", twin).form["ok"] is True
    assert described("import", folder, "--bench", twin).code == 3


def test_a_file_that_is_no_bench_file_is_left_alone(run, write):
    path = write(b"something else entirely", "other.db")
    for words in (("lot", "new", "x"), ("lot", "show"), ("verify",)):
        ran = run("--bench", path, *words)
        assert ran.code == 3
        assert str(path) in ran.complaint or path.name in ran.complaint
    assert path.read_bytes() == b"something else entirely"


def test_classes_are_listed_and_a_file_is_checked(run, write, bench_path):
    names = [one["class"] for one in run("classes", "--json").form["classes"]]
    assert {"gamepad", "portable_radio", "disc_console"} <= set(names)
    assert run("classes", "list", "--json").form == run("classes", "--json").form
    assert "Gamepad" in run("classes").out
    from triage.device_classes import loader  # noqa: PLC0415

    source = (loader.resources.files("triage.device_classes") / "gamepad.toml").read_bytes()
    assert "sound class" in run("classes", "check", write(source, "mine.toml")).out
    bad = write(source.replace(b"working = ", b"wroking = ", 1), "bad.toml")
    assert run("classes", "check", bad).complaint.startswith("bad.toml: ")
    own = bench_path.parent / "classes"
    own.mkdir()
    (own / "mine.toml").write_bytes(source.replace(b'id = "gamepad"', b'id = "my_pad"', 1))
    assert "my_pad" in [one["class"] for one in run("classes", "--json").form["classes"]]


def test_keys_list_every_place(run):
    keys = run("keys", "--json").form["keys"]
    assert {"everywhere", "lot"} <= {one["place"] for one in keys}
    for one in keys:
        assert one["key"], one
        assert one["action"], one
        assert one["does"], one
    plain = run("keys").out
    assert "Take back" in plain


@pytest.mark.parametrize("words", [("backup", "/nowhere/at/all/x.db"), ("parts", "export", "/nowhere/x.csv")])
def test_what_cannot_be_written_is_said(lot, words):
    ran = lot(*words)
    assert ran.code == 3
    assert "nowhere" in ran.complaint


def test_a_line_is_explained_and_a_supplier_is_closed(described, write):
    (line,) = described("order", "--json").form["lines"]
    why = described("order", "--why", line["sku"], "--json").form
    assert (why["supplier"], why["sku"]) == (line["supplier"], line["sku"])
    assert why["reasons"]
    assert why["reasons"][0] in described("order", "--why", line["sku"], "--from", line["supplier"]).out
    assert described("order", "--why", "nothing").code == 3
    assert described("order", "--from", line["supplier"]).code == 2
    assert described("order", "--why", line["sku"], "--place").code == 2
    assert described("pin").out == ""
    said = described("pin", "keep", line["supplier"], line["sku"], "--packs", line["packs"] + 1, "--json").form
    assert [(one["kind"], one["packs"]) for one in said["pins"]] == [("keep", line["packs"] + 1)]
    assert described("order", "--json").form["lines"][0]["packs"] == line["packs"] + 1
    assert f"keep {line['packs'] + 1} of" in described("pin").out
    told = described("plan").out
    assert f"keep {line['packs'] + 1} of" in told
    assert "your word on the order costs " in told
    assert described("pin", "lift", said["pins"][0]["pin"]).code == 0
    assert described("pin", "lift", 9).code == 3
    assert described("pin", "not").code == 2
    assert described("pin", "lift", "x").code == 2
    assert described("settings", "rates=USD 0.92 2026-11-20", "--json").form["rates"] == {
        "USD": {"worth": "0.92", "on": "2026-11-20"}
    }
    assert described("settings", "rates=USD").code == 3
    described("prices", "import", write("supplier,currency,lead_days\nFar Shore,USD,1\n"))
    described("prices", "import", write("supplier,sku,part_number,price\nFar Shore,F1,STK-10,1.00\n"))
    told = described("order").out
    assert "0.92" in told
    assert "1 USD is 0.92 EUR, as of 2026-11-20" in told


def test_what_to_order_today_and_what_after_the_looks(described):
    form = described("timing", "--json").form
    assert (form["look_days"], form["leftover"]) == (3, 0.25)
    assert {one["rule"] for one in form["against"]} == {"wait", "decided", "expected", "likely"}
    assert form["now_cents"] == described("order", "--json").form["total_cents"]
    assert [line["sku"] for line in form["now"]] == [line["sku"] for line in described("order", "--json").form["lines"]]
    assert set(form["needs"][0]) == {"unit", "part", "text", "now", "chance", "bought", "pays_from"}
    told = described("timing", "--looks", "5", "--leftover", "0").out
    assert told.splitlines()[0].startswith("Order ")
    assert form["now"][0]["sku"] in told
    assert described("timing", "--looks", "0").code == 2
    assert described("timing", "--leftover", "2").code == 2
    assert described("timing", "77").code == 3


def test_hours_by_day_a_falling_price_and_what_a_day_more_would_bring(described):
    form = described("lot", "set", "week=sat 2; mon-fri 1", "price_fall=1.5", "deadline=2099-12-20", "--json").form
    assert (form["week"], form["price_fall"]) == ("Mon-Fri 1; Sat 2", 0.015)
    plan = described("plan", "--json").form
    assert (plan["hour_worth_cents"], plan["day_worth_cents"]) == (0, 0)
    assert "one more bench hour would bring 0.00" in described("plan").out
    shown = described("lot", "show", "--json").form
    assert (shown["hour_worth_cents"], shown["day_worth_cents"]) == (0, 0)
    assert shown["today"] == plan["today"]
    assert shown["today"]["left_minutes"] == max(0, shown["today"]["stated_minutes"] - shown["today"]["spent_minutes"])
    (told,) = (line for line in described("lot", "show").out.splitlines() if line.startswith("at the bench today: "))
    assert told in described("plan").out.splitlines()
    assert described("lot", "set", "week=often").complaint.startswith("lot.week: “often” is no day with its hours")
    assert described("lot", "set", "price_fall=x").complaint.startswith("lot.price_fall: ")
    assert described("lot", "set", "price_fall=200").code == 3
    assert described("lot", "set", "week=", "price_fall=", "deadline=", "--json").form["week"] == ""


def test_what_moved_is_told_until_it_is_seen(described):
    nothing, how = described("lot", "moved").out.splitlines()
    assert nothing == "no decision moved since you last looked"
    assert "lot moved --seen" in how
    assert described("lot", "moved", "--seen").code == 0
    assert described("lot", "moved").out.strip() == nothing
    described("unit", 2, "working=200.00")
    (one,) = described("lot", "moved", "--json").form["moved"]
    assert (one["unit"], one["now"]) == (2, "undecided")
    assert one["was"] != "undecided"
    assert "to LOOK, " in described("lot", "moved").out
    assert one["why"] in described("lot", "moved", "--seen").out
    assert described("lot", "moved", "--json").form["moved"] == []
