"""Somebody who looks at pages as a browser does: reads forms, fills them in, presses buttons."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import html5lib

if TYPE_CHECKING:
    from xml.etree import ElementTree as ET

    from httpx2 import Response
    from starlette.testclient import TestClient


@dataclass
class Seen:
    """A form on a page: where it goes, what stands in it, and its buttons."""

    action: str
    fields: list[tuple[str, str]] = field(default_factory=list)
    buttons: list[tuple[str, str]] = field(default_factory=list)
    choices: dict[str, list[str]] = field(default_factory=dict)

    def value(self, name: str) -> str:
        return next(value for key, value in self.fields if key == name)

    def filled(self, **words: str) -> Seen:
        kept = [(name, value) for name, value in self.fields if name not in words]
        return Seen(self.action, [*kept, *words.items()], self.buttons, self.choices)


def parsed(html: str) -> ET.Element:
    """Return a page that is sound by the rules of HTML, or fail."""
    tree: ET.Element = html5lib.HTMLParser(
        strict=True, tree=html5lib.getTreeBuilder("etree")
    ).parse(html)
    return tree


def forms_on(html: str) -> list[Seen]:
    """Return the forms of a page; that pages are sound is tried elsewhere, for it takes long."""
    reader = _Forms()
    reader.feed(html)
    return reader.forms


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Seen] = []
        self._choice = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        part = {name: value or "" for name, value in attrs}
        name, value = part.get("name", ""), part.get("value", "")
        if tag == "form":
            self.forms.append(Seen(part.get("action", "")))
            assert part.get("method") == "post"
        if not self.forms:
            return
        form = self.forms[-1]
        if tag == "input" and (part.get("type") != "checkbox" or "checked" in part):
            form.fields.append((name, value))
        elif tag == "select":
            self._choice = name
        elif tag == "option":
            options = form.choices.setdefault(self._choice, [])
            if not options or "selected" in part:
                form.fields = [f for f in form.fields if f[0] != self._choice]
                form.fields.append((self._choice, value))
            options.append(value)
        elif tag == "button":
            form.buttons.append((name, value))


def send(page: TestClient, form: Seen, button: tuple[str, str] | None = None) -> Response:
    """Press a button of a form; the plain one if none is named."""
    sent: dict[str, list[str]] = {}
    for name, value in [*form.fields, *([button] if button is not None else [])]:
        sent.setdefault(name, []).append(value)
    origin = str(page.base_url).rstrip("/")
    return page.post(form.action, data=sent, headers={"Origin": origin}, follow_redirects=False)
