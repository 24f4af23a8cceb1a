"""Offices of several sizes: each is loaded once, in a process of its own, and stays for whatever is measured next."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any


def told(module: str, units: int, *more: str) -> Any:
    """Run a measurement in a process of its own, in the folder of an office of that size, and give what it says last."""
    command = [sys.executable, "-m", f"tests.bench.{module}", str(units), *more]
    done = subprocess.run(command, env=_environment(units), check=True, stdout=subprocess.PIPE, text=True)
    return json.loads(done.stdout.splitlines()[-1])


def loaded(units: int, *more: str) -> dict[str, float]:
    """Load an office unless it is there; give the seconds that loading took, those of its floor if asked, and the peak of memory."""
    kept = _folder(units) / "loaded.json"
    if not kept.exists():
        kept.write_text(json.dumps(told("load", units, "work", *more)))
    found: dict[str, float] = json.loads(kept.read_text())
    return found


def _folder(units: int) -> Path:
    folder = Path(os.environ["BENCH_DIR"]) / str(units)
    folder.mkdir(exist_ok=True)
    return folder


def _environment(units: int) -> dict[str, str]:
    return os.environ | {"DATA_DIR": str(_folder(units)), "ALLOWED_HOSTS": "testserver"}
