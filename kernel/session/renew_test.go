package session

import (
	"fmt"
	"runtime"
	"testing"
)

// A session that begins a new program with every cell works as before.
func TestProgramsAfterRenewal(t *testing.T) {
	list := readPrograms(t)
	want := outputs(t, list)
	for i, p := range list {
		nb := open(t)
		got := ""
		for _, cell := range p.cells {
			nb.built = cellsPerProgram
			r, out := nb.run(cell)
			got += out.String()
			if r.Fault != nil {
				t.Errorf("%s: fault %s in\n%s", p.name, r.Fault.Value, cell)
			}
		}
		if got != want[i] {
			t.Errorf("%s: got\n%s\nwant\n%s", p.name, got, want[i])
		}
	}
}

// A long session keeps what it can reach and nothing else.
func TestLongSession(t *testing.T) {
	nb := open(t)
	nb.plain("import \"fmt\"\ntype Keep struct{ n int }\nfunc (k Keep) String() string { return fmt.Sprint(\"keep \", k.n) }\nkept := Keep{1}\nfunc add[T int | float64](a, b T) T { return a + b }")
	heap := func() int {
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int(m.HeapAlloc)
	}
	round := func(i int) {
		for _, tt := range []struct{ cell, want string }{
			{fmt.Sprintf("x := %d\nfunc f(n int) int { return n + x }\nf(1)", i), fmt.Sprintf("= %d", i+1)},
			{"kept", "= keep 1"},
			{"fmt.Sprint(kept, add(1, 2), add(1.5, 2))", "= \"keep 1 3 3.5\""},
			{"for i := range 3 { func() { defer func() { recover() }(); panic(i) }() }", ""},
			{"nothing + 1", "fault: TypeError: undefined: nothing"},
			{"var s []int\ns[3] = 1", "fault: RuntimeError: runtime error: index out of range [3] with length 0"},
		} {
			if got := nb.plain(tt.cell); got != tt.want {
				t.Fatalf("round %d: %s\n got %q\nwant %q", i, tt.cell, got, tt.want)
			}
		}
	}
	i := 0
	for ; i < 100; i++ {
		round(i)
	}
	before := heap()
	rounds := 500
	if testing.Short() {
		rounds = 150
	}
	for ; i < rounds; i++ {
		round(i)
	}
	if after := heap(); after > before+before/10+(1<<20) {
		t.Errorf("the heap grew from %d to %d KiB", before>>10, after>>10)
	}
}
