package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"dropcut/convert/csvfile"
	"dropcut/convert/grid"
	"dropcut/convert/xlsx"
)

// openBook opens an .xlsx or .xlsm workbook, a .csv file or a folder of .csv
// files. The error says what was found and what to do.
func openBook(path string) (grid.Book, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s: there is no such file", path)
	case err != nil:
		return nil, err
	case info.IsDir():
		return csvfile.OpenDir(path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: not a regular file", path)
	}
	switch ending := strings.ToLower(filepath.Ext(path)); ending {
	case ".xlsx", ".xlsm":
		return xlsx.Open(path)
	case ".csv":
		return csvfile.Open(path)
	case ".xls", ".xlsb", ".ods":
		return nil, fmt.Errorf("%s: %s files are not read; open it in your office program and save it as .xlsx", path, ending)
	case "":
		return nil, fmt.Errorf("%s: a file without an ending; a book is an .xlsx, .xlsm or .csv file, or a folder of .csv files", path)
	default:
		return nil, fmt.Errorf("%s: %s files are not read; a book is an .xlsx, .xlsm or .csv file, or a folder of .csv files", path, ending)
	}
}

// openAll opens a book and the files with more charts. On an error nothing
// stays open.
func openAll(path string, charts []string) (list []grid.Book, close func(), err error) {
	close = func() {
		for _, b := range list {
			// The files were only read; there is nothing that closing could lose.
			_ = b.Close()
		}
	}
	for _, p := range append([]string{path}, charts...) {
		b, err := openBook(p)
		if err != nil {
			close()
			return nil, nil, err
		}
		list = append(list, b)
	}
	return list, close, nil
}
