"""Two customers of one name, told apart by their street: in files, merged, sold to, moved between, and planned for."""

import pytest
from django.core.management import call_command

from fleet import models
from fleet.derived import lookup, recheck
from fleet.elements import named
from fleet.elements.edits import Edit
from fleet.loading import agreements
from fleet.loading.loading import Hooks
from fleet.loading.whose import Whose
from fleet.registry.actions import correct, merges
from fleet.rules.spreadsheets.places import same_street
from fleet.sheets import BadFile
from tests import rows
from tests.rows import TODAY, installed

pytestmark = pytest.mark.django_db


@pytest.fixture
def two():
    """Two Ada Quills, each with a site named Home: in Alder Road and in Birch Street."""
    streets = ("4 Alder Road", "9 Birch Street")
    made = [rows.site(rows.customer("Ada Quill"), "Home", street=street) for street in streets]
    lookup.index(customers=models.Customer.objects.all(), sites=made)
    return made


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


def problems(*told, **how):
    with pytest.raises(BadFile) as refused:
        installed(*told, **how)
    assert not models.Unit.objects.exists()
    return [(one.row, one.column, one.wanted) for one in refused.value.problems]


def whose(serial: str) -> str:
    return models.Unit.objects.get(serial=serial).system.site.street


def test_the_street_of_a_row_says_which_customer_it_means(two):
    alder = {"street": "4 Alder Road", "serial": "A-1"}
    birch = {"street": "9 birch  street", "serial": "B-1"}
    with pytest.raises(BadFile, match="'9 Birch Street' as on file, not '9 birch  street'"):
        installed(birch)  # it is found by its street, and then held to how that is written
    report = installed(alder, birch | {"street": "9 Birch Street"})
    assert (report.added, dict(report.made)) == (2, {"system": 2})
    assert (whose("A-1"), whose("B-1")) == ("4 Alder Road", "9 Birch Street")
    assert installed(alder, birch | {"street": "9 Birch Street"}).unchanged == 2
    assert clean()


def test_heads_of_one_room_at_both_are_two(two):
    """Without a serial a unit is known by its place; the two places have the same names."""
    assert installed({"street": "4 Alder Road"}, {"street": "9 Birch Street"}).added == 2
    assert models.Unit.objects.values("system__site").distinct().count() == 2


def test_a_row_that_leaves_it_open_is_refused_with_both_streets(two):
    said = "the street of the site, since 2 sites on file are Ada Quill, Home: 4 Alder Road or 9 Birch Street"
    assert problems({"serial": "A-1"}, {"serial": "A-2"}) == [(2, "street", said)]
    another = f"{said}; --apart makes it another customer of that name"
    assert problems({"serial": "A-1", "street": "1 Cedar Court"}) == [(2, "street", another)]
    both = [
        {"serial": "A-1", "street": "4 Alder Road"},
        {"serial": "B-1", "street": "9 Birch Street"},
        {"serial": "C-1"},
    ]
    assert problems(*both) == [(4, "street", said)]


def test_a_blank_street_takes_that_of_the_other_rows_of_the_site(two):
    installed({"serial": "A-1"}, {"serial": "A-2", "street": "9 Birch Street"})
    assert (whose("A-1"), whose("A-2")) == ("9 Birch Street", "9 Birch Street")


def test_a_site_that_only_one_of_them_has_says_who_is_meant(two):
    barn = rows.site(two[1].customer, "Barn")
    installed({"serial": "A-1", "site": "Barn", "street": "9 Birch Street, rear"})
    assert models.Unit.objects.get().system.site == barn
    barn.refresh_from_db()
    assert barn.street == "9 Birch Street, rear"


def test_a_site_that_none_of_them_has_is_refused_with_those_they_have(two):
    theirs = "2 customers are named Ada Quill (Home, 4 Alder Road; Home, 9 Birch Street)"
    said = f"a site of theirs, since {theirs}; enter a new site of one of them under New install first"
    assert problems({"serial": "A-1", "site": "Shop"}) == [(2, "customer", said)]


def test_two_rows_of_one_serial_at_both_places_are_refused(two):
    told = [{"serial": "A-1", "street": one.street} for one in two]
    assert (3, "customer", "the same customer as in row 2, which is of the same unit") in problems(*told)


def test_one_customer_of_a_name_is_known_by_it_as_ever(two):
    """What a file meant it still means: another street of one customer's site is a contradiction, no other customer."""
    models.Site.objects.filter(pk=two[1].pk).delete()
    models.Customer.objects.filter(pk=two[1].customer_id).delete()
    assert problems({"serial": "A-1", "street": "9 Birch Street"})[0][1] == "street"
    assert installed({"serial": "A-1", "site": "Barn", "street": "9 Birch Street"}).made == {"site": 1, "system": 1}


# -- another customer of a name that is on file


def apart_at(*told, **how):
    """Load rows, whoever is named at a street that is none of theirs being another customer."""
    hooks = Hooks()
    hooks.whose = Whose(**(how or {"apart": True}))
    return installed(*told, hooks=hooks)


@pytest.fixture
def one(two):
    """One Ada Quill, at 4 Alder Road."""
    two[1].customer.sites.all().delete()
    models.Customer.objects.filter(pk=two[1].customer_id).delete()
    return two[0]


def test_the_street_that_is_none_of_theirs_is_another_customers_where_that_is_said(one):
    told = [
        {"serial": "A-1", "street": "4 Alder Road"},
        {"serial": "B-1", "street": "9 Birch Street", "phone": "555-0102"},
        {"serial": "B-2", "street": "9 Birch Street"},
        {"serial": "C-1", "site": "Barn", "street": "1 Cedar Court"},
    ]
    report = apart_at(*told)
    assert (dict(report.made), report.joined) == ({"customer": 2, "site": 2, "system": 3}, ())
    assert [whose(serial) for serial in ("A-1", "B-1", "B-2", "C-1")] == [row.get("street") for row in told]
    assert models.Unit.objects.get(serial="A-1").system.site == one
    assert sorted(apart().values()) == ["1 Cedar Court", "4 Alder Road", "9 Birch Street"]
    assert installed(*told).unchanged == 4  # from now on the streets say it
    assert clean()


def test_a_street_written_otherwise_is_theirs_all_the_same(one):
    with pytest.raises(BadFile, match="'4 Alder Road' as on file, not '4 alder rd'"):
        apart_at({"serial": "A-1", "street": "4 alder rd"})
    assert models.Customer.objects.count() == 1


def test_a_site_without_a_street_on_file_is_filled_and_makes_nobody_new(one):
    models.Site.objects.update(street="")
    assert dict(apart_at({"serial": "A-1", "street": "9 Birch Street"}).made) == {"system": 1}
    assert whose("A-1") == "9 Birch Street"


def test_one_site_of_a_new_name_at_two_streets_is_two_customers(db):
    told = [{"serial": "A-1", "street": "4 Alder Road"}, {"serial": "B-1", "street": "9 Birch Street"}]
    assert "one street for the whole site" in problems(*told)[0][2]
    assert dict(apart_at(*told).made) == {"customer": 2, "site": 2, "system": 2}
    assert models.Unit.objects.values("system__site__customer").distinct().count() == 2


def test_whoever_is_chosen_for_a_street_gets_its_site(two):
    row = {"serial": "A-1", "site": "Shop", "street": "1 Cedar Court"}
    birch = two[1].customer_id
    apart_at(row, by_street={("Ada Quill", same_street("1 Cedar Court")): birch})
    assert models.Unit.objects.get().system.site.customer_id == birch


def test_a_customer_who_is_gone_meanwhile_is_asked_about_again(two):
    row = {"serial": "A-1", "site": "Shop", "street": "1 Cedar Court"}
    with pytest.raises(BadFile, match="2 customers are named Ada Quill"):
        apart_at(row, by_street={("Ada Quill", same_street("1 Cedar Court")): 999_999})


def test_a_site_that_goes_to_a_customer_by_the_name_alone_is_told(one):
    report = installed({"serial": "A-1", "site": "Barn", "street": "9 Birch Street"})
    assert report.joined == ("Ada Quill, 9 Birch Street",)
    assert installed({"serial": "A-1", "site": "Barn", "street": "9 Birch Street"}).joined == ()


def test_the_command_says_and_takes_it(one, tmp_path, capsys):
    file = tmp_path / "more.csv"
    row = rows.INSTALL | {"serial": "A-1", "site": "Barn", "street": "9 Birch Street"}
    file.write_text(f"{','.join(row)}\n{','.join(row.values())}\n")
    call_command("load_installs", str(file), "--check")
    assert "1 site went to a customer on file by the name alone: Ada Quill, 9 Birch Street." in capsys.readouterr().out
    call_command("load_installs", str(file), "--apart")
    assert "by the name alone" not in capsys.readouterr().out
    assert models.Customer.objects.filter(name="Ada Quill").count() == 2


def test_an_agreement_says_by_its_site_whose_it_is(two):
    row = {
        "customer": "Ada Quill", "site": "Home", "start_on": "2026-03-31", "months": "12", "visits_per_year": "2",
        "first_head": "120.00",
    }  # fmt: skip
    with pytest.raises(BadFile) as refused:
        agreements.load_rows([row], on=TODAY)
    (one,) = refused.value.problems
    streets = "4 Alder Road or 9 Birch Street"
    assert one.wanted == f"the street of the site, since 2 sites on file are Ada Quill, Home: {streets}"
    agreements.load_rows([row | {"street": "9 Birch St"}], on=TODAY)
    assert models.Agreement.objects.get().site == two[1]
    assert agreements.load_rows([row | {"street": "9 Birch Street"}], on=TODAY).unchanged == 1
    models.Agreement.objects.all().delete()
    correct.site(two[1].pk, {"name": Edit("Home", "Lodge")}, by=None, on=TODAY)
    agreements.load_rows([row, row | {"site": "Lodge"}], on=TODAY)
    assert [one.site.street for one in models.Agreement.objects.order_by("pk")] == [one.street for one in two]


def test_an_agreement_goes_to_no_site_at_another_street(two):
    row = {
        "customer": "Ada Quill", "site": "Home", "street": "1 Cedar Court", "start_on": "2026-03-31", "months": "12",
        "visits_per_year": "2", "first_head": "120.00",
    }  # fmt: skip
    models.Site.objects.filter(pk=two[1].pk).delete()
    models.Customer.objects.filter(pk=two[1].customer_id).delete()
    with pytest.raises(BadFile) as refused:
        agreements.load_rows([row], on=TODAY)
    (one,) = refused.value.problems
    assert (one.column, one.wanted) == (
        "street", "the street of Ada Quill, Home: '4 Alder Road' as on file, not '1 Cedar Court'",
    )  # fmt: skip


def test_a_unit_on_file_at_one_of_them_does_not_move_to_the_other_unsaid(two):
    installed({"serial": "A-1", "street": "4 Alder Road"})
    with pytest.raises(BadFile) as refused:
        installed({"serial": "A-1", "street": "9 Birch Street"})
    (one,) = refused.value.problems
    assert one.column == "customer"
    assert (
        "'Ada Quill (4 Alder Road), Home, Main' as on file, not 'Ada Quill (9 Birch Street), Home, Main'" in one.wanted
    )
    installed({"serial": "A-1", "street": "9 Birch Street"}, correct=True)
    assert whose("A-1") == "9 Birch Street"
    assert clean()


def test_names_from_before_a_merge_are_asked_about_where_they_were_those_of_two(two):
    """Ann Quill was merged into each of the two, one after the other; a file that is older names only Ann."""
    for one in two:
        ann = rows.customer("Ann Quill")
        merges.merge("customer", one.customer_id, ann.pk, chosen={"name": "kept"}, by=None, on=TODAY)
    assert problems({"customer": "Ann Quill", "serial": "A-1"})[0][1] == "street"
    installed({"customer": "Ann Quill", "serial": "A-1", "street": "9 Birch Street"})
    assert models.Unit.objects.get().system.site == two[1]


def test_a_customer_may_take_a_name_that_another_has(two):
    third = rows.customer("Ada Quil")
    correct.customer(third.pk, {"name": Edit("Ada Quil", "Ada Quill")}, by=None, on=TODAY)
    assert models.Customer.objects.filter(name="Ada Quill").count() == 3


def test_two_of_one_name_are_merged_and_taken_apart_again(two):
    correct.site(two[1].pk, {"name": Edit("Home", "Lodge")}, by=None, on=TODAY)
    before = rows.said()
    made = merges.merge("customer", two[0].customer_id, two[1].customer_id, chosen={}, by=None, on=TODAY)
    installed({"serial": "A-1", "site": "Lodge"})  # the name is that of one again
    models.Unit.objects.all().delete()
    merges.undo(made.pk, by=None, on=TODAY)
    assert models.Customer.objects.filter(name="Ada Quill").count() == 2
    assert rows.said() == before


# -- what tells them apart in every list


def apart() -> dict[int, str]:
    return dict(models.Customer.objects.filter(name="Ada Quill").values_list("pk", "apart"))


def test_recheck_reports_what_no_action_kept(two):
    models.Customer.objects.filter(pk=two[0].customer_id).update(apart="Elsewhere")
    (found,) = recheck.differences(on=TODAY)
    assert (found.unit, found.kept, found.worked_out) == ("Ada Quill", "Elsewhere", "4 Alder Road")


def test_a_street_is_kept_as_long_as_two_have_the_name(two):
    first, second = (site.customer_id for site in two)
    assert apart() == {first: "4 Alder Road", second: "9 Birch Street"}
    correct.site(two[1].pk, {"street": Edit("9 Birch Street", "11 Birch Street")}, by=None, on=TODAY)
    assert apart() == {first: "4 Alder Road", second: "11 Birch Street"}
    correct.customer(second, {"name": Edit("Ada Quill", "Ada Quillon")}, by=None, on=TODAY)
    assert apart() == {first: ""}
    correct.customer(second, {"name": Edit("Ada Quillon", "Ada Quill")}, by=None, on=TODAY)
    assert apart() == {first: "4 Alder Road", second: "11 Birch Street"}
    assert clean()


def test_a_merge_and_its_undoing_keep_what_is_so(two):
    correct.site(two[1].pk, {"name": Edit("Home", "Lodge")}, by=None, on=TODAY)
    first, second = (site.customer_id for site in two)
    made = merges.merge("customer", first, second, chosen={}, by=None, on=TODAY)
    assert apart() == {first: ""}
    merges.undo(made.pk, by=None, on=TODAY)
    assert apart() == {first: "4 Alder Road", second: "9 Birch Street"}
    assert clean()


def test_a_list_names_the_street_below_the_name(two):
    cell = named.customer("customer").cell(models.Site.objects.get(pk=two[1].pk))
    assert (cell.value, cell.note) == ("Ada Quill", "9 Birch Street")
    models.Customer.objects.update(phone="555-0101")
    cell = named.customer("customer", with_phone=True).cell(models.Site.objects.get(pk=two[1].pk))
    assert cell.note == "9 Birch Street, 555-0101"


def test_a_file_that_brings_a_street_keeps_it(two):
    models.Site.objects.filter(pk=two[0].pk).update(street="", name="Barn")
    installed({"site": "Barn", "street": "1 Cedar Court"})
    assert apart() == {two[0].customer_id: "1 Cedar Court", two[1].customer_id: "9 Birch Street"}
