"""Books as openpyxl makes them, one kind of feature each."""
import datetime
import json
import os
import sys

import openpyxl
from openpyxl.chart import LineChart, Reference
from openpyxl.comments import Comment
from openpyxl.formatting.rule import ColorScaleRule, IconSetRule
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import Table, TableStyleInfo

data = json.load(open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "book.json")))
out = sys.argv[1]


def book(top=0):
    wb = openpyxl.Workbook()
    ws = wb.active
    ws.title = "Tanks"
    for _ in range(top):
        ws.append([])
    for row in data["Tanks"]:
        ws.append(row)
    charts = wb.create_sheet("Charts")
    charts.append(["Tank", "Depth (in)", "Volume (gal)"])
    for tank in data["Tanks"][1:]:
        for d, v in zip(data["Depths"], data["Volumes"]):
            charts.append([tank[1], d, v])
    devices = wb.create_sheet("Devices")
    for row in data["Devices"]:
        devices.append(row)
    return wb, ws


def save(wb, name):
    wb.save(os.path.join(out, "openpyxl-" + name + ".xlsx"))


wb, ws = book()
save(wb, "plain")

wb, ws = book(top=2)
ws["A1"] = "Tank list, north yard"
ws.merge_cells("A1:G1")
ws["A1"].alignment = Alignment(horizontal="center")
for c in ws[3]:
    c.font, c.fill, c.border = Font(bold=True, color="FFFFFF"), PatternFill("solid", fgColor="1F4E78"), Border(bottom=Side("thin"))
    c.alignment = Alignment(wrap_text=True)
ws.freeze_panes = "C4"
ws.auto_filter.ref = "A3:G7"
ws.auto_filter.add_filter_column(0, ["Harbor Road"])
ws.auto_filter.add_sort_condition("B4:B7")
ws.column_dimensions["C"].hidden = True
ws.column_dimensions.group("D", "D", outline_level=1, hidden=False)
ws.row_dimensions[6].hidden = True
ws.row_dimensions[7].outline_level = 1
ws.print_title_rows, ws.print_area = "3:3", "A1:G7"
ws["B4"].comment = Comment("ask at the till", "office")
ws.conditional_formatting.add("E4:E7", ColorScaleRule("min", None, "00FF00", end_type="max", end_color="FF0000"))
ws.conditional_formatting.add("F4:F7", IconSetRule("3Arrows", "percent", [0, 33, 67]))
dv = DataValidation(type="list", formula1='"US-federal,US-CA"')
dv.add("C4:C7")
ws.add_data_validation(dv)
risers = DefinedName("Risers", attr_text="Tanks!$E$4:$E$7")
if hasattr(wb.defined_names, "append"):  # before 3.1
    wb.defined_names.append(risers)
else:
    wb.defined_names["Risers"] = risers
save(wb, "looks")

for name, totals in (("table", False), ("totals", True)):
    wb, ws = book()
    ref = "A1:G5"
    if totals:
        ws.append(["Total"])
        ref = "A1:G6"
    t = Table(displayName="TankList", ref=ref, totalsRowCount=1 if totals else None)
    t.tableStyleInfo = TableStyleInfo(name="TableStyleMedium9", showRowStripes=True)
    if totals:
        t._initialise_columns()
        for col, head in zip(t.tableColumns, data["Tanks"][0]):
            col.name = head
        t.tableColumns[0].totalsRowLabel = "Total"
        t.autoFilter.ref = "A1:G5"
    ws.add_table(t)
    save(wb, name)

wb, ws = book()
for r in range(2, 6):
    ws[f"I{r}"] = f"=E{r}*2"
ws["I1"] = "Twice the riser"
ws["K1"] = "Sum"
if hasattr(ws, "formula_attributes"):  # before 3.1
    ws["K2"] = "=SUM(E2:E5*1)"
    ws.formula_attributes["K2"] = {"t": "array", "ref": "K2:K3"}
else:
    from openpyxl.worksheet.formula import ArrayFormula

    ws["K2"] = ArrayFormula("K2:K3", "=SUM(E2:E5*1)")
chart = LineChart()
chart.add_data(Reference(wb["Charts"], min_col=3, min_row=1, max_row=12), titles_from_data=True)
wb["Charts"].add_chart(chart, "F2")
save(wb, "formulas")

wb, ws = book()
ws.protection.sheet = True
save(wb, "protected")

wb, ws = book()
wb.epoch = CALENDAR_MAC_1904
ws["H1"] = "Last inspection"
for r in range(2, 6):
    ws[f"H{r}"] = datetime.date(2025, 3, r)
    ws[f"H{r}"].number_format = "yyyy-mm-dd"
save(wb, "dates1904")
