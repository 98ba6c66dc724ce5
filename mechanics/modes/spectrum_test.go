package modes_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/floats"

	"counterpoise/mechanics/modes"
	"counterpoise/mechanics/motion"
	"counterpoise/testdata"
)

// Figures of merit of windows.
//
// Source: Harris, Proc. IEEE 66 (1978) 51, table 1 (from memory, recomputed):
// equivalent noise bandwidth in lines, loss midway in dB, highest sidelobe in
// dB. The sidelobes of the table are rounded to 1 dB.
func TestWindowsOfHarris(t *testing.T) {
	for _, tt := range []struct {
		w               modes.Window
		bandwidth, loss string
		sidelobe        float64
	}{
		{modes.Rectangular, "1.00", "3.92", -13.3}, {modes.Hann, "1.50", "1.42", -31.5}, {modes.Hamming, "1.36", "1.75", -42.7},
		{modes.Blackman, "1.73", "1.10", -58.1}, {modes.BlackmanHarris, "2.00", "0.83", -92.0},
	} {
		if got := strconv.FormatFloat(tt.w.NoiseBandwidth(), 'f', 2, 64); got != tt.bandwidth {
			t.Errorf("%v: noise bandwidth %s, printed %s", tt.w, got, tt.bandwidth)
		}
		if got := strconv.FormatFloat(tt.w.Loss(), 'f', 2, 64); got != tt.loss {
			t.Errorf("%v: loss %s dB, printed %s", tt.w, got, tt.loss)
		}
		if got := tt.w.Sidelobe(); math.Abs(got-tt.sidelobe) > 0.1 {
			t.Errorf("%v: sidelobe %.2f dB, printed %.1f", tt.w, got, tt.sidelobe)
		}
	}
}

// A sine between two lines is found where it is, with every window.
func TestPeakBetweenLines(t *testing.T) {
	const n, dt = 1024, 0.01
	for _, w := range []modes.Window{modes.Rectangular, modes.Hann, modes.Hamming, modes.Blackman, modes.BlackmanHarris} {
		for _, line := range []float64{100, 100.1, 100.37, 100.5, 100.93} {
			f := line / (n * dt)
			samples := make([]float64, n)
			for i := range samples {
				samples[i] = 3 + 0.25*math.Cos(2*math.Pi*f*float64(i)*dt+0.4)
			}
			s, err := modes.SpectrumOf(samples, dt, w)
			if err != nil {
				t.Fatal(err)
			}
			p := s.Peaks(0.5)
			good := 1e-4 // of a line: the sine's mirror image leaks in
			if w == modes.Rectangular || w == modes.Hamming {
				good = 3e-3
			}
			if len(p) == 0 || math.Abs(p[0].Frequency-f) > good*s.Spacing || math.Abs(p[0].Amplitude-0.25) > 0.25*5*good {
				t.Errorf("%v: line %g found at %v, want %g Hz and 0.25", w, line, p, f)
			}
		}
	}
}

// Two lines as near as coupled pendulums have them are told apart by a record
// longer than 1/Δf (rectangular) or 2/Δf (Hann): 23.3 and 46.6 s here.
//
// Common practice, no source; the pair is that of TestBeats.
func TestRecordLengthTellsTwoLines(t *testing.T) {
	m := pair(t)
	r, err := m.Response([]float64{0.01, 0}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		w      modes.Window
		length float64 // s
		lines  int
	}{{modes.Hann, 12, 1}, {modes.Hann, 70, 2}, {modes.Rectangular, 10, 1}, {modes.Rectangular, 60, 2}} {
		const dt = 0.05
		var x []float64
		for at := 0.0; at < tt.length; at += dt {
			y, _ := r.At(at)
			x = append(x, y[0])
		}
		s, err := modes.SpectrumOf(x, dt, tt.w)
		if err != nil {
			t.Fatal(err)
		}
		if p := s.Peaks(0.4); len(p) != tt.lines {
			t.Errorf("%v over %g s (resolution %.3f Hz): lines %v, want %d", tt.w, tt.length, s.Resolution(), p, tt.lines)
		}
	}
}

// The energy of a spring pendulum at 2:1 goes from bouncing to swinging and
// back: the swing's energy crests at 12.56 and 37.91 s (2 s moving mean).
//
// Source: computed with SciPy's DOP853 at 1e-11 for m = 1 kg, L = 1 m,
// unstretched 0.75 m, g = π², k = 4π², released at rest 0.04 m aside and 0.08 m
// above rest.
func TestEnergyPassesFromBounceToSwing(t *testing.T) {
	const g, k, rest = math.Pi * math.Pi, 4 * math.Pi * math.Pi, 0.75
	s := motion.Newton(2, func(dst []float64, _ float64, q []float64) {
		r := math.Hypot(q[0], q[1])
		f := -k * (1 - rest/r)
		dst[0], dst[1] = f*q[0], f*q[1]-g
	})
	run, err := motion.Solve(s, []float64{0.04, -0.92, 0, 0}, 0, 60, motion.Options{Accuracy: 1e-8})
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[float64][4]float64{ // same source
		5:  {-0.056736593, -0.925456114, -0.140070183, 0.034279183},
		10: {0.100037400, -0.958593969, 0.325980595, 0.060021682},
	} {
		y, err := run.At(at)
		if err != nil {
			t.Fatal(err)
		}
		for i := range want {
			if math.Abs(y[i]-want[i]) > 1e-8 {
				t.Errorf("at %g s component %d is %.9f, want %.9f", at, i, y[i], want[i])
			}
		}
	}
	times, states, err := run.Sample(6001)
	if err != nil {
		t.Fatal(err)
	}
	widest := 0.0
	swing := make([]float64, len(states))
	for i, y := range states {
		swing[i] = (y[2]*y[2] + g*y[0]*y[0]) / 2
		widest = math.Max(widest, math.Abs(y[0]))
	}
	if math.Abs(widest-0.162846) > 1e-5 { // same source; the samples are 0.01 s apart
		t.Errorf("widest swing %.6f m, want 0.162846", widest)
	}
	mean, err := modes.MovingMean(times, swing, 2)
	if err != nil {
		t.Fatal(err)
	}
	crests := modes.Crests(times, mean, 8)
	if len(crests) != 2 || math.Abs(crests[0]-12.56) > 0.1 || math.Abs(crests[1]-37.91) > 0.1 {
		t.Errorf("the swing's energy crests at %v s, want 12.56 and 37.91", crests)
	}
}

// The exchange between bounce and swing of a spring pendulum at 2:1 takes the longer
// the smaller the push: the times between upward crossings of the middle of the swing's
// energy, which is averaged over one swing.
//
// Source: testdata/published/reference-values, spring_pendulum_exchange_period
// (computed; the averaged equations beside it give 0.3 to 0.5 % less).
func TestTimesOfExchange(t *testing.T) {
	var file struct {
		Exchange struct {
			Cases []struct{ X0, Z0, Mean float64 }
		} `json:"spring_pendulum_exchange_period"`
	}
	if err := json.Unmarshal(testdata.Read(t, "reference-values", "reference_values.json"), &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Exchange.Cases) != 3 {
		t.Fatalf("%d cases", len(file.Exchange.Cases))
	}
	const g, k, rest, end = 9.81, 39.24, 0.75, 398.0
	s := motion.Newton(2, func(dst []float64, _ float64, q []float64) {
		f := -k * (1 - rest/math.Hypot(q[0], q[1]))
		dst[0], dst[1] = f*q[0], f*q[1]-g
	})
	window := 2 * math.Pi / math.Sqrt(g)
	for _, tt := range file.Exchange.Cases {
		run, err := motion.Solve(s, []float64{tt.X0, -1 - tt.Z0, 0, 0}, 0, end+window/2, motion.Options{Accuracy: 1e-9})
		if err != nil {
			t.Fatal(err)
		}
		times, states, err := run.Sample(100_001)
		if err != nil {
			t.Fatal(err)
		}
		swing := make([]float64, len(states))
		for i, y := range states {
			swing[i] = (y[2]*y[2] + g*y[0]*y[0]) / 2
		}
		mean, err := modes.MovingMean(times, swing, window)
		if err != nil {
			t.Fatal(err)
		}
		for len(times) > 0 && times[0] < window/2 { // where the span is cut
			times, mean = times[1:], mean[1:]
		}
		middle := (floats.Min(mean) + floats.Max(mean)) / 2
		var up []float64
		for i := 1; i < len(times) && times[i] <= end; i++ {
			if mean[i-1] < middle && mean[i] >= middle {
				up = append(up, times[i-1]+(middle-mean[i-1])/(mean[i]-mean[i-1])*(times[i]-times[i-1]))
			}
		}
		if len(up) < 3 {
			t.Fatalf("%d crossings", len(up))
		}
		if got := (up[len(up)-1] - up[0]) / float64(len(up)-1); math.Abs(got/tt.Mean-1) > 2e-6 {
			t.Errorf("released at %g m, %g m: %.6f s from crossing to crossing, want %.6f s", tt.X0, tt.Z0, got, tt.Mean)
		}
	}
}

func ExampleSpectrumOf() {
	// a reed that swings at 3.7 Hz, filmed at 120 pictures a second for 4 s
	var angle []float64
	for i := range 480 {
		angle = append(angle, 0.2*math.Sin(2*math.Pi*3.7*float64(i)/120))
	}
	s, err := modes.SpectrumOf(angle, 1.0/120, modes.Hann)
	if err != nil {
		fmt.Println(err)
		return
	}
	p := s.Peaks(0.1)[0]
	fmt.Printf("%.3f Hz, %.3f rad (lines are %.2f Hz apart)\n", p.Frequency, p.Amplitude, s.Spacing)
	// Output: 3.700 Hz, 0.200 rad (lines are 0.25 Hz apart)
}
