package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"time"
)

// entry is a file of an archive.
type entry struct {
	name string
	body []byte
	mode int64
}

// ending is the archive's: what people on that system can open without asking.
func (t target) ending() string {
	if t.system == "windows" {
		return ".zip"
	}
	return ".tar.gz"
}

// archive packs the files below a folder of the archive's own name. Times,
// owners and modes are fixed, so that the same files give the same bytes.
func (t target) archive(folder string, list []entry, day time.Time) ([]byte, error) {
	if t.system == "windows" {
		return zipped(folder, list, day)
	}
	return tarred(folder, list, day)
}

func tarred(folder string, list []entry, day time.Time) ([]byte, error) {
	var b bytes.Buffer
	// A gzip header of Go's holds neither a name nor a time unless they are set.
	gz, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	w := tar.NewWriter(gz)
	for _, e := range list {
		head := &tar.Header{
			Typeflag: tar.TypeReg, Name: folder + "/" + e.name, Size: int64(len(e.body)), Mode: e.mode,
			ModTime: day, Format: tar.FormatUSTAR,
		}
		if err := w.WriteHeader(head); err != nil {
			return nil, err
		}
		if _, err := w.Write(e.body); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	if err := gz.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func zipped(folder string, list []entry, day time.Time) ([]byte, error) {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range list {
		head := &zip.FileHeader{Name: folder + "/" + e.name, Method: zip.Deflate, Modified: day}
		part, err := w.CreateHeader(head)
		if err != nil {
			return nil, err
		}
		if _, err := part.Write(e.body); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
