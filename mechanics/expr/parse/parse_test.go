package parse

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// show writes a statement as the tree prints itself, with * between factors.
func show(s Statement) string {
	var b strings.Builder
	for i, e := range s.Sides {
		if i > 0 {
			b.WriteString(" " + s.Relations[i-1] + " ")
		}
		b.WriteString(e.String())
	}
	return b.String()
}

// Common practice, no source: what people mean by these lines.
func TestReadings(t *testing.T) {
	for _, tt := range []struct {
		symbols, time, text string
		want                []string
	}{
		// Division lines.
		{"m", "", "1/2m", []string{"m/2", "1/(2*m)"}},
		{"a b c", "", "a/bc", []string{"a/(b*c)", "a*c/b"}},
		{"a b c", "", "a/b c", []string{"a*c/b", "a/(b*c)"}},
		{"a b c", "", "a/(b c)", []string{"a/(b*c)"}},
		{"r", "", "4/3πr^3", []string{"4*π*r^3/3", "4/(3*π*r^3)"}},
		{"k m", "", "1/2π sqrt(k/m)", []string{"(k/m)^(1/2)/(2*π)", "π*(k/m)^(1/2)/2", "1/(2*π*(k/m)^(1/2))"}},
		{"x", "", "1/2 x", []string{"x/2", "1/(2*x)"}},
		{"x", "", "½x", []string{"x/2"}},
		{"x", "", `\frac12x`, []string{"x/2"}},
		{"a b c", "", `\dfrac{a}{b}c`, []string{"a*c/b"}},
		// Letters side by side.
		{"m g d", "", "mgd", []string{"d*g*m"}},
		{"m g d mgd", "", "mgd", []string{"mgd", "d*g*m"}},
		{"mgd", "", "mgd", []string{"mgd"}},
		{"", "", "mgd", []string{"mgd"}},
		{"", "", `\frac{mgd}{2}`, []string{"d*g*m/2"}},
		{"m_1 l_1 g", "", "m1gl1", []string{"g*l_1*m_1"}},
		{"m_1 l_1 g", "", "m₁gl₁", []string{"g*l_1*m_1"}},
		{"m_1 l_1 g", "", `m_1 g l_{1}`, []string{"g*l_1*m_1"}},
		{"I_cm m d", "", `I_{\mathrm{cm}}+md^2`, []string{"I_cm + d^2*m"}},
		{"I_c m d", "", "I_cm", []string{"I_c*m"}},
		{"", "", "heron.cg.y*2", []string{"2*heron.cg.y"}},
		{"I_c E_y I", "", "Ic + EyI", []string{"I_c + E_y*I"}},
		{"l g", "θ", "thetadot^2 + θ_dot + thetaddot", []string{"θ' + θ'^2 + θ''"}},
		{"l g", "", "2*Pi*sqrt(l/g)", []string{"2*π*(l/g)^(1/2)"}},
		{"V V_0", "", "V - V_0 - V0", []string{"V - 2*V_0"}},
		// Functions.
		{"a b t", "", "cos (a-b)t/2", []string{"t*cos(a - b)/2", "cos(t*(a - b))/2", "cos(t*(a - b)/2)"}},
		{"", "θ", "sin 2θ cos θ", []string{"sin(2*θ)*cos(θ)", "θ*sin(2)*cos(θ)", "θ*sin(π/90)*cos(θ)"}},
		{"a b", "", "sin a b", []string{"b*sin(a)", "sin(a*b)"}},
		{"a b", "", "sin ab", []string{"sin(a*b)", "b*sin(a)"}},
		{"w t", "", "cos w t", []string{"cos(t*w)", "t*cos(w)"}},
		{"a b", "", "sin(a)b", []string{"b*sin(a)"}},
		{"x", "", "sin x^2", []string{"sin(x^2)", "sin(x)^2"}},
		{"x", "", "sin^2 x", []string{"sin(x)^2"}},
		{"x", "", "sin²x", []string{"sin(x)^2"}},
		{"x", "", `\sin^{2}\left(x\right)`, []string{"sin(x)^2"}},
		{"x", "", "sin(x)^2", []string{"sin(x)^2"}},
		{"b h", "", "tan^-1(b/h)", []string{"atan(b/h)", "1/tan(b/h)"}},
		{"b h", "", `\tan^{-1}\frac{b}{h}`, []string{"atan(b/h)", "1/tan(b/h)"}},
		{"", "θ", "sin θ/2", []string{"sin(θ)/2", "sin(θ/2)"}},
		{"", "", "sin 30", []string{"sin(30)", "1/2"}},
		{"", "", "sin 30°", []string{"1/2"}},
		{"", "", `\sin 30^\circ+\cos 60^{\circ}`, []string{"1"}},
		{"x", "", "log x", []string{"log(x)", "log(x)/log(10)"}},
		{"x", "", "ln x", []string{"log(x)"}},
		{"x", "", "log10(x)", []string{"log(x)/log(10)"}},
		{"g l", "", "√g/l", []string{"g^(1/2)/l", "(g/l)^(1/2)"}},
		{"g h", "", "√2gh", []string{"(2*g*h)^(1/2)", "2^(1/2)*g*h", "h*(2*g)^(1/2)"}},
		{"g h", "", `\sqrt{2gh}`, []string{"(2*g*h)^(1/2)"}},
		{"x", "", `\sqrt[3]{x}`, []string{"x^(1/3)"}},
		{"a b", "", "atan2(a, b)+|a-b|+min(a,b)", []string{"atan2(a, b) + abs(a - b) + min(a, b)"}},
		{"a b", "", "2|a||b|", []string{"2*abs(a)*abs(b)"}},
		{"m g l", "θ", "mglsinθ", []string{"g*l*m*sin(θ)"}},
		// Exponents.
		{"x y", "", "x^2y", []string{"x^2*y", "x^(2*y)"}},
		{"x y", "", "x^{2}y", []string{"x^2*y"}},
		{"x", "", "x^1/2", []string{"x/2", "x^(1/2)"}},
		{"A b t", "", "A e^-bt", []string{"A*exp(-b*t)", "A*t*exp(-b)"}},
		{"A b t", "", "Ae^{-bt}", []string{"A*exp(-b*t)"}},
		{"x y", "", "pow(x, 2) pow(x+1, y)", []string{"x^2*(1 + x)^y"}},
		{"x", "", "-x^2", []string{"-x^2"}},
		{"x", "", "x**2 + x⁻²", []string{"1/x^2 + x^2"}},
		// Numbers.
		{"", "", "1.5e-3", []string{"3/2000"}},
		{"", "", "1.5×10⁻³", []string{"3/2000"}},
		{"", "", `1.5 \cdot 10^{-3}`, []string{"3/2000"}},
		{"e", "", "2e-3", []string{"1/500", "2*e - 3"}},
		// Derivatives along time.
		{"", "θ x", `θ' + θ̈ + ẋ + \ddot{x}`, []string{"x' + x'' + θ' + θ''"}},
		{"", "θ x", "dθ/dt + d²x/dt² + d^2θ/dt^2", []string{"x'' + θ' + θ''"}},
		{"", "θ x", `\frac{d\theta}{dt}+\frac{\mathrm{d}^2x}{\mathrm{d}t^2}`, []string{"x'' + θ'"}},
		{"", "θ_1", `\dot\theta_1^2+\dot{\theta_1}+\dot{\theta}_1 + θ'_1`, []string{"3*θ_1' + θ_1'^2"}},
		{"m l", "θ", `\frac{d}{dt}\left(ml^2\dot\theta\right)`, []string{"l^2*m*θ''"}},
		{"m g l", "θ", "∂/∂θ(m g l cos θ)", []string{"-g*l*m*sin(θ)"}},
		{"m l", "θ", `\frac{\partial}{\partial\dot\theta}\left(\tfrac12ml^2\dot\theta^2\right)`, []string{"l^2*m*θ'"}},
		// Statements.
		{"l g", "", "T = 2π√(l/g)", []string{"T = 2*π*(l/g)^(1/2)", "2*π*(l/g)^(1/2)"}},
		{"a b", "", "$a = b \\approx 2b$.", []string{"a = b ≈ 2*b"}},
		{"a b", "", "a < b ≤ 2a", []string{"a < b ≤ 2*a"}},
	} {
		got, err := Readings(tt.text, Options{Symbols: strings.Fields(tt.symbols), Time: strings.Fields(tt.time)})
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		var list []string
		for _, s := range got {
			list = append(list, show(s))
		}
		if diff := cmp.Diff(tt.want, list); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", tt.text, diff)
		}
	}
}

// Sums stand for three terms, in a derivation.
func TestSigma(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"Σ m_i x_i^2", "m_1*x_1^2 + m_2*x_2^2 + m_3*x_3^2"},
		{`\sum_{i=1}^{N} m_i (x_i + d)`, "m_1*(d + x_1) + m_2*(d + x_2) + m_3*(d + x_3)"},
		{"∑_i m_i + d Σ m_i x_i'", "m_1 + m_2 + m_3 + d*(m_1*x_1' + m_2*x_2' + m_3*x_3')"},
		{"(Σ m_i)/2", "(m_1 + m_2 + m_3)/2"},
	} {
		got, err := Parse(tt.text, Options{Symbols: []string{"m_i", "d"}, Time: []string{"x_i"}, Open: true})
		if err != nil || got.String() != tt.want {
			t.Errorf("%s: got %v (%v), want %s", tt.text, got, err, tt.want)
		}
	}
	if _, err := Parse("Σ d", Options{Symbols: []string{"d"}, Open: true}); err == nil {
		t.Error("a sum over nothing is read")
	}
	if _, err := Parse("Σ m_i", Options{Symbols: []string{"m_i"}}); err == nil {
		t.Error("a sum is read outside a derivation")
	}
}

func TestRefusals(t *testing.T) {
	for _, tt := range []struct{ symbols, text, want string }{
		{"m", "1,5 m", "column 2: a comma between digits: expected a decimal point: write 1.5"},
		{"m", "1{,}5 m", "column 2: a comma between digits: expected a decimal point: write 1.5"},
		{"x", "(((x)", "column 2: the bracket ( is not closed: close it with )"},
		{"a b", "a)b", "column 2: the bracket ) closes nothing"},
		{"a b", "a + * b", "column 5: two operators in a row: expected a number, a symbol or a bracket"},
		{"a b", `\frac{a}{b`, "column 9: this brace is not closed"},
		{"h", "H", "column 1: H is not a symbol here: expected a symbol of this question: did you mean h?"},
		{"h", "3 h kg", "column 5: kg is not a symbol here"},
		{"h", "9.81 m/s^2 h", "column 6: m looks like a unit"},
		{"x", "2x 3", "column 4: a number right after a factor"},
		{"x", "x2", "column 2: a number right after a symbol: expected an operator: write _2 for a subscript, ^2 for a power"},
		{"x", "9^9^9^9", "too large"},
		{"x", "pow(9, pow(9, 9))", "too large"},
		{"x", "x +", "column 4: the formula stops here: expected a number, a symbol or a bracket"},
		{"x", "", "column 1: nothing is written"},
		{"x", "()", "nothing stands in the brackets"},
		{"x", "x/0", "a division by zero"},
		{"x", "sin", "sin of nothing"},
		{"x", "x = ", "nothing stands after ="},
		{"x", "= x", "nothing stands before ="},
		{"x", "50 % x", "% is not read"},
		{"x", "x'", "x does not change with time here"},
		{"x", `\hat{x}`, "is not read: expected a symbol"},
		{"a b", "a.b", "column 2: a dot that is no decimal point: expected an operator: write * for a product"},
		{"a b", "a x b", "column 3: x is not a symbol here: expected an operator: write * for a product"},
		{"V", "V_0 + V", "column 1: V_0 is not a symbol here"},
		{"l", `l\,\text{ m}`, "column 4: this looks like a unit"},
		{"x", "\xff", "not text in UTF-8"},
	} {
		_, err := Readings(tt.text, Options{Symbols: strings.Fields(tt.symbols)})
		var syntax *SyntaxError
		if !errors.As(err, &syntax) {
			t.Errorf("%q: got %v, want a SyntaxError", tt.text, err)
			continue
		}
		if !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: got %q, want %q in it", tt.text, err, tt.want)
		}
		if syntax.At < 0 || syntax.At > len(tt.text) {
			t.Errorf("%q: place %d is outside", tt.text, syntax.At)
		}
	}
}

func TestCaret(t *testing.T) {
	_, err := Parse("θ̇ + H", Options{Symbols: []string{"h"}, Time: []string{"θ"}})
	var syntax *SyntaxError
	if !errors.As(err, &syntax) {
		t.Fatalf("got %v", err)
	}
	if want := "θ̇ + H\n    ^"; syntax.Caret() != want {
		t.Errorf("got\n%s\nwant\n%s", syntax.Caret(), want)
	}
}

// Text that is sent to do harm is refused, or read if it is within the limits.
// Benchmark/hostile measures how long that takes.
func TestHostileText(t *testing.T) {
	for _, tt := range hostile {
		_, err := Readings(tt.text, hostileOptions)
		var syntax *SyntaxError
		if tt.refused && !errors.As(err, &syntax) {
			t.Errorf("%s: got %v, want a SyntaxError", tt.name, err)
		}
	}
}

var hostileOptions = Options{Symbols: []string{"a", "b", "m", "ab", "x"}, Time: []string{"x"}}

var hostile = []struct {
	name, text string
	refused    bool
}{
	{"open brackets", strings.Repeat("(", 9_000), true},
	{"nested brackets", strings.Repeat("(", 5_000) + "x" + strings.Repeat(")", 5_000), true},
	{"megabyte of TeX", strings.Repeat(`\frac{a}{b}+`, 1<<20/12), true},
	{"nested TeX", strings.Repeat(`\frac{`, 3_000) + "a", true},
	{"tower", "9^9^9^9", true},
	{"long tower", strings.Repeat("9^", 5_000) + "9", true},
	{"powers", "((2^4000)^4000)^4000", true},
	{"powers of a product", "(9^999 x)^9999", true},
	{"many symbols", strings.Repeat("a*", 9_999) + "a", true},
	{"many letters", strings.Repeat("a", 10_000), true},
	{"split letters", strings.Repeat("ab", 32), false},
	{"derivatives", strings.Repeat("d(", 9_000), true},
	{"nested derivatives", strings.Repeat("d/dt(", 90) + "sin(x)^2" + strings.Repeat(")", 90), true},
	{"functions", strings.Repeat("sin ", 4_000) + "x", true},
	{"ambiguous", strings.Repeat("1/2m sin a b + ", 90) + "x", false},
	{"roots", strings.Repeat("√", 6_000) + "2", true},
	{"moduli", strings.Repeat("|", 9_000), true},
	{"open subscripts", strings.Repeat("a_{", 6_000), true},
	{"long product", strings.Repeat("99999999999999999999*", 300) + "1", true},
	{"long fractions", strings.Repeat("1/99999999977+1/99999999947+", 300) + "1", true},
}

func BenchmarkReadings(b *testing.B) {
	for _, bb := range append(hostile, []struct {
		name, text string
		refused    bool
	}{
		{"plain", "2π√((I_c + m d²)/(m g d))", false},
		{"ambiguous formula", "1/2 m l^2 θ'^2 + mgl(1-cos θ)/2d", false},
		{"very ambiguous formula", "1/2m sin 2θ cos θ/2 + a/bc sin a b", false},
		{"TeX", `\frac{1}{2} m l^2 \dot\theta^2 - m g l \cos\theta`, false},
	}...) {
		o := hostileOptions
		if strings.HasSuffix(bb.name, "formula") || bb.name == "plain" || bb.name == "TeX" {
			o = Options{Symbols: []string{"I_c", "m", "d", "g", "l", "a", "b", "c", "θ"}, Time: []string{"θ"}}
		}
		b.Run(bb.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Readings(bb.text, o); (err != nil) != bb.refused {
					b.Fatal(err)
				}
			}
		})
	}
}

// A teacher's x^2/3 has one reading, a student's two; x^1/2 is in doubt for both.
func TestAuthorsMeanWhatTheyWrite(t *testing.T) {
	for _, tt := range []struct {
		text              string
		author, otherwise int
	}{{"x^2/3", 1, 2}, {"x^1/2", 2, 2}, {"1 + x^2/16", 1, 2}} {
		for _, author := range []bool{true, false} {
			all, err := Readings(tt.text, Options{Symbols: []string{"x"}, Author: author})
			if err != nil {
				t.Fatal(err)
			}
			want := tt.otherwise
			if author {
				want = tt.author
			}
			if len(all) != want {
				t.Errorf("%s, author %v: %d readings, want %d", tt.text, author, len(all), want)
			}
		}
	}
}
