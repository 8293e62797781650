"""Every command in the guide and on the first page is carried out; what the first page shows is true."""

from __future__ import annotations

import json
import re
import shlex
from urllib.parse import urlsplit

import pytest

from lampwright.app import create_app
from lampwright.cli import main
from tests.docs.conftest import ROOT

PROSE = [ROOT / "README.md", *sorted((ROOT / "site_docs" / "pages").rglob("*.md"))]
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SETS_UP = ("sh service/start", "sh tests/run")


def blocks(kind: str):
    return [
        pytest.param(text, id=f"{path.stem}: {text.split(chr(10))[0][:40]}")
        for path in PROSE
        for found, text in BLOCK.findall(path.read_text("utf-8"))
        if found == kind
    ]


@pytest.fixture(scope="module")
def client():
    return create_app().test_client()


def csv_rows() -> str:
    """Return the table on the spreadsheet page, which the call below it sends as rows.csv."""
    page = (ROOT / "site_docs/pages/how-to/use_a_spreadsheet.md").read_text("utf-8")
    return next(block for _, block in BLOCK.findall(page) if block.startswith("supply_voltage_v,"))


def call(client, words: list[str]):
    """Carry out a curl command on the service in this process."""
    address, headers, body, method = "", {}, None, "GET"
    rest = iter(words[1:])
    for word in rest:
        if word == "-H":
            name, _, value = next(rest).partition(": ")
            headers[name] = value
        elif word in ("-d", "--data-binary"):
            name = next(rest).removeprefix("@")
            method = "POST"
            body = csv_rows() if name == "rows.csv" else (ROOT / name).read_text("utf-8")
        elif not word.startswith("-"):
            address = word
    parts = urlsplit(address)
    assert parts.netloc == "127.0.0.1:8350"
    path = parts.path + (f"?{parts.query}" if parts.query else "")
    return client.open(path, method=method, headers=headers, data=body)


@pytest.mark.parametrize("text", blocks("sh"))
def test_a_command_works(client, text, monkeypatch, capsysbinary):
    monkeypatch.chdir(ROOT)
    for line in text.replace("\\\n", " ").strip().split("\n"):
        words = shlex.split(line, comments=True)
        if line.startswith(SETS_UP):
            assert (ROOT / words[1]).is_file()
        elif words[0] == "curl":
            reply = call(client, words)
            assert reply.status_code == 200, reply.text
            assert reply.text
        elif words[0] == "lampwright":
            assert main(words[1:]) == 0
            assert capsysbinary.readouterr().out
        else:
            pytest.fail(f"this test cannot carry out: {line}")


def test_the_first_page_shows_what_comes_back(client):
    text = (ROOT / "README.md").read_text("utf-8")
    found = dict(BLOCK.findall(text))
    shown = json.loads(found["json"])
    command = next(block for kind, block in BLOCK.findall(text) if block.startswith("curl"))
    answer = call(client, shlex.split(command)).json
    for name, value in shown.items():
        if name == "display":
            assert value == {stem: answer["display"][stem] for stem in value}
        else:
            assert answer[name] == value, name


def test_a_formula_for_a_cell_answers_one_value(client):
    text = (ROOT / "site_docs/pages/how-to/use_a_spreadsheet.md").read_text("utf-8")
    address = re.search(r'=WEBSERVICE\("(.*?)"\)', text).group(1)
    parts = urlsplit(address)
    reply = client.get(f"{parts.path}?{parts.query}")
    assert reply.status_code == 200
    assert float(reply.text) > 0


@pytest.mark.parametrize("text", blocks("json"))
def test_json_is_json(text):
    json.loads(text)


def test_commands_of_the_reference_are_those_there_are():
    page = (ROOT / "site_docs/pages/reference/command_line.md").read_text("utf-8")
    for name in ("serve", "sheet", "compare", "audit"):
        assert f"lampwright {name} " in page
        with pytest.raises(SystemExit) as ended:
            main([name, "--help"])
        assert ended.value.code == 0
