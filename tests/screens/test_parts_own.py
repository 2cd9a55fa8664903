"""The person's own word on substitutes: chosen from what there is, told before it is kept, dropped on asking."""

import pytest
from textual.widgets import OptionList, Static

from triage.actions import lots, own_words, parts
from triage.screens.dialogs import Choose, Form

SIZES = pytest.mark.parametrize("size", [(80, 24), (160, 50)])
WANTED = "electrolytic 100uF 25V radial 105C"


@pytest.fixture
def shelf(bench):
    lots.new_lot(bench, "cellar shelf")
    parts.add_part(bench, "electrolytic capacitor 300 uF 25 V radial 105 °C", part_number="", quantity=7)
    return bench


@pytest.fixture
def on_hit(start, press, settled):
    """Searches for the capacitor and stands on what was found."""

    async def stood(pilot, text=WANTED):
        await settled(pilot)
        await pilot.press(*text)
        await settled(pilot)
        await press(pilot, "escape")

    return stood


@pytest.fixture
def words(seen):
    """What is on the screen as running words, whatever lines they stand on."""
    return lambda app: " ".join(seen(app).replace("│", " ").replace("╰", " ").split())


def choices(app):
    return [str(one.prompt) for one in app.screen.query_one(OptionList).options]


def own_rules(bench):
    return [line.rule for line in own_words.list_rules(bench, own_only=True)]


@SIZES
async def test_a_figure_of_the_rule_that_spoke_is_picked_and_its_effect_told(shelf, start, press, on_hit, words, size):
    async with start("parts").run_test(size=size) as pilot:
        await on_hit(pilot)
        assert pilot.app.place._verdict[1].grade == "compromise"
        await press(pilot, "o", "2")
        assert isinstance(pilot.app.screen, Choose)
        listed = choices(pilot.app)
        assert "AE1 capacitance: drop-in from 1" in listed[0]
        assert "spoke here" in listed[0]
        assert not any("AE15" in line or "AE3 " in line for line in listed)  # locked for safety
        await press(pilot, "2", *"3.2", "enter")
        assert isinstance(pilot.app.screen, Form)
        told = str(pilot.app.screen.query_one(".-refused", Static).content)
        assert told.startswith("AE1 for electrolytic would say: times 1 to 3.2 drop-in, times 0.8 to 4.7 compromise")
        assert told.endswith("capacitor 300 uF 25 V radi…”: compromise now, drop-in then. Enter again keeps it.")
        assert "Enter again keeps it" in words(pilot.app)
        assert own_rules(shelf) == []
        await press(pilot, "backspace", "enter")  # changed: told anew, not kept
        assert own_rules(shelf) == []
        await press(pilot, "enter")
        assert own_rules(shelf) == ["own AE1 capacitance"]
        assert "AE1 for electrolytic: drop-in to 3; u takes it back" in words(pilot.app)
        await press(pilot, "o", "2")
        assert "AE1 capacitance: drop-in to 3" in choices(pilot.app)[1]
        assert "yours" in choices(pilot.app)[1]
        await press(pilot, "escape", "u")
        assert own_rules(shelf) == []


@SIZES
async def test_a_rule_is_put_together_from_attributes_and_tests_that_there_are(
    shelf, start, press, on_hit, words, size
):
    async with start("parts").run_test(size=size) as pilot:
        await on_hit(pilot)
        await press(pilot, "o", "3")
        listed = choices(pilot.app)
        assert any("height limit   in mm" in line for line in listed)
        assert "another kind of part" in listed[-1]
        place = next(number for number, line in enumerate(listed) if "diameter" in line)
        await press(pilot, *["down"] * place, "enter")
        assert "diameter must not be more than wanted; more is refused" in choices(pilot.app)[0]
        await press(pilot, "1", "enter")
        text = words(pilot.app)
        assert "For electrolytic, beside the others: diameter must not be more than wanted; more is refused." in text
        assert "stays compromise" in text
        await press(pilot, "enter")
        assert own_rules(shelf) == ["my diameter"]


async def test_what_may_not_stand_is_refused_in_the_form_and_nothing_is_kept(shelf, start, press, on_hit, words):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await on_hit(pilot)
        await press(pilot, "o", "2", "2", *"much", "enter")
        assert "from now on: expected a number" in words(pilot.app)
        await press(pilot, *["backspace"] * 4, *"0.1", "enter")
        assert "a window from 1 to 0.1 holds nothing" in words(pilot.app)
        await press(pilot, "enter")
        assert own_rules(shelf) == []


async def test_with_nothing_under_the_cursor_the_kind_is_chosen_first(shelf, start, press, settled, words):
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "escape", "o", "2")
        assert "Which kind of part?" in words(pilot.app)
        kinds = [line.split("  ")[-1].strip() for line in choices(pilot.app)]
        await press(pilot, *["down"] * kinds.index("belt"), "enter")
        assert "Which figure of belt?" in words(pilot.app)
        assert choices(pilot.app)[0].strip() == "1  BE1 circumference: drop-in from 0.97"
        await press(pilot, "end", "enter", "enter")  # another kind of part: the first there is
        assert f"Which figure of {kinds[0]}?" in words(pilot.app) or f"{kinds[0]} has no figure" in words(pilot.app)


@SIZES
async def test_a_pair_tells_its_effect_and_dropping_asks_first(shelf, start, press, settled, words, size):
    async with start("parts").run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "escape", "o", "4")
        assert "you said nothing of your own yet" in words(pilot.app)
        await press(pilot, "o", "1", *"QX-9", "tab", *"QX-10", "tab", "tab", *"shim", "enter")
        assert "QX-10 for QX-9: unknown now, drop-in then. Enter again keeps it." in words(pilot.app)
        assert own_words.list_pairs(shelf) == []
        await press(pilot, "enter")
        assert [(one.pair.candidate, one.pair.note) for one in own_words.list_pairs(shelf)] == [("QX-10", "shim")]
        await press(pilot, "o", "4", "1")
        assert "Drop this? QX-10 for QX-9: drop-in" in words(pilot.app)
        await press(pilot, "1")
        assert len(own_words.list_pairs(shelf)) == 1
        assert "What you said yourself" in words(pilot.app)
        await press(pilot, "1", "2")
        assert own_words.list_pairs(shelf) == []
        assert "dropped; u brings it back" in words(pilot.app)
        await press(pilot, "u")
        assert len(own_words.list_pairs(shelf)) == 1


async def test_what_stands_in_the_file_is_shown_and_stays(shelf, start, press, settled, words):
    (shelf.path.parent / "rules.toml").write_text(
        '[[pairs]]\nwanted = "QX-9"\ncandidate = "QX-10"\n\n'
        '[[rules]]\nkind = "FOOT"\nid = "flat"\nattributes = ["Height"]\ntest = "equal, else refuse"\n'
    )
    async with start("parts").run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "escape")
        for number in ("1", "2"):
            await press(pilot, "o", "4", number)
            assert "it stands in the file rules.toml; change it there" in words(pilot.app)
        assert own_rules(shelf) == ["flat"]
