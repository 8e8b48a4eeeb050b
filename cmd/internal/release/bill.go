package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"runtime"
	"strings"
	"time"
)

// The bill of materials follows SPDX 2.3 (ISO/IEC 5962 in its first form): one
// document a release, one package for the program, one for each module that is
// built in and one for Go's standard library. It holds no time but the commit's.

type billDoc struct {
	Version   string       `json:"spdxVersion"`
	Data      string       `json:"dataLicense"`
	ID        string       `json:"SPDXID"`
	Name      string       `json:"name"`
	Namespace string       `json:"documentNamespace"`
	Creation  billCreation `json:"creationInfo"`
	Packages  []billPart   `json:"packages"`
	Files     []billFile   `json:"files"`
	Relations []billArrow  `json:"relationships"`
}

type billCreation struct {
	Created  string   `json:"created"`
	Creators []string `json:"creators"`
}

type billPart struct {
	Name      string    `json:"name"`
	ID        string    `json:"SPDXID"`
	Version   string    `json:"versionInfo"`
	From      string    `json:"downloadLocation"`
	Analyzed  bool      `json:"filesAnalyzed"`
	Concluded string    `json:"licenseConcluded"`
	Declared  string    `json:"licenseDeclared"`
	Copyright string    `json:"copyrightText"`
	Comment   string    `json:"comment,omitempty"`
	Refs      []billRef `json:"externalRefs,omitempty"`
}

type billRef struct {
	Category string `json:"referenceCategory"`
	Type     string `json:"referenceType"`
	Locator  string `json:"referenceLocator"`
}

type billFile struct {
	Name      string    `json:"fileName"`
	ID        string    `json:"SPDXID"`
	Sums      []billSum `json:"checksums"`
	Concluded string    `json:"licenseConcluded"`
	Copyright string    `json:"copyrightText"`
}

type billSum struct {
	Algorithm string `json:"algorithm"`
	Value     string `json:"checksumValue"`
}

type billArrow struct {
	From string `json:"spdxElementId"`
	Kind string `json:"relationshipType"`
	To   string `json:"relatedSpdxElement"`
}

const (
	billRoot    = "SPDXRef-DOCUMENT"
	billProgram = "SPDXRef-Package-dropcut"
	noAssertion = "NOASSERTION"
)

var notBillID = regexp.MustCompile(`[^A-Za-z0-9.-]+`)

func billID(kind, name string) string {
	return "SPDXRef-" + kind + "-" + strings.Trim(notBillID.ReplaceAllString(name, "-"), "-")
}

// bill writes the bill of materials of the programs. The modules' licences must
// have been read before.
func (r *release) bill(builds []build, modules []module) ([]byte, error) {
	var all strings.Builder
	for _, b := range builds {
		all.WriteString(b.sum)
	}
	doc := billDoc{
		Version: "SPDX-2.3", Data: "CC0-1.0", ID: billRoot, Name: "dropcut-" + r.version,
		// A namespace must be one of a kind; it need not be found on a network.
		Namespace: "https://spdx.org/spdxdocs/dropcut-" + r.version + "-" + digest([]byte(all.String()))[:32],
		Creation:  billCreation{Created: r.day.Format(time.RFC3339), Creators: []string{"Tool: dropcut-release"}},
		Packages: []billPart{{
			Name: "dropcut", ID: billProgram, Version: r.version, From: noAssertion, Concluded: "MIT", Declared: "MIT",
			Copyright: "Copyright (c) 2026 The dropcut authors", Comment: "built from commit " + r.commit + " by " + runtime.Version(),
		}},
		Relations: []billArrow{{billRoot, "DESCRIBES", billProgram}},
	}
	parts := append([]module{{path: "std", version: strings.TrimPrefix(runtime.Version(), "go"), licence: "BSD-3-Clause"}}, modules...)
	for _, m := range parts {
		part := billPart{
			Name: m.path, ID: billID("Module", m.path), Version: m.version, From: "https://proxy.golang.org/" + escaped(m.path) + "/@v/" + escaped(m.version) + ".zip",
			Concluded: m.licence, Declared: m.licence, Copyright: noAssertion,
			Refs: []billRef{{"PACKAGE-MANAGER", "purl", "pkg:golang/" + m.path + "@" + m.version}},
		}
		if m.path == "std" {
			part.From = "https://go.dev/dl/"
		}
		if m.sum != "" {
			part.Comment = "go.sum: " + m.sum
		}
		doc.Packages = append(doc.Packages, part)
		doc.Relations = append(doc.Relations, billArrow{billProgram, "STATIC_LINK", part.ID})
	}
	for _, b := range builds {
		name := "./" + b.target.shown() + "-" + b.target.processor + "/" + b.target.program()
		file := billFile{
			Name: name, ID: billID("File", name), Concluded: "MIT", Copyright: noAssertion,
			// SPDX demands SHA1 for files; SHA256 is the one to check by.
			Sums: []billSum{{"SHA1", b.sha1}, {"SHA256", b.sum}},
		}
		doc.Files = append(doc.Files, file)
		doc.Relations = append(doc.Relations, billArrow{billProgram, "GENERATES", file.ID})
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(doc); err != nil {
		return nil, fmt.Errorf("bill of materials: %w", err)
	}
	return out.Bytes(), nil
}

// escaped writes a path as Go's module proxy does: a capital is an exclamation
// mark and the small letter (go.dev/ref/mod#goproxy-protocol).
func escaped(path string) string {
	var b strings.Builder
	for _, c := range path {
		if 'A' <= c && c <= 'Z' {
			b.WriteByte('!')
			c += 'a' - 'A'
		}
		b.WriteRune(c)
	}
	return b.String()
}
