"""What is kept of what the rules worked out, so that a list over a large fleet is one query.

Each row is the answer for a failure today, asked today. Nothing in it changes by time alone before `next_on`.
"""

from django.db import models
from django.db.models import F, Q

from fleet.models.claims import Claim
from fleet.models.history import Failure
from fleet.models.promises import Terms
from fleet.models.sites import Site
from fleet.models.units import System, Unit
from fleet.models.words import choices, one_of
from fleet.rules.money_parts import Figure


class HoldingRow(models.Model):
    """That a unit holds terms: when they start for it, where its registration stands and why, and what a missed one lost.

    `system` is the unit's. `reason` is [code, what, day, until, would_reach]; `lost` is a list of [kind, components with ;
    between, days (None: a lifetime), last, would_reach, perhaps]; `at_stake` is what would be lost where it is still to do.
    `notify_by` is the last day to tell the payer of a sale of the house (`notify_sold_on`), where coverage hangs on it
    (`notify_stake`, written as `lost` is).
    """

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="holdings")
    system = models.ForeignKey(System, models.CASCADE, related_name="+", db_index=False)
    terms = models.ForeignKey(Terms, models.CASCADE, related_name="holdings", db_index=False)
    attached = models.BooleanField()
    start_on = models.DateField(null=True)
    start_by = models.CharField(max_length=20, blank=True)
    start_assumed = models.BooleanField()
    registration = models.CharField(max_length=20)
    registration_day = models.DateField(null=True)
    deadline = models.DateField(null=True)
    reason = models.JSONField(default=list)
    lost = models.JSONField(default=list)
    at_stake = models.JSONField(default=list)
    notify_by = models.DateField(null=True)
    notify_sold_on = models.DateField(null=True)
    notify_stake = models.JSONField(default=list)
    next_on = models.DateField(null=True, db_index=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["unit", "terms"], name="holdingrow_once")]
        indexes = [
            # With what the queue of registrations narrows and groups by, so that counting reads the index alone.
            models.Index(fields=["registration", "deadline", "system", "terms", "unit"], name="holding_by_deadline"),
            models.Index(fields=["terms", "start_on"], name="holding_by_start"),
            # The few whose payer is to be told of a sale, found without the others.
            models.Index(
                fields=["notify_by", "system", "terms", "unit"],
                condition=Q(notify_by__isnull=False),
                name="holding_notify_by",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.terms_id} held by {self.unit_id}"


class CoverageRow(models.Model):
    """What one holding says today of one kind of cost for a group of components.

    `components` has names with ; between, or `*` for all not named in another row; `reasons`, `needs` and `hangs_on` are lists of
    [code, what, day, until, would_reach].
    """

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="coverage")
    terms = models.ForeignKey(Terms, models.CASCADE, related_name="coverage")
    payer = models.CharField(max_length=12)
    kind = models.CharField(max_length=12)
    components = models.TextField()
    result = models.CharField(max_length=12)
    first_on = models.DateField(null=True)
    last_on = models.DateField(null=True)
    lifetime = models.BooleanField(default=False)
    possible_last_on = models.DateField(null=True)
    possible_lifetime = models.BooleanField(default=False)
    reasons = models.JSONField()
    needs = models.JSONField()
    hangs_on = models.JSONField(default=list)
    next_on = models.DateField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["unit", "terms", "kind", "components"], name="coveragerow_once"),
            models.CheckConstraint(
                condition=Q(last_on__isnull=True) | Q(lifetime=False), name="coveragerow_lifetime_has_no_last_day"
            ),
        ]
        indexes = [
            # With what a list narrows by, so that counting what ends soon in a large fleet reads the index alone.
            models.Index(
                fields=["last_on", "unit", "payer", "kind", "result"],
                condition=Q(result="covered"),
                name="coverage_ending",
            ),
            # Narrow, so that counting what ends in a year reads little.
            models.Index(fields=["last_on", "result"], condition=Q(result="covered"), name="coverage_ending_count"),
        ]

    def __str__(self) -> str:
        return f"{self.unit_id} {self.kind} {self.components}: {self.result}"


class FactRow(models.Model):
    """A fact that nobody recorded of a unit, or of a site it stands or stood at, and the days of coverage it may open.

    One that was set aside, since nobody can know it any more, has no row.

    `first_on` and `last_on` bound the day of a maintenance record that is wanted.
    """

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="facts_wanted")
    site = models.ForeignKey(Site, models.CASCADE, null=True, related_name="facts_wanted", db_index=False)
    fact = models.CharField(max_length=24)
    worth_days = models.PositiveIntegerField()
    parts_days = models.PositiveIntegerField()
    labor_days = models.PositiveIntegerField()
    refrigerant_days = models.PositiveIntegerField()
    freight_days = models.PositiveIntegerField()
    first_on = models.DateField(null=True)
    last_on = models.DateField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["unit", "fact", "site"], name="factrow_once")]
        indexes = [
            # What is asked of sites is added up over their units, and ranked by what it is worth, by the index alone.
            models.Index(fields=["site", "fact", "worth_days"], condition=Q(site__isnull=False), name="fact_by_site"),
            # The list, worth most first, of units' facts, which stand in it as they are.
            models.Index("site", F("worth_days").desc(), "fact", "unit", name="fact_by_worth"),
        ]

    def __str__(self) -> str:
        return f"{self.fact} of {self.unit_id}"


class MoneyRow(models.Model):
    """What a failure cost us that a payer would have paid, had its unit been registered in time; and our hours on it.

    `missed` is a list of [terms, payer, deadline, registered_on, kinds with ; between, amount], one for each terms that would
    have paid (`terms_missed`), in the order of answers; `missed_cost` adds them up. `labor_cost` is what our hours cost where a payer bears
    them, `labor_short` by how much that is more than all payers pay for them. `cost` is all that the failure cost us, `hours_cost` our
    hours in it, `minutes` how long they took. `next_on` is when time alone may change it, where no
    row of the unit's holdings has that day. A failure with nothing of all this has no row.
    """

    failure = models.OneToOneField(Failure, models.CASCADE, related_name="money")
    failed_on = models.DateField()
    missed = models.JSONField(default=list)
    terms_missed = models.PositiveSmallIntegerField(default=0)
    missed_cost = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    maker = models.CharField(max_length=120, blank=True)
    cost = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    minutes = models.PositiveIntegerField(default=0)
    hours_cost = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    labor_cost = models.DecimalField(max_digits=12, decimal_places=2, null=True)
    labor_short = models.DecimalField(max_digits=12, decimal_places=2, null=True)
    next_on = models.DateField(null=True, db_index=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(labor_cost__isnull=True, labor_short__isnull=True)
                | Q(labor_cost__isnull=False, labor_short__isnull=False),
                name="moneyrow_labor_cost_and_short_together",
            )
        ]
        indexes = [
            # Adding up since a day, and finding the latest that were missed, each read an index alone.
            models.Index(
                fields=["failed_on", "terms_missed", "missed_cost", "labor_cost", "labor_short"], name="money_since"
            ),
            models.Index(fields=["failed_on", "failure"], condition=Q(terms_missed__gt=0), name="money_missed"),
        ]

    def __str__(self) -> str:
        return f"money of failure {self.failure_id}"


class KeptDay(models.Model):
    """The one row that has the latest day for which anything kept was worked out.

    A clock that was ahead once leaves rows of days to come; on a day before this one everything is worked out again. Until
    the day to which it was ahead (`ahead_to`), facts may have a day later than today, so each new day does so too.
    """

    on = models.DateField()
    ahead_to = models.DateField(null=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="keptday_is_one")]

    def __str__(self) -> str:
        return f"kept as of {self.on}"


class MoneyPart(models.Model):
    """Some dollars of a failure that stand in one place: `amount` adds up to its cost, `above` comes on top of that.

    `payer_name` is blank, and `claim` none, where no payer has to do with it. `maker` is the unit's.
    """

    failure = models.ForeignKey(Failure, models.CASCADE, related_name="money_parts")
    failed_on = models.DateField()
    maker = models.CharField(max_length=120, blank=True)
    figure = models.CharField(max_length=16, choices=choices(Figure))
    payer = models.CharField(max_length=12, blank=True)
    payer_name = models.CharField(max_length=500, blank=True)
    claim = models.ForeignKey(Claim, models.CASCADE, null=True, related_name="money_parts")
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    above = models.DecimalField(max_digits=12, decimal_places=2, default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["failure", "figure", "payer", "payer_name"], name="moneypart_once"),
            one_of("figure", Figure),
        ]
        indexes = [
            # Adding up a period by figure, payer and manufacturer reads the index alone.
            models.Index(
                fields=["failed_on", "figure", "payer_name", "maker", "amount", "above"], name="moneypart_in_period"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.figure} of failure {self.failure_id}: {self.amount}"
