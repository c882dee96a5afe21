"""Somebody who looks at pages as a browser does: reads forms, fills them in, presses buttons."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import html5lib

if TYPE_CHECKING:
    from collections.abc import Iterator
    from xml.etree import ElementTree as ET

    from httpx2 import Response
    from starlette.testclient import TestClient

HTML = "{http://www.w3.org/1999/xhtml}"


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
    return [_seen(form) for form in parsed(html).iter(f"{HTML}form")]


def _seen(form: ET.Element) -> Seen:
    assert form.get("method") == "post"
    seen = Seen(form.get("action", ""))
    for part in form.iter():
        name, value = part.get("name", ""), part.get("value", "")
        if part.tag == f"{HTML}input" and name:
            if part.get("type") != "checkbox" or part.get("checked") is not None:
                seen.fields.append((name, value))
        elif part.tag == f"{HTML}select":
            options = list(part.iter(f"{HTML}option"))
            chosen = [o for o in options if o.get("selected") is not None] or options[:1]
            seen.fields.append((name, chosen[0].get("value", "")))
            seen.choices[name] = [option.get("value", "") for option in options]
        elif part.tag == f"{HTML}button":
            seen.buttons.append((name, value))
    return seen


def send(page: TestClient, form: Seen, button: tuple[str, str] | None = None) -> Response:
    """Press a button of a form; the plain one if none is named."""
    sent: dict[str, list[str]] = {}
    for name, value in [*form.fields, *([button] if button is not None else [])]:
        sent.setdefault(name, []).append(value)
    origin = str(page.base_url).rstrip("/")
    return page.post(form.action, data=sent, headers={"Origin": origin}, follow_redirects=False)


def links_on(html: str) -> Iterator[str]:
    for link in parsed(html).iter(f"{HTML}a"):
        yield link.get("href", "").partition("#")[0]
