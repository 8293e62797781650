"""Recalculate workbooks in LibreOffice and print their cells; runs in Debian's own python3, with its uno.

``python3 libreoffice_bridge.py PROFILE_FOLDER ADDRESS FILE...`` prints a JSON list, one item a file: a list
of rows, each cell as a number, a text, or null. A plain conversion never calls out, so the sheet is opened,
copied into a new document and calculated there. Its modules are imported where they are used: pytest, which
looks into every file here, runs in an environment that has none of them.
"""

import json
import os
import subprocess
import sys
import time

COLUMNS, ROWS = 7, 32


def settings(**wanted):
    from com.sun.star.beans import PropertyValue

    found = []
    for name, value in wanted.items():
        setting = PropertyValue()
        setting.Name, setting.Value = name, value
        found.append(setting)
    return tuple(found)


def connect(pipe):
    import uno
    from com.sun.star.connection import NoConnectException

    here = uno.getComponentContext()
    resolver = here.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", here)
    for _ in range(120):
        try:
            return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            time.sleep(0.25)
    raise SystemExit("LibreOffice did not start")


def content(cell):
    from com.sun.star.table.CellContentType import FORMULA, VALUE

    number = cell.FormulaResultType2 == 1 if cell.Type == FORMULA else cell.Type == VALUE
    return cell.Value if number else cell.String or None


def main(profile, address, *files):
    # With a fresh profile the program now and then goes away, or opens no sheet, while it starts; then it
    # is started again. What it answers is printed once and judged by the test.
    import uno  # noqa: F401 - it is what finds the modules of the next line
    from com.sun.star.uno import Exception as OfficeException

    for left in (2, 1, 0):
        try:
            print(json.dumps(recalculated(profile, address, *files)))
            return
        except OfficeException as error:
            print(f"LibreOffice went away: {error}", file=sys.stderr)
            if not left:
                raise


def recalculated(profile, address, *files):
    pipe = f"lampwright{os.getpid()}{time.monotonic_ns()}"
    office = subprocess.Popen(
        [
            "soffice", "--headless", "--norestore", "--nologo",
            f"-env:UserInstallation=file://{profile}", f"--accept=pipe,name={pipe};urp;",
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    found = []
    try:
        remote = connect(pipe)
        desktop = remote.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", remote)
        opened = settings(Hidden=True, MacroExecutionMode=0, UpdateDocMode=3)
        for file in files:
            book = desktop.loadComponentFromURL(f"file://{file}", "_blank", 0, opened)
            fresh = desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, opened)
            fresh.Sheets.importSheet(book, "Lamps", 0)
            sheet = fresh.Sheets.getByIndex(0)
            sheet.getCellRangeByName("B1").String = address
            fresh.calculateAll()
            rows = [[content(sheet.getCellByPosition(x, y)) for x in range(COLUMNS)] for y in range(ROWS)]
            found.append(rows)
            book.close(True)
            fresh.close(True)
        return found
    finally:
        office.terminate()
        office.wait(30)


if __name__ == "__main__":
    main(*sys.argv[1:])
