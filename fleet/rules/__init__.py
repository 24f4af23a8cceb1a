"""The rules: pure values in, findings with their reasons out; no database, no web, no clock."""
