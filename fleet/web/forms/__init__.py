"""What people send: plain forms, one module per area."""
