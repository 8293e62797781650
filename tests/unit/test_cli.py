"""The command line: sheets, audits, a service that says where it is; and what each of them loads."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from lampwright.cli import CUT_SHORT, FORMATS, main

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "miners_lamp.json"


def test_a_sheet_is_printed(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["sheet", str(EXAMPLE)]) == 0
    said = capfdbinary.readouterr().out.decode()
    assert "Miner's lamp" in said
    assert "Fuse" in said


@pytest.mark.parametrize(
    "arguments",
    [
        ["sheet", str(EXAMPLE)],
        ["sheet", str(EXAMPLE), "--format", "json"],
        ["compare", str(EXAMPLE), str(EXAMPLE)],
        ["audit", "SHEET"],
    ],
)
def test_a_reader_who_has_enough_is_no_error(tmp_path: Path, arguments: list[str]) -> None:
    sheet = tmp_path / "sheet.json"
    main(["sheet", str(EXAMPLE), "--format", "json", "--output", str(sheet)])
    ours = [str(sheet) if word == "SHEET" else word for word in arguments]
    reader, writer = os.pipe()
    os.close(reader)
    try:
        ended = subprocess.run(
            [sys.executable, "-m", "lampwright.cli", *ours],
            stdout=writer,
            stderr=subprocess.PIPE,
            timeout=60,
            cwd=ROOT / "service",
        )
    finally:
        os.close(writer)
    assert ended.stderr == b""
    assert ended.returncode == CUT_SHORT


@pytest.mark.parametrize("form", FORMATS)
def test_a_sheet_is_written(tmp_path: Path, form: str) -> None:
    file = tmp_path / f"sheet.{form}"
    assert main(["sheet", str(EXAMPLE), "--format", form, "--output", str(file)]) == 0
    assert file.stat().st_size > 200


def test_the_ending_of_the_file_says_the_form(tmp_path: Path) -> None:
    file = tmp_path / "sheet.json"
    assert main(["sheet", str(EXAMPLE), "--output", str(file)]) == 0
    assert main(["audit", str(file)]) == 0


def test_where_nothing_can_be_written_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "missing" / "sheet.txt"
    assert main(["sheet", str(EXAMPLE), "--output", str(file)]) == 2
    assert f"{file} cannot be written" in capsys.readouterr().err


@pytest.mark.parametrize("port", ["0", "-1", "99999"])
def test_a_port_there_is_none_of_is_said(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", "--port", port]) == 1
    assert f"no port {port}" in capsys.readouterr().err


def test_a_sound_sheet_and_an_altered_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "sheet.json"
    main(["sheet", str(EXAMPLE), "--format", "json", "--output", str(file)])
    assert main(["audit", str(file)]) == 0
    assert "sound" in capsys.readouterr().out
    sheet = json.loads(file.read_text("utf-8"))
    sheet["strings"][0]["resistance_ohm"] = 1.0
    file.write_text(json.dumps(sheet), "utf-8")
    assert main(["audit", str(file)]) == 1
    assert "unsafe" in capsys.readouterr().out


@pytest.mark.parametrize("text", ["", "[1", "{}", "[]", "null", "\x00", '{"strings": 5, "buildable": true}'])
def test_what_is_no_sheet_is_unreadable(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    file = tmp_path / "sheet.json"
    file.write_text(text, "utf-8")
    assert main(["audit", str(file)]) == 2
    assert main(["sheet", str(file)]) == 2
    assert str(file) in capsys.readouterr().err


def test_a_build_with_faults_names_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "build.json"
    file.write_text('{"title": "x", "supply": {"supply_voltage_v": 230}, "lights": []}', "utf-8")
    assert main(["sheet", str(file)]) == 2
    said = capsys.readouterr().err
    assert "/supply/supply_voltage_v" in said
    assert "/lights" in said
    assert main(["sheet", str(tmp_path / "missing.json")]) == 2


def test_a_build_that_cannot_be_is_told_so(tmp_path: Path) -> None:
    file = tmp_path / "build.json"
    lights = [{"name": "a", "led": "white_5mm", "count": 2}]
    file.write_text(json.dumps({"title": "x", "supply": {"supply_voltage_v": 1}, "lights": lights}), "utf-8")
    assert main(["sheet", str(file), "--output", str(tmp_path / "out")]) == 1


def modules_after(code: str) -> set[str]:
    """Return which heavy packages a program has loaded at its end."""
    tail = (
        "import sys; print(','.join(m for m in ('flask', 'numpy', 'werkzeug', 'scipy') if m in sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{tail}"], capture_output=True, text=True, check=True
    )
    return set(done.stdout.splitlines()[-1].split(",")) - {""}


@pytest.mark.parametrize("form", FORMATS)
def test_printing_a_sheet_loads_neither_flask_nor_numpy(tmp_path: Path, form: str) -> None:
    arguments = ["sheet", str(EXAMPLE), "--format", form, "--output", str(tmp_path / "out")]
    assert modules_after(f"from lampwright.cli import main; main({arguments!r})") == set()


def test_a_single_question_loads_no_numpy() -> None:
    code = (
        "from lampwright.app import create_app\n"
        "client = create_app().test_client()\n"
        "members = {'supply_voltage_v': 9, 'led': 'red_5mm'}\n"
        "assert client.post('/v1/series-resistors', json=members).status_code == 200"
    )
    assert modules_after(code) == {"flask", "werkzeug"}


def test_a_service_starts_without_what_one_question_does_not_need() -> None:
    heavy = ("lampwright.planner.arrangement", "lampwright.sheets.build", "lampwright.paper.html", "segno")
    code = (
        "import sys; from lampwright.app import create_app; create_app()\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


def test_the_service_says_where_it_is_and_that_a_port_is_taken() -> None:
    port = free_port()
    command = [sys.executable, "-m", "lampwright.cli", "serve", "--port", str(port), "--workers", "1"]
    environment = {**os.environ, "PYTHONWARNINGS": "default"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as service:
        try:
            assert service.stdout is not None
            assert service.stdout.readline() == f"Lampwright is ready: http://127.0.0.1:{port}/\n"
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
            connection.request("GET", "/v1/wires?current_ma=500&run_length_m=4&supply_voltage_v=12&pick=awg")
            assert connection.getresponse().read().isdigit()
            connection.close()
            second = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
            assert second.returncode == 1
            assert f"port {port} is in use" in second.stderr
        finally:
            service.send_signal(signal.SIGTERM)
            service.wait(timeout=20)


def test_two_builds_are_compared(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    build = json.loads(EXAMPLE.read_text("utf-8"))
    build["lights"][0]["count"] += 4
    file = tmp_path / "more.json"
    file.write_text(json.dumps(build), "utf-8")
    assert main(["compare", str(EXAMPLE), str(file)]) == 0
    said = capsys.readouterr().out
    assert "now 7." in said
    assert "It takes more" in said
    assert main(["compare", str(EXAMPLE), str(EXAMPLE)]) == 0
    assert "- Nothing.\nWhat it does\n- It does the same as before." in capsys.readouterr().out
    assert main(["compare", str(EXAMPLE), str(file), "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["after"]["buildable"] is True


def test_a_second_build_that_stops_and_one_that_is_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    build = json.loads(EXAMPLE.read_text("utf-8"))
    build["supply"] = {"supply_voltage_v": 1.2}
    file = tmp_path / "weak.json"
    file.write_text(json.dumps(build), "utf-8")
    assert main(["compare", str(EXAMPLE), str(file)]) == 1
    build["supply"] = {"supply_voltage_v": 230}
    file.write_text(json.dumps(build), "utf-8")
    assert main(["compare", str(EXAMPLE), str(file)]) == 2
    assert "/after/supply/supply_voltage_v" in capsys.readouterr().err
    file.write_text("[", "utf-8")
    assert main(["compare", str(EXAMPLE), str(file)]) == 2
    assert str(file) in capsys.readouterr().err


def test_told_to_end_while_its_workers_are_still_starting() -> None:
    command = [sys.executable, "-m", "lampwright.cli", "serve", "--port", str(free_port()), "--workers", "4"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as service:
        try:
            assert service.stdout is not None
            while "ready" not in service.stdout.readline():  # then one of the four answers
                assert service.poll() is None
            service.send_signal(signal.SIGTERM)
            # By force it would be after a minute.
            assert service.wait(timeout=40) == 0
        finally:
            service.terminate()
