"""Addresses of what lies ahead, and of what was learned: the year, coverage that ends, money, what fails."""

from fleet.business.views import what_fails, year
from fleet.calls.queries.call_backs import CALL_BACKS, WORKS
from fleet.claims.queries.money_rows import MOVED, PARTS
from fleet.claims.views import money
from fleet.coverage.queries.ending import ENDING
from fleet.web import lists
from fleet.web.address import Address, desk, owner

ADDRESSES = [
    *owner(
        "The year ahead: see it",
        Address("the-year-ahead", year.year_ahead, "year_ahead", menu="The year ahead"),
    ),
    *desk(
        "Work to sell: see the list to call down",
        Address("the-year-ahead/on-offer", year.on_offer, "on_offer", beside=("agreements", "Work to sell")),
    ),
    *desk(
        "Coverage ending: see the list",
        Address(
            "coverage-ending",
            lists.view(ENDING, "ending/ending.html"),
            "ending",
            menu="Coverage ending",
        ),
    ),
    *desk(
        "Money: what came back, what is out, and what was lost",
        Address("money/rows", lists.view(PARTS, "money/rows.html"), "money_rows", within="money"),
        Address("money/by-day", lists.view(MOVED, "money/by_day.html"), "money_by_day", within="money"),
        Address("money", money.money, "money", beside=("claims", "Money")),
    ),
    *owner(
        "What fails: see it",
        Address("what-fails", what_fails.what_fails, "what_fails", beside=("year_ahead", "What fails")),
        Address("what-fails/<int:pk>", what_fails.what_fails_of, "what_fails_of"),
    ),
    *owner(
        "Call-backs: see how often our work brings one, by kind of work and technician",
        Address(
            "call-backs",
            lists.view(CALL_BACKS, "calls/call_backs.html"),
            "call_backs",
            beside=("year_ahead", "Call-backs"),
        ),
        Address(
            "call-backs/jobs", lists.view(WORKS, "calls/call_back_works.html"), "call_back_works", within="call_backs"
        ),
    ),
]
