"""Views, one module per area: method, access, form, action or query, answer."""
