"""A page as a browser's parser sees it, and whether it is closed in itself.

The parser is Python's html.parser; the promises checked are those of a content
security policy without script or network (W3C CSP Level 3, section "The meta
element"): policy first, style allowed by the digest of the very style that is there.
"""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

_VOID = {"meta", "br", "link", "img", "hr", "input"}
_INERT = {
    *("html", "head", "meta", "title", "style", "body", "header", "main", "section", "footer"),
    *("h1", "h2", "h3", "p", "ol", "ul", "li", "dl", "dt", "dd", "span", "strong", "br", "small"),
    *("table", "caption", "thead", "tbody", "tr", "th", "td", "figure", "figcaption", "div"),
    *("svg", "g", "path", "line", "rect", "circle", "text", "polyline", "desc"),
}


@dataclass
class Element:
    tag: str
    attributes: dict[str, str]
    words: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


class Page(HTMLParser):
    """Elements in order of their start, each with all the text inside it."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[Element] = []
        self._open: list[Element] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.elements.append(element)
        if tag not in _VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(Element(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self._open, f"</{tag}> closes nothing"
        assert self._open[-1].tag == tag, f"</{tag}> inside <{self._open[-1].tag}>"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1].tag != "style":
            for element in self._open:
                element.words.append(data)

    @property
    def text(self) -> str:
        return self.elements[0].text

    def texts(self, tag: str, css_class: str | None = None) -> list[str]:
        """Return the text of every element of a tag (and class), in order."""
        return [e.text for e in self.having(tag, css_class)]

    def having(self, tag: str, css_class: str | None = None) -> list[Element]:
        return [
            e
            for e in self.elements
            if e.tag == tag
            and (css_class is None or css_class in e.attributes.get("class", "").split())
        ]

    def check_self_contained(self) -> None:
        """Assert that the page can run nothing and ask for nothing."""
        assert {e.tag for e in self.elements} <= _INERT
        for element in self.elements:
            for name, value in element.attributes.items():
                assert not name.startswith("on"), name
                assert name not in {"src", "href", "style", "action", "srcset", "xlink:href"}, name
                assert "javascript:" not in value.lower()


def read_page(text: str) -> Page:
    """Return a page, all its elements closed, its policy checked against its style."""
    page = Page()
    page.feed(text)
    page.close()
    assert text.startswith("<!doctype html>\n")
    assert not page._open
    style = re.search(r"<style>(.*?)</style>", text, re.DOTALL)
    assert style is not None
    assert "url(" not in style[1]
    assert "@import" not in style[1]
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    policies = [
        e.attributes["content"]
        for e in page.having("meta")
        if e.attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    expected = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; "
    assert policies == [expected + "form-action 'none'"]
    return page
