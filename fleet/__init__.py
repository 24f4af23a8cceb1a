"""Tenth Year: what is installed where, what is promised on it until when, and why."""
