"""Rows become facts: each function here stands beside the prefetch that it relies on."""

from fleet.facts.terms import TermsBook, terms_on_file
from fleet.facts.units import Told, fleet_facts

__all__ = ["TermsBook", "Told", "fleet_facts", "terms_on_file"]
