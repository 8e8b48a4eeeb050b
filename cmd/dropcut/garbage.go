package main

import (
	"runtime"
	"runtime/debug"
)

// garbageFloor is how much garbage may gather, in bytes, however little is in use.
// A book of 25 tanks has some 5 MB in use, and collecting whenever a part of that
// has gathered took more time than the book itself.
const garbageFloor = 32 << 20

// keepFloor keeps that floor until it is released. It does so by asking for memory
// that is never touched, which the system therefore does not give; the collector
// counts it as in use, and waits the longer.
func keepFloor() (release func()) {
	percent := debug.SetGCPercent(-1)
	debug.SetGCPercent(percent)
	if percent <= 0 {
		return func() {}
	}
	floor := make([]byte, garbageFloor/percent*100)
	return func() { runtime.KeepAlive(floor) }
}
