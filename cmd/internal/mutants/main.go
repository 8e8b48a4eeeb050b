// Command mutants changes the code of a package in one place at a time and tells
// which changes no test of the package notices:
//
//	go run ./cmd/internal/mutants plan/device plan/rule
//
// All changes are built into one test program, each behind a number, and the
// program is run once a change: a package is compiled once and not a thousand
// times, so that all of plan is gone through in minutes. What is changed is listed
// in rewrite.go.
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
