package parse

import (
	"strings"
	"testing"
)

// A dot between factors is refused and no factor is lost; the dot of a
// program's library is read. Common practice, no source.
func TestDotBetweenFactors(t *testing.T) {
	for _, o := range []Options{{}, {Symbols: []string{"r", "a", "l", "g"}}, {Symbols: []string{"r", "a", "l", "g"}, Open: true}} {
		for _, text := range []string{"2.pi.sqrt(l/g)", "r.sin(a)/a", "2.r.sin(a)", "rg.sin(a)", "pi.r.sin(a)", "pi.sqrt(l)"} {
			e, err := Parse(text, o)
			if err == nil {
				t.Errorf("%s with %v is read as %v", text, o.Symbols, e)
			} else if !strings.Contains(err.Error(), "write * for a product") {
				t.Errorf("%s: %v", text, err)
			}
		}
		got, err := Parse("2*math.pi*math.sqrt(l/g)", o)
		want, _ := Parse("2 π sqrt(l/g)", o)
		if err != nil || !got.Equal(want) {
			t.Errorf("a library's root: %v, %v", got, err)
		}
	}
}
