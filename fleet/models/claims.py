"""Claims on payers: where each stands, every step it took, its clocks, and what payers' statements brought."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from fleet.models.history import Failure
from fleet.models.promises import Terms
from fleet.models.suppliers import Supplier
from fleet.models.words import choices, one_of
from fleet.rules import clocks, which_component, words
from fleet.rules.claims import STEPS, State

CLOCK_KINDS = (*clocks.ClockKind, which_component.KIND)
LINE_STATES = ("open", "matched", "set aside")


class Claim(models.Model):
    """Asking one payer for its share of one failure. Money in dollars; `kinds` has kinds of cost with ; between.

    `asked`, `approved` and `credited` follow from the steps, `expected` and `possible` from the rules, `failed_on` (none:
    voided, so the claim counts for nothing) and `maker` from the failure and its unit; they are kept here for lists and sums,
    and recheck holds them to that. `version` counts the changes, so that of two people at once one is told.
    """

    failure = models.ForeignKey(Failure, models.PROTECT, related_name="claims")
    terms = models.ForeignKey(Terms, models.PROTECT, related_name="claims")
    payer = models.CharField(max_length=12, choices=choices(words.PAYERS))
    payer_name = models.CharField(max_length=500, help_text="the maker, or the title of other terms")
    kinds = models.CharField(max_length=60)
    supplier = models.ForeignKey(Supplier, models.PROTECT, null=True, related_name="claims")
    reference = models.CharField(max_length=120, blank=True, db_index=True, help_text="the payer's own number")
    state = models.CharField(max_length=16, choices=choices(State), default=State.GATHERING)
    failed_on = models.DateField(null=True)
    maker = models.CharField(max_length=120, blank=True)
    opened_on = models.DateField()
    opened_because = models.CharField(max_length=300, blank=True, help_text="where the payer promised nothing")
    approved_on = models.DateField(null=True, help_text="the payer approved it before the work")
    approval_number = models.CharField(max_length=120, blank=True, help_text="the payer's, of its prior approval")
    form_on = models.DateField(null=True, help_text="the claim form was made out")
    part_back_on = models.DateField(null=True)
    part_asked_for = models.BooleanField(null=True)
    carrier = models.CharField(
        max_length=120, blank=True, help_text="with whom the old part went, and its number there"
    )
    filed_on = models.DateField(null=True, help_text="the first filing")
    last_step_on = models.DateField(null=True)
    asked = models.DecimalField(max_digits=10, decimal_places=2, default=0)
    approved = models.DecimalField(max_digits=10, decimal_places=2, default=0)
    credited = models.DecimalField(max_digits=10, decimal_places=2, default=0)
    expected = models.DecimalField(max_digits=10, decimal_places=2, default=0)
    possible = models.DecimalField(max_digits=10, decimal_places=2, default=0)
    version = models.PositiveIntegerField(default=0)
    next_on = models.DateField(null=True, db_index=True, help_text="when time alone may change what is expected")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["-opened_on", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["failure", "payer", "payer_name"], name="claim_one_per_failure_and_payer"),
            one_of("payer", words.PAYERS),
            one_of("state", State),
            models.CheckConstraint(
                condition=Q(asked__gte=0) & Q(approved__gte=0) & Q(credited__gte=0), name="claim_money_not_negative"
            ),
        ]
        indexes = [
            # With what is added up of the claims in a state, and of those on failures since a day: by an index alone.
            models.Index(
                fields=["state", "filed_on", "failed_on", "asked", "approved", "credited"], name="claim_by_state"
            ),
            models.Index(
                fields=["failed_on", "payer_name", "maker", "state", "expected", "asked", "approved", "credited"],
                name="claim_money_since",
            ),
            models.Index(fields=["maker"], name="claim_by_maker"),
            # The list as it is usually put in order: its first page looks at few of many.
            models.Index(fields=["filed_on", "opened_on", "id"], name="claim_by_filing"),
        ]

    def __str__(self) -> str:
        return f"claim {self.pk} on {self.payer_name}"


class ClaimStep(models.Model):
    """One step that a claim took: from where to where, on which day, by whom, with what money and why.

    `number` counts a claim's steps from 1. A credit in parts leaves the state where it is: `asked_for` is what the step was.
    """

    claim = models.ForeignKey(Claim, models.CASCADE, related_name="steps")
    number = models.PositiveIntegerField()
    came_from = models.CharField(max_length=16, choices=choices(State))
    asked_for = models.CharField(max_length=16, choices=choices(State))
    went_to = models.CharField(max_length=16, choices=choices(State))
    on = models.DateField()
    amount = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    reason = models.CharField(max_length=500, blank=True)
    note = models.TextField(blank=True)
    last = models.BooleanField(default=False, help_text="the payer will not pay more")
    payers_correction = models.BooleanField(default=False)
    reference = models.CharField(max_length=120, blank=True, help_text="of the payer's letter or credit")
    key = models.UUIDField(null=True, unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["claim", "number"], name="claimstep_one_after_the_other"),
            models.CheckConstraint(
                condition=Q(
                    *(Q(came_from=before, asked_for=after) for before, into in STEPS.items() for after in into),
                    _connector=Q.OR,
                ),
                name="claimstep_in_the_table",
                violation_error_message="A claim cannot take that step from where it stands.",
            ),
            models.CheckConstraint(
                condition=Q(went_to=models.F("asked_for")) | Q(asked_for=State.CREDITED, went_to=models.F("came_from")),
                name="claimstep_goes_where_it_says",
            ),
            models.CheckConstraint(
                condition=Q(amount__isnull=True) | Q(amount__gt=0), name="claimstep_amount_positive"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.came_from} to {self.went_to} on {self.on}"


class ClockRow(models.Model):
    """One clock of a failure that some payer might pay for, kept while something is still to be done about it.

    `last_on` is none where the day that it counts from is not known yet; `first` marks what must be done before another thing
    that any day may bring. Whether it runs or was missed is asked of the day. `lapses_on` is the day after which it counts for
    nothing before long, since nobody claimed: the last day to file or, where there is none, its own (none: it counts until
    something is done). Of a failure whose component nobody knows yet there is one alone (`which component`): by when to say
    it, under the terms of which a claim would be too late first. `next_on` is when time alone may end it, where no row of the unit's holdings has that day.
    """

    failure = models.ForeignKey(Failure, models.CASCADE, related_name="clocks")
    terms = models.ForeignKey(Terms, models.CASCADE, related_name="+")
    claim = models.ForeignKey(Claim, models.CASCADE, null=True, related_name="clocks", db_index=False)
    kind = models.CharField(max_length=20, choices=choices(CLOCK_KINDS))
    last_on = models.DateField(null=True)
    first = models.BooleanField(default=False)
    counted_from = models.CharField(max_length=20)
    lapses_on = models.DateField(null=True)
    worth = models.DecimalField(max_digits=10, decimal_places=2, default=0, help_text="what its payer should credit")
    kinds = models.CharField(max_length=60, blank=True, help_text="the kinds of cost it is about")
    next_on = models.DateField(null=True, db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["failure", "terms", "kind"], name="clockrow_once"),
            one_of("kind", CLOCK_KINDS),
        ]
        indexes = [
            # With what decides whether one counts, so that the nearest are found, and all counted, by the index alone.
            models.Index(
                fields=["last_on", "failure", "terms", "lapses_on", "first", "claim"], name="clock_by_last_day"
            ),
            # What must come before another thing is near whatever its day, so it is looked for by itself.
            models.Index(
                fields=["last_on", "failure", "lapses_on", "first"], condition=Q(first=True), name="clock_first"
            ),
            # Of a claim, or of none: failures that nobody claimed are counted by it, by the day they lapse.
            models.Index(fields=["claim", "lapses_on", "failure", "terms"], name="clock_by_claim"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} by {self.last_on}"


class ClockNote(models.Model):
    """Why a clock of a claim counts no more: the payer let it go, or it was missed and somebody said why."""

    claim = models.ForeignKey(Claim, models.CASCADE, related_name="clock_notes")
    kind = models.CharField(max_length=20, choices=choices(clocks.ClockKind))
    why = models.CharField(max_length=300)
    on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["claim", "kind"], name="clocknote_once"),
            one_of("kind", clocks.ClockKind),
            models.CheckConstraint(
                condition=~Q(why=""),
                name="clocknote_says_why",
                violation_error_message="Say why this clock counts no more.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.why}"


class CalendarLink(models.Model):
    """A private link by which somebody's calendar reads the clocks; only a digest of its secret is kept."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="calendar_links")
    digest = models.CharField(max_length=64, unique=True)
    name = models.CharField(max_length=120, blank=True, help_text="which phone or desk")
    made_at = models.DateTimeField(db_default=Now())
    read_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.person} {self.name}".strip()


class Statement(models.Model):
    """A payer's list of credits, as it came in a file; the same file is taken once."""

    payer_name = models.CharField(max_length=500, blank=True)
    name = models.CharField(max_length=255)
    digest = models.CharField(max_length=64, unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    def __str__(self) -> str:
        return self.name


class StatementLine(models.Model):
    """One credit of a statement, and the claim it belongs to, once somebody or the matching found it."""

    statement = models.ForeignKey(Statement, models.CASCADE, related_name="lines")
    row = models.PositiveIntegerField()
    reference = models.CharField(max_length=120, blank=True)
    number = models.CharField(max_length=120, blank=True, help_text="serial, or the claim's own number")
    on = models.DateField()
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    text = models.CharField(max_length=300, blank=True)
    state = models.CharField(max_length=12, choices=choices(LINE_STATES), default="open")
    why = models.CharField(max_length=300, blank=True)
    step = models.OneToOneField(ClaimStep, models.SET_NULL, null=True, related_name="statement_line")

    class Meta:
        ordering = ["row"]
        constraints = [
            models.UniqueConstraint(fields=["statement", "row"], name="statementline_once"),
            one_of("state", LINE_STATES),
        ]

    def __str__(self) -> str:
        return f"row {self.row}: {self.amount}"


class FailureBill(models.Model):
    """What the customer was billed for a failure: the customer's share, without sales tax."""

    failure = models.ForeignKey(Failure, models.PROTECT, related_name="bills")
    billed_on = models.DateField()
    number = models.CharField(max_length=60, blank=True, help_text="of our invoice")
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["billed_on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="failurebill_amount_positive"),
        ]

    def __str__(self) -> str:
        return f"bill {self.number} of {self.billed_on}".replace("bill  of", "bill of")


class FailurePayment(models.Model):
    """What the customer paid of a bill for a failure, in one part or several."""

    bill = models.ForeignKey(FailureBill, models.PROTECT, related_name="payments")
    paid_on = models.DateField(db_index=True)
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["paid_on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="failurepayment_amount_positive"),
        ]

    def __str__(self) -> str:
        return f"payment of {self.paid_on}"
