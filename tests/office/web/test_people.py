"""Logging in, passwords, and the owner's pages of everybody who has a login."""

import datetime as dt
import io
import re
import threading

import pytest
import time_machine
from django.contrib.auth import authenticate
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from django.test import Client, override_settings
from django.urls import reverse

from fleet import clock, models, tasks
from fleet.claims.actions import calendars
from fleet.models.people import Role
from fleet.office.actions import logins, people
from fleet.refusals import Refused
from fleet.web import access
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db

RIGHT = "quiet-ledger-9"
NEW = "mossy lantern 47"
NOT_TOGETHER = "Wrong username or password."


def try_to_log_in(name: str = "office", password: str = "wrong", client: Client | None = None):
    return (client or Client()).post("/login", {"username": name, "password": password})


def log_of(person: models.User) -> list[tuple[str, str, str, str]]:
    rows = models.Change.objects.filter(table="user", object_id=person.pk).order_by("pk")
    return [(row.field, row.before, row.after, str(row.by or "")) for row in rows]


@pytest.fixture
def office() -> models.User:
    return company.person("office", first_name="Wren", last_name="Halloran", email="wren@office.example")


@pytest.fixture
def owner(office) -> Client:
    return company.as_role("owner")


# -- wrong passwords


def test_the_fourth_wrong_password_costs_nothing_and_the_fifth_waits(office):
    for _ in range(4):
        response = try_to_log_in()
        assert (response.status_code, NOT_TOGETHER in words(response)) == (200, True)
    response = try_to_log_in()
    assert response.status_code == 429
    assert "Too many wrong passwords. Try again in 30 seconds." in words(response)


def test_after_four_wrong_ones_the_right_one_lets_in_and_forgets_them(office):
    for _ in range(4):
        try_to_log_in()
    assert try_to_log_in(password=RIGHT)["Location"] == "/"
    assert not models.LoginTries.objects.exists()


def test_while_a_name_waits_even_the_right_password_is_not_looked_at(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        for _ in range(5):
            try_to_log_in()
        clocks.shift(29)
        response = try_to_log_in(password=RIGHT)
        assert (response.status_code, "in 1 second." in words(response)) == (429, True)
        clocks.shift(1)
        assert try_to_log_in(password=RIGHT)["Location"] == "/"


def test_what_is_tried_while_a_name_waits_does_not_make_it_wait_longer(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        for _ in range(5):
            try_to_log_in()
        for _ in range(20):
            try_to_log_in()
        assert models.LoginTries.objects.get().wrong == 5
        clocks.shift(30)
        assert try_to_log_in(password=RIGHT).status_code == 302


def wrong_ones(number: int, clocks: time_machine.Traveller, name: str = "office"):
    """So many wrong passwords in a row, each as soon as one is looked at again."""
    for wrong in range(1, number + 1):
        response = try_to_log_in(name)
        if 5 <= wrong < number:
            clocks.shift(dt.timedelta(seconds=30 * 2 ** (wrong - 5)))
    return response


def test_the_ninth_wrong_password_waits_and_the_tenth_locks(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        assert "Try again in 8 minutes." in words(wrong_ones(9, clocks))
        clocks.shift(480)
        response = try_to_log_in()
        assert response.status_code == 429
        assert "This login is locked for 24 hours" in words(response)
        clocks.shift(dt.timedelta(hours=24, seconds=-1))
        assert try_to_log_in(password=RIGHT).status_code == 429
        clocks.shift(1)
        assert try_to_log_in(password=RIGHT).status_code == 302


def test_a_name_that_nobody_has_is_slowed_and_locked_alike(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        known, unknown = wrong_ones(5, clocks), wrong_ones(5, clocks, "nobody")
        assert known.status_code == unknown.status_code == 429
        assert re.sub(r"nobody|office|value=\"[^\"]{64}\"", "", words(known)) == re.sub(
            r"nobody|office|value=\"[^\"]{64}\"", "", words(unknown)
        )


def test_only_the_name_waits_that_was_tried(office):
    company.person("technician")
    with time_machine.travel(company.NOON, tick=False) as clocks:
        wrong_ones(10, clocks)
        assert try_to_log_in("technician", RIGHT).status_code == 302


def test_a_name_waits_however_it_is_typed(office):
    for name in ("office", "Office", "OFFICE", " office", "office "):
        response = try_to_log_in(name)
    assert response.status_code == 429


def test_wrong_passwords_of_the_day_before_are_forgotten(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        for _ in range(4):
            try_to_log_in()
        clocks.shift(dt.timedelta(days=1))
        for _ in range(4):
            assert try_to_log_in().status_code == 200


def test_names_that_nobody_has_do_not_fill_the_table(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        for number in range(5):
            try_to_log_in(f"guess{number}")
        assert models.LoginTries.objects.count() == 5
        clocks.shift(dt.timedelta(days=1))
        try_to_log_in("guess5")
        assert [row.name for row in models.LoginTries.objects.all()] == ["guess5"]


def test_a_name_that_no_database_would_keep_is_a_wrong_one(office):
    for name in ("o\0ffice", "x" * 5000, "", "\u0390" * 150):
        assert try_to_log_in(name).status_code == 200


@pytest.mark.django_db(transaction=True)
def test_many_tries_at_one_moment_count_as_many(office):
    """Sent at once, they must not all be looked at as the first."""
    at = dt.datetime(2026, 3, 2, 17, 0, tzinfo=dt.UTC)
    looked_at: list[bool] = []

    def guess() -> None:
        try:
            looked_at.append(logins.begin(name="office", at=at) is None)
        finally:
            connection.close()

    guesses = [threading.Thread(target=guess) for _ in range(12)]
    for one in guesses:
        one.start()
    for one in guesses:
        one.join()
    assert sorted(looked_at) == [False] * 7 + [True] * 5


def test_somebody_logged_in_who_fails_at_the_login_is_counted_too(office):
    client = company.as_role("office")
    for _ in range(5):
        response = try_to_log_in(client=client)
    assert response.status_code == 429


def test_the_login_still_leads_back_to_where_somebody_was(office):
    sent = {"username": "office", "password": RIGHT, "next": "/terms"}
    assert Client().post("/login", sent)["Location"] == "/terms"
    for _ in range(5):
        response = Client().post("/login", {**sent, "password": "wrong"})
    assert '<input type="hidden" name="next" value="/terms">' in words(response)
    assert 'value="office"' in words(response)


# -- unlocking


def test_the_owner_sees_who_is_locked_and_unlocks(office, owner):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        wrong_ones(10, clocks)
        owner = company.as_role("owner")
        assert f'Locked after wrong passwords: <a href="/people/{office.pk}">Wren Halloran</a>.' in words(
            owner.get("/people")
        )
        page = words(owner.get(f"/people/{office.pk}"))
        assert "after 10 wrong passwords in a row" in page
        assert ">Unlock</button>" in page
        assert owner.post(f"/people/{office.pk}/unlock")["Location"] == f"/people/{office.pk}"
        assert try_to_log_in(password=RIGHT).status_code == 302
    assert log_of(office) == [("wrong_passwords", "10", "0", "Wynn Owner")]


def test_a_new_password_by_a_link_unlocks(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        wrong_ones(10, clocks)
        people.set_password(person=office, password=NEW, by=office, how="by a link")
        assert try_to_log_in(password=NEW).status_code == 302


# -- the list, and one person


def test_the_list_shows_everybody_with_role_and_standing(owner):
    company.person("", email="stranger@office.example")
    models.User.objects.filter(username="stranger").update(is_active=False)
    people.add(username="lad", first_name="Jules", last_name="", email="", role="technician", by=None)
    listing = owner.get("/people").context["listing"]
    shown = [tuple(cell.value for cell in row.cells[:4]) for row in listing.rows]
    assert shown == [
        ("Jules", "lad", "technician", "no password yet"),
        ("stranger", "stranger", "none", "switched off"),
        ("Wren Halloran", "office", "office", "active"),
        ("Wynn Owner", "owner", "owner", "active"),
    ]


@pytest.mark.parametrize(
    ("asked", "names"),
    [
        ("role=office", ["office"]),
        ("role=none", ["stranger"]),
        ("standing=switched off", ["stranger"]),
        ("standing=active&sort=-username", ["owner", "office"]),
        ("role=plumber", ["stranger", "office", "owner"]),
    ],
)
def test_the_list_narrows_and_sorts(asked, names, owner):
    company.person("")
    models.User.objects.filter(username="stranger").update(is_active=False)
    listing = owner.get(f"/people?{asked}").context["listing"]
    assert [row.cells[1].value for row in listing.rows] == names


def test_the_list_leaves_as_a_file(owner):
    lines = b"".join(owner.get("/people?as=csv").streaming_content).decode().splitlines()
    assert lines[0] == "\ufeffname,username,role,standing,email,last_here"
    assert "Wren Halloran,office,office,active,wren@office.example," in lines


def test_more_people_take_no_more_queries(owner, django_assert_num_queries):
    owner.get("/people")  # the first page of a day catches up on what time alone has changed
    for number in range(2):
        with django_assert_num_queries(6):
            owner.get("/people")
        for other in range(5):
            models.User.objects.create_user(f"more{number}{other}")


def test_a_person_who_is_not_there(owner):
    assert owner.get("/people/987654").status_code == 404
    assert owner.post("/people/987654/off").status_code == 404


# -- adding


def sent(**changed: str) -> dict[str, str]:
    return {
        "first_name": "Jules",
        "last_name": "Ouellet",
        "email": "jules@office.example",
        "role": "technician",
    } | changed


def link_on(page: str) -> str:
    found = re.search(r'<input id="link" class="serial" value="http://testserver([^"]+)"', page)
    assert found is not None
    return found[1]


def test_somebody_who_is_added_sets_their_own_password(owner):
    response = owner.post("/people/add", sent(username="jules"))
    jules = models.User.objects.get(username="jules")
    assert response["Location"] == f"/people/{jules.pk}"
    assert (str(jules), jules.email, jules.role, jules.has_usable_password()) == (
        "Jules Ouellet", "jules@office.example", "technician", False,
    )  # fmt: skip
    page = words(owner.get(f"/people/{jules.pk}"))
    assert "Has a login, but has not set a password yet." in page
    link = link_on(page)
    assert 'value="http' not in words(owner.get(f"/people/{jules.pk}"))  # shown once
    theirs = Client()
    there = theirs.get(link)["Location"]
    assert there.endswith("/set-password")
    assert "Set a new password" in words(theirs.get(there))
    assert theirs.post(there, {"new_password1": NEW, "new_password2": NEW})["Location"] == "/login"
    assert try_to_log_in("jules", NEW).status_code == 302
    assert log_of(jules) == [
        ("login", "", "jules", "Wynn Owner"),
        ("role", "", "technician", "Wynn Owner"),
        ("link", "", "given", "Wynn Owner"),
        ("password", "", "set anew", "Jules Ouellet"),
    ]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"username": ""}, "This field is required."),
        ({"username": "two words"}, "Enter a valid username."),
        ({"username": "Office"}, "Somebody else logs in under that name already."),
        ({"username": "jules", "email": "WREN@office.example"}, "Somebody else has that e-mail address already."),
        ({"username": "jules", "email": "nowhere"}, "Enter a valid email address."),
        ({"username": "jules", "role": ""}, "This field is required."),
        ({"username": "jules", "role": "king"}, "Select a valid choice."),
        ({"username": "jules", "first_name": " "}, "This field is required."),
    ],
)
def test_a_login_that_cannot_be_is_refused_and_nothing_typed_is_lost(wrong, said, owner):
    before = models.User.objects.count()
    response = owner.post("/people/add", sent(**wrong))
    assert response.status_code == 422
    assert said in words(response)
    assert 'value="Ouellet"' in words(response)
    assert models.User.objects.count() == before


def test_a_login_made_on_the_command_line(office, capsys):
    call_command("add_person", "marit", "--first-name", "Marit")
    printed = capsys.readouterr().out.splitlines()
    marit = models.User.objects.get(username="marit")
    assert (marit.role, printed[0]) == ("owner", "marit (owner) sets a password on this server at")
    assert Client().get(printed[1]).status_code == 302
    assert log_of(marit)[0] == ("login", "", "marit", "")
    with pytest.raises(CommandError, match="logs in under that name already"):
        call_command("add_person", "MARIT")


# -- changing


def test_a_change_is_saved_and_each_thing_that_changed_is_logged(office, owner):
    response = owner.post(
        f"/people/{office.pk}/change", sent(first_name="Wren", email="WREN@Office.example", role="technician")
    )
    assert response["Location"] == f"/people/{office.pk}"
    office.refresh_from_db()
    assert (str(office), office.email, office.role) == ("Wren Ouellet", "WREN@office.example", "technician")
    assert log_of(office) == [
        ("last_name", "Halloran", "Ouellet", "Wynn Owner"),
        ("email", "wren@office.example", "WREN@office.example", "Wynn Owner"),
        ("role", "office", "technician", "Wynn Owner"),
    ]
    assert "Halloran" in words(owner.get(f"/people/{office.pk}"))


def test_a_change_of_nothing_is_no_change(office, owner):
    same = {"first_name": "Wren", "last_name": "Halloran", "email": "wren@office.example", "role": "office"}
    owner.post(f"/people/{office.pk}/change", same)
    assert log_of(office) == []


def test_a_role_counts_from_the_next_request_on(office, owner):
    theirs = company.as_role("office")
    assert theirs.get("/coverage-ending").status_code == 200
    owner.post(f"/people/{office.pk}/change", sent(email="", role="technician"))
    assert theirs.get("/coverage-ending").status_code == 403


def test_the_only_owner_stays_one(owner):
    me = models.User.objects.get(username="owner")
    response = owner.post(f"/people/{me.pk}/change", sent(role="office"))
    assert response.status_code == 422
    assert "This is the only owner. Make somebody else an owner first." in words(response)
    refused = owner.post(f"/people/{me.pk}/off")
    assert (refused.status_code, "This is the only owner." in words(refused)) == (422, True)
    me.refresh_from_db()
    assert (me.role, me.is_active, log_of(me)) == ("owner", True, [])


def test_of_two_owners_one_may_go(owner):
    second = models.User.objects.create_user("second", role="owner")
    owner.post(f"/people/{second.pk}/off")
    second.refresh_from_db()
    assert not second.is_active
    me = models.User.objects.get(username="owner")
    owner.post(f"/people/{me.pk}/off")
    me.refresh_from_db()
    assert me.is_active  # the second is switched off, so this one is the last


@pytest.mark.django_db(transaction=True)
def test_two_owners_cannot_switch_each_other_off_at_one_moment():
    one, two = (models.User.objects.create_user(name, role="owner") for name in ("one", "two"))
    both = threading.Barrier(2)

    def switch_off(person: models.User, by: models.User) -> None:
        try:
            both.wait(5)
            people.switch_off(person=person, by=by, at=clock.now(), on=clock.today())
        except Refused:
            pass
        finally:
            connection.close()

    at_once = [threading.Thread(target=switch_off, args=pair) for pair in ((one, two), (two, one))]
    for each in at_once:
        each.start()
    for each in at_once:
        each.join()
    assert models.User.objects.filter(role="owner", is_active=True).count() == 1


def test_switched_off_somebody_is_out_at_once_and_comes_back(office, owner):
    theirs = company.as_role("office")
    assert owner.post(f"/people/{office.pk}/off")["Location"] == f"/people/{office.pk}"
    assert theirs.get("/terms")["Location"] == "/login?next=/terms"
    assert NOT_TOGETHER in words(try_to_log_in(password=RIGHT))
    assert "Switched off" in words(owner.get(f"/people/{office.pk}"))
    owner.post(f"/people/{office.pk}/on")
    assert try_to_log_in(password=RIGHT).status_code == 302
    assert log_of(office) == [("is_active", "yes", "no", "Wynn Owner"), ("is_active", "no", "yes", "Wynn Owner")]


def test_sessions_and_calendar_links_of_before_stay_over_after_switching_on(office, owner):
    theirs = company.as_role("office")
    link = calendars.make(name="phone", by=office)
    assert Client().get(f"/calendar/{link}.ics").status_code == 200
    owner.post(f"/people/{office.pk}/off")
    owner.post(f"/people/{office.pk}/off")
    owner.post(f"/people/{office.pk}/on")
    assert theirs.get("/terms")["Location"] == "/login?next=/terms"
    assert Client().get(f"/calendar/{link}.ics").status_code == 404
    assert company.as_role("office").get("/terms").status_code == 200
    again = calendars.make(name="phone", by=office)
    assert Client().get(f"/calendar/{again}.ics").status_code == 200


def test_a_command_unlocks_the_only_owner_where_no_mail_is_set_up(owner):
    at = clock.now()
    for minutes in range(10):
        logins.begin(name="owner", at=at + dt.timedelta(hours=minutes))
    with time_machine.travel(at + dt.timedelta(hours=10)):
        assert try_to_log_in("owner", RIGHT).status_code == 429
        out = io.StringIO()
        call_command("unlock", "Owner", stdout=out)
        assert out.getvalue() == "10 wrong passwords are cleared: owner can try to log in again.\n"
        assert try_to_log_in("owner", RIGHT).status_code == 302
    with pytest.raises(CommandError, match="No login has the username nobody"):
        call_command("unlock", "nobody")


def test_nobody_is_ever_deleted():
    assert not [name for name in access.table() if re.search("(person|people).*(delete|remove)", name)]


@pytest.mark.on_postgres
def test_the_database_refuses_a_second_of_a_name_or_an_address(office):
    for named in ({"username": "OFFICE"}, {"username": "other", "email": "Wren@Office.Example"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            models.User.objects.create(**named)
    models.User.objects.create(username="third", email="")
    models.User.objects.create(username="fourth", email="")


# -- a new password by mail


def ask_for_link(email: str) -> None:
    response = Client().post("/password/forgotten", {"email": email})
    assert (response.status_code, response["Location"]) == (302, "/password/sent")
    tasks.drain()


def test_a_link_by_mail_sets_a_new_password_once(office):
    ask_for_link("Wren@office.example")
    (sent_mail,) = mail.outbox
    assert (sent_mail.to, sent_mail.subject) == (["wren@office.example"], "Set your Tenth Year password")
    assert "Wren Halloran," in sent_mail.body
    assert "Your username is office." in sent_mail.body
    assert "within 3 days" in sent_mail.body
    (link,) = re.findall(r"http://testserver(/password/new/\S+)", sent_mail.body)
    theirs = Client()
    there = theirs.get(link)["Location"]
    weak = theirs.post(there, {"new_password1": "short", "new_password2": "short"})
    assert "at least 12 characters" in words(weak)
    assert theirs.post(there, {"new_password1": NEW, "new_password2": NEW})["Location"] == "/login"
    assert "Your new password is set. Log in with it now." in words(theirs.get("/login"))
    assert try_to_log_in(password=RIGHT).status_code == 200
    assert try_to_log_in(password=NEW).status_code == 302
    assert "This link no longer works" in words(Client().get(link))
    assert models.Change.objects.get(field="password").why == "by a link"


@pytest.mark.parametrize("email", ["nobody@office.example", "wren@elsewhere.example"])
def test_an_address_that_nobody_has_is_answered_alike_and_gets_nothing(email, office):
    ask_for_link(email)
    assert mail.outbox == []
    assert "If somebody here has that address, a link is on its way." in words(Client().get("/password/sent"))


def test_somebody_without_an_address_gets_nothing():
    company.person("technician")
    response = Client().post("/password/forgotten", {"email": ""})
    assert response.status_code == 422
    tasks.drain()
    assert mail.outbox == []


def test_a_mailbox_is_not_flooded(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        for _ in range(5):
            ask_for_link("wren@office.example")
        assert len(mail.outbox) == 1
        clocks.shift(600)
        ask_for_link("wren@office.example")
    assert len(mail.outbox) == 2


def test_a_link_ends_after_three_days(office):
    with time_machine.travel(company.NOON, tick=False) as clocks:
        link = people.link(person=office, by=None)
        clocks.shift(dt.timedelta(days=3))
        assert Client().get(link).status_code == 302
        clocks.shift(1)
        assert "This link no longer works" in words(Client().get(link))


def test_a_link_of_somebody_switched_off_does_not_work(office, owner):
    link = people.link(person=office, by=None)
    owner.post(f"/people/{office.pk}/off")
    assert "This link no longer works" in words(Client().get(link))
    ask_for_link("wren@office.example")
    assert mail.outbox == []
    owner.post(f"/people/{office.pk}/link")
    assert "This login is switched off. Switch it on first" in words(owner.get(f"/people/{office.pk}"))


def test_a_link_made_before_switching_off_works_no_more_after_switching_on(office, owner):
    link = people.link(person=office, by=None)
    owner.post(f"/people/{office.pk}/off")
    owner.post(f"/people/{office.pk}/on")
    assert "This link no longer works" in words(Client().get(link))
    office.refresh_from_db()
    assert Client().get(people.link(person=office, by=None)).status_code == 302


@pytest.mark.parametrize(
    "link", ["/password/new/MQ/abc-def", "/password/new/x/y", "/password/new/OTk5OTk5/set-password"]
)
def test_a_made_up_link_does_not_work(link, office):
    assert "This link no longer works" in words(Client().get(link))
    assert "This link no longer works" in words(Client().post(link, {"new_password1": NEW, "new_password2": NEW}))


def test_the_password_stands_in_no_log_and_the_link_in_no_row(office):
    ask_for_link("wren@office.example")
    (job,) = models.Job.objects.filter(name="mail_link")
    assert job.payload == {"person": office.pk, "root": "http://testserver/"}
    people.set_password(person=office, password=NEW, by=office)
    assert not [row for row in models.Change.objects.all() if NEW in f"{row.before}{row.after}{row.why}"]


@override_settings(EMAIL_HOST="mail.example")
def test_where_mail_works_the_owners_link_is_mailed_too(office, owner):
    owner.post(f"/people/{office.pk}/link")
    tasks.drain()
    (sent_mail,) = mail.outbox
    assert sent_mail.to == ["wren@office.example"]
    assert "The link was also emailed to wren@office.example." in words(owner.get(f"/people/{office.pk}"))


def test_without_a_mail_server_it_is_said_where_the_mail_goes(office, owner):
    assert "the email is printed where this program runs" in words(Client().get("/password/sent"))
    owner.post(f"/people/{office.pk}/link")
    tasks.drain()
    assert mail.outbox == []


# -- one's own password


def change(client: Client, old: str = RIGHT, new: str = NEW, again: str | None = None):
    return client.post("/password", {"old_password": old, "new_password1": new, "new_password2": again or new})


def test_a_changed_password_keeps_this_browser_in_and_no_other(office):
    here, elsewhere = company.as_role("office"), company.as_role("office")
    assert change(here)["Location"] == "/"
    assert here.get("/terms").status_code == 200
    assert elsewhere.get("/terms")["Location"] == "/login?next=/terms"
    assert try_to_log_in(password=NEW).status_code == 302
    assert log_of(office) == [("password", "", "set anew", "Wren Halloran")]


@pytest.mark.parametrize(
    ("password", "said"),
    [
        ("mossy lan 4", "at least 12 characters"),
        ("1q2w3e4r5t6y", "too common"),
        ("wren halloran", "too similar"),
        ("wren@office.example", "too similar"),
        ("abababababab", "fewer than 6 different characters"),
    ],
)
def test_a_weak_password_is_refused(password, said, office):
    response = change(company.as_role("office"), new=password)
    assert response.status_code == 422
    assert said in words(response)
    assert authenticate(username="office", password=RIGHT) is not None


def test_a_password_of_twelve_characters_is_long_enough(office):
    assert change(company.as_role("office"), new="mossy lan 47").status_code == 302


def test_guesses_at_the_old_password_count_like_those_at_the_login(office):
    client = company.as_role("office")
    for _ in range(5):
        assert change(client, old="wrong").status_code == 422
    response = change(client)
    assert (response.status_code, "Try again in 30 seconds." in words(response)) == (429, True)


def test_a_weak_new_password_is_no_wrong_old_one(office):
    client = company.as_role("office")
    for _ in range(10):
        assert change(client, new="short").status_code == 422
    assert not models.LoginTries.objects.exists()


# -- the table of roles


def test_the_table_of_who_may_see_what_says_every_address_in_words():
    said = {name: address.words for name, address in access.table().items() if address.roles}
    assert [name for name, words in said.items() if not re.fullmatch(r"[A-Z][^:]+: [a-z][^:]+", words)] == []


def test_addresses_that_are_said_alike_are_for_the_same_roles():
    allowed: dict[str, set[frozenset[Role]]] = {}
    for address in access.table().values():
        if address.roles:
            allowed.setdefault(address.words, set()).add(address.roles)
    assert [line for line, roles in allowed.items() if len(roles) > 1] == []


@pytest.mark.parametrize("role", list(Role))
def test_everybody_may_read_which_role_may_do_what(role):
    response = company.as_role(role).get("/roles")
    page = response.context["page"]
    may = {
        f"{screen.name}: {thing.what}": {role for role, allowed in thing.may if allowed}
        for screen in page.screens
        for thing in screen.things
    }
    assert page.roles == ("office", "technician", "owner")
    assert may["People: give somebody a login, or change it"] == {"owner"}
    assert may["Coverage ending: see the list"] == {"office", "owner"}
    assert may["Terms: read them"] == {"office", "technician", "owner"}
    assert f"Your role is {role.value}." in words(response)


# -- names of addresses that need no login


def test_what_needs_no_login_is_a_short_list():
    accounts = {"login", "logout", "password_forgotten", "password_new", "password_sent"}
    # A calendar’s program cannot log in: its address is the key. The first owner cannot either, before anybody has a login. What a
    # phone keeps for when there is no signal says nothing of anybody.
    assert accounts | {"calendar_feed", "first_owner", "phone", "phone_worker", "manifest"} == {
        name for name in access.table() if access.needs_no_login(name)
    }
    for name in ("login", "password_forgotten", "password_sent"):
        assert Client().get(reverse(name)).status_code == 200
