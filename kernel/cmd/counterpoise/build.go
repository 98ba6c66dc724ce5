package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"

	"counterpoise/worksheets/build"
	"counterpoise/worksheets/notebook"
	"counterpoise/worksheets/source"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"
)

// A buildCall is one call of the build command.
type buildCall struct {
	to      string
	plainGo bool
	watch   bool
	new     string
	schema  bool
}

func newBuildCommand() *cobra.Command {
	var b buildCall
	c := &cobra.Command{
		Use:   "build SHEET…",
		Short: "Build the student notebook and the tutor's key file of worksheets",
		Long: `Build the student notebook and the tutor's key file of worksheets.

SHEET is a worksheet's folder or its worksheet.md. NAME.ipynb is for students: its
keys are sealed. NAME.key.json is for tutors. Every mistake of a worksheet is told
with file, line and remedy, and nothing is written then.`,
		Example: `  counterpoise build --to out worksheets/library/balance-point
  counterpoise build --watch my-sheet
  counterpoise build --new my-sheet`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return b.run(args, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.StringVar(&b.to, "to", ".", "folder for what is built; it is made if it is not there")
	f.BoolVar(&b.plainGo, "plain-go", false, "write calls instead of directive cells, for other Go kernels")
	f.BoolVar(&b.watch, "watch", false, "build again whenever a worksheet is saved, until interrupted")
	f.StringVar(&b.new, "new", "", "write a template worksheet into a new folder of this name, and build nothing")
	f.BoolVar(&b.schema, "schema", false, "write the JSON schemas of front matter and question blocks to --to, for editors")
	return c
}

func (b *buildCall) run(args []string, out, errOut io.Writer) error {
	if b.new != "" {
		if len(args) > 0 || b.watch {
			return errors.New("--new makes a worksheet and builds nothing: leave the other arguments out")
		}
		return newSheet(b.new, out)
	}
	if b.schema {
		return b.writeSchemas(out)
	}
	if len(args) == 0 {
		return errors.New("build needs a worksheet: name its folder or its worksheet.md")
	}
	if b.watch {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		return b.watchSheets(ctx, args, out, errOut)
	}
	return b.buildAll(args, out, errOut)
}

// buildAll builds all sheets, and writes nothing if one of them has a mistake.
func (b *buildCall) buildAll(args []string, out, errOut io.Writer) error {
	type built struct {
		name string
		nb   *notebook.Notebook
		key  *build.KeyFile
	}
	var all []built
	var problems source.Problems
	by := map[string]string{}
	for _, arg := range args {
		s, nb, key, err := buildSheet(arg, build.Options{PlainGo: b.plainGo})
		var more source.Problems
		switch {
		case errors.As(err, &more):
			problems = append(problems, more...)
			continue
		case err != nil:
			return err
		}
		if other, taken := by[s.Name]; taken {
			return fmt.Errorf("%s and %s are both called %s: build them into different folders with --to", other, arg, s.Name)
		}
		by[s.Name] = arg
		all = append(all, built{s.Name, nb, key})
	}
	if err := problems.Err(); err != nil {
		return sayProblems(errOut, err)
	}
	if err := os.MkdirAll(b.to, 0o755); err != nil {
		return err
	}
	for _, one := range all {
		ipynb, keyPath := filepath.Join(b.to, one.name+".ipynb"), filepath.Join(b.to, one.name+".key.json")
		if err := notebook.WriteFile(ipynb, one.nb); err != nil {
			return err
		}
		data, err := one.key.Write()
		if err != nil {
			return err
		}
		if err := renameio.WriteFile(keyPath, data, 0o600); err != nil {
			return err
		}
		count := fmt.Sprintf("%d questions", len(one.key.Questions))
		if len(one.key.Questions) == 1 {
			count = "1 question"
		}
		fmt.Fprintf(out, "%s: %s\n  %s for students\n  %s for tutors only\n", one.name, count, ipynb, keyPath)
	}
	return nil
}

// buildSheet reads and builds one worksheet. Mistakes of reading and of building
// come together as [source.Problems].
func buildSheet(path string, o build.Options) (*source.Sheet, *notebook.Notebook, *build.KeyFile, error) {
	s, err := source.ReadFile(path)
	var problems source.Problems
	switch {
	case errors.As(err, &problems):
		return s, nil, nil, append(problems, build.Check(s)...).Err()
	case err != nil:
		return nil, nil, nil, fileError(err)
	}
	nb, key, err := build.Build(s, o)
	return s, nb, key, err
}

// writeSchemas writes the schemas for editors.
func (b *buildCall) writeSchemas(out io.Writer) error {
	if err := os.MkdirAll(b.to, 0o755); err != nil {
		return err
	}
	for name, data := range map[string][]byte{"front-matter.schema.json": source.FrontMatterSchema, "question.schema.json": source.QuestionSchema} {
		path := filepath.Join(b.to, name)
		if err := renameio.WriteFile(path, data, 0o644); err != nil {
			return err
		}
		fmt.Fprintln(out, path)
	}
	return nil
}
