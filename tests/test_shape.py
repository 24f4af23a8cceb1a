"""The shape of the code: which way imports go, what templates may hold, what the locks say."""

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted(path for path in (ROOT / "fleet").rglob("*.py") if "migrations" not in path.parts)
TEMPLATES = sorted([*(ROOT / "templates").rglob("*.html"), *(ROOT / "fleet").rglob("*.html")])
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def run(*command: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


# -- imports


def test_a_request_travels_one_way():
    checked = run(Path(sys.executable).with_name("lint-imports"), "--no-logo", "--no-cache")
    assert checked.returncode == 0, checked.stdout


def test_what_is_pure_is_named_in_the_contract():
    """A wing that gets a folder of pages or papers is covered by the pattern; the ground's pure modules are named."""
    contracts = PROJECT["tool"]["importlinter"]["contracts"]
    (pure,) = (contract for contract in contracts if "fleet.models" in contract.get("forbidden_modules", ()))
    assert {"fleet.rules", "fleet.*.pages", "fleet.*.papers"} <= set(pure["source_modules"])


def test_the_rules_bring_in_neither_django_nor_celery():
    """In a fresh Python: the settings that these tests run under would hide a fault."""
    loaded = run(
        sys.executable,
        "-c",
        "import pkgutil, sys, fleet.rules\n"
        "for module in pkgutil.walk_packages(fleet.rules.__path__, 'fleet.rules.'):\n"
        "    __import__(module.name)\n"
        "print(sorted({'django', 'celery', 'django_htmx', 'psycopg'} & set(sys.modules)))",
    )
    assert (loaded.stdout.strip(), loaded.stderr) == ("[]", "")


# -- modules


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_a_module_says_what_it_is_for_and_stays_short(path):
    text = path.read_text()
    lines = text.splitlines()
    assert len(lines) <= 600
    if lines:  # an empty __init__.py only marks a folder as a package
        assert ast.get_docstring(ast.parse(text)), "no docstring"


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_nothing_writes_behind_an_action(path):
    """No signals and no overridden save() or delete(): the action is the only writer."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom):
            assert "signals" not in (node.module or "").split(".")
            assert "receiver" not in {name.name for name in node.names}
        if isinstance(node, ast.FunctionDef) and "models" in path.stem + str(path.parent):
            assert node.name not in {"save", "delete", "get_absolute_url"}


def test_what_is_put_off_until_later_has_a_task_of_that_name():
    put_off = {name for path in MODULES for name in _called_later(ast.parse(path.read_text()))}
    tasks = {
        node.name
        for path in MODULES
        if named(path).startswith("fleet/tasks")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.FunctionDef)
    }
    assert put_off <= tasks


def _called_later(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        function, first = node.func, node.args[0]
        name = function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")
        if name == "later" and isinstance(first, ast.Constant):
            yield str(first.value)


# -- templates

# htmx without eval does not refuse these, it runs without them: a filtered trigger then fires on every event.
NEEDS_EVAL = re.compile(
    r"""\bhx-on\b | \bhx-(?:vals|headers|vars)\s*=\s*["']\s*(?:js|javascript): | hx-trigger\s*=\s*"[^"]*\[ """,
    re.VERBOSE,
)
# What the strict content security policy would block.
INLINE = re.compile(
    r"""<style\b | <[a-z][^<>]*\s(?:style|on[a-z]+)\s*= | javascript: | <script\b(?![^>]*\bsrc\s*=) """,
    re.VERBOSE | re.IGNORECASE,
)


@pytest.mark.parametrize("path", TEMPLATES, ids=named)
def test_a_template_has_nothing_inline(path):
    text = path.read_text()
    assert INLINE.findall(text) == []
    assert NEEDS_EVAL.findall(text) == []


@pytest.mark.parametrize(
    "text",
    [
        "<style>p{}</style>",
        '<p class="a" style="color: red">',
        "<script>alert(1)</script>",
        '<button\n  onclick="go()">',
        '<a href="javascript:go()">',
    ],
)
def test_inline_code_would_be_found(text):
    assert INLINE.search(text)


@pytest.mark.parametrize(
    "text",
    ['hx-on:click="x"', "hx-vals='js:{a: 1}'", 'hx-trigger="click[ctrlKey]"'],
)
def test_what_needs_eval_would_be_found(text):
    assert NEEDS_EVAL.search(text)


@pytest.mark.parametrize(
    "text",
    [
        '<script src="{% static "fleet/a.js" %}" defer></script>',
        '<p data-state="on">one = two</p>',
        '<input hx-get="/units" hx-trigger="input changed delay:300ms">',
    ],
)
def test_what_is_allowed_is_not_found(text):
    assert not INLINE.search(text)
    assert not NEEDS_EVAL.search(text)


def test_a_form_s_own_part_is_given_the_token_that_its_sending_needs():
    """`only` keeps everything from a part but what it names, the token of `csrf_token` too: the form would be refused."""
    forms = {str(path.relative_to(ROOT / "templates")) for path in TEMPLATES if "csrf_token" in path.read_text()}
    for path in TEMPLATES:
        alone = re.findall(r"""{%\s*include\s+"([^"]+)"[^%]*\sonly\s*%}""", path.read_text())
        assert not forms & set(alone), named(path)


# -- locks


def locked(name: str) -> dict[str, int]:
    """Each requirement of a lock as `name==version`, with how many hashes it has."""
    counted: dict[str, int] = {}
    for line in (ROOT / name).read_text().splitlines():
        if line.startswith("    --hash=sha256:"):
            counted[list(counted)[-1]] += 1
        elif line and not line.startswith("#"):
            counted[line.removesuffix(" \\")] = 0
    return counted


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-run.lock"])
def test_a_lock_has_versions_and_hashes_and_no_addresses(lock):
    text, lines = (ROOT / lock).read_text(), locked(lock)
    assert "//" not in text
    assert all(re.fullmatch(r"[a-z0-9-]+==[\w.]+", line) for line in lines), lines
    assert all(lines.values()), "a requirement without a hash"


def test_the_locks_agree_and_hold_all_that_the_project_asks_for():
    everything, run_only = locked("requirements.lock"), locked("requirements-run.lock")
    assert set(run_only) < set(everything)
    for asked, lock in (
        (PROJECT["project"]["dependencies"], run_only),
        (PROJECT["project"]["optional-dependencies"]["dev"], everything),
    ):
        names = {re.match(r"[\w-]+", line).group().lower() for line in asked}
        assert names <= {line.split("==")[0] for line in lock}


# -- what is kept in the repository


def tracked() -> list[Path]:
    listed = run("git", "ls-files", "-z")
    if listed.returncode != 0:
        pytest.skip("not a git repository, so nothing says which files are the project's")
    paths = [ROOT / name for name in listed.stdout.split("\0") if name]
    return [path for path in paths if path.is_file()]


def test_no_file_names_a_place_of_one_computer():
    place = re.compile(r"(?<![\w.*/-])/(?:work|root|tmp|Users)/")
    for path in tracked():
        found = place.search(path.read_bytes().decode("utf-8", "ignore"))
        assert found is None or path == Path(__file__), f"{named(path)}: {found}"


def test_scripts_and_styles_are_written_here():
    """Other people's come inside a package; theirs are the ones with endless lines."""
    for path in tracked():
        if path.suffix in {".js", ".css"}:
            assert max(map(len, path.read_text().splitlines()), default=0) < 500, named(path)
