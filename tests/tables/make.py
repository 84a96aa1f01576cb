"""Writes the workbooks of this folder with openpyxl 3.1.5: one that is sound, and one for each thing that is wrong.

    python3 -m venv venv && venv/bin/pip install openpyxl==3.1.5 && venv/bin/python make.py

A workbook is a ZIP whose entries carry the time of writing, so a second run writes other bytes of the same content.
"""

from datetime import datetime, time
from pathlib import Path

from openpyxl import Workbook

HEADINGS = ["Code", "Site", "Address", "Postcode", "Kind", "Stop", "Begins", "Hall", "Counters", "Humidity"]
ROWS = [
    ["gull", "Gull Point", "1 Breakwater Road", "00417", "terminal", 1, time(18, 0), "40 ft x 55 ft", 180, 0.45],
    ["north", "North Pier", "22 North Pier", 419, "terminal", 2, None, "24 ft x 18 ft", 25.5, 0.07],
    ["house", "=1+1 is a name", "7 Custom House Square", 98101, "terminal", 3, "21:30", "none", 60, "45 %"],
]
HERE = Path(__file__).parent


def sound():
    book = Workbook()
    book.active.title = "Notes"
    sheet = book.create_sheet("Sites 2026")
    sheet["A1"] = "Sites of the harbour board"
    sheet.merge_cells("A1:C1")
    for column, heading in enumerate(HEADINGS, 1):
        sheet.cell(3, column, heading)
    for row, values in enumerate(ROWS, 4):
        for column, value in enumerate(values, 1):
            sheet.cell(row, column, value)
    sheet["B6"].data_type = "s"
    sheet["D5"].number_format = "00000"
    sheet["D6"].number_format = "@"
    for row in (4, 5):
        sheet.cell(row, 10).number_format = "0%"
    return book, sheet


def write(name, change):
    book, sheet = sound()
    change(sheet)
    book.save(HERE / f"{name}.xlsx")


def put(cell, value, number_format="General"):
    def change(sheet):
        sheet[cell] = value
        sheet[cell].number_format = number_format

    return change


write("sound", lambda sheet: None)
write("formula-without-value", put("C5", '=CONCATENATE("22 ", "North Pier")'))
write("merged", lambda sheet: sheet.merge_cells("E4:E6"))
write("error-cell", put("B5", "#REF!"))
write("site-twice", put("A6", "gull"))
write("zeros-lost", put("D4", 417))
write("number-without-unit", put("H5", 432))
write("date-cell", put("C6", datetime(2026, 4, 13), "yyyy-mm-dd"))
write("empty-cell", put("B5", None))
write("no-key", put("A5", None))
write("column-missing", put("I3", "Counter tops"))
write("no-time", put("G5", 0.5))


def messy():
    """43 stores as an office keeps them: plain numbers, capitals and spaces anyhow, dates and telephone numbers as such."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Stores 2026 "
    sheet.append(["Store no", "Store", "Street", "ZIP", "Type", "Sales floor", "Restrooms", "Phone", "Opened", "Alarm", "From"])
    kinds = ["Corner store", "corner store", "CORNER-STORE ", None]
    for n in range(43):
        row = n + 2
        values = [100 + n, f"Store {100 + n} ", f"{n + 1} Quay Street", f"{10001 + n}", kinds[n % 4], 1200 + n]
        sheet.append([*values, "None" if n % 5 else 90, 5555550100 + n, datetime(2019, 5, 1 + n % 28), 4711 + n, None])
        sheet.cell(row, 9).number_format = "m/d/yy"
    sheet.cell(4, 11, datetime(2026, 6, 1)).number_format = "yyyy-mm-dd"
    return book


messy().save(HERE / "messy.xlsx")
