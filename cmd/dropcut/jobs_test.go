package main

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"dropcut/convert/peer"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"
)

// The scripts about job workbooks have one command more, by which somebody on
// site fills in a page.
func TestJobScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "jobscript"),
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"dump": dumpCmd, "status": statusCmd, "fill": fillCmd, "beside": besideCmd, "insert": insertCmd, "set": setCmd,
			// officesave FILE.xlsx has LibreOffice open a book and save it.
			"officesave": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) != 1 {
					ts.Fatalf("usage: officesave FILE.xlsx")
				}
				data, err := os.ReadFile(peer.Convert(t, ts.MkAbs(args[0]), "xlsx"))
				ts.Check(err)
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), data, 0o666))
			},
		},
		Condition: func(cond string) (bool, error) {
			if cond != "peers" {
				return false, fmt.Errorf("no condition is called %s", cond)
			}
			return peer.Required(), nil
		},
	})
}

// beside FILE.xlsx SHEET CELL TEXT puts a comment into a cell, and a photo a column
// to the right of it.
func besideCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 {
		ts.Fatalf("usage: beside FILE.xlsx SHEET CELL TEXT")
	}
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	ts.Check(f.AddComment(args[1], excelize.Comment{Cell: args[2], Author: "site", Paragraph: []excelize.RichTextRun{{Text: args[3]}}}))
	var photo bytes.Buffer
	ts.Check(png.Encode(&photo, image.NewGray(image.Rect(0, 0, 8, 8))))
	col, row, err := excelize.CellNameToCoordinates(args[2])
	ts.Check(err)
	at, err := excelize.CoordinatesToCellName(col+1, row)
	ts.Check(err)
	ts.Check(f.AddPictureFromBytes(args[1], at, &excelize.Picture{Extension: ".png", File: photo.Bytes()}))
	ts.Check(f.Save())
}

// insert FILE.xlsx SHEET ROW N puts n empty rows above a row.
func insertCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 {
		ts.Fatalf("usage: insert FILE.xlsx SHEET ROW N")
	}
	row, err := strconv.Atoi(args[2])
	ts.Check(err)
	n, err := strconv.Atoi(args[3])
	ts.Check(err)
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	ts.Check(f.InsertRows(args[1], row, n))
	ts.Check(f.Save())
}

// fill FILE.xlsx NAME=VALUE... puts values into the cells of defined names.
func fillCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: fill FILE.xlsx NAME=VALUE...")
	}
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	defer f.Close()
	at := map[string]string{}
	for _, d := range f.GetDefinedName() {
		at[d.Name] = d.RefersTo
	}
	for _, arg := range args[1:] {
		name, value, _ := strings.Cut(arg, "=")
		ref := at[name]
		if ref == "" {
			ts.Fatalf("%s has no field %s", args[0], name)
		}
		i := strings.LastIndexByte(ref, '!')
		ts.Check(f.SetCellValue(strings.Trim(ref[:i], "'"), strings.ReplaceAll(ref[i+1:], "$", ""), value))
	}
	ts.Check(f.Save())
}
