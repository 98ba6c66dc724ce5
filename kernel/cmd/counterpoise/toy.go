package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"

	"counterpoise/mechanics/design"
	"counterpoise/mechanics/figure"
	"counterpoise/mechanics/quantity"
	"counterpoise/mechanics/toy"
	"counterpoise/worksheets/source"
)

// A toyCall is one call of the toy command.
type toyCall struct {
	name       string
	drawing    string
	asJSON     bool
	set        int
	tune, goal string
	tolerances []string
	trials     int
}

// maxSpec is the size of the largest description of a toy in bytes.
const maxSpec = 1 << 20

func newToyCommand() *cobra.Command {
	var t toyCall
	c := &cobra.Command{
		Use:   "toy SPEC",
		Short: "Size a toy described in a text file: balance, inertia, period, materials, drawing",
		Long: `Size a toy described in a text file.

SPEC holds params, parts and a stand, or params and toys as at the top of a
worksheet; a worksheet itself will do. Printed are mass, centre of gravity, inertia, stability,
period and a list of materials; --drawing writes a side view.

--tune PARAM=FROM..TO finds the value of a parameter that meets --goal: a period
(period=0.80 s), a depth of the centre of gravity below the pivot (depth=30 mm), a
margin of stability (margin=5 mm), a tipping angle (tip=20 deg) or a ratio of the
two swings (ratio=2). --tolerance PARAM=0.5 mm says how exactly a hand works; the
command then tells how many toys of a hundred balance and how their periods spread.`,
		Example: `  counterpoise toy heron.yaml --drawing heron.svg
  counterpoise toy heron.yaml --tune h=40mm..80mm --goal 'period=0.80 s'
  counterpoise toy heron.yaml --tolerance 'h=1 mm' --tolerance 'm=0.5 g'`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return t.run(cmd.OutOrStdout(), args[0]) },
	}
	f := c.Flags()
	f.StringVar(&t.name, "name", "", "which toy of the file, if there are several")
	f.StringVar(&t.drawing, "drawing", "", "write a side view to this file, .svg or .png")
	f.IntVar(&t.set, "set", 1, "list materials for so many toys")
	f.StringVar(&t.tune, "tune", "", "parameter and range to search, such as h=40mm..80mm")
	f.StringVar(&t.goal, "goal", "", "what tuning must reach, such as 'period=0.80 s'")
	f.StringArrayVar(&t.tolerances, "tolerance", nil, "how far a parameter may be off, such as 'h=1 mm'; may be given several times")
	f.IntVar(&t.trials, "trials", 0, "toys to build at random for --tolerance (2000 if not given)")
	f.BoolVar(&t.asJSON, "json", false, "print the values as JSON, in SI units")
	return c
}

// A spec is a toy's text, with what its formulas use.
type spec struct {
	name   string
	toy    toy.Toy
	text   []byte
	params toy.Params
}

func (t *toyCall) run(out io.Writer, path string) error {
	if t.goal != "" && t.tune == "" {
		return fmt.Errorf("--goal %s: say what may change to reach it, such as --tune h=40mm..80mm", t.goal)
	}
	if t.set < 1 {
		return fmt.Errorf("--set %d: give 1 or more", t.set)
	}
	s, err := t.read(path)
	if err != nil {
		return err
	}
	if t.drawing != "" {
		if err := draw(s, t.drawing); err != nil {
			return err
		}
		if !t.asJSON {
			defer fmt.Fprintf(out, "\n%s is the side view\n", t.drawing)
		}
	}
	switch {
	case t.tune != "":
		return t.tuned(out, s)
	case len(t.tolerances) > 0:
		return t.studied(out, s)
	case t.asJSON:
		return values(out, s)
	}
	return t.tell(out, s)
}

func (t *toyCall) tell(out io.Writer, s spec) error {
	fmt.Fprintf(out, "%s\n\n", s.toy)
	list, err := design.Materials(s.toy.Assembly, t.set, design.Waste{})
	if err != nil {
		return err
	}
	fmt.Fprintln(out, list)
	for i, c := range s.toy.Cautions() {
		if i == 0 {
			fmt.Fprintln(out, "\nTake care:")
		}
		fmt.Fprintln(out, "- "+c)
	}
	return nil
}

// values prints what the toy comes to, by name, in SI units.
func values(out io.Writer, s spec) error {
	all := map[string]float64{}
	for name, q := range s.toy.Values() {
		if !math.IsNaN(q.Value) && !math.IsInf(q.Value, 0) {
			all[name] = q.Value
		}
	}
	return json.NewEncoder(out).Encode(all)
}

func draw(s spec, path string) error {
	view := figure.SideView{Title: s.name, Parts: s.toy.Assembly, Stand: s.toy.Stand}
	if err := view.Check(); err != nil {
		return err
	}
	switch strings.ToLower(filepath.Ext(path)) {
	case ".svg":
		return renameio.WriteFile(path, []byte(view.SVG()), 0o644)
	case ".png":
		return renameio.WriteFile(path, view.PNG(), 0o644)
	}
	return fmt.Errorf("--drawing %s: the name must end in .svg or .png", path)
}

// read reads a description of toys and picks one.
func (t *toyCall) read(path string) (spec, error) {
	info, err := os.Stat(path)
	if err == nil && info.IsDir() {
		path = filepath.Join(path, source.FileName)
	}
	f, err := os.Open(path)
	if err != nil {
		return spec{}, fileError(err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxSpec+1))
	if err != nil {
		return spec{}, fileError(err)
	}
	if len(text) > maxSpec {
		return spec{}, fmt.Errorf("%s: larger than %d kB: this is no description of a toy", path, maxSpec>>10)
	}
	text = frontMatter(text)
	all, err := toy.ReadFile(text)
	if err != nil {
		return spec{}, sayToyProblems(path, err)
	}
	if len(all) == 0 {
		return spec{}, fmt.Errorf("%s: describes no toy: give it toys:, or parts: and stand: of one", path)
	}
	if t.name == "" {
		t.name = all[0].Name
		if len(all) > 1 {
			return spec{}, fmt.Errorf("%s: describes %d toys: choose one with --name, such as --name %s", path, len(all), all[0].Name)
		}
	}
	one, err := toy.One(all, t.name)
	if err != nil {
		return spec{}, fmt.Errorf("%s: %w", path, err)
	}
	own, params, err := section(text, t.name)
	title := t.name
	if title == "toy" { // one alone, which its file names
		title = strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	}
	return spec{title, one, own, params}, err
}

// frontMatter returns what stands between the lines of --- at the top of a
// worksheet, or all of another file. Line numbers stay.
func frontMatter(text []byte) []byte {
	body, ok := bytes.CutPrefix(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n")), []byte("---\n"))
	if !ok {
		return text
	}
	if end := bytes.Index(body, []byte("\n---")); end >= 0 {
		body = body[:end+1]
	}
	return append([]byte("\n"), body...)
}

// sayToyProblems prints each mistake of a description on a line of its own.
func sayToyProblems(path string, err error) error {
	var all toy.Problems
	if !errors.As(err, &all) || len(all) == 0 {
		return fmt.Errorf("%s: %w", path, err)
	}
	for _, p := range all {
		say := p.Reason
		if p.Where != "" {
			say = p.Where + ": " + say
		}
		fmt.Fprintf(os.Stderr, "%s:%d: %s\n", path, p.Line, say)
	}
	return errSaidWrong
}

// section cuts one toy out of a file, with the parameters.
func section(text []byte, name string) ([]byte, toy.Params, error) {
	var file struct {
		Params map[string]any           `yaml:"params"`
		Toys   map[string]yaml.MapSlice `yaml:"toys"`
	}
	if err := yaml.Unmarshal(text, &file); err != nil {
		return nil, nil, err
	}
	own, ok := file.Toys[name]
	if !ok { // a toy alone
		if err := yaml.Unmarshal(text, &own); err != nil {
			return nil, nil, err
		}
		own = slices.DeleteFunc(own, func(i yaml.MapItem) bool { return i.Key == "params" })
	}
	cut, err := yaml.Marshal(own)
	if err != nil {
		return nil, nil, err
	}
	params := toy.Params{}
	for p, v := range file.Params {
		if m, ok := v.(map[string]any); ok {
			v = m["value"]
		}
		q, err := quantity.Parse(fmt.Sprint(v))
		if err != nil {
			return nil, nil, fmt.Errorf("parameter %s: %w", p, err)
		}
		params[p] = q
	}
	return cut, params, nil
}

// parameter splits NAME=REST and checks the name.
func (s spec) parameter(flag, text string) (name, rest string, err error) {
	name, rest, ok := strings.Cut(text, "=")
	name = strings.TrimSpace(name)
	if _, known := s.params[name]; !ok || !known {
		var names []string
		for p := range s.params {
			names = append(names, p)
		}
		slices.Sort(names)
		if len(names) == 0 {
			return "", "", fmt.Errorf("%s %s: the file has no params: give the dimension a letter there, such as h: 62 mm, and use it in the parts", flag, text)
		}
		return "", "", fmt.Errorf("%s %s: write PARAM=VALUE; the parameters are %s", flag, text, strings.Join(names, ", "))
	}
	return name, strings.TrimSpace(rest), nil
}

// tuned finds the value of a parameter that meets the goal.
func (t *toyCall) tuned(out io.Writer, s spec) error {
	name, span, err := s.parameter("--tune", t.tune)
	if err != nil {
		return err
	}
	low, high, ok := strings.Cut(span, "..")
	if !ok {
		return fmt.Errorf("--tune %s: write a range, such as %s=40mm..80mm", t.tune, name)
	}
	is := s.params[name]
	from, err := quantity.ParseAs(low, is.Dimension())
	if err != nil {
		return fmt.Errorf("--tune %s: %w", t.tune, err)
	}
	to, err := quantity.ParseAs(high, is.Dimension())
	if err != nil {
		return fmt.Errorf("--tune %s: %w", t.tune, err)
	}
	d, err := toy.Describe(s.text)
	if err != nil {
		return err
	}
	toys, err := design.Vary(d, s.params, name)
	if err != nil {
		return err
	}
	measure, want, err := goal(toys, t.goal)
	if err != nil {
		return err
	}
	all, err := design.All(measure, want, from.Value, to.Value)
	if err != nil {
		return err
	}
	if len(all) == 0 {
		return design.ErrNoSolution
	}
	for _, x := range all {
		made, err := toys(x)
		if err != nil {
			return err
		}
		q := quantity.New(x, is.Unit)
		fmt.Fprintf(out, "%s = %s gives %s\n%s\n\n", name, q.Format(4, is.Unit), t.goal, made)
	}
	return nil
}

// goal reads what tuning must reach.
func goal(toys design.Toys, text string) (design.Measure, float64, error) {
	what, value, ok := strings.Cut(text, "=")
	goals := map[string]struct {
		measure   design.Measure
		dimension quantity.Dimension
	}{
		"period": {toys.Period(), quantity.Time}, "depth": {toys.Depth(), quantity.Length}, "margin": {toys.Margin(), quantity.Length},
		"tip": {toys.TippingAngle(), quantity.Dimension{}}, "ratio": {toys.SidewaysRatio(), quantity.Dimension{}},
	}
	g, known := goals[strings.TrimSpace(what)]
	if !ok || !known {
		return nil, 0, fmt.Errorf("--goal %q: write period=0.80 s, depth=30 mm, margin=5 mm, tip=20 deg or ratio=2", text)
	}
	q, err := quantity.ParseAs(value, g.dimension)
	if err != nil {
		return nil, 0, fmt.Errorf("--goal %s: %w", text, err)
	}
	return g.measure, q.Value, nil
}

// studied builds many toys as hands do.
func (t *toyCall) studied(out io.Writer, s spec) error {
	var all []design.Tolerance
	for _, text := range t.tolerances {
		name, half, err := s.parameter("--tolerance", text)
		if err != nil {
			return err
		}
		q, err := quantity.ParseAs(half, s.params[name].Dimension())
		if err != nil {
			return fmt.Errorf("--tolerance %s: %w", text, err)
		}
		all = append(all, design.Tolerance{Name: name, Half: q.Value})
	}
	d, err := toy.Describe(s.text)
	if err != nil {
		return err
	}
	study, err := design.Tolerances(d, s.params, all, design.StudyOptions{Trials: t.trials})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(out, study)
	return err
}
