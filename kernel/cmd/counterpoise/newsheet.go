package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/source"

	"github.com/google/renameio/v2"
)

// newSheet writes a template worksheet into a new folder.
func newSheet(folder string, out io.Writer) error {
	path := filepath.Join(folder, source.FileName)
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s: there is a worksheet already: choose another name", path)
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	if err := renameio.WriteFile(path, build.Template, 0o644); err != nil {
		return err
	}
	_, err := fmt.Fprintf(out, "%s: a worksheet to write over; then run counterpoise build %s\n", path, folder)
	return err
}
