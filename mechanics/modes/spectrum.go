package modes

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/dsp/fourier"
)

// A Window weighs the samples of a record before its spectrum is taken, so
// that its ends do not show as lines that are not there. All are sums of
// cosines, periodic over the record.
//
// Source of the coefficients: F. J. Harris, On the use of windows for harmonic
// analysis with the discrete Fourier transform, Proc. IEEE 66 (1978) 51-83.
type Window int

const (
	// Hann is the usual choice: highest sidelobe -31 dB.
	Hann Window = iota
	// Rectangular weighs all samples alike: sharpest lines, but -13 dB sidelobes.
	Rectangular
	// Hamming has -43 dB sidelobes that do not fall off.
	Hamming
	// Blackman has -58 dB sidelobes.
	Blackman
	// BlackmanHarris has four terms and -92 dB sidelobes: for a weak line beside
	// a strong one.
	BlackmanHarris
)

var windowTerms = map[Window][]float64{
	Rectangular:    {1},
	Hann:           {0.5, 0.5},
	Hamming:        {0.54, 0.46},
	Blackman:       {0.42, 0.5, 0.08},
	BlackmanHarris: {0.35875, 0.48829, 0.14128, 0.01168},
}

var windowNames = map[Window]string{Rectangular: "rectangular", Hann: "Hann", Hamming: "Hamming", Blackman: "Blackman", BlackmanHarris: "4-term Blackman-Harris"}

func (w Window) String() string {
	if name, ok := windowNames[w]; ok {
		return name
	}
	return fmt.Sprintf("no window (%d)", int(w))
}

// terms returns the window's cosines; for a number that is no window NaN, so that
// what is computed with it is NaN.
func (w Window) terms() []float64 {
	if t, ok := windowTerms[w]; ok {
		return t
	}
	return []float64{math.NaN()}
}

// At returns the weight at the part x of the record, 0 <= x < 1.
func (w Window) At(x float64) float64 {
	sum, sign := 0.0, 1.0
	for k, a := range w.terms() {
		sum += sign * a * math.Cos(2*math.Pi*float64(k)*x)
		sign = -sign
	}
	return sum
}

// NoiseBandwidth returns the equivalent noise bandwidth in lines.
func (w Window) NoiseBandwidth() float64 {
	terms := w.terms()
	sum := terms[0] * terms[0]
	for _, a := range terms[1:] {
		sum += a * a / 2
	}
	return sum / (terms[0] * terms[0])
}

// Loss returns by how many dB a line midway between two lines of the spectrum
// shows too low.
func (w Window) Loss() float64 { return -20 * math.Log10(w.kernel(0.5)) }

// Sidelobe returns the height in dB (negative) of the highest lobe beside the
// main one.
func (w Window) Sidelobe() float64 {
	// the main lobe ends at the number of terms; lobes fall or ripple after it
	highest := 0.0
	for x := float64(len(w.terms())); x < 60; x += 0.001 {
		highest = math.Max(highest, w.kernel(x))
	}
	return 20 * math.Log10(highest)
}

// kernel returns |W(x)|/W(0), the height of a line x lines away from its place,
// in the limit of a long record.
func (w Window) kernel(x float64) float64 {
	terms := w.terms()
	sinc := func(x float64) float64 {
		if x == 0 {
			return 1
		}
		return math.Sin(math.Pi*x) / (math.Pi * x)
	}
	// A cosine of k periods shifts the sinc by ±k; its sign in At and the sign
	// of the shifted sinc cancel.
	sum := terms[0] * sinc(x)
	for k, a := range terms {
		if k > 0 {
			sum += a / 2 * (sinc(x-float64(k)) + sinc(x+float64(k)))
		}
	}
	return math.Abs(sum) / terms[0]
}

// A Spectrum is the amplitudes of the sines that make up a record.
type Spectrum struct {
	Window    Window
	Spacing   float64   // Hz, between two lines: 1/(N Δt)
	Frequency []float64 // Hz, of the lines, 0 to half the sampling rate
	Amplitude []float64 // of a sine at a line, in the unit of the samples
}

// MaxSamples bounds a record: a million samples take a tenth of a second.
const MaxSamples = 1 << 22

// SpectrumOf returns the spectrum of samples taken every dt seconds. The mean
// is taken off first.
func SpectrumOf(samples []float64, dt float64, w Window) (*Spectrum, error) {
	n := len(samples)
	switch {
	case n < 8:
		return nil, fmt.Errorf("modes: %d samples: a spectrum needs at least 8", n)
	case n > MaxSamples:
		return nil, fmt.Errorf("modes: %d samples: take at most %d, or every second one", n, MaxSamples)
	case !(dt > 0) || math.IsInf(dt, 1):
		return nil, fmt.Errorf("modes: a sampling interval of %g s: give a positive time", dt)
	case windowTerms[w] == nil:
		return nil, fmt.Errorf("modes: there is no window %d: use Hann or another of the named ones", int(w))
	}
	mean := 0.0
	for i, v := range samples {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("modes: sample %d is %g: %w", i, v, ErrNotFinite)
		}
		mean += v / float64(n)
	}
	weighted := make([]float64, n)
	for i, v := range samples {
		weighted[i] = (v - mean) * w.At(float64(i)/float64(n))
	}
	lines := fourier.NewFFT(n).Coefficients(nil, weighted)
	s := &Spectrum{Window: w, Spacing: 1 / (float64(n) * dt)}
	gain := w.terms()[0] * float64(n) / 2
	for k, c := range lines {
		amplitude := abs(c) / gain
		if k == 0 || 2*k == n {
			amplitude /= 2
		}
		s.Frequency = append(s.Frequency, float64(k)*s.Spacing)
		s.Amplitude = append(s.Amplitude, amplitude)
	}
	return s, nil
}

// A Peak is a line found between the lines of a spectrum.
type Peak struct {
	Frequency float64 // Hz
	Amplitude float64 // in the unit of the samples
}

// Peaks returns the peaks that are at least the given part of the highest one,
// highest first. Place and height are those of a single sine that would show
// as the peak's two highest lines do: exact for a sine alone, and off by what
// its neighbours leak where lines are closer than twice the noise bandwidth.
func (s *Spectrum) Peaks(part float64) []Peak {
	var peaks []Peak
	highest := 0.0
	for _, a := range s.Amplitude {
		highest = math.Max(highest, a)
	}
	a := s.Amplitude
	for k := 1; k+1 < len(a); k++ {
		if a[k] <= a[k-1] || a[k] < a[k+1] || a[k] < part*highest || a[k] == 0 {
			continue
		}
		side, other := 1.0, a[k+1]
		if a[k-1] > a[k+1] {
			side, other = -1, a[k-1]
		}
		x := s.Window.offset(other / a[k])
		peaks = append(peaks, Peak{Frequency: (float64(k) + side*x) * s.Spacing, Amplitude: a[k] / s.Window.kernel(x)})
	}
	sort.SliceStable(peaks, func(i, j int) bool { return peaks[i].Amplitude > peaks[j].Amplitude })
	return peaks
}

// offset returns how far from a line, towards its higher neighbour, a sine lies
// for which neighbour and line have the given ratio.
func (w Window) offset(ratio float64) float64 {
	low, high := 0.0, 0.5
	for range 60 {
		x := (low + high) / 2
		if w.kernel(1-x)/w.kernel(x) < ratio {
			low = x
		} else {
			high = x
		}
	}
	return (low + high) / 2
}

// Resolution returns how far apart in Hz two lines of like height must be to
// show as two: 1/T for the rectangular window, 2/T for Hann's, where T is the
// length of the record in s.
//
// Common practice, no source: half the width of the main lobe.
func (s *Spectrum) Resolution() float64 { return float64(len(s.Window.terms())) * s.Spacing }
