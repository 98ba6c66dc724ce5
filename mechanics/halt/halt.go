// Package halt is the process-wide stop flag of long computations.
//
// Cells rarely pass a context, yet an interrupt must stop what they started.
// So every long loop of the library (package motion, the maps of package
// chaos) looks at this flag between two steps and gives up with an error as
// soon as it is raised. The notebook's kernel raises it on an interrupt and
// lowers it before the next cell; a program of one's own may do the same from
// a signal handler. Nothing here knows of notebooks.
package halt

import (
	"errors"
	"sync/atomic"
)

// ErrHalted is returned by computations that stopped because of [Request].
var ErrHalted = errors.New("stopped on request: run it again to get the whole result")

var raised atomic.Bool

// Request asks every running computation of the process to stop soon. The
// flag stays up until [Clear].
func Request() { raised.Store(true) }

// Clear lowers the flag, so that new computations run.
func Clear() { raised.Store(false) }

// Now reports whether a stop was requested. It costs one atomic load and may
// be called from any goroutine, also inside hot loops.
func Now() bool { return raised.Load() }

// Err returns [ErrHalted] while a stop is requested, nil otherwise.
func Err() error {
	if Now() {
		return ErrHalted
	}
	return nil
}
