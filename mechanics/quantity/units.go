package quantity

import (
	"math/big"
	"strings"
	"sync"
)

// A known unit: its symbol, its size in SI base units as (scale × π^pi), its
// dimension, its power of angle, and whether SI prefixes go with it.
type known struct {
	symbol   string
	names    []string // in full, without a plural s
	scale    *big.Rat
	pi       int
	dim      Dimension
	angle    int
	prefixes bool
}

func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("quantity: bad rational in the table of units: " + s)
	}
	return r
}

// knownUnits returns the list of units. SI units and those accepted beside them:
// BIPM, The International System of Units (9th ed., 2019), Tables 2, 4 and 8.
// Inch, foot, pound and ounce: international yard and pound agreement of 1959
// (NIST Handbook 44, Appendix C); pound-force with standard gravity (G1).
// From memory, unchecked; the tests hold them to gonum's constants.
func knownUnits() []known {
	return []known{
		{"g", []string{"gram", "gramme"}, rat("1/1000"), 0, Mass, 0, true},
		{"m", []string{"metre", "meter"}, rat("1"), 0, Length, 0, true},
		{"s", []string{"second", "sec"}, rat("1"), 0, Time, 0, true},
		{"A", []string{"ampere"}, rat("1"), 0, dimension(current, 1), 0, true},
		{"K", []string{"kelvin"}, rat("1"), 0, dimension(temperature, 1), 0, true},
		{"mol", []string{"mole"}, rat("1"), 0, dimension(amount, 1), 0, true},
		{"cd", []string{"candela"}, rat("1"), 0, dimension(intensity, 1), 0, true},

		{"rad", []string{"radian"}, rat("1"), 0, One, 1, true},
		{"sr", []string{"steradian"}, rat("1"), 0, One, 2, true},
		{"Hz", []string{"hertz"}, rat("1"), 0, Frequency, 0, true},
		{"N", []string{"newton"}, rat("1"), 0, Force, 0, true},
		{"Pa", []string{"pascal"}, rat("1"), 0, Pressure, 0, true},
		{"J", []string{"joule"}, rat("1"), 0, Energy, 0, true},
		{"W", []string{"watt"}, rat("1"), 0, Power, 0, true},
		{"C", []string{"coulomb"}, rat("1"), 0, dimension(current, 1).Mul(Time), 0, true},
		{"V", []string{"volt"}, rat("1"), 0, Power.Div(dimension(current, 1)), 0, true},
		{"Ω", []string{"ohm"}, rat("1"), 0, Power.Div(dimension(current, 2)), 0, true},
		{"T", []string{"tesla"}, rat("1"), 0, Force.Div(dimension(current, 1).Mul(Length)), 0, true},

		{"min", []string{"minute"}, rat("60"), 0, Time, 0, false},
		{"h", []string{"hour"}, rat("3600"), 0, Time, 0, false},
		{"d", []string{"day"}, rat("86400"), 0, Time, 0, false},
		{"°", []string{"degree"}, rat("1/180"), 1, One, 1, false},
		{"deg", nil, rat("1/180"), 1, One, 1, false},
		{"′", nil, rat("1/10800"), 1, One, 1, false},
		{"″", nil, rat("1/648000"), 1, One, 1, false},
		{"arcmin", nil, rat("1/10800"), 1, One, 1, false},
		{"arcsec", nil, rat("1/648000"), 1, One, 1, false},
		{"rev", []string{"revolution"}, rat("2"), 1, One, 1, false},
		{"turn", []string{"turn"}, rat("2"), 1, One, 1, false},
		{"rpm", nil, rat("1/30"), 1, Frequency, 1, false},
		{"L", []string{"litre", "liter"}, rat("1/1000"), 0, Volume, 0, true},
		{"l", nil, rat("1/1000"), 0, Volume, 0, true},
		{"t", []string{"tonne"}, rat("1000"), 0, Mass, 0, true},
		{"bar", nil, rat("100000"), 0, Pressure, 0, true},
		{"atm", nil, rat("101325"), 0, Pressure, 0, false},
		{"ha", []string{"hectare"}, rat("10000"), 0, Area, 0, false},
		{"%", []string{"percent"}, rat("1/100"), 0, One, 0, false},
		{"‰", nil, rat("1/1000"), 0, One, 0, false},
		{"ppm", nil, rat("1/1000000"), 0, One, 0, false},

		{"in", []string{"inch"}, rat("0.0254"), 0, Length, 0, false},
		{"ft", []string{"foot"}, rat("0.3048"), 0, Length, 0, false},
		{"yd", []string{"yard"}, rat("0.9144"), 0, Length, 0, false},
		{"mi", []string{"mile"}, rat("1609.344"), 0, Length, 0, false},
		{"mph", nil, rat("0.44704"), 0, Velocity, 0, false},
		{"lb", []string{"pound"}, rat("0.45359237"), 0, Mass, 0, false},
		{"oz", []string{"ounce"}, rat("0.028349523125"), 0, Mass, 0, false},
		{"lbf", nil, rat("4.4482216152605"), 0, Force, 0, false},
		{"kgf", nil, rat("9.80665"), 0, Force, 0, false},
		{"psi", nil, rat("44482216152605/6451600000"), 0, Pressure, 0, false},
		{"ksi", nil, rat("44482216152605/6451600"), 0, Pressure, 0, false},
		{"Mpsi", nil, rat("444822161526050/64516"), 0, Pressure, 0, false},

		// Written without a space by nearly everybody.
		{"Nm", nil, rat("1"), 0, Torque, 0, true},
		{"Nmm", nil, rat("1/1000"), 0, Torque, 0, false},
		{"Ncm", nil, rat("1/100"), 0, Torque, 0, false},
		{"Wh", nil, rat("3600"), 0, Energy, 0, true},
	}
}

// prefixes of the SI. Source: BIPM, The International System of Units (9th ed.,
// 2019), Table 7; from memory, unchecked.
var prefixes = []struct {
	symbol, name string
	power        int
}{
	{"Q", "quetta", 30}, {"R", "ronna", 27}, {"Y", "yotta", 24}, {"Z", "zetta", 21},
	{"E", "exa", 18}, {"P", "peta", 15}, {"T", "tera", 12}, {"G", "giga", 9}, {"M", "mega", 6},
	{"k", "kilo", 3}, {"h", "hecto", 2}, {"da", "deca", 1}, {"d", "deci", -1}, {"c", "centi", -2},
	{"m", "milli", -3}, {"µ", "micro", -6}, {"n", "nano", -9}, {"p", "pico", -12}, {"f", "femto", -15},
	{"a", "atto", -18}, {"z", "zepto", -21}, {"y", "yocto", -24}, {"r", "ronto", -27}, {"q", "quecto", -30},
}

// bySymbol returns every unit that can be written, with its prefixes, under each
// of its spellings; the value's symbol is the one that is printed. The table is
// made on first use: not every program reads units.
var bySymbol = sync.OnceValue(makeSymbols)

func makeSymbols() map[string]known {
	all, units := map[string]known{}, knownUnits()
	add := func(spelling string, k known) {
		if _, taken := all[spelling]; !taken {
			all[spelling] = k
		}
	}
	for _, k := range units { // plain symbols win over prefixed ones: min, not milli-inch
		add(k.symbol, k)
		for _, name := range k.names {
			add(name, k)
			add(plural(name), k)
		}
	}
	for _, k := range units {
		if !k.prefixes {
			continue
		}
		for _, p := range prefixes {
			with := k
			with.symbol = p.symbol + k.symbol
			with.scale = new(big.Rat).Mul(k.scale, powerOfTen(p.power))
			add(with.symbol, with)
			if p.symbol == "µ" {
				add("u"+k.symbol, with)
			}
			for _, name := range k.names {
				add(p.name+name, with)
				add(plural(p.name+name), with)
			}
		}
	}
	return all
}

func plural(name string) string {
	switch {
	case name == "foot":
		return "feet"
	case strings.HasSuffix(name, "ch"):
		return name + "es"
	case strings.HasSuffix(name, "z"), name == "percent":
		return name
	}
	return name + "s"
}

func powerOfTen(n int) *big.Rat {
	p := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(n, -n))), nil)
	if n < 0 {
		return new(big.Rat).SetFrac(big.NewInt(1), p)
	}
	return new(big.Rat).SetInt(p)
}

// piRat is π to 60 decimals, so that angles too are converted with one rounding.
var piRat = rat("3.141592653589793238462643383279502884197169399375105820974944")

// remedies say what to write for spellings that are common and wrong.
var remedies = map[string]string{
	"gr": "write g for grams", "gm": "write g for grams", "gms": "write g for grams", "grs": "write g for grams",
	"Gr": "write g for grams", "Kg": "write kg for kilograms", "KG": "write kg for kilograms",
	"kgs": "write kg for kilograms", "Kgs": "write kg for kilograms", "kilo": "write kg for kilograms",
	"kilos": "write kg for kilograms",
	"Sec":   "write s for seconds", "msec": "write ms for milliseconds", "mins": "write min for minutes", "hr": "write h for hours",
	"hrs": "write h for hours", "mtr": "write m for metres", "mtrs": "write m for metres",
	"M": "write m for metres", "MM": "write mm for millimetres", "Mm.": "write mm for millimetres",
	"CM": "write cm for centimetres", "mts": "write m for metres",
	"degs": "write deg or °", "Deg": "write deg or °", "rads": "write rad", "Rad": "write rad",
	"hz": "write Hz for hertz", "HZ": "write Hz for hertz", "n": "write N for newtons", "j": "write J for joules",
	"nm.": "write N m for newton metres", "RPM": "write rpm", "rps": "write rev/s", "kph": "write km/h",
	"kmh": "write km/h", "kmph": "write km/h", "mps": "write m/s", "cc": "write cm^3", "c": "write cm for centimetres",
	"°C": "temperatures are written in K here", "°F": "temperatures are written in K here",
	"cps": "write Hz for hertz", "pa": "write Pa for pascals", "PSI": "write psi",
	"lbs": "write lb for pounds", "cycles": "write rev or Hz", "r": "write rev for turns",
}
