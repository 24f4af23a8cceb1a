"""Where the money of failures stands, in plain English."""

from fleet.rules.money_parts import Figure

FIGURES = {
    Figure.CREDITED: "credited by payers",
    Figure.CUSTOMER_PAID: "paid by customers",
    Figure.OUT: "outstanding: claimed or approved, not credited yet",
    Figure.CUSTOMER_OWES: "owed by customers",
    Figure.TO_CLAIM: "can still be claimed",
    Figure.DENIED: "lost: denied or written off",
    Figure.UNAPPROVED: "lost: not approved",
    Figure.TOO_LATE: "lost: too late to claim",
    Figure.OURS: "ours: nobody else pays it",
}
