"""The addresses in a letter by which its jobs are noted as done or not."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.tell.conftest import NOW

from steepwell.garden.garden import Garden
from steepwell.tell.documents import Plan
from steepwell.tell.jobs import jobs
from steepwell.tell.letter import LetterFacts, compose_letter
from steepwell.tell.links import id_of, job_of

if TYPE_CHECKING:
    from email.message import EmailMessage

Json = dict[str, Any]

SECRET = b"thirty-two bytes of no importance"
TAKEN = {"bed": "leeks", "day": "2031-06-03", "litres": None, "vessel": "leek"}


@pytest.fixture
def facts(garden: Garden, plan: Any, outlook: Json) -> LetterFacts:  # noqa: ANN401 - a fixture
    return LetterFacts(
        garden=garden, person=garden.told.people[0], now=NOW, plan=plan(), outlook=outlook
    )


def part(mail: EmailMessage, kind: str) -> str:
    found = mail.get_body((kind,))
    assert found is not None
    return str(found.get_content())


def with_links(facts: LetterFacts, address: str | None, secret: bytes | None) -> EmailMessage:
    page = {"host": "127.0.0.1", "port": 8088, "address": address}
    garden = Garden.from_json({**facts.garden.to_json(), "page": page})
    plan = {**facts.plan, "taken": [{"job": "feed/leeks/2031-06-03", **TAKEN}]}
    return compose_letter(replace(facts, garden=garden, plan=plan, secret=secret))


def test_each_job_is_noted_by_a_tap_where_the_page_can_be_reached(facts: LetterFacts) -> None:
    mail = with_links(facts, "http://192.0.2.7:8088", SECRET)
    text = part(mail, "plain")
    links = re.findall(r"http://192\.0\.2\.7:8088/done/(\S+)", text)
    found = [job_of(token, SECRET, facts.now) for token in links]
    plan = Plan.model_validate(facts.plan)
    told = [*jobs(plan, facts.garden)]
    assert [link.job for link in found] == [
        *(job.id for job in told),
        id_of(["feed/leeks/2031-06-03"]),
    ]
    assert {(link.issued, link.person) for link in found} == {(plan.issued, "robin")}
    html = part(mail, "html")
    for token in links:
        assert f'href="http://192.0.2.7:8088/done/{token}"' in html
    assert html.count("?not") == len(told)


@pytest.mark.parametrize(("address", "secret"), [(None, SECRET), ("http://192.0.2.7:8088", None)])
def test_without_a_page_to_reach_there_is_nothing_to_tap(
    facts: LetterFacts, address: str | None, secret: bytes | None
) -> None:
    mail = with_links(facts, address, secret)
    for kind in ("plain", "html"):
        assert "/done/" not in part(mail, kind)
        assert "steepwell note job-not-done feed/leeks/2031-06-03" in part(mail, kind)
        assert "Fed leeks" in " ".join(part(mail, kind).replace("\u00a0", " ").split())
