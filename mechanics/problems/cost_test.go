package problems_test

import (
	"testing"

	"counterpoise/mechanics/problems"
)

// One evaluation of the rates of each problem.
func BenchmarkRates(b *testing.B) {
	for _, p := range problems.All() {
		b.Run(p.Name, func(b *testing.B) {
			program, err := p.Program()
			if err != nil {
				b.Fatal(err)
			}
			in, d, s := append(append([]float64(nil), p.Start...), 0), make([]float64, program.Outputs()), program.NewScratch()
			for i := range p.State {
				in[i] += 0.01 * float64(i+1)
			}
			b.ReportAllocs()
			b.ReportMetric(float64(program.Instructions()), "instructions")
			for b.Loop() {
				program.Eval(d, in, s)
			}
		})
	}
}
