"""Formats of days, money and numbers."""
