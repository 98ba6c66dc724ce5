package worker

import (
	"runtime/debug"
	"runtime/metrics"
)

// tidyAbove is the memory in bytes above which the worker gives back what a
// cell no longer needs before the next one begins: the front ends a worker by
// what it holds, and a deep recursion leaves large stacks behind.
const tidyAbove = 256 << 20

// A tidier gives memory back to the system between cells.
type tidier struct {
	samples []metrics.Sample
	after   uint64 // what was held after the last time
}

func newTidier() *tidier {
	return &tidier{samples: []metrics.Sample{
		{Name: "/memory/classes/total:bytes"},
		{Name: "/memory/classes/heap/released:bytes"},
	}}
}

func (t *tidier) held() uint64 {
	metrics.Read(t.samples)
	return t.samples[0].Value.Uint64() - t.samples[1].Value.Uint64()
}

// tidy gives memory back if there is much and it has grown by a quarter since
// the last time: a large state that stays is not looked through at every cell.
func (t *tidier) tidy() {
	if held := t.held(); held > tidyAbove && held > t.after+t.after/4 {
		debug.FreeOSMemory()
		t.after = t.held()
	}
}
