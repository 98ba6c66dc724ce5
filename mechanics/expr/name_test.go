package expr_test

import (
	"testing"

	. "counterpoise/mechanics/expr"

	"pgregory.net/rapid"
)

// Canonical of a canonical name is that name, whatever was typed.
func TestCanonicalTwiceIsOnce(t *testing.T) {
	piece := rapid.SampledFrom([]string{"x", "m", "theta", `\theta`, "θ", "ϑ", "1", "12", "_", "{", "}", "'", "′", `\dot`, `\ddot`,
		"₁", "ₐ", " ", ".", "\u0307", "\u0308", "é", "ẋ", `\mathrm`, "cm", "ℓ", "pi", "phi", `\`})
	rapid.Check(t, func(t *rapid.T) {
		name := ""
		for _, p := range rapid.SliceOfN(piece, 1, 6).Draw(t, "pieces") {
			name += p
		}
		once := Canonical(name)
		if twice := Canonical(once); twice != once {
			t.Fatalf("%q becomes %q, which becomes %q", name, once, twice)
		}
	})
}

func FuzzCanonical(f *testing.F) {
	for _, name := range []string{"theta1", `\ddot{\phi}_{cm}`, "m₁₂", "θ̇", "heron.cg.y", `\mathrm{I}_c`, "x''", "__", "{'", "\xff"} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		once := Canonical(name)
		if twice := Canonical(once); twice != once {
			t.Fatalf("%q becomes %q, which becomes %q", name, once, twice)
		}
	})
}
