"""`rules` and `pairs` on the command line, and that `fit` and `find` follow them."""

import json

import pytest


def test_rules_are_said_listed_changed_and_dropped(run):
    assert run("rules", "list", "--kind", "foot", "--json").form["rules"][0]["rule"] == "RF1"
    figures = run("rules", "figures", "--kind", "electrolytic", "--json").form["figures"]
    assert {"kind", "rule", "attribute", "name", "value", "source", "locked"} == set(figures[0])
    assert ("AE1", "drop-in to", 2.2) in {(one["rule"], one["name"], one["value"]) for one in figures}

    pair = ("electrolytic 100uF 25V", "electrolytic 270uF 25V")
    assert run("fit", *pair, "--json").form["grade"] == "compromise"
    kept = run("rules", "set", "electrolytic", "AE1", "drop-in to", "3", "--by", "Ann", "--json").form
    assert kept == {
        "rule": "own AE1 capacitance",
        "kind": "electrolytic",
        "instead_of": "AE1",
        "test": "times 1 to 3 drop-in, times 0.8 to 4.7 compromise, else refuse",
    }
    judged = run("fit", *pair, "--json").form
    assert judged["grade"] == "drop-in"
    assert "by Ann" in judged["reasons"][0]["source"]
    own = run("rules", "list", "--own", "--json").form["rules"]
    assert [one["rule"] for one in own] == ["own AE1 capacitance"]
    assert run("rules", "drop", "electrolytic", "own AE1 capacitance", "--json").code == 0
    assert run("fit", *pair, "--json").form["grade"] == "compromise"
    assert run("undo").code == 0
    assert run("fit", *pair, "--json").form["grade"] == "drop-in"


def test_a_rule_in_words_beside_the_others(run):
    words = ("rules", "add", "electrolytic", "low lid", "height", "at", "most,", "else", "refuse", "--why", "low")
    assert run(*words, "--json").form["instead_of"] == ""
    parts = ("electrolytic 100uF 25V 6.3x11mm", "electrolytic 100uF 25V 6.3x12mm")
    assert run("fit", *parts, "--json").form["grade"] == "refuse"
    assert "low lid" in run("rules", "list", "--own").out
    assert "2.2" in run("rules", "figures").out


def test_what_is_locked_is_refused_and_nothing_is_kept(run):
    for words in (
        ("rules", "add", "electrolytic", "mine", "voltage_dc", "at least, else compromise", "--instead-of", "AE3"),
        ("rules", "set", "fuse", "FU1", "compromise to", "2"),
        ("rules", "add", "electrolytic", "mine", "voltage_dc", "at most, else refuse"),
        ("rules", "add", "electrolytic", "mine", "height", "sometimes"),
        ("rules", "drop", "electrolytic", "mine"),
        ("rules", "list", "--kind", "gadget"),
    ):
        done = run(*words)
        assert done.code == 3, words
        assert len(done.err.splitlines()) == 1
    assert run("rules", "list", "--own", "--json").form == {"rules": []}
    assert run("rules", "set", "electrolytic", "AE1", "drop-in to", "-1").code == 2


def test_pairs_are_said_listed_and_dropped(run):
    run("pairs", "add", "QX-9", "QX-10", "--grade", "rework", "--note", "needs a shim", "--by", "Ann")
    assert run("pairs", "add", "QX-9", "QX-11", "--grade", "refuse", "--json").form["pair"] == 2
    listed = run("pairs", "list", "--json").form["pairs"]
    assert [(one["pair"], one["candidate"], one["grade"], one["by"]) for one in listed] == [
        (1, "QX-10", "rework", "Ann"),
        (2, "QX-11", "refuse", ""),
    ]
    assert "needs a shim" in run("pairs", "list").out
    assert run("fit", "stick module QX-9", "stick module QX-10", "--json").form["grade"] == "rework"
    assert run("fit", "stick module QX-9", "stick module QX-11", "--json").form["grade"] == "refuse"
    assert run("fit", "stick module QX-10", "stick module QX-9", "--json").form["grade"] == "unknown"
    assert run("pairs", "drop", "2").code == 0
    assert run("pairs", "drop", "2").code == 3
    assert run("pairs", "add", "QX-9", "qx 9").code == 3
    assert run("pairs", "add", "QX-9", "QX-10", "--grade", "exact").code == 2


def test_a_file_of_rules_is_checked_and_holds_beside_the_bench_file(run, tmp_path):
    text = '[[rules]]\nkind = "foot"\nid = "flat"\nattributes = ["height"]\ntest = "equal, else refuse"\n'
    path = tmp_path / "rules.toml"
    path.write_text(text)
    assert run("rules", "check", str(path), "--json").form == {"rules": ["flat"], "pairs": 0}
    path.write_text(text.replace("height", "colour"))
    done = run("rules", "check", str(path))
    assert done.code == 3
    assert done.err.startswith("rules.toml: rules[flat].attributes: ")


def test_a_judgement_has_its_form_and_a_list_goes_row_by_row(run, tmp_path):
    form = run("fit", "fuse T1.6A 250V 5x20", "fuse T2A 250V 5x20", "--json").form
    assert list(form) == ["grade", "reasons", "do", "tell"]
    keys = ["attribute", "wanted", "candidate", "result", "rule", "why", "source", "locked"]
    assert all(list(reason) == keys for reason in form["reasons"])
    assert (form["grade"], form["reasons"][0]["locked"]) == ("refuse", True)
    path = tmp_path / "pairs.csv"
    path.write_text(
        "wanted,candidate,role\n"
        "electrolytic 100uF 25V,electrolytic 150uF 25V,timing\n"
        "electrolytic 100uF 25V,electrolytic 150uF 25V,\n"
        "electrolytic 100uF 25V,electrolytic 150uF 25V,decoration\n"
        "100,47,\n"
    )
    done = run("fit", "--file", str(path))
    lines = [json.loads(line) for line in done.out.splitlines()]
    assert [line.get("grade") for line in lines] == ["refuse", "drop-in", None, "unknown"]
    assert lines[2]["row"] == 3
    assert "decoration" in lines[2]["error"]
    assert done.code == 3


def test_a_pair_that_stays_refused_says_so_at_once(run):
    told = run("pairs", "add", "1N4007", "CR2032")
    assert told.code == 0
    assert "; still refused: different kinds never match" in told.err + told.out
    assert run("fit", "1N4007", "CR2032", "--json").form["grade"] == "refuse"
    held = run("pairs", "add", "QX-9", "QX-10", "--json")
    assert held.form["held_back"] == ""
    assert run("fit", "QX-9", "QX-10", "--json").form["grade"] == "drop-in"
    assert run("pairs", "add", "QX-9", "QX-11", "--grade", "refuse", "--json").form["held_back"] == ""


@pytest.mark.parametrize(
    ("wanted", "candidate", "told"),
    [
        ("0.1uF X2 275VAC", "QX-1", "pair.wanted: “0.1uF X2 275VAC” is a description; a pair names two full"),
        ("QX-1", "relay HX1-12", "pair.candidate: “relay HX1-12” says more than a part number; say “HX1-12” alone"),
    ],
)
def test_a_pair_takes_numbers_only(run, wanted, candidate, told):
    answer = run("pairs", "add", wanted, candidate)
    assert answer.code == 3
    assert told in answer.err
    assert run("pairs", "list", "--json").form["pairs"] == []


def test_upper_and_lower_case_are_alike(run):
    assert run("rules", "set", "Belt", "be1", "Drop-In From", "0.95").code == 0
    assert run("rules", "list", "--kind", "BELT", "--own", "--json").form["rules"][0]["instead_of"] == "BE1"
    listed = run("rules", "figures", "--kind", "BELT", "--json").form["figures"]
    assert {one["kind"] for one in listed} == {"belt"}
    assert run("rules", "drop", "BELT", "OWN BE1 CIRCUMFERENCE").code == 0
