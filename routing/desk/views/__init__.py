"""One module a view; each gives its `ROUTES`."""
