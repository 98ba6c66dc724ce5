package testdata

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// Published returns the path of a file below testdata/published, from any
// package's test.
func Published(t testing.TB, elements ...string) string {
	t.Helper()
	_, here, _, ok := runtime.Caller(0)
	if !ok {
		t.Fatal("the place of the test data is not known")
	}
	path := filepath.Join(append([]string{filepath.Dir(here), "published"}, elements...)...)
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
	return path
}

// Read returns a file below testdata/published.
func Read(t testing.TB, elements ...string) []byte {
	t.Helper()
	data, err := os.ReadFile(Published(t, elements...))
	if err != nil {
		t.Fatal(err)
	}
	return data
}
