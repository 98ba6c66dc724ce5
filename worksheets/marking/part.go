package marking

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"counterpoise/worksheets/marking/journal"
)

// A part is the folder of one run, open for reading.
type part struct {
	description
	file *os.File
	scan *bufio.Scanner
}

func openPart(folder string) (*part, error) {
	d, err := readDescription(folder)
	if err != nil {
		return nil, err
	}
	file, err := os.Open(filepath.Join(folder, journal.Lines))
	if err != nil {
		return nil, err
	}
	scan := bufio.NewScanner(file)
	scan.Buffer(make([]byte, 1<<16), journal.MaxLine+1)
	return &part{d, file, scan}, nil
}

func readDescription(folder string) (d description, err error) {
	text, err := os.ReadFile(filepath.Join(folder, journal.Job))
	if err != nil {
		return d, fmt.Errorf("%s is no folder of results: it has no %s", folder, journal.Job)
	}
	if err := json.Unmarshal(text, &d); err != nil || d.Format != 1 {
		return d, fmt.Errorf("%s was not written by this version of mark", filepath.Join(folder, journal.Job))
	}
	return d, nil
}

// next returns the next line of results, or io.EOF. It is valid until the next
// call.
func (p *part) next() ([]byte, error) {
	if p.scan.Scan() {
		return p.scan.Bytes(), nil
	}
	if err := p.scan.Err(); err != nil {
		return nil, err
	}
	return nil, io.EOF
}

// Close closes the file of results.
func (p *part) Close() error { return p.file.Close() }
