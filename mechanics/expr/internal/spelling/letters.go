package spelling

// Greek gives the letter for its name in TeX or in plain text.
var Greek = map[string]string{
	"alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "varepsilon": "ε", "zeta": "ζ",
	"eta": "η", "theta": "θ", "vartheta": "θ", "iota": "ι", "kappa": "κ", "varkappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν",
	"xi": "ξ", "omicron": "ο", "pi": "π", "varpi": "π", "rho": "ρ", "varrho": "ρ", "sigma": "σ", "varsigma": "σ",
	"tau": "τ", "upsilon": "υ", "phi": "φ", "varphi": "φ", "chi": "χ", "psi": "ψ", "omega": "ω",
	"Gamma": "Γ", "Delta": "Δ", "Theta": "Θ", "Lambda": "Λ", "Xi": "Ξ", "Pi": "Π", "Sigma": "Σ",
	"Upsilon": "Υ", "Phi": "Φ", "Psi": "Ψ", "Omega": "Ω",
}

// Command gives the letter that a command of TeX stands for.
func Command(word string) (letter string, ok bool) {
	switch word {
	case "ell":
		return "l", true
	case "hbar":
		return "ħ", true
	}
	letter, ok = Greek[word]
	return letter, ok
}

// Usual gives the usual form of a letter or a prime for its look-alikes.
var Usual = map[rune]string{
	'ϵ': "ε", 'ϑ': "θ", 'ϰ': "κ", 'ϖ': "π", 'ϱ': "ρ", 'ς': "σ", 'ϕ': "φ", 'µ': "μ", '\u2126': "Ω", 'ℓ': "l", '∆': "Δ",
	'′': "'", '’': "'", '‘': "'", 'ʹ': "'", '´': "'", '″': "''", '”': "''", '"': "''", '‴': "'''", '⁗': "''''",
}

// Lowered gives the plain character for a Unicode subscript.
var Lowered = map[rune]rune{
	'₀': '0', '₁': '1', '₂': '2', '₃': '3', '₄': '4', '₅': '5', '₆': '6', '₇': '7', '₈': '8', '₉': '9',
	'ₐ': 'a', 'ₑ': 'e', 'ₕ': 'h', 'ᵢ': 'i', 'ⱼ': 'j', 'ₖ': 'k', 'ₗ': 'l', 'ₘ': 'm', 'ₙ': 'n', 'ₒ': 'o', 'ₚ': 'p',
	'ᵣ': 'r', 'ₛ': 's', 'ₜ': 't', 'ᵤ': 'u', 'ᵥ': 'v', 'ₓ': 'x', 'ᵦ': 'β', 'ᵧ': 'γ', 'ᵨ': 'ρ', 'ᵩ': 'φ', 'ᵪ': 'χ',
}

// Dots is the number of time derivatives that a combining mark over a letter
// stands for, 0 if none.
func Dots(r rune) int {
	switch r {
	case '\u0307':
		return 1
	case '\u0308':
		return 2
	case '\u20db':
		return 3
	case '\u20dc':
		return 4
	}
	return 0
}

// Latin reports whether r is a letter without marks from a to z or A to Z.
func Latin(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }

// Letter reports whether r may stand in a symbol's name: a Latin or Greek
// letter without accents, or one of the few others that mechanics uses.
func Letter(r rune) bool {
	return Latin(r) || r >= 'Α' && r <= 'Ω' && r != '\u03a2' || r >= 'α' && r <= 'ω' && r != 'ς' || r == 'ħ' || r == 'ℒ' || r == 'ℋ'
}

func digit(r rune) bool { return r >= '0' && r <= '9' }
