"""Bad input does no harm: one clean line with the place, the right exit code, and nothing changed.

The inputs are data in `tests/hostile/`. Each goes through the command line on a copy of one bench file; the digest of
that file and the bytes of what was read are the same afterwards.
"""

import json
import os
import random
import shutil
import tomllib
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from catalog.text import Refused
from triage.actions import files, looks, lots, needs, own_words, parts, prices, settings, units
from triage.actions.history import history
from triage.actions.lot_view import lot_view
from triage.actions.unit_view import unit_view
from triage.bench_file import CLASS_FOLDER, BenchFile
from triage.cli import program
from triage.device_classes.loader import load_classes

HOSTILE = Path(__file__).parent / "hostile"
TODAY = "2026-01-08"
LONG = "9" * 100_000
DEEP = '{"a":' * 20_000
KINDS = ("purchase", "diagnosis", "next", "branches", "lot", "sequence")

SUPPLIERS = """supplier,currency,lead_days,lead_days_late,shipping
North Bench Supply,EUR,3,5,3.50
"""
OFFERS = """supplier,sku,part_number,description,from,price,currency
North Bench Supply,NB-1,STK-10,stick unit,1,2.10,EUR
"""
PARTS = """part_number,description,quantity,place,unit_cost,currency
,electrolytic 4.7uF 25V radial,12,box 1,0.08,EUR
"""
TAKING = {
    "units": ("lot", "add", "--file"),
    "parts": ("parts", "import"),
    "suppliers": ("prices", "import"),
    "offers": ("prices", "import"),
}
"""The command that takes in a list of each kind."""


def cases(file, key="case"):
    return tomllib.loads((HOSTILE / file).read_text("utf-8"))[key]


def named(found):
    return [f"{case.get('list', '')} {case['name']}".strip() for case in found]


LISTS = cases("lists.toml")
CLASSES = cases("classes.toml")
PROBLEMS = [
    case | {"kind": kind} for case in cases("problems.toml") for kind in KINDS if kind in case.get("solve", KINDS)
]
PAYLOADS = cases("payloads.toml", "payload")

JUNK = {
    "an empty file": b"",
    "nothing but blanks": b" \n\n \t\n",
    "random bytes": random.Random(7).randbytes(4_000),
    "the head of a picture": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x02\x80\x00\x00\x01\xe0\x08\x06",
    "UTF-16": "description,price\nfuse,0.40\n".encode("utf-16"),
    "UTF-16 without its mark": "description,price\nfuse,0.40\n".encode("utf-16-le"),
    "UTF-32": "description,price\nfuse,0.40\n".encode("utf-32"),
    "Latin-1": "description,price\nSpule 4,7 µH für Gehäuse,0.40\n".encode("latin-1"),
    "noughts": b"\0" * 4_000,
    "one endless line": b"9" * 100_000,
    "an endless quote": b'"' + b"9" * 500_000,
    "a database": b"SQLite format 3\0" + bytes(84),
}


@pytest.fixture(scope="module")
def furnished(tmp_path_factory):
    """A bench file with a lot, units, a part, a supplier and a price list; copied for each test."""
    folder = tmp_path_factory.mktemp("furnished")
    for name, text in (("suppliers.csv", SUPPLIERS), ("offers.csv", OFFERS), ("parts.csv", PARTS)):
        (folder / name).write_text(text)
    with BenchFile(folder / "bench.db", today=date.fromisoformat(TODAY)) as bench:
        settings.change_person(bench, currency="EUR")
        lots.new_lot(bench, "cellar", paid=6000, bench_minutes=360)
        units.add_units(bench, "2 gamepads drift, 1 radio hum")
        parts.import_parts(bench, folder / "parts.csv")
        prices.import_any(bench, folder / "suppliers.csv")
        prices.import_any(bench, folder / "offers.csv")
    return folder / "bench.db"


@pytest.fixture
def path(furnished, tmp_path, monkeypatch):
    monkeypatch.setenv("LOTWRIGHT_BENCH", str(tmp_path / "bench.db"))
    monkeypatch.setenv("LOTWRIGHT_TRACEBACK", "1")
    shutil.copy(furnished, tmp_path / "bench.db")
    return tmp_path / "bench.db"


@pytest.fixture
def bench(path):
    with BenchFile(path, today=date.fromisoformat(TODAY)) as bench:
        yield bench


@pytest.fixture
def run(path):
    """Run a command line; whatever it does, nothing raw may come out of it."""

    def run(*words, given=None):
        said = CliRunner().invoke(program, ["--today", TODAY, *map(str, words)], input=given)
        if said.exception is not None and not isinstance(said.exception, SystemExit):
            raise said.exception
        assert (said.stdout + said.stderr).replace("\n", "").isprintable()
        return said

    return run


@pytest.fixture
def refused(run, path):
    """Run a command line that must be refused: its one line; the bench file is as it was."""

    def refused(*words, code=3, given=None, **details):
        before = digest(path)
        said = run(*words, given=given, **details)
        assert said.exit_code == code, said.output
        assert said.stdout == ""
        (line,) = said.stderr.splitlines()
        assert 10 < len(line) <= 1_000
        assert digest(path) == before
        return line

    return refused


def digest(path):
    with BenchFile(path, today=date.fromisoformat(TODAY)) as bench:
        found = files.verify(bench)
    assert found.problems == ()
    return found.digest


def kept(bench):
    """Every text in every table of the bench file."""
    for table in bench.database.table_names():
        for row in bench.database.query(f"select * from [{table}]"):  # noqa: S608 - names from the file itself
            yield from (value for value in row.values() if isinstance(value, str))


def write(folder, name, data):
    path = folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


# ---- lists


@pytest.mark.parametrize("case", LISTS, ids=named(LISTS))
def test_a_bad_list_is_refused_with_its_place(case, refused, tmp_path):
    data = case["text"].replace("{long}", LONG).encode()
    file = write(tmp_path, "list.csv", data)
    line = refused(*TAKING[case["list"]], file)
    assert line.startswith(f"{file}{case['place']}"), line
    assert case["says"] in line
    assert file.read_bytes() == data


@pytest.mark.parametrize("case", LISTS, ids=named(LISTS))
def test_the_action_refuses_it_too(case, bench, tmp_path):
    file = write(tmp_path, "list.csv", case["text"].replace("{long}", LONG))
    take = {"units": units.add_units_csv, "parts": parts.import_parts}.get(case["list"], prices.import_any)
    before = files.verify(bench).digest
    with pytest.raises(Refused) as caught:
        take(bench, file)
    assert str(caught.value).isprintable()
    assert caught.value.where.startswith(f"{file}{case['place']}")
    assert files.verify(bench).digest == before


@pytest.mark.parametrize("junk", JUNK.values(), ids=JUNK)
@pytest.mark.parametrize("kind", TAKING)
def test_what_is_no_list_at_all_is_refused(kind, junk, refused, tmp_path):
    file = write(tmp_path, "list.csv", junk)
    assert refused(*TAKING[kind], file).startswith(str(file))
    assert file.read_bytes() == junk


FILE_PLACES = [
    *TAKING.values(),
    ("read", "--file"),
    ("classes", "check"),
    *(("solve", kind) for kind in KINDS),
    ("import", "--bench", "{new}"),
]
"""Every place where a file or folder is read."""


@pytest.mark.parametrize("words", FILE_PLACES, ids=" ".join)
@pytest.mark.parametrize("what", ["a folder", "nothing", "a locked file", "a name too long", "a file as a folder"])
def test_what_cannot_be_read_is_refused_by_its_name(words, what, refused, tmp_path):
    given = tmp_path / "given"
    if what == "a folder":
        given.mkdir()
    elif what == "a locked file":
        given.write_text("description\nfuse T1A 250V\n")
        given.chmod(0)
        if os.access(given, os.R_OK):
            pytest.skip("this user may read everything")
    elif what == "a name too long":
        given = tmp_path / ("n" * 5_000)
    elif what == "a file as a folder":
        given.write_text("description\n")
        given /= "list.csv"
    new = tmp_path / "new.db"
    line = refused(*(word.replace("{new}", str(new)) for word in words), given)
    assert given.name[:40] in line
    assert not new.exists()


@pytest.mark.parametrize("junk", JUNK.values(), ids=JUNK)
@pytest.mark.parametrize("words", [("classes", "check"), ("solve", "diagnosis"), ("solve", "lot"), ("import",)])
def test_junk_is_no_class_no_problem_and_no_export(words, junk, refused, tmp_path):
    if words == ("import",):
        write(tmp_path, "given/manifest.json", junk)
        line = refused("import", tmp_path / "given", "--bench", tmp_path / "new.db")
        assert "given" in line
        assert not (tmp_path / "new.db").exists()
        return
    file = write(tmp_path, "given.toml", junk)
    assert "given.toml" in refused(*words, file)
    assert file.read_bytes() == junk


@pytest.mark.parametrize(
    "junk", [junk for junk in JUNK.values() if junk.strip()], ids=[n for n in JUNK if JUNK[n].strip()]
)
def test_junk_is_no_bench_file(junk, run, tmp_path):
    file = write(tmp_path, "other.db", junk)
    for words in (("lot", "show"), ("lot", "new", "x"), ("verify",), ("undo",), ("parts", "import", "x.csv")):
        said = run("--bench", file, *words)
        assert said.exit_code == 3
        assert said.stdout == ""
        (line,) = said.stderr.splitlines()
        assert line.startswith(str(file))
        assert file.read_bytes() == junk
    assert sorted(found.name for found in tmp_path.iterdir()) == ["bench.db", "other.db"]


def test_a_locked_bench_file_is_refused(run, path):
    path.chmod(0)
    if os.access(path, os.R_OK):
        path.chmod(0o600)
        pytest.skip("this user may read everything")
    said = run("lot", "show")
    path.chmod(0o600)
    assert said.exit_code == 3
    assert said.stderr.startswith(str(path))


# ---- typed lines and arguments


TYPED = [
    ("-3 gamepads drift", ":1:count"),
    ("0 gamepads drift", ":1:count"),
    ("1000 gamepads drift", ":1:count"),
    ("2 gamepads drift\n99999999999999999999999 radios", ":2:count"),
    ("1.5 gamepads", ":1:count"),
    ("gamepad x0", ":1:count"),
    (f"2 gamepads\n{LONG}", ":2"),
    (f"radio note: {LONG}", ":1"),
]


@pytest.mark.parametrize(("text", "place"), TYPED, ids=[text[:24] for text, _ in TYPED])
def test_a_bad_typed_line_adds_nothing(text, place, refused, bench):
    assert refused("lot", "add", "-", given=text).startswith(f"typed list{place}")
    with pytest.raises(Refused) as caught:
        units.add_units(bench, text)
    assert caught.value.where == f"typed list{place}"


WRONG = [
    (("lot", "new", "x", "--paid", "-5"), 3, "paid"),
    (("lot", "new", "x", "--paid", "NaN"), 3, "NaN"),
    (("lot", "new", "x", "--paid", "1e400"), 3, "1e400"),
    (("lot", "new", "x", "--paid", LONG), 3, "PAID"),
    (("lot", "new", ""), 3, "name"),
    (("lot", "new", "\u200b\x1b[2J"), 3, "name"),
    (("lot", "new", LONG), 3, "NAME"),
    (("lot", "new", "x", "--hours", "-1"), 3, "hours"),
    (("lot", "new", "x", "--hours", "nan"), 3, "hours"),
    (("lot", "new", "x", "--hours", "1e400"), 3, "hours"),
    (("lot", "new", "x", "--deadline", "2026-02-30"), 2, "2026-02-30"),
    (("lot", "set", "cash_limit=-1"), 3, "cash_limit"),
    (("lot", "set", "colour=grey"), 3, "colour"),
    (("lot", "show", "0"), 2, "whole number"),
    (("lot", "show", "-1"), 2, "-1"),
    (("lot", "show", "77"), 3, "77"),
    (("unit", "1", "working=-1"), 3, "working"),
    (("unit", "1", "working=NaN"), 3, "working"),
    (("unit", "1", "working=1e400"), 3, "working"),
    (("unit", "1", "grade=Z"), 3, "grade"),
    (("unit", "1", "class=[/x]"), 3, "class"),
    (("unit", "1", "symptoms=singing"), 3, "symptoms"),
    (("unit", "1", f"note={LONG}"), 3, "2,000"),
    (("check", "1", "connects", "perhaps"), 3, "perhaps"),
    (("check", "1", "connects", "9" * 400), 3, ""),
    (("check", "99", "connects", "y"), 3, "99"),
    (("check", "1", "sings", "y"), 3, "sings"),
    (("repair", "1", "sings"), 3, "sings"),
    (("note", "1", LONG), 3, "2,000"),
    (("settings", "hour_worth=-1"), 3, "hour_worth"),
    (("settings", "hour_worth=NaN"), 3, "hour_worth"),
    (("settings", "currency=shells"), 3, "currency"),
    (("settings", "tools=wand"), 3, "wand"),
    (("parts", "add", "fuse T1A 250V", "--cost", "-1"), 3, "--cost"),
    (("parts", "add", "fuse T1A 250V", "--cost", "NaN"), 3, "--cost"),
    (("parts", "add", "fuse T1A 250V", "--quantity", "-1"), 2, "-1"),
    (("parts", "add", LONG), 3, "2,000"),
    (("parts", "add", "fuse T1A 250V", "--place", LONG), 3, "PLACE"),
    (("find", LONG), 3, "2,000"),
    (("read", LONG), 3, "2,000"),
    (("receive", "77"), 3, "77"),
    (("order", "77"), 3, "77"),
    (("nonsense",), 2, "nonsense"),
    (("lot", "new", "x", "--colour"), 2, "--colour"),
    (("solve", "riddle", "x.json"), 2, "riddle"),
]


@pytest.mark.parametrize(("words", "code", "says"), WRONG, ids=[" ".join(words)[:40] for words, *_ in WRONG])
def test_a_bad_argument_changes_nothing(words, code, says, refused):
    assert says in refused(*words, code=code)


# ---- class files of the person's own


@pytest.fixture(scope="module")
def lamp():
    return (HOSTILE / "lamp.toml").read_text("utf-8")


@pytest.mark.parametrize("case", CLASSES, ids=named(CLASSES))
def test_a_bad_class_file_is_left_out_and_the_rest_goes_on(case, lamp, run, refused, path):
    text = lamp.replace(case["from"], case["to"].replace("{long}", LONG), 1)
    assert text != lamp
    before = digest(path)
    folder = path.parent / CLASS_FOLDER
    file = write(folder, "lamp.toml", text)
    write(folder, "torch.toml", lamp.replace('"lamp"', '"torch"', 1))
    said = run("classes", "--json")
    assert said.exit_code == 0
    assert [one["class"] for one in json.loads(said.stdout)["classes"]] == sorted([*load_classes(), "torch"])
    (line,) = said.stderr.splitlines()
    assert line.startswith(f"lamp.toml{case['place']}"), line
    assert case["says"] in line
    assert len(line) <= 1_000
    shown = run("lot", "show", "--json")
    assert shown.exit_code == 0
    assert shown.stderr.splitlines() == [line]
    assert len(json.loads(shown.stdout)["units"]) == 3
    assert f"lamp.toml{case['place']}" in refused("classes", "check", file)
    assert digest(path) == before


def test_a_bad_file_for_a_built_in_class_leaves_the_built_in_one_in_force(run, bench, path):
    before = run("odds", "1", "--json").stdout
    write(path.parent / CLASS_FOLDER, "gamepad.toml", 'id = "gamepad"\nname = [')
    assert run("odds", "1", "--json").stdout == before
    (problem,) = bench.class_problems
    assert problem.startswith("gamepad.toml:2: not valid TOML")


@pytest.mark.parametrize("junk", JUNK.values(), ids=JUNK)
def test_junk_among_the_class_files_is_left_out(junk, run, path):
    write(path.parent / CLASS_FOLDER, "junk.toml", junk)
    said = run("lot", "show")
    assert said.exit_code == 0
    (line,) = said.stderr.splitlines()
    assert line.startswith("junk.toml")


def test_units_of_a_class_whose_file_broke_are_still_there(lamp, run, path):
    file = write(path.parent / CLASS_FOLDER, "lamp.toml", lamp)
    assert run("lot", "add", "2 lamps dark").exit_code == 0
    assert run("check", "4", "glow", "n").exit_code == 0
    kept = digest(path)
    file.write_text("id = [")
    for words in (("lot", "show"), ("unit", "4"), ("next", "4"), ("odds", "4"), ("history",), ("why", "4")):
        said = run(*words)
        assert said.exit_code in {0, 3}
        assert said.exit_code == 0 or "4" in said.stderr
    assert digest(path) == kept
    assert run("plan").exit_code == 0  # keeps what it decided
    file.write_text(lamp)
    assert json.loads(run("lot", "show", "--json").stdout)["units"][3]["class"] == "lamp"


# ---- problems in JSON


@pytest.mark.parametrize("case", PROBLEMS, ids=[f"{case['kind']} {case['name']}" for case in PROBLEMS])
def test_a_malformed_problem_is_refused_before_anything_is_printed(case, refused, tmp_path):
    data = case["text"].replace("{deep}", DEEP)
    file = write(tmp_path, "problem.json", data)
    line = refused("solve", case["kind"], file)
    assert line.startswith(f"{file}{case['place']}"), line
    assert case["says"] in line
    assert file.read_text() == data


# ---- text that is kept


@pytest.fixture
def enter(run, tmp_path):
    """Enter a hostile text in every place of the command line and of the lists that keeps one."""

    def enter(evil):
        quoted = '"' + evil.replace('"', '""') + '"'
        seller = write(tmp_path, "suppliers.csv", f"supplier,lead_days\n{quoted},3\n")
        offers = write(tmp_path, "offers.csv", f"supplier,sku,description,price\n{quoted},{quoted},belt {evil},1.10\n")
        drawer = write(tmp_path, "parts.csv", f"part_number,description,place\n{quoted},fuse T1A {evil},{quoted}\n")
        box = write(tmp_path, "units.csv", f"class,symptom,model,note\nradio {evil},hum,{quoted},{quoted}\n")
        for words in (
            ("lot", "new", f"box {evil}", "--place", evil, "--note", evil),
            ("lot", "add", f"gamepad drift {evil} note: {evil}", f"something {evil}"),
            ("lot", "add", "--file", box),
            ("unit", "4", f"model={evil}", f"note={evil}", f"shelf={evil}"),
            ("note", "4", f"seen {evil}"),
            ("pile", "4", "as_is", "--why", f"because {evil}"),
            ("parts", "import", drawer),
            ("parts", "add", f"fuse T2A {evil}", "--place", evil, "--number", f"N {evil}"),
            ("prices", "import", seller),
            ("prices", "import", offers),
            ("need", "4", "stick_module", f"STK-10 {evil}", "--kind", "listed"),
        ):
            said = run(*words)
            assert said.exit_code == 0, said.output

    return enter


@pytest.mark.parametrize("payload", PAYLOADS, ids=named(PAYLOADS))
def test_hostile_names_are_kept_clean_wherever_they_come_in(payload, enter, run, bench):
    enter(payload["text"])
    assert [text for text in kept(bench) if not text.isprintable()] == []
    for words in (("lot", "list"), ("history",), ("parts", "list"), ("prices", "show"), ("find", payload["text"])):
        assert run(*words).exit_code == 0


def test_hostile_names_come_out_clean_of_every_command(enter, run):
    enter(" ".join(payload["text"] for payload in PAYLOADS))
    for words in (
        ("lot", "show"),
        ("lot", "show", "--json"),
        ("unit", "4"),
        ("unit", "4", "--json"),
        ("odds", "4"),
        ("next", "4"),
        ("next", "5"),
        ("why", "4"),
        ("need", "4"),
        ("find", "fuse T1A"),
        ("parts", "list", "--json"),
        ("history", "--json"),
        ("plan",),
        ("plan", "--json"),
        ("order",),
    ):
        assert run(*words).exit_code in {0, 3, 4}


@pytest.mark.parametrize("payload", PAYLOADS, ids=named(PAYLOADS))
def test_the_actions_clean_what_a_screen_hands_them(payload, bench):
    evil = payload["text"]
    lots.new_lot(bench, f"box {evil}", place=evil, note=evil)
    lots.change_lot(bench, 1, note=f"n {evil}")
    units.add_units(bench, f"gamepad {evil}")
    units.change_unit(bench, 1, model=f"m {evil}", note=f"n {evil}", shelf=f"s {evil}")
    units.overrule(bench, 1, "as_is", f"r {evil}")
    looks.note(bench, 1, f"n {evil}")
    for hazard in bench.classes["gamepad"].hazards:
        looks.hazard(bench, 1, hazard.id, "no")
    looks.repair(bench, 1, ("stick_pot",), note=f"n {evil}")
    parts.add_part(bench, f"fuse T2A {evil}", part_number=f"N {evil}", place=evil)
    parts.change_part(bench, 1, place=f"p {evil}")
    own_words.add_pair(bench, f"A {evil}", f"B {evil}", note=f"n {evil}")
    needs.describe_need(bench, 1, "stick_module", f"STK-10 {evil}", kind="listed")
    said = [
        repr(lot_view(bench, 1)),
        repr(unit_view(bench, 1)),
        repr(history(bench)),
        repr(parts.list_parts(bench)),
    ]
    assert [text for text in (*said, *kept(bench)) if not text.isprintable()] == []


def test_class_words_full_of_escapes_are_clean_on_the_screen_and_in_lists(lamp, run, path):
    evil = json.dumps("".join(payload["text"] for payload in PAYLOADS))
    text = lamp.replace('name = "Lamp"', f"name = {evil}").replace('words = ["lamp"]', f'words = ["lamp", {evil}]')
    text = text.replace('what = "bulb blown"', f"what = {evil}").replace('"Does it glow?"', evil)
    text = text.replace('do = "Switch it on."', f"do = {evil}").replace('words = ["dark"]', f'words = ["dark", {evil}]')
    file = write(path.parent / CLASS_FOLDER, "lamp.toml", text)
    assert run("classes", "check", file).exit_code == 0
    assert run("lot", "add", "2 lamps dark").exit_code == 0
    for words in (("classes",), ("classes", "--json"), ("lot", "show"), ("next", "4"), ("odds", "4"), ("unit", "4")):
        assert run(*words).exit_code == 0
