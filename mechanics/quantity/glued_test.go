package quantity

import (
	"math"
	"testing"
)

// Units as people write them, beside the same by the rules. Common practice, no source.
func TestGluedAndNamedUnits(t *testing.T) {
	for _, c := range []struct{ written, meant string }{
		{"45.7 kgm^2", "45.7 kg m^2"}, {"45.7 kgm²", "45.7 kg m²"}, {"3 kgms^-2", "3 N"}, {"3 Ns/m", "3 N s/m"},
		{"0.2 Js", "0.2 J s"}, {"10.5 Hertz", "10.5 Hz"}, {"5 Newton", "5 N"}, {"5 Newtons", "5 N"}, {"3 Watt", "3 W"},
		{"2 Joule", "2 J"}, {"1.14 sec", "1.14 s"}, {"1.14 secs", "1.14 s"}, {"18 turns/s", "18 rev/s"},
		{"18.3 turns per second", "18.3 rev/s"}, {"4 Millimetres", "4 mm"},
	} {
		got, err := Parse(c.written)
		want, err2 := Parse(c.meant)
		if err != nil || err2 != nil || got.Dimension() != want.Dimension() || math.Abs(got.Value-want.Value) > 1e-12*want.Value {
			t.Errorf("%s: %v (%v), want %v (%v)", c.written, got, err, want, err2)
		}
		if again, err := Parse(got.String()); err != nil || again.Dimension() != want.Dimension() {
			t.Errorf("%s is shown as %s, which reads as %v (%v)", c.written, got, again, err)
		}
	}
	for _, refused := range []string{"5 gm", "5 kgs", "5 kgkg", "5 NEWTON", "5 KG"} {
		if q, err := Parse(refused); err == nil {
			t.Errorf("%s is read as %v", refused, q)
		}
	}
}

// One exponent behind units without a space counts for the last of them where
// that gives the dimension asked for.
func TestSpacedExponent(t *testing.T) {
	for _, c := range []struct{ written, meant string }{
		{"45.7 Nm^-1", "45.7 N/m"}, {"45.7 Nm⁻¹", "45.7 N/m"}, {"2 kNm^-1", "2 kN/m"}, {"9.81 ms^-2", "9.81 m/s^2"}, {"3 Nmm^-1", "3 N/mm"}, {"4 Nm^-2", "4 Pa"},
	} {
		q, _ := Parse(c.written)
		want, err := Parse(c.meant)
		got, ok := q.Spaced(want.Dimension())
		if err != nil || !ok || math.Abs(got.Value-want.Value) > 1e-12*want.Value {
			t.Errorf("%s: %v %v, want %v", c.written, got, ok, want)
		}
	}
	if q, _ := Parse("45.7 Nm^-1"); q.Dimension() != Torque.Pow(-1, 1) {
		t.Error("by the rules it is one over a newton metre")
	}
	if got, ok := mustParse(t, "45.7 Nm").Spaced(Mass); ok {
		t.Errorf("a mass: %v", got)
	}
}

func mustParse(t *testing.T, text string) Quantity {
	t.Helper()
	q, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return q
}
