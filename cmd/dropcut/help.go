package main

import "strings"

// The words of help. Every command shows its examples and the exit statuses.

const (
	exitStatuses = `EXIT STATUS
   0    done
   1    could not be done; the reason is on standard error
   2    wrong use
` + stopStatus + `   130  stopped by the user; what was finished stays
`
	stopStatus = "   3    done, and at least one tank has a stop (do not cut from its row)\n"
)

const cautions = `These are calculations from the data given. The authority having jurisdiction, the device maker's
instructions and licensed practice decide. Fuel vapor burns; entering a tank needs a permit. Measure
again before cutting, and check the level again after installing.`

const appHelp = `{{.Name}} {{.Version}}: {{.Usage}}

USAGE
   dropcut COMMAND [options] FILE...
   dropcut BOOK              plans the book, so that a file can be dropped on the program

COMMANDS{{range .VisibleCommands}}
   {{printf "%-11s" .Name}} {{.Usage}}{{end}}

   dropcut COMMAND --help explains a command and shows an example.
   BOOK is an .xlsx or .xlsm, a .csv, or a folder of .csv. Options stand before files.

OPTIONS
   --help, -h     this text
   --version, -v  the version

` + exitStatuses + `
CAUTION
` + cautions + "\n"

const commandHelp = `dropcut {{.Name}}: {{.Usage}}

USAGE
   dropcut {{.Name}}{{if .VisibleFlags}} [options]{{end}} {{.ArgsUsage}}

{{.Description}}
{{if .VisibleFlags}}
OPTIONS{{range .VisibleFlags}}
   {{.}}{{end}}
{{end}}
` + exitStatuses

// helpOf is the help of a command; one that is not asked whether tanks may be cut
// does not end with the status of a stop.
func helpOf(command string) string {
	switch command {
	case "demo", "inspect", "diff", "template", "docs", "completion":
		return strings.Replace(commandHelp, stopStatus, "", 1)
	}
	return commandHelp
}
