package testdata

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"testing"

	"github.com/goccy/go-yaml"
)

// Every folder of published data says where it is from, and its files are the
// ones that were read then.
func TestPublishedDataHaveSources(t *testing.T) {
	folders, err := os.ReadDir("published")
	if err != nil {
		t.Fatal(err)
	}
	for _, folder := range folders {
		dir := filepath.Join("published", folder.Name())
		text, err := os.ReadFile(filepath.Join(dir, "source.yaml"))
		if err != nil {
			t.Errorf("%s: no source.yaml: say where the data are from", dir)
			continue
		}
		var source struct {
			Title, Author, Place, Licence, Fetched, Units string
			Files                                         map[string]struct{ SHA256 string }
		}
		if err := yaml.Unmarshal(text, &source); err != nil {
			t.Errorf("%s/source.yaml: %v", dir, err)
			continue
		}
		for name, field := range map[string]string{"title": source.Title, "author": source.Author, "place": source.Place,
			"licence": source.Licence, "fetched": source.Fetched, "units": source.Units} {
			if field == "" {
				t.Errorf("%s/source.yaml: %s is missing", dir, name)
			}
		}
		err = filepath.WalkDir(dir, func(path string, entry os.DirEntry, err error) error {
			name, _ := filepath.Rel(dir, path)
			if err != nil || entry.IsDir() || name == "source.yaml" || name == "LICENSE" {
				return err
			}
			data, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			sum := sha256.Sum256(data)
			if got, want := hex.EncodeToString(sum[:]), source.Files[filepath.ToSlash(name)].SHA256; got != want {
				t.Errorf("%s: checksum %s, source.yaml has %q", path, got, want)
			}
			return nil
		})
		if err != nil {
			t.Error(err)
		}
	}
}
