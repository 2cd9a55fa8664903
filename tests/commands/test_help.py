"""The help of every command: short enough to be read, with examples on lines of their own."""

import pytest
from click import Context, Group

from triage.cli import COMMANDS, program
from triage.commands.examples import EXAMPLES


def _walk(name, command, parent):
    context = Context(command, info_name=name, parent=parent, terminal_width=80, max_content_width=80)
    yield context.command_path.partition(" ")[2], command, context
    if isinstance(command, Group):
        for inner in command.list_commands(context):
            yield from _walk(inner, command.get_command(context, inner), context)


ALL = list(_walk("lotwright", program, None))


@pytest.mark.parametrize(("path", "command", "context"), ALL, ids=[path or "lotwright" for path, _, _ in ALL])
def test_help_is_readable(path, command, context):
    shown = command.get_help(context)
    lines = shown.splitlines()
    assert all(len(line) <= 80 for line in lines), max(lines, key=len)
    first = (command.help or "").split("\n\n")[0]
    assert len(first) <= 76 or not path, first
    assert not any(line.endswith("...") for line in lines if line.startswith("  ") and path)
    for example in EXAMPLES.get(path, ()):
        assert f"  lotwright {example}" in lines
    assert (lines.count("Everywhere:"), lines.count("Options:")) == (1, 1)


def test_every_example_is_of_a_command_and_can_be_parsed():
    known = {path: command for path, command, _ in ALL}
    assert set(EXAMPLES) <= set(known)
    for path, examples in EXAMPLES.items():
        assert path.partition(" ")[0] in COMMANDS
        for example in examples:
            words = example.split()
            assert words[: len(path.split())] == path.split(), example
            inner = known.get(" ".join(words[:2]), known[path])
            stated = {word for word in words if word.startswith("--")}
            assert stated <= {option for param in inner.params for option in param.opts}, example
