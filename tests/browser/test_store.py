"""The browser's own store: what is put in it is there, whole, also when something goes wrong."""

import pytest
from playwright.sync_api import Page, expect

from tests import company

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def there(desk: Page, live, log_in) -> Page:
    """A page that has the store, empty."""
    company.on_file()
    log_in(desk, "office")
    desk.goto("/terms")
    return desk


def test_what_is_put_in_is_there_after_a_reload_and_gone_once_removed(there: Page):
    there.evaluate(
        """async () => {
            await Store.put("drafts", { key: "7|b", schema: 1, text: "two" });
            await Store.put("drafts", { key: "7|a", schema: 1, text: "one" });
            await Store.put("drafts", { key: "70|a", schema: 1, text: "another's" });
            await Store.put("outbox", { key: "7|a", schema: 3, text: "elsewhere" });
        }"""
    )
    there.reload()
    assert there.evaluate("() => Store.get('drafts', '7|a')") == {"key": "7|a", "schema": 1, "text": "one"}
    assert there.evaluate("async () => (await Store.keys('drafts')).filter((key) => !key.startsWith('phone|'))") == [
        "70|a",
        "7|a",
        "7|b",
    ]
    assert there.evaluate("() => Store.keys('drafts', '7|')") == ["7|a", "7|b"]
    assert [item["text"] for item in there.evaluate("() => Store.all('drafts', '7|')")] == ["one", "two"]
    there.evaluate("() => Store.delete('drafts', '7|a')")
    assert there.evaluate("() => Store.get('drafts', '7|a')") is None
    assert there.evaluate("() => Store.keys('drafts', '7|')") == ["7|b"]
    assert there.evaluate("() => Store.keys('outbox')") == ["7|a"]
    # A photo comes back byte by byte.
    assert there.evaluate(
        """async () => {
            const bytes = crypto.getRandomValues(new Uint8Array(60_000));
            const file = new File([bytes], "plate 1.jpg", { type: "image/jpeg" });
            await Store.put("photos", { key: "p", schema: 1, ...await Store.bytesOf(file) });
            const back = Store.fileOf(await Store.get("photos", "p"));
            const same = new Uint8Array(await back.arrayBuffer()).every((byte, at) => byte === bytes[at]);
            return [same, back.size, back.name, back.type];
        }"""
    ) == [True, 60_000, "plate 1.jpg", "image/jpeg"]


def test_items_come_one_at_a_time_until_somebody_has_enough(there: Page):
    assert there.evaluate(
        """async () => {
            for (const key of "dacb") await Store.put("photos", { key, schema: 1 });
            const seen = [];
            let under_way = 0;
            await Store.each("photos", async ({ key }) => {
                under_way += 1;
                await new Promise((done) => setTimeout(done, 20));
                if (key === "a") await Store.delete("photos", "b");
                seen.push(key + under_way);
                under_way -= 1;
                return key !== "c";
            });
            return seen;
        }"""
    ) == ["a1", "c1"]


def test_several_changes_are_all_made_or_none(there: Page):
    there.evaluate("() => Store.put('drafts', { key: 'a', schema: 1 })")
    there.evaluate(
        "() => Store.write({ in: 'outbox', put: { key: 'a', schema: 1, text: 'sent off' } }, { in: 'drafts', delete: 'a' })"
    )
    assert there.evaluate("async () => [await Store.keys('drafts', 'a'), await Store.keys('outbox')]") == [[], ["a"]]
    why = there.evaluate(
        """() => Store.write({ in: "outbox", put: { key: "b", schema: 1 } }, { in: "drafts", put: { key: "b" } })
        .catch((error) => error.message)"""
    )
    assert why == "An item needs a schema, a whole number."
    assert there.evaluate("() => Store.keys('outbox')") == ["a"]


def test_two_tabs_that_change_one_item_at_once_lose_neither_change(there: Page):
    other = there.context.new_page()
    other.goto("/terms")
    add = """(who) => Promise.all([...Array(20).keys()].map((number) => Store.change("drafts", "list",
        (was) => ({ key: "list", schema: 1, all: [...(was?.all ?? []), who + number] }))))"""
    for page, who in ((there, "a"), (other, "b")):
        page.evaluate(f"() => {{ window.done = ({add})('{who}'); }}")
    for page in (there, other):
        page.evaluate("() => window.done")
    assert len(set(there.evaluate("async () => (await Store.get('drafts', 'list')).all"))) == 40


def test_an_open_tab_does_not_keep_another_from_a_newer_store(there: Page):
    there.evaluate("() => Store.put('drafts', { key: 'a', schema: 1 })")
    other = there.context.new_page()
    other.goto("/terms")
    assert (
        other.evaluate(
            """() => new Promise((resolve) => {
                const request = indexedDB.open("fleet", 99);
                request.onblocked = () => resolve("blocked");
                request.onsuccess = () => { request.result.close(); resolve("open"); };
            })"""
        )
        == "open"
    )
    why = there.evaluate("() => Store.get('drafts', 'a').catch((fault) => [fault.why, fault.message])")
    assert why == ["newer", "A newer version of this page is open in another tab. Reload this page before you go on."]


REFUSE = {
    "none": "() => { Object.defineProperty(window, 'indexedDB', { value: undefined }); }",
    "refused": """() => { indexedDB.constructor.prototype.open = function () {
        const request = { error: new DOMException("private", "InvalidStateError") };
        setTimeout(() => request.onerror(new Event("error")), 1);
        return request; }; }""",
    "full": """() => { IDBObjectStore.prototype.put = function () {
        throw new DOMException("too much", "QuotaExceededError"); }; }""",
}


def test_a_store_that_cannot_says_why_in_words(there: Page):
    for why in sorted(REFUSE):
        there.evaluate("() => Store.put('outbox', { key: 'a', schema: 1 })")
        there.evaluate(REFUSE[why])
        got = there.evaluate(
            """() => Store.put('outbox', { key: 'b', schema: 1 })
            .catch((fault) => [fault instanceof Store.Fault, fault.why])"""
        )
        assert got == [True, why]
        there.reload()
        assert there.evaluate("() => Store.keys('outbox')") == ["a"]


def test_whoever_is_logged_out_has_no_store_and_no_name_on_the_page(desk: Page, live):
    desk.goto("/login")
    expect(desk.locator("body[data-person]")).to_have_count(0)
    assert desk.evaluate("() => typeof Store") == "undefined"
