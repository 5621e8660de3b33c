"""Reads a page as a browser does: its tags, attributes, and the text that can be seen."""

from html.parser import HTMLParser


class Page(HTMLParser):
    """`text` is what stands between tags, scripts and styles apart; `scripts` and `styles` are their contents."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.scripts: list[str] = []
        self.styles: list[str] = []
        self._inside = ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._inside = tag
        if tag == "script":
            self.scripts.append("")
        if tag == "style":
            self.styles.append("")

    def handle_endtag(self, tag: str) -> None:
        self._inside = self._inside if tag == "svg" else ""

    def handle_data(self, data: str) -> None:
        if self._inside == "script":
            self.scripts[-1] += data
        elif self._inside == "style":
            self.styles[-1] += data
        else:
            self.text += data

    def count(self, tag: str) -> int:
        """Return how many elements of this kind there are."""
        return sum(name == tag for name, _ in self.tags)

    def policy(self) -> str:
        """Return the page's Content-Security-Policy."""
        found = [dict_["content"] for _, dict_ in self.tags if dict_.get("http-equiv") == "Content-Security-Policy"]
        assert len(found) == 1
        return found[0] or ""
