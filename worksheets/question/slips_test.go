package question

import (
	"strings"
	"testing"
)

// Slips beside the published ones, of the same kinds in other formulas.
// Common practice, no source. Each: unit of the answer; letters with unit and
// meaning; key; answer; what the slip is called.
var moreSlips = []struct{ unit, letters, key, answer, slip string }{
	{"m", "r_1:m, r_2:m, m_1:kg, m_2:kg", "(m_1*r_1 - m_2*r_2)/(m_1+m_2)", "(m_1*r_1 + m_2*r_2)/(m_1 - m_2)", "sign of a term"},
	{"kg", "r:m:radius of the rod, L:m, rho:kg/m^3", "pi*r^2*L*rho", "2*pi*r*L*rho", "surface for volume"},
	{"kg", "r:m:radius, rho:kg/m^3", "4*pi*r^3*rho/3", "4*pi*r^2*rho", "surface for volume"},
	{"kg m^2", "m:kg, L:m, d:m", "m*L^2/12 + m*d^2", "m*L^2/3 + m*d^2", "table value of another body"},
	{"kg m^2", "m:kg, r:m, d:m", "2*m*r^2/5 + m*d^2", "2*m*r^2/5 + m*(d+r)^2", "sum for a part"},
	{"kg m^2", "m:kg, r:m, d:m", "m*r^2/2 + m*d^2", "m*r^2/2 + d^2", "factor missing"},
	{"kg m^2", "m:kg, M:kg, l:m", "m*l^2 + M*l^2/3", "m*l^2 + M*l^2/12", "table value of another body"},
	{"s", "I:kg m^2, m:kg, g:m/s^2, d:m", "2*pi*sqrt(I/(m*g*d))", "2*pi*sqrt(m*g*d/I)", "inverse"},
	{"s", "I:kg m^2, m:kg, g:m/s^2, d:m", "2*pi*sqrt(I/(m*g*d))", "2*pi*sqrt(I/(m*d))", "factor missing"},
	{"s", "I:kg m^2, m:kg, g:m/s^2, d:m", "2*pi*sqrt(I/(m*g*d))", "sqrt(I/(m*g*d))", "factor 2π"},
	{"s", "l:m, g:m/s^2", "2*pi*sqrt(l/g)", "pi*sqrt(l/g)", "factor 2"},
	{"s", "k:N/m, m:kg", "2*pi*sqrt(m/k)", "2*pi*sqrt(k/m)", "inverse"},
	{"Hz", "k:N/m, m:kg", "sqrt(k/m)/(2*pi)", "sqrt(m/k)/(2*pi)", "inverse"},
	{"Hz", "k:N/m, m:kg", "sqrt(k/m)/(2*pi)", "k/(2*pi*m)", "square root"},
	{"Hz", "k:N/m, m:kg", "sqrt(k/m)/(2*pi)", "2*pi*sqrt(k/m)", "angular frequency for frequency"},
	{"rad/s", "k:N/m, m:kg, M:kg", "sqrt(k/(m+M/3))", "sqrt(k/(m+M))", "constant"},
	{"N m", "m:kg, g:m/s^2, l:m, q:1", "m*g*l*sin(q)", "m*l*sin(q)", "factor g"},
	{"N m", "m:kg, g:m/s^2, l:m, q:1", "m*g*l*sin(q)", "m*g*l*q", "function missing"},
	{"N m", "m:kg, g:m/s^2, l:m, q:1", "m*g*l*sin(q)", "m*g*l*tan(q)", "sine for cosine"},
	{"J", "m:kg, g:m/s^2, l:m, q:1", "m*g*l*(1-cos(q))", "m*g*l*cos(q)", "wrong reference point"},
	{"J", "m:kg, g:m/s^2, l:m, q:1", "m*g*l*(1-cos(q))", "m*g*l*sin(q)", "derivative"},
	{"J", "m:kg, v:m/s", "m*v^2/2", "m*v^2", "factor 2"},
	{"J", "m:kg, v:m/s", "m*v^2/2", "m*v/2", "square"},
	{"m/s", "g:m/s^2, h:m", "sqrt(2*g*h)", "2*g*h", "square root"},
	{"m/s", "g:m/s^2, h:m", "sqrt(2*g*h)", "sqrt(g*h)", "factor √2"},
	{"m/s", "l:m, g:m/s^2, q:1", "sqrt(2*g*l*(1-cos(q)))", "sqrt(2*g*l*cos(q))", "wrong reference point"},
	{"N/m", "k_1:N/m, k_2:N/m", "k_1*k_2/(k_1+k_2)", "(k_1+k_2)/(k_1*k_2)", "inverse"},
	{"N/m", "k_1:N/m, k_2:N/m", "k_1 + k_2", "(k_1+k_2)/2", "factor 2"},
	{"N/m", "k_1:N/m, k_2:N/m", "k_1*k_2/(k_1+k_2)", "2*k_1*k_2/(k_1+k_2)", "factor 2"},
	{"N/m", "E:Pa, b:m, t:m, L:m", "E*b*t^3/(4*L^3)", "E*t*b^3/(4*L^3)", "symbols exchanged"},
	{"N/m", "E:Pa, b:m, t:m, L:m", "E*b*t^3/(4*L^3)", "E*b*t^3/(12*L^3)", "table value of another support"},
	{"N/m", "E:Pa, d:m:diameter, L:m", "3*pi*E*d^4/(64*L^3)", "3*pi*E*d^3/(64*L^3)", "exponent"},
	{"N m", "G:Pa, d:m:diameter, L:m", "pi*G*d^4/(32*L)", "pi*G*d^4/(64*L)", "factor 2"},
	{"rad/s", "w_0:rad/s, b:1/s", "sqrt(w_0^2 - b^2)", "w_0 - b", "power of a sum"},
	{"1", "A_0:m, A_n:m, n:1", "ln(A_0/A_n)/n", "ln(A_n/A_0)/n", "sign"},
	{"1", "A_0:m, A_n:m, n:1", "ln(A_0/A_n)/n", "log10(A_0/A_n)/n", "logarithm"},
	{"1", "A_0:m, A_n:m, n:1", "ln(A_0/A_n)/n", "(A_0/A_n)/n", "function missing"},
	{"s", "w_1:rad/s, w_2:rad/s", "2*pi/(w_2-w_1)", "1/(w_2-w_1)", "factor 2π"},
	{"s", "w_1:rad/s, w_2:rad/s", "2*pi/(w_2-w_1)", "2*pi/(w_2+w_1)", "sign of a term"},
	{"s", "T_1:s, T_2:s", "T_1*T_2/(T_1-T_2)", "T_1 - T_2", "series for parallel"},
	{"Hz", "f_1:Hz, f_2:Hz", "f_2 - f_1", "(f_2-f_1)/2", "factor 2"},
	{"rad/s", "m:kg, g:m/s^2, l:m, J:kg m^2, w:rad/s", "m*g*l/(J*w)", "m*g*l/J", "factor missing"},
	{"rad/s", "m:kg, g:m/s^2, l:m, J:kg m^2, w:rad/s", "m*g*l/(J*w)", "m*l/(J*w)", "factor g"},
	{"m", "u_1:m, u_2:m", "sqrt(u_1^2+u_2^2)", "sqrt(u_1+u_2)", "square"},
	{"m", "u_1:m, u_2:m", "sqrt(u_1^2+u_2^2)", "sqrt(u_1^2-u_2^2)", "sign of a term"},
	{"m/s^2", "g:m/s^2, u_l:m, l:m, u_T:s, T:s", "g*sqrt((u_l/l)^2+(2*u_T/T)^2)", "sqrt((u_l/l)^2+(2*u_T/T)^2)", "factor missing"},
	{"s", "s:s, n:1", "s/sqrt(n)", "s/n", "square root"},
	{"s", "s:s, n:1", "s/sqrt(n)", "s*sqrt(n)", "inverse"},
	{"Hz", "N:1, D:s", "1/(2*D)", "1/D", "factor 2"},
	{"Hz", "N:1, D:s", "1/(N*D)", "1/(2*D)", "factor missing, factor 2"},
	{"1", "b:m, h:m", "atan(b/h)", "b/h", "function missing"},
	{"1", "b:m, h:m", "atan(b/(2*h))", "atan(b/h)", "half for whole"},
	{"m", "R:m, r:m", "R - r", "R + r", "sign of a term"},
	{"s", "R:m:radius of the bowl, r:m:radius of the ball, g:m/s^2", "2*pi*sqrt(7*(R-r)/(5*g))", "2*pi*sqrt(7*R/(5*g))", "term missing"},
	{"s", "R:m:radius of the bowl, r:m:radius of the ball, g:m/s^2", "2*pi*sqrt(7*(R-r)/(5*g))", "2*pi*sqrt(3*(R-r)/(2*g))", "rolling body"},
	{"m", "p:m, n:1", "p*n/(2*pi)", "p*n", "factor 2π"},
	{"m/s", "r:m, w:rad/s, p:m", "sqrt((r*w)^2 + (p*w/(2*pi))^2)", "r*w", "term missing"},
	{"m", "r:m, p:m", "sqrt((2*pi*r)^2 + p^2)", "2*pi*r + p", "square of a sum"},
	{"N", "m:kg, g:m/s^2, a:1", "m*g*sin(a)", "m*g", "function missing"},
	{"m/s^2", "g:m/s^2, a:1, I:kg m^2, m:kg, r:m", "g*sin(a)/(1+I/(m*r^2))", "g*sin(a)", "term missing"},
	{"m/s^2", "g:m/s^2, a:1, mu:1", "g*(sin(a)-mu*cos(a))", "g*(sin(a)+mu*cos(a))", "sign of a term"},
	{"m/s^2", "g:m/s^2, a:1, mu:1", "g*(sin(a)-mu*cos(a))", "g*(sin(a)-mu*sin(a))", "sine for cosine"},
	{"m/s^2", "g:m/s^2, a:1, mu:1", "g*(sin(a)-mu*cos(a))", "g*(sin(a)-mu)", "function missing"},
	{"kg", "m_1:kg, m_2:kg", "m_1*m_2/(m_1+m_2)", "m_1+m_2", "series for parallel"},
	{"kg", "m_1:kg, m_2:kg", "m_1*m_2/(m_1+m_2)", "(m_1+m_2)/2", "series for parallel, factor 2"},
	{"s", "t:s, n:1", "t/n", "t/(2*n)", "factor 2"},
	{"s", "t:s, n:1", "t/n", "n/t", "frequency for period"},
	{"kg", "M:kg, a:m, b:m", "M*a/b", "M*b/a", "symbols exchanged"},
	{"m", "M:kg, m:kg, a:m", "m*a/(M+m)", "m*a/M", "term missing"},
	{"J", "k:N/m, x:m", "k*x^2/2", "k*x", "derivative"},
	{"N", "k:N/m, x:m", "k*x", "k*x^2/2", "exponent, factor 2"},
	{"J", "m:kg, g:m/s^2, h:m, k:N/m, x:m", "m*g*h + k*x^2/2", "m*g*h - k*x^2/2", "sign of a term"},
	{"1", "q:1", "1 - q^2/2", "1 - q^2", "term doubled"},
	{"1", "q:1", "q - q^3/6", "q - q^3/3", "term doubled"},
	{"1", "q:1", "q - q^3/6", "q + q^3/6", "sign of a term"},
}

func TestMoreSlips(t *testing.T) {
	for _, tt := range moreSlips {
		q := Question{Name: tt.key, Kind: "expression", Unit: tt.unit, Key: tt.key, Symbols: map[string]Symbol{}}
		for _, letter := range strings.Split(tt.letters, ",") {
			part := strings.SplitN(strings.TrimSpace(letter), ":", 3)
			s := Symbol{Unit: part[1], From: 0.1, To: 2}
			if part[0] == "g" {
				s.From, s.To = 9.7, 9.9
			}
			if len(part) > 2 {
				s.Means = part[2]
			}
			q.Symbols[part[0]] = s
		}
		a := mustCompile(t, q, nil)
		if v := a.Check(tt.answer); v.Outcome != Wrong || v.Slip != tt.slip {
			t.Errorf("%s for %s gets %v, %q, want %q: %s", tt.answer, tt.key, v.Outcome, v.Slip, tt.slip, v.Say)
		}
	}
}
