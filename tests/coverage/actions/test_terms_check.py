"""Checked again, and taken back."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError

from fleet import models
from fleet.coverage.actions import terms_check
from tests import company

pytestmark = pytest.mark.django_db

ON = dt.date(2026, 3, 2)


@pytest.fixture
def terms() -> models.Terms:
    company.on_file()
    return models.Terms.objects.get(code="ours-1")


def test_each_day_person_and_note_is_a_check_of_its_own(terms):
    office, owner = company.person("office"), company.person("owner")
    first = terms_check.again(terms=terms, by=office, on=ON)
    assert terms_check.again(terms=terms, by=office, on=ON) == first
    assert terms_check.again(terms=terms, by=office, on=ON, note="page 3 is new") != first
    assert terms_check.again(terms=terms, by=owner, on=ON) != first
    assert terms_check.again(terms=terms, by=office, on=ON + dt.timedelta(days=1)) != first
    assert terms.checks.count() == 5  # with the file's own


def test_a_note_that_does_not_fit_is_refused(terms):
    with pytest.raises(ValidationError, match="300"):
        terms_check.again(terms=terms, by=company.person("office"), on=ON, note="x" * 301)


@pytest.mark.parametrize(("who", "days"), [("owner", 0), ("office", 1)])
def test_only_whoever_made_a_check_takes_it_back_and_only_that_day(who, days, terms):
    people = {role: company.person(role) for role in ("office", "owner")}
    check = terms_check.again(terms=terms, by=people["office"], on=ON)
    with pytest.raises(ValueError, match="only on the same day"):
        terms_check.undo(check=check, by=people[who], on=ON + dt.timedelta(days=days))
    assert models.TermsCheck.objects.filter(pk=check.pk).exists()


def test_the_check_that_came_with_the_file_stays(terms):
    office = company.person("office")
    own = terms.checks.get()
    own.by, own.checked_on = office, ON
    own.save()
    with pytest.raises(ValueError, match="came with the terms stays"):
        terms_check.undo(check=own, by=office, on=ON)


def test_what_was_taken_back_stays_on_record(terms):
    office = company.person("office")
    check = terms_check.again(terms=terms, by=office, on=ON)
    pk = check.pk
    terms_check.undo(check=check, by=office, on=ON)
    change = models.Change.objects.get()
    assert (change.table, change.object_id, change.before, change.why, change.by) == (
        "termscheck", pk, "2026-03-02", "taken back", office,
    )  # fmt: skip
