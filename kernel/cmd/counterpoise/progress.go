package main

import (
	"io"
	"os"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"
)

// A progress is a bar on a terminal, and nothing where output is piped.
type progress struct {
	bars *mpb.Progress
	bar  *mpb.Bar
}

// newProgress makes a bar with a label on out, if out is a terminal.
func newProgress(out io.Writer, label string) *progress {
	f, ok := out.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return &progress{}
	}
	p := &progress{bars: mpb.New(mpb.WithOutput(f), mpb.WithWidth(40))}
	p.bar = p.bars.AddBar(0,
		mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(label+" ")),
		mpb.AppendDecorators(decor.CountersNoUnit("%d of %d "), decor.Elapsed(decor.ET_STYLE_GO)))
	return p
}

// set shows how much is done.
func (p *progress) set(done, total int) {
	if p.bar != nil {
		p.bar.SetTotal(int64(total), false)
		p.bar.SetCurrent(int64(done))
	}
}

// end takes the bar away.
func (p *progress) end() {
	if p.bar != nil {
		p.bar.Abort(true)
		p.bars.Wait()
	}
}
