"""One parts list of many builds: ``python twenty_builds.py FOLDER ADDRESS > parts.csv``."""

import csv
import json
import sys
import urllib.request
from collections import Counter
from pathlib import Path


def plain(text):
    """Return text that no spreadsheet takes for a formula (CWE-1236)."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def main(folder, service):
    """Add up the parts of every build in a folder."""
    total = Counter()
    for file in sorted(Path(folder).glob("*.json")):
        request = urllib.request.Request(  # noqa: S310 - the address is the caller's own
            f"{service.rstrip('/')}/v1/build-sheets?detail=short",
            data=file.read_bytes(),
            headers={"Content-Type": "application/json"},
        )
        with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310
            for part in json.load(answer)["parts_list"]:
                total[part["item"], part["value"]] += part["count"] + part["spares"]
    table = csv.writer(sys.stdout)
    table.writerow(("item", "value", "count"))
    for (item, value), count in sorted(total.items()):
        table.writerow((plain(item), plain(value), count))


if __name__ == "__main__":
    main(*sys.argv[1:])
