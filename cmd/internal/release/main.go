// Command release builds what is handed out: the program for every system, twice
// over and compared, in archives with the licences of all that is built in, the
// manual page, the completions of shells, a bill of materials and checksums.
//
//	go run ./cmd/internal/release v1.2.3
package main

import (
	"context"
	"os"
	"os/signal"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	status := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}
