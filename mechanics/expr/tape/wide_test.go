package tape

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Wide arithmetic gives the bits of the plain loops. Where the compiler fuses
// multiplications and additions of the plain loops (GOAMD64=v3) the last bits
// differ, and the test allows for that.
func TestWideArithmeticAgrees(t *testing.T) {
	if runWide == nil {
		t.Skip("built without GOEXPERIMENT=simd, or the processor has no AVX2")
	}
	r := rand.New(rand.NewPCG(5, 5))
	fresh := func() []float64 {
		x := make([]float64, lanes)
		for j := range x {
			x[j] = 20 * (r.Float64() - 0.3)
		}
		x[3], x[17], x[30] = math.Pi/2, 1e9, 1e-9
		return x
	}
	for op := iAdd; op <= iOutput; op++ {
		in := instruction{op: op, d: 0, a: 1, b: 2, c: 3, e: 4}
		narrow, wide := &BatchScratch{}, &BatchScratch{}
		for range 5 {
			x := fresh()
			narrow.register = append(narrow.register, append([]float64(nil), x...))
			wide.register = append(wide.register, append([]float64(nil), x...))
		}
		reg := wide.register
		if !runWide(op, reg[0], reg[1], reg[2], reg[3], reg[4]) {
			continue
		}
		saved := runWide
		runWide = nil
		runBatch([]instruction{in}, narrow, lanes)
		runWide = saved
		for k := range reg {
			for j := range reg[k] {
				x, y := reg[k][j], narrow.register[k][j]
				if x != y && !(x != x && y != y) && math.Abs(x-y) > 4e-16*math.Max(math.Abs(x), 1000) {
					t.Errorf("instruction %d, register %d, lane %d: wide %v, plain %v", op, k, j, x, y)
				}
			}
		}
	}
}
