//go:build ignore

// Reading times what reading alone costs in Go: `inflate BOOK` unpacks every part
// of a workbook and throws it away, `library BOOK` reads every row of every sheet
// through the workbook library, `lines FILE...` scans CSV lines and parses two
// numbers in each.
package main

import (
	"archive/zip"
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"strconv"

	"github.com/xuri/excelize/v2"
)

func main() {
	if len(os.Args) < 3 {
		fmt.Fprintln(os.Stderr, "usage: reading inflate|library|lines FILE...")
		os.Exit(2)
	}
	for _, name := range os.Args[2:] {
		if err := map[string]func(string) error{"inflate": inflate, "library": library, "lines": lines}[os.Args[1]](name); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

func inflate(name string) error {
	z, err := zip.OpenReader(name)
	if err != nil {
		return err
	}
	defer z.Close()
	var n int64
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			return err
		}
		k, err := io.Copy(io.Discard, r)
		if err != nil {
			return err
		}
		n += k
	}
	fmt.Println(n, "bytes")
	return nil
}

func library(name string) error {
	f, err := excelize.OpenFile(name)
	if err != nil {
		return err
	}
	defer f.Close()
	n, sum := 0, 0.0
	for _, sheet := range f.GetSheetList() {
		rows, err := f.Rows(sheet)
		if err != nil {
			return err
		}
		for rows.Next() {
			cells, err := rows.Columns(excelize.Options{RawCellValue: true})
			if err != nil {
				return err
			}
			n++
			if len(cells) > 2 {
				if v, err := strconv.ParseFloat(cells[2], 64); err == nil {
					sum += v
				}
			}
		}
	}
	fmt.Println(n, sum)
	return nil
}

func lines(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	s := bufio.NewScanner(f)
	s.Buffer(nil, 1<<20)
	n, sum := 0, 0.0
	for s.Scan() {
		n++
		_, rest, ok := bytes.Cut(s.Bytes(), []byte{','})
		if !ok {
			continue
		}
		a, b, ok := bytes.Cut(rest, []byte{','})
		if !ok {
			continue
		}
		if x, err := strconv.ParseFloat(string(a), 64); err == nil {
			sum += x
		}
		if x, err := strconv.ParseFloat(string(b), 64); err == nil {
			sum += x
		}
	}
	fmt.Println(n, sum)
	return s.Err()
}
