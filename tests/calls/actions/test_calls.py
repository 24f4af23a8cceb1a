"""A call from the ring to put right: each step, who may not take it, and what a visit or a write-up says of it."""

import uuid

import pytest
from django.core.management import call_command

from fleet import models
from fleet.calls.actions import calls
from fleet.calls.facts.works import works_near
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import merges
from fleet.rules.calls import State
from tests import company
from tests.company import TODAY, day

pytestmark = pytest.mark.django_db


@pytest.fixture
def head():
    return company.unit("SB-1", room="Den", installed_on="2024-05-01")


def note(at=None, *, key=None, **named):
    facts = {"came_on": day("2026-03-01"), "caller": "Odile Marsh", "trouble": "water", **named}
    if at is not None:
        facts = {"site": at.system.site, "unit": at} | facts
    return calls.note(facts=facts, key=key or uuid.uuid4(), by=None, on=TODAY)


def visit(call, on_day="2026-03-04"):
    made = models.Booking.objects.create(site=call.site, on=day(on_day), minutes=60, price=0)
    calls.booked({call.pk: made}, by=None, on=TODAY)
    return made


def write_up(call, booking=None, on_day="2026-03-02"):
    by = models.User.objects.first() or company.person("technician")
    return models.WriteUp.objects.create(
        key=uuid.uuid4(), site=call.site, booking=booking, on=day(on_day), technician="Ike", by=by
    )


def state(call):
    call.refresh_from_db()
    return call.state


def steps(call):
    return list(call.steps.filter(undone_on=None).values_list("to", flat=True))


# ---------------------------------------------------------------------------------------------------------------- noted


def test_a_call_sent_twice_is_noted_once(head):
    key = uuid.uuid4()
    assert note(head, key=key) == note(head, key=key, caller="Somebody else")
    assert models.Call.objects.get().caller == "Odile Marsh"


def test_a_call_of_nobody_on_file_has_no_site():
    call = note(phone="555-0111")
    assert (call.site, call.unit, state(call)) == (None, None, "open")


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"caller": ""}, "caller"),
        ({"came_on": day("2026-03-03")}, "came_on"),
        ({"came_on": day("2026-03-02")}, None),
        ({"promised_on": day("2026-02-28")}, "promised_on"),
        ({"promised_on": day("2026-03-01")}, None),
        ({"trouble": "smoke signals"}, "trouble"),
        ({"cost_from": 200, "cost_to": 100}, "__all__"),
        ({"cost_from": 100, "cost_to": 200}, None),
        ({"cost_from": -1}, "cost_from"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(head, facts, field):
    if field is None:
        note(head, **facts)
        return
    with pytest.raises(Refused) as refused:
        note(head, **facts)
    assert len(refused.value.faults) == 1
    assert models.Call.objects.count() == 0


def test_a_unit_that_stands_elsewhere_is_refused(head):
    other = company.unit("SB-9", customer="Ines Vale", site="Barn")
    with pytest.raises(Refused) as refused:
        note(head, unit=other)
    assert list(refused.value.faults) == ["unit"]


def test_a_correction_is_logged_and_somebody_elses_is_not_written_over(head):
    call = note(head)
    assert calls.correct(call.pk, was={"phone": ""}, facts={"phone": "555-0199"}, by=None, on=TODAY)
    assert not calls.correct(call.pk, was={"phone": "555-0199"}, facts={"phone": "555-0199"}, by=None, on=TODAY)
    with pytest.raises(Conflict):
        calls.correct(call.pk, was={"phone": ""}, facts={"phone": "555-0100"}, by=None, on=TODAY)
    assert models.Change.objects.filter(table="call", field="phone", after="555-0199").count() == 1


# ---------------------------------------------------------------------------------------------------------------- steps


def test_closing_without_work_needs_a_reason_and_ends_it(head):
    call = note(head)
    with pytest.raises(Refused, match="why"):
        calls.step(call.pk, State.CLOSED, by=None, on=TODAY)
    calls.step(call.pk, State.CLOSED, why="They called another company", by=None, on=TODAY)
    assert state(call) == "closed without work"
    with pytest.raises(Conflict, match="closed without work by now"):
        calls.step(call.pk, State.PUT_RIGHT, by=None, on=TODAY)


def test_the_last_step_taken_by_hand_can_be_undone_once(head):
    call = note(head)
    closed = calls.step(call.pk, State.CLOSED, why="Not ours", by=None, on=TODAY)
    calls.undo_step(call.pk, was=closed.pk, by=None, on=TODAY)
    assert (state(call), steps(call)) == ("open", [])
    with pytest.raises(Conflict):
        calls.undo_step(call.pk, was=closed.pk, by=None, on=TODAY)


def test_a_visit_books_a_call_and_cancelling_it_opens_the_call_again(head):
    call = note(head)
    booking = visit(call)
    assert state(call) == "booked"
    with pytest.raises(Refused, match="Cancel the visit"):
        calls.undo_step(call.pk, was=call.steps.get().pk, by=None, on=TODAY)
    booking.state = "called off"
    booking.save()
    calls.cancelled(booking, why="Snow", by=None, on=TODAY)
    assert (state(call), steps(call)) == ("open", ["booked", "open"])


def test_a_call_with_a_second_visit_stays_booked_when_the_first_is_cancelled(head):
    call = note(head)
    first, second = visit(call), visit(call, "2026-03-06")
    first.state = "called off"
    first.save()
    calls.cancelled(first, why="Snow", by=None, on=TODAY)
    assert state(call) == "booked"
    assert list(call.visits.values_list("booking", flat=True)) == [first.pk, second.pk]


def test_a_visit_for_another_site_does_not_serve_it(head):
    call, other = note(head), note(company.unit("SB-9", customer="Ines Vale", site="Barn"))
    with pytest.raises(Refused, match="another site"):
        calls.booked({call.pk: visit(other)}, by=None, on=TODAY)


# --------------------------------------------------------------------------------------------------------- written up


def say(call, made, **said):
    return calls.written_up({call.pk: said}, made, by=None, on=TODAY)


def test_a_write_up_puts_a_call_right_and_undoing_it_brings_the_call_back(head):
    call = note(head)
    made = write_up(call, visit(call))
    assert say(call, made, outcome="put right") == {}
    assert state(call) == "put right"
    calls.undo_write_up(made, by=None, on=TODAY)
    assert (state(call), steps(call)) == ("booked", ["booked"])


def test_a_write_up_that_needs_a_part_says_which(head):
    call = note(head)
    made = write_up(call, visit(call))
    assert list(say(call, made, outcome="needs a part")) == [f"call-{call.pk}-what"]
    part = {"what": "Drain pump", "supplier": "Ketterlin", "ordered_on": TODAY, "expected_on": day("2026-03-09")}
    assert say(call, made, outcome="needs a part", part=part) == {}
    assert (state(call), call.parts.get().what) == ("waiting for a part", "Drain pump")
    calls.undo_write_up(made, by=None, on=TODAY)
    assert (state(call), call.parts.count()) == ("booked", 0)


def test_a_stop_that_nobody_booked_puts_an_open_call_right_too(head):
    call = note(head)
    assert say(call, write_up(call), outcome="put right") == {}
    assert (state(call), steps(call)) == ("put right", ["booked", "put right"])


def test_a_write_up_cannot_be_undone_while_a_later_step_stands_on_it(head):
    call = note(head)
    made = write_up(call, visit(call))
    say(call, made, outcome="put right")
    calls.step(call.pk, State.OPEN, why="It drips again", by=None, on=TODAY)
    with pytest.raises(Refused, match="moved on since"):
        calls.undo_write_up(made, by=None, on=TODAY)
    assert state(call) == "open"


def test_what_somebody_else_put_right_meanwhile_stays(head):
    call = note(head)
    say(call, write_up(call), outcome="put right")
    assert say(call, write_up(call), outcome="needs another trip") == {}
    assert state(call) == "put right"


# ----------------------------------------------------------------------------------------------------------- call-backs


def test_the_latest_work_on_the_system_is_named(head):
    """A repair by us on another unit of the system, five days before; the install is long ago."""
    other = models.Unit.objects.get(pk=company.unit("SB-2", room="Attic").pk)
    models.Failure.objects.create(
        unit=other, failed_on=day("2026-02-20"), component="drain pump", repaired_on=day("2026-02-24"), technician="Ola"
    )
    barn = company.unit("SB-9", customer="Ines Vale", site="Barn")
    models.Failure.objects.create(
        unit=barn, failed_on=day("2026-02-20"), component="drain pump", repaired_on=day("2026-02-27"), technician="Ike"
    )
    (work,) = works_near(note(head), days=30)
    assert (work.kind, work.technician, work.on) == ("Repair", "Ola", day("2026-02-24"))
    assert works_near(note(head), days=4) == []
    assert works_near(note(), days=30) == []


def test_a_decision_names_the_work_and_can_be_taken_back(head):
    call = note(head)
    with pytest.raises(Refused):
        calls.answer_call_back(call.pk, came_back=True, work=None, by=None, on=TODAY)
    models.Failure.objects.create(
        unit=head, failed_on=day("2026-02-20"), component="drain pump", repaired_on=day("2026-02-24"), technician="Ola"
    )
    (work,) = works_near(call, days=30)
    calls.answer_call_back(call.pk, came_back=True, work=work, by=None, on=TODAY)
    call.refresh_from_db()
    assert (call.call_back, call.work, call.work_technician) == ("yes", "Repair", "Ola")
    calls.answer_call_back(call.pk, came_back=None, work=None, by=None, on=TODAY)
    call.refresh_from_db()
    assert (call.call_back, call.work, call.work_on) == ("", "", None)


# ---------------------------------------------------------------------------------------------------------------- parts


def test_a_part_has_its_days_in_order_and_its_arrival_is_logged(head):
    call = note(head)
    part = calls.add_part(call.pk, facts={"what": "Drain pump", "ordered_on": TODAY}, by=None, on=TODAY)
    with pytest.raises(Refused):
        calls.change_part(part.pk, was={"arrived_on": None}, facts={"arrived_on": day("2026-03-01")}, by=None, on=TODAY)
    with pytest.raises(Refused, match="in the future"):
        calls.change_part(part.pk, was={"arrived_on": None}, facts={"arrived_on": day("2026-03-03")}, by=None, on=TODAY)
    assert calls.change_part(part.pk, was={"arrived_on": None}, facts={"arrived_on": TODAY}, by=None, on=TODAY)
    assert models.Change.objects.filter(table="callpart", field="arrived_on").count() == 1


# --------------------------------------------------------------------------------------------------- merged and backed up


def test_calls_go_with_a_site_that_is_merged_and_come_back_when_the_merge_is_undone(head):
    other = company.unit("SB-9", customer="Odile Marsh", site="House")
    call = note(other)
    made = merges.merge(
        "site",
        head.system.site_id,
        other.system.site_id,
        chosen={"name": "kept"},
        by=None,
        on=TODAY,
        why="the same house",
    )
    call.refresh_from_db()
    assert call.site_id == head.system.site_id
    merges.undo(made.pk, by=None, on=TODAY)
    call.refresh_from_db()
    assert call.site_id == other.system.site_id


def test_a_backup_has_calls_with_their_steps_visits_and_parts(head, tmp_path):
    call = note(head)
    visit(call)
    calls.add_part(call.pk, facts={"what": "Drain pump"}, by=None, on=TODAY)
    tables = (models.Call, models.CallStep, models.CallVisit, models.CallPart)
    before = [list(table.objects.values()) for table in tables]
    call_command("backup", str(tmp_path / "all.zip"), verbosity=0)
    call_command("restore", str(tmp_path / "all.zip"), replace=True, verbosity=0)
    assert [list(table.objects.values()) for table in tables] == before
    assert all(before)
