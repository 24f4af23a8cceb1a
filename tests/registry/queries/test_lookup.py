"""Does the look-up find things by any part of what they are known by, however it was read or written?"""

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
