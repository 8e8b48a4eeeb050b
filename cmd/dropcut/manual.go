package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"
)

// writeManual writes the manual page, in the macros of man(7), from the
// definitions of the commands, so that it says what --help says.
func writeManual(app *cli.App, out io.Writer) error {
	m := manual{out: out}
	m.linef(".TH DROPCUT 1 \"\" \"dropcut %s\" \"User commands\"", app.Version)
	m.section("NAME")
	m.text("dropcut - " + app.Usage)
	m.section("SYNOPSIS")
	m.text("dropcut COMMAND [options] FILE...")
	m.linef(".br")
	m.text("dropcut BOOK")
	m.section("DESCRIPTION")
	m.text("BOOK is an .xlsx or .xlsm, a .csv, or a folder of .csv. Options stand before files. A book named without a command is planned.")
	m.section("COMMANDS")
	for _, cmd := range app.VisibleCommands() {
		m.linef(".SS %s", roff(cmd.Name+" "+optionsWord(cmd)+cmd.ArgsUsage))
		m.text(capital(cmd.Usage) + ".")
		m.described(cmd.Description)
		for _, f := range cmd.VisibleFlags() {
			names, about, _ := strings.Cut(f.String(), "\t")
			m.linef(".TP")
			m.text(strings.TrimSpace(names))
			m.text(strings.TrimSpace(about))
		}
	}
	for _, part := range []string{exitStatuses, "CAUTION\n" + cautions} {
		title, rest, _ := strings.Cut(part, "\n")
		m.section(title)
		m.shown(rest)
	}
	return m.err
}

func optionsWord(cmd *cli.Command) string {
	if len(cmd.VisibleFlags()) == 0 {
		return ""
	}
	return "[options] "
}

// manual writes the page and keeps the first error.
type manual struct {
	out io.Writer
	err error
}

func (m *manual) linef(format string, args ...any) {
	if m.err == nil {
		_, m.err = fmt.Fprintf(m.out, format+"\n", args...)
	}
}

func (m *manual) section(title string) { m.linef(".SH %s", roff(title)) }

func (m *manual) text(s string) { m.linef("%s", roff(s)) }

// shown writes lines that keep their breaks.
func (m *manual) shown(lines string) {
	m.linef(".PP\n.nf")
	for line := range strings.SplitSeq(strings.Trim(lines, "\n"), "\n") {
		m.text(line)
	}
	m.linef(".fi")
}

// described writes a command's description: paragraphs, and below a line in
// capitals examples that keep their breaks.
func (m *manual) described(text string) {
	for part := range strings.SplitSeq(text, "\n\n") {
		title, rest, more := strings.Cut(part, "\n")
		if more && title == strings.ToUpper(title) {
			m.linef(".PP\n%s", roff(capital(strings.ToLower(title))+":"))
			m.shown(rest)
			continue
		}
		m.linef(".PP\n%s", roff(strings.ReplaceAll(part, "\n", " ")))
	}
}

// roff escapes text, so that no line of it is taken for a request.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(s)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	return s
}
