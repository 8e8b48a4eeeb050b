package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/urfave/cli/v2"

	"dropcut/cmd/internal/console"
	"dropcut/convert/safefile"
)

// version is stamped by the release build; a build from source says what Go
// knows of it.
var version = ""

// world is what a command may ask of the outside: where to print and what time
// it is. Tests give their own.
type world struct {
	in io.Reader
	// out and err are for people: what would move a terminal's cursor is taken
	// out of what is written. data is for other programs and holds what stood in
	// the book; screen is for the moving line of progress, which moves the cursor.
	out, err, data, screen io.Writer
	now                    func() time.Time
}

// run is the whole program but for the exit.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	// The first interrupt lets the book in hand be finished; the second one is
	// no longer caught and ends the program, which never leaves a file half
	// written.
	context.AfterFunc(ctx, stop)
	out, errs := console.NewWriter(stdout), console.NewWriter(stderr)
	w := &world{in: stdin, out: out, err: errs, data: stdout, screen: stderr, now: time.Now}
	app := newApp(w)
	err := app.RunContext(ctx, planWhenDropped(app, args))
	err = cmp.Or(err, out.Flush())
	status := exitStatus(err, errs)
	_ = errs.Flush() // there is nowhere left to say that it failed
	return status
}

func newApp(w *world) *cli.App {
	app := &cli.App{
		Name:                      "dropcut",
		Usage:                     "plans the cuts of drop tubes for overfill shutoff devices, from the books you keep",
		Version:                   versionText(),
		Reader:                    w.in,
		Writer:                    w.out,
		ErrWriter:                 w.err,
		Commands:                  commands(w),
		DisableSliceFlagSeparator: true,
		EnableBashCompletion:      true,
		HideHelpCommand:           true,
		CustomAppHelpTemplate:     appHelp,
		// The one switch over errors is exitStatus; the library must not exit.
		ExitErrHandler: func(*cli.Context, error) {},
		OnUsageError:   onUsageError,
		Action: func(c *cli.Context) error {
			if name := c.Args().First(); name != "" {
				return unknownCommand(c.App, name)
			}
			return cli.ShowAppHelp(c)
		},
	}
	for _, cmd := range app.Commands {
		cmd.OnUsageError = onUsageError
		cmd.HideHelpCommand = true
		cmd.CustomHelpTemplate = helpOf(cmd.Name)
		for _, f := range cmd.Flags {
			if sw, ok := f.(*cli.BoolFlag); ok {
				// A switch that is not given is off; nobody needs to be told.
				sw.DisableDefaultText = true
			}
		}
	}
	return app
}

// commands lists the commands in the order in which help shows them.
func commands(w *world) []*cli.Command {
	return []*cli.Command{
		demoCommand(w),
		inspectCommand(w),
		auditCommand(w),
		planCommand(w),
		explainCommand(w),
		jobsCommand(w),
		collectCommand(w),
		diffCommand(w),
		convertCommand(w),
		runCommand(w),
		templateCommand(w),
		docsCommand(w),
		completionCommand(w),
	}
}

// planWhenDropped lets a book be named without a command, so that a file can
// be dropped on the program: it is then planned.
func planWhenDropped(app *cli.App, args []string) []string {
	if len(args) > 1 && args[1] == "help" {
		// "help plan" is "plan --help".
		return append(slices.Clone(args[:1]), append(slices.Clone(args[2:]), "--help")...)
	}
	if len(args) < 2 || strings.HasPrefix(args[1], "-") || app.Command(args[1]) != nil {
		return args
	}
	_, err := os.Stat(args[1])
	if err != nil && !slices.Contains(bookEndings, strings.ToLower(filepath.Ext(args[1]))) {
		return args
	}
	return slices.Insert(slices.Clone(args), 1, "plan")
}

func unknownCommand(app *cli.App, name string) error {
	var names []string
	for _, cmd := range app.Commands {
		names = append(names, cmd.Name)
	}
	hint := "the commands are " + strings.Join(names, ", ")
	if near := cli.SuggestCommand(app.Commands, name); near != "" {
		// The library begins a sentence; ours goes on.
		hint = strings.ToLower(near[:1]) + near[1:] + " " + hint
	}
	return usagef("%q is neither a command nor a file that exists; %s", name, hint)
}

// onUsageError answers a flag that the command does not know, or a flag's value
// that cannot be read.
func onUsageError(c *cli.Context, err error, _ bool) error {
	text := err.Error()
	if rest, ok := strings.CutPrefix(text, "invalid value "); ok {
		if value, rest, ok := strings.Cut(rest, " for flag -"); ok {
			if name, why, ok := strings.Cut(rest, ": "); ok {
				text = "--" + name + " " + value + ": " + why
				if strings.HasPrefix(why, value+" ") {
					text = "--" + name + " " + why
				}
			}
		}
	}
	if name, ok := strings.CutPrefix(text, "flag provided but not defined: -"); ok {
		text = "there is no option -" + name
		if !strings.HasPrefix(name, "-") && len(name) > 1 {
			text = "there is no option --" + name
		}
	}
	if c.Command != nil && c.Command.Name != "" && c.Command.Name != c.App.Name {
		return usagef("%s; dropcut %s --help lists the options", text, c.Command.Name)
	}
	return usagef("%s; options stand behind the command, as in dropcut plan --limit 95%% BOOK.xlsx", text)
}

// versionText gives the stamped version, else what the build knows of itself.
func versionText() string {
	if version != "" {
		return version
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "unreleased"
}

// books checks the file arguments of a command: at least one, at most a number
// of them (0 for any), and no option behind them, which the library would
// swallow in silence.
func books(c *cli.Context, least, most int) ([]string, error) {
	args := c.Args().Slice()
	for i, arg := range args {
		if strings.HasPrefix(arg, "-") && arg != "-" {
			return nil, usagef("%s stands behind a file; options come first: %s", arg, putRight(c, args, i))
		}
	}
	switch {
	case len(args) < least:
		return nil, usagef("dropcut %s needs %s; dropcut %[1]s --help shows how", c.Command.Name, c.Command.ArgsUsage)
	case most > 0 && len(args) > most:
		return nil, usagef("dropcut %s takes %s; %q is one too many", c.Command.Name, c.Command.ArgsUsage, args[most])
	}
	return args, nil
}

// putRight gives the command line as it should have been typed: the options of
// args, with their values, before the files.
func putRight(c *cli.Context, args []string, from int) string {
	files, opts := slices.Clone(args[:from]), []string{}
	for i := from; i < len(args); i++ {
		arg := args[i]
		if !strings.HasPrefix(arg, "-") || arg == "-" {
			files = append(files, arg)
			continue
		}
		opts = append(opts, arg)
		if takesValue(c.Command, arg) && i+1 < len(args) {
			i++
			opts = append(opts, args[i])
		}
	}
	line := append([]string{"dropcut", c.Command.Name}, slices.Concat(given(c), opts, files)...)
	for i, word := range line {
		if strings.ContainsAny(word, " '\"&();<>|$`\\*?") {
			line[i] = "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
		}
	}
	return strings.Join(line, " ")
}

// given lists the options that were understood, as they were typed.
func given(c *cli.Context) []string {
	var list []string
	for _, f := range c.Command.Flags {
		name := f.Names()[0]
		if !c.IsSet(name) {
			continue
		}
		switch f := f.(type) {
		case *cli.BoolFlag:
			list = append(list, "--"+name)
		case *cli.StringSliceFlag:
			for _, v := range c.StringSlice(name) {
				list = append(list, "--"+name, v)
			}
		case *cli.GenericFlag:
			list = append(list, "--"+name, fmt.Sprint(c.Generic(name)))
		default:
			_ = f
			list = append(list, "--"+name, fmt.Sprint(c.Value(name)))
		}
	}
	return list
}

func takesValue(cmd *cli.Command, arg string) bool {
	name := strings.TrimLeft(arg, "-")
	if strings.Contains(name, "=") {
		return false
	}
	for _, f := range cmd.Flags {
		if slices.Contains(f.Names(), name) {
			_, is := f.(*cli.BoolFlag)
			return !is
		}
	}
	return false
}

// usageError is wrong use: exit status 2.
type usageError struct{ text string }

func (e usageError) Error() string { return e.text }

func usagef(format string, args ...any) error { return usageError{fmt.Sprintf(format, args...)} }

// errStops says that all was done and that at least one tank has a stop.
var errStops = errors.New("at least one tank has a stop")

// The exit statuses; help lists them.
const (
	statusDone    = 0
	statusFailed  = 1
	statusUsage   = 2
	statusStops   = 3
	statusStopped = 130
)

// exitStatus is the one place where an error becomes a status and is printed.
func exitStatus(err error, stderr io.Writer) int {
	var usage usageError
	switch {
	case err == nil:
		return statusDone
	case errors.Is(err, errStops):
		return statusStops
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "dropcut: stopped; what was finished stays")
		return statusStopped
	case errors.As(err, &usage):
		fmt.Fprintln(stderr, "dropcut:", console.Short(err.Error()))
		return statusUsage
	}
	for line := range strings.SplitSeq(safefile.Words(err), "\n") {
		fmt.Fprintln(stderr, "dropcut:", console.Short(line))
	}
	return statusFailed
}
