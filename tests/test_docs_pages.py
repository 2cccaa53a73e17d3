"""The service brings its guide along: every page, every link in it, every problem type, every operation."""

import re
from posixpath import normpath
from urllib.parse import urldefrag, urljoin

import pytest
from django.test import Client

from config.docs_pages import rendered
from config.home import PROJECT
from crews.api.problems import Refusal
from tests.schema import schema

PAGES = sorted(one.relative_to(PROJECT).as_posix() for one in (PROJECT / "docs").rglob("*.md"))
LINK = re.compile(r'href="([^"]+)"')
READER = {"accept": "text/html"}


def kinds(kind: type[Refusal] = Refusal) -> set[type[Refusal]]:
    return {kind}.union(*(kinds(child) for child in kind.__subclasses__()))


def main_part(html: str) -> str:
    return html.split('<article class="guide">')[1].split("</article>")[0]


@pytest.mark.parametrize("page", [*PAGES, "README.md", "CHANGELOG.md", "DEVELOPERS.md"])
def test_every_page_is_served_and_its_links_lead_somewhere(page):
    answer = Client().get(f"/{page}", headers=READER)

    assert answer.status_code == 200
    assert "script-src 'self'" in answer["Content-Security-Policy"]
    broken = []
    for link in LINK.findall(main_part(answer.content.decode())):
        address, anchor = urldefrag(urljoin(f"/{page}", link))
        if address.startswith(("http:", "https:")):
            continue
        there = Client().get(address, headers=READER, follow=True)
        known = (PROJECT / normpath(address.lstrip("/"))).exists()  # what the repository alone has
        if (there.status_code != 200 and not known) or (
            anchor and there.status_code == 200 and f'id="{anchor}"' not in there.content.decode()
        ):
            broken.append(link)
    assert broken == []


@pytest.mark.parametrize("kind", sorted(kinds() - {Refusal}, key=lambda one: one.slug()))
def test_every_problem_type_leads_to_a_page_about_it(kind):
    page = Client().get(f"/problems/{kind.slug()}", headers=READER)
    text = Client().get(f"/problems/{kind.slug()}")

    assert f'<h1 id="{kind.slug()}">{kind.slug()}</h1>' in page.content.decode()
    assert f"<p>{kind.status}: " in page.content.decode()
    assert text["Content-Type"].startswith("text/plain")
    assert text.content.decode().startswith(f"{kind.slug()}\n\n{kind.status}: ")
    assert "Accept" in page["Vary"]


def test_the_root_of_the_api_lists_every_operation():
    told = Client().get("/api/v1/").json()

    listed = {(one["operation"], one["method"].lower(), one["path"]) for one in told["operations"]}
    assert listed == {
        (operation["operationId"], method, path)
        for path, methods in schema()["paths"].items()
        for method, operation in methods.items()
    }
    for link in ("guide", "schema", "try", "problems"):
        assert Client().get(told[link], headers=READER, follow=True).status_code == 200


def test_the_example_front_end_is_served_and_may_run_its_own_script_alone():
    answer = Client().get("/docs/api/example_front_end.html")

    assert answer.content == (PROJECT / "docs" / "api" / "example_front_end.html").read_bytes()
    assert "script-src 'unsafe-inline'" in answer["Content-Security-Policy"]
    assert "connect-src 'self'" in answer["Content-Security-Policy"]


@pytest.mark.parametrize(
    "path",
    ["docs/../pyproject.toml", "docs/nothing.md", "docs/%2e%2e/manage.py", "docs/api", "problems/none"],
)
def test_nothing_else_is_served(path):
    assert Client().get(f"/{path}").status_code == 404


def test_what_looks_like_html_in_a_text_is_text():
    html = rendered("# A <b>page</b>\n\n<script>alert(1)</script>\n\n| a | b |\n|---|---|\n| 1 | 2 |\n")

    assert "<script>" not in html
    assert "<td>1</td>" in html
    assert '<h1 id="a-b-page-b">' in html
