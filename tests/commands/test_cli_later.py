"""`later`, `spare`, `prices set` and a word on one part, on the command line."""

import pytest

FUSE = "fuse T1.6A 250V 5x20"


def test_what_is_makeshift_is_listed_changed_dropped_and_done(described):
    (wish,) = described(
        "later", 1, "feet", "rubber foot 12 mm x 8 mm round", "--instead", "feet of 5 mm", "--pieces", 4, "--json"
    ).form["wishes"]
    assert (wish["unit"], wish["part"], wish["pieces"], wish["state"]) == (1, "feet", 4, "open")
    assert (wish["makeshift"], wish["worth_stated"]) == ("feet of 5 mm", False)
    assert "feet of 5 mm" in described("later").out
    number = wish["wish"]
    changed = described("later", "--change", number, "--worth", "2.50", "--json").form["wishes"][0]
    assert (changed["worth_cents"], changed["worth_stated"]) == (250, True)
    assert not described("later", "--change", number, "--worth", "price", "--json").form["wishes"][0]["worth_stated"]
    assert "makeshift: feet of 5 mm" in " ".join(described("unit", 1, "--json").form["tell"])
    ran = described("later", "--drop", number)
    assert "stays told" in ran.err
    assert described("later", "--json").form["wishes"][0]["state"] == "dropped"
    assert described("later", "--drop", number, "--json").form["wishes"][0]["state"] == "open"
    assert described("undo").code == 0
    assert described("later", "--json").form["wishes"][0]["state"] == "dropped"
    assert described("later", "--done", number, "--json").form["wishes"] == []
    assert not any("makeshift" in words for words in described("unit", 1, "--json").form["tell"])


def test_what_rides_along_is_in_the_plan(described):
    described("later", 2, "stick_module", "STK-10", "--instead", "a worn one", "--worth", "9.00")
    plan = described("plan", "--json").form
    (one,) = plan["riding"]
    assert (one["rides"], one["unit"], one["bought"], one["worth_cents"], one["costs_cents"]) == (
        "wish",
        2,
        1,
        900,
        210,
    )
    assert plan["order"]["lines"][0]["uses"][-1]["rides"] == "wish"
    assert "rides along for 2.10, worth 9.00" in described("plan").out
    assert "later 2" in described("order").out


def test_spares_are_listed_and_dropped(described):
    (spare,) = described("spare", *FUSE.split(), "--pieces", 20, "--chance", "60 %", "--price", "4", "--json").form[
        "spares"
    ]
    assert (spare["text"], spare["pieces"], spare["chance"], spare["price_cents"]) == (FUSE, 20, 0.6, 400)
    assert "60 %" in described("spare").out
    assert described("spare", "--drop", spare["spare"], "--json").form["spares"] == []


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("spare", FUSE), 2),
        (("spare", "--chance", "60"), 2),
        (("spare", FUSE, "--chance", "0"), 3),
        (("spare", FUSE, "--chance", "sometimes"), 3),
        (("spare", "--drop", "7"), 3),
        (("later", "1"), 2),
        (("later", "--change", "4"), 2),
        (("later", "--drop", "99"), 3),
        (("later", "1", "feet", "--drop", "2"), 2),
        (("later", "99", "feet"), 3),
        (("later", "1", "feet", "--worth", "much"), 3),
        (("pin", "only", "North Bench Supply", "--for", "belt"), 2),
        (("pin", "only", "North Bench Supply", "--for", "1:nothing"), 3),
        (("prices", "set", "North Bench Supply", "tax=much"), 3),
        (("prices", "set", "Nobody", "tax=7"), 3),
        (("prices", "set", "North Bench Supply"), 2),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_line(described, words, code):
    ran = described(*words)
    assert ran.code == code
    assert ran.out == ""
    assert ran.complaint


def test_a_repair_says_what_does_for_now(described):
    assert described("repair", 1, "stick_pot", "--makeshift", "glued the old one").code == 0
    (wish,) = described("later", "--json").form["wishes"]
    assert (wish["part"], wish["text"], wish["makeshift"]) == ("stick_module", "STK-10", "glued the old one")


def test_a_word_on_one_part(described):
    described("prices", "set", "Far Shore", "lead_days=1", "--new")
    (pin,) = described("pin", "not", "North Bench Supply", "--for", "1:stick_module", "--json").form["pins"]
    assert (pin["kind"], pin["words"]) == ("not", "stick_module for unit 1 not from North Bench Supply")
    ran = described("order", "--json")
    assert ran.code == 4
    assert "your word on where to buy leaves nothing that fits" in ran.complaint
    assert "stick_module for unit 1" in described("pin").out
    assert described("pin", "lift", pin["pin"], "--json").form["pins"] == []


def test_a_supplier_is_changed_by_hand(described):
    form = described("prices", "set", "north bench supply", "shipping=1.00", "tax=7.5", "free_from=", "--json").form
    assert (form["supplier"], form["shipping_cents"], form["free_from_cents"]) == ("North Bench Supply", 100, None)
    assert form["charges"] == {"tax": "7.5 %"}
    assert described("order", "--json").form["shipping_cents"] == 100
