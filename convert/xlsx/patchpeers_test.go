package xlsx

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropcut/convert/peer"

	"dropcut/convert/grid"
	"dropcut/convert/xlsx/internal/columns"
	"dropcut/convert/xlsx/internal/patch"
	"dropcut/convert/xlsx/internal/read"
)

// openpyxl tells everything that it sees of a book, a line a fact.
const openpyxlTells = `
import sys, openpyxl
def tell(path):
    wb = openpyxl.load_workbook(path)
    names = wb.defined_names
    for d in (names.definedName if hasattr(names, "definedName") else names.values()):
        print("name", d.name, d.attr_text, sep="|")
    for ws in wb.worksheets:
        p = ws.title
        for row in ws.iter_rows():
            for c in row:
                v = c.value
                if v is None and not c.has_style:
                    continue
                if type(v) in (int, float):
                    v = repr(float(v))
                elif type(v).__name__ in ("ArrayFormula", "DataTableFormula"):
                    v = v.ref + " " + str(v.text if hasattr(v, "text") else "")
                f, a = c.font, c.alignment
                print("cell", p, c.coordinate, repr(v), c.data_type, c.number_format, f.name, f.sz, f.b, f.i, c.fill.fgColor.rgb, c.fill.fill_type, c.border.left and c.border.left.style, c.border.bottom and c.border.bottom.style, a.horizontal, a.wrap_text, sep="|")
                if c.comment:
                    print("comment", p, c.coordinate, repr(c.comment.text), sep="|")
        for k, d in sorted(ws.row_dimensions.items()):
            if d.ht or d.hidden or d.outlineLevel:
                print("row", p, k, d.ht, d.hidden, d.outlineLevel, sep="|")
        for k in sorted(ws.column_dimensions):
            d = ws.column_dimensions[k]
            print("width", p, k, d.min, d.max, d.width, d.hidden, d.outlineLevel, sep="|")
        for m in sorted(str(m) for m in ws.merged_cells.ranges):
            print("merged", p, m, sep="|")
        for cf in ws.conditional_formatting:
            print("conditional", p, cf.sqref, [(r.type, r.operator, r.formula, r.priority) for r in cf.rules], sep="|")
        for dv in ws.data_validations.dataValidation:
            print("validation", p, dv.sqref, dv.type, dv.formula1, sep="|")
        print("sheet", p, ws.freeze_panes, ws.sheet_state, ws.print_area, ws.print_title_rows, ws.page_setup.orientation, ws.protection.sheet, ws.protection.formatCells, ws.sheet_view.showGridLines, ws.sheet_properties.tabColor and ws.sheet_properties.tabColor.rgb, sep="|")
        for t in ws.tables.values():
            print("table", p, t.name, t.ref, t.autoFilter and t.autoFilter.ref, [c.name for c in t.tableColumns], sep="|")
        print("filter", p, ws.auto_filter.ref, sep="|")
        print("images", p, len(ws._images), len(ws._charts), sep="|")
for path in sys.argv[1:]:
    print("#", path)
    try:
        tell(path)
    except Exception as e:
        print("error|", type(e).__name__, e)
`

// openpyxlMakes makes a book with what contractors' books have.
const openpyxlMakes = `
import sys, datetime, openpyxl
from openpyxl.styles import Font, PatternFill, Border, Side, Alignment, Protection
from openpyxl.worksheet.table import Table, TableStyleInfo
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.formatting.rule import CellIsRule, IconSetRule, ColorScaleRule
from openpyxl.comments import Comment
from openpyxl.chart import LineChart, Reference
from openpyxl.workbook.defined_name import DefinedName
kind, path = sys.argv[1], sys.argv[2]
wb = openpyxl.Workbook()
ws = wb.active
ws.title = "Charts"
ws["A1"] = "Tank list, North yard"
ws.merge_cells("A1:D1")
for c, h in enumerate(["Site", "Tank", "Capacity (gal)", "Last inspection"], 1):
    x = ws.cell(3, c, h)
    x.font, x.fill = Font(bold=True, color="FFFFFFFF"), PatternFill("solid", fgColor="FF1F4E78")
    x.border = Border(bottom=Side(style="medium"))
for r in (4, 5, 7):
    ws.cell(r, 1, "North yard "); ws.cell(r, 2, "N-%d" % r); ws.cell(r, 3, 10000 * r / 3)
    ws.cell(r, 4, datetime.date(2026, 1, r)).number_format = "yyyy-mm-dd"
    for c in range(1, 5):
        ws.cell(r, c).border = Border(*[Side(style="thin")] * 4)
ws["B6"] = "=C4+C5"
ws.freeze_panes = "C4"
ws.row_dimensions[5].hidden = True
ws.row_dimensions[7].height = 31
ws.column_dimensions["A"].width = 22
ws.column_dimensions.group("F", "H", outline_level=1, hidden=True)
dv = DataValidation(type="list", formula1='"US-federal,elsewhere"'); dv.add("E4:E9"); ws.add_data_validation(dv)
ws.conditional_formatting.add("C4:C9", CellIsRule(operator="greaterThan", formula=["20000"], fill=PatternFill("solid", bgColor="FFFFC7CE")))
ws.conditional_formatting.add("C4:C9", IconSetRule("3Arrows", "percent", [0, 33, 67]))
ws["C4"].comment = Comment("as stamped on the tank", "yard office")
ws.print_title_rows = "3:3"; ws.print_area = "A1:D9"; ws.page_setup.orientation = "landscape"
ws.sheet_properties.tabColor = "FF00AA00"
ch = LineChart(); ch.add_data(Reference(ws, min_col=3, min_row=3, max_row=7), titles_from_data=True); ws.add_chart(ch, "M12")
if kind == "filter":
    ws.auto_filter.ref = "A3:D7"
if kind == "table":
    ws["A6"], ws["B6"], ws["C6"], ws["D6"] = "x", "y", 1, 2
    t = Table(displayName="Tanks", ref="A3:D7"); t.tableStyleInfo = TableStyleInfo(name="TableStyleMedium9", showRowStripes=True); ws.add_table(t)
other = wb.create_sheet("Locked")
other.protection.sheet = True
other["A1"] = "not to be touched"; other["A1"].protection = Protection(locked=False)
limit = DefinedName("limit", attr_text="0.95")
if hasattr(wb.defined_names, "append"):
    wb.defined_names.append(limit)
else:
    wb.defined_names["limit"] = limit
wb.save(path)
`

// told gives what openpyxl tells of each book.
func told(t *testing.T, python string, paths []string) map[string][]string {
	t.Helper()
	all := map[string][]string{}
	path := ""
	for line := range strings.Lines(peer.Output(t, python, append([]string{"-c", openpyxlTells}, paths...)...)) {
		line = strings.TrimSuffix(line, "\n")
		if p, ok := strings.CutPrefix(line, "# "); ok {
			path = p
			continue
		}
		all[path] = append(all[path], line)
	}
	return all
}

// sameTold compares what is told of a book before and after: nothing is gone,
// and what is new belongs to the edit.
func sameTold(t *testing.T, was, is []string, col int) {
	t.Helper()
	after := map[string]bool{}
	for _, l := range is {
		after[l] = true
		if strings.HasPrefix(l, "error|") {
			t.Error(l)
		}
	}
	before := map[string]bool{}
	for _, l := range was {
		before[l] = true
		kind, _, _ := strings.Cut(l, "|")
		switch kind {
		case "filter", "table", "width": // those that may grow are looked at elsewhere
			continue
		}
		if !after[l] && !strings.Contains(l, "|None|n|") {
			t.Errorf("gone: %s", l)
		}
	}
	for _, l := range is {
		f := strings.Split(l, "|")
		if before[l] || len(f) < 3 || f[1] != "Charts" || f[0] != "cell" {
			continue
		}
		b := byte('A' + col - 1)
		if c := f[2][0]; c < b || c > b+3 {
			t.Errorf("new: %s", l)
		}
	}
	at := func(col int, row string) string { return string(rune('A'+col-1)) + row }
	text := strings.Join(is, "\n")
	for _, want := range []string{
		"cell|Charts|" + at(col, "4") + "|'82.3125'|n|0.00##|", "cell|Charts|" + at(col+1, "4") + "|'94.996'|n|0.00####|",
		"cell|Charts|" + at(col+2, "5") + "|'check'|", "cell|Charts|" + at(col+2, "7") + "|'stop'|", "cell|Charts|" + at(col+3, "5") + `|' <two> lines &\n`, // what follows are escapes that openpyxl does not read
		"cell|Findings|B3|'stop: chart ends early'|", "sheet|Findings|A3|visible|", "filter|Findings|A2:C5", "cell|Sources|A1|\"O'Neill & <Co>\"|",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%s is missing", want)
		}
	}
}

// corpus writes books as they were and as patched into two folders.
func corpus(t *testing.T) (was, is []string, col map[string]int) {
	t.Helper()
	dir := t.TempDir()
	col = map[string]int{}
	for _, sub := range []string{"was", "is"} {
		if err := os.Mkdir(filepath.Join(dir, sub), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	put := func(name string, book []byte, at int) {
		out, _ := patched(t, book, withSheets(tankEdit(at)))
		a, b := filepath.Join(dir, "was", name), filepath.Join(dir, "is", name)
		for path, content := range map[string][]byte{a: book, b: out} {
			if err := os.WriteFile(path, content, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		was, is = append(was, a), append(is, b)
		col[b] = at
	}
	for i, c := range featureCases(t) {
		name := fmt.Sprintf("%02d %s.xlsx", i, c.name)
		if c.name == "macros" {
			continue // the macro project is not one that a program would open
		}
		put(name, c.book.Bytes(), c.col)
	}
	return was, is, col
}

// openpyxl opens every hand-made book after the patch as it did before, and sees
// the new values and nothing else. What it cannot open before is passed over:
// backslashes, missing styles.
func TestPatchAgainstOpenpyxl(t *testing.T) {
	if os.Getenv("DROPCUT_PEERS") != "required" {
		t.Skip("all books of the list take seconds: run with DROPCUT_PEERS=required")
	}
	python := peer.Python(t)
	was, is, col := corpus(t)
	before, after := told(t, python, was), told(t, python, is)
	open := 0
	for i, path := range is {
		t.Run(filepath.Base(path), func(t *testing.T) {
			b := before[was[i]]
			if last := strings.Join(b, "\n"); strings.Contains(last, "error|") || !strings.Contains(last, "sheet|") {
				t.Skip("it cannot open the book as it was: ", last)
			}
			open++
			sameTold(t, b, after[path], col[path])
		})
	}
	if open < len(is)*3/4 {
		t.Errorf("only %d of %d books could be opened", open, len(is))
	}
}

// openpyxl's own books, as they are and as an office program saves them anew.
func TestPatchForeignBooks(t *testing.T) {
	python := peer.Python(t)
	dir := t.TempDir()
	var was, is []string
	var made []string
	for _, kind := range []string{"plain", "filter", "table"} {
		path := filepath.Join(dir, kind+".xlsx")
		peer.Output(t, python, "-c", openpyxlMakes, kind, path)
		made = append(made, path)
	}
	if os.Getenv("DROPCUT_PEERS") == "required" {
		out := filepath.Join(dir, "office")
		convert(t, out, made)
		for _, path := range made {
			made = append(made, filepath.Join(out, filepath.Base(path)))
		}
	}
	for _, path := range made {
		b, err := read.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		place, err := columns.FindPlace(b.Sheet("Charts"), 3, []int{4, 5, 7}, 4)
		if err != nil || place.Col != 5 {
			t.Errorf("%s: %+v, %v", path, place, err)
		}
		planned := strings.TrimSuffix(path, ".xlsx") + "-planned.xlsx"
		report, err := WriteBook(b, withSheets(tankEdit(5)), planned, WriteOptions{})
		b.Close()
		if err != nil {
			t.Fatal(err)
		}
		kind := strings.TrimSuffix(filepath.Base(path), ".xlsx")
		if notes := strings.Join(report.Notes, "; "); kind != "plain" && !strings.Contains(notes, "reaches over the new columns now: A3:H7") || !strings.Contains(notes, "column F was hidden") {
			t.Errorf("%s: %s", path, notes)
		}
		was, is = append(was, path), append(is, planned)
	}
	before, after := told(t, python, was), told(t, python, is)
	for i, path := range is {
		t.Run(strings.TrimPrefix(path, dir), func(t *testing.T) {
			sameTold(t, before[was[i]], after[path], 5)
			text := strings.Join(after[path], "\n")
			switch {
			case strings.Contains(path, "filter"):
				wantHas(t, text, "filter|Charts|A3:H7")
			case strings.Contains(path, "table"):
				wantHas(t, text, "|A3:H7|A3:H7|['Site', 'Tank', 'Capacity (gal)', 'Last inspection', 'Plan: Shutoff depth (in)', 'Plan: Shutoff %', 'Plan: Status', 'Plan: Flags']")
			}
		})
	}
}

// convert lets an office program open books and save them anew.
func convert(t *testing.T, out string, paths []string) {
	t.Helper()
	office := peer.Program(t, "soffice", "libreoffice")
	profile := filepath.Join(t.TempDir(), "profile")
	peer.Output(t, office, append([]string{"-env:UserInstallation=file://" + filepath.ToSlash(profile), "--headless", "--convert-to", "xlsx", "--outdir", out}, paths...)...)
}

// LibreOffice opens every hand-made book after the patch and saves it anew: what
// it has read are the old cells and the new values.
func TestPatchAgainstLibreOffice(t *testing.T) {
	if os.Getenv("DROPCUT_PEERS") != "required" {
		t.Skip("an office program takes seconds: run with DROPCUT_PEERS=required")
	}
	was, is, col := corpus(t)
	dir := t.TempDir()
	convert(t, filepath.Join(dir, "was"), was)
	convert(t, filepath.Join(dir, "is"), is)
	cells := func(path, sheet string) (map[string]string, error) {
		b, err := read.Open(path)
		if err != nil {
			return nil, err
		}
		defer b.Close()
		s := b.Sheet(sheet)
		if s == nil {
			return nil, fmt.Errorf("no sheet %s", sheet)
		}
		out := map[string]string{}
		for row, err := range s.Rows() {
			if err != nil {
				return nil, err
			}
			for _, c := range row.Cells {
				v := string(c.Raw)
				if c.Kind == grid.Number {
					v = fmt.Sprintf("%.12g", c.Num)
				}
				out[fmt.Sprintf("%d/%d", c.Col, row.N)] = v
			}
		}
		return out, nil
	}
	open := 0
	for i, path := range is {
		t.Run(filepath.Base(path), func(t *testing.T) {
			before, err := cells(filepath.Join(dir, "was", filepath.Base(was[i])), "Charts")
			if err != nil || len(before) == 0 && !strings.Contains(path, "no rows") {
				t.Skip("it cannot open the book as it was: ", err)
			}
			open++
			after, err := cells(filepath.Join(dir, "is", filepath.Base(path)), "Charts")
			if err != nil {
				t.Fatal(err)
			}
			for at, v := range before {
				if after[at] != v {
					t.Errorf("%s was %q and is %q", at, v, after[at])
				}
			}
			for at, v := range map[string]string{"0/4": "82.3125", "1/4": "94.996", "2/4": "ready", "2/7": "stop", "0/5": "0.3", "3/7": "riser not measured"} {
				var c, r int
				fmt.Sscanf(at, "%d/%d", &c, &r)
				if got := after[fmt.Sprintf("%d/%d", c+col[path], r)]; got != v {
					t.Errorf("%s of ours is %q, %q was written", at, got, v)
				}
			}
			own, err := cells(filepath.Join(dir, "is", filepath.Base(path)), "Findings")
			if err != nil || own["2/3"] != "stop: chart ends early" || own["3/5"] != "-2.5" {
				t.Error(own, err)
			}
			// The mark of our sheets has come through: the next run finds them.
			b, err := read.Open(filepath.Join(dir, "is", filepath.Base(path)))
			if err != nil {
				t.Fatal(err)
			}
			defer b.Close()
			var out bytes.Buffer
			report, err := patch.Patch(b, withSheets(tankEdit(col[path])), &out)
			if err != nil || report.Sheets["Findings"] != "Findings" {
				t.Error(report, err)
			}
		})
	}
	if open < len(is)*3/4 {
		t.Errorf("only %d of %d books could be opened", open, len(is))
	}
}

// TestPatchBooks patches every workbook below the folder that DROPCUT_BOOKS
// names: columns onto every sheet, sheets of our own. What is refused is logged.
func TestPatchBooks(t *testing.T) {
	dir := os.Getenv("DROPCUT_BOOKS")
	if dir == "" {
		t.Skip("DROPCUT_BOOKS names no folder with workbooks")
	}
	done := 0
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if ext := filepath.Ext(path); err != nil || d.IsDir() || ext != ".xlsx" && ext != ".xlsm" {
			return err
		}
		b, err := read.Open(path)
		if err != nil {
			t.Log(err)
			return nil
		}
		defer b.Close()
		edit := withSheets(grid.Edit{})
		for _, s := range b.List {
			place, err := columns.FindPlace(s, 1, nil, 2)
			if err != nil {
				t.Log(err)
				continue
			}
			for k := range 2 {
				c := grid.Column{Sheet: s.Entry.Name, Col: place.Col + k, HeaderRow: 1, Heading: fmt.Sprintf("Plan: %d", k), Width: 12}
				for row := 2; row < 40; row++ {
					c.Cells = append(c.Cells, grid.At{Row: row, Value: grid.Num(float64(row)/3, grid.LookLength+grid.Look(row%9))})
				}
				edit.Columns = append(edit.Columns, c)
			}
		}
		planned := filepath.Join(t.TempDir(), "planned.xlsx")
		if _, err := WriteBook(b, edit, planned, WriteOptions{}); err != nil {
			t.Errorf("%s: %v", path, err)
			return nil
		}
		again, err := read.Open(planned)
		if err != nil {
			t.Error(err)
			return nil
		}
		defer again.Close()
		if report, err := WriteBook(again, edit, planned, WriteOptions{}); err != nil || !report.Unchanged {
			t.Errorf("%s, second run: %+v, %v", path, report, err)
		}
		done++
		return nil
	})
	if err != nil || done == 0 {
		t.Error("no book was patched", err)
	}
	t.Logf("%d books", done)
}
