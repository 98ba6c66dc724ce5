// Package pile lists and reads the scripts in a folder of handed-in work:
// notebooks in nested folders and in zip files, as students hand them in.
//
// What is in the folder comes from strangers. Nothing in it is run, written to
// or followed: symbolic links are reported, names from archives are labels and
// never paths, and every script has limits on its size, on the archives that
// hold it and on what they may unpack to. Whatever is odd becomes a flag on
// the script or a remark on the pile; nothing ends the reading.
package pile

import (
	"archive/zip"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Limits on what is read. A notebook of a worksheet has some 100 kB, one whose
// student made many plots some megabytes.
const (
	MaxScript     = 16 << 20  // bytes of one notebook
	MaxArchive    = 512 << 20 // bytes of one zip file
	MaxInner      = 64 << 20  // bytes of a zip file inside a zip file, held in memory
	MaxEntries    = 100_000   // entries of one zip file
	MaxNesting    = 2         // zip files inside zip files
	MaxDepth      = 40        // folders inside folders
	MaxScripts    = 2_000_000 // scripts in one pile
	MaxRemarks    = 10_000    // remarks kept on one pile
	unpackAtLeast = 256 << 20 // bytes that an archive may always unpack to
	unpackRatio   = 200       // times its own size that an archive may unpack to
	maxLabel      = 400       // bytes of a label
)

// A Pile is the list of scripts found in a folder, in the order of their
// labels.
type Pile struct {
	Scripts []Script
	Remarks []Remark
	root    string
}

// A Script is one notebook of a pile, not read yet.
type Script struct {
	Label    string    // path inside the folder, "class.zip: a/b.ipynb" inside an archive; safe to print
	Modified time.Time // when the file was last changed, as it or its archive says
	Size     int64     // bytes, as the file or its archive says
	file     string    // path of the file or of the outermost archive
	inner    []string  // names of entries, from the outermost archive inwards
	entry    []int     // their positions: names may repeat
}

// A Remark is something odd in the folder that is not a script.
type Remark struct {
	Label  string
	Reason string
}

// Open lists the scripts in a folder. It fails only if the folder itself
// cannot be read.
func Open(root string) (*Pile, error) {
	info, err := os.Stat(root)
	if err != nil {
		return nil, err
	}
	if !info.IsDir() {
		return nil, fmt.Errorf("%s is a file: give the folder that holds the scripts", root)
	}
	p := &Pile{root: root}
	if err := p.folder("", 0); err != nil {
		return nil, err
	}
	slices.SortStableFunc(p.Scripts, func(a, b Script) int {
		return cmp.Or(cmp.Compare(a.Label, b.Label), slices.Compare(a.entry, b.entry))
	})
	return p, nil
}

func (p *Pile) folder(rel string, depth int) error {
	if depth > MaxDepth {
		p.remark(rel, fmt.Sprintf("more than %d folders deep: not read", MaxDepth))
		return nil
	}
	entries, err := os.ReadDir(filepath.Join(p.root, rel))
	if err != nil {
		if rel == "" {
			return err
		}
		p.remark(rel, "folder cannot be read")
		return nil
	}
	for _, e := range entries {
		name := filepath.Join(rel, e.Name())
		switch {
		case e.Type()&fs.ModeSymlink != 0:
			p.remark(name, "symbolic link: not followed")
		case e.IsDir():
			if ignoredFolder(e.Name()) {
				continue
			}
			if err := p.folder(name, depth+1); err != nil {
				return err
			}
		case !e.Type().IsRegular():
			p.remark(name, "not a regular file: not read")
		default:
			p.regular(name, e)
		}
	}
	return nil
}

// ignoredFolder tells the folders that front ends and systems leave behind:
// what they hold are copies, not scripts.
func ignoredFolder(name string) bool {
	return name == ".ipynb_checkpoints" || name == "__MACOSX" || name == ".git"
}

func (p *Pile) regular(name string, e fs.DirEntry) {
	info, err := e.Info()
	if err != nil {
		p.remark(name, "cannot be read")
		return
	}
	file := filepath.Join(p.root, name)
	switch kindOf(name) {
	case isScript:
		p.add(Script{Label: label(filepath.ToSlash(name)), Modified: info.ModTime(), Size: info.Size(), file: file})
	case isArchive:
		if info.Size() > MaxArchive {
			p.remark(name, fmt.Sprintf("archive of %d bytes, more than the %d that are read", info.Size(), MaxArchive))
			return
		}
		p.archive(name, file)
	case isOther:
		p.remark(name, "not a notebook: not marked")
	}
}

type kind int

const (
	isOther kind = iota
	isScript
	isArchive
	isLitter
)

func kindOf(name string) kind {
	base := path.Base(filepath.ToSlash(name))
	if strings.HasPrefix(base, "._") || base == ".DS_Store" || base == "Thumbs.db" || base == "desktop.ini" {
		return isLitter
	}
	switch strings.ToLower(path.Ext(base)) {
	case ".ipynb":
		return isScript
	case ".zip":
		return isArchive
	}
	return isOther
}

func (p *Pile) archive(name, file string) {
	r, err := zip.OpenReader(file)
	if err != nil {
		p.remark(name, "not a zip file that can be read: "+plainZip(err))
		return
	}
	defer r.Close()
	p.entries(&r.Reader, Script{Label: label(filepath.ToSlash(name)), file: file}, sizeOf(file))
}

// entries lists the scripts of an archive; in names the archive itself.
func (p *Pile) entries(r *zip.Reader, in Script, size int64) {
	if len(r.File) > MaxEntries {
		p.remark(in.Label, fmt.Sprintf("archive of %d entries: the first %d are read", len(r.File), MaxEntries))
	}
	budget := max(int64(unpackAtLeast), unpackRatio*size)
	for i, f := range r.File[:min(len(r.File), MaxEntries)] {
		s := Script{
			Label:    label(in.Label + ": " + f.Name),
			Modified: f.Modified,
			Size:     int64(min(f.UncompressedSize64, 1<<62)),
			file:     in.file,
			inner:    append(slices.Clone(in.inner), f.Name),
			entry:    append(slices.Clone(in.entry), i),
		}
		if f.FileInfo().IsDir() || ignoredEntry(f.Name) {
			continue
		}
		if f.Mode()&fs.ModeSymlink != 0 {
			p.remark(s.Label, "symbolic link in an archive: not followed")
			continue
		}
		switch kindOf(f.Name) {
		case isScript:
			if budget -= min(s.Size, MaxScript); budget < 0 {
				p.remark(s.Label, "the archive unpacks to far more than its size: the rest of it is not read")
				return
			}
			p.add(s)
		case isArchive:
			p.nested(f, s)
		case isOther:
			p.remark(s.Label, "not a notebook: not marked")
		}
	}
}

func ignoredEntry(name string) bool {
	for _, part := range strings.FieldsFunc(name, func(r rune) bool { return r == '/' || r == '\\' }) {
		if ignoredFolder(part) {
			return true
		}
	}
	return false
}

func (p *Pile) nested(f *zip.File, s Script) {
	if len(s.inner) > MaxNesting {
		p.remark(s.Label, fmt.Sprintf("zip files more than %d deep: not read", MaxNesting+1))
		return
	}
	data, err := unpack(f, MaxInner)
	if err != nil {
		p.remark(s.Label, err.Error())
		return
	}
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		p.remark(s.Label, "not a zip file that can be read: "+plainZip(err))
		return
	}
	p.entries(r, s, int64(len(data)))
}

func (p *Pile) add(s Script) {
	if len(p.Scripts) >= MaxScripts {
		p.remark(s.Label, fmt.Sprintf("more than %d scripts: not read", MaxScripts))
		return
	}
	p.Scripts = append(p.Scripts, s)
}

func (p *Pile) remark(name, reason string) {
	if len(p.Remarks) < MaxRemarks {
		p.Remarks = append(p.Remarks, Remark{label(filepath.ToSlash(name)), reason})
	}
}

func sizeOf(file string) int64 {
	info, err := os.Stat(file)
	if err != nil {
		return 0
	}
	return info.Size()
}

// ErrTooLarge is returned for a script over the limit on its size.
var ErrTooLarge = errors.New("too large")

// Read returns the bytes of the script. The file is opened for reading only;
// reading stops at MaxScript.
func (s Script) Read() ([]byte, error) {
	if s.Size > MaxScript {
		return nil, fmt.Errorf("%w: %d bytes, more than the %d of a script", ErrTooLarge, s.Size, MaxScript)
	}
	if len(s.inner) == 0 {
		return s.readFile()
	}
	r, err := zip.OpenReader(s.file)
	if err != nil {
		return nil, errors.New("not a zip file that can be read: " + plainZip(err))
	}
	defer r.Close()
	archive := &r.Reader
	for i, at := range s.entry {
		if at >= len(archive.File) || archive.File[at].Name != s.inner[i] {
			return nil, errors.New("the archive changed while it was read")
		}
		f := archive.File[at]
		if i == len(s.entry)-1 {
			return unpack(f, MaxScript)
		}
		data, err := unpack(f, MaxInner)
		if err != nil {
			return nil, err
		}
		if archive, err = zip.NewReader(bytes.NewReader(data), int64(len(data))); err != nil {
			return nil, errors.New("not a zip file that can be read: " + plainZip(err))
		}
	}
	return nil, errors.New("the archive has no such entry")
}

// readFile reads a plain file, which is still a regular one when it is opened.
func (s Script) readFile() ([]byte, error) {
	info, err := os.Lstat(s.file)
	if err != nil || !info.Mode().IsRegular() {
		return nil, errors.New("the file is gone or no longer a regular file")
	}
	f, err := os.Open(s.file)
	if err != nil {
		return nil, errors.New("the file cannot be opened")
	}
	defer f.Close()
	return atMost(f, MaxScript)
}

func unpack(f *zip.File, limit int64) ([]byte, error) {
	if f.UncompressedSize64 > uint64(limit) {
		return nil, fmt.Errorf("%w: unpacks to %d bytes, more than the %d that are read", ErrTooLarge, f.UncompressedSize64, limit)
	}
	r, err := f.Open()
	if err != nil {
		return nil, errors.New("entry of a zip file that cannot be read: " + plainZip(err))
	}
	defer r.Close()
	return atMost(r, limit)
}

func atMost(r io.Reader, limit int64) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err != nil {
		return nil, errors.New("cannot be read to its end: " + plainZip(err))
	}
	if int64(len(data)) > limit {
		return nil, fmt.Errorf("%w: more than %d bytes", ErrTooLarge, limit)
	}
	return data, nil
}

// plainZip says in plain words what is wrong with an archive, without paths.
func plainZip(err error) string {
	switch {
	case errors.Is(err, zip.ErrFormat):
		return "it has no table of contents"
	case errors.Is(err, zip.ErrChecksum):
		return "its checksum does not fit"
	case errors.Is(err, zip.ErrAlgorithm):
		return "it is packed in a way that is not read here"
	case errors.Is(err, io.ErrUnexpectedEOF):
		return "it is cut short"
	}
	var pathError *fs.PathError
	if errors.As(err, &pathError) {
		return pathError.Err.Error()
	}
	return "it is damaged"
}
