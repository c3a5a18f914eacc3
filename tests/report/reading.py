"""Reads a page the way its user agent does, enough for tests: tables by id, texts by id, elements by class."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

_VOID = {"meta", "link", "br", "input", "img"}


@dataclass
class Node:
    tag: str
    attrs: dict[str, str] = field(default_factory=dict)
    children: list[Node | str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """All text inside, white space folded, `unseen` parts left out."""
        return " ".join(self._texts().split())

    def _texts(self) -> str:
        if "unseen" in self.attrs.get("class", "").split() or self.tag in ("style", "script", "button", "title"):
            return ""
        return "".join(c if isinstance(c, str) else c._texts() for c in self.children)

    def all(self, tag: str = "", cls: str = "") -> list[Node]:
        found = []
        for child in self.children:
            if isinstance(child, Node):
                if (not tag or child.tag == tag) and (not cls or cls in child.attrs.get("class", "").split()):
                    found.append(child)
                found += child.all(tag, cls)
        return found

    def by_id(self, name: str) -> Node:
        return next(n for n in self.all() if n.attrs.get("id") == name)

    def rows(self) -> list[list[Node]]:
        return [[c for c in row.children if isinstance(c, Node)] for body in self.all("tbody") for row in body.all("tr")]


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.root = Node("#")
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {k: v or "" for k, v in attrs})
        self.open[-1].children.append(node)
        if tag not in _VOID:
            self.open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].children.append(Node(tag, {k: v or "" for k, v in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


def read(page: str) -> Node:
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert len(reader.open) == 1, "everything opened is closed"
    return reader.root
