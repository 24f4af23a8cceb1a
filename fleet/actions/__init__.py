"""Writes: one module per noun, atomic, keyword only, saying who and when."""
