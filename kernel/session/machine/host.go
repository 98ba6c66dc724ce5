package machine

import (
	"errors"
	"runtime"
	"time"
	"unsafe"
)

// Supported returns an error on a processor for which there are no stubs.
func Supported() error {
	if runtime.GOARCH != "amd64" && runtime.GOARCH != "arm64" {
		return errors.New("cells run on amd64 and arm64 processors only")
	}
	return nil
}

// Sleep is time.Sleep that ends when the calling run is stopped.
func Sleep(d time.Duration) {
	run := Current()
	if run == nil || d <= 0 {
		time.Sleep(d)
		return
	}
	t := time.NewTimer(d)
	select {
	case <-t.C:
	case <-run.done:
		t.Stop()
		panic(interrupted{})
	}
}

// Interrupt ends the calling run's computation as an interrupt does.
func Interrupt() { panic(interrupted{}) }

// Within calls f, which may call back into interpreted code, for run.
func Within(run *Run, f func()) {
	old := profLabel()
	setProfLabel(unsafe.Pointer(&thread{run: run, g: getg()}))
	defer setProfLabel(old)
	f()
}
