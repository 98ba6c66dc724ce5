package tex_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"counterpoise/worksheets/page/tex"
)

// inner returns what stands between the math tags.
func inner(t *testing.T, formula string, display bool) string {
	t.Helper()
	got, err := tex.MathML(formula, display)
	if err != nil {
		t.Fatalf("%s: %v", formula, err)
	}
	if err := wellFormed(got); err != nil {
		t.Errorf("%s: %v\n%s", formula, err, got)
	}
	got = got[strings.Index(got, ">")+1:]
	return strings.TrimSuffix(got, "</math>")
}

func wellFormed(s string) error {
	d := xml.NewDecoder(strings.NewReader(s))
	for {
		if _, err := d.Token(); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// The elements and the order of their children are those of MathML Core (W3C),
// sections 3.2 and 3.3; the spaces and classes are those of The TeXbook,
// chapters 16 to 18. Written by hand from these; from memory, unchecked.
func TestFormulasBecomeMathML(t *testing.T) {
	for _, tt := range []struct {
		tex, want string
		display   bool
	}{
		{tex: `x`, want: `<mi>x</mi>`},
		{tex: `12.5`, want: `<mn>12.5</mn>`},
		{tex: `a+b`, want: `<mi>a</mi><mo>+</mo><mi>b</mi>`},
		{tex: `-a`, want: `<mo form="prefix" stretchy="false">−</mo><mi>a</mi>`},
		{tex: `a=-b`, want: `<mi>a</mi><mo>=</mo><mo form="prefix" stretchy="false">−</mo><mi>b</mi>`},
		{tex: `x_1^2`, want: `<msubsup><mi>x</mi><mn>1</mn><mn>2</mn></msubsup>`},
		{tex: `x^12`, want: `<msup><mi>x</mi><mn>1</mn></msup><mn>2</mn>`},
		{tex: `x^{12}`, want: `<msup><mi>x</mi><mn>12</mn></msup>`},
		{tex: `x'`, want: `<msup><mi>x</mi><mo>′</mo></msup>`},
		{tex: `x''^2`, want: `<msup><mi>x</mi><mrow><mo>′′</mo><mn>2</mn></mrow></msup>`},
		{tex: `\frac{a}{b+c}`, want: `<mfrac><mi>a</mi><mrow><mi>b</mi><mo>+</mo><mi>c</mi></mrow></mfrac>`},
		{tex: `\frac12`, want: `<mfrac><mn>1</mn><mn>2</mn></mfrac>`},
		{tex: `\sqrt{gl}`, want: `<msqrt><mi>g</mi><mi>l</mi></msqrt>`},
		{tex: `\sqrt[3]{x}`, want: `<mroot><mrow><mi>x</mi></mrow><mn>3</mn></mroot>`},
		{tex: `\theta\Theta`, want: `<mi>θ</mi><mi mathvariant="normal">Θ</mi>`},
		{tex: `\ddot\theta`, want: `<mover accent="true"><mi>θ</mi><mo stretchy="false">¨</mo></mover>`},
		{tex: `\sin x`, want: "<mi>sin</mi><mo>\u2061</mo><mspace width=\"0.1667em\"/><mi>x</mi>"},
		{tex: `\sin(x)`, want: "<mi>sin</mi><mo>\u2061</mo>" + `<mo stretchy="false" form="prefix">(</mo><mi>x</mi><mo stretchy="false" form="postfix">)</mo>`},
		{tex: `\sum_{i=1}^n i`, display: true,
			want: `<munderover><mo largeop="true" movablelimits="false">∑</mo><mrow><mi>i</mi><mo>=</mo><mn>1</mn></mrow><mi>n</mi></munderover><mi>i</mi>`},
		{tex: `\sum_i i`, want: `<msub><mo largeop="true" movablelimits="false">∑</mo><mi>i</mi></msub><mi>i</mi>`},
		{tex: `\int_0^1`, display: true, want: `<msubsup><mo largeop="true" movablelimits="false">∫</mo><mn>0</mn><mn>1</mn></msubsup>`},
		{tex: `\left(x\right.`, want: `<mrow><mo stretchy="true" fence="true" form="prefix">(</mo><mrow><mi>x</mi></mrow></mrow>`},
		{tex: `\mathrm{kg}`, want: `<mi>kg</mi>`},
		{tex: `\mathrm{d}x`, want: `<mi mathvariant="normal">d</mi><mi>x</mi>`},
		{tex: `\mathrm{m^2}`, want: `<msup><mi mathvariant="normal">m</mi><mn>2</mn></msup>`},
		{tex: `\mathbf{v}`, want: `<mi>𝐯</mi>`},
		{tex: `\mathbb R`, want: `<mi>ℝ</mi>`},
		{tex: `\text{if $x<1$ }`, want: "<mrow><mtext>if\u00a0</mtext><mrow><mi>x</mi><mo>&lt;</mo><mn>1</mn></mrow><mtext>\u00a0</mtext></mrow>"},
		{tex: `\begin{matrix}a&b\\c&d\end{matrix}`,
			want: `<mrow><mtable><mtr><mtd><mi>a</mi></mtd><mtd><mi>b</mi></mtd></mtr><mtr><mtd><mi>c</mi></mtd><mtd><mi>d</mi></mtd></mtr></mtable></mrow>`},
		{tex: `a\not=b`, want: `<mi>a</mi><mo>≠</mo><mi>b</mi>`},
		{tex: `2 % rest`, want: `<mn>2</mn>`},
		{tex: `10\,\%`, want: `<mn>10</mn><mspace width="0.1667em"/><mi>%</mi>`},
		{tex: `90^\circ`, want: `<msup><mn>90</mn><mo>∘</mo></msup>`},
		{tex: ``, want: ``},
	} {
		if got := inner(t, tt.tex, tt.display); got != tt.want {
			t.Errorf("%s\n got %s\nwant %s", tt.tex, got, tt.want)
		}
	}
}

func TestLongFormulasAreWellFormed(t *testing.T) {
	for _, formula := range []string{
		`\begin{aligned} m l^2\,\ddot\theta &= -m g l\sin\theta \\[4pt] \omega_0 &= \sqrt{\frac{g}{l}} \end{aligned}`,
		`f(x)=\begin{cases} \tfrac12 k x^2 & \text{if } x \ge 0\\ 0 & \text{otherwise}\end{cases}`,
		`\begin{pmatrix} I_{xx} & -I_{xy} \\ -I_{xy} & I_{yy} \end{pmatrix}\begin{pmatrix}\omega_x\\ \omega_y\end{pmatrix}`,
		`\left.\frac{\partial^2 V}{\partial\theta^2}\right|_{\theta=0} > 0`,
		`\lim_{x\to 0}\frac{\sin x}{x}=1,\quad \oint \vec F\cdot\mathrm{d}\vec r = 0`,
		`\underbrace{\tfrac12 m v^2}_{\text{kinetic}} + \overbrace{mgh}^{\text{potential}}`,
		`T = 2\pi\sqrt{\frac{I}{mgd}}\left(1+\frac{1}{16}\theta_0^2+\cdots\right)`,
		`\operatorname{sgn}(x)\,\hat{\boldsymbol\omega}\times\mathcal L \bigl[ a \bigr]`,
		`\left\{\, x \middle| x^2<2 \,\right\}`,
		`\displaystyle\sum_{\substack{i<j\\ j<n}} a_{ij} \stackrel{!}{=} \boxed{0}`,
		`y_\mathrm{cg} = \frac{\sum_i m_i y_i}{\sum_i m_i}`,
		`θ̈ + ω² θ = 0`,
		`a'_1 \approx \overline{AB} \neq \widehat{xyz}\pmod 3`,
		`\left\lvert\frac{a}{b}\right\rvert\hspace{1em}\dddot x \xrightarrow{t\to\infty} 0`,
		`\begin{array}{l|r} a & b \\ \hline c & d \end{array}`,
	} {
		inner(t, formula, true)
		inner(t, formula, false)
	}
}

func TestMistakesAreToldWithTheirPlace(t *testing.T) {
	for _, tt := range []struct{ tex, want string }{
		{`\frca{a}{b}`, `column 1 of the formula: unknown command \frca: did you mean \frac?`},
		{`\alhpa`, `unknown command \alhpa: did you mean \alpha?`},
		{`x + \frac{1}`, `\frac needs a denominator`},
		{`{x`, `column 1 of the formula: { without its }`},
		{`x}`, `column 2 of the formula: } without its {`},
		{`a & b`, `& outside`},
		{`a \\ b`, `line break outside`},
		{`\left( x`, `\left without its \right`},
		{`x \right)`, `\right without its \left`},
		{`\left x \right)`, `\left needs a bracket after it`},
		{`\begin{matrix} a`, `without its \end{matrix}`},
		{`\begin{matrix} a \end{pmatrix}`, `\end{pmatrix} closes \begin{matrix}`},
		{`\begin{tikzpicture}\end{tikzpicture}`, `unknown block`},
		{`x^a^b`, `two powers`},
		{`x_`, `^ and _ need something after them`},
		{`θθ \nope`, `column 4 of the formula: unknown command \nope`},
		{`a $ b`, `$ inside a formula: write \$`},
		{`\`, `\ at the end`},
		{"a\x01", `U+0001`},
		{strings.Repeat("{", 100) + strings.Repeat("}", 100), `more than 60 deep`},
		{strings.Repeat("x", tex.MaxBytes+1), `longer than 20000 bytes`},
		{"\xff", `not UTF-8`},
	} {
		got, err := tex.MathML(tt.tex, false)
		var all tex.Errors
		if !errors.As(err, &all) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%.40s: got %v, want %q", tt.tex, err, tt.want)
		}
		if got != "" {
			t.Errorf("%.40s: a formula with a mistake gives %s", tt.tex, got)
		}
	}
	_, err := tex.MathML(`\nope + \nada`, false)
	if all, _ := err.(tex.Errors); len(all) != 2 {
		t.Errorf("want both mistakes, got %v", err)
	}
}

func TestNothingActiveComesThrough(t *testing.T) {
	for _, formula := range []string{
		`<script>alert(1)</script>`, `\text{<img src=x onerror=alert(1)>}`, `\mathrm{<b>}`, `a"b'c&lt;`, `\operatorname{<script>}`,
		`\hspace{1em"onload="x}`, `\begin{array}{"onclick="}a\end{array}`,
	} {
		got, err := tex.MathML(formula, false)
		if err != nil {
			continue
		}
		if strings.Contains(got, "<script") || strings.Contains(got, "<img") || strings.Contains(got, "<b>") {
			t.Errorf("%s gives %s", formula, got)
		}
		if err := wellFormed(got); err != nil {
			t.Errorf("%s: %v", formula, err)
		}
	}
}

func FuzzMathML(f *testing.F) {
	for _, s := range []string{`\frac{a}{b}`, `\left(\begin{matrix}a&b\\\end{matrix}\right)_1'`, `\text{a $x$}`, `\sqrt[3]x`, `x_1^2'`, `\not\in`, `\big(`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := tex.MathML(s, true)
		if err != nil {
			return
		}
		if err := wellFormed(got); err != nil {
			t.Fatalf("%q gives %s: %v", s, got, err)
		}
		d := xml.NewDecoder(strings.NewReader(got))
		for {
			tok, err := d.Token()
			if err != nil {
				return
			}
			if e, ok := tok.(xml.StartElement); ok && !strings.HasPrefix(e.Name.Local, "m") {
				t.Fatalf("%q gives the element %s", s, e.Name.Local)
			}
		}
	})
}

func ExampleMathML() {
	s, _ := tex.MathML(`T = 2\pi\sqrt{l/g}`, false)
	fmt.Println(s)
	_, err := tex.MathML(`\sqr{l}`, false)
	fmt.Println(err)
	// Output:
	// <math xmlns="http://www.w3.org/1998/Math/MathML" alttext="T = 2\pi\sqrt{l/g}"><mi>T</mi><mo>=</mo><mn>2</mn><mi>π</mi><msqrt><mi>l</mi><mo stretchy="false" lspace="0" rspace="0">/</mo><mi>g</mi></msqrt></math>
	// column 1 of the formula: unknown command \sqr: did you mean \sqrt?
}
