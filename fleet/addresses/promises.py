"""Addresses of what was promised and is asked for: claims, payers' statements, registrations."""

from fleet.claims.queries.claims import CLAIMS
from fleet.claims.queries.suppliers import SUPPLIERS
from fleet.claims.views import claim_paper, claims, statements, suppliers
from fleet.coverage.queries.payers import DIFFERENCES
from fleet.coverage.queries.registered_otherwise import REGISTERED_OTHERWISE
from fleet.coverage.views import registrations
from fleet.front.views import calendars
from fleet.registry.views import contacts
from fleet.web import lists
from fleet.web.address import Address, desk, everybody

ADDRESSES = [
    *desk(
        "Claims: open one, work on it, and see their deadlines",
        Address("failures/<int:pk>/claims", claims.claim_open, "claim_open", within="claims"),
        Address("claims", lists.view(CLAIMS, "claims/claims.html"), "claims", menu="Claims"),
        Address("claims/<int:pk>", claims.claim, "claim", within="claims"),
        Address("claims/<int:pk>/step", claims.claim_step, "claim_step"),
        Address("claims/<int:pk>/take-back", claims.claim_take_back, "claim_take_back"),
        Address("claims/<int:pk>/change", claims.claim_change, "claim_change"),
        Address("claims/<int:pk>/undo-correction", claims.claim_undo_correction, "claim_undo_correction"),
        Address("claims/<int:pk>/dismiss-deadline", claims.claim_dismiss_deadline, "claim_dismiss_deadline"),
        Address("claims/<int:pk>/restore-deadline", claims.claim_restore_deadline, "claim_restore_deadline"),
        Address("claims/<int:pk>/give", claims.claim_give, "claim_give"),
    ),
    *desk(
        "Claims: the paper for the payer",
        Address("claims/<int:pk>/paper", claim_paper.claim_paper, "claim_paper"),
    ),
    *everybody(
        "Claims: the tag for the old part",
        Address("claims/<int:pk>/tag", claim_paper.claim_tag, "claim_tag"),
    ),
    *desk(
        "Suppliers: see, add and correct them",
        Address(
            "suppliers", lists.view(SUPPLIERS, "suppliers/suppliers.html"), "suppliers", beside=("claims", "Suppliers")
        ),
        Address("suppliers/add", suppliers.supplier_add, "supplier_add", within="suppliers"),
        Address("suppliers/<int:pk>", suppliers.supplier, "supplier", within="suppliers"),
    ),
    *desk(
        "Payers' statements: take them, and decide whose each credit is",
        Address("statements", statements.statements, "statements", beside=("claims", "Payers' statements")),
        Address("statements/columns", statements.statement_matching, "statement_columns", within="statements"),
        Address("statements/<int:pk>", statements.statement, "statement", within="statements"),
        Address("statements/<int:pk>/again", statements.statement_again, "statement_again"),
        Address("statement-lines/<int:pk>/match", statements.statement_match, "statement_match"),
        Address("statement-lines/<int:pk>/aside", statements.statement_aside, "statement_aside"),
        Address("statement-lines/<int:pk>/open", statements.statement_open, "statement_open"),
    ),
    *desk(
        "Claims: see the deadlines in a calendar of one's own",
        Address("calendars", calendars.calendars, "calendars", beside=("on_our_desk", "Deadlines in your calendar")),
        Address("calendars/<int:pk>/revoke", calendars.calendar_revoke, "calendar_revoke"),
    ),
    *desk(
        "Registrations: see the queue, record and take back",
        Address("registrations", registrations.registrations, "registrations", menu="Registrations"),
        Address("systems/<int:pk>/registration", registrations.registration, "registration", within="registrations"),
        Address(
            "systems/<int:pk>/registration/late",
            registrations.registration_late,
            "registration_late",
            within="registrations",
        ),
        Address("systems/<int:pk>/registration/missed", registrations.registration_missed, "registration_missed"),
        Address("systems/<int:pk>/registration/proof", registrations.registration_proof, "registration_proof"),
        Address(
            "systems/<int:pk>/registration/date",
            registrations.registration_date,
            "registration_date",
            within="registrations",
        ),
        Address("systems/<int:pk>/registration/undo", registrations.registration_undo, "registration_undo"),
        Address(
            "systems/<int:pk>/registration/differing", registrations.registration_differing, "registration_differing"
        ),
        Address(
            "registrations/differing",
            lists.view(REGISTERED_OTHERWISE, "registrations/differing.html"),
            "registrations_differing",
            within="registrations",
        ),
        Address(
            "systems/<int:pk>/registration/remind/<int:terms>", registrations.registration_remind, "registration_remind"
        ),
        Address(
            "systems/<int:pk>/registration/letter/<int:terms>", registrations.registration_letter, "registration_letter"
        ),
    ),
    *desk(
        "Payer disagreements: see the list",
        Address(
            "payers-differ",
            lists.view(DIFFERENCES, "payers/differences.html"),
            "payer_differences",
            beside=("on_our_desk", "Payer disagreements"),
        ),
    ),
    *desk(
        "New houses: see which were not closed yet, and record the day",
        Address("new-houses", contacts.unsold, "unsold", beside=("on_our_desk", "New houses")),
        Address("new-houses/closed", contacts.unsold_closed, "unsold_closed"),
    ),
]
