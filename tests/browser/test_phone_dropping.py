"""Write-ups with photos through a link that drops at random: each on file once, whole and unchanged, every photo once.

WRITE_UPS asks for more of them than the few that every run sends; the figures of 500 stand in DEVELOPERS.md.
"""

import datetime as dt
import hashlib
import os
import random
import re
import time
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest
from django.conf import settings
from PIL import Image
from playwright.sync_api import Page, Request, Route

from fleet import clock, models
from tests.browser.test_phone import _media, open_phone, outbox, phone, units  # noqa: F401 - fixtures

pytestmark = [pytest.mark.browser, pytest.mark.on_postgres, pytest.mark.django_db(transaction=True)]

# On one phone at once; the rest is written while these go.
BATCH = 25
SKIPPED = "no access"


@dataclass(frozen=True)
class Written:
    """What the write-up of a number says: no two say the same."""

    number: int
    unit: int

    @property
    def day(self) -> dt.date:
        return clock.today() - dt.timedelta(days=self.number // 2)

    @property
    def fields(self) -> dict[str, str]:
        """As the form has them; two of three do the task, the third skips it."""
        n, unit = self.number, self.unit
        work = {f"skip-{unit}:coil": SKIPPED} if n % 3 == 2 else {f"done-{unit}:coil": "on"}
        return work | {
            "booking": "",
            "day": self.day.isoformat(),
            "technician": f"Wynn {n % 7}",
            "minutes": str(30 + n % 60),
            "notes": f"Write-up {n}: “{hashlib.sha256(str(n).encode()).hexdigest()}”\nand a second line — 🙂",
            f"wheel-{unit}": str(n % 4),
            f"coil-{unit}": str(n // 4 % 4),
            f"notes-{unit}": f"Of the unit, {n}",
            f"read-{unit}:return air temperature": f"{60 + n % 20}.{n % 10}",
            f"mode-{unit}": "cooling",
            "failed-rows": "1",
            "weighed-rows": "1",
        }

    def is_on_file(self, row: models.WriteUp, digests: list[str]) -> None:
        """Hold every field of it, and each of its two photos, to what is on file."""
        n, fields = self.number, self.fields
        assert (row.on, row.technician, str(row.minutes)) == (self.day, fields["technician"], fields["minutes"])
        assert (row.notes, row.booking_id, row.by.username) == (fields["notes"], None, "technician")
        (record,) = row.records.all()
        assert (record.unit_id, record.done_on, record.task) == (self.unit, self.day, "coil")
        assert (record.skipped, record.skip_reason) == ((True, SKIPPED) if n % 3 == 2 else (False, ""))
        assert (record.dirt_wheel, record.dirt_coil, record.notes) == (n % 4, n // 4 % 4, f"Of the unit, {n}")
        assert record.technician == fields["technician"]
        (reading,) = row.readings.all()
        assert (reading.unit_id, reading.on, reading.reading) == (self.unit, self.day, "return air temperature")
        assert (reading.value, reading.mode) == (Decimal(f"{60 + n % 20}.{n % 10}"), "cooling")
        assert [photo["digest"] for photo in row.content["photos"]] == digests
        site, unit = (row.documents.get(sent_digest=digest) for digest in digests)
        assert row.documents.count() == 2
        assert (site.site_id, unit.unit_id) == (row.site_id, self.unit)
        # The door holds each file to its digest; what was kept of it still shows the number that was drawn.
        assert (_shown(site), _shown(unit)) == ((n, 0), (n, 1))


def _shown(photo: models.Document) -> tuple[int, int]:
    """The number of the write-up and of the photo that stand in its squares."""
    with Image.open(settings.MEDIA_ROOT / photo.stored) as picture:
        gray = picture.convert("L")
    squares = (gray.getpixel((bit % 4 * 16 + 8, bit // 4 * 16 + 8)) for bit in range(16))
    read = sum(1 << bit for bit, light in enumerate(squares) if isinstance(light, int) and light < 128)
    return read >> 1, read & 1


class Link:
    """A link that breaks off three of ten requests: half of them never arrive, of the others the answer is lost."""

    def __init__(self, page: Page) -> None:
        self.count: Counter[str] = Counter()
        self._chance = random.Random(20261130)
        page.route(re.compile(r"/phone/|/write-up"), self._drop)
        page.on("request", self._counted)

    def _counted(self, request: Request) -> None:
        self.count["requests"] += bool(re.search(r"/phone/|/write-up", request.url))

    def _drop(self, route: Route) -> None:
        luck = self._chance.random()
        if luck < 0.15:
            self.count["never arrived"] += 1
            route.abort()
        elif luck < 0.3:
            self.count["answer lost"] += 1
            route.fetch()
            route.abort()
        else:
            route.continue_()


@pytest.mark.slow
def test_through_a_link_that_drops_at_random_everything_arrives_once(phone: Page, units):  # noqa: F811 - fixtures
    phone.goto("/terms")
    link = Link(phone)
    site = units[0].system.site_id
    person = models.User.objects.get(username="technician").pk
    wanted: dict[str, tuple[Written, list[str]]] = {}
    began, count = time.monotonic(), int(os.environ.get("WRITE_UPS", "12"))
    while len(wanted) < count:
        for number in range(len(wanted), min(len(wanted) + BATCH, count)):
            written = Written(number, units[number % 2].pk)
            item = {"person": person, "site": site, "fields": written.fields, "number": number, "unit": written.unit}
            made = phone.evaluate(QUEUE, item)
            wanted[made["id"]] = written, made["digests"]
        drain(phone, most=BATCH * 40)
        phone.reload()
    took = time.monotonic() - began
    assert {item["state"] for item in outbox(phone)} == {"sent"}
    assert phone.evaluate("() => Store.keys('photos')") == []
    assert min(link.count.values()) > 0
    rows = {str(row.key): row for row in models.WriteUp.objects.select_related("by")}
    assert rows.keys() == wanted.keys()
    for key, (written, digests) in wanted.items():
        written.is_on_file(rows[key], digests)
    sent = [digest for _, digests in wanted.values() for digest in digests]
    assert sorted(models.Document.objects.values_list("sent_digest", flat=True)) == sorted(sent)
    assert len(set(sent)) == 2 * count
    print(f"{count} write-ups, {len(sent)} photos in {took:.0f} s: {dict(link.count)}")  # noqa: T201 - what this is for


def drain(page: Page, most: int) -> None:
    """Send as the button does, until everything was sent; the phone's own waits between two tries are not waited for."""
    sent: Any = page.evaluate(
        """async (most) => {
            for (let tries = 0; tries < most; tries += 1) {
                await Outbox.flush();
                if ((await Outbox.items()).every((item) => item.state === "sent")) return true;
            }
            return false;
        }""",
        most,
    )
    assert sent


# A write-up that waits with two photos of its own, as the form leaves it: one of the site, one of the unit.
QUEUE = """async ({ person, site, fields, number, unit }) => {
    const id = crypto.randomUUID();
    const photos = [];
    for (const which of [0, 1]) {
        const canvas = document.createElement("canvas");
        canvas.width = canvas.height = 64;
        const pen = canvas.getContext("2d");
        pen.fillStyle = "#fff"; pen.fillRect(0, 0, 64, 64);
        pen.fillStyle = "#000";
        // Its number in black squares, which no compressing makes like another's.
        const shown = number * 2 + which;
        for (let bit = 0; bit < 16; bit += 1) if (shown >> bit & 1) pen.fillRect((bit % 4) * 16, Math.floor(bit / 4) * 16, 16, 16);
        const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
        const bytes = await blob.arrayBuffer();
        const folded = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
        const digest = [...folded].map((byte) => byte.toString(16).padStart(2, "0")).join("");
        await Store.put("photos", { key: Outbox.photoKey(id, digest), schema: 1, name: "a.jpg", type: "image/jpeg", bytes });
        photos.push({ digest, name: "a.jpg", size: bytes.byteLength, of: which ? { unit } : {}, state: "waiting" });
    }
    const now = Date.now();
    await Store.put("outbox", { key: Outbox.PREFIX + id, schema: 1, id, person, site, booking: "", title: "A stop", state: "waiting",
        why: "", faults: {}, fields: { ...fields, key: id }, photos, begun: now, changed: now,
        captured_at: new Date(now).toISOString(), tries: 0 });
    return { id, digests: photos.map((photo) => photo.digest) };
}"""
