package question

import "testing"

func TestChoiceOne(t *testing.T) {
	a := mustCompile(t, Question{Name: "stand", Kind: "choice", Options: []Option{
		{Text: "It rights itself.", Right: true}, {Text: "It falls over.", Say: "Which way does the weight turn it?"}, {Text: "It stays tilted"},
	}}, nil)
	checkTold(t, a, []told{
		{"A", Right, "", ""}, {" a ", Right, "", ""}, {"(a)", Right, "", ""}, {"a)", Right, "", ""}, {"option A", Right, "", ""},
		{"it rights  ITSELF", Right, "", ""}, {"“It rights itself.”", Right, "", ""}, {"\uff21", Right, "", ""},
		{"b", Wrong, "option B", "Which way"}, {"It falls over", Wrong, "option B", "Which way"}, {"c", Wrong, "", "Not this one"},
		{"D", Unreadable, "", "from A to C"}, {"a, b", Unreadable, "", "Only one"}, {"it floats", Unreadable, "", "neither a letter"}, {"", Unreadable, "", ""},
	})
}

func TestChoiceMany(t *testing.T) {
	a := mustCompile(t, Question{Name: "raises", Kind: "choice", Many: true, Options: []Option{
		{Text: "longer arms", Right: true}, {Text: "a lighter head", Right: true}, {Text: "a higher pin"}, {Text: "more paint", Say: "Paint adds mass, but where?"},
	}, Slips: []Slip{{Gives: "A C", Say: "The pin is where it turns.", Name: "pin"}}}, nil)
	checkTold(t, a, []told{
		{"a b", Right, "", ""}, {"B, A", Right, "", ""}, {"ba", Right, "", ""}, {"a and b", Right, "", ""}, {"a lighter head; longer arms", Right, "", ""},
		{"longer arms\na lighter head", Right, "", ""}, {"longer arms, b", Right, "", ""},
		{"a", Wrong, "option missing", ""}, {"a b c", Wrong, "option too many", ""}, {"a d", Wrong, "option D", "Paint"}, {"C A", Wrong, "pin", ""},
	})
}

func TestChoiceKeysAreChecked(t *testing.T) {
	for _, q := range []Question{
		{Kind: "choice"},
		{Kind: "choice", Options: []Option{{Text: "a"}, {Text: "b"}}},
		{Kind: "choice", Options: []Option{{Text: "yes", Right: true}, {Text: "Yes"}}},
		{Kind: "choice", Options: []Option{{Text: "yes", Right: true}, {Text: "no", Right: true}}},
		{Kind: "choice", Options: []Option{{Text: "yes", Right: true}, {Text: ""}}},
		{Kind: "choice", Options: []Option{{Text: "yes", Right: true}, {Text: "no"}}, Slips: []Slip{{Gives: "maybe"}}},
	} {
		if _, err := Compile(q, nil); err == nil {
			t.Errorf("%+v is accepted", q.Options)
		}
	}
}
