package derivation

// A work counts what the judging of one derivation costs, so that it ends
// whatever is typed. It counts nodes gone through and numbers computed rather
// than time, so that the same text gets the same judgement on any machine.
type work struct{ left int }

// maxWork is what one derivation may cost. Those of twelve lines in testdata
// need up to half of it, most of them a twentieth; all of it takes some 60 ms.
const maxWork = 3_000_000

// spend takes n off what is left. It reports whether there is still some.
func (w *work) spend(n int) bool {
	if w.left > 0 {
		w.left -= n
	}
	return w.left > 0
}

func (w *work) out() bool { return w.left <= 0 }
