package question

import (
	"strings"
	"testing"
)

func TestVectorOfNumbers(t *testing.T) {
	a := mustCompile(t, Question{Name: "cg", Kind: "vector", Key: "(a, -2 a)", Unit: "mm", Frame: []string{"x", "y"}}, values("a", "30 mm"))
	checkTold(t, a, []told{
		{"(30 mm, -60 mm)", Right, "", ""}, {"(30, -60) mm", Right, "", ""}, {"(3.0 cm, -60.0 mm)", Right, "", ""}, {"[30 mm; -60 mm]", Right, "", ""},
		{"r = (30 mm, -60 mm)", Right, "", ""}, {"x = 30 mm, y = -60 mm", Right, "", ""}, {"y = -60 mm; x = 30 mm", Right, "", ""},
		{`\begin{pmatrix} 30\,\mathrm{mm} \\ -60\,\mathrm{mm} \end{pmatrix}`, Right, "", ""},
		{"30 mm, -60 mm", Right, "", ""},
		{"(30, -60)", Unreadable, "unit missing", "x component"},
		{"(30 mm, 60 mm)", Wrong, "sign", "y component"}, {"(-30 mm, 60 mm)", Wrong, "sign", "turned round"},
		{"(-60 mm, 30 mm)", Wrong, "components exchanged", ""},
		{"(30 mm, -60 mm, 0 mm)", Unreadable, "", "2 components asked"}, {"30 mm", Unreadable, "", "2 components asked"},
	})
}

func TestVectorOfFormulas(t *testing.T) {
	a := mustCompile(t, Question{Name: "v", Kind: "vector", Key: "(l θ' cos(θ), l θ' sin(θ))", Frame: []string{"x", "y"}, Time: []string{"θ"},
		Symbols: map[string]Symbol{"l": {Unit: "m"}, "θ": {Unit: "1", From: -1, To: 1}},
		Slips:   []Slip{{Gives: "(l cos(θ), l sin(θ))", Say: "That is the direction without the rate.", Name: "rate"}}}, nil)
	checkTold(t, a, []told{
		{"(l θ' cos θ, l θ' sin θ)", Right, "", ""}, {"l θ' cos(θ) e_x + l θ' sin(θ) e_y", Right, "", ""}, {"lθ' (cos(θ) i + sin(θ) j)", Right, "", ""},
		{`l\dot\theta\cos\theta\,\hat{x} + l\dot\theta\sin\theta\,\hat{y}`, Right, "", ""},
		{"(l cos θ, l sin θ)", Wrong, "rate", "without the rate"},
		{"(l θ' sin θ, l θ' cos θ)", Wrong, "components exchanged", ""},
		{"(l θ' cos θ, l θ' cos θ)", Wrong, "sine for cosine", "y component"},
		{"(l θ' cos θ, 2 l)", Wrong, "dimension", "y component"},
		{"(l θ' cos θ, )", Unreadable, "", "empty"}, {"(l θ' cos θ, ((", Unreadable, "", ""},
	})
}

func TestMatrix(t *testing.T) {
	a := mustCompile(t, Question{Name: "K", Kind: "matrix", Key: "((k_1 + k_2, -k_2), (-k_1, k_2))", Symbols: map[string]Symbol{"k_1": {Unit: "N/m"}, "k_2": {Unit: "N/m"}}}, nil)
	checkTold(t, a, []told{
		{"((k1 + k2, -k2), (-k1, k2))", Right, "", ""}, {"[[k1 + k2, -k2], [-k1, k2]]", Right, "", ""}, {"k1 + k2, -k2; -k1, k2", Right, "", ""},
		{`K = \begin{bmatrix} k_1 + k_2 & -k_2 \\ -k_1 & k_2 \end{bmatrix}`, Right, "", ""},
		{"((k1 + k2, -k1), (-k2, k2))", Wrong, "transposed", ""},
		{"((k1 + k2, k2), (-k1, k2))", Wrong, "sign", "row 1, column 2"},
		{"((k1 + k2, -k2))", Unreadable, "", "2 rows of 2 asked"}, {"((k1, k2), (k1))", Unreadable, "", "equally long"},
	})
}

// A letter of the sheet that is also a unit stays a letter in a matrix of
// formulas: 2 m s^2 is no number of metre seconds squared.
func TestLettersThatAreUnitsStayLetters(t *testing.T) {
	q := Question{
		Name: "tensor", Kind: "matrix", Frame: []string{"x", "y"},
		Key:    "((2 m s^2, -2 m r s), (-2 m r s, 2 m r^2))",
		Params: map[string]string{"m": "18 g", "r": "80 mm", "s": "30 mm"},
	}
	a, err := Compile(q, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, answer := range []string{"((2 m s^2, -2 m r s), (-2 m r s, 2 m r^2))", "((2ms², -2mrs), (-2mrs, 2mr²))"} {
		if v := a.Check(answer); v.Outcome != Right {
			t.Errorf("%s is %v: %s", answer, v.Outcome, v.Say)
		}
	}
	if v := a.Check("((2 m r^2, -2 m r s), (-2 m r s, 2 m s^2))"); v.Outcome != Wrong {
		t.Errorf("exchanged axes are %v", v.Outcome)
	}
}

// A vector is read in the ways in which students write one.
func TestVectorAsStudentsWriteIt(t *testing.T) {
	speed := mustCompile(t, Question{Kind: "vector", Key: "(v cos(q), v sin(q))", Frame: []string{"x", "y"}, Symbols: map[string]Symbol{"v": {Unit: "m/s"}, "q": {Unit: "1", From: 0.2, To: 1.2}}}, nil)
	for _, answer := range []string{
		"(v cos q, v sin q)", "v (cos q, sin q)", "v*(cos(q), sin(q))", `v \begin{pmatrix} \cos q \\ \sin q \end{pmatrix}`, `\left(\begin{array}{c} v \cos q \\ v \sin q \end{array}\right)`,
		"{v cos q, v sin q}", "<v cos q, v sin q>", "v_x = v cos q, v_y = v sin q", "x: v cos q; y: v sin q", "v cos q e_x + v sin q e_y", "v cos(q) i + v sin(q) j", "-(-v cos q, -v sin q)",
	} {
		if v := speed.Check(answer); v.Outcome != Right {
			t.Errorf("%s gets %v: %s", answer, v.Outcome, v.Say)
		}
	}
	checkTold(t, speed, []told{
		{"v (sin q, cos q)", Wrong, "components exchanged", ""}, {"2 (v cos q, v sin q)", Wrong, "factor 2", "x component and the y component"},
		{"v", Unreadable, "", "commas between"}, {strings.Repeat("v,", 30_000), Unreadable, "", "more than 64"},
	})
	shift := mustCompile(t, Question{Kind: "vector", Key: "(a, -2 a)", Unit: "mm", Frame: []string{"x", "y"}}, values("a", "30 mm"))
	for _, answer := range []string{
		"(30, -60) mm", "30 mm e_x - 60 mm e_y", "(30 e_x - 60 e_y) mm", "30 mm i - 60 mm j", `30 mm \hat{x} - 60 mm \hat{y}`, "x: 30 mm, y: -60 mm", "{30, -60} mm", "<30, -60> mm",
		"30 (1, -2) mm", `30 \begin{pmatrix}1\\-2\end{pmatrix} mm`, "3.0 cm i - 6.0 cm j",
	} {
		if v := shift.Check(answer); v.Outcome != Right {
			t.Errorf("%s gets %v: %s", answer, v.Outcome, v.Say)
		}
	}
	checkTold(t, shift, []told{{"30 mm e_x + 60 mm e_y", Wrong, "sign", "the y component"}, {"60 mm j", Wrong, "", ""}})
	stiffness := mustCompile(t, Question{Kind: "matrix", Key: "((k_1 + k_2, -k_2), (-k_2, k_2))", Symbols: map[string]Symbol{"k_1": {Unit: "N/m"}, "k_2": {Unit: "N/m"}}}, nil)
	for _, answer := range []string{"{{k1 + k2, -k2}, {-k2, k2}}", "k1 + k2, -k2\n-k2, k2", `\left[\begin{array}{cc}k_1+k_2&-k_2\\-k_2&k_2\end{array}\right]`} {
		if v := stiffness.Check(answer); v.Outcome != Right {
			t.Errorf("%s gets %v: %s", answer, v.Outcome, v.Say)
		}
	}
}
