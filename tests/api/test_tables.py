"""Tables: CSV in, answers beside it; a bad row spoils no other."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from flask.testing import FlaskClient

PATH = "/v1/tables/series-resistors"


def table(client: FlaskClient, text: str | bytes, path: str = PATH) -> list[dict[str, str]]:
    said = client.post(path, data=text, content_type="text/csv")
    assert said.status_code == 200, said.get_data(as_text=True)
    assert said.mimetype == "text/csv"
    return list(csv.DictReader(io.StringIO(said.get_data(as_text=True))))


def test_rows_are_answered_in_order(client: FlaskClient) -> None:
    rows = table(client, "led,supply_voltage_v\nred_5mm,9\nwhite_5mm,12 V\nred_5mm,70\n,9\nnope,9\n")
    assert [row["led"] for row in rows] == ["red_5mm", "white_5mm", "red_5mm", "", "nope"]
    assert [bool(row["error"]) for row in rows] == [False, False, True, True, True]
    assert rows[0]["resistance_ohm"]
    assert "60 V" in rows[2]["error"]
    assert "led" in rows[3]["error"]


@pytest.mark.parametrize(
    "text",
    [
        "supply_voltage_v,led\r\n9,red_5mm\r\n",
        "\ufeffsupply_voltage_v,led\n9,red_5mm",
        "supply_voltage_v;led\n9;red_5mm\n",
        "supply_voltage_v,led\n\n9,red_5mm\n\n",
        '"supply_voltage_v","led"\n"9","red_5mm"\n',
        " supply_voltage_v , led \n 9 ,red_5mm\n",
    ],
)
def test_csv_as_spreadsheets_write_it(client: FlaskClient, text: str) -> None:
    (row,) = table(client, text.encode())
    assert row["resistance_ohm"]
    assert row["error"] == ""


def test_what_a_row_leaves_out_is_found_in_its_own_column(client: FlaskClient) -> None:
    asked = "current_ma,run_length_m,supply_voltage_v,awg\n500,2,12,\n500,2,12,24\n500,2,12,99\n"
    found, sent, bad = table(client, asked, "/v1/tables/wires")
    alone = client.get("/v1/wires?current_ma=500&run_length_m=2&supply_voltage_v=12&pick=awg")
    assert found["awg"] == alone.get_data(as_text=True)
    assert (sent["awg"], sent["findings"]) == ("24", "")
    assert bad["awg"] == "99"
    assert bad["error"]


def test_a_list_in_a_cell(client: FlaskClient) -> None:
    (row,) = table(client, "supply_voltage_v,led,on_hand_ohm\n9,red_5mm,100;470;1k\n")
    assert row["on_hand_ohm"] == "100;470;1k"
    assert not row["error"]


def test_odd_rows_get_an_error_cell(client: FlaskClient) -> None:
    rows = table(client, "supply_voltage_v,led\n9,red_5mm,extra\n9\n=1+1,red_5mm\n")
    assert all(row["error"] for row in rows)
    assert rows[2]["supply_voltage_v"] == "'=1+1"


@pytest.mark.parametrize("name", ["series-resistors", "arrangements", "wires", "fuses", "runtimes"])
def test_each_of_the_five_has_a_table(client: FlaskClient, name: str) -> None:
    heads = {
        "series-resistors": "supply_voltage_v,led\n9,red_5mm\n",
        "arrangements": "supply_voltage_v,led,count\n12,red_5mm,10\n",
        "wires": "current_ma,run_length_m,supply_voltage_v\n500,4,12\n",
        "fuses": "current_ma,battery,awg\n500,nimh_aa,26\n",
        "runtimes": "battery,load_current_ma\nalkaline_aa,50\n",
    }
    (row,) = table(client, heads[name], f"/v1/tables/{name}")
    assert row["error"] == ""
    assert any(value for key, value in row.items() if key not in heads[name])


@pytest.mark.parametrize(
    ("raw", "kind", "status"),
    [
        (b"", "text/csv", 400),
        (b"\n\n", "text/csv", 400),
        (b"nope,led\n1,2\n", "text/csv", 400),
        (b"led,led\nred_5mm,red_5mm\n", "text/csv", 422),
        (b"led\xff\n", "text/csv", 400),
        (b"led\n\x00\n", "text/csv", 400),
        (b"led\n" + b"x" * 200_000 + b"\n", "text/csv", 400),
        (b"led\nred_5mm\n", "application/json", 415),
        (b"led\nred_5mm\n", "text/csv; charset=latin-1", 415),
        (b"led\n" + b"red_5mm\n" * 2_200_000, "text/csv", 413),
    ],
)
def test_what_is_no_table(client: FlaskClient, problem: Any, raw: bytes, kind: str, status: int) -> None:
    problem(client.post(PATH, data=raw, content_type=kind), status)


def test_an_unknown_column_has_a_hint(client: FlaskClient, problem: Any) -> None:
    found = problem(client.post(PATH, data="supply_voltage,led\n9,red_5mm\n", content_type="text/csv"), 400)
    assert found["errors"][0]["suggestion"] == "supply_voltage_v"


def test_there_is_no_table_of_the_others(client: FlaskClient, problem: Any) -> None:
    problem(client.post("/v1/tables/build-sheets", data="title\nx\n", content_type="text/csv"), 404)
