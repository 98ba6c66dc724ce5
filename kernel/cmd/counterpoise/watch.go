package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"counterpoise/worksheets/source"

	"github.com/fsnotify/fsnotify"
)

// settle is how long a worksheet has to be quiet before it is built: editors
// write a file in several steps.
const settle = 100 * time.Millisecond

// watchSheets builds now and whenever a worksheet changes, until ctx ends.
// Mistakes are told and waited out.
func (b *buildCall) watchSheets(ctx context.Context, args []string, out, errOut io.Writer) error {
	watcher, err := fsnotify.NewWatcher()
	if err != nil {
		return err
	}
	defer watcher.Close()
	watched := map[string]bool{}
	for _, arg := range args {
		file := arg
		if info, err := os.Stat(arg); err != nil {
			return fileError(err)
		} else if info.IsDir() {
			file = filepath.Join(arg, source.FileName)
		}
		file, err := filepath.Abs(file)
		if err != nil {
			return err
		}
		watched[file] = true
		// The folder, not the file: many editors put a new file in its place.
		if err := watcher.Add(filepath.Dir(file)); err != nil {
			return err
		}
	}
	build := func() error {
		err := b.buildAll(args, out, errOut)
		if err != nil && !errors.Is(err, errSaidWrong) {
			fmt.Fprintln(errOut, err)
		}
		_, err = fmt.Fprintln(out, "waiting for a change; interrupt to end")
		return err
	}
	if err := build(); err != nil {
		return err
	}
	quiet := time.NewTimer(time.Hour)
	quiet.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case e, ok := <-watcher.Events:
			if !ok {
				return nil
			}
			if watched[filepath.Clean(e.Name)] && !e.Has(fsnotify.Chmod) {
				quiet.Reset(settle)
			}
		case err, ok := <-watcher.Errors:
			if !ok || err != nil {
				return err
			}
		case <-quiet.C:
			if err := build(); err != nil {
				return err
			}
		}
	}
}
