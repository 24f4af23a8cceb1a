"""What an agreement billed and what was paid, the heads that were added to it, and what it gave back when it ended early."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from fleet.models.care import Agreement
from fleet.models.words import choices, one_of
from fleet.rules.billing import KINDS

REFUND_WAYS = ("by days", "by visits", "another")


class AgreementBill(models.Model):
    """A bill that was sent: the days it is for, its amount in dollars, when and by which number. Planned ones are no rows."""

    agreement = models.ForeignKey(Agreement, models.PROTECT, related_name="bills")
    kind = models.CharField(max_length=12, choices=choices(KINDS), default="term")
    first_on = models.DateField()
    last_on = models.DateField()
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    billed_on = models.DateField()
    number = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["first_on", "pk"]
        indexes = [models.Index(fields=["billed_on"])]
        constraints = [
            one_of("kind", KINDS),
            models.UniqueConstraint(
                fields=["agreement", "kind", "first_on"],
                name="agreementbill_days_once",
                violation_error_message="These days are billed already.",
            ),
            models.CheckConstraint(condition=Q(last_on__gte=F("first_on")), name="agreementbill_days_in_order"),
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="agreementbill_of_something",
                violation_error_message="A bill is for more than $0.00.",
            ),
        ]

    def __str__(self) -> str:
        return f"bill {self.number}".strip()


class BillPayment(models.Model):
    """Money that came in for a bill, whole or a part of it."""

    bill = models.ForeignKey(AgreementBill, models.PROTECT, related_name="payments")
    paid_on = models.DateField()
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    note = models.CharField(max_length=120, blank=True, help_text="a check's number, say")

    class Meta:
        ordering = ["paid_on", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount__gt=0),
                name="billpayment_of_something",
                violation_error_message="A payment is more than $0.00.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.amount} on {self.paid_on}"


class AddedHeads(models.Model):
    """What was decided about heads put in on a day in mid-term: billed for the days left (`taken`), or left without a bill."""

    agreement = models.ForeignKey(Agreement, models.PROTECT, related_name="added_heads")
    on = models.DateField(help_text="the day they were put in")
    taken = models.BooleanField()
    decided_on = models.DateField()

    class Meta:
        ordering = ["on"]
        constraints = [models.UniqueConstraint(fields=["agreement", "on"], name="addedheads_day_once")]

    def __str__(self) -> str:
        return f"heads added on {self.on}"


class AgreementRefund(models.Model):
    """What a person decided that an agreement gives back since it ended early; below 0 the customer still owes it."""

    agreement = models.OneToOneField(Agreement, models.PROTECT, related_name="refund")
    way = models.CharField(max_length=12, choices=choices(REFUND_WAYS))
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    why = models.CharField(max_length=300, blank=True)
    decided_on = models.DateField()
    at = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = [
            one_of("way", REFUND_WAYS),
            models.CheckConstraint(
                condition=~Q(way="another") | ~Q(why=""),
                name="agreementrefund_another_with_why",
                violation_error_message="Another amount needs a reason.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} {self.way}"
