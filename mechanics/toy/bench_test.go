package toy_test

import (
	"testing"

	"counterpoise/mechanics/quantity"
	"counterpoise/mechanics/toy"
)

const benchmarked = `
parts:
  - {shape: rod, from: [0 mm, 0 mm, 0 mm], to: [b, -h, 0 mm], diameter: 2.5 mm, mass: M/2}
  - {shape: rod, from: [0 mm, 0 mm, 0 mm], to: [-b, -h, 0 mm], diameter: 2.5 mm, mass: M/2}
  - {shape: sphere, at: [b, -h, 0 mm], mass: m, diameter: 16 mm}
  - {shape: sphere, at: [-b, -h, 0 mm], mass: m, diameter: 16 mm}
stand: {kind: point, at: [0 mm, 0 mm, 0 mm]}
`

func benchmarkParams() toy.Params {
	return toy.Params{
		"m": quantity.MustParse("18 g"), "M": quantity.MustParse("21 g"), "h": quantity.MustParse("62 mm"), "b": quantity.MustParse("90 mm"),
	}
}

func BenchmarkRead(b *testing.B) {
	params := benchmarkParams()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := toy.Read([]byte(benchmarked), params); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBuild(b *testing.B) {
	d, err := toy.Describe([]byte(benchmarked))
	if err != nil {
		b.Fatal(err)
	}
	params := benchmarkParams()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.Build(params); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkValues(b *testing.B) {
	read, err := toy.Read([]byte(benchmarked), benchmarkParams())
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		read.Values()
	}
}
