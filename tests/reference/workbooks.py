"""Makes workbooks as spreadsheets save them, with what users put into them: a sheet of notes first,
a title above the table, an empty row and column before it, dates, formulas with their cached
result, a sum with noise in its last digit, a yes as a boolean, a number typed as text, a merged
cell, a cell with an error and one with a comment. The trials are invented.

Run in this folder: python3 workbooks.py
"""

import datetime

import xlsxwriter
from odf.dc import Creator
from odf.office import Annotation
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.text import P

HEADER = ["trial", "date", "paper", "hardness", "caliper_mm", "thread", "laid_mm", "sections",
          "sheets", "boned", "Spine before", "Fore-edge before", "Spine after", "Fore-edge after",
          "cost"]
DAY = datetime.date(2026, 2, 14)
ROWS = [
    ["A1", DAY, "wove 118", "soft", 0.155, "linen 18", 0.55, 10, 3, True, 13.1, 9.6, 12.2, 9.6, 5],
    ["A1"] + [None] * 9 + [("=K5+0.1", 13.2), "9.7", ("=0.1+0.2+11.9", 0.1 + 0.2 + 11.9), 9.7,
                           ("=Q1/0", "#DIV/0!")],
    ["A2", datetime.date(2026, 2, 20), "wove 118", None, None, "linen 18", None, 12, 3, False, 15,
     11.5, None, None, None],
]


def xlsx(path, rows, hidden=False):
    book = xlsxwriter.Workbook(path)
    book.set_properties({"created": datetime.datetime(2026, 3, 1)})
    book.add_worksheet("Notes").write("A1", "What I saw")
    sheet = book.add_worksheet("Log of 2026")
    day = book.add_format({"num_format": "dd/mm/yyyy"})
    sheet.merge_range("B2:F2", "Trials of a winter", book.add_format())
    sheet.write_row("B4", HEADER)
    for down, row in enumerate(rows):
        for across, cell in enumerate(row):
            at = (4 + down, 1 + across)
            if isinstance(cell, datetime.date):
                sheet.write_datetime(*at, datetime.datetime.combine(cell, datetime.time()), day)
            elif isinstance(cell, tuple):
                sheet.write_formula(*at, cell[0], None, cell[1])
            elif isinstance(cell, str):
                sheet.write_string(*at, cell)
            elif cell is not None:
                sheet.write(*at, cell)
    sheet.write_comment("L5", "measured twice")
    book.close()


def ods(path, rows):
    book = OpenDocumentSpreadsheet()
    book.automaticstyles.addElement(Style(name="day", family="table-cell"))
    notes = Table(name="Notes")
    row = TableRow()
    row.addElement(text("What I saw"))
    notes.addElement(row)
    book.spreadsheet.addElement(notes)
    table = Table(name="Log of 2026")
    table.addElement(empty())
    title = TableRow()
    title.addElement(TableCell())
    merged = TableCell(valuetype="string", numbercolumnsspanned=5)
    merged.addElement(P(text="Trials of a winter"))
    title.addElement(merged)
    title.addElement(CoveredTableCell(numbercolumnsrepeated=4))
    table.addElement(title)
    table.addElement(empty())
    for line in [HEADER] + rows:
        row = TableRow()
        row.addElement(TableCell())
        for cell in line:
            row.addElement(ods_cell(cell))
        row.addElement(TableCell(numbercolumnsrepeated=1008))
        table.addElement(row)
    table.addElement(TableRow(numberrowsrepeated=1048569))
    table.childNodes[-1].addElement(TableCell(numbercolumnsrepeated=1024))
    book.spreadsheet.addElement(table)
    book.save(path)


def empty():
    row = TableRow()
    row.addElement(TableCell(numbercolumnsrepeated=1024))
    return row


def text(words):
    cell = TableCell(valuetype="string")
    cell.addElement(P(text=words))
    return cell


def ods_cell(cell):
    formula = {}
    if isinstance(cell, tuple):
        formula = {"formula": "of:" + cell[0]}
        cell = cell[1]
    if cell is None:
        return TableCell()
    if isinstance(cell, bool):
        made = TableCell(valuetype="boolean", booleanvalue="true" if cell else "false")
        made.addElement(P(text="TRUE" if cell else "FALSE"))
    elif isinstance(cell, datetime.date):
        made = TableCell(valuetype="date", datevalue=cell.isoformat(), stylename="day")
        made.addElement(P(text=cell.strftime("%d/%m/%y")))
    elif isinstance(cell, (int, float)):
        made = TableCell(valuetype="float", value=repr(cell), **formula)
        if cell == 9.6:
            comment = Annotation()
            comment.addElement(Creator(text="me"))
            comment.addElement(P(text="measured twice"))
            made.addElement(comment)
        made.addElement(P(text=f"{cell:.1f}".replace(".", ",")))
    else:
        made = TableCell(valuetype="string", **formula)
        made.addElement(P(text=cell))
    return made


WRONG = [ROWS[0], ["A1"] + [None] * 9 + [("=#REF!", "#REF!"), 9.7, 139, 9.7, None]]
xlsx("workbook.xlsx", ROWS)
ods("workbook.ods", ROWS)
xlsx("workbook_wrong.xlsx", WRONG)
ods("workbook_wrong.ods", WRONG)
