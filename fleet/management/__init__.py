"""What is done from a terminal."""
