"""Reading parts, supplier and price lists, and refusing them with the place."""

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog import columns, pricelists
from catalog.spec import PartSpec, Value
from catalog.text import Refused

SHOPS = {"North Counter": "EUR", "Far Yen": "JPY"}


class Understood(msgspec.Struct, frozen=True):
    status: str
    spec: PartSpec | None = None
    left_over: tuple[str, ...] = ()


def reader(text, kind=None):
    """Knows fuses by their current, and nothing else."""
    words = text.split()
    currents = [word for word in words if word.endswith("A") and word[:-1].isdigit()]
    if kind not in (None, "fuse") or "fuse" not in words:
        return Understood("nothing", left_over=tuple(words))
    if len(currents) != 1:
        return Understood("ambiguous")
    left = tuple(word for word in words if word not in (*currents, "fuse"))
    return Understood("ok", PartSpec("fuse", {"current": Value(float(currents[0][:-1]), "A")}), left)


def parts(text, **more):
    return pricelists.read_parts(text, reader, currency="EUR", name="p.csv", **more)


def offers(text, **more):
    return pricelists.read_offers(text, reader, suppliers=SHOPS, name="o.csv", **more)


def suppliers(text, **more):
    return pricelists.read_suppliers(text, currency="EUR", name="s.csv", **more)


def problem(staged):
    with pytest.raises(Refused) as refused:
        staged.accepted()
    return str(refused.value)


def test_parts_are_read_with_canonical_headers_in_any_order_and_case():
    text = 'Place,DESCRIPTION,part-number,Quantity,unit cost,kind\nbox 3,fuse 2A slow,F-2,12,"0,35",\n'
    (row,) = parts(text).accepted()
    assert (row.part_number, row.quantity, row.place, row.unit_cost, row.currency) == ("F-2", 12, "box 3", 35, "EUR")
    assert row.kind == "fuse"
    assert row.spec.number("current") == 2
    assert row.spec.part_number == "F-2"
    assert row.left_over == "slow"


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_delimiters_and_line_ends(delimiter, newline):
    lines = ["description,quantity,place", '"fuse 2A",1,"a"', "", "fuse 3A,2,b"]
    rows = parts(newline.join(lines).replace(",", delimiter)).accepted()
    assert [(row.description, row.quantity, row.line) for row in rows] == [("fuse 2A", 1, 2), ("fuse 3A", 2, 4)]


def test_decimal_commas_under_semicolons():
    (row,) = parts("description;unit_cost\nbelt;1,50\n").accepted()
    assert row.unit_cost == 150


def test_files_with_and_without_byte_order_mark(tmp_path):
    path = tmp_path / "parts.csv"
    for start in (b"", b"\xef\xbb\xbf"):
        path.write_bytes(start + "description\nbelt Ø 43\n".encode())
        (row,) = pricelists.read_parts(path, reader, currency="EUR").accepted()
        assert row.description == "belt Ø 43"


@pytest.mark.parametrize(
    ("data", "line", "said"),
    [
        ("description\nремень\n".encode("cp1251"), 2, "UTF-8"),
        ("description\nbelt\n".encode("utf-16-le"), 1, "no text"),
        (b"description\nbelt\n\x00\x01\x02", 3, "no text"),
        (b"", 1, "empty"),
        (b"\n\n  \n", 1, "empty"),
    ],
)
def test_other_encodings_and_binary_are_refused_with_the_line(tmp_path, data, line, said):
    path = tmp_path / "parts.csv"
    path.write_bytes(data)
    with pytest.raises(Refused, match=said) as refused:
        pricelists.read_parts(path, reader, currency="EUR")
    assert str(refused.value).startswith(f"{path}:{line}: ")


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(Refused, match="cannot be read"):
            columns.load(path)


def test_an_unknown_column_is_refused_by_name_until_it_is_mapped():
    text = "Bezeichnung,quantity,colour\nbelt,2,black\n"
    with pytest.raises(Refused, match=r"p\.csv:1:Bezeichnung: unknown column"):
        parts(text)
    with pytest.raises(Refused, match=r"p\.csv:1:colour: unknown column"):
        parts(text, column_map={"bezeichnung": "description"})
    (row,) = parts(text, column_map={"Bezeichnung": "description", "colour": "-"}).accepted()
    assert (row.description, row.quantity) == ("belt", 2)


def test_problems_name_the_column_as_the_file_does():
    staged = parts("What;Many\nbelt;x\n", column_map={"What": "description", "Many": "quantity"})
    assert problem(staged).startswith("p.csv:2:Many: “x” is not a whole number")


def test_a_missing_needed_column_is_refused():
    with pytest.raises(Refused, match=r"p\.csv:1:description or part_number"):
        parts("quantity\n1\n")
    with pytest.raises(Refused, match=r"s\.csv:1:lead_days"):
        suppliers("supplier\nNorth Counter\n")
    with pytest.raises(Refused, match=r"o\.csv:1:price"):
        offers("supplier,sku,description\na,b,c\n")


@pytest.mark.parametrize(
    ("column_map", "said"),
    [
        ({"What": "colour"}, "no field"),
        ({"Whit": "description"}, "has none of that name"),
        ({"What": "quantity"}, "second column for quantity"),
    ],
)
def test_a_wrong_map_is_refused(column_map, said):
    with pytest.raises(Refused, match=said):
        parts("description,quantity,What\nbelt,1,x\n", column_map=column_map)


def test_a_quantity_that_is_not_stated_is_not_zero():
    rows = parts("description,quantity\nbelt,0\nfuse,\n").accepted()
    assert [row.quantity for row in rows] == [0, None]


def test_every_problem_is_listed_with_its_place_and_nothing_is_accepted():
    text = (
        "description,quantity,unit_cost,kind,currency\n"
        "belt,-1,1.00,,\n"
        "belt one,1,nan,,\n"
        "belt two,1.5,-3,,\n"
        "belt three,1,1.00,spaceship,\n"
        "belt four,1,1.00,,QQQ\n"
        ",,,,\n"
        ",3,,,\n"
    )
    staged = parts(text)
    assert [found.where for found in staged.problems] == [
        "p.csv:2:quantity",
        "p.csv:3:unit_cost",
        "p.csv:4:quantity",
        "p.csv:4:unit_cost",
        "p.csv:5:kind",
        "p.csv:6:currency",
        "p.csv:8:description",
    ]
    assert problem(staged).startswith("p.csv:2:quantity: ")
    assert "6 more problems" in problem(staged)
    assert "\n" not in problem(staged)


def test_at_most_twenty_problems_are_shown_and_all_are_counted():
    staged = parts("description,quantity\n" + "".join(f"belt {n},x\n" for n in range(50)))
    assert len(staged.problems) == 20
    assert staged.problem_count == 50
    assert "49 more" in problem(staged)


def test_a_part_number_stands_once_and_a_bare_description_once_a_place():
    assert "line 2 says otherwise" in problem(parts("part_number,place\nAB-1,a\nab-1,b\n"))
    assert "line 2 says otherwise" in problem(parts("description,place,quantity\nbelt,a,1\nBelt,A,2\n"))
    assert len(parts("description,place\nbelt,a\nbelt,b\n").accepted()) == 2


def test_a_row_that_says_the_same_word_for_word_counts_once_and_is_told():
    found = parts("part_number,quantity\nAB-1,2\nCD-1,4\nAB-1,2\nAB-1,2\n")
    assert [row.part_number for row in found.accepted()] == ["AB-1", "CD-1"]
    assert found.repeats == ((4, 2), (5, 2))
    assert found.repeated == "2 rows say the same as an earlier one, taken once: line 4 as 2, 5 as 2"
    row = "North Counter,F2,,fuse 2A,,,,1,1,,,\n"
    step = "North Counter,F2,,,,,,9,0.80,,,\n"
    found = offers(OFFERS + row + step + row + step)
    (offer,) = found.accepted()
    assert [one.start for one in offer.steps] == [1, 9]
    assert found.repeats == ((4, 2), (5, 3))
    found = suppliers("supplier,lead_days\nNorth,3\nNorth,3\n")
    assert len(found.accepted()) == 1
    assert found.repeated == "1 row says the same as an earlier one, taken once: line 3 as 2"


def test_rows_that_contradict_each_other_are_refused_with_both_lines():
    for text, said in (
        (parts("part_number,quantity\nAB-1,2\nAB-1,3\n"), "p.csv:3:part_number: line 2 says otherwise of “AB-1”"),
        (suppliers("supplier,lead_days\nNorth,3\nNorth,4\n"), "s.csv:3:supplier: line 2 says otherwise of “North”"),
        (
            offers(OFFERS + "North Counter,F2,,fuse 2A,,,,1,1,,,\nNorth Counter,F2,,fuse 2A,,,,1,2,,,\n"),
            "o.csv:3:from: line 2 states the price from 1 on already",
        ),
    ):
        assert problem(text).startswith(said)


def test_a_cell_that_is_wrong_is_told_once():
    staged = parts(f"description,quantity\n{'x' * 5000},1\n")
    assert [one.text for one in staged.problems] == ["longer than 2,000 characters; shorten it"]


def test_every_problem_has_a_line_of_its_own_up_to_twenty():
    with pytest.raises(Refused) as refused:
        parts("description,quantity\n" + "".join(f"belt {n},x\n" for n in range(23))).accepted()
    lines = refused.value.lines
    assert len(lines) == 21
    assert [line.split(": ")[0] for line in lines[:20]] == [f"p.csv:{n}:quantity" for n in range(2, 22)]
    assert lines[20] == "and 3 more problems of this list"


def test_outside_text_is_cleaned_or_refused():
    text = "description,place,quantity\n\x1b[31mbelt\x1b[0m\u202e x,[b]box[/b],1\n"
    (row,) = parts(text).accepted()
    assert (row.description, row.place) == ("belt x", "[b]box[/b]")
    assert "p.csv:2:description: longer than 2,000" in problem(parts(f"description,quantity\n{'x' * 100_000},1\n"))
    with pytest.raises(Refused, match=r"p\.csv:2: broken row"):
        parts(f"description,quantity\n{'x' * 200_000},1\n")
    with pytest.raises(Refused, match=r"p\.csv:3: broken row"):
        parts('description,quantity\nbelt,1\n"open,1\n')
    with pytest.raises(Refused, match=r"p\.csv:2: more cells"):
        parts("description,quantity\nbelt, 43 mm,1\n")


def test_huge_numbers_are_refused():
    for quantity in ("9" * 30, "1e3", "٣", "1000000001"):
        assert "p.csv:2:quantity" in problem(parts(f"description,quantity\nbelt,{quantity}\n"))
    assert "too large" in problem(parts(f"description,unit_cost\nbelt,{'9' * 20}\n"))


def test_formula_cells_survive_writing_and_reading_and_are_never_written_bare():
    cells = ["=1+1", "+5 V part", "-x", "@x", "'=1", "plain", "it's"]
    text = columns.write_table("parts", [{"description": cell, "place": f"box {n}"} for n, cell in enumerate(cells)])
    assert [row.description for row in parts(text).accepted()] == cells
    for line in text.splitlines()[1:]:
        assert line.split(",")[1][0] not in "=+-@"


@settings(max_examples=50)
@given(st.lists(st.text(max_size=40), min_size=1, max_size=5))
def test_any_cleaned_text_is_read_back_as_written(texts):
    kept = [columns.clean_line(text) for text in texts]
    text = columns.write_table("parts", [{"part_number": f"n{n}", "description": cell} for n, cell in enumerate(kept)])
    assert [row.description for row in parts(text).accepted()] == kept


@settings(max_examples=100)
@given(st.text(alphabet=st.sampled_from('ab,;\t"\n\r\0=1é\x1b['), max_size=60))
def test_junk_is_read_or_refused_and_nothing_else(junk):
    try:
        staged = parts("description,quantity\n" + junk)
        places = [found.where for found in staged.problems]
    except Refused as refused:
        places = [refused.where]
    assert all(place.startswith("p.csv:") for place in places)


def test_what_a_description_is_kept_as():
    kept = pricelists.described("fuse 2A slow", "", "", reader)
    assert (kept.kind, kept.left_over) == ("fuse", "slow")
    ambiguous = pricelists.described("fuse", "", "", reader)
    assert (ambiguous.kind, ambiguous.spec, ambiguous.left_over) == ("", None, "fuse")
    stated = pricelists.described("green thing", "", "belt", reader)
    assert (stated.kind, stated.spec, stated.left_over) == ("belt", None, "green thing")
    listed = pricelists.described("lens unit", "QX-9", "listed", reader)
    assert (listed.kind, listed.spec.word("part_number"), listed.left_over) == ("listed", "QX-9", "lens unit")
    number_only = pricelists.described("", "QX-9", "", reader)
    assert (number_only.kind, number_only.spec.part_number) == ("listed", "QX-9")


def test_suppliers_are_read_in_minor_units():
    text = (
        "supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from\n"
        "North Counter,,3,5,10,3.95,20\n"
        "Far Yen,jpy,9,,,500,\n"
    )
    north, far = suppliers(text).accepted()
    assert (north.currency, north.lead_days, north.lead_days_late) == ("EUR", 3, 5)
    assert (north.min_order, north.shipping, north.free_from) == (1000, 395, 2000)
    assert (far.currency, far.lead_days_late, far.shipping, far.free_from) == ("JPY", None, 500, None)


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ("North,5,3", "lead_days_late"),
        ("North,,3", "lead_days"),
        ("North,-1,3", "lead_days"),
        ("North,5000,", "lead_days"),
        (",1,3", "supplier"),
        ("North,1,2\nNORTH,1,2", "supplier"),
    ],
)
def test_bad_suppliers_are_refused_with_the_place(row, field):
    staged = suppliers(f"supplier,lead_days,lead_days_late\n{row}\n")
    assert problem(staged).split(": ")[0].endswith(f":{field}")


OFFERS = "supplier,sku,part_number,description,pack,min_packs,stock,from,price,price_per,discount,currency\n"


def test_rows_of_one_sku_are_the_steps_of_one_offer():
    text = OFFERS + (
        "north counter,F2,F-2,fuse 2A,1,1,40,1,0.30,1,all_units,EUR\n"
        "North Counter,G1,G-1,belt,,,,,2.20,,,\n"
        "North Counter,f2,F-2,fuse 2A,1,1,40,10,0.0125,1,ALL_UNITS,EUR\n"
        "North Counter,F2,,,,,,100,1,1000,,\n"
    )
    fuse, belt = offers(text).accepted()
    assert [(step.start, step.amount, step.per) for step in fuse.steps] == [
        (1, 30, 1),
        (10, 125, 100),
        (100, 100, 1000),
    ]
    assert (fuse.supplier, fuse.pack, fuse.min_packs, fuse.stock_packs) == ("North Counter", 1, 1, 40)
    assert fuse.spec.number("current") == 2
    assert (belt.stock_packs, belt.discount, belt.steps[0].amount) == (None, "all_units", 220)
    assert belt.spec.part_number == "G-1"


def test_a_first_step_at_the_smallest_order_holds_from_one():
    (offer,) = offers(OFFERS + "North Counter,F2,,fuse 2A,10,2,,20,0.30,,,\n").accepted()
    assert [step.start for step in offer.steps] == [1]


@pytest.mark.parametrize(
    ("rows", "place", "said"),
    [
        ("Nobody,F2,,fuse 2A,,,,,1,,,", "2:supplier", "import the suppliers first"),
        ("North Counter,F2,,fuse 2A,,,,,1,,,USD", "2:currency", "one currency"),
        ("North Counter,F2,,fuse 2A,,,,5,1,,,", "2:from", "smallest order of 1"),
        ("North Counter,F2,,fuse 2A,,,,1,1,,,\nNorth Counter,F2,,,,,,1,2,,,", "3:from", "line 2"),
        ("North Counter,F2,,fuse 2A,,,,9,1,,,\nNorth Counter,F2,,,,,,1,1,,,", "2:from", "smallest order"),
        ("North Counter,F2,,fuse 2A,,,,1,1,,,\nNorth Counter,F2,,fuse 3A,,,,9,1,,,", "3:description", "line 2"),
        ("North Counter,F2,,fuse 2A,2,,,1,1,,,\nNorth Counter,F2,,,3,,,9,1,,,", "3:pack", "line 2"),
        ("North Counter,F2,,fuse 2A,0,,,1,1,,,", "2:pack", "whole number"),
        ("North Counter,F2,,fuse 2A,,,,,0,,,", "2:price", "zero"),
        ("North Counter,F2,,fuse 2A,,,,,-1,,,", "2:price", "below zero"),
        ("North Counter,F2,,fuse 2A,,,,,nan,,,", "2:price", "plain figure"),
        ("North Counter,F2,,fuse 2A,,,,,,,,", "2:price", "must be stated"),
        ("North Counter,F2,,fuse 2A,,,,,1,0,,", "2:price_per", "whole number"),
        ("North Counter,F2,,fuse 2A,,,-4,,1,,,", "2:stock", "whole number"),
        ("North Counter,F2,,fuse 2A,,,,,1,,sometimes,", "2:discount", "none of"),
        ("North Counter,,,fuse 2A,,,,,1,,,", "2:sku", "must be stated"),
        ("North Counter,F2,,,,,,,1,,,", "2:description", "needs a description"),
    ],
)
def test_bad_offers_are_refused_with_the_place(rows, place, said):
    message = problem(offers(OFFERS + rows + "\n"))
    assert message.startswith(f"o.csv:{place}: ")
    assert said in message


def test_prices_are_in_the_currency_of_the_supplier():
    (offer,) = offers(OFFERS + "Far Yen,F2,,fuse 2A,,,,,120,,,\n").accepted()
    assert offer.steps[0].amount == 120


@pytest.mark.parametrize(
    ("header", "kind"),
    [
        ("part_number,description,kind,quantity,place,unit_cost,currency", "parts"),
        ("description;place", "parts"),
        ("supplier,currency,lead_days,lead_days_late,min_order,shipping,free_from", "suppliers"),
        (OFFERS.strip(), "offers"),
        ("SKU\tSupplier\tPrice\tDescription", "offers"),
        ("count,class,symptom,model,note", "units"),
        ("Artikel,Menge", None),
        ("quantity", None),
    ],
)
def test_a_header_tells_which_list_it_is(tmp_path, header, kind):
    path = tmp_path / "list.csv"
    path.write_text(header + "\n", encoding="utf-8")
    assert columns.looks_like(path) == kind


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("stick module SM-4K", "SM-4K"),
        ("SM-4K", "SM-4K"),
        ("speaker SP-8R, 8 ohm", "SP-8R"),
        ("telescopic aerial 70 cm", ""),
        ("sets BP-12 BP-14", ""),
        ("no number at all", ""),
    ],
)
def test_a_listed_part_goes_by_the_number_in_its_text(text, number):
    assert pricelists.number_in(text) == number
