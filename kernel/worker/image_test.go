package worker

import "testing"

// What was released comes back when it is used.
func TestReleaseImage(t *testing.T) {
	for range 3 {
		ReleaseImage()
		if got := recursive(20); got != 6765 { // the twentieth Fibonacci number
			t.Fatal(got)
		}
	}
}

func recursive(n int) int {
	if n < 2 {
		return n
	}
	return recursive(n-1) + recursive(n-2)
}
