package typeset_test

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/parse"
	"counterpoise/mechanics/expr/typeset"
)

// Common practice, no source: how textbooks of mechanics print these.
func TestWritten(t *testing.T) {
	for _, tt := range []struct{ read, text, tex string }{
		{"m*g*l*(1-cos(θ))", "m g l (1 - cos(θ))", `m g l (1 - \cos\theta)`},
		{"1/2*m*l^2*θ'^2", "m l² θ'²/2", `\frac{1}{2} m l^{2} \dot{\theta}^{2}`},
		{"2*pi*sqrt(l/g)", "2 π √(l/g)", `2 \pi \sqrt{\frac{l}{g}}`},
		{"sqrt(k/m)/(2*pi)", "√(k/m)/(2 π)", `\frac{\sqrt{\frac{k}{m}}}{2 \pi}`},
		{"(a+b)/2", "(a + b)/2", `\frac{a + b}{2}`},
		{"b-a", "b - a", "b - a"},
		{"-a-b", "-a - b", "-a - b"},
		{"-(a+b)", "-(a + b)", "-(a + b)"},
		{"x^(2/3)", "x^(2/3)", `x^{\frac{2}{3}}`},
		{"sin(x)^2+cos(2*x)", "sin²(x) + cos(2 x)", `\sin^{2} x + \cos(2 x)`},
		{"exp(-b*t)", "exp(-b t)", `e^{-b t}`},
		{"9.81*m", "9.81 m", "9.81 m"},
		{"m_1*theta_1''", "m_1 θ_1''", `m_{1} \ddot{\theta}_{1}`},
		{"I_cm", "I_cm", `I_{\mathrm{cm}}`},
		{"heron.cg.y", "heron.cg.y", `\mathrm{heron.cg.y}`},
		{"abs(a-b)", "|a - b|", `\left|a - b\right|`},
		{"2^x*3^y", "2^x·3^y", `2^{x} \cdot 3^{y}`},
		{"asin(h/l)", "asin(h/l)", `\arcsin\left(\frac{h}{l}\right)`},
		{"1/(a*b)", "1/(a b)", `\frac{1}{a b}`},
		{"x^-2", "1/x²", `\frac{1}{x^{2}}`},
		{"(2*m*h+M*h/2)/(2*m+M)", "(M h/2 + 2 m h)/(M + 2 m)", `\frac{\frac{1}{2} M h + 2 m h}{M + 2 m}`},
	} {
		e, err := parse.Parse(tt.read, parse.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got := typeset.Text(e); got != tt.text {
			t.Errorf("%s: text %s, want %s", tt.read, got, tt.text)
		}
		if got := typeset.TeX(e); got != tt.tex {
			t.Errorf("%s: TeX %s, want %s", tt.read, got, tt.tex)
		}
		for _, written := range []string{typeset.Text(e), typeset.TeX(e)} {
			again, err := parse.Parse(written, parse.Options{Symbols: e.Symbols()})
			if err != nil || !again.Equal(e) {
				t.Errorf("%s: written %s, read back as %v (%v)", tt.read, written, again, err)
			}
		}
		wellFormed(t, typeset.MathML(e))
	}
}

// wellFormed checks that text is one XML element.
func wellFormed(t *testing.T, text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
	}
}

func TestStatement(t *testing.T) {
	T, x := expr.Sym("T"), expr.Sym("x")
	sides, relations := []expr.Expr{T, x.Times(x), x}, []string{"=", "≈"}
	if got, want := typeset.TextOf(sides, relations), "T = x² ≈ x"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if got, want := typeset.TeXOf(sides, relations), `T = x^{2} \approx x`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	wellFormed(t, typeset.MathMLOf(sides, relations))
}
