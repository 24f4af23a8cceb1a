"""Lists said once: which order an address asks for, what filters let through, which page, what a click on a head asks for next."""

import datetime as dt
from types import SimpleNamespace

import pytest
from django.db.models import Q

from fleet import models
from fleet.elements import named
from fleet.elements.cells import Column
from fleet.elements.listing import PER_PAGE, Filter, List, Sort, same_key, text_in
from tests import company

ON = dt.date(2026, 3, 2)


def row(name: str, day: str = "") -> SimpleNamespace:
    return SimpleNamespace(name=name, day=company.day(day) if day else None)


def listed(*rows, usual: str = "day", **more) -> List:
    """A list of rows at hand."""
    return List(
        file="list",
        caption="A list",
        rows=lambda filters, on: list(rows),
        usual=usual,
        columns=(
            Column("name", "Name", order=("name",)),
            Column("day", "Day", "day", order=("day",)),
            Column("note", "Note", value="name"),
        ),
        **more,
    )


def names(of: List, **chosen) -> list[object]:
    return [one.cells[0].value for one in of.page(of.filters_for(**chosen), on=ON).rows]


@pytest.mark.parametrize(
    ("text", "sort"),
    [
        pytest.param("", Sort("day"), id="nothing asked"),
        pytest.param("name", Sort("name"), id="rising"),
        pytest.param("-name", Sort("name", falling=True), id="falling"),
        pytest.param("note", Sort("day"), id="a column that does not sort"),
        pytest.param("--name", Sort("day"), id="nonsense"),
        pytest.param("-", Sort("day"), id="only a sign"),
    ],
)
def test_a_sort_is_one_that_a_column_has(text, sort):
    assert listed().filters_for(sort=text).sort == sort


def test_what_is_blank_comes_last_either_way():
    of = listed(row("b", "2024-02-01"), row("A"), row("c", "2023-02-01"))
    assert (names(of), names(of, sort="-day")) == (["c", "b", "A"], ["b", "c", "A"])


def test_capital_letters_do_not_sort_apart():
    assert names(listed(row("beta"), row("Alpha"), row("Gamma")), sort="name") == ["Alpha", "beta", "Gamma"]


def test_a_list_without_an_order_of_its_own_stands_as_its_rows_do():
    assert names(listed(row("b"), row("c"), row("a"), usual="")) == ["b", "c", "a"]


def test_a_click_on_a_head_turns_the_sort_over_or_takes_another_column():
    of = listed()
    rising, falling = (of.page(of.filters_for(sort=sort), on=ON) for sort in ("name", "-name"))
    assert [(head.next, head.sorted) for head in rising.headings[:2]] == [("-name", "ascending"), ("day", "")]
    assert [(head.next, head.sorted) for head in falling.headings[:2]] == [("name", "descending"), ("day", "")]


@pytest.mark.parametrize(
    ("count", "number", "last_number", "first", "last"),
    [
        pytest.param(0, 1, 1, 0, 0, id="empty"),
        pytest.param(PER_PAGE, 1, 1, 1, 50, id="just one page"),
        pytest.param(PER_PAGE + 1, 1, 2, 1, 50, id="the first of two"),
        pytest.param(PER_PAGE + 1, 2, 2, 51, 51, id="the last of two"),
        pytest.param(PER_PAGE + 1, 9, 2, 51, 51, id="past the end"),
        pytest.param(PER_PAGE + 1, "x", 2, 1, 50, id="nonsense"),
        pytest.param(PER_PAGE + 1, None, 2, 1, 50, id="no page asked for"),
    ],
)
def test_pages_of_a_list(count, number, last_number, first, last):
    of = listed(*(row(f"{place:03}") for place in range(count)), usual="name")
    page = of.page(of.filters_for(), number=number, on=ON)
    assert (page.count, page.page.paginator.num_pages) == (count, last_number)
    assert (page.page.start_index(), page.page.end_index()) == (first, last)
    assert [one.cells[0].value for one in page.rows] == [f"{place:03}" for place in range(max(0, first - 1), last)]


def test_a_list_may_have_fewer_rows_on_a_page_than_others():
    of = listed(*(row(f"{place:03}") for place in range(7)), usual="name", per_page=3)
    pages = [of.page(of.filters_for(), number=number, on=ON) for number in (1, 3)]
    assert [len(page.rows) for page in pages] == [3, 1]
    assert pages[0].page.paginator.num_pages == 3
    assert len(of.first(5, on=ON).rows) == 5
    assert len(list(of.all(of.filters_for(), on=ON))) == 7


def test_only_what_is_shown_is_completed_and_a_file_a_few_hundred_at_a_time():
    told = []
    of = listed(
        *(row(f"{place:04}") for place in range(1200)),
        usual="name",
        complete=lambda rows, on: told.append((len(rows), on)) or rows,
    )
    of.page(of.filters_for(), number=2, on=ON)
    assert len(list(of.all(of.filters_for(), on=ON))) == 1200
    assert told == [(PER_PAGE, ON), (500, ON), (500, ON), (200, ON)]
    assert of.page(of.filters_for(), size=3, on=ON).count == of.first(3, on=ON).count == 1200


FILTERS = (
    Filter("days", choices=(30, 90), blank="", usual=30, narrows=False),
    Filter("payer", choices=("maker", "labor plan")),
)


@pytest.mark.parametrize(
    ("chosen", "values", "narrowed"),
    [
        pytest.param({}, (30, ""), False, id="as usual"),
        pytest.param({"days": 90}, (90, ""), False, id="one that does not narrow"),
        pytest.param({"payer": "maker", "days": None}, (30, "maker"), True, id="one that narrows"),
    ],
)
def test_a_list_is_narrowed_by_what_somebody_chose(chosen, values, narrowed):
    of = listed(filters=FILTERS)
    page = of.page(of.filters_for(**chosen), on=ON)
    assert ((page.filters.days, page.filters.payer), page.narrowed) == (values, narrowed)


@pytest.mark.parametrize(
    ("of", "pairs"),
    [
        (Filter("a", choices=("x", "y")), [("", "any"), ("x", "x"), ("y", "y")]),
        (Filter("a", choices=lambda: [("x", "an x")], blank="all"), [("", "all"), ("x", "an x")]),
        (Filter("a", choices=(30, 90), blank=""), [(30, "30"), (90, "90")]),
    ],
)
def test_what_may_be_chosen(of, pairs):
    assert of.pairs == pairs


@pytest.mark.parametrize(
    ("where", "value", "condition"),
    [
        ("payer", "maker", Q(payer="maker")),
        ("payer", "", Q()),
        (same_key("maker_key"), "North Rill", Q(maker_key="northrill")),
        (text_in("name", keys=("key",)), "sb-1", Q(name__icontains="sb-1") | Q(key__contains="sb1")),
        (text_in("name", keys=("key",)), "-", Q(name__icontains="-")),
    ],
)
def test_a_filter_is_a_condition_on_rows(where, value, condition):
    assert Filter("a", where=where).condition(value) == condition


UNITS = List(
    file="units",
    caption="Units",
    rows=lambda filters, on: models.Unit.objects.select_related("system__site__customer"),
    usual="room",
    tie=("-serial_key",),
    columns=(
        Column("room", "Room", order=("room",)),
        Column("installed", "Installed", "day", value="installed_on", order=("installed_on",)),
        Column("started", "Started", "day", value="started_on", order=("started_on",), blanks_last=True),
    ),
    filters=(Filter("text", where=text_in("room")),),
)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("chosen", "serials"),
    [
        pytest.param({}, "CBDA", id="equal rows by their tie"),
        pytest.param({"sort": "-room"}, "DACB", id="which stays as it is"),
        pytest.param({"sort": "installed"}, "CDBA", id="nothing comes first"),
        pytest.param({"sort": "-installed"}, "ABDC", id="and last when falling"),
        pytest.param({"sort": "started"}, "DBAC", id="or last"),
        pytest.param({"sort": "-started"}, "ABDC", id="either way"),
        pytest.param({"text": "lo"}, "DA", id="narrowed"),
    ],
)
def test_a_query_set_is_ordered_the_same_on_every_database(chosen, serials):
    told = (("A", "Loft", "2024-03-01"), ("B", "Den", "2024-02-01"), ("C", "Den", ""), ("D", "Loft", "2024-01-01"))
    for serial, room, day in told:
        company.unit(serial, room=room, **({"installed_on": day, "started_on": day} if day else {}))
    page = UNITS.page(UNITS.filters_for(**chosen), on=ON)
    assert "".join(one.of.serial for one in page.rows) == serials
    assert page.count == len(serials)


@pytest.mark.django_db
def test_a_unit_is_named_by_its_room_while_its_label_cannot_be_read():
    read = named.unit_cell(company.unit("SB-1", room="Hall"))
    faded = named.unit_cell(company.unit("", room="Den"))
    assert (read.value, read.shape, read.note) == ("SB-1", "", "Northrill NH-9")
    assert (faded.value, faded.shape) == ("Den", "text")
