package halt_test

import (
	"errors"
	"fmt"
	"testing"

	"counterpoise/mechanics/halt"
)

func TestFlagStaysUpUntilCleared(t *testing.T) {
	defer halt.Clear()
	if halt.Now() || halt.Err() != nil {
		t.Fatal("a stop is requested before anybody asked")
	}
	halt.Request()
	for range 2 {
		if !halt.Now() || !errors.Is(halt.Err(), halt.ErrHalted) {
			t.Fatal("the request is not seen")
		}
	}
	halt.Clear()
	if halt.Now() || halt.Err() != nil {
		t.Fatal("the request outlives Clear")
	}
}

func Example() {
	halt.Request() // as an interrupt would, from another goroutine
	defer halt.Clear()
	steps := 0
	for steps < 1_000_000 && !halt.Now() {
		steps++
	}
	fmt.Println(steps, "steps:", halt.Err())
	// Output: 0 steps: stopped on request: run it again to get the whole result
}
