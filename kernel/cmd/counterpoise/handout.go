package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"sync/atomic"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"
)

// A handOutCall is one call of the hand-out command.
type handOutCall struct {
	class, to, secret string
	plainGo, json     bool
}

// tutorFolder holds what must not reach students, inside the folder --to.
const tutorFolder = "tutor-only"

func newHandOutCommand() *cobra.Command {
	var h handOutCall
	c := &cobra.Command{
		Use:   "hand-out SHEET --class ROSTER.csv --to FOLDER",
		Short: "Build one notebook for each student of a class, each with their own numbers",
		Long: `Build one notebook for each student of a class, each with their own numbers.

ROSTER.csv has the columns id, name and email. Each student's numbers are drawn
from the worksheet's ranges by a keyed hash, so that the same class list and secret
give the same set again; neighbours in the list get different numbers.

FOLDER receives the notebooks. FOLDER/` + tutorFolder + ` receives the key file, the
manifest (who has which numbers) and the class secret; it must not reach students.
If it holds a secret already, that is used again.`,
		Example: `  counterpoise hand-out worksheets/library/balance-point --class group-a.csv --to group-a`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
			defer stop()
			return h.run(ctx, args[0], cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.StringVar(&h.class, "class", "", "class list, CSV with the columns id,name,email")
	f.StringVar(&h.to, "to", "", "folder for the notebooks; it is made if it is not there")
	f.StringVar(&h.secret, "secret", "", "file with the class secret; default FOLDER/"+tutorFolder+"/class.secret, made if it is not there")
	f.BoolVar(&h.plainGo, "plain-go", false, "write calls instead of directive cells, for other Go kernels")
	f.BoolVar(&h.json, "json", false, "report as JSON")
	_ = c.MarkFlagRequired("class") // fails only for a flag that is not there
	_ = c.MarkFlagRequired("to")
	return c
}

func (h *handOutCall) run(ctx context.Context, path string, out, errOut io.Writer) error {
	s, _, _, err := buildSheet(path, build.Options{})
	if err != nil {
		return sayProblems(errOut, err)
	}
	students, err := build.ReadRosterFile(h.class)
	if err != nil {
		return sayProblems(errOut, fileError(err))
	}
	if err := os.MkdirAll(h.to, 0o755); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Join(h.to, tutorFolder), 0o700); err != nil {
		return err
	}
	secret, err := h.classSecret()
	if err != nil {
		return err
	}
	bar := newProgress(errOut, "numbers")
	set, err := build.Plan(s, students, secret, func(done int) { bar.set(done, len(students)) })
	bar.end()
	if err != nil {
		return sayProblems(errOut, err)
	}
	set.PlainGo = h.plainGo
	if err := h.write(ctx, set, errOut); err != nil {
		return err
	}
	return h.report(set, out)
}

// classSecret reads the class secret, or makes one where none was named.
func (h *handOutCall) classSecret() ([]byte, error) {
	path := h.secret
	if path == "" {
		path = filepath.Join(h.to, tutorFolder, "class.secret")
	}
	text, err := os.ReadFile(path)
	switch {
	case err == nil:
		secret, err := build.ReadSecret(string(text))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		return secret, nil
	case !errors.Is(err, fs.ErrNotExist) || h.secret != "":
		return nil, fileError(err)
	}
	secret := make([]byte, 32)
	if _, err := rand.Read(secret); err != nil {
		return nil, err
	}
	return secret, renameio.WriteFile(path, []byte(hex.EncodeToString(secret)+"\n"), 0o600)
}

// write writes the notebooks, then the key file and the manifest.
func (h *handOutCall) write(ctx context.Context, set *build.ClassSet, errOut io.Writer) error {
	bar := newProgress(errOut, "notebooks")
	defer bar.end()
	var done atomic.Int64
	bar.set(0, len(set.Students))
	err := set.Notebooks(ctx, func(i int, nb *notebook.Notebook) error {
		return notebook.WriteFile(filepath.Join(h.to, set.Files[i]), nb)
	}, func() { bar.set(int(done.Add(1)), len(set.Students)) })
	if err != nil {
		return err
	}
	key, err := set.Key().Write()
	if err != nil {
		return err
	}
	if err := renameio.WriteFile(filepath.Join(h.to, tutorFolder, set.Sheet.Name+".key.json"), key, 0o600); err != nil {
		return err
	}
	manifest, err := manifestOf(set)
	if err != nil {
		return err
	}
	return renameio.WriteFile(filepath.Join(h.to, tutorFolder, "manifest.csv"), manifest, 0o600)
}

// manifestOf lists who has which numbers, for a spreadsheet.
func manifestOf(set *build.ClassSet) ([]byte, error) {
	var vary []source.Param
	head := []string{"id", "name", "email", "file"}
	for _, p := range set.Sheet.Params {
		if p.Varies() {
			vary = append(vary, p)
			head = append(head, p.Name)
		}
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.Write(head); err != nil {
		return nil, err
	}
	for i, s := range set.Students {
		row := []string{s.ID, s.Name, s.Email, set.Files[i]}
		for _, p := range vary {
			row = append(row, set.Values[i][p.Name])
		}
		for j := range row {
			row[j] = inert(row[j])
		}
		if err := w.Write(row); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// inert keeps a spreadsheet from taking a cell for a formula.
func inert(cell string) string {
	if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
		return "'" + cell
	}
	return cell
}

// A handOutReport is what --json prints.
type handOutReport struct {
	Sheet    string   `json:"sheet"`
	Students int      `json:"students"`
	Folder   string   `json:"folder"`
	Sets     int      `json:"sets"`  // different sets of numbers
	Alike    int      `json:"alike"` // neighbours with the same numbers
	Near     int      `json:"near"`  // answers of neighbours that differ by less than the tolerance
	Pairs    []string `json:"pairs,omitempty"`
}

func (h *handOutCall) report(set *build.ClassSet, out io.Writer) error {
	r := handOutReport{set.Sheet.Name, len(set.Students), h.to, set.Spread.Sets, set.Spread.Alike, set.Spread.NearCount, set.Spread.Near}
	if h.json {
		return json.NewEncoder(out).Encode(r)
	}
	fmt.Fprintf(out, "%s: %s, %s of numbers\n", r.Sheet, counted(r.Students, "notebook", "notebooks"), counted(r.Sets, "set", "different sets"))
	fmt.Fprintf(out, "  %s for students\n  %s for tutors only\n", h.to, filepath.Join(h.to, tutorFolder))
	switch {
	case r.Sets == 1 && r.Students > 1:
		fmt.Fprintln(out, "  the worksheet has no ranges: everybody has the same numbers")
	case r.Alike > 0:
		fmt.Fprintf(out, "  %d pairs of neighbours have the same numbers: widen the ranges\n", r.Alike)
	}
	if r.Sets > 1 && r.Near > 0 {
		fmt.Fprintf(out, "  %d answers of neighbours differ by less than the tolerance, the first: %s\n", r.Near, r.Pairs[0])
	}
	return nil
}
