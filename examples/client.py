"""Ask a running Lampwright service from Python, with nothing but the standard library.

``python client.py http://127.0.0.1:8350 observatory_diorama.json`` prints the summary of a build, its
rows and its parts list. The address is the one ``lampwright serve`` prints.
"""

import json
import sys
import urllib.error
import urllib.request


def ask(service, path, question):
    """Return the answer to a question; raise ValueError in plain words if it is not taken."""
    request = urllib.request.Request(  # noqa: S310 - the address is the caller's own
        f"{service.rstrip('/')}/v1/{path}",
        data=json.dumps(question).encode(),
        headers={"Content-Type": "application/json", "Accept": "application/json"},
    )
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:  # noqa: S310
            return json.load(answer)
    except urllib.error.HTTPError as error:
        problem = json.load(error)
        lines = [
            f"{one.get('pointer', one.get('parameter', ''))}: {one['detail']}" for one in problem["errors"]
        ]
        raise ValueError("; ".join(lines)) from None


def main(service, file_name):
    """Print what a maker needs first."""
    with open(file_name, encoding="utf-8") as file:
        sheet = ask(service, "build-sheets", json.load(file))
    print(sheet["summary"])
    for row in sheet["strings"]:
        lights = ", ".join(row["light_names"])
        print(f"row {row['row']} x {row['branch_count']}: {lights}; {row['display']['resistance']}")
    for part in sheet["parts_list"]:
        print(f"{part['count']} + {part['spares']} spare  {part['item']}  {part['value']}")


if __name__ == "__main__":
    main(*sys.argv[1:])
