package pile

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

type entry struct{ name, text string }

func zipped(t *testing.T, entries ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range entries {
		f, err := w.Create(e.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte(e.text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func write(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestScriptsOfNestedFoldersAndArchives(t *testing.T) {
	root := t.TempDir()
	write(t, filepath.Join(root, "a", "b", "one.ipynb"), []byte("1"))
	write(t, filepath.Join(root, "a", ".ipynb_checkpoints", "one.ipynb"), []byte("old"))
	write(t, filepath.Join(root, "notes.txt"), []byte("hello"))
	inner := zipped(t, entry{"deep.ipynb", "3"})
	write(t, filepath.Join(root, "class.zip"), zipped(t,
		entry{"x/two.ipynb", "2"}, entry{"x/two.ipynb", "2 again"}, entry{"../../evil.ipynb", "up"},
		entry{"inner.zip", string(inner)}, entry{"__MACOSX/x/._two.ipynb", "litter"}))
	write(t, filepath.Join(root, "broken.zip"), []byte("PK\x03\x04 not really"))
	if err := os.Symlink("/etc/hostname", filepath.Join(root, "link.ipynb")); err != nil {
		t.Fatal(err)
	}

	p, err := Open(root)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	var order []string
	for _, s := range p.Scripts {
		data, err := s.Read()
		if err != nil {
			t.Fatalf("%s: %v", s.Label, err)
		}
		order = append(order, s.Label+"="+string(data))
		got[s.Label] = string(data)
	}
	want := []string{
		"a/b/one.ipynb=1", "class.zip: ../../evil.ipynb=up", "class.zip: inner.zip: deep.ipynb=3",
		"class.zip: x/two.ipynb=2", "class.zip: x/two.ipynb=2 again",
	}
	if diff := cmp.Diff(want, order); diff != "" {
		t.Error(diff)
	}
	remarks := map[string]string{}
	for _, r := range p.Remarks {
		remarks[r.Label] = r.Reason
	}
	if diff := cmp.Diff(map[string]string{
		"notes.txt":  "not a notebook: not marked",
		"broken.zip": "not a zip file that can be read: it has no table of contents",
		"link.ipynb": "symbolic link: not followed",
	}, remarks); diff != "" {
		t.Error(diff)
	}
}

// An entry of 100 MiB of zeros packs to 100 kB: it must be refused by what it
// says of itself and, where that is a lie, by what comes out of it.
func TestArchivesCannotFillMemory(t *testing.T) {
	root := t.TempDir()
	honest := zipped(t, entry{"big.ipynb", strings.Repeat("0", 100<<20)})
	write(t, filepath.Join(root, "honest.zip"), honest)
	liar := bytes.Clone(honest)
	size := []byte{0, 0, 0x40, 6} // 100 MiB, little-endian
	for at := bytes.LastIndex(liar, size); at >= 0; at = bytes.LastIndex(liar[:at], size) {
		copy(liar[at:], []byte{10, 0, 0, 0})
	}
	write(t, filepath.Join(root, "liar.zip"), liar)
	p, err := Open(root)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Scripts) != 2 {
		t.Fatalf("%d scripts, want 2", len(p.Scripts))
	}
	for _, s := range p.Scripts {
		data, err := s.Read()
		if err == nil {
			t.Errorf("%s: read %d bytes, want an error", s.Label, len(data))
		}
		if s.Label == "honest.zip: big.ipynb" && !errors.Is(err, ErrTooLarge) {
			t.Errorf("%s: %v, want ErrTooLarge", s.Label, err)
		}
	}
}

func TestManyEntriesOfOneArchiveStopAtItsBudget(t *testing.T) {
	root := t.TempDir()
	var entries []entry
	half := strings.Repeat("0", 16<<20)
	for i := range 40 {
		entries = append(entries, entry{fmt.Sprintf("%02d.ipynb", i), half})
	}
	write(t, filepath.Join(root, "bomb.zip"), zipped(t, entries...))
	p, err := Open(root)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Scripts) > 20 || len(p.Remarks) == 0 {
		t.Errorf("%d scripts and remarks %v: want at most 256 MiB worth, and a remark", len(p.Scripts), p.Remarks)
	}
}

func TestFileNamesAreSafeAndApart(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"s1234567", "s1234567"}, {"anna.b-c", "anna.b-c"},
	} {
		if got := FileName(tt.text); got != tt.want {
			t.Errorf("FileName(%q) = %q, want %q", tt.text, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.String().Draw(t, "a"), rapid.String().Draw(t, "b")
		for _, text := range []string{a, "../" + a, a + "/..", "con", ".." + b} {
			name := FileName(text)
			if name == "" || name != filepath.Base(name) || strings.ContainsAny(name, `/\:`) || name[0] == '.' || len(name) > 80 {
				t.Fatalf("FileName(%q) = %q", text, name)
			}
		}
		if a != b && strings.EqualFold(FileName(a), FileName(b)) {
			t.Fatalf("%q and %q share the name %q", a, b, FileName(a))
		}
		if l := label(a); !utf8.ValidString(l) || len(l) > maxLabel || strings.ContainsAny(l, "\x00\n\r\x1b\u202e") {
			t.Fatalf("label(%q) = %q", a, l)
		}
	})
}
