// Package journal keeps the results of a long run so that none is lost: one
// line a result, in a fixed order, appended and forced to the disk as they
// come. A run that was killed at any instant goes on after the last whole
// line, and ends with the same bytes as one that was not.
//
// A folder belongs to one job, which is told by its description. Another job
// is refused the folder.
package journal

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/google/renameio/v2"
)

// File names inside the folder of a run.
const (
	Lines = "results.jsonl"
	Job   = "job.json"
)

// MaxLine bounds one result, in bytes.
const MaxLine = 16 << 20

// syncEvery is how long a written line may wait until it is forced to the disk.
const syncEvery = 200 * time.Millisecond

// A Journal is open for appending.
type Journal struct {
	mu     sync.Mutex
	file   *os.File
	buffer *bufio.Writer
	lines  int
	synced time.Time
}

// Open starts or continues the job in folder. job describes the job in full:
// what goes in and how it is treated; it is written to the folder at the start.
// Open returns how many results are there already. It refuses a folder that
// holds anything else, or another job.
func Open(folder string, job []byte) (*Journal, int, error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, 0, err
	}
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, 0, err
	}
	old, err := os.ReadFile(filepath.Join(folder, Job))
	switch {
	case errors.Is(err, os.ErrNotExist) && len(entries) == 0:
		if err := renameio.WriteFile(filepath.Join(folder, Job), job, 0o644); err != nil {
			return nil, 0, err
		}
	case errors.Is(err, os.ErrNotExist):
		if !onlyLeftovers(entries) {
			return nil, 0, fmt.Errorf("%s holds other files and no %s: give a fresh folder", folder, Job)
		}
		if err := renameio.WriteFile(filepath.Join(folder, Job), job, 0o644); err != nil {
			return nil, 0, err
		}
	case err != nil:
		return nil, 0, err
	case !bytes.Equal(old, job):
		return nil, 0, fmt.Errorf("%s holds the results of another job (the scripts, the key or the policy differ): give a fresh folder", folder)
	}
	if err := removeLeftovers(folder, entries); err != nil {
		return nil, 0, err
	}
	path := filepath.Join(folder, Lines)
	lines, size, err := whole(path)
	if err != nil {
		return nil, 0, err
	}
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, 0, err
	}
	if err := errors.Join(file.Truncate(size), file.Sync()); err != nil {
		file.Close()
		return nil, 0, err
	}
	if _, err := file.Seek(size, io.SeekStart); err != nil {
		file.Close()
		return nil, 0, err
	}
	return &Journal{file: file, buffer: bufio.NewWriterSize(file, 1<<16), lines: lines, synced: time.Now()}, lines, nil
}

// onlyLeftovers reports whether a folder holds nothing but what a run leaves
// that was killed before it had written its job: temporary files of its own.
func onlyLeftovers(entries []os.DirEntry) bool {
	for _, e := range entries {
		if !isLeftover(e) {
			return false
		}
	}
	return true
}

func isLeftover(e os.DirEntry) bool {
	ok, _ := filepath.Match("."+Job+"*", e.Name()) // the pattern is a good one
	return ok
}

func removeLeftovers(folder string, entries []os.DirEntry) error {
	for _, e := range entries {
		if isLeftover(e) {
			if err := os.Remove(filepath.Join(folder, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// whole counts the whole lines of a file and their bytes.
func whole(path string) (lines int, size int64, err error) {
	file, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return 0, 0, nil
	}
	if err != nil {
		return 0, 0, err
	}
	defer file.Close()
	r := bufio.NewReaderSize(file, 1<<16)
	var at int64
	for {
		part, err := r.ReadSlice('\n')
		at += int64(len(part))
		switch {
		case err == nil:
			lines, size = lines+1, at
		case errors.Is(err, io.EOF):
			return lines, size, nil
		case !errors.Is(err, bufio.ErrBufferFull):
			return 0, 0, err
		}
	}
}

// Append adds one result, a line of JSON without its line end.
func (j *Journal) Append(line []byte) error {
	if bytes.IndexByte(line, '\n') >= 0 || len(line) > MaxLine {
		return errors.New("a result must be one line of JSON")
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	j.buffer.Write(line)
	if err := j.buffer.WriteByte('\n'); err != nil {
		return err
	}
	j.lines++
	if time.Since(j.synced) < syncEvery {
		return nil
	}
	return j.sync()
}

func (j *Journal) sync() error {
	if err := j.buffer.Flush(); err != nil {
		return err
	}
	j.synced = time.Now()
	return j.file.Sync()
}

// Close forces what is left to the disk.
func (j *Journal) Close() error {
	j.mu.Lock()
	defer j.mu.Unlock()
	return errors.Join(j.sync(), j.file.Close())
}

// Each calls f with every whole line of a folder's results, in order.
func Each(folder string, f func(line []byte) error) error {
	file, err := os.Open(filepath.Join(folder, Lines))
	if err != nil {
		return err
	}
	defer file.Close()
	s := bufio.NewScanner(file)
	s.Buffer(make([]byte, 1<<16), MaxLine+1)
	for s.Scan() {
		if err := f(s.Bytes()); err != nil {
			return err
		}
	}
	return s.Err()
}
