// Package templates holds the data that is built into the program. It imports
// nothing of the house; whoever reads it takes the FS.
package templates

import "embed"

// RulesFile is the name of the rules table in FS.
const RulesFile = "rules.csv"

// FS holds the rules table.
//
//go:embed rules.csv
var FS embed.FS
