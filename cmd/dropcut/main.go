// Command dropcut plans the cuts of drop tubes for overfill shutoff devices from
// the workbooks that contractors keep. See README.md.
package main

import (
	"context"
	"os"
)

func main() { os.Exit(run(context.Background(), os.Args, os.Stdin, os.Stdout, os.Stderr)) }
