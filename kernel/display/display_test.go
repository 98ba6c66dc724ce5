package display

import (
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"counterpoise/kernel/display/cell"
	"counterpoise/mechanics/expr"
)

type celsius float64

func (c celsius) String() string { return "warm" }

func TestText(t *testing.T) {
	type p struct {
		X int
		S []string
	}
	for _, tt := range []struct {
		v    any
		want string
	}{
		{6, "6"}, {"text", `"text"`}, {[]int{1, 4, 9}, "[]int{1, 4, 9}"}, {nil, "nil"}, {2.5, "2.5"}, {true, "true"},
		{map[string]int{"b": 2, "a": 1}, `map[string]int{"a": 1, "b": 2}`},
		{[]any{1, "x", nil}, `[]any{1, "x", nil}`},
		{[]int(nil), "[]int(nil)"}, {(*int)(nil), "(*int)(nil)"}, {complex(1, 2), "(1+2i)"}, {[]byte("a"), "[]byte{97}"},
	} {
		if got := Text(tt.v); got != tt.want {
			t.Errorf("got %s, want %s", got, tt.want)
		}
	}
	if got := Text(&p{1, []string{"q"}}); got != `&display.p{X: 1, S: []string{"q"}}` {
		t.Error(got)
	}
}

func TestBundles(t *testing.T) {
	for _, tt := range []struct {
		name string
		v    any
		want map[string]string // parts of the content
	}{
		{"method String", celsius(1), map[string]string{"text/plain": "warm"}},
		{"HTML", cell.HTML("<b>x</b>"), map[string]string{"text/html": "<b>x</b>", "text/plain": "x"}},
		{"drawing", cell.SVG("<svg xmlns='http://www.w3.org/2000/svg'/>"), map[string]string{"image/svg+xml": "<svg", "text/plain": "drawing"}},
		{"matrix", mat.NewDense(2, 2, []float64{1, 2, 3, 4}), map[string]string{"text/html": "<td>4</td>", "text/plain": "⎡1  2⎤"}},
		{"numbers", []float64{0.5, 1}, map[string]string{"text/html": "<td>0.5</td>", "text/plain": "[]float64{0.5, 1}"}},
		{"expression", expr.Sin(expr.Sym("θ")), map[string]string{"text/latex": "\\theta", "text/plain": "sin"}},
	} {
		b := Of(tt.v)
		for kind, part := range tt.want {
			if s, _ := b.Data[kind].(string); !strings.Contains(s, part) {
				t.Errorf("%s: %s is %q, without %q", tt.name, kind, s, part)
			}
		}
	}
	if s := Of(strings.Repeat("x", 100_000)).Data["text/plain"].(string); len(s) > 2*maxText || !strings.Contains(s, "left out") {
		t.Errorf("a long text has %d bytes", len(s))
	}
}
