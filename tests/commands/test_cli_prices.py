"""Price lists on the command line: several as one, told before, foreign columns, and from an address."""

import http.server

import pytest

SHOPS = "supplier,lead_days\nNorth Counter,3\n"
OFFERS = "supplier,sku,description,price\nNorth Counter,F1,fuse T2A 250V 5x20,0.30\nNorth Counter,F2,glow lamp,1.00\n"
FOREIGN = "Artikelnummer;Bezeichnung;Preis netto;Farbe\nF1;fuse T2A 250V 5x20;0,35;red\n"
MAPS = (
    "--map",
    "Artikelnummer=sku",
    "--map",
    "Bezeichnung=description",
    "--map",
    "Preis netto=price",
    "--map",
    "Farbe=-",
)


@pytest.fixture
def prices_of(run):
    def of():
        return {one["sku"]: one["steps"][0]["price_cents"] for one in run("prices", "show", "--json").form["offers"]}

    return of


@pytest.fixture
def stocked(run, write):
    assert run("prices", "import", write(OFFERS, "o.csv"), write(SHOPS, "s.csv")).code == 0
    return run


class Answer(http.server.BaseHTTPRequestHandler):
    def log_message(self, *_):
        """Quiet."""

    def do_GET(self):
        body = OFFERS.replace("0.30", "0.33").encode() if self.path == "/list" else b""
        same = bool(body) and self.headers.get("If-None-Match") == '"1"'
        self.send_response(304 if same else 200 if body else 404)
        if not same:
            self.send_header("ETag", '"1"')
            self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if not same:
            self.wfile.write(body)


@pytest.fixture
def at(serve):
    server = serve(http.server.ThreadingHTTPServer(("127.0.0.1", 0), Answer))
    return lambda path: f"http://127.0.0.1:{server.server_port}/{path}"


def test_several_lists_are_taken_in_together_or_not_at_all(run, write, prices_of):
    bad = write(OFFERS + "North Counter,F3,belt,much\n", "bad.csv")
    ran = run("prices", "import", write(SHOPS, "s.csv"), bad)
    assert ran.code == 3
    assert ran.complaint.startswith(f"{bad}:4:price: ")
    assert run("prices", "show", "--json").form["suppliers"] == []
    forms = run("prices", "import", write(OFFERS, "o.csv"), write(SHOPS, "s.csv"), "--json").forms
    assert [(form["kind"], form["added"], form["kept"]) for form in forms] == [
        ("suppliers", 1, True),
        ("offers", 2, True),
    ]
    assert run("undo").code == 0
    assert prices_of() == {}
    assert run("prices", "show", "--json").form["suppliers"] == []


def test_a_dry_run_tells_everything_and_changes_nothing(stocked, write, prices_of):
    newer = write(OFFERS.replace("0.30", "0.36").replace("F2,glow lamp", "F3,zzfrob"), "newer.csv")
    form = stocked("prices", "import", newer, "--dry-run", "--json").form
    assert (form["added"], form["dearer"], form["gone"], form["kept"]) == (1, 1, 1, False)
    assert {change["change"]: change["how"] for change in form["changes"]} == {
        "new": "1.00 EUR",
        "dearer": "0.30 EUR → 0.36 EUR (+20 %)",
        "gone": "",
    }
    assert form["not_understood"] == ["zzfrob"]
    shown = stocked("prices", "import", newer, "--dry-run")
    assert "0.36 EUR (+20 %)" in shown.out
    assert "nothing was changed" in shown.complaint
    bad = stocked("prices", "import", write(OFFERS + "North Counter,F3,belt,much\n", "bad.csv"), "--dry-run")
    assert bad.code == 3
    assert "cannot be read (1):" in bad.out
    assert prices_of() == {"F1": 30, "F2": 100}
    kept = stocked("prices", "import", newer)
    assert "dearer" in kept.out
    assert "new " not in kept.out
    assert prices_of() == {"F1": 36, "F3": 100}


def test_a_foreign_list_is_refused_with_what_to_say_then_remembered(stocked, write, prices_of):
    path = write(FOREIGN, "f.csv")
    ran = stocked("prices", "import", path)
    assert ran.code == 3
    assert "--map “Preis netto=price”" in ran.complaint
    assert "--map “Farbe=-”" in ran.complaint
    ran = stocked("prices", "import", path, "--as", "offers")
    assert ran.code == 3
    assert ran.complaint.startswith(f"{path}:1:Artikelnummer: unknown column")
    assert "so are Bezeichnung, Preis netto, Farbe" in ran.complaint
    assert "--supplier" in stocked("prices", "import", path, *MAPS).complaint
    assert stocked("prices", "import", path, *MAPS, "--supplier", "north counter").code == 0
    assert prices_of() == {"F1": 35}
    again = write(FOREIGN.replace("0,35", "0,45"), "g.csv")
    assert stocked("prices", "import", again, "--supplier", "North Counter").code == 0
    assert prices_of() == {"F1": 45}
    assert stocked("prices", "import", again, "--map", "Farbe=colour", "--supplier", "x").code == 3


def test_an_address_is_fetched_kept_fetched_again_and_forgotten(stocked, at, prices_of):
    assert stocked("prices", "fetch").code == 3
    assert stocked("prices", "fetch", "--as", "offers").code == 2
    assert stocked("prices", "fetch", at("list"), "--dry-run", "--json").form["dearer"] == 1
    assert stocked("prices", "show", "--json").form["addresses"] == []
    assert stocked("prices", "fetch", at("list"), "--json").form["dearer"] == 1
    assert prices_of() == {"F1": 33, "F2": 100}
    again = stocked("prices", "fetch")
    assert (again.code, again.complaint) == (0, f"{at('list')}: nothing new there")
    (held,) = stocked("prices", "show", "--json").form["addresses"]
    assert (held["address"], held["kind"]) == (at("list"), "offers")
    assert at("list") in stocked("prices", "show").out
    assert stocked("prices", "forget", at("list")).code == 0
    assert stocked("prices", "forget", at("list")).code == 3
    assert stocked("prices", "show", "--json").form["addresses"] == []


def test_what_cannot_be_fetched_is_one_line_and_no_list(stocked, at, prices_of):
    ran = stocked("prices", "fetch", at("nothing"))
    assert ran.code == 1
    assert ran.complaint.startswith(f"{at('nothing')}: there is no such list (404)")
    assert stocked("prices", "fetch", "ftp://somewhere.invalid/x").code == 3
    assert prices_of() == {"F1": 30, "F2": 100}


def test_one_line_says_where_every_bad_row_is(stocked, write, prices_of):
    before = prices_of()
    rows = "".join(f"North Counter,G{n},belt,much\n" for n in range(23))
    bad = write(OFFERS.splitlines()[0] + "\n" + rows, "bad.csv")
    ran = stocked("prices", "import", bad)
    assert (ran.code, ran.out) == (3, "")
    assert ran.complaint.startswith(f"{bad}:2:price: ")
    others = ", ".join(f"{n}:price" for n in range(3, 22))
    assert ran.complaint.endswith(f"(and 22 more problems: {others}, …; nothing was taken over)")
    assert prices_of() == before


def test_what_was_assumed_and_what_stands_twice_is_said(stocked, tmp_path, prices_of):
    head, row, _ = OFFERS.splitlines()
    path = tmp_path / "old.csv"
    path.write_bytes(f"{head}\n{row}\n{row}\nNorth Counter,F4,Gehäuse Ø5,1\n".encode("cp1252"))
    ran = stocked("prices", "import", path)
    assert ran.code == 0
    assert "old.csv: read as Windows-1252; see that its letters are right" in ran.err.splitlines()
    assert "old.csv: 1 row says the same as an earlier one, taken once: line 3 as 2" in ran.err.splitlines()
    assert prices_of() == {"F1": 30, "F4": 100}


def test_units_from_a_list_in_another_encoding_and_all_of_its_bad_rows(run, tmp_path):
    run("lot", "new", "cellar")
    path = tmp_path / "units.csv"
    path.write_bytes("count,class,note\n1,radio,Gehäuse fehlt\n".encode("utf-16"))
    ran = run("lot", "add", "--file", path)
    assert ran.code == 0
    assert f"{path}: read as UTF-16; see that its letters are right" in ran.err.splitlines()
    path.write_text("count,class,grade\nmany,radio,\n1,radio,Z\n,,\n1,radio,\n", encoding="utf-8")
    ran = run("lot", "add", "--file", path)
    assert ran.code == 3
    assert ran.complaint.startswith(f"{path}:2:count: ")
    assert ran.complaint.endswith("(and 1 more problem: 3:grade; nothing was taken over)")
    assert [unit["number"] for unit in run("lot", "show", "--json").form["units"]] == [1]
