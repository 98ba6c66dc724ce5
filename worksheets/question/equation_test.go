package question

import "testing"

func pendulum(kind, key, solve string) Question {
	return Question{Name: "motion", Kind: kind, Key: key, Solve: solve, Time: []string{"θ"}, Symbols: map[string]Symbol{
		"m": {Unit: "kg", Means: "mass"}, "g": {Unit: "m/s^2"}, "l": {Unit: "m"}, "I": {Unit: "kg m^2"}, "θ": {Unit: "1", From: -1.5, To: 1.5},
	}}
}

// The equation of motion of a compound pendulum, in any form.
func TestEquationOfMotion(t *testing.T) {
	a := mustCompile(t, pendulum("equation", "(I + m l^2) θ'' + m g l sin(θ) = 0", "θ''"), nil)
	checkTold(t, a, []told{
		{"(I + m l^2) θ'' + m g l sin(θ) = 0", Right, "", ""},
		{"(I + ml²)θ'' = -mgl sin θ", Right, "", ""},
		{`\ddot{\theta} = -\frac{m g l \sin\theta}{I + m l^2}`, Right, "", ""},
		{"0 = theta'' + m*g*l*sin(theta)/(I + m*l^2)", Right, "", ""},
		{"I θ'' = -m l (g sin θ + l θ'')", Right, "", ""},
		{"m g l sin θ θ' = -(I + m l²) θ'' θ'", Right, "", ""},
		{"(I + ml²)θ'' = mgl sin θ", Wrong, "sign", ""},
		{"(I + ml²)θ'' = -mgl cos θ", Wrong, "sine for cosine", ""},
		{"I θ'' = -mgl sin θ", Wrong, "parallel-axis term", ""},
		{"(I + ml²)θ'' = -mgl θ", Wrong, "function missing", ""},
		{"(I + ml²)θ'' = -2mgl sin θ", Wrong, "factor 2", ""},
		{"(I + ml²)θ' = -mgl sin θ", Wrong, "dimension", ""},
		{"-mgl sin θ", Unreadable, "no equation", ""},
		{"θ'' < 0", Unreadable, "", "write ="},
		{"θ = θ", Wrong, "", ""},
		{"0 = 0", Wrong, "", ""},
	})
}

func TestEquationSolvedForAnother(t *testing.T) {
	q := Question{Name: "T", Kind: "equation", Key: "T = 2 pi sqrt(l/g)", Symbols: map[string]Symbol{"T": {Unit: "s"}, "l": {Unit: "m"}, "g": {Unit: "m/s^2"}}}
	a := mustCompile(t, q, nil)
	checkTold(t, a, []told{
		{"T = 2π√(l/g)", Right, "", ""}, {"T^2 = 4 π^2 l/g", Right, "", ""}, {"g = 4π²l/T²", Right, "", ""}, {"l = g (T/(2π))^2", Right, "", ""},
		{"T/(2π) = sqrt(l)/sqrt(g)", Right, "", ""}, {"1/T = sqrt(g/l)/(2π)", Right, "", ""}, {"T = 2π√(l/g) = √(4π²l/g)", Right, "", ""},
		{"ln T = ln(2π) + ln(l/g)/2", Right, "", ""}, {"T sqrt(g) = 2π sqrt(l)", Right, "", ""},
		{"T = 2π√(g/l)", Wrong, "inverse", ""}, {"g = 2π l/T²", Wrong, "factor 2π", ""}, {"T (T - 3 sqrt(l/g)) = 2 pi sqrt(l/g) (T - 3 sqrt(l/g))", Wrong, "", ""},
		{"T² = 2π l/g", Wrong, "factor 2π", ""}, {"T = 2π√(l/g) = √(g/l)", Wrong, "angular frequency for period", ""},
	})
}

func TestEquationKeysAreChecked(t *testing.T) {
	for _, q := range []Question{
		pendulum("equation", "m g l sin(θ)", ""),
		pendulum("equation", "m g l sin(θ) = 0", "θ''"),
		pendulum("equation", "θ''^2 = sin(θ)", "θ''"),
		pendulum("equation", "m g l < 1", ""),
		pendulum("equation", "m θ'' = l", ""),
	} {
		if _, err := Compile(q, nil); err == nil {
			t.Errorf("key %q solved for %q is accepted", q.Key, q.Solve)
		}
	}
}

// A key that names its left side by a letter alone is one equation: that an
// answer could leave the letter out is no other reading of the key.
func TestEquationSolvedForALetterHasOneReading(t *testing.T) {
	a := mustCompile(t, Question{
		Name: "parabola", Kind: "equation", Key: "y = B (2 x^2/A^2 - 1)", Solve: "y",
		Symbols: map[string]Symbol{"x": {Unit: "m"}, "y": {Unit: "m"}, "A": {Unit: "m"}, "B": {Unit: "m"}},
		Slips:   []Slip{{Gives: "y = 2 B x/A", Say: "The cosine of twice an angle is not twice its cosine."}},
	}, nil)
	if d := a.Doubts(); len(d) != 0 {
		t.Errorf("doubts: %q", d)
	}
	if v := a.Check("y + B = 2 B x^2/A^2"); v.Outcome != Right {
		t.Errorf("rearranged: %v, %s", v.Outcome, v.Say)
	}
	if v := a.Check("y = 2 B x/A"); v.Outcome != Wrong || v.Slip == "" {
		t.Errorf("slip: %v, %s", v.Outcome, v.Say)
	}
}

// A key with a derivative of what is not said to change gets that as its remedy.
func TestEquationNeedsTime(t *testing.T) {
	q := Question{Name: "x", Kind: "equation", Key: "I θ'' = -c θ", Symbols: map[string]Symbol{"I": {Unit: "kg m^2"}, "c": {Unit: "N m"}, "θ": {Unit: "rad"}}}
	_, err := Compile(q, nil)
	if want := "key of x: uses θ'', but θ does not change with time here: write time: [θ]"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}
