"""The edge that speaks HTTP."""
