"""Two heads of one system swapped in one step: rooms or serials, with all that hangs on either; and swapped back exactly."""

import pytest
import time_machine

from fleet import models
from fleet.derived import recheck
from fleet.elements.edits import Edit
from fleet.loading import history
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import correct, lives, merges, swaps
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def heads():
    """A wall head in the den, registered with number K-1, and a larger one in the loft, high up."""
    company.on_file()
    den = company.unit(
        "SB-1002", room="Den", started_on="2021-03-10", installed_on="2021-03-09", drain="pump", plate_amps="0.4",
        registered_on="2021-03-20", registration_number="K-1",
    )  # fmt: skip
    loft = company.unit(
        "SB-1003", room="Loft", model="NH-12", access="high", started_on="2021-03-10", installed_on="2021-03-09"
    )
    models.Failure.objects.create(unit=den, failed_on="2024-02-01", component="indoor fan motor")
    company.worked_out()
    return den, loft


def swap(heads, what: str) -> None:
    swaps.swap(heads[0].pk, heads[1].pk, what=what, by=None, on=TODAY)
    for unit in heads:
        unit.refresh_from_db()


def marks(unit) -> list[models.Change]:
    return list(models.Change.objects.filter(table="unit", object_id=unit.pk, field="swapped").order_by("pk"))


def everything() -> list[object]:
    tables = (models.Unit, models.Registration, models.HistoryRow, models.Failure, models.MaintenanceRecord)
    rows = [list(table.objects.order_by("pk").values_list()) for table in tables]
    index = models.LookupEntry.objects.order_by("kind", "object_id", "part").values_list(
        "kind", "object_id", "part", "text"
    )
    return [*rows, list(index)]


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


def told(unit) -> tuple[object, ...]:
    return (
        unit.room,
        unit.model,
        unit.serial,
        unit.drain,
        unit.access,
        unit.failures.count(),
        unit.registrations.count(),
    )


def test_rooms_go_with_what_is_of_the_spot_and_the_rest_stays_with_each_unit(heads):
    den, loft = heads
    swap(heads, "rooms")
    assert told(den) == ("Loft", "NH-9", "SB-1002", "", "high", 1, 1)
    assert told(loft) == ("Den", "NH-12", "SB-1003", "pump", "", 0, 0)
    assert clean()


def test_serials_go_with_the_nameplate_and_the_registration_and_the_rest_stays_with_each_room(heads):
    den, loft = heads
    swap(heads, "serials")
    assert told(den) == ("Den", "NH-12", "SB-1003", "pump", "", 1, 0)
    assert told(loft) == ("Loft", "NH-9", "SB-1002", "", "high", 0, 1)
    assert (den.serial_key, den.model_key, den.plate_amps, str(loft.plate_amps)) == ("sb1003", "nh12", None, "0.40")
    assert loft.registrations.get().with_install
    assert clean()


@pytest.mark.parametrize("what", ["rooms", "serials"])
def test_a_swap_is_undone_exactly_and_the_log_has_both(heads, what):
    company.worked_out()
    history.load_rows(
        [
            {"serial": serial, "day": "2023-05-01", "kind": "maintenance", "task": "filters"}
            for serial in ("SB-1002", "SB-1003")
        ]
        + [{"serial": "SB-1002", "day": "2022-05-01", "kind": "maintenance", "task": "coil"}],
        on=TODAY,
    )
    before = everything()
    swap(heads, what)
    assert everything() != before
    (mark,) = marks(heads[1])  # from either of the two
    swaps.undo(mark.pk, by=None, on=TODAY)
    assert everything() == before
    fields = models.Change.objects.filter(table="unit", object_id=heads[0].pk, field=what[:-1]).order_by("pk")
    assert [change.why for change in fields] == [
        f"{what} swapped with Northrill NH-12 SB-1003",
        f"{what} swapped back with Northrill {'NH-12 SB-1003' if what == 'rooms' else 'NH-9 SB-1002'}",
    ]
    assert clean()


def test_a_history_file_brings_nothing_twice_after_the_serials_were_swapped(heads):
    rows = [
        {"serial": "SB-1002", "day": "2023-05-01", "kind": "maintenance", "task": "filters"},
        {"serial": "SB-1003", "day": "2023-05-02", "kind": "maintenance", "task": "filters"},
        {"serial": "SB-1002", "day": "2021-03-21", "kind": "registered", "number": "K-9"},
        {"serial": "SB-1003", "day": "2021-03-21", "kind": "registered", "number": "K-9"},
    ]
    assert history.load_rows(rows, on=TODAY).added == 4
    swap(heads, "serials")
    assert history.load_rows(rows, on=TODAY).unchanged == 4
    assert [unit.registrations.count() for unit in heads] == [1, 2]
    swap(heads, "serials")
    assert history.load_rows(rows, on=TODAY).unchanged == 4
    # What happened to the one alone can be told of the other again.
    assert history.load_rows([rows[0] | {"serial": "SB-1003"}], on=TODAY).added == 1
    assert clean()


def test_a_head_whose_label_is_faded_is_swapped_by_its_room(heads):
    den, loft = heads
    models.Unit.objects.filter(pk=loft.pk).update(serial="", serial_key="")
    swap(heads, "rooms")
    assert (den.room, loft.room, loft.serial) == ("Loft", "Den", "")
    swap(heads, "serials")
    assert (den.serial, loft.serial) == ("", "SB-1002")
    assert clean()


def test_what_cannot_be_swapped_is_refused_with_what_to_do(heads):
    den, loft = heads
    other = company.unit("SB-9", customer="Bram Builders", room="Hall")
    outdoor = company.unit("SB-8", role="outdoor", style="", room="Yard")
    for pk in (other.pk, outdoor.pk):
        with pytest.raises(Refused, match="Choose two heads that are in service in the same system"):
            swaps.swap(den.pk, pk, what="rooms", by=None, on=TODAY)
    for pk in (den.pk, 999999):
        with pytest.raises(Refused, match="Choose the other head"):
            swaps.swap(den.pk, pk, what="rooms", by=None, on=TODAY)
    with pytest.raises(Refused, match="the rooms or the serials"):
        swaps.swap(den.pk, loft.pk, what="models", by=None, on=TODAY)
    models.Unit.objects.filter(pk=loft.pk).update(room="Den")
    with pytest.raises(Refused, match="both have the same room"):
        swaps.swap(den.pk, loft.pk, what="rooms", by=None, on=TODAY)
    lives.tell(loft.pk, kind="removed", day="2026-02-01", told={}, by=None, on=TODAY)
    with pytest.raises(Refused, match="in service"):
        swaps.swap(den.pk, loft.pk, what="serials", by=None, on=TODAY)
    assert not marks(den)


@pytest.mark.parametrize(
    ("since", "reason"),
    [
        pytest.param("room", "Their rooms were changed again since.", id="corrected"),
        pytest.param("gone", "The two are no longer in one system.", id="taken out"),
        pytest.param("merged", "One of the two is no longer on file.", id="merged away"),
    ],
)
def test_a_swap_that_no_longer_holds_stays_and_says_why(heads, since, reason):
    den, loft = heads
    swap(heads, "rooms")
    match since:
        case "room":
            correct.unit(loft.pk, {"room": Edit("Den", "Study")}, by=None, on=TODAY)
        case "gone":
            lives.tell(loft.pk, kind="removed", day="2026-02-01", told={}, by=None, on=TODAY)
        case _:
            twin = company.unit("", room="Den 2", model="NH-12")
            chosen = {"room": "kept", "serial": "gone", "access": "gone", "drain": "gone"}
            merges.merge("unit", twin.pk, loft.pk, chosen=chosen, by=None, on=TODAY)
    with pytest.raises(Conflict, match=reason):
        swaps.undo(marks(den)[0].pk, by=None, on=TODAY)
    page = words(company.as_role("office").get(f"/units/{den.pk}/changes"))
    assert reason in page
    assert "Undo this swap" not in page
    assert "It came with a swap. Undo the swap." in page


def test_the_office_swaps_on_one_page_and_undoes_it_from_the_changes(heads):
    den, loft = heads
    office = company.as_role("office")
    assert "Swap with another head" in words(office.get(f"/units/{den.pk}"))
    address = f"/units/{den.pk}/swap"
    assert "Loft, Northrill NH-12, SB-1003" in words(office.get(address))
    answer = office.post(address, {"other": loft.pk})
    assert answer.status_code == 422
    assert "Choose what to swap." in words(answer)
    assert office.post(address, {"other": loft.pk, "what": "rooms"})["Location"] == f"/units/{den.pk}"
    page = words(office.get(f"/units/{loft.pk}/changes"))
    assert "rooms with Northrill NH-9 SB-1002" in page
    assert "Undo this swap" in page
    done = office.post(f"/swaps/{marks(loft)[0].pk}/undo", follow=True)
    assert "Undone: the two are as they were before the swap." in words(done)
    den.refresh_from_db()
    assert den.room == "Den"


def test_only_whoever_may_move_a_unit_may_swap_two(heads):
    den, loft = heads
    technician = company.as_role("technician")
    assert "Swap with another head" not in words(technician.get(f"/units/{den.pk}"))
    assert technician.post(f"/units/{den.pk}/swap", {"other": loft.pk, "what": "rooms"}).status_code == 403
    swap(heads, "rooms")
    assert technician.post(f"/swaps/{marks(den)[0].pk}/undo").status_code == 403
    outdoor = company.unit("SB-8", role="outdoor", style="", room="Yard")
    assert company.as_role("office").get(f"/units/{outdoor.pk}/swap").status_code == 404
