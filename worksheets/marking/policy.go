package marking

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"time"

	"github.com/goccy/go-yaml"
)

// A Policy holds the customs by which scripts are marked, the same for all. It
// is printed with the results.
//
// The customs are those of common practice, no source: follow-through, one
// penalty a script for each kind of slip with units and figures, any customary
// value of g.
type Policy struct {
	// FollowThrough credits a later answer that is right for the student's own
	// earlier value, where the question carries it.
	FollowThrough bool `yaml:"follow-through" json:"follow-through"`
	// Units and Figures are the marks taken off once a script for a right value
	// without its unit, and for one with too few or too many figures.
	Units   float64 `yaml:"units" json:"units"`
	Figures float64 `yaml:"figures" json:"figures"`
	// Gravity is the range of g that is accepted where a sheet does not fix it,
	// m/s².
	Gravity Span `yaml:"gravity" json:"gravity"`
	// Rounding is the step to which a script's total is rounded, halves up; 0
	// leaves it.
	Rounding float64 `yaml:"rounding" json:"rounding"`
	// Cap is the largest total; 0 means the marks of the sheet.
	Cap float64 `yaml:"cap" json:"cap"`
	// Duplicates says which of several scripts of one student counts: "best" or
	// "latest" by the time of the file.
	Duplicates string `yaml:"duplicates" json:"duplicates"`
	// Due is when scripts were due; later ones are listed as late. Zero: none is.
	Due time.Time `yaml:"due,omitempty" json:"due,omitzero"`
	// Late is the marks taken off a late script.
	Late float64 `yaml:"late" json:"late"`
	// Attempts says what wrong attempts cost.
	Attempts AttemptRule `yaml:"attempts" json:"attempts"`
	// Names says whether markers see names: "show" or "hide".
	Names string `yaml:"names" json:"names"`
}

// A Span is a range of values.
type Span struct {
	From float64 `yaml:"from" json:"from"`
	To   float64 `yaml:"to" json:"to"`
}

// DefaultPolicy returns the policy that is used where none is given.
func DefaultPolicy() Policy {
	return Policy{FollowThrough: true, Units: 0.5, Figures: 0.5, Gravity: Span{9.8, 9.81}, Rounding: 0.5, Duplicates: "best", Attempts: AttemptRule{Count: true}, Names: "show"}
}

// policyFields are the fields of a policy file, as a remedy names them.
const policyFields = "follow-through, units, figures, gravity, rounding, cap, duplicates, due, late, attempts, names"

// maxPolicy is the size of the largest policy file in bytes: a page of text.
const maxPolicy = 64 << 10

// ReadPolicy reads a policy file; what it leaves out is as in [DefaultPolicy].
// The error names the file and the line.
func ReadPolicy(path string) (Policy, error) {
	p := DefaultPolicy()
	f, err := os.Open(path)
	if err != nil {
		return p, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxPolicy+1))
	if err != nil {
		return p, err
	}
	if len(data) > maxPolicy {
		return p, fmt.Errorf("%s: larger than %d kB: this is no policy", path, maxPolicy>>10)
	}
	err = yaml.NewDecoder(bytes.NewReader(data), yaml.Strict(), yaml.DisallowUnknownField()).Decode(&p)
	if err != nil && !errors.Is(err, io.EOF) {
		fault := yaml.FormatError(err, false, false)
		if strings.Contains(fault, "unknown field") {
			fault += ": the fields are " + policyFields
		}
		return p, fmt.Errorf("%s: %s", path, fault)
	}
	if err := p.Check(); err != nil {
		return p, fmt.Errorf("%s: %w", path, err)
	}
	return p, nil
}

// Check reports the first thing that cannot be, with its remedy.
func (p Policy) Check() error {
	for _, v := range []struct {
		name  string
		value float64
	}{{"units", p.Units}, {"figures", p.Figures}, {"rounding", p.Rounding}, {"cap", p.Cap}, {"late", p.Late}, {"cost of attempts", p.Attempts.Cost}, {"free of attempts", float64(p.Attempts.Free)}} {
		if !(v.value >= 0) || math.IsInf(v.value, 0) {
			return fmt.Errorf("%s is %g: give a number from 0 up", v.name, v.value)
		}
	}
	switch {
	case !(p.Gravity.From > 9 && p.Gravity.From <= p.Gravity.To && p.Gravity.To < 11):
		return fmt.Errorf("gravity runs from %g to %g: give a range such as {from: 9.8, to: 9.81} in m/s²", p.Gravity.From, p.Gravity.To)
	case p.Duplicates != "best" && p.Duplicates != "latest":
		return fmt.Errorf("duplicates is %q: write best or latest", p.Duplicates)
	case p.Names != "show" && p.Names != "hide":
		return fmt.Errorf("names is %q: write show or hide", p.Names)
	}
	return nil
}

// YAML returns the policy as a file that [ReadPolicy] reads.
func (p Policy) YAML() ([]byte, error) { return yaml.Marshal(p) }

// total rounds and caps the marks of a script.
func (p Policy) total(marks, of float64) float64 {
	if p.Rounding > 0 {
		marks = math.Floor(marks/p.Rounding+0.5+1e-9) * p.Rounding
	}
	limit := of
	if p.Cap > 0 {
		limit = math.Min(limit, p.Cap)
	}
	return math.Max(0, math.Min(marks, limit))
}
