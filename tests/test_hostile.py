"""Requests that nobody means well, over every address and every form that a page has: none breaks anything.

Seeded, so that red means the change; FUZZ_REQUESTS asks for more of them, FUZZ_SEED for others.
"""

import os

import pytest

from tests.hostile import Forms, Fuzzer, InProcess

pytestmark = pytest.mark.django_db


@pytest.mark.slow
def test_no_hostile_request_breaks_anything(settings, tmp_path, demo_company):
    settings.MEDIA_ROOT = tmp_path
    demo_company.load()
    count = int(os.environ.get("FUZZ_REQUESTS", "600"))
    fuzzer = Fuzzer(int(os.environ.get("FUZZ_SEED", "1")), InProcess())
    assert list(fuzzer.run(count)) == []
    assert fuzzer.filled > count / 10


def test_forms_are_read_as_a_browser_reads_them():
    page = """<form action="/a"><input name="q"></form>
        <form method="post"><input type="hidden" name="was" value="x"><input type="checkbox" name="c" value="1" checked>
        <input type="checkbox" name="c" value="2"><select name="s"><option value="">none<option value="b" selected>B</select>
        <textarea name="t">two
lines</textarea><button name="do" value="it">Do it</button></form>"""
    first, second = Forms(page, "/here").found
    assert (first.action, first.method, list(first.fields)) == ("/a", "get", ["q"])
    assert (second.action, second.method) == ("/here", "post")
    told = {name: (one.kind, one.values, one.chosen) for name, one in second.fields.items()}
    assert told == {
        "was": ("hidden", ["x"], []),
        "c": ("checkbox", ["1", "2"], ["1"]),
        "s": ("select", ["", "b"], ["b"]),
        "t": ("textarea", ["two\nlines"], []),
        "do": ("submit", ["it"], []),
    }
