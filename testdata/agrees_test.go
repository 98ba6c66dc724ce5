package testdata

import "testing"

// probe records whether a check failed.
type probe struct {
	testing.TB
	failed bool
}

func (p *probe) Helper()               {}
func (p *probe) Errorf(string, ...any) { p.failed = true }

func TestAgrees(t *testing.T) {
	for _, tt := range []struct {
		got     float64
		printed string
		agrees  bool
	}{
		{0.8184, "0.818", true}, {0.8186, "0.818", false}, {0.8175, "0.818", true},
		{1.23449e-5, "1.234e-5", true}, {1.2346e-5, "1.234e-5", false},
		{-3.5, "-4", true}, {50000838.4, "50 000 838", true}, {50000839, "50 000 838", false},
		{100, "100", true}, {100.6, "100", false},
	} {
		p := &probe{TB: t}
		Agrees(p, tt.got, tt.printed)
		if p.failed == tt.agrees {
			t.Errorf("%v beside %s: agrees %v, want %v", tt.got, tt.printed, !p.failed, tt.agrees)
		}
	}
}
