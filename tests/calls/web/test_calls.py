"""Calls on the screen: noted while talking, shown in their order, and taken a step on by whoever may."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet import models
from fleet.calls.queries import calls as queries
from fleet.care.actions import undo_write_up
from fleet.rules import calls as rules
from fleet.rules.calls import Trouble
from tests import company
from tests.company import NOON, TODAY
from tests.pages import words

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(NOON, tick=False)]


@pytest.fixture
def head():
    company.on_file()
    made = company.unit("SB-1", room="Den", started_on="2025-05-01", installed_on="2025-05-01")
    company.worked_out()
    return made


def sent(**named):
    return {"caller": "Odile Marsh", "trouble": "water", "came_on": "2026-03-02", **named}


def test_a_call_begun_from_a_unit_knows_whose_it_is(head):
    office = company.as_role("office")
    page = words(office.get(f"{reverse('call_new')}?unit={head.pk}&component=drain+pump&answer=Parts:+the+maker"))
    assert 'value="Odile Marsh"' in page
    assert "leave the building now" in page
    answer = office.post(
        reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk, said="It <b>drips</b>"), follow=True
    )
    call = models.Call.objects.get()
    assert answer.redirect_chain == [(reverse("call", args=[call.pk]), 302)]
    shown = words(answer)
    assert "It &lt;b&gt;drips&lt;/b&gt;" in shown
    assert "Nobody has booked a visit. Book one today." in shown
    # What may be behind water, the likeliest first.
    assert shown.index("Drain line") < shown.index("Drain pan") < shown.index("Indoor coil")


def test_what_is_refused_keeps_what_was_typed():
    answer = company.as_role("office").post(reverse("call_new"), sent(caller="", said="It drips on the piano"))
    assert answer.status_code == 422
    assert "It drips on the piano" in words(answer)
    assert "Write who called." in words(answer)
    assert models.Call.objects.count() == 0


def as_shown(page):
    """What a browser would send of the correcting form, with nothing changed."""
    form = page.context["form"]
    fields = [*form.asked, *form.carried]
    return {
        field.html_name: "" if (value := field.value()) is None else str(getattr(value, "pk", value))
        for field in fields
    }


@pytest.mark.parametrize("at_a_site", [True, False])
def test_what_is_noted_of_a_call_is_corrected(head, at_a_site):
    office, place = company.as_role("office"), {"unit": head.pk, "site": head.system.site.pk} if at_a_site else {}
    office.post(reverse("call_new"), sent(**place))
    call = models.Call.objects.get()
    address = reverse("call_correct", args=[call.pk])
    told = as_shown(office.get(address))
    assert "Nothing was changed." in words(office.post(address, told, follow=True))
    assert "Saved." in words(office.post(address, told | {"said": "It drips", "unit": ""}, follow=True))
    call.refresh_from_db()
    assert (call.said, call.unit, call.site_id) == ("It drips", None, place.get("site"))
    # Whoever opened the form before that is shown what somebody else changed meanwhile.
    late = office.post(address, told | {"said": "It drips on the piano"})
    assert (late.status_code, "Save again to have yours instead." in words(late)) == (409, True)


def test_a_call_is_put_right_and_opened_again(head):
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))
    call = models.Call.objects.get()
    refused = office.post(reverse("call_step", args=[call.pk]), {"to": "closed without work", "why": ""})
    assert (refused.status_code, "Say why the call is closed" in words(refused)) == (422, True)
    office.post(reverse("call_step", args=[call.pk]), {"to": "closed without work", "why": "They sold the house"})
    assert "This call is closed without work." in words(office.get(reverse("call", args=[call.pk])))
    step = call.steps.get()
    office.post(reverse("call_undo", args=[call.pk]), {"was": step.pk})
    assert "This call is open." in words(office.get(reverse("call", args=[call.pk])))
    assert office.post(reverse("call_step", args=[call.pk]), {"to": "nowhere"}).status_code == 404


def test_a_call_is_put_first_with_a_reason_and_back_without(head):
    office = company.as_role("office")
    for trouble in ("noise", "smell or alarm"):
        office.post(reverse("call_new"), sent(trouble=trouble))
    noise = models.Call.objects.get(trouble="noise")
    office.post(reverse("call_first", args=[noise.pk]), {"why": "She is ninety"})
    assert [row.trouble for row in queries.short(on=TODAY).rows] == ["noise", "smell or alarm"]
    office.post(reverse("call_first", args=[noise.pk]), {"why": ""})
    assert [row.trouble for row in queries.short(on=TODAY).rows] == ["smell or alarm", "noise"]


def test_the_database_orders_calls_as_the_rules_do():
    office = company.as_role("office")
    for number, trouble in enumerate([*Trouble, *reversed(Trouble)]):
        office.post(reverse("call_new"), sent(trouble=trouble, came_on=f"2026-02-{10 + number % 5}"))
    models.Call.objects.filter(pk=models.Call.objects.last().pk).update(first_why="asked twice")
    rows = list(models.Call.objects.all())
    by_rules = sorted(
        rows, key=lambda row: rules.order(Trouble(row.trouble), row.came_on, row.pk, put_first=bool(row.first_why))
    )
    assert list(queries.in_order(models.Call.objects.all())) == by_rules
    assert len(by_rules) == 14


def test_a_part_is_noted_and_its_arrival_is_up_to_us(head):
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))
    call = models.Call.objects.get()
    models.Call.objects.update(state="waiting for a part")
    office.post(reverse("call_part_add", args=[call.pk]), {"part-what": "Drain pump", "part-ordered_on": "2026-02-20"})
    part = call.parts.get()
    refused = office.post(
        reverse("call_part", args=[part.pk]),
        {f"part{part.pk}-what": "Drain pump", f"part{part.pk}-arrived_on": "2026-04-01"},
    )
    assert (refused.status_code, "in the future" in words(refused)) == (422, True)
    fields = {"what": "Drain pump", "ordered_on": "2026-02-20", "arrived_on": "2026-03-01"}
    was = {"was_what": "Drain pump", "was_ordered_on": "2026-02-20"}
    office.post(
        reverse("call_part", args=[part.pk]), {f"part{part.pk}-{name}": value for name, value in (fields | was).items()}
    )
    assert "The part arrived on March 1, 2026 and no visit is booked." in words(
        office.get(reverse("call", args=[call.pk]))
    )


def test_a_call_that_may_come_back_to_our_work_is_decided_once(head):
    models.Failure.objects.create(
        unit=head, failed_on="2026-02-20", component="drain pump", repaired_on="2026-02-24", technician="Ola"
    )
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))
    call = models.Call.objects.get()
    assert "This may be a call-back: repair by Ola on February 24, 2026." in words(
        office.get(reverse("call", args=[call.pk]))
    )
    office.post(reverse("call_back", args=[call.pk]), {"call_back": "yes"})
    assert "This is a call-back: repair by Ola on February 24, 2026." in words(
        office.get(reverse("call", args=[call.pk]))
    )


def test_a_technician_notes_a_call_and_decides_nothing(head):
    technician = company.as_role("technician")
    technician.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))
    call = models.Call.objects.get()
    page = words(technician.get(reverse("call", args=[call.pk])))
    assert "Close this call" not in page
    assert technician.post(reverse("call_step", args=[call.pk]), {"to": "put right"}).status_code == 403


def test_the_list_asks_the_same_queries_for_one_and_five(head):
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))

    def asked():
        with CaptureQueriesContext(connection) as told:
            assert office.get(reverse("calls")).status_code == 200
        return len(told)

    one = asked()
    for number in range(4):
        office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk, caller=f"Caller {number}"))
    assert asked() == one
    assert one <= 30


def test_the_list_goes_to_files_and_narrows(head):
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))
    told = b"".join(office.get(f"{reverse('calls')}?as=csv").streaming_content).decode("utf-8-sig").splitlines()
    assert told[0].startswith("came_on,trouble,caller,phone,site,unit,said,state")
    assert len(told) == 2
    assert "No calls match. Clear some filters." in words(office.get(f"{reverse('calls')}?text=nobody"))


def test_a_visit_is_booked_for_a_call_with_nothing_else_ticked(head):
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk, said="It drips"))
    call = models.Call.objects.get()
    where = f"{reverse('site_visits', args=[head.system.site.pk])}?call={call.pk}"
    page = words(office.get(where))
    assert "Water: It drips" in page
    assert "The first days with room: March 2, 2026; March 3, 2026; March 4, 2026." in page
    office.post(where, {"day": "2026-03-03", "calls": call.pk, "arrive_from": "08:00", "arrive_to": "10:00"})
    booking = models.Booking.objects.get()
    assert (booking.minutes, list(booking.tasks.all())) == (60, [])
    call.refresh_from_db()
    assert call.state == "booked"
    assert "We arrive between 8:00 AM and 10:00 AM." in words(office.get(reverse("booking", args=[booking.pk])))
    shown = words(office.get(reverse("call", args=[call.pk])))
    assert "This call is booked." in shown
    was = {
        "was_on": "2026-03-03",
        "was_technician": "",
        "was_note": "",
        "was_arrive_from": "08:00",
        "was_arrive_to": "10:00",
    }
    office.post(reverse("cancel_booking", args=[booking.pk]), was | {"why": "Snow"})
    call.refresh_from_db()
    assert call.state == "open"


def test_a_call_without_a_site_is_booked_where_its_site_is_found(head):
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(caller="Wilma Trask", said="It drips"))
    call = models.Call.objects.get()
    page = words(office.get(reverse("call", args=[call.pk])))
    assert f'href="{reverse("lookup")}?text=Wilma%20Trask"' in page
    where = reverse("site_visits", args=[head.system.site.pk])
    assert "Water: Wilma Trask, no site noted yet. It drips" in words(office.get(where))
    assert f'value="{call.pk}" id="id_calls_0" checked' in words(office.get(f"{where}?call={call.pk}"))
    office.post(where, {"day": "2026-03-03", "calls": call.pk})
    call.refresh_from_db()
    assert (call.site_id, call.state) == (head.system.site.pk, "booked")
    assert "No site is noted yet" not in words(office.get(reverse("call", args=[call.pk])))


def test_a_call_of_another_site_is_not_offered(head):
    office = company.as_role("office")
    other = company.unit("SB-2", customer="Bram Keel")
    office.post(reverse("call_new"), sent(unit=other.pk, site=other.system.site.pk, said="It drips"))
    assert "It drips" not in words(office.get(reverse("site_visits", args=[head.system.site.pk])))


def test_a_new_call_begins_at_the_first_thing_that_is_not_known(head):
    office = company.as_role("office")

    def begins_at(query):
        page = words(office.get(f"{reverse('call_new')}{query}"))
        assert page.count(" autofocus") == 1
        return page.split(" autofocus")[0].rsplit('name="', 1)[1].split('"')[0]

    begun = {"": "caller", "?text=Wilma+Trask": "phone", f"?unit={head.pk}": "trouble", "?text=555-0188-11": "caller"}
    assert {query: begins_at(query) for query in begun} == begun


def test_a_window_that_ends_before_it_begins_is_refused(head):
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))
    call = models.Call.objects.get()
    where = reverse("site_visits", args=[head.system.site.pk])
    answer = office.post(where, {"day": "2026-03-03", "calls": call.pk, "arrive_from": "10:00", "arrive_to": "08:00"})
    assert (answer.status_code, models.Booking.objects.count()) == (422, 0)
    assert "The arrival window ends after it begins." in words(answer)


@pytest.mark.parametrize("where", ["unit", "site"])
def test_calls_stand_on_the_unit_and_on_the_site(head, where):
    office = company.as_role("office")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk, said="It drips"))
    pk = head.pk if where == "unit" else head.system.site.pk
    page = words(office.get(reverse(where, args=[pk])))
    assert "March 2, 2026: water" in page
    assert f"{reverse('call_new')}?{where}={pk}" in page


def test_calls_stand_on_the_offices_first_page(head):
    office = company.as_role("office")
    assert "No call is waiting." in words(office.get("/", follow=True))
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))
    page = words(office.get("/", follow=True))
    assert "1 call is not finished; 1 needs something from us now." in page
    assert "Water: Odile Marsh, Home" in page


def test_an_answer_leads_to_a_call_that_keeps_what_was_read_out(head):
    office = company.as_role("office")
    page = office.get(f"{reverse('answer', args=[head.pk])}?component=drain+pump")
    link = page.content.decode().split('">Note a call with this answer')[0].split('href="')[-1].replace("&amp;", "&")
    form = words(office.get(link))
    assert '<option value="drain pump" selected>' in form
    assert "Parts:" in form


def test_a_write_up_says_what_became_of_the_call_and_undoing_it_brings_the_call_back(head):
    office, technician = company.as_role("office"), company.as_role("technician")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk, said="It drips"))
    call = models.Call.objects.get()
    where = reverse("write_up_new", args=[head.system.site.pk])
    assert "Call: Den: water: It drips (Odile Marsh)" in words(technician.get(where))
    fields = {
        "key": str(uuid.uuid4()),
        "day": "2026-03-02",
        "technician": "Ike",
        f"call-{call.pk}-outcome": "needs a part",
    }
    refused = technician.post(where, fields)
    assert (refused.status_code, "Write which part it needs." in words(refused)) == (422, True)
    part = {f"call-{call.pk}-what": "Drain pump", f"call-{call.pk}-expected_on": "2026-03-09"}
    technician.post(where, fields | part)
    call.refresh_from_db()
    assert (call.state, call.parts.get().what) == ("waiting for a part", "Drain pump")
    made = models.WriteUp.objects.get()
    undo_write_up.undo(made.pk, why="the wrong house", by=made.by, on=TODAY)
    call.refresh_from_db()
    assert (call.state, call.parts.count()) == ("open", 0)


def test_a_write_up_sent_as_a_message_puts_a_call_right(head):
    technician = company.as_role("technician")
    technician.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk))
    call = models.Call.objects.get()
    message = {
        "key": str(uuid.uuid4()), "day": "2026-03-02", "technician": "Ike",
        "calls": [{"call": call.pk, "outcome": "put right"}],
    }  # fmt: skip
    where = reverse("write_up_new", args=[head.system.site.pk])
    assert technician.post(where, message, content_type="application/json").status_code == 201
    call.refresh_from_db()
    assert call.state == "put right"


def test_todays_stops_show_the_call_and_when_we_arrive(head):
    office, technician = company.as_role("office"), company.as_role("technician")
    office.post(reverse("call_new"), sent(unit=head.pk, site=head.system.site.pk, said="It drips"))
    call = models.Call.objects.get()
    where = f"{reverse('site_visits', args=[head.system.site.pk])}?call={call.pk}"
    office.post(where, {"day": "2026-03-02", "calls": call.pk, "arrive_from": "13:00", "arrive_to": "15:00"})
    page = words(technician.get(reverse("today")))
    assert "We arrive <strong>between 1:00 PM and 3:00 PM</strong>." in page
    assert "water: It drips (Odile Marsh)" in page


def test_a_day_has_room_only_while_its_month_has_hours_left(head):
    """March has one hour entered, which a visit on March 10 takes; April has ten."""
    models.MonthHours.objects.create(month="2026-03-01", hours=1)
    models.MonthHours.objects.create(month="2026-04-01", hours=10)
    office = company.as_role("office")
    where = reverse("site_visits", args=[head.system.site.pk])
    assert "The first days with room: March 2, 2026; March 3, 2026; March 4, 2026." in words(office.get(where))
    models.Booking.objects.create(site=head.system.site, on="2026-03-10", minutes=60, price=0)
    assert "The first days with room: April 1, 2026; April 2, 2026; April 3, 2026." in words(office.get(where))


def test_a_call_says_first_what_comes_before_anyone_goes_out():
    """Of the part that was asked about; of all that may be behind it, where none was."""
    company.on_file(company.MAKER | {"claims": {"file_within_days": 30, "leave_first": ["compressor"]}})
    unit = company.unit(
        "SB-9", role="outdoor", style="", started_on="2025-05-01", installed_on="2025-05-01", registered_on="2025-05-02"
    )
    company.worked_out()
    office = company.as_role("office")

    def page(component):
        office.post(
            reverse("call_new"), sent(unit=unit.pk, site=unit.system.site.pk, trouble="no cooling", component=component)
        )
        call = models.Call.objects.latest("pk")
        return queries.page(call.pk, on=TODAY), words(office.get(reverse("call", args=[call.pk])))

    approval = "Before anyone goes out: get prior approval from Northrill before replacing the compressor."
    for component in ("compressor", ""):
        found, shown = page(component)
        assert found.before == (approval,)
        assert shown.index(approval) < shown.index("Called on")
    found, shown = page("capacitor")
    assert (found.before, "Before anyone goes out" in shown) == ((), False)
