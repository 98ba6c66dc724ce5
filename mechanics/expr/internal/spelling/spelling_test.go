package spelling

import (
	"strings"
	"testing"
)

// Common practice, no source: the spellings that people type or paste.
func TestRead(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"m", "m"}, {"m1", "m_1"}, {"m₁", "m_1"}, {"m_{1}", "m_1"}, {"m_1", "m_1"}, {" m _ 1 ", "m_1"}, {"{m}_{12}", "m_12"},
		{"theta", "θ"}, {`\theta`, "θ"}, {"ϑ", "θ"}, {"theta1", "θ_1"}, {"theta_dot", "θ_dot"}, {`\vartheta_{2}`, "θ_2"}, {"Theta", "Θ"},
		{`\dot{\theta}`, "θ'"}, {`\dot\theta`, "θ'"}, {`\ddot{\theta}_{1}`, "θ_1''"}, {`\ddot{\theta_1}`, "θ_1''"}, {"θ̇", "θ'"}, {"ẋ", "x'"}, {"ẍ", "x''"},
		{"x′", "x'"}, {"x″", "x''"}, {`x"`, "x''"}, {"x'_1", "x_1'"}, {"x_1'", "x_1'"}, {`x^\prime`, "x'"}, {`x^{\prime\prime}`, "x''"},
		{"I_cm", "I_cm"}, {`I_{\mathrm{cm}}`, "I_cm"}, {`I_\text{cm}`, "I_cm"}, {"I_c_m", "I_cm"}, {`\mathrm{I}_c`, "I_c"},
		{"Δx", "Δx"}, {`\Delta x`, "Δx"}, {`\Delta\theta_1`, "Δθ_1"}, {"Δtheta", "Δθ"}, {"∆t", "Δt"},
		{"x_theta", "x_θ"}, {`x_{\theta m}`, "x_θm"}, {`v_{1max}`, "v_1max"}, {"x2y", "x_2y"}, {"m1_2", "m_12"},
		{"µ", "μ"}, {"ℓ", "l"}, {`\ell_0`, "l_0"}, {"\u2126", "Ω"}, {`\hbar`, "ħ"},
		{"heron.cg.y", "heron.cg.y"}, {"heron.cg.y'", "heron.cg.y'"}, {"heron.arm_1.mass", "heron.arm_1.mass"}, {"arm_length", "arm_length"},
		{"mgd", "mgd"}, {"pi", "π"}, {"PI", "PI"},
	} {
		n, err := Read(tt.text)
		if err != nil || n.String() != tt.want {
			t.Errorf("%q: got %q (%v), want %q", tt.text, n, err, tt.want)
		}
		if again, err := Read(n.String()); err != nil || again != n || Split(n.String()) != n {
			t.Errorf("%q reads as %v, which reads back as %v (%v) and splits into %v", tt.text, n, again, err, Split(n.String()))
		}
	}
}

func TestNoNames(t *testing.T) {
	for _, tt := range []struct{ text, remedy string }{
		{"", "write a letter"}, {"  ", "write a letter"}, {"1x", "write a letter first"}, {"_x", "write a letter before it"}, {"x_", "and after it"},
		{"a-b", "- cannot stand in it: use"}, {"a+b", "+ cannot stand"}, {"aθ", "as in a_θ"}, {"θx", "as in a_θ"}, {"x^2", "leave it out"},
		{`\frac`, `\frac cannot stand in it`}, {"x{", "write }"}, {"x}", "} cannot stand"}, {"é", "cannot stand"}, {"'", "write a letter first"},
		{"heron..y", ". cannot stand"}, {"heron.", ". cannot stand"}, {"\xff", "UTF-8"}, {"₁", "write a letter first"}, {"x̂", "cannot stand"},
		{strings.Repeat("x", 65), "shorten it"}, {strings.Repeat("{", 20) + "x" + strings.Repeat("}", 20), "too deep"}, {"质", "cannot stand"},
	} {
		n, err := Read(tt.text)
		if err == nil || !strings.Contains(err.Error(), tt.remedy) {
			t.Errorf("%q: got %v and the error %v, want %q in it", tt.text, n, err, tt.remedy)
		}
	}
}
