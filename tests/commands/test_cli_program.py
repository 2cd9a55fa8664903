"""The program as such: help, start-up, options before and after a command, exit codes, pipes, interruption."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import click
import pytest

from triage.cli import COMMANDS, SECTIONS, program

HEAVY = {
    "textual",
    "rich",
    "numpy",
    "sqlite_utils",
    "msgspec",
    "highspy",
    "httpx",
    "rapidfuzz",
    "babel",
}


def loaded(*words):
    code = (
        "import sys\n"
        f"sys.argv = ['lotwright', *{list(words)!r}]\n"
        "from triage.cli import main\n"
        "try:\n    main()\n"
        "except SystemExit as end:\n    assert end.code == 0, end.code\n"
        "print('\\n' + ' '.join(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    return set(done.stdout.splitlines()[-1].split())


@pytest.mark.parametrize(
    "words", [("--help",), ("--version",), ("lot", "--help"), ("solve", "--help"), ("keys", "--help")]
)
def test_help_and_version_load_nothing_heavy(words):
    names = loaded(*words)
    assert "triage.commands.shared" in names
    assert not HEAVY & names


def test_a_command_without_screens_does_not_load_them():
    names = loaded("read", "4.7uF 25V")
    assert "catalog.describe" in names
    assert not {"textual", "sqlite_utils", "highspy"} & names


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="threads cannot be counted here")
def test_numpy_stays_in_one_thread_unless_the_person_wants_more():
    code = "import os, triage, numpy; print(os.environ['OPENBLAS_NUM_THREADS'], len(os.listdir('/proc/self/task')))"
    for wanted, said in ((None, "1"), ("2", "2")):
        env = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
        env |= {"OPENBLAS_NUM_THREADS": wanted} if wanted else {}
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True, env=env)
        value, threads = done.stdout.split()
        assert value == said
        assert wanted or threads == "1"


def every_command(group=program, path=()):
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        yield (*path, name), command
        if isinstance(command, click.Group):
            yield from every_command(command, (*path, name))


def test_every_command_and_every_option_says_what_it_does():
    seen = 0
    for path, command in every_command():
        assert command.help, path
        assert command.name == path[-1], path
        names = {option for one in command.params for option in one.opts}
        assert {"--bench", "--today", "--seed"} <= names, path
        for option in command.params:
            if isinstance(option, click.Option) and option.name != "note":
                assert option.help, (path, option.name)
        seen += 1
    assert seen > 40


def test_the_list_of_commands_is_complete_and_says_one_line_each(run):
    assert list(COMMANDS) == [name for section in SECTIONS.values() for name in section]
    shown = run("--help").out
    for name, (_, line) in COMMANDS.items():
        assert len(line) <= 60
        assert line.endswith(".")
        assert re.search(rf"^  {name} +{re.escape(line)}$", shown, re.MULTILINE)


def test_version(run):
    assert re.fullmatch(r"lotwright \d+\.\d+\.\d+\n", run("--version").out)


def test_the_options_for_all_stand_before_or_after_the_command(run, tmp_path):
    one, two = tmp_path / "one.db", tmp_path / "two.db"
    assert run("--bench", one, "lot", "new", "a box").code == 0
    assert run("lot", "new", "another box", "--bench", two, "--today", "2026-03-04", "--seed", "7").code == 0
    assert run("lot", "--bench", two, "list", "--json").form["lots"][0]["name"] == "another box"
    assert run("lot", "list", "--json", "--bench", two).form["lots"][0]["bought_on"] == "2026-03-04"
    assert run("--bench", one, "lot", "list", "--json").form["lots"][0]["bought_on"] == "2026-01-08"
    assert run("--bench", one, "lot", "list", "--bench", two, "--json").form["lots"][0]["name"] == "another box"


def test_the_bench_file_is_taken_from_the_environment(run, bench_path):
    run("lot", "new", "a box")
    assert bench_path.is_file()


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("read", "4.7uF"), 0),
        (("reed",), 2),
        (("read",), 2),
        (("read", "--kind"), 2),
        (("fit", "10k"), 2),
        (("lot", "show", "--today", "tomorrow"), 2),
        (("lot", "show", "--seed", "-1"), 2),
        (("next", "x"), 2),
        (("solve", "puzzle", "-"), 2),
        (("solve", "purchase", "nowhere.json"), 3),
        (("read", "4.7uF", "--kind", "gadget"), 3),
        (("next", "1"), 3),
        ((), 2),
        (("demo",), 2),
    ],
)
def test_exit_codes_of_the_process(process, words, code):
    ran = process(*words)
    assert ran.code == code
    if code:
        assert ran.complaint
        assert ran.out == ""


def test_without_a_terminal_the_screens_say_what_to_do(process):
    assert "need a terminal" in process().complaint
    assert "--help" in process().complaint


def test_a_failure_of_the_system_is_one_line_and_1():
    device = Path("/dev/full")
    if not device.exists():
        pytest.skip("no full device here")
    with device.open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "triage", "read", "4.7uF"], stdout=full, stderr=subprocess.PIPE, check=False
        )
    assert done.returncode == 1
    assert len(done.stderr.decode().splitlines()) == 1
    assert b"Traceback" not in done.stderr


def test_a_fault_of_the_program_is_one_line_and_1(run, monkeypatch):
    def broken(*_):
        raise RuntimeError("no\nway \x1b[31m")

    monkeypatch.setattr("catalog.describe.read", broken)
    monkeypatch.delenv("LOTWRIGHT_TRACEBACK")
    ran = run("read", "10k")
    assert ran.code == 1
    assert ran.complaint == "failed, a fault of lotwright itself: RuntimeError: no way"


def test_a_reader_that_leaves_is_no_reason_to_complain(tmp_path):
    path = tmp_path / "many.csv"
    path.write_text("text\n" + "4.7uF 25V electrolytic radial\n" * 3000, encoding="utf-8")
    with subprocess.Popen(
        [sys.executable, "-m", "triage", "read", "--file", path], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as running:
        assert running.stdout.readline().startswith(b"{")
        running.stdout.close()
        assert running.stderr.read() == b""
        assert running.wait(timeout=60) == 1


def test_interrupted_is_130(tmp_path):
    with subprocess.Popen(
        [sys.executable, "-m", "triage", "solve", "branches", "-"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as running:
        running.stdin.write(b'{"as_is": {"net_cents": 100}}\n')
        running.stdin.flush()
        assert running.stdout.readline().startswith(b"{")
        running.send_signal(signal.SIGINT)
        assert running.wait(timeout=60) == 130
        assert running.stderr.read().split() == [b"stopped"]


def test_the_console_script_and_the_module_are_the_same(process):
    script = subprocess.run(
        [sys.executable, "-c", "from triage.cli import main; main()", "--help"], capture_output=True, check=True
    )
    assert script.stdout.decode() == process("--help").out
