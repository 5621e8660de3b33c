"""Pages for a browser and for print."""
