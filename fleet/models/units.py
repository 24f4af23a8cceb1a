"""Systems, the units that belong to them from and until days, and when a unit stood idle."""

from typing import Self

from django.db import models
from django.db.models import F, Q

from fleet.models.facts import fact
from fleet.models.log import Load
from fleet.models.sites import Site
from fleet.models.words import choices, one_of
from fleet.rules import words


class System(models.Model):
    """Outdoor units with their indoor heads, working together at one site."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="systems")
    name = fact(models.CharField(max_length=120), "Name")
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="system_known_by_site_and_name"),
            models.CheckConstraint(condition=~Q(name=""), name="system_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class UnitQuerySet(models.QuerySet["Unit"]):
    """Filters over units."""

    def in_service(self) -> Self:
        """Leave out units that were exchanged or taken out."""
        return self.filter(removed_on__isnull=True)

    def taken_for(self, unit: "Unit", system: int) -> Self:
        """Find those in service in a system that could be taken for a unit whose label is faded, as nothing tells them apart."""
        alike = self.in_service().filter(system=system, role=unit.role, room=unit.room, serial_key="")
        return alike.exclude(pk=unit.pk)


class Unit(models.Model):
    """One thing with a serial (or, while its label is faded, a room).

    `maker_key`, `model_key` and `serial_key` are the folded forms that identify it. A unit that came in exchange under
    warranty points at the one it took over from, whose start, conditions, registration and maintenance hold on for it;
    its own dates and conditions stay blank. `system` is where it is now, or was last; `places` has the days. `in_place_of` is
    the unit that was taken out whose place a bought one took. `matched_after`
    says of the system, from the day of the exchange on, what somebody answered (blank: nobody was asked).
    """

    system = models.ForeignKey(System, models.PROTECT, related_name="units")
    # fmt: off
    role = fact(models.CharField(max_length=20, choices=choices(words.ROLES)), "Role", page="", new_install="row", stays=True)
    style = fact(models.CharField(max_length=12, blank=True, choices=choices(words.STYLES)), "Style", page="", new_install="row", stays=True)
    room = fact(models.CharField(max_length=120, blank=True), "Room", page="", new_install="row", stays=True)
    maker = fact(models.CharField(max_length=120), "Manufacturer", page="", new_install="row")
    model = fact(models.CharField(max_length=120), "Model", page="", new_install="row")
    serial = fact(models.CharField(max_length=120, blank=True), "Serial", page="", new_install="row")
    maker_key = models.CharField(max_length=120)
    model_key = models.CharField(max_length=120)
    serial_key = models.CharField(max_length=120, blank=True, db_index=True)
    manufactured_on = fact(models.DateField(null=True), "Manufactured", handed_on=True)
    purchased_on = fact(models.DateField(null=True), "Purchased", new_install="once", handed_on=True)
    installed_on = fact(models.DateField(null=True), "Installed", new_install="once", handed_on=True)
    started_on = fact(models.DateField(null=True), "Started", new_install="once", handed_on=True)
    installed_by = fact(models.CharField(max_length=120, blank=True, help_text="blank or us: we did; else the firm"), "Installed by (blank: us)", page="Installed by", new_install="once", handed_on=True)
    installer = fact(models.CharField(max_length=120, blank=True), "Installer", page="", new_install="more", handed_on=True)
    recognized_installer = fact(models.BooleanField(null=True), "Recognized by the manufacturer", page="Recognized installer", new_install="more", handed_on=True)
    licensed_installer = fact(models.BooleanField(null=True), "Licensed installer", new_install="more", handed_on=True)
    matched_system = fact(models.BooleanField(null=True), "Matched system", new_install="more", handed_on=True)
    original_site = fact(models.BooleanField(null=True), "First site of this unit", page="At its original site", new_install="more", handed_on=True)
    surroundings = fact(models.CharField(max_length=80, blank=True, help_text="words with ; between, in the known order"), "Surroundings", any_of=words.SURROUNDINGS, stays=True)
    access = fact(models.CharField(max_length=12, blank=True, choices=choices(words.ACCESS)), "Access", stays=True)
    drain = fact(models.CharField(max_length=120, blank=True), "Drain", new_install="row", stays=True)
    refrigerant = fact(models.CharField(max_length=30, blank=True), "Refrigerant", stays=True)
    plate_charge_oz = fact(models.DecimalField(max_digits=7, decimal_places=2, null=True), "Nameplate charge, oz", page="Nameplate charge", measure="oz")
    plate_amps = fact(models.DecimalField(max_digits=7, decimal_places=2, null=True), "Nameplate amps", page="Nameplate amps", measure="A")
    filter_size = fact(models.CharField(max_length=40, blank=True, help_text="as on the old filter: 16 x 25 x 1"), "Filter size", stays=True)
    notes = fact(models.TextField(blank=True), "Notes")
    # fmt: on
    removed_on = models.DateField(null=True)
    removal_reason = models.CharField(max_length=12, blank=True)
    matched_after = models.CharField(
        max_length=10,
        blank=True,
        choices=choices(words.STILL_MATCHED),
        help_text="of an outdoor unit that was exchanged: whether the indoor units that stayed still match",
    )
    took_over_from = models.OneToOneField("self", models.PROTECT, null=True, related_name="taken_over_by")
    replaced_on = models.DateField(null=True)
    in_place_of = models.OneToOneField("self", models.PROTECT, null=True, related_name="place_taken_by")
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    objects = UnitQuerySet.as_manager()

    class Meta:
        # From one maker to the next without reading every unit.
        indexes = [
            models.Index(fields=["maker"], name="unit_by_maker"),
            models.Index(fields=["installed_by"], name="unit_by_installed_by"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["maker_key", "model_key", "serial_key"],
                condition=~Q(serial_key=""),
                name="unit_known_by_maker_model_serial",
            ),
            models.UniqueConstraint(
                fields=["system", "role", "room"],
                condition=Q(serial_key="", removed_on__isnull=True),
                name="unit_without_serial_known_by_room",
            ),
            models.CheckConstraint(
                condition=~Q(serial_key="") | ~Q(room=""),
                name="unit_has_serial_or_room",
                violation_error_message="A unit needs a serial, or a room while its label cannot be read.",
            ),
            models.CheckConstraint(condition=~Q(maker="") & ~Q(model=""), name="unit_has_maker_and_model"),
            one_of("role", words.ROLES),
            one_of("style", words.STYLES, blank=True),
            one_of("access", words.ACCESS, blank=True),
            one_of("matched_after", words.STILL_MATCHED, blank=True),
            models.CheckConstraint(
                condition=Q(matched_after="") | Q(removal_reason="exchanged"), name="unit_matched_after_an_exchange"
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=True, removal_reason="")
                | Q(removed_on__isnull=False, removal_reason__in=["exchanged", "removed"]),
                name="unit_removed_on_with_reason",
                violation_error_message="A unit that is no longer in service has the day and whether it was exchanged or removed.",
            ),
            models.CheckConstraint(
                condition=Q(took_over_from__isnull=True, replaced_on__isnull=True)
                | Q(took_over_from__isnull=False, replaced_on__isnull=False),
                name="unit_replaced_on_with_predecessor",
                violation_error_message="A unit that took over from another has the day it came.",
            ),
            models.CheckConstraint(
                condition=Q(removed_on__isnull=True)
                | Q(replaced_on__isnull=True)
                | Q(removed_on__gte=F("replaced_on")),
                name="unit_removed_after_it_came",
                violation_error_message="A unit cannot be removed before it came.",
            ),
            models.CheckConstraint(condition=~Q(in_place_of=F("id")), name="unit_not_in_its_own_place"),
            models.CheckConstraint(
                condition=Q(plate_charge_oz__isnull=True) | Q(plate_charge_oz__gte=0), name="unit_charge_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(plate_amps__isnull=True) | Q(plate_amps__gte=0), name="unit_amps_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.maker} {self.model} {self.serial or self.room}".strip()

    def first_of_line(self) -> "Unit":
        """The first of its line of exchanges under warranty, whose facts hold on for it: itself where it took over from none."""
        first = self
        while first.took_over_from is not None:
            first = first.took_over_from
        return first


class Place(models.Model):
    """A unit's belonging to a system: the day it came (none: since it was put in) and the day it left, which is the next one's."""

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="places")
    system = models.ForeignKey(System, models.PROTECT, related_name="places")
    joined_on = models.DateField(null=True)
    left_on = models.DateField(null=True)

    class Meta:
        ordering = [F("joined_on").asc(nulls_first=True)]
        constraints = [
            models.UniqueConstraint(fields=["unit"], condition=Q(left_on__isnull=True), name="place_one_at_a_time"),
            models.UniqueConstraint(fields=["unit", "joined_on"], name="place_one_from_each_day"),
            models.UniqueConstraint(fields=["unit"], condition=Q(joined_on__isnull=True), name="place_one_first"),
            models.CheckConstraint(
                condition=Q(joined_on__isnull=True) | Q(left_on__isnull=True) | Q(left_on__gt=F("joined_on")),
                name="place_left_after_it_came",
                violation_error_message="A unit leaves a system on a later day than it came.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit_id} in {self.system_id}"


class Idle(models.Model):
    """A time in which a unit stood unused; `back_on` is the day it came back into use."""

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="idles")
    idle_on = models.DateField()
    back_on = models.DateField(null=True)

    class Meta:
        ordering = ["idle_on"]
        constraints = [
            models.UniqueConstraint(fields=["unit"], condition=Q(back_on__isnull=True), name="idle_one_at_a_time"),
            models.UniqueConstraint(fields=["unit", "idle_on"], name="idle_once_a_day"),
            models.CheckConstraint(
                condition=Q(back_on__isnull=True) | Q(back_on__gte=F("idle_on")),
                name="idle_back_after_it_began",
                violation_error_message="A unit comes back into use no earlier than it fell idle.",
            ),
        ]

    def __str__(self) -> str:
        return f"idle {self.idle_on}"
