package marking

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/marking/journal"
	"counterpoise/worksheets/marking/pile"
	"counterpoise/worksheets/marking/script"
)

// A Job is one run over a folder of scripts.
type Job struct {
	Folder   string // of the scripts; nothing in it is changed
	Key      *build.KeyFile
	Policy   Policy
	To       string // folder of the results: fresh, or of a former run of the same job
	Shard    Shard
	Workers  int                   // 0 means one for each core
	Progress func(done, total int) // called after each script, from one goroutine; may be nil
}

// A Shard is a share of a pile: every Of-th script, starting with the Part-th.
// The zero value is the whole pile.
type Shard struct{ Part, Of int }

func (s Shard) whole() bool { return s.Of <= 1 }

// Check reports a shard that cannot be.
func (s Shard) Check() error {
	if s == (Shard{}) || s.Of >= 1 && s.Part >= 1 && s.Part <= s.Of {
		return nil
	}
	return fmt.Errorf("shard %d/%d: give i/n with i from 1 to n", s.Part, s.Of)
}

// has reports whether the shard holds the script of that number.
func (s Shard) has(number int) bool { return s.whole() || number%s.Of == s.Part-1 }

// description is what makes a job the same job: written to its folder, and
// compared when it is continued or when shards are merged.
type description struct {
	Format  int           `json:"format"`
	Sheet   string        `json:"sheet"`
	Key     string        `json:"key"`
	Policy  Policy        `json:"policy"`
	Scripts int           `json:"scripts"`
	Pile    string        `json:"pile"`
	Part    int           `json:"part,omitempty"`
	Of      int           `json:"of,omitempty"`
	Remarks []pile.Remark `json:"remarks,omitempty"`
}

func (j Job) describe(p *pile.Pile) (description, error) {
	key, err := j.Key.Write()
	if err != nil {
		return description{}, err
	}
	sum := sha256.Sum256(key)
	names := sha256.New()
	for _, s := range p.Scripts {
		fmt.Fprintf(names, "%q %d\n", s.Label, s.Size)
	}
	d := description{
		Format: 1, Sheet: j.Key.Sheet, Key: hex.EncodeToString(sum[:]), Policy: j.Policy,
		Scripts: len(p.Scripts), Pile: hex.EncodeToString(names.Sum(nil)), Remarks: p.Remarks,
	}
	if !j.Shard.whole() {
		d.Part, d.Of = j.Shard.Part, j.Shard.Of
	}
	return d, nil
}

// Run marks the scripts of a job and keeps each result as it comes. It goes on
// where a former run of the same job ended. It runs nothing that a script
// holds.
func Run(ctx context.Context, j Job) error {
	if err := j.Shard.Check(); err != nil {
		return err
	}
	marker, err := NewMarker(j.Key, j.Policy)
	if err != nil {
		return err
	}
	p, err := pile.Open(j.Folder)
	if err != nil {
		return err
	}
	d, err := j.describe(p)
	if err != nil {
		return err
	}
	text, err := json.MarshalIndent(d, "", " ")
	if err != nil {
		return err
	}
	var mine []int
	for i := range p.Scripts {
		if j.Shard.has(i) {
			mine = append(mine, i)
		}
	}
	out, done, err := journal.Open(j.To, append(text, '\n'))
	if err != nil {
		return err
	}
	if done > len(mine) {
		out.Close()
		return fmt.Errorf("%s holds more results than there are scripts: give a fresh folder", j.To)
	}
	err = j.run(ctx, marker, p, mine, done, out)
	return errors.Join(err, out.Close())
}

// window is how many scripts may be marked ahead of the one that is written
// next: results are kept in order.
const window = 64

// large is the size in bytes above which scripts are marked one at a time, so
// that several giants together do not fill the memory.
const large = 2 << 20

// run marks the scripts numbered mine[done:] on all workers and appends their
// results in order.
func (j Job) run(ctx context.Context, m *Marker, p *pile.Pile, mine []int, done int, out *journal.Journal) error {
	workers := j.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	group, ctx := errgroup.WithContext(ctx)
	type slot chan []byte
	order := make(chan slot, window)
	tasks := make(chan func())
	var giants sync.Mutex
	group.Go(func() error {
		defer close(order)
		defer close(tasks)
		for _, number := range mine[done:] {
			result := make(slot, 1)
			select {
			case order <- result:
			case <-ctx.Done():
				return ctx.Err()
			}
			task := func() { result <- m.line(number, p.Scripts[number], &giants) }
			select {
			case tasks <- task:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	for range workers {
		group.Go(func() error {
			for task := range tasks {
				task()
			}
			return nil
		})
	}
	group.Go(func() error {
		for result := range order {
			select {
			case line := <-result:
				if err := out.Append(line); err != nil {
					return err
				}
				done++
				if j.Progress != nil {
					j.Progress(done, len(mine))
				}
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	return group.Wait()
}

// line marks one script and returns its line of results.jsonl.
func (m *Marker) line(number int, s pile.Script, giants *sync.Mutex) []byte {
	if s.Size > large {
		giants.Lock()
		defer giants.Unlock()
	}
	r := m.read(s)
	r.Number, r.Script, r.Changed = number, s.Label, s.Modified.UTC().Truncate(time.Second)
	text, err := json.Marshal(r)
	if err != nil || len(text) > journal.MaxLine {
		r = Result{Number: number, Script: s.Label, Print: r.Print, Student: r.Student}
		r.flag("result", "the result of this script could not be kept: mark it by hand")
		text, _ = json.Marshal(r)
	}
	return text
}

func (m *Marker) read(s pile.Script) (r Result) {
	defer func() {
		if fault := recover(); fault != nil { // never let one script end the run of all
			r = Result{}
			r.flag("fault", fmt.Sprintf("marking this script failed (%v): mark it by hand, and report it", fault))
		}
	}()
	data, err := s.Read()
	if err != nil {
		r.flag(script.Unreadable, err.Error())
		m.byName(&r, s.Label)
		return r
	}
	r = m.Mark(s.Label, data)
	if due := m.policy.Due; !due.IsZero() && s.Modified.After(due) {
		r.Late = true
		r.flag("late", "changed on "+s.Modified.UTC().Format("2006-01-02 15:04 UTC")+", after it was due")
		if r.Marked() {
			m.sum(&r)
		}
	}
	return r
}

// Merge joins the results of shards into one folder, as one run over the whole
// pile would have left them. The shards must be of one job, all of them whole.
func Merge(to string, shards []string) error {
	if len(shards) == 0 {
		return errors.New("no shard to merge: name the folders of the results")
	}
	parts := make([]*part, len(shards))
	var whole description
	for i, folder := range shards {
		p, err := openPart(folder)
		if err != nil {
			return err
		}
		defer p.Close()
		d := p.description
		d.Part, d.Of = 0, 0
		if i == 0 {
			whole = d
		}
		same, err := sameJob(whole, d)
		switch {
		case err != nil:
			return err
		case !same:
			return fmt.Errorf("%s and %s are of different jobs (the scripts, the key or the policy differ)", shards[0], folder)
		case p.description.Of != len(shards) && !(p.description.Of == 0 && len(shards) == 1):
			return fmt.Errorf("%s is one of %d shards, and %d are named: name each once", folder, max(1, p.description.Of), len(shards))
		}
		if at := max(0, p.description.Part-1); parts[at] != nil {
			return fmt.Errorf("%s is shard %d, which is named twice", folder, p.description.Part)
		} else {
			parts[at] = p
		}
	}
	text, err := json.MarshalIndent(whole, "", " ")
	if err != nil {
		return err
	}
	out, done, err := journal.Open(to, append(text, '\n'))
	if err != nil {
		return err
	}
	for number := range whole.Scripts {
		line, err := parts[number%len(parts)].next()
		if err != nil {
			return errors.Join(fmt.Errorf("shard %d of %d is not whole: let it run to its end first", number%len(parts)+1, len(parts)), ignoreEOF(err), out.Close())
		}
		if number >= done {
			if err := out.Append(line); err != nil {
				return errors.Join(err, out.Close())
			}
		}
	}
	return out.Close()
}

func ignoreEOF(err error) error {
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

func sameJob(a, b description) (bool, error) {
	x, err := json.Marshal(a)
	if err != nil {
		return false, err
	}
	y, err := json.Marshal(b)
	return string(x) == string(y), err
}
