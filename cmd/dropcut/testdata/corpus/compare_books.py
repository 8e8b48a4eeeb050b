"""Holds a planned book against the one it was made from: part by part by its
bytes, cell by cell as openpyxl reads both. Arguments: OLD NEW OLD NEW... Prints
what differs; nothing where nothing does."""
import re
import sys
import zipfile

import openpyxl

OURS = ("Findings", "Changes", "Sources", "Planned cuts")


def parts(old, new):
    a, b = zipfile.ZipFile(old), zipfile.ZipFile(new)
    may = {"[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml"}
    names = b.namelist()
    if len(names) != len(set(names)):
        yield "an entry stands in the archive twice"
    touched = set()
    for name in a.namelist():
        if name not in names:
            yield f"part {name} is gone"
        elif a.read(name) != b.read(name):
            touched.add(name)
    sheets = {n for n in touched if re.match(r"xl/worksheets/[^/]+\.xml$", n)}
    tables = {n for n in touched if re.match(r"xl/tables/[^/]+\.xml$", n)}
    if len(sheets) > 1:
        yield f"more than the sheet of the tanks was touched: {sorted(sheets)}"
    for name in sorted(touched - may - sheets - tables):
        yield f"part {name} was touched"


def look(c):
    return (c.number_format, repr(c.font), repr(c.fill), repr(c.border), repr(c.alignment), repr(c.protection))


def names(wb):
    d = wb.defined_names
    return {n.name: n.attr_text for n in (d.definedName if hasattr(d, "definedName") else d.values())}


def text(v):
    return (v.ref, v.text) if hasattr(v, "ref") else v


def cells(old, new):
    try:
        a = openpyxl.load_workbook(old)
    except Exception as why:
        # What it cannot open as it was is held against itself by its parts alone.
        print(f"{old}: openpyxl cannot open the book as it was: {why}", file=sys.stderr)
        return
    b = openpyxl.load_workbook(new)
    if a.epoch != b.epoch:
        yield "the days are counted otherwise"
    if [s for s in b.sheetnames if s not in OURS] != a.sheetnames:
        yield f"the sheets were {a.sheetnames} and are {b.sheetnames}"
    after = names(b)
    for name, value in names(a).items():
        if after.get(name) != value:
            yield f"the name {name} has changed"
    for ws in a.worksheets:
        is_ = b[ws.title]
        where = ws.title
        have = {}
        for row in is_.iter_rows():
            for c in row:
                if c.value is not None or c.has_style:
                    have[c.coordinate] = c
        ours = set()  # columns that begin with one of our headings
        for c in have.values():
            if isinstance(c.value, str) and c.value.startswith("Plan: ") and ws[c.coordinate].value is None:
                ours.add(c.column)
        for row in ws.iter_rows():
            for c in row:
                if c.value is None and not c.has_style:
                    continue
                n = have.pop(c.coordinate, None)
                if n is None:
                    yield f"{where}!{c.coordinate} is gone"
                    continue
                if c.column in ours and c.value is None:
                    continue
                if (text(c.value), c.data_type) != (text(n.value), n.data_type):
                    yield f"{where}!{c.coordinate} was {c.value!r} and is {n.value!r}"
                if look(c) != look(n):
                    yield f"{where}!{c.coordinate} looks otherwise"
                for kind in ("comment", "hyperlink"):
                    x, y = getattr(c, kind), getattr(n, kind)
                    if repr(x) != repr(y):
                        yield f"the {kind} of {where}!{c.coordinate} has changed"
        for at, c in have.items():
            if c.column not in ours:
                yield f"{where}!{at} is new: {c.value!r}"
        if sorted(map(str, ws.merged_cells.ranges)) != sorted(map(str, is_.merged_cells.ranges)):
            yield f"the merged areas of {where} have changed"
        for r, d in ws.row_dimensions.items():
            n = is_.row_dimensions[r]
            if (d.height, d.hidden, d.outlineLevel, d.collapsed) != (n.height, n.hidden, n.outlineLevel, n.collapsed):
                yield f"row {r} of {where} has changed"
        for letter, d in ws.column_dimensions.items():
            n = is_.column_dimensions[letter]
            if d.min in ours or (d.max or 0) > 200:
                continue
            if (d.width, d.hidden, d.outlineLevel) != (n.width, n.hidden, n.outlineLevel):
                yield f"column {letter} of {where} has changed"
        for kind in ("freeze_panes", "print_title_rows", "print_area", "sheet_state"):
            if getattr(ws, kind) != getattr(is_, kind):
                yield f"{kind} of {where} was {getattr(ws, kind)} and is {getattr(is_, kind)}"
        for kind in ("protection", "page_setup", "page_margins", "sheet_properties", "data_validations"):
            if repr(getattr(ws, kind)) != repr(getattr(is_, kind)):
                yield f"{kind} of {where} has changed"
        rules = lambda s: {str(k.sqref): repr(k.rules) for k in s.conditional_formatting}
        if rules(ws) != rules(is_):
            yield f"the conditional formats of {where} have changed"
        for kind in ("filterColumn",):
            if repr(getattr(ws.auto_filter, kind)) != repr(getattr(is_.auto_filter, kind)):
                yield f"the filter of {where} has changed"
        x, y = ws.auto_filter.ref, is_.auto_filter.ref
        if (x or "") != (y or "") and not (x and y and x.split(":")[0] == y.split(":")[0]):
            yield f"the filter of {where} was over {x} and is over {y}"
        if len(ws._charts) != len(is_._charts) or len(ws._images) != len(is_._images):
            yield f"charts or pictures of {where} have changed"
        for t in ws.tables.values():
            name = t.name
            n = is_.tables.get(name)
            if n is None or n.totalsRowCount != t.totalsRowCount or [c.name for c in n.tableColumns][: len(t.tableColumns)] != [c.name for c in t.tableColumns]:
                yield f"the table {name} has changed"
                continue
            heads = [c.value for c in is_[n.ref][0]]
            if [c.name for c in n.tableColumns] != [str(h) for h in heads]:
                yield f"the columns of table {name} are not what stands in its header: {heads}"
    if not any(isinstance(c.value, str) and c.value.startswith("Plan: Status") for ws in b.worksheets for row in ws.iter_rows() for c in row):
        yield "no plan was written"
    for name in OURS[:3]:
        if name not in b.sheetnames:
            yield f"the sheet {name} is missing"


for old, new in zip(sys.argv[1::2], sys.argv[2::2]):
    for said in list(parts(old, new)) + list(cells(old, new)):
        print(f"{new}: {said}")
