"""Where the tests find what stands outside them."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FIXTURES = ROOT / "fixtures"
HOUSE_SHEET = FIXTURES / "care" / "house.toml"
WORKED = ROOT / "tests" / "worked"
