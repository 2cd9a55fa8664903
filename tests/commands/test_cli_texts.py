"""`read` and `fit`: their documented fields, many rows at once, and minus signs."""

import json

import pytest

READ_FIELDS = {"status", "kind", "value_si", "unit", "tolerance", "voltage", "attributes", "readings", "left_over"}
FIT_FIELDS = {"grade", "reasons", "do", "tell"}
REASON_FIELDS = {"attribute", "wanted", "candidate", "result", "rule", "why", "source", "locked"}
GRADES = {"exact", "drop-in", "rework", "compromise", "unknown", "refuse"}


def test_read_prints_every_documented_field(run):
    form = run("read", "4.7uF 25VDC electrolytic ±20%", "--json").form
    assert set(form) == READ_FIELDS
    assert (form["status"], form["kind"], form["unit"], form["readings"], form["left_over"]) == (
        "ok",
        "electrolytic",
        "F",
        [],
        [],
    )
    assert form["value_si"] == pytest.approx(4.7e-6)
    assert form["voltage"] == {"value": 25, "type": "dc"}
    assert set(form["tolerance"]) == {"minus", "plus", "unit", "implied"}
    assert form["attributes"]["capacitance"]["unit"] == "F"


def test_words_need_no_quotes(run):
    quoted, plain = (
        run("read", "4.7uF 25V electrolytic", "--json"),
        run("read", "--json", "4.7uF", "25V", "electrolytic"),
    )
    assert quoted.form == plain.form


def test_an_ambiguous_text_gives_every_reading_with_its_why(run):
    form = run("read", "104", "--json").form
    assert (form["status"], form["value_si"]) == ("ambiguous", None)
    assert len(form["readings"]) > 1
    for reading in form["readings"]:
        assert set(reading) == {*READ_FIELDS, "why"}
        assert reading["why"]
    assert run("read", "104", "--kind", "resistor", "--json").form["status"] == "ok"


def test_for_a_person_values_are_written_with_their_units(run):
    said = run("read", "4.7uF 25V electrolytic wibble").out
    assert "capacitance: 4.7 µF" in said
    assert "not understood: wibble" in said


@pytest.mark.parametrize("text", ["-12V regulator", "-40"])
def test_a_description_may_begin_with_a_minus(run, text):
    assert run("read", text, "--json").code == 0


def test_a_misspelt_option_is_no_description(run):
    ran = run("read", "10k", "--knd", "resistor")
    assert ran.code == 2
    assert "--knd" in ran.complaint


def test_fit_prints_every_documented_field(run, bench_path):
    form = run("fit", "electrolytic 4.7uF 25V", "electrolytic 4.7uF 16V", "--json").form
    assert set(form) == FIT_FIELDS
    assert form["grade"] == "refuse"
    for reason in form["reasons"]:
        assert set(reason) == REASON_FIELDS
        assert reason["result"] in GRADES
    low = next(reason for reason in form["reasons"] if reason["attribute"] == "voltage_dc")
    assert (low["wanted"], low["candidate"], low["locked"]) == (25, 16, True)
    assert not bench_path.exists()
    plain = run("fit", "electrolytic 4.7uF 25V", "electrolytic 4.7uF 16V").out
    assert plain.startswith("refuse\n")
    assert "16 V" in plain


def test_a_role_is_taken_and_a_wrong_one_refused(run):
    strict = run("fit", "10nF 50V X7R", "10nF 50V X7R", "--role", "timing", "--json").form
    assert any(reason["result"] == "refuse" or reason["rule"] for reason in strict["reasons"])
    wrong = run("fit", "10k", "10k", "--role", "wizard")
    assert wrong.code == 3
    assert "role" in wrong.complaint


def test_read_many_rows_one_object_a_line_in_order(run, write):
    path = write("text;kind\n104;resistor\n4.7uF 25V;\nx;gadget\n10k;\n")
    ran = run("read", "--file", path)
    assert ran.code == 3
    assert [form.get("status", form.get("row")) for form in ran.forms] == ["ok", "ok", 3, "ok"]
    assert set(ran.forms[2]) == {"row", "error"}
    assert ran.complaint.startswith(f"{path}:4: ")
    assert ran.out == run("read", "--file", path, "--json").out


def test_fit_many_rows(run, write):
    path = write("candidate,wanted,role\n10k,10k,\n10k,10k,wizard\n")
    ran = run("fit", "--file", path)
    assert ran.code == 3
    assert set(ran.forms[0]) == FIT_FIELDS
    assert ran.forms[1]["row"] == 2
    assert "wizard" in ran.forms[1]["error"]


def test_one_bad_row_is_said_where_it_stands_and_stops_no_other(run, write):
    path = write('text\n10k\n"10k",more\n' + "9" * 3000 + "\n22k\n")
    ran = run("read", "--file", path)
    assert [("row" in form) for form in ran.forms] == [False, True, True, False]
    assert "(and 1 more rows)" in ran.complaint


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"text,colour\n10k,red\n",
        b"kind\nresistor\n",
        b'text\n"10k\n',
        b"text,text\n1,2\n",
        b"\xff\xfe\x00",
        b"te\0xt\n",
    ],
)
def test_a_list_that_is_none_is_refused_before_anything_is_printed(run, write, text):
    path = write(text)
    ran = run("read", "--file", path)
    assert (ran.code, ran.out) == (3, "")
    assert ran.complaint.startswith(str(path))


def test_texts_and_a_file_are_one_too_many(run, write):
    assert run("read", "10k", "--file", write("text\n10k\n")).code == 2


def test_no_control_character_leaves_raw(run, write):
    path = write("text\n10k \x1b[31mred\x1b[0m \u202e\u009b2J thing\n")
    out = run("read", "--file", path).out
    assert json.loads(out)["status"] == "ok"
    assert out[:-1].isprintable()


def test_row_i_gives_line_i_also_behind_an_empty_one(run, write):
    said = run("read", "--file", write("text,kind\n4.7uF 25V,\n,\n\n100 ohm,\nzz,nokind\n"))
    assert [form.get("status", "error") for form in said.forms] == ["ok", "nothing", "ok", "error"]
    assert said.forms[3]["row"] == 4
    assert said.code == 3
