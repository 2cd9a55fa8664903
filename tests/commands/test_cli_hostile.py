"""Whatever is typed: one clean line, exit 2 or 3, nothing changed, no traceback."""

import pytest

LONG = "9" * 100_000
ESCAPES = "\x1b]0;owned\x07\x1b[2J\x9b31m\u202e\u200b[red]x[/]"
BROKEN = "\udcff\udcfe"

PLACES = [
    ("read", "{}"),
    ("read", "10k", "--kind", "{}"),
    ("read", "--file", "{}"),
    ("fit", "{}", "{}"),
    ("fit", "10k", "10k", "--role", "{}"),
    ("find", "{}"),
    ("{}",),
    ("lot", "{}"),
    ("lot", "show", "{}"),
    ("lot", "set", "{}"),
    ("lot", "set", "paid={}"),
    ("lot", "set", "{}=1"),
    ("lot", "new", "x", "--paid", "{}"),
    ("lot", "new", "x", "--deadline", "{}"),
    ("lot", "add", "--file", "{}"),
    ("unit", "{}"),
    ("unit", "1", "class={}"),
    ("unit", "1", "grade={}"),
    ("unit", "1", "symptoms={}"),
    ("check", "1", "{}", "y"),
    ("check", "1", "connects", "{}"),
    ("repair", "1", "{}"),
    ("repair", "1", "stick_pot", "--part", "{}"),
    ("hazard", "1", "{}", "yes"),
    ("hazard", "1", "swollen_pack", "{}"),
    ("release", "1", "swollen_pack", "{}"),
    ("pile", "1", "{}", "--why", "x"),
    ("need", "1", "{}", "x"),
    ("settings", "{}"),
    ("settings", "tools={}"),
    ("settings", "hour_worth={}"),
    ("parts", "import", "{}"),
    ("parts", "add", "--kind", "{}", "x"),
    ("parts", "add", "--cost", "{}", "x"),
    ("prices", "import", "{}"),
    ("prices", "show", "{}"),
    ("parts", "import", "x.csv", "--map", "{}"),
    ("solve", "{}", "-"),
    ("solve", "purchase", "{}"),
    ("classes", "check", "{}"),
    ("receive", "{}"),
    ("--bench", "/nowhere/{}", "lot", "show"),
    ("--today", "{}", "lot", "show"),
    ("--seed", "{}", "lot", "show"),
    ("import", "{}"),
    ("--no{}",),
]


@pytest.mark.parametrize("hostile", [LONG, ESCAPES, BROKEN], ids=["long", "escapes", "broken"])
@pytest.mark.parametrize("words", PLACES, ids=" ".join)
def test_hostile_arguments_give_one_clean_line(lot, words, hostile):
    before = lot("verify", "--digest").out
    ran = lot(*(word.replace("{}", hostile) for word in words))
    if ran.code == 0:  # text that may stand as it is, once it is clean
        assert hostile != LONG
        assert words[0] in {"read", "fit", "find"}
        assert ran.out.replace("\n", "").isprintable()
        return
    assert ran.code in {2, 3}
    assert ran.out == ""
    assert ran.complaint.isprintable()
    assert len(ran.complaint) <= 1_000
    assert lot("verify", "--digest").out == before


def test_hostile_text_that_is_kept_is_kept_clean(lot):
    assert lot("lot", "new", f"a{ESCAPES}b").code == 0
    assert lot("note", 1, f"n{ESCAPES}").code == 0
    assert lot("parts", "add", f"fuse T1A {ESCAPES}").code == 0
    for words in (("lot", "list"), ("unit", 1), ("parts", "list"), ("history",), ("lot", "list", "--json")):
        said = lot(*words).out
        assert said.replace("\n", "").isprintable()
    assert lot("verify", "--json").form["ok"] is True


def test_the_process_itself_takes_bytes_that_are_no_text(process):
    ran = process("read", b"\xff\xfe10k".decode("utf-8", "surrogateescape"))
    assert ran.code in {0, 3}
    assert "Traceback" not in ran.err
    ran = process("solve", "next", b"\xff".decode("utf-8", "surrogateescape"))
    assert ran.code == 3
    assert ran.complaint.isprintable()
