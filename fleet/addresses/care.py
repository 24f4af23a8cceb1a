"""Addresses of what is due and agreed: maintenance, visits, agreements, our own promises."""

from fleet.business.queries.agreements import AGREEMENTS
from fleet.business.queries.own_promises import PROMISES
from fleet.business.queries.to_decide import BILLS, TO_DECIDE
from fleet.business.views import agreements, bills, layouts, own_promises
from fleet.care.views import due, visits
from fleet.web import lists
from fleet.web.address import Address, desk, everybody

ADDRESSES = [
    *everybody(
        "Due: see what is due, and print it",
        Address("due", due.list_due, "due", menu="Maintenance"),
        Address("sites/<int:pk>/care", due.site_care, "site_care", within="due"),
        Address("sites/<int:pk>/care/sheet", due.site_sheet, "site_sheet"),
        Address("systems/<int:pk>/wall-card", due.wall_card, "wall_card"),
    ),
    *everybody(
        "Due: record what was done or skipped, and take one's own back",
        Address("units/<int:pk>/care", due.care_record, "care_record", within="due"),
        Address("units/<int:pk>/care/done", due.care_done, "care_done"),
        Address("care-records/<int:pk>/undo", due.care_undo, "care_undo"),
    ),
    *desk(
        "Visits: plan, book, move and call them off",
        Address("visits", visits.visits, "visits", beside=("due", "Visits")),
        Address("sites/<int:pk>/visits", visits.site_visits, "site_visits", within="visits"),
        Address("visits/<int:pk>", visits.booking, "booking", within="visits"),
        Address("visits/<int:pk>/cancel", visits.cancel_booking, "cancel_booking"),
    ),
    *desk(
        "Agreements: see them, make, change, renew and end them",
        Address(
            "agreements",
            lists.view(AGREEMENTS, "agreements/agreements.html"),
            "agreements",
            menu="Agreements",
        ),
        Address(
            "agreements/to-decide",
            lists.view(TO_DECIDE, "agreements/to_decide.html"),
            "agreements_to_decide",
            beside=("agreements", "To decide"),
        ),
        Address("agreements/<int:pk>", agreements.agreement, "agreement", within="agreements"),
        Address("agreements/<int:pk>/renew", agreements.agreement_renew, "agreement_renew"),
        Address("agreements/<int:pk>/take-back", agreements.agreement_unrenew, "agreement_unrenew"),
        Address("agreements/<int:pk>/end", agreements.agreement_end, "agreement_end"),
        Address("agreements/<int:pk>/take-up", agreements.agreement_resume, "agreement_resume"),
        Address("sites/<int:pk>/agreement", agreements.agreement_new, "agreement_new", within="agreements"),
    ),
    *desk(
        "Agreements: record bills and payments, bill added heads, settle what an early end gives back",
        Address(
            "agreements/bills",
            lists.view(BILLS, "agreements/bills.html"),
            "agreement_bills",
            beside=("agreements", "Bills"),
        ),
        Address("agreements/<int:pk>/bill", bills.bill_send, "agreement_bill_send", within="agreements"),
        Address("agreement-bills/<int:pk>", bills.bill, "agreement_bill", within="agreement_bills"),
        Address("agreement-bills/<int:pk>/undo", bills.bill_unsend, "agreement_bill_undo"),
        Address("agreement-payments/<int:pk>/undo", bills.payment_undo, "agreement_payment_undo"),
        Address("agreements/<int:pk>/added-heads", bills.heads_decide, "agreement_heads"),
        Address("agreements/<int:pk>/added-heads/undo", bills.heads_undo, "agreement_heads_undo"),
        Address("agreements/<int:pk>/refund", bills.refund_decide, "agreement_refund"),
        Address("agreements/<int:pk>/refund/undo", bills.refund_undo, "agreement_refund_undo"),
    ),
    *desk(
        "Our promises: see them, make, change, print and end them",
        Address(
            "our-promises",
            lists.view(PROMISES, "promises/promises.html"),
            "own_promises",
            beside=("agreements", "Our promises"),
        ),
        Address("our-promises/<int:pk>", own_promises.promise, "own_promise", within="own_promises"),
        Address("our-promises/<int:pk>/paper", own_promises.promise_paper, "own_promise_paper"),
        Address("our-promises/<int:pk>/called-on", own_promises.promise_call, "own_promise_call"),
        Address("our-promises/<int:pk>/released", own_promises.promise_release, "own_promise_release"),
        Address("our-promises/<int:pk>/restore", own_promises.promise_restore, "own_promise_restore"),
        Address("our-promises/<int:pk>/delete", own_promises.promise_delete, "own_promise_delete"),
        Address("sites/<int:pk>/promise", own_promises.promise_new, "own_promise_new", within="own_promises"),
    ),
    *desk(
        "Layouts: compare them before a sale, on the page and on paper",
        Address("layouts", layouts.layouts, "layouts", beside=("agreements", "Compare layouts")),
        Address("layouts/paper", layouts.layouts_paper, "layouts_paper"),
    ),
]
