//go:build !unix

package intake

import "time"

var began = time.Now()

// cpu gives the clock on the wall, where no other is known.
func cpu() time.Duration { return time.Since(began) }
