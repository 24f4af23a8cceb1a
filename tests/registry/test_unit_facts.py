"""Every fact of a unit: does it come from a file, stand on the page, and go along with all that happens to the unit?

A fact that joins the table has to be given a value in `rows.FULL`; all else here goes by the table.
"""

import pytest

from fleet import models
from fleet.coverage.actions import terms
from fleet.front.queries import units as page
from fleet.loading import history
from fleet.loading.installs.units import KNOWN_BY
from fleet.models.facts import facts_of
from fleet.registry.actions import merges
from fleet.sheets.columns import in_plain
from tests import company, rows
from tests.rows import TODAY, installed

pytestmark = pytest.mark.django_db

FACTS = facts_of(models.Unit)
# What is left of these must still say which unit it is.
NEEDED = {*KNOWN_BY, "role"}


@pytest.fixture
def full() -> models.Unit:
    terms.load_tables([rows.PLAN], on=TODAY)
    installed(rows.FULL)
    return models.Unit.objects.get()


@pytest.mark.parametrize("name", FACTS)
def test_it_comes_from_a_file(name, full):
    assert name in rows.FULL
    assert getattr(full, name) not in (None, "")


@pytest.mark.parametrize("name", FACTS)
def test_it_is_corrected_on_a_form_and_logged_by_its_label(name, full):
    office = company.as_role("office")
    form = office.get(f"/units/{full.pk}/correct").context["form"]
    assert form[name].label == FACTS[name].label
    assert form[name].value() == in_plain(getattr(full, name))
    if name in NEEDED:
        return
    office.post(f"/units/{full.pk}/correct", {f"was_{name}": form[name].value(), name: ""})
    full.refresh_from_db()
    assert getattr(full, name) in (None, "")
    assert models.Change.objects.get().field == name
    assert FACTS[name].label in office.get(f"/units/{full.pk}/changes").content.decode()


@pytest.mark.parametrize("name", [name for name, fact in FACTS.items() if fact.page])
def test_its_page_says_it(name, full):
    identity = page.page(full.pk, on=TODAY).identity
    said = {fact.name: fact.value for fact in (*identity.dates, *identity.facts)}
    assert said[FACTS[name].page].strip()


@pytest.mark.parametrize("name", [name for name, fact in FACTS.items() if fact.new_install])
def test_a_new_install_asks_for_it(name, full):
    form = company.as_role("office").get("/new-install").context["form"]
    asked = {"row": form.units.forms[0].shown(), "once": form.install.once(), "more": form.install.more()}
    assert [field.name for field in asked[FACTS[name].new_install]].count(name) == 1


@pytest.mark.parametrize("name", sorted(FACTS.keys() - NEEDED))
def test_of_two_that_are_one_a_blank_takes_the_others(name, full):
    bare = rows.unit("A 1-l", within=full.system)
    merges.merge("unit", bare.pk, full.pk, chosen={"serial": "kept"}, by=None, on=TODAY)
    bare.refresh_from_db()
    assert getattr(bare, name) == getattr(full, name)


@pytest.mark.parametrize("name", sorted(FACTS.keys() - NEEDED))
def test_what_takes_its_place_has_what_is_of_the_spot_and_on_its_page_what_is_of_the_line(name, full):
    told = {"kind": "exchanged", "day": "2022-03-04", "under_warranty": "yes", "new_serial": "N 1"}
    history.load_rows([{"serial": full.serial} | told], on=TODAY)
    heir = models.Unit.objects.get(took_over_from=full)
    fact, before = FACTS[name], page.page(full.pk, on=TODAY).identity
    assert (getattr(heir, name) == getattr(full, name)) == fact.stays
    if fact.handed_on and fact.page:
        after = page.page(heir.pk, on=TODAY).identity
        assert {one for one in (*before.dates, *before.facts) if one.name == fact.page} <= {*after.dates, *after.facts}
