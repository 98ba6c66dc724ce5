package build

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"counterpoise/worksheets/source"
)

// A Student is one row of a class list.
type Student struct {
	ID, Name, Email string
	Line            int // of the file
}

// Limits on a class list.
const (
	maxRoster = 16 << 20 // bytes
	// MaxStudents is the length of a class list; the largest courses have a
	// few thousand.
	MaxStudents = 20_000
	maxID       = 100 // characters
)

// ReadRosterFile reads a class list; see [ReadRoster].
func ReadRosterFile(path string) ([]Student, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxRoster+1))
	if err != nil {
		return nil, err
	}
	return ReadRoster(data, path)
}

// ReadRoster reads a class list as CSV: columns id, name and email, in that
// order or as the first row names them; further columns are passed over. The
// text is UTF-8 with or without a byte order mark; fields may be quoted; the
// separator is a comma, or a semicolon if the first row has no comma. The error
// is [source.Problems]: blank and repeated ids are told with their lines.
func ReadRoster(data []byte, file string) ([]Student, error) {
	var problems source.Problems
	fail := func(line int, reason, remedy string) {
		problems = append(problems, source.Problem{File: file, Line: line, Reason: reason, Remedy: remedy})
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case len(data) > maxRoster:
		fail(0, fmt.Sprintf("larger than %d MiB", maxRoster>>20), "this is no class list")
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		fail(0, "this is UTF-16 text", "save it as CSV UTF-8")
	case !utf8.Valid(data):
		for i, line := range bytes.Split(data, []byte("\n")) {
			if !utf8.Valid(line) {
				fail(i+1, "not UTF-8 text", "save the list as CSV UTF-8")
				break
			}
		}
	}
	if len(problems) > 0 {
		return nil, problems.Err()
	}
	r := csv.NewReader(bytes.NewReader(data))
	first, _, _ := bytes.Cut(data, []byte("\n"))
	if !bytes.ContainsRune(first, ',') && bytes.ContainsRune(first, ';') {
		r.Comma = ';'
	}
	r.FieldsPerRecord = -1
	var students []Student
	column := map[string]int{"id": 0, "name": 1, "email": 2}
	seen := map[string]int{}
	for row := 0; ; row++ {
		record, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			line := 0
			var p *csv.ParseError
			if errors.As(err, &p) {
				line, err = p.StartLine, p.Err
			}
			fail(line, "not CSV: "+err.Error(), `a field with a quotation mark in it is quoted, and the mark doubled: "Ada ""A"" Byron"`)
			break
		}
		line, _ := r.FieldPos(0)
		if row == 0 {
			if named, ok := header(record); ok {
				column = named
				continue
			} else if _, ok := named["email"]; ok {
				fail(line, "the first row names columns, but none is called id", "call the column id that tells the students apart")
				return nil, problems.Err()
			}
		}
		field := func(name string) string {
			if i, ok := column[name]; ok && i < len(record) {
				return norm.NFC.String(strings.TrimSpace(record[i]))
			}
			return ""
		}
		s := Student{field("id"), field("name"), field("email"), line}
		switch before, twice := seen[s.ID]; {
		case strings.TrimSpace(strings.Join(record, "")) == "":
			continue // a row of separators only
		case s.ID == "":
			fail(line, "the id is blank", "every student needs an id of their own")
		case utf8.RuneCountInString(s.ID) > maxID:
			fail(line, fmt.Sprintf("the id is longer than %d characters", maxID), "")
		case strings.ContainsFunc(s.ID, unicode.IsControl):
			fail(line, fmt.Sprintf("the id %q holds a control character", s.ID), "remove it")
		case twice:
			fail(line, fmt.Sprintf("the id %s is that of line %d too", s.ID, before), "every student needs an id of their own")
		case len(students) >= MaxStudents:
			fail(line, fmt.Sprintf("more than %d students", MaxStudents), "split the list")
			return nil, problems.Err()
		default:
			seen[s.ID] = line
			students = append(students, s)
		}
	}
	if len(problems) == 0 && len(students) == 0 {
		fail(0, "the class list names nobody", "one row a student: id,name,email")
	}
	return students, problems.Err()
}

// header reads the names of columns from a first row, and reports whether one is
// called id.
func header(record []string) (map[string]int, bool) {
	column := map[string]int{}
	for i, name := range record {
		name = strings.ToLower(strings.TrimSpace(name))
		if name == "e-mail" || name == "mail" {
			name = "email"
		}
		if _, taken := column[name]; !taken {
			column[name] = i
		}
	}
	_, ok := column["id"]
	return column, ok
}

// FileName returns a name for a student's notebook that is safe on every file
// system; two different ids never get the same name in one class.
func fileNames(sheet string, students []Student) []string {
	names := make([]string, len(students))
	taken := map[string]bool{}
	for i, s := range students {
		base := sheet + "-" + strings.Trim(strings.Map(func(r rune) rune {
			if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' || r == '_' || r == '.' {
				return r
			}
			return '-'
		}, s.ID), ".-")
		if runes := []rune(base); len(runes) > 60 {
			base = string(runes[:60])
		}
		name := base
		for n := 2; taken[strings.ToLower(name)]; n++ {
			name = fmt.Sprintf("%s-%d", base, n)
		}
		taken[strings.ToLower(name)] = true
		names[i] = name + ".ipynb"
	}
	return names
}
