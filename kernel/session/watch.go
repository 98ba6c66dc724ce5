package session

import (
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"time"
)

// watchEvery is how often the heap is looked at while a cell runs: a cell
// allocates some 100 MiB in that time at most.
const watchEvery = 10 * time.Millisecond

// watch stops the execution if the heap grows beyond the session's limit. What
// it returns ends the watch.
func (e *execution) watch() (end func()) {
	done := make(chan struct{})
	go func() {
		sample := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
		t := time.NewTicker(watchEvery)
		defer t.Stop()
		for {
			select {
			case <-done:
				return
			case <-t.C:
			}
			metrics.Read(sample)
			if sample[0].Value.Uint64() < e.session.limit {
				continue
			}
			// Much of it may be garbage that nobody has collected yet; what
			// pools hold is let go by the second collection.
			runtime.GC()
			debug.FreeOSMemory()
			metrics.Read(sample)
			if sample[0].Value.Uint64() < e.session.limit {
				continue
			}
			e.mu.Lock()
			e.hog = true
			e.mu.Unlock()
			e.run.Stop()
			return
		}
	}()
	return func() { close(done) }
}
