package body

import (
	"fmt"
	"slices"
	"strings"
)

// A Material is what a part is made of. A modulus of 0 means that it is not known
// here.
type Material struct {
	Name    string
	Density float64 // kg/m³
	Young   float64 // modulus of elasticity, Pa
	Shear   float64 // modulus of rigidity, Pa
	Yield   float64 // stress at which it begins to bend for good, Pa; 0 = not known
}

// materials at room temperature. Metals: our choice of round values inside the
// ranges of check-values M1 to M8 (Machinery's Handbook as reproduced; Lai, Rubin
// and Krempl, Introduction to Continuum Mechanics, Table 5.2; university
// hand-outs). Tungsten, bismuth, tin: check-values M7, from memory. Bearing steel:
// the density that fits a maker's table of balls (check-values B1). Yield stresses,
// woods, plastics, card, cork, putty: Common practice, no source; woods vary by a
// quarter, so weigh yours.
var materials = []Material{
	{"steel", 7850, 207e9, 79.3e9, 250e6},
	{"bearing steel", 7830, 207e9, 79.3e9, 0},
	{"music wire", 7860, 200e9, 81e9, 1500e6},
	{"stainless steel", 7900, 193e9, 68.9e9, 1100e6},
	{"brass", 8500, 103e9, 39e9, 200e6},
	{"copper", 8900, 117e9, 44e9, 70e6},
	{"aluminium", 2700, 70e9, 26e9, 110e6},
	{"phosphor bronze", 8800, 110e9, 41e9, 400e6},
	{"tungsten", 19250, 400e9, 160e9, 0},
	{"bismuth", 9780, 32e9, 12e9, 0},
	{"tin", 7290, 50e9, 18e9, 15e6},
	{"wood", 650, 10e9, 0, 0},
	{"beech", 720, 14e9, 0, 0},
	{"pine", 500, 9e9, 0, 0},
	{"balsa", 160, 3e9, 0, 0},
	{"plywood", 680, 9e9, 0, 0},
	{"bamboo", 700, 18e9, 0, 0},
	{"acrylic", 1190, 3.2e9, 1.2e9, 65e6},
	{"nylon", 1140, 2.7e9, 1e9, 50e6},
	{"PLA", 1240, 3.5e9, 1.3e9, 50e6},
	{"plastic", 1200, 3e9, 1.1e9, 40e6},
	{"glass", 2500, 70e9, 29e9, 0},
	{"card", 700, 3e9, 0, 0},
	{"paper", 800, 3e9, 0, 0},
	{"cork", 200, 20e6, 0, 0},
	{"foam", 30, 5e6, 0, 0},
	{"putty", 1800, 0, 0, 0},
	{"rubber", 1100, 3e6, 1e6, 0},
}

// Materials returns the materials that are known by name.
func Materials() []Material { return slices.Clone(materials) }

// MaterialNamed returns a known material; the error suggests a name.
func MaterialNamed(name string) (Material, error) {
	names := make([]string, len(materials))
	for i, m := range materials {
		if strings.EqualFold(strings.TrimSpace(name), m.Name) {
			return m, nil
		}
		names[i] = m.Name
	}
	if strings.EqualFold(name, "aluminum") {
		return MaterialNamed("aluminium")
	}
	if strings.EqualFold(name, "lead") {
		return Material{}, fmt.Errorf("lead is poisonous and is left out: use steel, brass, tin, bismuth or tungsten, or give a density")
	}
	return Material{}, fmt.Errorf("unknown material %q: use one of %s, or give a density", name, strings.Join(names, ", "))
}
