package tex

// A symbol is a character with its class.
type symbol struct {
	text  string
	class class
}

func (s symbol) atom() atom {
	switch {
	case s.text == "+" || s.text == "−" || s.text == "±" || s.text == "∓":
		return atom{xml: "<mo>" + s.text + "</mo>", class: binary, signs: true, text: s.text}
	case s.class == opening || s.class == closing:
		form := "prefix"
		if s.class == closing {
			form = "postfix"
		}
		return atom{xml: `<mo stretchy="false" form="` + form + `">` + escape(s.text) + "</mo>", class: s.class}
	case s.class == ordinary && (s.text == "/" || s.text == "|" || s.text == "‖" || s.text == "∣"):
		return atom{xml: `<mo stretchy="false" lspace="0" rspace="0">` + s.text + "</mo>", class: ordinary}
	case s.class == ordinary:
		return atom{xml: "<mi>" + escape(s.text) + "</mi>"}
	case s.class == punctuation:
		return atom{xml: `<mo separator="true">` + s.text + "</mo>", class: punctuation}
	}
	return atom{xml: "<mo>" + escape(s.text) + "</mo>", class: s.class}
}

// characters are signs typed as themselves.
var characters = map[rune]symbol{
	'+': {"+", binary}, '-': {"−", binary}, '−': {"−", binary}, '±': {"±", binary}, '∓': {"∓", binary},
	'*': {"∗", binary}, '·': {"⋅", binary}, '⋅': {"⋅", binary}, '×': {"×", binary}, '÷': {"÷", binary},
	'=': {"=", relation}, '<': {"<", relation}, '>': {">", relation}, ':': {":", relation}, '≈': {"≈", relation},
	'≤': {"≤", relation}, '≥': {"≥", relation}, '≠': {"≠", relation}, '∝': {"∝", relation}, '→': {"→", relation}, '⇒': {"⇒", relation},
	'(': {"(", opening}, ')': {")", closing}, '[': {"[", opening}, ']': {"]", closing},
	'⟨': {"⟨", opening}, '⟩': {"⟩", closing},
	'|': {"|", ordinary}, '/': {"/", ordinary}, '!': {"!", closing}, '?': {"?", closing},
	',': {",", punctuation}, ';': {";", punctuation}, '.': {".", ordinary},
	'°': {"°", ordinary}, '%': {"%", ordinary}, '∞': {"∞", ordinary}, '∂': {"∂", ordinary}, '…': {"…", ordinary}, '"': {"″", ordinary},
	'@': {"@", ordinary},
}

// symbols are commands that stand for one character.
var symbols = map[string]symbol{
	// Greek
	"alpha": {"α", 0}, "beta": {"β", 0}, "gamma": {"γ", 0}, "delta": {"δ", 0}, "epsilon": {"ϵ", 0}, "varepsilon": {"ε", 0},
	"zeta": {"ζ", 0}, "eta": {"η", 0}, "theta": {"θ", 0}, "vartheta": {"ϑ", 0}, "iota": {"ι", 0}, "kappa": {"κ", 0},
	"lambda": {"λ", 0}, "mu": {"μ", 0}, "nu": {"ν", 0}, "xi": {"ξ", 0}, "omicron": {"ο", 0}, "pi": {"π", 0}, "varpi": {"ϖ", 0},
	"rho": {"ρ", 0}, "varrho": {"ϱ", 0}, "sigma": {"σ", 0}, "varsigma": {"ς", 0}, "tau": {"τ", 0}, "upsilon": {"υ", 0},
	"phi": {"ϕ", 0}, "varphi": {"φ", 0}, "chi": {"χ", 0}, "psi": {"ψ", 0}, "omega": {"ω", 0},
	// letters of other kinds
	"ell": {"ℓ", 0}, "hbar": {"ℏ", 0}, "Re": {"ℜ", 0}, "Im": {"ℑ", 0}, "partial": {"∂", 0}, "nabla": {"∇", 0}, "infty": {"∞", 0},
	"imath": {"ı", 0}, "jmath": {"ȷ", 0}, "aleph": {"ℵ", 0}, "emptyset": {"∅", 0}, "varnothing": {"∅", 0}, "forall": {"∀", 0}, "exists": {"∃", 0},
	"angle": {"∠", 0}, "triangle": {"△", 0}, "square": {"□", 0}, "Box": {"□", 0}, "degree": {"°", 0}, "prime": {"′", 0}, "checkmark": {"✓", 0},
	"dots": {"…", 0}, "ldots": {"…", 0}, "cdots": {"⋯", 0}, "vdots": {"⋮", 0}, "ddots": {"⋱", 0}, "dotsc": {"…", 0}, "dotsb": {"⋯", 0},
	"top": {"⊤", 0}, "bot": {"⊥", 0}, "star": {"⋆", binary}, "dagger": {"†", binary}, "pounds": {"£", 0}, "euro": {"€", 0},
	// binary operations
	"pm": {"±", binary}, "mp": {"∓", binary}, "times": {"×", binary}, "cdot": {"⋅", binary}, "div": {"÷", binary}, "ast": {"∗", binary},
	"circ": {"∘", binary}, "bullet": {"∙", binary}, "cap": {"∩", binary}, "cup": {"∪", binary}, "wedge": {"∧", binary}, "vee": {"∨", binary},
	"land": {"∧", binary}, "lor": {"∨", binary}, "setminus": {"∖", binary}, "oplus": {"⊕", binary}, "ominus": {"⊖", binary}, "otimes": {"⊗", binary}, "odot": {"⊙", binary},
	// relations
	"le": {"≤", relation}, "leq": {"≤", relation}, "ge": {"≥", relation}, "geq": {"≥", relation}, "ne": {"≠", relation}, "neq": {"≠", relation},
	"leqslant": {"⩽", relation}, "geqslant": {"⩾", relation}, "lt": {"<", relation}, "gt": {">", relation},
	"ll": {"≪", relation}, "gg": {"≫", relation}, "approx": {"≈", relation}, "sim": {"∼", relation}, "simeq": {"≃", relation},
	"equiv": {"≡", relation}, "cong": {"≅", relation}, "propto": {"∝", relation}, "lesssim": {"≲", relation}, "gtrsim": {"≳", relation}, "doteq": {"≐", relation},
	"in": {"∈", relation}, "notin": {"∉", relation}, "ni": {"∋", relation}, "subset": {"⊂", relation}, "subseteq": {"⊆", relation}, "supset": {"⊃", relation}, "supseteq": {"⊇", relation},
	"parallel": {"∥", relation}, "perp": {"⟂", relation}, "mid": {"∣", relation}, "vdash": {"⊢", relation}, "colon": {":", punctuation}, "coloneqq": {"≔", relation},
	"to": {"→", relation}, "rightarrow": {"→", relation}, "leftarrow": {"←", relation}, "gets": {"←", relation}, "leftrightarrow": {"↔", relation},
	"Rightarrow": {"⇒", relation}, "Leftarrow": {"⇐", relation}, "Leftrightarrow": {"⇔", relation}, "implies": {"⟹", relation}, "impliedby": {"⟸", relation}, "iff": {"⟺", relation},
	"longrightarrow": {"⟶", relation}, "longleftarrow": {"⟵", relation}, "Longrightarrow": {"⟹", relation}, "mapsto": {"↦", relation}, "rightleftharpoons": {"⇌", relation},
	"uparrow": {"↑", relation}, "downarrow": {"↓", relation}, "nearrow": {"↗", relation}, "searrow": {"↘", relation}, "therefore": {"∴", relation}, "because": {"∵", relation},
	// brackets
	"langle": {"⟨", opening}, "rangle": {"⟩", closing}, "lfloor": {"⌊", opening}, "rfloor": {"⌋", closing}, "lceil": {"⌈", opening}, "rceil": {"⌉", closing},
	"lvert": {"|", opening}, "rvert": {"|", closing}, "lVert": {"‖", opening}, "rVert": {"‖", closing}, "{": {"{", opening}, "}": {"}", closing},
	"lbrace": {"{", opening}, "rbrace": {"}", closing}, "lbrack": {"[", opening}, "rbrack": {"]", closing},
	"vert": {"|", ordinary}, "Vert": {"‖", ordinary}, "|": {"‖", ordinary}, "backslash": {"\\", 0},
	// signs
	"%": {"%", 0}, "$": {"$", 0}, "#": {"#", 0}, "&": {"&", 0}, "_": {"_", 0}, "neg": {"¬", 0}, "lnot": {"¬", 0},
}

// capitals are Greek capitals, upright.
var capitals = map[string]rune{
	"Gamma": 'Γ', "Delta": 'Δ', "Theta": 'Θ', "Lambda": 'Λ', "Xi": 'Ξ', "Pi": 'Π', "Sigma": 'Σ', "Upsilon": 'Υ', "Phi": 'Φ', "Psi": 'Ψ', "Omega": 'Ω',
}

// functions are names set upright. Those with true take indices under them in display.
var functions = map[string]bool{
	"sin": false, "cos": false, "tan": false, "cot": false, "sec": false, "csc": false, "arcsin": false, "arccos": false, "arctan": false,
	"sinh": false, "cosh": false, "tanh": false, "coth": false, "exp": false, "log": false, "ln": false, "lg": false, "arg": false, "deg": false,
	"dim": false, "ker": false, "hom": false, "max": true, "min": true, "sup": true, "inf": true, "lim": true, "det": true, "gcd": true, "Pr": true,
	"limsup": true, "liminf": true,
}

// large are operators that grow in display. Those with true take indices under
// and over them there.
var large = map[string]struct {
	text   string
	limits bool
}{
	"sum": {"∑", true}, "prod": {"∏", true}, "coprod": {"∐", true}, "bigcup": {"⋃", true}, "bigcap": {"⋂", true}, "bigoplus": {"⨁", true}, "bigotimes": {"⨂", true},
	"int": {"∫", false}, "iint": {"∬", false}, "iiint": {"∭", false}, "oint": {"∮", false},
}

// accents stand over what follows; those with true stretch over all of it.
var accents = map[string]struct {
	text   string
	wide   bool
	spoken string
}{
	"dot": {text: "˙"}, "ddot": {text: "¨"}, "dddot": {text: "⃛"}, "ddddot": {text: "⃜"}, "hat": {text: "^"}, "check": {text: "ˇ"}, "tilde": {text: "~"}, "bar": {text: "¯"}, "vec": {text: "→"},
	"acute": {text: "´"}, "grave": {text: "`"}, "breve": {text: "˘"}, "mathring": {text: "˚"},
	"widehat": {text: "^", wide: true}, "widetilde": {text: "~", wide: true}, "overline": {text: "‾", wide: true}, "overrightarrow": {text: "→", wide: true}, "overleftarrow": {text: "←", wide: true},
}

// spaces are widths in em.
var spaces = map[string]string{
	",": "0.1667em", "thinspace": "0.1667em", ":": "0.2222em", ">": "0.2222em", ";": "0.2778em", "!": "-0.1667em", " ": "0.25em", "\n": "0.25em", "\t": "0.25em",
	"quad": "1em", "qquad": "2em", "enspace": "0.5em", "enskip": "0.5em",
}

// sizes are brackets of a fixed size.
var sizes = map[string]string{
	"big": "1.2em", "bigl": "1.2em", "bigr": "1.2em", "bigm": "1.2em", "Big": "1.8em", "Bigl": "1.8em", "Bigr": "1.8em", "Bigm": "1.8em",
	"bigg": "2.4em", "biggl": "2.4em", "biggr": "2.4em", "biggm": "2.4em", "Bigg": "3em", "Biggl": "3em", "Biggr": "3em", "Biggm": "3em",
}

// ignored commands change nothing in MathML.
var ignored = map[string]bool{"nonumber": true, "notag": true, "hline": true, "relax": true, "mathstrut": true, "strut": true, "allowbreak": true, "nobreak": true}
