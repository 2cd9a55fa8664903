"""Where one was with a unit, in a sentence, for whoever comes back after a week."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from triage.actions.telling import told
from triage.bench_file import day_of
from triage.device_classes.schema import DeviceClass
from triage.lot import Happening, Need, case_open, to_exchange, waits_for
from triage.study import Study


def where_was_i(found: Study, happenings: Sequence[Happening], needs: Sequence[Need], today: date) -> str:
    """One sentence: what was done last and when, what it waits for, what comes next."""
    if not happenings:
        return "Not looked at yet."
    last = happenings[-1]
    parts = [f"{told(found.device_class, last).rstrip('.')}, {_ago(last.at, today)}"]
    lifted = lifted_of(found)
    if lifted:
        parts.append(f"lacks {', '.join(lifted)}, taken out")
    names = names_of(found.device_class)
    parts += exchange_words(needs, names)
    waiting = waits_for(needs, names)
    if waiting:
        parts.append(f"waits for {', '.join(waiting)}")
    if case_open(happenings):
        parts.append("case open")
    notes = [item.raw for item in happenings if item.kind == "note"]
    if notes and last.kind != "note":
        parts.append(f"note: {notes[-1]}")
    if found.fixed.fixed:
        parts.append("every function tested good")
    action = None if found.finished else found.action
    if action is not None and action.check:
        parts.append(f"next: {found.device_class.check(action.check).question}")
    elif action is not None and action.faults:
        parts.append("next: " + ", ".join(found.device_class.fault(name).what for name in action.faults))
    sentence = "; ".join(parts)
    return sentence if sentence.endswith("?") else f"{sentence}."


def _ago(at: str, today: date) -> str:
    try:
        days = (today - day_of(at)).days
    except ValueError:
        return "some time ago"
    if days <= 0:
        return "today"
    return "yesterday" if days == 1 else f"{days} days ago"


def exchange_words(needs: Sequence[Need], names: Mapping[str, str]) -> tuple[str, ...]:
    """The proper parts that lie ready for what is makeshift, in words."""
    return tuple(f"the proper {names.get(need.part, need.part)} lies ready: exchange it" for need in to_exchange(needs))


def names_of(device_class: DeviceClass) -> dict[str, str]:
    """{part id: name} of a class."""
    return {part.id: part.name for part in device_class.parts}


def lifted_of(found: Study) -> tuple[str, ...]:
    """What was lifted out of the unit and not put back, such as `1 × tray belt`."""
    return tuple(f"{count} × {found.device_class.part(part_id).name}" for part_id, count in found.state.missing.items())
