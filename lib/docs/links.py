"""Links of a built site that lead nowhere."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit


class Page(HTMLParser):
    """What a page links to, and the places in it that can be linked to.

    Attributes
    ----------
    targets : list of str
    places : set of str
    """

    def __init__(self, text: str) -> None:
        super().__init__()
        self.targets: list[str] = []
        self.places: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note identifiers, and addresses of links, pictures, styles and scripts."""
        for name, value in attrs:
            if value and (name == "id" or (tag == "a" and name == "name")):
                self.places.add(value)
            if value and name in ("href", "src"):
                self.targets.append(value)


def dead_links(site: Path) -> list[str]:
    """Find links within a site that lead nowhere; addresses elsewhere are not looked at.

    Parameters
    ----------
    site : pathlib.Path

    Returns
    -------
    list of str
        ``page: address`` of each.
    """
    pages = {
        path.resolve(): Page(path.read_text(encoding="utf-8", errors="replace"))
        for path in site.rglob("*.html")
    }
    dead = []
    for path, page in pages.items():
        for address in dict.fromkeys(page.targets):
            parts = urlsplit(address)
            if parts.scheme or parts.netloc:
                continue
            meant = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            if meant.is_dir():
                meant /= "index.html"
            there = meant.is_file()
            if there and parts.fragment and meant in pages:
                # A place may be written as it is, or with signs in its place that an address allows.
                there = not pages[meant].places.isdisjoint(
                    (parts.fragment, unquote(parts.fragment))
                )
            if not there:
                dead.append(f"{path.relative_to(site.resolve())}: {address}")
    return dead
