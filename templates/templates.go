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

// FS holds the rules table and the demonstration's tables.
//
//go:embed rules.csv demo
var FS embed.FS
