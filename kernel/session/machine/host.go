package machine

import (
	"errors"
	"runtime"
	"time"
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
