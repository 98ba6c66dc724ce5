package measure

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"counterpoise/testdata"
)

// A certified set of NIST's Statistical Reference Datasets.
type certified struct {
	y      []float64
	x      [][]float64 // predictors, row by row
	start  [2][]float64
	value  []float64
	spread []float64 // standard deviations of the parameters
	sum    float64   // residual sum of squares
}

// load reads a nonlinear set: certified values from line 41, data from line 61.
func load(t *testing.T, name string) certified {
	t.Helper()
	var c certified
	s := bufio.NewScanner(bytes.NewReader(testdata.Read(t, "strd", name+".dat")))
	for line := 1; s.Scan(); line++ {
		text := strings.TrimSpace(s.Text())
		fields := strings.Fields(text)
		switch {
		case line > 60 && len(fields) > 1:
			c.y = append(c.y, number(t, fields[0]))
			var row []float64
			for _, f := range fields[1:] {
				row = append(row, number(t, f))
			}
			c.x = append(c.x, row)
		case line > 40 && len(fields) == 6 && fields[1] == "=":
			c.start[0] = append(c.start[0], number(t, fields[2]))
			c.start[1] = append(c.start[1], number(t, fields[3]))
			c.value = append(c.value, number(t, fields[4]))
			c.spread = append(c.spread, number(t, fields[5]))
		case strings.HasPrefix(text, "Residual Sum of Squares:"):
			c.sum = number(t, fields[4])
		}
	}
	if len(c.value) == 0 || len(c.y) < 6 || c.sum == 0 {
		t.Fatalf("%s: %d values, %d readings", name, len(c.value), len(c.y))
	}
	return c
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// The models as the files print them.
var models = map[string]func(x []float64, b []float64) float64{
	"Misra1a": func(x, b []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x[0])) },
	"DanWood": func(x, b []float64) float64 { return b[0] * math.Pow(x[0], b[1]) },
	"ENSO": func(x, b []float64) float64 {
		w := 2 * math.Pi * x[0]
		return b[0] + b[1]*math.Cos(w/12) + b[2]*math.Sin(w/12) + b[4]*math.Cos(w/b[3]) + b[5]*math.Sin(w/b[3]) + b[7]*math.Cos(w/b[6]) + b[8]*math.Sin(w/b[6])
	},
	"Lanczos3": func(x, b []float64) float64 {
		return b[0]*math.Exp(-b[1]*x[0]) + b[2]*math.Exp(-b[3]*x[0]) + b[4]*math.Exp(-b[5]*x[0])
	},
	"Gauss1": func(x, b []float64) float64 {
		g := func(m, s float64) float64 { return math.Exp(-(x[0] - m) * (x[0] - m) / (s * s)) }
		return b[0]*math.Exp(-b[1]*x[0]) + b[2]*g(b[3], b[4]) + b[5]*g(b[6], b[7])
	},
	"Rat43": func(x, b []float64) float64 { return b[0] / math.Pow(1+math.Exp(b[1]-b[2]*x[0]), 1/b[3]) },
	"Thurber": func(x, b []float64) float64 {
		v := x[0]
		return (b[0] + v*(b[1]+v*(b[2]+v*b[3]))) / (1 + v*(b[4]+v*(b[5]+v*b[6])))
	},
	"BoxBOD": func(x, b []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x[0])) },
	"MGH17":  func(x, b []float64) float64 { return b[0] + b[1]*math.Exp(-x[0]*b[3]) + b[2]*math.Exp(-x[0]*b[4]) },
	"Kirby2": func(x, b []float64) float64 {
		v := x[0]
		return (b[0] + v*(b[1]+v*b[2])) / (1 + v*(b[3]+v*b[4]))
	},
	"Nelson": func(x, b []float64) float64 { return b[0] - b[1]*x[0]*math.Exp(-b[2]*x[1]) }, // of log y
}

// NIST StRD, nonlinear regression: certified to eleven figures. From both starts
// the parameters agree to eight figures or more, their standard deviations to
// five, the residual sum of squares to nine.
func TestCertifiedCurves(t *testing.T) {
	for name, model := range models {
		c := load(t, name)
		if name == "Nelson" {
			for i := range c.y {
				c.y[i] = math.Log(c.y[i])
			}
		}
		for k, start := range c.start {
			t.Run(fmt.Sprintf("%s from start %d", name, k+1), func(t *testing.T) {
				f, err := Search(func(dst, p []float64) {
					for i := range dst {
						dst[i] = model(c.x[i], p)
					}
				}, c.y, start, nil)
				if err != nil {
					t.Fatalf("%v after %d steps: %v", err, f.Steps, f.Value)
				}
				for j := range c.value {
					if off := math.Abs(f.Value[j]/c.value[j] - 1); off > 1e-8 {
						t.Errorf("b%d = %.11g, certified %.11g, off by %.1g", j+1, f.Value[j], c.value[j], off)
					}
					if off := math.Abs(f.Uncertainty[j]/c.spread[j] - 1); off > 1e-5 {
						t.Errorf("b%d ± %.11g, certified %.11g", j+1, f.Uncertainty[j], c.spread[j])
					}
				}
				if off := math.Abs(f.SumOfSquares()/c.sum - 1); off > 1e-9 {
					t.Errorf("sum of squares %.11g, certified %.11g", f.SumOfSquares(), c.sum)
				}
				t.Logf("%d steps", f.Steps)
			})
		}
	}
}

// NIST StRD, linear regression: the printed fifteen figures to twelve.
func TestCertifiedLines(t *testing.T) {
	columns := func(name string) (x, y []float64) {
		s := bufio.NewScanner(bytes.NewReader(testdata.Read(t, "strd", name+".dat")))
		for line := 1; s.Scan(); line++ {
			if fields := strings.Fields(s.Text()); line > 60 && len(fields) == 2 {
				y, x = append(y, number(t, fields[0])), append(x, number(t, fields[1]))
			}
		}
		return x, y
	}
	for _, tt := range []struct {
		name    string
		fit     func(x, y []float64) (Fit, error)
		value   []float64
		spread  []float64
		scatter float64
	}{
		{"Norris", Line, []float64{-0.262323073774029, 1.00211681802045}, []float64{0.232818234301152, 0.429796848199937e-03}, 0.884796396144373},
		{"NoInt1", Proportional, []float64{2.07438016528926}, []float64{0.165289256198347e-01}, 3.56753034006338},
		{"Pontius", func(x, y []float64) (Fit, error) { return Polynomial(x, y, 2) },
			[]float64{0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14},
			[]float64{0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16}, 0.205177424076185e-03},
	} {
		x, y := columns(tt.name)
		f, err := tt.fit(x, y)
		if err != nil {
			t.Fatal(err)
		}
		for j := range tt.value {
			if off := math.Abs(f.Value[j]/tt.value[j] - 1); off > 1e-12 {
				t.Errorf("%s: %s = %.15g, certified %.15g, off by %.1g", tt.name, f.Names[j], f.Value[j], tt.value[j], off)
			}
			if off := math.Abs(f.Uncertainty[j]/tt.spread[j] - 1); off > 1e-11 {
				t.Errorf("%s: %s ± %.15g, certified %.15g", tt.name, f.Names[j], f.Uncertainty[j], tt.spread[j])
			}
		}
		if off := math.Abs(f.Scatter/tt.scatter - 1); off > 1e-11 {
			t.Errorf("%s: scatter %.15g, certified %.15g", tt.name, f.Scatter, tt.scatter)
		}
	}
}
