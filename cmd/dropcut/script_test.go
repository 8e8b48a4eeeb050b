package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"
)

// The commands are tested by scripts, which also say what must not happen. Each
// script gets an empty folder and the files that stand below it.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"dropcut": func() { os.Exit(run(context.Background(), os.Args, os.Stdin, os.Stdout, os.Stderr)) },
	})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           filepath.Join("testdata", "script"),
		UpdateScripts: os.Getenv("DROPCUT_UPDATE_SCRIPTS") != "",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"book":   bookCmd,
			"dump":   dumpCmd,
			"status": statusCmd,
			"cut":    cutCmd,
			"set":    setCmd,
			"office": officeCmd,
		},
	})
}

// book OUT.xlsx SPEC.txt makes a workbook. In the spec a line "== NAME" starts a
// sheet and every other line is a record of CSV; a field that reads as a number
// becomes a number, one that begins with = a formula, all else text.
func bookCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: book OUT.xlsx SPEC.txt")
	}
	f := excelize.NewFile()
	sheet, row := "", 0
	for line := range strings.Lines(ts.ReadFile(args[1])) {
		line = strings.TrimRight(line, "\r\n")
		if name, ok := strings.CutPrefix(line, "== "); ok {
			if sheet == "" {
				ts.Check(f.SetSheetName("Sheet1", name))
			} else {
				_, err := f.NewSheet(name)
				ts.Check(err)
			}
			sheet, row = name, 0
			continue
		}
		row++
		if line == "" {
			continue
		}
		record, err := csv.NewReader(strings.NewReader(line)).Read()
		ts.Check(err)
		for i, field := range record {
			at, err := excelize.CoordinatesToCellName(i+1, row)
			ts.Check(err)
			if formula, ok := strings.CutPrefix(field, "="); ok {
				ts.Check(f.SetCellFormula(sheet, at, formula))
			} else if v, err := strconv.ParseFloat(field, 64); err == nil {
				ts.Check(f.SetCellValue(sheet, at, v))
			} else if field != "" {
				ts.Check(f.SetCellValue(sheet, at, field))
			}
		}
	}
	ts.Check(f.SaveAs(ts.MkAbs(args[0])))
}

// dump FILE.xlsx [SHEET] prints every cell of a workbook as text, for stdout.
func dumpCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: dump FILE.xlsx [SHEET]")
	}
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	var b strings.Builder
	for _, sheet := range f.GetSheetList() {
		if len(args) > 1 && args[1] != sheet {
			continue
		}
		fmt.Fprintf(&b, "== %s\n", sheet)
		rows, err := f.GetRows(sheet, excelize.Options{RawCellValue: true})
		ts.Check(err)
		for r, row := range rows {
			for c, text := range row {
				if text != "" {
					at, _ := excelize.CoordinatesToCellName(c+1, r+1)
					fmt.Fprintf(&b, "%s\t%s\n", at, text)
				}
			}
		}
	}
	_, err = ts.Stdout().Write([]byte(b.String()))
	ts.Check(err)
}

// set FILE.xlsx SHEET CELL VALUE does what a person does: types a number, a text
// or a formula into a cell and saves the book.
func setCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 {
		ts.Fatalf("usage: set FILE.xlsx SHEET CELL VALUE")
	}
	path := ts.MkAbs(args[0])
	f, err := excelize.OpenFile(path)
	ts.Check(err)
	defer f.Close()
	if formula, ok := strings.CutPrefix(args[3], "="); ok {
		ts.Check(f.SetCellFormula(args[1], args[2], formula))
	} else if v, err := strconv.ParseFloat(args[3], 64); err == nil {
		ts.Check(f.SetCellValue(args[1], args[2], v))
	} else {
		ts.Check(f.SetCellValue(args[1], args[2], args[3]))
	}
	ts.Check(f.Save())
}

// office FILE.xlsx SHEET DEED... does what a person does with a sheet: "protect",
// "rename NAME", "row N" and "column NAME" put in an empty one, "swap N M" exchanges
// two rows, "move NAME NAME" a column's cells with those of another.
func officeCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: office FILE.xlsx SHEET DEED...")
	}
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	sheet, deed, rest := args[1], args[2], args[3:]
	number := func(i int) int {
		n, err := strconv.Atoi(rest[i])
		ts.Check(err)
		return n
	}
	exchange := func(a, b string) {
		var set []func() error
		for _, to := range [][2]string{{a, b}, {b, a}} {
			typ, err := f.GetCellType(sheet, to[0])
			ts.Check(err)
			text, err := f.GetCellValue(sheet, to[0], excelize.Options{RawCellValue: true})
			ts.Check(err)
			var v any = text
			if n, err := strconv.ParseFloat(text, 64); err == nil && (typ == excelize.CellTypeNumber || typ == excelize.CellTypeUnset) {
				v = n
			} else if text == "" {
				v = nil
			}
			set = append(set, func() error { return f.SetCellValue(sheet, to[1], v) })
		}
		for _, do := range set {
			ts.Check(do())
		}
	}
	switch deed {
	case "protect":
		ts.Check(f.ProtectSheet(sheet, &excelize.SheetProtectionOptions{}))
	case "rename":
		ts.Check(f.SetSheetName(sheet, rest[0]))
	case "row":
		ts.Check(f.InsertRows(sheet, number(0), 1))
	case "column":
		ts.Check(f.InsertCols(sheet, rest[0], 1))
	case "swap":
		for col := 1; col <= 60; col++ {
			a, err := excelize.CoordinatesToCellName(col, number(0))
			ts.Check(err)
			b, err := excelize.CoordinatesToCellName(col, number(1))
			ts.Check(err)
			exchange(a, b)
		}
	case "move":
		for row := 1; row <= 60; row++ {
			exchange(rest[0]+strconv.Itoa(row), rest[1]+strconv.Itoa(row))
		}
	default:
		ts.Fatalf("nobody does %s to a sheet", deed)
	}
	ts.Check(f.Save())
}

// status N COMMAND... runs a command that must end with that exit status.
func statusCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N COMMAND...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if err != nil {
		text := err.Error()
		if _, scanErr := fmt.Sscanf(text[strings.LastIndex(text, "exit status"):], "exit status %d", &got); scanErr != nil {
			ts.Fatalf("%v", err)
		}
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// cut FILE OUT N writes the first N bytes of a file, negative N all but the
// last -N.
func cutCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: cut FILE OUT N")
	}
	data, err := os.ReadFile(ts.MkAbs(args[0]))
	ts.Check(err)
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	if n < 0 {
		n += len(data)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), bytes.Clone(data[:n]), 0o666))
}
