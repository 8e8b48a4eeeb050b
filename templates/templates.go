// Package templates holds the data that is built into the program. It imports
// nothing of the house; whoever reads it takes the FS.
package templates

import "embed"

// RulesFile is the name of the rules table in FS.
const RulesFile = "rules.csv"

// DemoDir is the folder of the demonstration's tables in FS: the tanks, devices
// and rules of an invented contractor, and the dimensions that his charts are
// computed from.
const DemoDir = "demo"

// JobTexts is the file with the texts of the job workbooks' pages in FS.
const JobTexts = "jobs/pages.txt"

// PageDir is the folder of the auditors' page in FS: its markup, looks and script.
const PageDir = "page"

// DocsDir is the folder of the documents' pages in FS; the pictures beside them
// are for readers of the source and stay out of the program.
const DocsDir = "docs"

// FS holds the rules table, the demonstration's tables and the texts of pages.
//
//go:embed rules.csv demo jobs page docs/*.md
var FS embed.FS
