package worksheet

import "testing"

func TestIdentityIsWhatWasPacked(t *testing.T) {
	text, err := Envelope{Name: "heron", Title: "The heron", Student: "t-1", Questions: make([]Sealed, 20)}.Pack()
	if err != nil {
		t.Fatal(err)
	}
	sheet, student, err := Identity("// built\n" + text)
	if err != nil || sheet != "heron" || student != "t-1" {
		t.Errorf("Identity = %q, %q, %v", sheet, student, err)
	}
	for _, bad := range []string{"", "AAAA", "not base64!", text[:20]} {
		if _, _, err := Identity(bad); err == nil {
			t.Errorf("Identity(%q) gave no error", bad)
		}
	}
}
