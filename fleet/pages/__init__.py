"""What a screen or a paper shows: frozen objects, one module per area, nothing lazy in them."""
