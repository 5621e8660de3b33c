"""Shows and saves checked rounds: terminal, Markdown, page, map and JSON."""
