"""Findings and terms in plain English; the only place that writes sentences."""

from fleet.rules.wording.answers import answer_line, longer, need, payment, sentence, standing
from fleet.rules.wording.names import length
from fleet.rules.wording.paper import terms_in_words

__all__ = ["answer_line", "length", "longer", "need", "payment", "sentence", "standing", "terms_in_words"]
