package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The texts are those of spdx.org/licenses, cut to what tells them apart; a
// comment sign, a line break or another typeface must not matter.
func TestLicenceOf(t *testing.T) {
	const (
		bsd = "Redistributions of source code must retain the above\n copyright notice\nRedistributions in binary form must reproduce the above"
		mit = "Permission is hereby granted, free of charge, to any person obtaining a copy\n// of this software and associated ... THE SOFTWARE IS PROVIDED \"AS IS\", WITHOUT WARRANTY OF ANY KIND"
	)
	for _, c := range []struct{ text, want, fault string }{
		{text: mit, want: "MIT"},
		{text: strings.ReplaceAll(mit, `"`, "``"), want: "MIT"},
		{text: bsd, want: "BSD-2-Clause"},
		{text: bsd + "\nNeither the name may be used to endorse or promote products derived from", want: "BSD-3-Clause"},
		{text: "Apache License\nVersion 2.0 ... Grant of Copyright License ... Redistribution", want: "Apache-2.0"},
		{text: mit + bsd, want: "MIT AND BSD-2-Clause"},
		{text: "GNU GENERAL PUBLIC LICENSE\nVersion 3", fault: "expected a permissive licence"},
		{text: "GNU Lesser General Public License", fault: "expected a permissive licence"},
		{text: "Mozilla Public License, version 2.0", fault: "expected a permissive licence"},
		{text: mit + "\n\"Commons Clause\" License Condition v1.0", fault: "expected a permissive licence"},
		{text: "free for non-commercial use", fault: "expected a permissive licence"},
		{text: "All rights reserved.", fault: "not recognised"},
		{text: "", fault: "not recognised"},
	} {
		got, err := licenceOf(c.text)
		switch {
		case c.fault == "" && (err != nil || got != c.want):
			t.Errorf("%.40q is %q (%v), want %q", c.text, got, err, c.want)
		case c.fault != "" && (err == nil || !strings.Contains(err.Error(), c.fault)):
			t.Errorf("%.40q is %q (%v), want a refusal with %q", c.text, got, err, c.fault)
		}
	}
}

func TestAModuleWithoutLicenceIsRefused(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("README", "hello")
	if _, err := papersIn(dir); err == nil || !strings.Contains(err.Error(), "no licence text was found") {
		t.Errorf("a module without licence: %v", err)
	}
	write("PATENTS", "a grant of patents")
	if _, err := papersIn(dir); err == nil {
		t.Error("a grant of patents alone was taken for a licence")
	}
	write("LICENSE.txt", "Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee is hereby granted")
	papers, err := papersIn(dir)
	if err != nil || len(papers) != 2 || joined(papers) != "ISC" {
		t.Errorf("papers %v, %v; want the licence and the patents", papers, err)
	}
	write("COPYING", "GNU Affero General Public License")
	if _, err := papersIn(dir); err == nil || !strings.Contains(err.Error(), "COPYING") {
		t.Errorf("a second, refused licence: %v", err)
	}
}

func TestArchivesAreTheSameBytesAndHoldTheFiles(t *testing.T) {
	day := time.Date(2026, 5, 4, 3, 2, 0, 0, time.UTC)
	list := []entry{{"dropcut", []byte("program"), 0o755}, {"man/dropcut.1", []byte("page"), 0o644}}
	for _, tgt := range allTargets() {
		one, err := tgt.archive("dropcut-v1", list, day)
		if err != nil {
			t.Fatal(err)
		}
		two, err := tgt.archive("dropcut-v1", list, day)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(one, two) {
			t.Errorf("%s: the same files give other bytes", tgt)
		}
		got := map[string]string{}
		if tgt.system == "windows" {
			r, err := zip.NewReader(bytes.NewReader(one), int64(len(one)))
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range r.File {
				in, err := f.Open()
				if err != nil {
					t.Fatal(err)
				}
				body, err := io.ReadAll(in)
				if err != nil {
					t.Fatal(err)
				}
				got[f.Name] = string(body)
				if !f.Modified.Equal(day) {
					t.Errorf("%s: %s is of %v", tgt, f.Name, f.Modified)
				}
			}
		} else {
			gz, err := gzip.NewReader(bytes.NewReader(one))
			if err != nil {
				t.Fatal(err)
			}
			if !gz.ModTime.IsZero() || gz.Name != "" {
				t.Errorf("%s: the gzip header holds a time or a name", tgt)
			}
			r := tar.NewReader(gz)
			for {
				head, err := r.Next()
				if err == io.EOF {
					break
				}
				if err != nil {
					t.Fatal(err)
				}
				body, err := io.ReadAll(r)
				if err != nil {
					t.Fatal(err)
				}
				got[head.Name] = string(body)
				if !head.ModTime.Equal(day) || head.Uid != 0 || head.Uname != "" {
					t.Errorf("%s: %s carries this machine's time or user: %v %d %q", tgt, head.Name, head.ModTime, head.Uid, head.Uname)
				}
				if head.Name == "dropcut-v1/dropcut" && head.Mode != 0o755 {
					t.Errorf("%s: the program has mode %o", tgt, head.Mode)
				}
			}
		}
		if len(got) != 2 || got["dropcut-v1/dropcut"] != "program" || got["dropcut-v1/man/dropcut.1"] != "page" {
			t.Errorf("%s holds %v", tgt, got)
		}
	}
}

// The fields are those that SPDX 2.3 demands (spdx.github.io/spdx-spec/v2.3).
func TestBillNamesEveryModuleOnce(t *testing.T) {
	r := release{version: "v1.2.3", commit: "0123", day: time.Date(2026, 5, 4, 0, 0, 0, 0, time.UTC)}
	modules := []module{{"github.com/Some/thing", "v1.0.0", "h1:abc=", "MIT"}, {"example.org/x/y", "v0.1.0", "", "BSD-3-Clause"}}
	body, err := r.bill([]build{{target{"darwin", "arm64"}, "p", "s256", "s1"}}, modules)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		SpdxVersion, DataLicense, SPDXID, Name, DocumentNamespace string
		CreationInfo                                              struct{ Created string }
		Packages                                                  []struct{ Name, SPDXID, VersionInfo, DownloadLocation, LicenseConcluded string }
		Relationships                                             []struct{ SpdxElementID, RelationshipType, RelatedSpdxElement string }
	}
	if err := json.Unmarshal(body, &doc); err != nil {
		t.Fatal(err)
	}
	if doc.SpdxVersion != "SPDX-2.3" || doc.DataLicense != "CC0-1.0" || doc.SPDXID != "SPDXRef-DOCUMENT" || doc.CreationInfo.Created != "2026-05-04T00:00:00Z" {
		t.Errorf("head of the bill: %+v", doc)
	}
	ids := map[string]bool{}
	for _, p := range doc.Packages {
		if ids[p.SPDXID] || p.LicenseConcluded == "" || p.VersionInfo == "" || p.DownloadLocation == "" {
			t.Errorf("package %+v is doubled or lacks a field", p)
		}
		ids[p.SPDXID] = true
	}
	if len(ids) != 4 {
		t.Errorf("%d packages; the program, Go's library and two modules were expected", len(ids))
	}
	for _, rel := range doc.Relationships {
		if rel.RelationshipType == "STATIC_LINK" && !ids[rel.RelatedSpdxElement] {
			t.Errorf("relationship to %s, which is not in the bill", rel.RelatedSpdxElement)
		}
	}
	if !strings.Contains(string(body), "proxy.golang.org/github.com/!some/thing/@v/v1.0.0.zip") {
		t.Error("a capital in a module's path is not written as the module proxy asks")
	}
}

func TestVersionsAndTags(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("git was not found")
	}
	dir := t.TempDir()
	t.Chdir(dir)
	git := func(args ...string) {
		t.Helper()
		cmd := exec.Command("git", append([]string{"-c", "user.name=t", "-c", "user.email=t@example.org", "-c", "commit.gpgsign=false"}, args...)...)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("git %v: %v\n%s", args, err, out)
		}
	}
	git("init", "-q")
	git("commit", "-q", "--allow-empty", "-m", "one")
	git("tag", "v0.1.0")
	git("commit", "-q", "--allow-empty", "-m", "two")
	settle := func(version, only string) error {
		r := release{log: io.Discard}
		return r.settle(context.Background(), version, only)
	}
	for _, c := range []struct{ version, only, fault string }{
		{"v1.0.0", "", ""},
		{"v1.0.0-rc.1", "linux/amd64, windows/arm64", ""},
		{"", "", "no version was given"},
		{"1.0", "", "is no version"},
		{"v1.0.0; rm", "", "is no version"},
		{"v0.1.0", "", "stands at commit"},
		{"v1.0.0", "plan9/386", "is not one of"},
	} {
		err := settle(c.version, c.only)
		if (err == nil) != (c.fault == "") || err != nil && !strings.Contains(err.Error(), c.fault) {
			t.Errorf("version %q only %q: %v, want %q", c.version, c.only, err, c.fault)
		}
	}
	git("tag", "v2.0.0")
	if err := settle("", ""); err != nil {
		t.Errorf("a tagged commit: %v", err)
	}
}
