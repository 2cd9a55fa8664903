"""`solve`: files answered whole or not at all, standard input answered line by line."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest

PROBLEMS = Path(__file__).parents[1] / "problems"
BRANCHES = {
    "id": "one",
    "minute_cost_cents": 20,
    "branches": [{"id": "fix", "success": 0.8, "net_working_cents": 4500, "net_failed_cents": 500, "minutes": 40}],
    "as_is": {"net_cents": 900, "minutes": 10},
}
NEXT = {"id": "n", "class": "gamepad", "symptoms": ["drift"], "money": {"working": 45}, "known_faulty": 0.9}


def dump(value):
    return json.dumps(value)


def numbers(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for one in value:
            yield from numbers(one)
    elif isinstance(value, float):
        yield value


def test_a_problem_file_gives_one_answer_a_case_in_order(run):
    path = PROBLEMS / "diagnosis.json"
    cases = json.loads(path.read_text(encoding="utf-8"))["cases"]
    ran = run("solve", "diagnosis", path)
    assert ran.code == 0
    assert [form["id"] for form in ran.forms] == [case["id"] for case in cases]
    for form, case in zip(ran.forms, cases, strict=True):
        for name in ("contradiction", "p_no_fault"):
            if name in case["expected"]:
                assert form[name] == pytest.approx(case["expected"][name])
        assert all(math.isfinite(one) for one in numbers(form))
    assert {"posterior", "posterior_at_start", "ignored", "conflict", "log_evidence"} <= set(ran.forms[0])
    assert ran.out == run("solve", "diagnosis", path, "--json").out


def test_one_purchase_case_is_enough(run, write):
    case = json.loads((PROBLEMS / "purchase.json").read_text(encoding="utf-8"))["cases"][0]
    form = run("solve", "purchase", write(dump(case), "one.json")).form
    assert (form["id"], form["total_cents"]) == (case["id"], case["expected"]["total_cents"])
    assert {"status", "packs", "served", "front"} <= set(form)


def test_one_lot_case(run, write):
    case = json.loads((PROBLEMS / "lot.json").read_text(encoding="utf-8"))["cases"][0]
    form = run("solve", "lot", write(dump(case), "one.json")).form
    assert form["total_cents"] == pytest.approx(case["expected"]["total_cents"])
    assert {"id", "status", "decision", "bought", "harvested"} <= set(form)


def test_branches_and_next_print_the_documented_fields(run, write):
    form = run("solve", "branches", write(dump(BRANCHES), "b.json")).form
    assert form["values"]["fix"] == pytest.approx(0.8 * 4500 + 0.2 * 500 - 800)
    assert (form["best"], form["runner_up"]) == ("fix", "as_is")
    assert form["gap_cents"] == pytest.approx(form["values"]["fix"] - form["values"]["as_is"])
    assert set(form["flips"][0]) == {"branch", "term", "value"}
    form = run("solve", "next", write(dump(NEXT), "n.json")).form
    fields = {"action", "check", "faults", "branch", "net_gain_cents", "minutes", "reason", "locked"}
    assert fields <= set(form)
    assert form["action"] in {"check", "repair", "stop"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", ":1: "),
        ('{"a":\n1,,}', ":2: "),
        ("[1]", "expected"),
        ("NaN", "JSON"),
        ('{"cases": 3}', ": cases"),
        ('{"cases": [3]}', ": cases[0]"),
        ('{"cases": [], "more": 1}', ": more"),
        ("[" * 100_000, ""),
        (b'{"id": "\xff"}', ""),
        (
            dump({"cases": [BRANCHES, {**BRANCHES, "id": "two", "minute_cost_cents": -1}]}),
            ": cases[two].minute_cost_cents",
        ),
        (dump({**BRANCHES, "minute_cost_cents": "x\x1b[2J"}), ": minute_cost_cents"),
        (dump({**BRANCHES, "hours": 1}), ""),
        ('{"minute_cost_cents": 1e999}', ""),
    ],
)
def test_a_bad_file_or_case_is_refused_before_anything_is_printed(run, write, text, said):
    path = write(text, "bad.json")
    ran = run("solve", "branches", path)
    assert (ran.code, ran.out) == (3, "")
    assert ran.complaint.startswith(str(path))
    assert said in ran.complaint
    assert ran.complaint.isprintable()


def test_standard_input_is_a_conversation():
    with subprocess.Popen(
        [sys.executable, "-m", "triage", "solve", "branches", "-"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as running:
        for name in ("first", "second"):
            running.stdin.write(dump({**BRANCHES, "id": name}).encode() + b"\n\n")
            running.stdin.flush()
            assert json.loads(running.stdout.readline())["id"] == name  # before the next one is written
        running.stdin.close()
        assert running.stdout.read() == b""
        assert running.stderr.read() == b""
        assert running.wait(timeout=60) == 0


def test_a_bad_line_of_standard_input_is_named(process):
    ran = process("solve", "branches", "-", given=f"{dump(BRANCHES)}\n{{]\n{dump(BRANCHES)}\n".encode())
    assert ran.code == 3
    assert len(ran.forms) == 1
    assert ran.complaint.startswith("standard input:2: ")


def test_a_name_with_control_characters_leaves_escaped(run, write):
    name = "é \x1b[31m \u009b2J \u202e 😀"
    ran = run("solve", "branches", write(dump({**BRANCHES, "id": name}), "c.json"))
    assert ran.form["id"] == name
    assert ran.out[:-1].isprintable()
    assert "é" in ran.out
    assert "😀" in ran.out
