package parse_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"counterpoise/mechanics/expr/parse"
)

// The values at which typed formulas are compared with the same in Go.
const (
	m, g, l, d, h, k, a, b, c, t, r, R, L, M = 1.3, 9.81, 0.7, 0.31, 0.45, 23.0, 0.9, 1.7, 0.6, 0.8, 0.11, 0.52, 1.9, 2.7
	m1, m2, l1, l2, k1, k2, x1, x2           = 0.4, 0.55, 0.61, 0.83, 12.0, 17.0, 0.21, 0.34
	Ic, E, I, F, v, v0, A, D, s              = 0.017, 2.1, 0.03, 3.3, 1.1, 0.95, 0.25, 0.12, 0.44
	th, dth, ddth, ph, dph, ddph, w, al      = 0.37, 1.2, -0.7, 0.52, 0.8, 0.33, 2.9, 0.64
	x, dx, ddx, rho, mu, om0                 = 0.28, 0.77, -1.4, 7.8, 0.15, 3.7
	pi                                       = math.Pi
)

var at = map[string]float64{
	"m": m, "g": g, "l": l, "d": d, "h": h, "k": k, "a": a, "b": b, "c": c, "t": t, "r": r, "R": R, "L": L, "M": M,
	"m_1": m1, "m_2": m2, "l_1": l1, "l_2": l2, "k_1": k1, "k_2": k2, "x_1": x1, "x_2": x2,
	"I_c": Ic, "E": E, "I": I, "F": F, "v": v, "v_0": v0, "A": A, "D": D, "s": s,
	"θ": th, "θ'": dth, "θ''": ddth, "φ": ph, "φ'": dph, "φ''": ddph, "ω": w, "α": al,
	"x": x, "x'": dx, "x''": ddx, "ρ": rho, "μ": mu, "ω_0": om0,
}

var everything = parse.Options{
	Symbols: strings.Fields("m g l d h k a b c t r R L M m_1 m_2 l_1 l_2 k_1 k_2 x_1 x_2 I_c E I F v v_0 A D s ω α ρ μ ω_0"),
	Time:    []string{"θ", "φ", "x"},
}

func sq(x float64) float64 { return x * x }

var sin, cos, tan, sqrt, exp, ln, atan, asin, acos = math.Sin, math.Cos, math.Tan, math.Sqrt, math.Exp, math.Log, math.Atan, math.Asin, math.Acos

// What students type, beside what they mean. Common practice, no source; the
// value on the right is computed by Go, not by package expr.
func TestTyped(tt *testing.T) {
	for _, row := range typed {
		e, err := parse.Parse(row.text, everything)
		if err != nil {
			tt.Errorf("%s: %v", row.text, err)
			continue
		}
		got, err := e.Eval(at)
		if err != nil || math.Abs(got-row.want) > 1e-12*math.Max(1, math.Abs(row.want)) {
			tt.Errorf("%s: reads as %v = %v (%v), want %v", row.text, e, got, err, row.want)
		}
	}
}

// What cannot be read: where the caret stands and what is said to be done.
func TestTypedWrongly(tt *testing.T) {
	for _, row := range []struct {
		text string
		at   int
		want string
	}{
		{`m.g.l`, 1, `write * for a product`},
		{`(m+M)2`, 5, `*2 for a product`},
		{`2πf`, 3, `did you mean F?`},
		{`wt`, 0, `w is not a symbol here`},
		{`mgz`, 2, `z is not a symbol here`},
		{`mgJsinθ`, 2, `J is not a symbol here`},
		{`Jcosθ`, 0, `J is not a symbol here`},
		{`50%`, 2, `write the fraction`},
		{`{1 \over 2} m`, 3, `write \frac{`},
		{`\sqrt[n]{a}`, 6, `n is not a symbol here`},
		{`e^{-\gamma t}`, 4, `\gamma is not a symbol here`},
		{`\bar x`, 0, `as a subscript`},
		{`a_{}`, 1, `I_{cm}`},
		{`x_`, 1, `I_{cm}`},
		{`_x`, 0, `I_{cm}`},
		{`mg(l`, 2, `close it with )`},
		{`mg)l`, 2, `take it out`},
		{`mgl sin`, 7, `the argument of sin`},
		{`mgl sin(`, 8, `the formula stops here`},
		{`m//g`, 2, `two operators in a row`},
		{`a:b`, 1, `write / for a division`},
		{`a=`, 2, `the right side`},
		{`1,5m`, 1, `write 1.5`},
		{`1.5.2`, 3, `a second decimal point`},
		{`m^^2`, 2, `an exponent without a base`},
		{`√()`, 4, `nothing stands in the brackets`},
		{`|a`, 0, `close it with |`},
		{`a|`, 1, `write abs( … )`},
		{`cos(θ,φ)`, 0, `one argument`},
		{`atan2(a)`, 0, `two arguments`},
		{`θ(0)`, 2, `write θ_0`},
		{`m'`, 0, `without dots and primes`},
		{`ṁ`, 0, `without dots and primes`},
		{`dm/dt`, 0, `nothing here is known to change with time`},
		{`∂L/∂θ`, 0, `write L out`},
		{`\frac{a}`, 8, `a part in braces`},
		{`\frac{a}{}`, 9, `nothing stands in the brackets`},
		{`\left(a\right]`, 13, `expected )`},
		{`{a`, 0, `close it with }`},
		{`a}`, 1, `open it with {`},
		{`\foo`, 0, `\foo is not read`},
		{`x!`, 1, `write the product out`},
		{`a->b`, 1, `write = between equal sides`},
		{`∞`, 0, `write the limit`},
		{`m g l (N m)`, 7, `if it is a unit, leave it out`},
		{`3 N/m`, 2, `leave units out`},
		{`m/(a-a)`, 2, `a division by zero`},
		{`√(-1)`, 0, `is not real`},
		{`1e5000`, 1, `at most 1200`},
		{`a^9999999`, 1, `too large`},
		{`\dot{mg}`, 5, `write d/dt( … )`},
		{`ж`, 0, `a Latin or Greek letter`},
		{`x̂`, 1, `as a subscript`},
		{`m_3`, 0, `did you mean m_1?`},
		{`a<b`, 1, `an equation is written where an expression is asked`},
		{`a±b`, 1, `choose the sign`},
		{`a\\b`, 1, `give one line only`},
		{`cot 0`, 0, `cot has no value here`},
	} {
		_, err := parse.Parse(row.text, everything)
		var syntax *parse.SyntaxError
		if !errors.As(err, &syntax) || syntax.At != row.at || !strings.Contains(err.Error(), row.want) {
			tt.Errorf("%s: got %v, want %q at byte %d", row.text, err, row.want, row.at)
		}
	}
}

var typed = []struct {
	text string
	want float64
}{
	// Products without a sign.
	{"mgl", m * g * l}, {"2mgL sinθ", 2 * m * g * L * sin(th)}, {"mgLsinθ", m * g * L * sin(th)}, {"mgl sinθ", m * g * l * sin(th)},
	{"m g l sin(θ)", m * g * l * sin(th)}, {"m*g*l*sin(theta)", m * g * l * sin(th)}, {"mglsin(theta)", m * g * l * sin(th)},
	{"mgl sin theta", m * g * l * sin(th)}, {"m·g·l", m * g * l}, {"m×g×l", m * g * l}, {"m⋅g⋅l", m * g * l}, {"m•g", m * g},
	{"k_1x_1", k1 * x1}, {"k1x1", k1 * x1}, {"k1 x1", k1 * x1}, {"m1 m2 g l1", m1 * m2 * g * l1}, {"m_1m_2gl_1", m1 * m2 * g * l1}, {"m1m2gl1", m1 * m2 * g * l1},
	{"m₁m₂gl₁", m1 * m2 * g * l1}, {"m_{1}m_{2}gl_{1}", m1 * m2 * g * l1}, {"(m1+m2)gl1", (m1 + m2) * g * l1}, {"(m_1 + m_2) g l_1", (m1 + m2) * g * l1},
	{"g(m1+m2)", g * (m1 + m2)}, {"2(m+M)", 2 * (m + M)}, {"(a+b)(a-b)", a*a - b*b}, {"(a+b)c", (a + b) * c}, {"a(b+c)", a * (b + c)}, {"[a+b]c", (a + b) * c},
	{"2πω", 2 * pi * w}, {"2pi*ω", 2 * pi * w}, {"2 pi omega", 2 * pi * w}, {"2*Pi*omega", 2 * pi * w}, {"ωt", w * t}, {"omega t", w * t}, {"omega*t", w * t},
	// Powers.
	{"m v^2", m * v * v}, {"mv²", m * v * v}, {"mv**2", m * v * v}, {"m*v**2", m * v * v}, {"½mv²", m * v * v / 2}, {"½ m v²", m * v * v / 2}, {"1/2mv^2", m * v * v / 2},
	{"1/2 m v^2", m * v * v / 2}, {"(1/2)mv^2", m * v * v / 2}, {"0.5mv^2", m * v * v / 2}, {".5mv^2", m * v * v / 2}, {"0.5*m*v^2", m * v * v / 2}, {"mv^2/2", m * v * v / 2},
	{"m*v^2/2", m * v * v / 2}, {"m v²/2", m * v * v / 2}, {"(mv^2)/2", m * v * v / 2}, {"v^2m/2", m * v * v / 2}, {"r^{2}", r * r}, {"r^(2)", r * r}, {"r^-2", 1 / r / r}, {"r⁻²", 1 / r / r},
	{"r^(-2)", 1 / r / r}, {"r^{-2}", 1 / r / r}, {"2r^3", 2 * r * r * r}, {"(2r)^3", 8 * r * r * r}, {"-r^2", -r * r}, {"(-r)^2", r * r}, {"2^-3", 0.125}, {"a^b^c", math.Pow(a, math.Pow(b, c))},
	{"r^1.5", math.Pow(r, 1.5)}, {"r^(3/2)", math.Pow(r, 1.5)}, {"r^{3/2}", math.Pow(r, 1.5)}, {`r^\frac{3}{2}`, math.Pow(r, 1.5)}, {`r^{\frac32}`, math.Pow(r, 1.5)}, {"(l/g)^½", sqrt(l / g)},
	{"(l/g)^0.5", sqrt(l / g)}, {"(l/g)^.5", sqrt(l / g)}, {"(l/g)^(1/2)", sqrt(l / g)}, {"ω^2x", w * w * x}, {"ω²x", w * w * x}, {"ω_0^2", om0 * om0}, {"ω0²", om0 * om0}, {"ω₀²", om0 * om0},
	{"omega_0^2", om0 * om0}, {"omega0^2", om0 * om0}, {`\omega_0^2`, om0 * om0}, {`\omega^2_0`, om0 * om0}, {"v_0^2/(2g)", v0 * v0 / 2 / g}, {"v0^2/2g", v0 * v0 / 2 / g},
	{"πr²", pi * r * r}, {"pi r^2", pi * r * r}, {"pi*r^2", pi * r * r}, {"4/3πr³", 4. / 3 * pi * r * r * r}, {"4/3 pi r^3", 4. / 3 * pi * r * r * r}, {"(4/3)*pi*r^3", 4. / 3 * pi * r * r * r},
	{"4πr³/3", 4. / 3 * pi * r * r * r}, {"ρπr²l", rho * pi * r * r * l}, {"rho*pi*r^2*l", rho * pi * r * r * l}, {"πd⁴/64", pi * d * d * d * d / 64}, {"pi d^4/64", pi * d * d * d * d / 64},
	// Division.
	{"mg/k", m * g / k}, {"m g / k", m * g / k}, {"m*g/k", m * g / k}, {"mg÷k", m * g / k}, {"a/b/c", a / b / c}, {"a/(bc)", a / b / c}, {"a/(b*c)", a / b / c}, {"a/b*c", a / b * c},
	{"ab/cd", a * b / c / d}, {"(ab)/(cd)", a * b / c / d}, {"a/2", a / 2}, {"a/2b", a / 2 / b}, {"a⁄b", a / b}, {"a∕b", a / b}, {"(a+b)/(c+d)", (a + b) / (c + d)}, {"3EI/L^3", 3 * E * I / L / L / L}, {"3EI/L³", 3 * E * I / L / L / L},
	{"k1k2/(k1+k2)", k1 * k2 / (k1 + k2)}, {"1/(1/k1+1/k2)", 1 / (1/k1 + 1/k2)}, {"1/k_1 + 1/k_2", 1/k1 + 1/k2}, {"(1/k_1 + 1/k_2)^-1", 1 / (1/k1 + 1/k2)}, {"(1/k_1 + 1/k_2)^{-1}", 1 / (1/k1 + 1/k2)}, {"(1/k₁+1/k₂)⁻¹", 1 / (1/k1 + 1/k2)},
	// Roots.
	{"2π√(l/g)", 2 * pi * sqrt(l/g)}, {"2*pi*sqrt(l/g)", 2 * pi * sqrt(l/g)}, {"2 pi sqrt(l/g)", 2 * pi * sqrt(l/g)}, {"2pi sqrt(l/g)", 2 * pi * sqrt(l/g)}, {"2pisqrt(l/g)", 2 * pi * sqrt(l/g)}, {"2π·√(l/g)", 2 * pi * sqrt(l/g)},
	{"T = 2π√(l/g)", 2 * pi * sqrt(l/g)}, {"T=2*pi*(l/g)^0.5", 2 * pi * sqrt(l/g)}, {"√k/√m", sqrt(k) / sqrt(m)}, {"√(k/m)", sqrt(k / m)}, {"sqrt(k)/sqrt(m)", sqrt(k) / sqrt(m)}, {"sqrt k", sqrt(k)}, {"√2", math.Sqrt2}, {"√2 g", math.Sqrt2 * g},
	{"√(2gh)", sqrt(2 * g * h)}, {"(2gh)^½", sqrt(2 * g * h)}, {"sqrt(2*g*h)", sqrt(2 * g * h)}, {"sqrt{2gh}", sqrt(2 * g * h)}, {"sqrt[2gh]", sqrt(2 * g * h)}, {"√{2gh}", sqrt(2 * g * h)}, {"√[2gh]", sqrt(2 * g * h)}, {"∛(a)", math.Cbrt(a)}, {"cbrt(a)", math.Cbrt(a)}, {"∛a", math.Cbrt(a)}, {"∜a", math.Pow(a, .25)},
	{"root(k/m)", sqrt(k / m)}, {"1/(2π)·√(k/m)", sqrt(k/m) / 2 / pi}, {"1/2π √(k/m)", sqrt(k/m) / 2 / pi}, {"1/(2π) √(k/m)", sqrt(k/m) / 2 / pi}, {"(1/2π)√(k/m)", sqrt(k/m) / 2 / pi}, {"√(g/l + 2k/m)", sqrt(g/l + 2*k/m)},
	// Functions.
	{"sinθ", sin(th)}, {"sin θ", sin(th)}, {"sin(θ)", sin(th)}, {"Sin(θ)", sin(th)}, {"SIN(θ)", sin(th)}, {"sin[θ]", sin(th)}, {"sin{θ}", sin(th)}, {"sin²θ", sq(sin(th))}, {"sin^2θ", sq(sin(th))}, {"sin^2 θ", sq(sin(th))}, {"sin^2(θ)", sq(sin(th))}, {"sin(θ)^2", sq(sin(th))},
	{"sin(θ)²", sq(sin(th))}, {"(sin θ)^2", sq(sin(th))}, {"(sinθ)²", sq(sin(th))}, {"sin θ cos θ", sin(th) * cos(th)}, {"sinθcosθ", sin(th) * cos(th)}, {"sin θ·cos φ", sin(th) * cos(ph)}, {"2 sin θ cos θ", sin(2 * th)}, {"sin2θ", sin(2 * th)}, {"sin 2θ", sin(2 * th)},
	{"sin(2θ)", sin(2 * th)}, {"sin(2*theta)", sin(2 * th)}, {"cos(θ-φ)", cos(th - ph)}, {"cos(θ − φ)", cos(th - ph)}, {"cos(θ–φ)", cos(th - ph)}, {"1-cosθ", 1 - cos(th)}, {"1 − cos θ", 1 - cos(th)}, {"(1-cosθ)", 1 - cos(th)}, {"mgl(1-cosθ)", m * g * l * (1 - cos(th))},
	{"mgl(1 − cos θ)", m * g * l * (1 - cos(th))}, {"tan θ", tan(th)}, {"tanθ", tan(th)}, {"tan(θ/2)", tan(th / 2)}, {"sec θ", 1 / cos(th)}, {"cosec θ", 1 / sin(th)}, {"cot θ", 1 / tan(th)}, {"sin^-1(h/l)", asin(h / l)}, {"sin⁻¹(h/l)", asin(h / l)}, {"arcsin(h/l)", asin(h / l)}, {"asin(h/l)", asin(h / l)},
	{"arctan(b/h)", atan(b / h)}, {"tan⁻¹(b/h)", atan(b / h)}, {"atan(b/h)", atan(b / h)}, {"tan^{-1}(b/h)", atan(b / h)}, {"arctan b/h", atan(b / h)}, {"arccos(d/l)", acos(d / l)}, {"atan2(b,h)", math.Atan2(b, h)}, {"sin(ωt)", sin(w * t)}, {"sin ωt", sin(w * t)}, {"A cos ωt", A * cos(w*t)},
	{"A cos(ωt + φ)", A * cos(w*t+ph)}, {"A cos(ω t)", A * cos(w*t)}, {"Acos(omega*t)", A * cos(w*t)}, {"A*cos(omega t)", A * cos(w*t)}, {"A sin ω_0t", A * sin(om0*t)}, {"A sin(ω0 t)", A * sin(om0*t)}, {"sin(-θ)", -sin(th)}, {"sin -θ", -sin(th)}, {"sin30°", 0.5}, {"sin 30°", 0.5}, {"sin(30°)", 0.5}, {"sin(30 deg)", 0.5}, {"cos 60º", 0.5}, {"tan(45°)", 1},
	{"e^x", exp(x)}, {"e^{x}", exp(x)}, {"e^(-x)", exp(-x)}, {"e^-x", exp(-x)}, {"exp(-x)", exp(-x)}, {"exp(-bt)", exp(-b * t)}, {"A e^(-bt)", A * exp(-b*t)}, {"Ae^(-b t)", A * exp(-b*t)}, {"Ae^{-bt}", A * exp(-b*t)}, {"A*exp(-b*t)", A * exp(-b*t)}, {"A exp(−bt) cos(ωt)", A * exp(-b*t) * cos(w*t)}, {"Ae^(-bt/2m)cos(ωt)", A * exp(-b*t/2/m) * cos(w*t)}, {"exp{-bt}", exp(-b * t)}, {"exp(x)^2", exp(2 * x)}, {"e^x^2", exp(x * x)},
	{"ln(2)", math.Ln2}, {"ln 2", math.Ln2}, {"ln2", math.Ln2}, {"log(2)", math.Ln2}, {"ln(a/b)", ln(a / b)}, {"log10(a)", math.Log10(a)}, {"log_10(a)", math.Log10(a)}, {"lg(a)", math.Log10(a)}, {"log2(a)", math.Log2(a)}, {"ln|x|", ln(x)}, {"sinh(x)", math.Sinh(x)}, {"cosh x", math.Cosh(x)}, {"tanh(x)", math.Tanh(x)}, {"arsinh(x)", math.Asinh(x)}, {"|x|", x}, {"|-x|", x}, {"abs(-x)", x}, {"|a-b|c", math.Abs(a-b) * c}, {"2|a−b|", 2 * math.Abs(a-b)},
	// Numbers.
	{"1.5e-3", 1.5e-3}, {"1.5E-3", 1.5e-3}, {"1.5e3", 1.5e3}, {"1.5×10^-3", 1.5e-3}, {"1.5 × 10⁻³", 1.5e-3}, {"1.5*10^-3", 1.5e-3}, {"1.5·10^(-3)", 1.5e-3}, {"1.5x10^-3", 1.5e-3}, {"2.0m", 2 * m}, {"0.25 m", m / 4}, {"¼m", m / 4}, {"¾ m", 0.75 * m}, {"3/4m", 0.75 * m}, {"1 000", 1000}, {"10 000 m", 10000 * m}, {"1\u202f000", 1000}, {"2½", 2.5}, {"9.81m", 9.81 * m}, {"9.81 m", 9.81 * m}, {"+m", m}, {"-m", -m}, {"−m", -m}, {"–m", -m}, {"a - -b", a + b}, {"a--b", a + b}, {"a+-b", a - b}, {"a*-b", -a * b}, {"a·(-b)", -a * b}, {"1.", 1},
	{"2 x 10^3", 2000}, {"12 500 000", 12.5e6}, {"0.001 234", 0.001234}, {"theta dot^2", dth * dth}, {"x ddot", ddx}, {"math.sqrt(k/m)", sqrt(k / m)}, {`v^2_0/2`, v0 * v0 / 2}, {`\omega_0^{2}\omega^{2}_{0}`, math.Pow(om0, 4)},
	// Time derivatives.
	{"θ'", dth}, {"θ′", dth}, {"θ̇", dth}, {"θ''", ddth}, {"θ″", ddth}, {"θ̈", ddth}, {"θ'^2", dth * dth}, {"θ'²", dth * dth}, {"θ̇²", dth * dth}, {"θ̇^2", dth * dth}, {"(θ')^2", dth * dth}, {"ẋ²", dx * dx}, {"ẍ", ddx}, {"x'", dx}, {"x''", ddx}, {"x\"", ddx}, {"x’", dx}, {"x´", dx}, {"dθ/dt", dth}, {"d θ/dt", dth}, {"dtheta/dt", dth}, {"dx/dt", dx}, {"(dx/dt)^2", dx * dx}, {"(dθ/dt)²", dth * dth}, {"d²θ/dt²", ddth}, {"d^2θ/dt^2", ddth}, {"d^2x/dt^2", ddx}, {"d/dt(θ)", dth}, {"d/dt θ", dth}, {"d/dt(m l^2 θ')", m * l * l * ddth}, {"d(mx')/dt", m * ddx}, {"d/dt(x^2)", 2 * x * dx}, {"d/dt x^2", 2 * x * dx}, {"(mx')'", m * ddx}, {"thetadot", dth}, {"theta_dot", dth}, {"thetaddot", ddth}, {"theta''", ddth}, {"theta'", dth}, {"xdot^2", dx * dx}, {"x_dot", dx}, {"x_ddot", ddx}, {"xddot", ddx}, {"dot(theta)", dth}, {"ddot(x)", ddx}, {"θ'φ'", dth * dph}, {"θ̇φ̇", dth * dph}, {"θ̇ φ̇ cos(θ-φ)", dth * dph * cos(th-ph)}, {"θ'φ'cos(θ-φ)", dth * dph * cos(th-ph)}, {"1/2ml²θ'²", m * l * l * dth * dth / 2}, {"½ml²θ̇²", m * l * l * dth * dth / 2}, {"x(t)", x}, {"θ(t)", th}, {"x'(t)", dx}, {"θ''(t)", ddth}, {"mθ'²l", m * dth * dth * l}, {"θ' ^ 2", dth * dth}, {"d/dt (1/2 m x'^2)", m * dx * ddx}, {"∂/∂θ(mgl cosθ)", -m * g * l * sin(th)}, {"∂(mgl cosθ)/∂θ", -m * g * l * sin(th)}, {"d/dx(kx²/2)", k * x}, {"-d/dx(½kx²)", -k * x}, {"d/dθ(cos θ)", -sin(th)},
	// TeX.
	{`\frac{1}{2}mv^2`, m * v * v / 2}, {`\frac12mv^2`, m * v * v / 2}, {`\frac 1 2 m v^{2}`, m * v * v / 2}, {`\tfrac12 m v^2`, m * v * v / 2}, {`\dfrac{m v^2}{2}`, m * v * v / 2}, {`\frac{mv^2}2`, m * v * v / 2}, {`\frac m2 v^2`, m * v * v / 2}, {`$\frac{1}{2}mv^2$`, m * v * v / 2}, {`\(\frac{1}{2}mv^2\)`, m * v * v / 2}, {`$$\frac{1}{2}mv^2$$`, m * v * v / 2}, {`\[ \frac{1}{2}mv^2 \]`, m * v * v / 2},
	{`2\pi\sqrt{\frac{l}{g}}`, 2 * pi * sqrt(l/g)}, {`2\pi \sqrt{l/g}`, 2 * pi * sqrt(l/g)}, {`2\,\pi\,\sqrt{\dfrac{l}{g}}`, 2 * pi * sqrt(l/g)}, {`2 \cdot \pi \cdot \sqrt{\frac{l}{g}}`, 2 * pi * sqrt(l/g)}, {`2\times\pi\times\sqrt{l/g}`, 2 * pi * sqrt(l/g)}, {`2\pi\sqrt\frac{l}{g}`, 2 * pi * sqrt(l/g)}, {`2\pi\sqrt{\frac lg}`, 2 * pi * sqrt(l/g)}, {`2\pi\left(\frac{l}{g}\right)^{1/2}`, 2 * pi * sqrt(l/g)}, {`2\pi\left(\frac{l}{g}\right)^{\frac{1}{2}}`, 2 * pi * sqrt(l/g)}, {`T = 2\pi\sqrt{\frac{l}{g}}`, 2 * pi * sqrt(l/g)}, {`T=2\pi\sqrt{\frac{l}{g}}.`, 2 * pi * sqrt(l/g)}, {`\sqrt[3]{a}`, math.Cbrt(a)}, {`\sqrt[4]a`, math.Pow(a, .25)}, {`\sqrt2`, math.Sqrt2}, {`\sqrt{k}`, sqrt(k)}, {`\sqrt k`, sqrt(k)},
	{`\sin\theta`, sin(th)}, {`\sin{\theta}`, sin(th)}, {`\sin \left(\theta\right)`, sin(th)}, {`\sin^2\theta`, sq(sin(th))}, {`\sin^{2}\theta`, sq(sin(th))}, {`\sin^2{\theta}`, sq(sin(th))}, {`\sin^{2}\left(\theta\right)`, sq(sin(th))}, {`{\sin\theta}^2`, sq(sin(th))}, {`\sin^{-1}\left(\frac{h}{l}\right)`, asin(h / l)}, {`\sin^{-1}\frac{h}{l}`, asin(h / l)}, {`\arcsin\frac{h}{l}`, asin(h / l)}, {`\arctan\left(\frac{b}{h}\right)`, atan(b / h)}, {`\tan^{-1}(b/h)`, atan(b / h)}, {`\operatorname{arctan}(b/h)`, atan(b / h)}, {`\mathrm{arctan}(b/h)`, atan(b / h)}, {`\text{arctan}(b/h)`, atan(b / h)}, {`\operatorname{atan2}(b,h)`, math.Atan2(b, h)}, {`\cos(2\theta)`, cos(2 * th)}, {`\cos2\theta`, cos(2 * th)}, {`\cos 2\theta`, cos(2 * th)}, {`\sin\theta\cos\theta`, sin(th) * cos(th)}, {`mgl\sin\theta`, m * g * l * sin(th)}, {`mgl(1-\cos\theta)`, m * g * l * (1 - cos(th))}, {`mgl\left(1-\cos\theta\right)`, m * g * l * (1 - cos(th))}, {`mgl\bigl(1-\cos\theta\bigr)`, m * g * l * (1 - cos(th))}, {`mgl\left[1-\cos\theta\right]`, m * g * l * (1 - cos(th))}, {`mgl\left\{1-\cos\theta\right\}`, m * g * l * (1 - cos(th))}, {`mgl\{1-\cos\theta\}`, m * g * l * (1 - cos(th))}, {`\sin(\omega t)`, sin(w * t)}, {`\sin\omega t`, sin(w * t)}, {`A\cos\left(\omega t+\varphi\right)`, A * cos(w*t+ph)}, {`A\cos(\omega_0t)`, A * cos(om0*t)}, {`\cos(\theta-\phi)`, cos(th - ph)}, {`\sin 30^\circ`, 0.5}, {`\sin 30^{\circ}`, 0.5}, {`\sin(30^\circ)`, 0.5}, {`\sin 30\degree`, 0.5}, {`\ln\frac{a}{b}`, ln(a / b)}, {`\ln 2`, math.Ln2}, {`\ln{2}`, math.Ln2}, {`\log_{10}a`, math.Log10(a)}, {`\exp(-bt)`, exp(-b * t)}, {`\exp\left(-bt\right)`, exp(-b * t)}, {`e^{-bt}`, exp(-b * t)}, {`\mathrm{e}^{-bt}`, exp(-b * t)}, {`{\rm e}^{-bt}`, exp(-b * t)}, {`Ae^{-\frac{bt}{2m}}\cos(\omega t)`, A * exp(-b*t/2/m) * cos(w*t)},
	{`\dot{\theta}`, dth}, {`\dot\theta`, dth}, {`\dot \theta`, dth}, {`\ddot\theta`, ddth}, {`\ddot{\theta}`, ddth}, {`\dot\theta^2`, dth * dth}, {`\dot{\theta}^2`, dth * dth}, {`\dot{\theta}^{2}`, dth * dth}, {`{\dot\theta}^2`, dth * dth}, {`{\dot{\theta}}^{2}`, dth * dth}, {`\left(\dot\theta\right)^2`, dth * dth}, {`\dot x^2`, dx * dx}, {`\dot{x}^2`, dx * dx}, {`\ddot x`, ddx}, {`\theta'`, dth}, {`\theta^\prime`, dth}, {`\theta^{\prime\prime}`, ddth}, {`\theta''`, ddth}, {`\frac{d\theta}{dt}`, dth}, {`\frac{\mathrm{d}\theta}{\mathrm{d}t}`, dth}, {`\frac{\mathrm d\theta}{\mathrm dt}`, dth}, {`\frac{\mathrm d^2\theta}{\mathrm dt^2}`, ddth}, {`\frac{d^2\theta}{dt^2}`, ddth}, {`\frac{d^{2}\theta}{dt^{2}}`, ddth}, {`\frac{\mathrm{d}^{2}\theta}{\mathrm{d}t^{2}}`, ddth}, {`\dfrac{d^2 x}{d t^2}`, ddx}, {`\frac{d}{dt}\theta`, dth}, {`\frac{d}{dt}\left(ml^2\dot\theta\right)`, m * l * l * ddth}, {`\frac{d}{dt}(ml^2\dot\theta)`, m * l * l * ddth}, {`\frac{d}{dt}\dot\theta`, ddth}, {`\frac{d^2}{dt^2}\theta`, ddth}, {`\frac{d}{dt}[m\dot x]`, m * ddx}, {`\left(\frac{d\theta}{dt}\right)^2`, dth * dth}, {`\frac{\text{d}\theta}{\text{d}t}`, dth}, {`\frac{\partial}{\partial\theta}(mgl\cos\theta)`, -m * g * l * sin(th)}, {`\frac{\partial}{\partial \theta}\left(mgl\cos\theta\right)`, -m * g * l * sin(th)}, {`\frac{\partial}{\partial\dot\theta}\left(\frac12ml^2\dot\theta^2\right)`, m * l * l * dth}, {`\frac{\partial \left(mgl\cos\theta\right)}{\partial\theta}`, -m * g * l * sin(th)}, {`\frac{1}{2}m\dot{x}^2+\frac{1}{2}I_c\dot{\theta}^2`, m*dx*dx/2 + Ic*dth*dth/2}, {`\dot\theta\dot\varphi\cos(\theta-\varphi)`, dth * dph * cos(th-ph)}, {`\dot{\theta}\,\dot{\phi}`, dth * dph},
	{`m_1 g l_1`, m1 * g * l1}, {`m_{1}gl_{1}`, m1 * g * l1}, {`\frac{k_1k_2}{k_1+k_2}`, k1 * k2 / (k1 + k2)}, {`\frac{k_{1}k_{2}}{k_{1}+k_{2}}`, k1 * k2 / (k1 + k2)}, {`\left(\frac{1}{k_1}+\frac{1}{k_2}\right)^{-1}`, 1 / (1/k1 + 1/k2)}, {`I_c+md^2`, Ic + m*d*d}, {`I_{c}+m\,d^{2}`, Ic + m*d*d}, {`I_\mathrm{c}+md^2`, Ic + m*d*d}, {`I_{\text{c}}+md^2`, Ic + m*d*d}, {`\mathrm{I}_c`, Ic}, {`I_{\rm c}`, Ic}, {`\left|a-b\right|`, b - a}, {`|a-b|`, b - a}, {`\lvert a-b\rvert`, b - a}, {`\vert a-b\vert`, b - a}, {`\left\vert a-b\right\vert`, b - a}, {`\left\lvert a-b\right\rvert`, b - a}, {`\left|\frac{a}{b}\right|`, a / b}, {`a\cdot b`, a * b}, {`a\times b`, a * b}, {`a\div b`, a / b}, {`a\,b`, a * b}, {`a\;b`, a * b}, {`a\!b`, a * b}, {`a\quad b`, a * b}, {`a \ast b`, a * b}, {`a{}b`, a * b}, {`{a}{b}`, a * b}, {`(a)(b)`, a * b}, {`\mathit{m}g`, m * g}, {`\mathbf{m}g`, m * g}, {`1.5\times10^{-3}`, 1.5e-3}, {`1.5\cdot 10^{-3}`, 1.5e-3}, {`1\,000`, 1000}, {`10^{3}`, 1000}, {`\pi r^2`, pi * r * r}, {`\pi{r^2}`, pi * r * r}, {`\frac{4}{3}\pi r^3`, 4. / 3 * pi * r * r * r}, {`\frac43\pi r^3`, 4. / 3 * pi * r * r * r}, {`\frac{\pi d^4}{64}`, pi * d * d * d * d / 64}, {`\displaystyle\frac{a}{b}`, a / b}, {`\frac{\frac{a}{b}}{c}`, a / b / c}, {`\cfrac{a}{1+\cfrac{b}{c}}`, a / (1 + b/c)}, {`a/b`, a / b}, {`\frac{a}{b}\!`, a / b}, {`\sqrt{\frac{mgd}{I_c+md^2}}`, sqrt(m * g * d / (Ic + m*d*d))}, {`\sqrt{\frac{m g d}{I_{c} + m d^{2}}}`, sqrt(m * g * d / (Ic + m*d*d))}, {`\frac{1}{2\pi}\sqrt{\frac{k}{m}}`, sqrt(k/m) / 2 / pi}, {`\frac{1}{2 \pi} \sqrt{\frac{k}{m}}`, sqrt(k/m) / 2 / pi}, {`\left(\frac{a}{b}\right)^2`, sq(a / b)}, {`\big(a+b\big)c`, (a + b) * c}, {`\Bigl(a+b\Bigr)c`, (a + b) * c}, {`a^{b^c}`, math.Pow(a, math.Pow(b, c))}, {`\alpha\theta`, al * th}, {`\mu mg`, mu * m * g}, {`\mu m g\cos\alpha`, mu * m * g * cos(al)}, {`\rho\pi r^{2}l`, rho * pi * r * r * l},
	{`\begin{aligned} T &= 2\pi\sqrt{l/g} \end{aligned}`, 2 * pi * sqrt(l/g)}, {`\begin{equation} mgl \end{equation}`, m * g * l}, {`\mathrm{sin}\theta`, sin(th)}, {`\text{sin}\,\theta`, sin(th)}, {`\cosh x`, math.Cosh(x)}, {`\tanh{x}`, math.Tanh(x)}, {`\max(a,b)`, b}, {`\min(a,b)`, a}, {`\min\{a,b\}`, a}, {`m\mathrm{g}l`, m * g * l}, {`\boldsymbol{m}`, m}, {`m \text{g}`, m * g}, {`\underline{m}`, m}, {`\boxed{mgl}`, m * g * l}, {`\textstyle\frac12 m`, m / 2}, {`\left.mgl\right.`, m * g * l}, {`\sin^2(\theta)\cos^2(\varphi)`, sq(sin(th) * cos(ph))}, {`\frac{a+b}{c}d`, (a + b) / c * d}, {`{\left(a+b\right)}^{2}`, sq(a + b)}, {`a\left(b+c\right)`, a * (b + c)}, {`\frac{mg}{k}\left(1-\cos\omega t\right)`, m * g / k * (1 - cos(w*t))},
}
