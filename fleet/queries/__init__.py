"""Reads: gather, ask the rules, return what a page or a command shows."""
