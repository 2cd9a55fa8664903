"""The person's own rules and pairs: in their file, in the bench file, and wherever parts are judged."""

from datetime import date

import msgspec
import pytest

from catalog import own_store, rule_words, store
from catalog.own_rules import checked
from catalog.rules import AtMost, Grade, Rule
from catalog.text import Refused
from triage.actions import files, judging, own_effect, own_words, parts
from triage.actions.findable import find_parts
from triage.actions.finding import why_it_fits
from triage.actions.history import take_back
from triage.bench_file import BenchFile
from triage.rules_file import parse_rules

FILE = """
[[rules]]
kind = "electrolytic"
id = "low lid"
attributes = ["height"]
test = "at most, else refuse"
by = "Ann"
at = 2026-11-27
why = "the lid is low"

[[rules]]
kind = "foot"
id = "table form"
attributes = ["height"]
test = {test = "equal", broken = "refuse"}

[[pairs]]
wanted = "QX-9"
candidate = "QX-10"
grade = "rework"
note = "needs a shim"
"""
WANTED, TALL = "electrolytic 100uF 25V 6.3x11mm radial", "electrolytic 100uF 25V 6.3x12mm radial"


@pytest.fixture
def bench(tmp_path):
    with BenchFile(tmp_path / "bench.db", today=date(2026, 12, 1)) as opened:
        yield opened


def grade(bench, wanted=WANTED, candidate=TALL):
    return judging.fit_texts(bench, wanted, candidate).grade


def test_the_file_beside_the_bench_file_holds(bench):
    assert grade(bench) == "rework"
    (bench.path.parent / "rules.toml").write_text(FILE)
    with bench.another() as again:
        verdict = judging.fit_texts(again, WANTED, TALL)
        assert verdict.grade == "refuse"
        assert verdict.reasons[0].source == "the person's own rule, by Ann, 2026-11-27"
        paired = judging.fit_texts(again, "stick module QX-9", "stick module QX-10")
        assert paired.grade == "rework"
        assert paired.reasons[0].source == "the person's own list, by rules.toml"


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ('id = "low lid"', 'id = "low lid"\ncolour = "red"', r"rules\.toml: rules\[low lid\]\.colour"),
        ("[[pairs]]", "[[pears]]", r"rules\.toml: pears"),
        ('note = "needs a shim"', "nota = 1", r"rules\.toml: pairs\[0\]\.nota"),
        ('"at most, else refuse"', '"tall, else refuse"', r"rules\.toml: rules\[0\]\.test"),
        ('["height"]\ntest = "at', '["voltage_dc"]\ntest = "at', r"rules\.toml: rules\[low lid\]\.test\.test"),
        ('by = "Ann"', 'instead_of = "AE3"', r"rules\.toml: rules\[low lid\]\.instead_of"),
        ('by = "Ann"', "locked = true", r"rules\.toml: rules\[low lid\]\.locked"),
        ('"table form"', '"AE1"', r"rules\.toml: rules\[AE1\]\.id"),
        ('kind = "foot"\nid = "table form"', 'kind = "electrolytic"\nid = "low lid"', r"rules\[low lid\]\.id"),
        ('"rework"', '"exact"', r"rules\.toml: pairs\[0\]\.grade"),
        ('"QX-9"', '""', r"rules\.toml: pairs\[0\]\.wanted"),
        ('"QX-10"', '""', r"rules\.toml: pairs\[0\]\.candidate"),
        ("[[pairs]]", "[[pairs", r"rules\.toml:\d+: not valid TOML"),
        ("[[pairs]]\nwanted", "[pairs]\nwanted", r"rules\.toml: pairs"),
    ],
)
def test_a_slip_in_the_file_is_refused_with_its_place_and_nothing_is_judged_without_it(bench, old, new, where):
    assert old in FILE
    (bench.path.parent / "rules.toml").write_text(FILE.replace(old, new, 1))
    with pytest.raises(Refused, match=where):
        grade(bench)
    parts.add_part(bench, WANTED)  # everything but judging goes on
    with pytest.raises(Refused, match=where):
        find_parts(bench, WANTED)


def test_a_file_is_read_as_text_too():
    rules, pairs = parse_rules(FILE.encode(), "mine.toml")
    assert [rule.id for rule in rules] == ["low lid", "table form"]
    assert rules[1].by == pairs[0].by == "mine.toml"
    assert parse_rules(b"", "mine.toml") == ((), ())


def test_a_rule_is_one_event_and_is_taken_back(bench):
    kept = own_words.add_rule(
        bench,
        Rule(id="low lid", kind="electrolytic", attributes=("height",), test=AtMost(Grade.REFUSE), by="Ann"),
    )
    assert kept.at.startswith("2026-12-01")
    assert grade(bench) == "refuse"
    assert [row.name for row in own_store.own_rules(bench.database)] == ["low lid"]
    own_words.add_rule(
        bench, Rule(id="low lid", kind="electrolytic", attributes=("height",), test=AtMost(Grade.COMPROMISE))
    )
    assert grade(bench) == "compromise"
    take_back(bench)
    assert grade(bench) == "refuse"
    own_words.drop_rule(bench, "electrolytic", "low lid")
    assert grade(bench) == "rework"
    take_back(bench)
    assert grade(bench) == "refuse"
    take_back(bench)
    assert own_store.own_rules(bench.database) == []
    with pytest.raises(Refused, match="no rule of yours"):
        own_words.drop_rule(bench, "electrolytic", "low lid")


def test_figures_are_changed_one_by_one_within_what_is_not_locked(bench):
    assert grade(bench, "electrolytic 100uF 25V", "electrolytic 270uF 25V") == "compromise"
    own_words.set_figure(bench, "electrolytic", "AE1", "drop-in to", 3, by="Ann")
    own_words.set_figure(bench, "electrolytic", "AE1", "compromise to", 6)
    assert grade(bench, "electrolytic 100uF 25V", "electrolytic 270uF 25V") == "drop-in"
    assert grade(bench, "electrolytic 100uF 25V", "electrolytic 560uF 25V") == "compromise"
    assert len(own_store.own_rules(bench.database)) == 1
    belt = "square belt, circumference {} mm, 1.2 mm, new"
    assert grade(bench, belt.format(100), belt.format(95)) == "compromise"
    own_words.set_figure(bench, "belt", "BE1", "drop-in from", 0.94)
    assert grade(bench, belt.format(100), belt.format(95)) == "drop-in"
    before = own_store.own_rules(bench.database)
    for kind, rule, figure, value in (
        ("regulator", "RG1", "percent", 50),
        ("fuse", "FU1", "compromise to", 2),
        ("electrolytic", "AE1", "drop-in to", 0.5),
        ("electrolytic", "AE1", "colour", 1),
    ):
        with pytest.raises(Refused):
            own_words.set_figure(bench, kind, rule, figure, value)
    assert own_store.own_rules(bench.database) == before


def test_own_words_hold_in_find(bench):
    parts.add_part(bench, TALL, quantity=3)
    assert find_parts(bench, WANTED)[0].grade == "rework"
    own_words.add_rule(
        bench, Rule(id="low lid", kind="electrolytic", attributes=("height",), test=AtMost(Grade.REFUSE))
    )
    assert find_parts(bench, WANTED)[0].grade == "refuse"
    take_back(bench)
    assert find_parts(bench, WANTED)[0].grade == "rework"


def test_what_was_said_is_listed_with_where_it_stands(bench):
    (bench.path.parent / "rules.toml").write_text(FILE)
    own_words.add_pair(bench, "QX-1", "QX-2", by="Ann")
    own_words.set_figure(bench, "foot", "RF1", "drop-in within", 1)
    listed = own_words.list_rules(bench, own_only=True)
    assert [(line.kind, line.rule, line.place) for line in listed] == [
        ("electrolytic", "low lid", "rules.toml"),
        ("foot", "table form", "rules.toml"),
        ("foot", "own RF1 height", "bench file"),
    ]
    assert listed[2].instead_of == "RF1"
    assert listed[2].test == "equal, within 1 drop-in, else compromise"
    assert {line.kind for line in own_words.list_rules(bench, kind="foot")} == {"foot"}
    assert len(own_words.list_rules(None)) > 150
    pairs = own_words.list_pairs(bench)
    assert [(one.id, one.pair.wanted, one.pair.by) for one in pairs] == [
        (None, "QX-9", "rules.toml"),
        (1, "QX-1", "Ann"),
    ]
    own_words.drop_pair(bench, 1)
    assert [one.id for one in own_words.list_pairs(bench)] == [None]
    with pytest.raises(Refused, match="no pair 1"):
        own_words.drop_pair(bench, 1)
    with pytest.raises(Refused, match=r"pair\.grade"):
        own_words.add_pair(bench, "QX-1", "QX-2", Grade.EXACT)
    with pytest.raises(Refused, match="no kind"):
        own_words.list_rules(bench, kind="gadget")


def test_export_and_import_keep_rules_and_pairs(bench, tmp_path):
    own_words.add_pair(bench, "QX-1", "QX-2", Grade.COMPROMISE, note="other colour", by="Ann")
    own_words.set_figure(bench, "foot", "RF1", "drop-in within", 1)
    assert files.verify(bench).ok
    files.export(bench, tmp_path / "out")
    assert files.import_(tmp_path / "out", tmp_path / "again.db").digest == files.verify(bench).digest
    with BenchFile(tmp_path / "again.db") as again:
        assert store.pairs(again.database) == store.pairs(bench.database)
        assert own_store.own_rules(again.database) == own_store.own_rules(bench.database)


def test_the_file_is_read_again_when_it_was_changed(bench):
    file = bench.path.parent / "rules.toml"
    parts.add_part(bench, TALL, quantity=3)
    assert grade(bench) == find_parts(bench, WANTED)[0].grade == "rework"
    file.write_text(FILE)
    assert grade(bench) == find_parts(bench, WANTED)[0].grade == "refuse"
    file.write_text(FILE.replace("at most, else refuse", "at most, else compromise"))
    assert grade(bench) == find_parts(bench, WANTED)[0].grade == "compromise"
    file.unlink()
    assert grade(bench) == find_parts(bench, WANTED)[0].grade == "rework"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"test": {"test": "special", "name": "frequency"}}, "own_rules 1 rule: test.name: a named test stands only"),
        ({"instead_of": "AE3"}, "own_rules 1 rule: instead_of: AE3 is locked for safety"),
        ({"id": "other"}, "own_rules 1 name: the rule is “other” for electrolytic"),
    ],
)
def test_an_own_rule_that_may_not_stand_is_told_by_verify_and_not_imported(bench, tmp_path, change, told):
    own_words.add_rule(
        bench, Rule(id="low lid", kind="electrolytic", attributes=("height",), test=AtMost(Grade.REFUSE))
    )
    assert files.verify(bench).ok
    held = msgspec.to_builtins(own_store.own_rules(bench.database)[0].rule)
    bench.database.conn.execute("UPDATE own_rules SET rule = ?", (msgspec.json.encode({**held, **change}).decode(),))
    bench.database.conn.commit()
    assert [line for line in files.verify(bench).problems if line.startswith(told)]
    files.export(bench, tmp_path / "out")
    with pytest.raises(Refused, match="own_rules 1"):
        files.import_(tmp_path / "out", tmp_path / "again.db")
    assert not (tmp_path / "again.db").exists()


def test_a_row_changed_twice_names_both_figures(bench):
    own_words.set_figure(bench, "belt", "BE1", "drop-in from", 0.95)
    kept = own_words.set_figure(bench, "belt", "BE1", "drop-in to", 1.02, why="soft belts")
    assert kept.why == "soft belts; drop-in from 0.95 instead of 0.97, drop-in to 1.02 instead of 1.01"


def test_a_number_that_only_the_list_knows_is_judged_in_find_too(bench):
    parts.add_part(bench, "QX-10", part_number="QX-10", quantity=2)
    own_words.add_pair(bench, "QX-9", "QX-10", Grade.REWORK, note="needs a shim")
    found = next(hit for hit in find_parts(bench, "QX-9") if hit.entry.part_number == "QX-10")
    assert found.grade == "rework"
    assert why_it_fits(bench, "QX-9", None, found.entry).grade == "rework"
    take_back(bench)
    assert "rework" not in {hit.grade for hit in find_parts(bench, "QX-9")}


def test_upper_and_lower_case_of_kinds_rules_figures_and_attributes_are_alike(bench):
    kept = own_words.set_figure(bench, "Belt", "be1", "Drop-In From", 0.95)
    assert (kept.kind, kept.instead_of, kept.id) == ("belt", "BE1", "own BE1 circumference")
    assert own_words.set_figure(bench, "belt", "BE1", "drop-in to", 1.02).id == kept.id
    rule = Rule(id="low lid", kind="ELECTROLYTIC", attributes=("Height Limit",), test=AtMost(Grade.REFUSE))
    assert own_words.add_rule(bench, rule).attributes == ("height_limit",)
    with pytest.raises(Refused, match="“ae9” is a built-in rule"):
        own_words.add_rule(bench, msgspec.structs.replace(rule, id="ae9"))
    instead = msgspec.structs.replace(rule, id="lid", attributes=("diameter",), instead_of="ae9")
    assert own_words.add_rule(bench, instead).instead_of == "AE9"
    assert [line.rule for line in own_words.list_rules(bench, kind="BELT", own_only=True)] == [kept.id]
    own_words.drop_rule(bench, "BELT", "OWN be1 Circumference")
    assert own_words.list_rules(bench, kind="belt", own_only=True) == []


def test_the_effect_is_told_without_writing_anything(bench):
    hit = find_parts(bench, WANTED, 5)
    assert hit == []
    part = parts.add_part(bench, TALL, quantity=1)
    entry = find_parts(bench, WANTED, 5)[0].entry
    under = own_effect.Under(WANTED, None, entry, why_it_fits(bench, WANTED, None, entry))
    rule = Rule(id="low", kind="electrolytic", attributes=("height",), test=AtMost(Grade.REFUSE))
    before = files.verify(bench).digest
    said = own_effect.rule_effect(bench, rule, under)
    assert said == (
        "For electrolytic, beside the others: height must not be more than wanted; more is refused."
        f" Here “{part.description}”: rework now, refused then."
    )
    assert own_effect.pair_effect(bench, "QX-9", "QX-10", Grade.REWORK) == "QX-10 for QX-9: unknown now, rework then."
    with pytest.raises(Refused, match="expected a part number"):
        own_effect.pair_effect(bench, "QX-9", "", Grade.REWORK)
    assert files.verify(bench).digest == before


@pytest.mark.parametrize("kind", own_effect.kinds_of())
def test_every_attribute_of_every_kind_has_a_test_that_may_stand(bench, kind):
    for attribute, _ in own_effect.attributes_of(kind):
        offered = own_effect.tests_for(kind, attribute)
        assert offered
        for text, meaning in offered:
            assert attribute.replace("_", " ") in meaning
            rule = Rule(id="mine", kind=kind, attributes=(attribute,), test=rule_words.test_of(text))
            assert checked(rule).test == rule_words.test_of(text)


@pytest.mark.parametrize("kind", own_effect.kinds_of())
def test_every_figure_that_is_offered_can_be_changed(bench, kind):
    for line in own_effect.figures_of(bench, kind):
        kept = own_words.with_figure(bench, kind, line.rule, line.name, line.value)
        assert kept.instead_of == line.rule
