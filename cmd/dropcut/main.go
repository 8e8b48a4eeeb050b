// Command dropcut plans the cuts of drop tubes for overfill shutoff devices from
// the workbooks that contractors keep. See README.md.
package main

import (
	"context"
	"os"
	"runtime/debug"
)

// garbagePercent is how much garbage may gather before it is collected, in percent
// of what is in use. Little of what is read is thrown away, so that a quarter of
// Go's usual 100 costs no time that can be measured (4,000,000 chart rows), and
// takes a third less memory.
const garbagePercent = 25

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbagePercent)
	}
	os.Exit(run(context.Background(), os.Args, os.Stdin, os.Stdout, os.Stderr))
}
