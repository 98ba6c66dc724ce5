package worker

import (
	"bytes"
	_ "embed"
	"os"
	"testing"
)

//go:embed worker_test.go
var thisFile []byte

// What was released comes back when it is used.
func TestReleaseImage(t *testing.T) {
	for range 3 {
		ReleaseImage(thisFile, nil, thisFile[:1])
		if got := recursive(20); got != 6765 { // the twentieth Fibonacci number
			t.Fatal(got)
		}
	}
}

func TestReleasedFileIsWhole(t *testing.T) {
	ReleaseImage(thisFile)
	want, err := os.ReadFile("worker_test.go")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(thisFile, want) {
		t.Error("an embedded file has changed")
	}
}

func recursive(n int) int {
	if n < 2 {
		return n
	}
	return recursive(n-1) + recursive(n-2)
}
