package session

import (
	"strings"
	"testing"
)

// Each cell is wrong where ¦ stands (which is taken out), and the message must
// contain what is beside it. The places are those of the Go compiler, "go vet"
// on the same lines in a file; nothing of such a cell may run.
var faulty = []struct{ cell, want string }{
	{"¦noSuch + 1", "undefined: noSuch"},
	{"x := 1\ny := 2\nz := x + ¦yy", "undefined: yy"},
	{"import \"fmt\"\nfmt.¦Printline(1)", "undefined: fmt.Printline"},
	{"¦math.Sqrt(2)", "undefined: math (import \"math\" first)"},
	{"var n int = ¦\"text\"", "cannot use \"text\""},
	{"¦1 + \"a\"", "mismatched types"},
	{"x := 1\n¦x + \"a\" + x", "mismatched types"},
	{"func f(a int) {}\nf(1, ¦2)", "too many arguments"},
	{"func f(a, b int) {}\nf(1¦)", "not enough arguments"},
	{"func f() int {\n\tif true {\n\t\treturn 1\n\t}\n¦}", "missing return"},
	{"func f() {\n\t¦unused := 1\n}", "declared and not used: unused"},
	{"if true {\n\t¦q := 2\n}", "declared and not used: q"},
	{"type P struct{ X int }\np := P{1}\np.¦Y", "p.Y undefined"},
	{"type P struct{ X int }\nP{¦Z: 1}", "unknown field Z"},
	{"type P struct{ X int }\nP{1, ¦2}", "too many values"},
	{"for i := range 3 {\n\ti.¦foo()\n}", "i.foo undefined"},
	{"var s []int\ns.¦append(1)", "s.append undefined"},
	{"a, b := ¦1", "assignment mismatch"},
	{"func two() (int, int) { return 1, 2 }\nx := ¦two()", "assignment mismatch"},
	{"return ¦1", "too many return values"},
	{"¦break", "break not in for"},
	{"¦continue", "continue not in for"},
	{"goto ¦nowhere", "nowhere"},
	{"for {\n\tbreak ¦out\n}", "out"},
	{"import ¦\"no/such/package\"", "could not import no/such/package"},
	{"import ¦\"os/exec\"", "cells cannot start programs"},
	{"import ¦\"net/http\"", "network"},
	{"import ¦\"unsafe\"", "memory"},
	{"import ¦\"gonum.org/v1/gonum/matt\"", "did you mean \"gonum.org/v1/gonum/mat\""},
	{"import ¦\"stringz\"", "did you mean \"strings\""},
	{"type I interface{ M() }\ntype T struct{}\nvar i I = ¦T{}", "missing method M"},
	{"var f func(int) = ¦func(s string) {}", "cannot use (func"},
	{"x := 5\n¦x()", "cannot call"},
	{"¦5()", "cannot call"},
	{"s := \"a\"\n¦s[0] = 'b'", "cannot assign to s[0]"},
	{"const c = 1\n¦c = 2", "cannot assign to c"},
	{"var u uint8 = ¦300", "overflows"},
	{"x := 10 / ¦0", "division by zero"},
	{"a := [3]int{}\na[¦5]", "out of bounds"},
	{"var p *int\np.¦x", "p.x undefined"},
	{"if ¦1 {\n}", "non-boolean condition"},
	{"for ¦\"x\" {\n}", "non-boolean condition"},
	{"x := 1\nx ¦:= 2", "no new variables on left side of :="},
	{"switch 1 {\ncase 1:\ncase ¦1:\n}", "duplicate case 1"},
	{"m := map[string]int{\"a\": 1, ¦\"a\": 2}", "duplicate key"},
	{"func f() {}\nfunc ¦f() {}", "f redeclared"},
	{"type T int\ntype ¦T string", "T redeclared"},
	{"func f[T any](x T) T { return x }\nvar s string = ¦f(1)", "cannot use f(1)"},
	{"func f[T int | string](x T) {}\n¦f(2.5)", "float64 does not satisfy int | string"},
	{"var ch <-chan int\n¦ch <- 1", "receive-only"},
	{"import \"fmt\"\nfmt.Println(¦undefinedThing, 2)", "undefined: undefinedThing"},
	{"defer recover¦", "must be function call"},
	{"x := 3\n¦x.(int)", "x"},
	{"var e error\n_ = ¦e.(int)", "impossible type assertion"},
	{"x := ¦nil", "use of untyped nil"},
	{"¦y = 3", "undefined: y"},
	{"y := ¦y + 1", "undefined: y"},
	{"import \"fmt\"\nfmt.Println(¦later)\nlater := 1", "undefined: later"},
	{"x := ¦)", "expected operand"},
	{"var ¦= 7q", "expected"},
	{"func ¦3() {}", "expected"},
	{"if x := 1; x > 0 ¦\n{\n}", "expected"},
	{"a := []int{1, 2¦\n}", "missing ','"},
	{"s := ¦\"not closed", "not terminated"},
	{"x := ¦'ab'", ""},
	{"é := \"ü\"; ¦å + 1", "undefined: å"},
	{"\n\n\t  ¦nope()", "undefined: nope"},
	{"x := []int{1,\n\t2,\n\t¦\"three\",\n}", "cannot use \"three\""},
	{"type T struct {\n\tA ¦nothing\n}", "undefined: nothing"},
	{"func (t ¦Nowhere) M() {}", "undefined: Nowhere"},
	{"import \"fmt\"\nfor i := range 2 {\n\tfmt.Println(¦j)\n}", "undefined: j"},
	{"import \"fmt\"\nfmt.Printf(¦3)", "cannot use 3"},
	{"var a [2]int = ¦[3]int{}", "cannot use [3]int{}"},
	{"len(¦5)", "invalid argument"},
	{"append(¦1, 2)", "invalid append"},
	{"x, y := 1, 2\nx, y = ¦y", "assignment mismatch"},
	{"type S struct{}\nS{}.¦Missing()", "S{}.Missing undefined"},
}

func TestFaultyCells(t *testing.T) {
	right := 0
	for _, tt := range faulty {
		before, after, _ := strings.Cut(tt.cell, "¦")
		line := strings.Count(before, "\n") + 1
		col := len(before) - strings.LastIndex(before, "\n")
		nb := open(t)
		r, out := nb.run(before + after)
		if r.Fault == nil {
			t.Errorf("%q: no fault", tt.cell)
			continue
		}
		if r.Fault.Line != line || r.Fault.Col != col || !strings.Contains(r.Fault.Value, tt.want) {
			t.Errorf("%q:\n got %d:%d %s\nwant %d:%d %s", tt.cell, r.Fault.Line, r.Fault.Col, r.Fault.Value, line, col, tt.want)
			continue
		}
		if out.String() != "" {
			t.Errorf("%q printed %q", tt.cell, out)
		}
		right++
	}
	t.Logf("%d of %d faulty cells told with the right line and column", right, len(faulty))
}
