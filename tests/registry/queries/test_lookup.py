"""Does the look-up find things by any part of what they are known by, however it was read or written?"""

import datetime as dt

import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet import models
from fleet.derived import lookup as index
from fleet.registry.queries import lookup
from fleet.rules.lookalike import folded
from tests import rows
from tests.rows import installed, undone

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    installed(
        {
            "customer": "Renée Thibault-Oakes",
            "phone": "(207) 555-0134",
            "street": "3 Schooner Court",
            "serial": "S10B-28761O",
        },
        {
            "customer": "Beatriz Łukaszewska",
            "phone": "207 555 0199",
            "street": "110 Orchard Hill Road",
            "serial": "SO1O0001",
        },
        {"customer": "Beatriz Łukaszewska", "site": "Winter house", "street": "8 Spoonbill Way", "serial": "ZZ9"},
        {"customer": "Ed", "serial": "B8"},
    )


def found(text: str, **how) -> list[tuple[str, str]]:
    return [(hit.kind, hit.text) for hit in lookup.find(text, **how)]


@pytest.mark.parametrize(
    "text",
    ["S10B28761O", "s10b-28761o", "510828761 0", "SlOB2876lO", "28761", "B-2876", "0828", "10b 28761"],
)
def test_a_serial_by_any_part_as_it_may_be_read(fleet, text):
    assert ("unit", "S10B-28761O") in found(text)


@pytest.mark.parametrize(
    "text", ["Renée", "renee", "RENEE THIB", "thibault", "thibault renee", "oakes", "T-Oakes", "ibau1t"]
)
def test_a_customer_by_any_part_of_the_name(fleet, text):
    assert ("customer", "Renée Thibault-Oakes") in found(text)


@pytest.mark.parametrize("text", ["lukaszewska", "Łukasz", "1ukas2"])
def test_a_name_with_letters_that_no_keyboard_here_has(fleet, text):
    assert ("customer", "Beatriz Łukaszewska") in found(text)


@pytest.mark.parametrize("text", ["2075550134", "207-555-0134", "5550134", "0134", "(207) 555-0134", "S55-O134"])
def test_a_phone(fleet, text):
    assert ("customer", "(207) 555-0134") in found(text)


@pytest.mark.parametrize("text", ["3 schooner", "schooner court", "Court", "3schooner", "court 3"])
def test_a_street(fleet, text):
    assert ("site", "3 Schooner Court") in found(text)


@pytest.mark.parametrize(
    "text",
    ["", "  ", "--", "!?", "%", "_", '"', "zzzzz", "schooner hill", "' OR 1=1", 'a" OR "b', "*", "NOT x", "\x00"],
)
def test_what_is_not_there_is_not_found(fleet, text):
    assert found(text) == []


def test_the_exact_one_comes_first_then_beginnings_then_insides():
    home = rows.system()
    for serial, model in (("XAB12", "1"), ("AB12", "1"), ("AB123", "1"), ("9-AB12-7", "1"), ("A-B12", "2")):
        rows.unit(serial, within=home, model=model)
    index.index(units=models.Unit.objects.all())
    assert [text for _, text in found("AB12")] == ["AB12", "A-B12", "AB123", "9-AB12-7", "XAB12"]
    assert [text for _, text in found("A812")][:2] in (["A-B12", "AB12"], ["AB12", "A-B12"])
    assert len(found("AB12", limit=2)) == 2
    assert found("AB12", limit=1) == [("unit", "AB12")]


def test_what_needs_no_look_alikes_comes_before_what_does():
    home = rows.system()
    for serial in ("5OO", "SOO", "500"):
        rows.unit(serial, within=home)
    index.index(units=models.Unit.objects.all())
    for serial in ("5OO", "SOO", "500"):
        assert found(serial)[0] == ("unit", serial)
        assert len(found(serial)) == 3


def test_a_text_of_one_or_two_signs_is_looked_for_at_the_beginning(fleet):
    assert found("ed") == [("customer", "Ed")]
    assert found("b8")[0] == ("unit", "B8")
    assert ("unit", "ZZ9") in found("z")
    assert ("unit", "ZZ9") not in found("9")


def test_a_thing_is_found_once_though_two_of_its_texts_fit():
    site = rows.site(rows.customer("Schooner"), "Schooner", street="3 Schooner Court")
    index.index(sites=[site], customers=[site.customer])
    assert found("schooner") == [("customer", "Schooner"), ("site", "Schooner")]


def test_a_hit_tells_things_apart(fleet):
    (hit,) = lookup.find("SO1O0001")
    assert (hit.title, hit.part, hit.gone) == ("SO1O0001", "serial", False)
    assert hit.line == "Osmarik OC-9, Den, Home, Beatriz Łukaszewska"
    (hit,) = lookup.find("5550199")
    assert (hit.title, hit.line) == ("Beatriz Łukaszewska", "207 555 0199, 110 Orchard Hill Road, 8 Spoonbill Way")
    (hit,) = lookup.find("spoonbill")
    assert (hit.title, hit.line) == ("Winter house", "Beatriz Łukaszewska, 8 Spoonbill Way")
    models.Unit.objects.filter(serial="ZZ9").update(removed_on="2024-01-01", removal_reason="removed")
    (hit,) = lookup.find("ZZ9")
    assert hit.gone
    assert "removed" in hit.line


def test_what_changes_is_found_by_its_new_text_and_no_more_by_the_old():
    customer = rows.customer("Ada Quill", phone="555-0101")
    index.index(customers=[customer])
    customer.phone = "555-0202"
    customer.save()
    index.index(customers=[customer])
    assert (found("5550101"), found("0202")) == ([], [("customer", "555-0202")])
    customer.phone = ""
    customer.save()
    index.index(customers=[customer])
    assert found("0202") == []
    assert models.LookupEntry.objects.count() == 1


def test_a_large_fleet_asks_no_more_queries():
    counts = []
    for number in (1, 30):
        with undone():
            installed(
                *({"customer": f"Quill {n}", "street": f"{n} Quill Road", "serial": f"QUILL{n}"} for n in range(number))
            )
            with rows.asked() as queries:
                assert len(lookup.find("quill", limit=20)) == min(20, 3 * number)
            counts.append(len(queries))
    assert counts[0] == 6
    assert counts[1] <= 6


def test_both_searches_go_by_an_index(fleet):
    """At whatever size: the plan names the trigrams for insides and the ordered index for beginnings."""
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL chooses by the size of the table")
    with rows.asked() as queries:
        lookup.find("quill")
    beginning, inside = queries[:2]
    plans = []
    with connection.cursor() as cursor:
        for query, values in ((beginning, ("quill", "quilm", 9)), (inside, ('"quill"', 9))):
            cursor.execute(f"EXPLAIN QUERY PLAN {query}", values)
            plans.append(" ".join(row[3] for row in cursor.fetchall()))
    assert "SEARCH e USING INDEX fleet_lookup_beginnings" in plans[0]
    assert "TEMP B-TREE" not in plans[0]
    assert "VIRTUAL TABLE INDEX" in plans[1]
    assert "SEARCH e USING INTEGER PRIMARY KEY" in plans[1]


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    serial=st.text("ABCSOZIL0152834-", min_size=1, max_size=12), cut=st.tuples(st.integers(0, 11), st.integers(3, 12))
)
def test_any_part_of_any_serial_finds_it(serial, cut, db):
    if not folded(serial):
        return
    with undone():
        rows.unit(serial)
        index.index(units=models.Unit.objects.all())
        start, length = cut
        part = serial[start : start + length]
        text = part if len(folded(part)) >= lookup.SHORTEST_INSIDE else serial
        swapped = text.translate(str.maketrans("OISZB01528", "015280ISZB"))
        assert found(text) == [("unit", serial)]
        assert found(swapped.lower()) == [("unit", serial)]


# ------------------------------------------------------------------------------------------------------------ several words


@pytest.fixture
def street():
    installed(
        {"customer": "Anna Petrov", "phone": "(207) 555-0134", "street": "12 Cider Lane", "city": "Lewiston",
         "postcode": "04240", "serial": "A4471-0923"},
        {"customer": "Milan Petrov", "phone": "207-555-0177", "street": "9 Mt. Hope Ave", "city": "Auburn",
         "postcode": "04210", "serial": "A4471-0999"},
        {"customer": "Cider House Press", "phone": "207 555 0188", "street": "40 Canal Street", "city": "Lewiston",
         "postcode": "04240", "serial": "QX-77"},
    )  # fmt: skip


def titles(text: str, **how) -> list[str]:
    return [
        hit.title if hit.kind != "site" else hit.line.partition(", ")[2].partition(",")[0]
        for hit in lookup.find(text, **how)
    ]


@pytest.mark.parametrize(
    "text",
    [
        "petrov cider", "cider petrov", "mrs petrov cider", "pet cid", "12 cider ln", "cider ln 12", "petrov lewiston",
        "04240 petrov", "lewiston 12", "petrov 0134 cider", "anna 207-555-0134 ln", "CIDER  lane, lewiston",
    ],
)  # fmt: skip
def test_several_words_in_any_order_and_part(street, text):
    assert titles(text) == ["12 Cider Lane"]


@pytest.mark.parametrize("text", ["(207) 555-0134", "207.555.0134", "+1 207 555 0134", "12075550134", "555 0134"])
def test_a_phone_in_any_style(street, text):
    assert titles(text) == ["Anna Petrov"]


@pytest.mark.parametrize(("text", "who"), [("mount hope", "9 Mt. Hope Ave"), ("hope avenue", "9 Mt. Hope Ave")])
def test_what_streets_are_called_short_and_long(street, text, who):
    assert titles(text) == [who]


def test_a_town_and_a_zip_code_find_the_sites_there(street):
    assert sorted(titles("lewiston")) == sorted(titles("04240")) == ["12 Cider Lane", "40 Canal Street"]


def test_a_name_of_two_finds_both_with_their_streets(street):
    assert [(hit.title, hit.line) for hit in lookup.find("mrs petrov")] == [
        ("Anna Petrov", "(207) 555-0134, 12 Cider Lane"),
        ("Milan Petrov", "207-555-0177, 9 Mt. Hope Ave"),
    ]


def test_a_name_that_is_a_street_elsewhere_comes_first_as_a_name(street):
    assert titles("cider") == ["Cider House Press", "12 Cider Lane"]


def test_a_contact_finds_the_site_and_no_longer_once_dropped(street):
    from fleet.registry.actions import contacts

    site = models.Site.objects.get(street="40 Canal Street")
    made = contacts.add(site=site.pk, told={"name": "Ode Farrow", "role": "tenant", "phone": "207 555 0199"}, by=None)
    assert titles("farrow") == titles("2075550199") == titles("farrow canal") == ["40 Canal Street"]
    contacts.change(pk=made.pk, told={"name": "Ode Barrow", "role": "tenant"}, by=None)
    assert (titles("barrow"), titles("2075550199")) == (["40 Canal Street"], [])
    contacts.drop(pk=made.pk, by=None)
    assert titles("barrow canal") == []


def test_a_customer_by_another_name_is_found_by_it_at_each_site(street):
    from fleet.elements.edits import Edit
    from fleet.registry.actions import correct

    customer = models.Customer.objects.get(name="Anna Petrov")
    correct.customer(customer.pk, {"name": Edit("Anna Petrov", "Anna Marlow")}, by=None, on=dt.date(2026, 3, 2))
    assert titles("marlow cider") == ["12 Cider Lane"]
    assert titles("petrov cider") == []


# ------------------------------------------------------------------------------------------------------------ near misses


@pytest.mark.parametrize(
    ("text", "who"),
    [
        ("milan petrof", ["Milan Petrov"]),
        ("petroff milan", ["Milan Petrov"]),
        ("petrof", ["Anna Petrov", "Milan Petrov"]),
        ("pertov", ["Anna Petrov", "Milan Petrov"]),
        ("petroff", ["Anna Petrov", "Milan Petrov"]),
        ("petrof cidre", ["12 Cider Lane"]),
        ("canel street", ["40 Canal Street"]),
        ("A4471-0932", ["A4471-0923"]),  # swapped
        ("A4471-0823", ["A4471-0923"]),  # one wrong
        ("A4471-09230", ["A4471-0923"]),  # one too many
        ("207 555 0135", ["Anna Petrov"]),
    ],
)
def test_near_misses(street, text, who):
    hits = lookup.find(text)
    assert titles(text)[: len(who)] == who
    assert all(hit.near for hit in hits)


@pytest.fixture
def rooms():
    """Anna Petrov's kitchen and den by two makers, another Petrov's kitchen, and a kitchen of somebody else; one unit is gone."""
    kitchen = {"room": "Kitchen", "maker": "Halvik", "model": "HC-12"}
    installed(
        {"customer": "Anna Petrov", "street": "12 Cider Lane", "serial": "A-1"} | kitchen,
        {
            "customer": "Anna Petrov",
            "street": "12 Cider Lane",
            "serial": "A-2",
            "room": "Den",
            "maker": "Northrill",
            "model": "NH-9",
        },
        {"customer": "Milan Petrov", "street": "9 Mt. Hope Ave", "serial": "A-3"} | kitchen,
        {"customer": "Gil Ashby", "street": "40 Weir Road", "serial": "A-4"} | kitchen,
        {"customer": "Anna Petrov", "street": "12 Cider Lane", "serial": "A-5"} | kitchen,
    )
    models.Unit.objects.filter(serial="A-5").update(removed_on=rows.TODAY, removal_reason="removed")


@pytest.mark.parametrize(
    ("text", "serials", "by"),
    [
        ("petrov kitchen", ["A-1", "A-3"], "room Kitchen"),
        ("kitchen petrov", ["A-1", "A-3"], "room Kitchen"),
        ("anna kit", ["A-1"], "room Kitchen"),
        ("cider northrill", ["A-2"], "manufacturer Northrill"),
        ("anna petrov halvik", ["A-1"], "manufacturer Halvik"),
        ("petrov halvik kitchen", ["A-1", "A-3"], "manufacturer Halvik"),
        ("mrs petrov nh9", ["A-2"], "model NH-9"),
        ("petrov attic", [], ""),
        ("kitchen halvik", [], ""),
        ("quist kitchen", [], ""),
    ],
)
def test_rooms_and_manufacturers_count_beside_a_name(rooms, text, serials, by):
    hits = [hit for hit in lookup.find(text) if not hit.near]
    assert sorted(hit.title for hit in hits) == serials
    assert {hit.found_by for hit in hits} == ({by} if by else set())
    assert {hit.kind for hit in hits} <= {"unit"}


def test_a_room_beside_a_name_is_no_customer_or_site(rooms):
    assert lookup.find("petrov kitchen", kinds=("customer", "site")) == ()


@pytest.mark.parametrize("text", ["pavlov", "quarrel", "A9971-0815", "04241", "lee", "207 555 9935"])
def test_what_is_not_near_is_not_found(street, text):
    assert titles(text) == []


def test_what_is_there_is_no_near_miss(street):
    assert not any(hit.near for hit in lookup.find("petrov"))


def test_the_nearest_comes_first_and_few_are_listed(street):
    installed(*({"customer": f"Ann Petrak {letter}", "serial": f"P{letter}"} for letter in "abcdefghijkl"))
    assert len(lookup.find("petrof")) == 8
    assert titles("petrof")[:2] == ["Anna Petrov", "Milan Petrov"]


# --------------------------------------------------------------------------------------------------- what stands there, numbers


def test_the_units_of_what_was_found_stand_below_it(street):
    (hit,) = lookup.with_places(lookup.find("anna petrov"))
    (place,) = hit.places
    assert (place.address, [unit.serial for unit in place.units], place.more) == (
        "12 Cider Lane, Lewiston, 04240",
        ["A4471-0923"],
        0,
    )
    (hit,) = lookup.with_places(lookup.find("12 cider"))
    assert [unit.serial for unit in hit.places[0].units] == ["A4471-0923"]


def test_more_units_and_sites_than_fit_are_counted():
    installed(*({"customer": "Parish", "site": f"Hall {n}", "serial": f"H{n}"} for n in range(5)))
    installed(*({"customer": "Parish", "site": "Hall 0", "serial": f"X{n}", "room": f"Room {n}"} for n in range(9)))
    (hit,) = lookup.with_places(lookup.find("parish"))
    assert [place.name for place in hit.places] == ["Hall 0", "Hall 1", "Hall 2"]
    assert (len(hit.places[0].units), hit.places[0].more) == (8, 2)


def test_agreements_and_claims_by_their_numbers(street):
    site = models.Site.objects.get(street="12 Cider Lane")
    agreement = models.Agreement.objects.create(
        site=site,
        reference="AG-2044",
        start_on="2025-04-01",
        months=12,
        visits_per_year=2,
        first_head=129,
        further_head=79,
    )
    assert [(hit.kind, hit.object_id) for hit in lookup.numbered("ag-20", kinds=("agreement", "claim"))] == [
        ("agreement", agreement.pk)
    ]
    assert lookup.numbered("ag-20", kinds=()) == lookup.numbered("petrov", kinds=("agreement",)) == ()
