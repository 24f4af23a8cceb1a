"""Pages become PDF bytes: the same page gives the same bytes."""
