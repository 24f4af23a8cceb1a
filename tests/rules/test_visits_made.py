"""Which days count as visits made: by a table, and whatever the order of the records."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.visits import Work, made
from tests.caring import day, entry, sheet

RULES = sheet(entry("coil"), entry("wash", by="owner", every_months=1))


def work(task="coil", technician="Ina", on="2026-03-02", **named):
    return Work(day(on), task, technician, **named)


@pytest.mark.parametrize(
    ("works", "days"),
    [
        pytest.param([], [], id="no record"),
        pytest.param([work()], ["2026-03-02"], id="a technician's task"),
        pytest.param([work(technician="")], ["2026-03-02"], id="from a file that names nobody"),
        pytest.param([work(), work()], ["2026-03-02"], id="twice on a day"),
        pytest.param([work(), work(on="2026-03-03")], ["2026-03-02", "2026-03-03"], id="on two days"),
        pytest.param([work(skipped=True)], [], id="skipped"),
        pytest.param([work(skipped=True), work()], ["2026-03-02"], id="one skipped, one done"),
        pytest.param([work("wash", "Ina")], [], id="what the customer does, whoever did it"),
        pytest.param([work("", "")], [], id="only seen"),
        pytest.param([work("", "Ina")], ["2026-03-02"], id="a technician's, without a task"),
        pytest.param([work("older task", "Ina")], ["2026-03-02"], id="a task of an earlier sheet, by a technician"),
        pytest.param([work("older task", "")], [], id="a task of an earlier sheet, by nobody"),
    ],
)
def test_a_day_counts_once_where_our_work_was_done(works, days):
    assert [one.isoformat() for one in made(works, RULES)] == days


def test_without_a_care_sheet_it_is_ours_where_a_technician_is_named():
    assert made([work(), work("wash", "")], None) == (day("2026-03-02"),)


@given(
    st.lists(
        st.builds(
            Work,
            st.dates(day("2026-01-01"), day("2026-01-09")),
            st.sampled_from(["coil", "wash", "", "older"]),
            st.sampled_from(["", "Ina"]),
            st.booleans(),
        )
    ).flatmap(lambda works: st.tuples(st.just(works), st.permutations(works)))
)
def test_the_order_of_records_means_nothing_and_each_day_is_there_once(both):
    works, others = both
    days = made(works, RULES)
    assert days == made(others, RULES)
    assert list(days) == sorted(set(days))
    assert set(days) <= {one.on for one in works if not one.skipped}


@pytest.mark.parametrize(
    ("technicians", "days"),
    [
        (("Gull Air",), []),
        (("Gull Air", "Ike"), ["2026-03-02"]),
        (("Ike",), ["2026-03-02"]),
        (("",), ["2026-03-02"]),
        (("gull air",), ["2026-03-02"]),  # a name is another company's as it is written on file
    ],
)
def test_the_work_of_another_company_is_no_visit_of_ours(technicians, days):
    works = [work("coil", name) for name in technicians]
    assert [one.isoformat() for one in made(works, RULES, {"Gull Air"})] == days
