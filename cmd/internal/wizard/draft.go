package wizard

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"daytank/cmd/internal/whole"
	"daytank/planner/strict"
)

// Draft is what was answered so far, as it is kept:
//
//	draft: 1
//	page: rig                      # where it was left
//	more: [engine]                 # pages that are asked in full
//	not_known: [engine.idle_burn]  # answered so
//	at_vehicle: [condition.leaks]  # answered so
//	done_by: "17:30"               # on the last page
//	aside:                         # answers to questions that do not arise now, as YAML
//	  - {path: engine.primer.flow, value: 90 L/h}
//	job: {job: 1, ...}             # the job file as far as it has come
type Draft struct {
	Page      string
	More      []string
	NotKnown  []string
	AtVehicle []string
	DoneBy    string
	Aside     map[string]string
	job       *strict.Document
}

// emptyJob is a job file without an answer.
const emptyJob = "job: 1\n"

func newDraft() Draft {
	doc, err := strict.Parse("draft", []byte(emptyJob))
	if err != nil {
		panic("wizard: the empty job does not read: " + err.Error())
	}
	return Draft{Page: pages[0].ID, Aside: map[string]string{}, job: doc}
}

// copied gives a draft of its own.
func (d Draft) copied() Draft {
	d.More, d.NotKnown, d.AtVehicle = slices.Clone(d.More), slices.Clone(d.NotKnown), slices.Clone(d.AtVehicle)
	d.Aside = maps.Clone(d.Aside)
	d.job = d.job.Copy()
	return d
}

// Encode gives the draft as it is kept.
func (d Draft) Encode() ([]byte, error) {
	doc, err := strict.Parse("draft", []byte("draft: 1\n"))
	if err != nil {
		return nil, err
	}
	job, err := d.job.Bytes()
	if err != nil {
		return nil, err
	}
	edits := []Edit{{Path: "page", Text: d.Page}}
	for _, list := range []struct {
		path  string
		words []string
	}{{"more", d.More}, {"not_known", d.NotKnown}, {"at_vehicle", d.AtVehicle}} {
		if len(list.words) > 0 {
			edits = append(edits, listEdits(list.path, strings.Join(list.words, ","))...)
		}
	}
	if d.DoneBy != "" {
		edits = append(edits, Edit{Path: "done_by", Text: d.DoneBy})
	}
	if len(d.Aside) > 0 {
		edits = append(edits, mappings("aside", len(d.Aside))...)
	}
	for i, path := range slices.Sorted(maps.Keys(d.Aside)) {
		at := fmt.Sprintf("aside.%d", i)
		edits = append(edits, Edit{Path: at + ".path", Text: path}, Edit{Path: at + ".value", Text: d.Aside[path]})
	}
	for _, e := range append(edits, Edit{Path: "job", Text: string(job), Fragment: true}) {
		if err := change(doc, e); err != nil {
			return nil, err
		}
	}
	return doc.Bytes()
}

// ReadDraft reads a draft strictly; the error is [strict.Problems]. What is
// answered in it is read with the job.
func ReadDraft(file string, text []byte) (Draft, error) {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return Draft{}, err
	}
	m := doc.Root().Map()
	m.Required("draft").Integer(1, 1)
	ids := make([]string, len(pages))
	for i, p := range pages {
		ids[i] = p.ID
	}
	d := Draft{Page: m.Required("page").OneOf(ids...), Aside: map[string]string{}}
	d.More = readWords(m.Optional("more"), ids)
	paths := make([]string, len(questions()))
	for i, q := range questions() {
		paths[i] = q.Path
	}
	d.NotKnown, d.AtVehicle = readWords(m.Optional("not_known"), paths), readWords(m.Optional("at_vehicle"), paths)
	if v := m.Optional("done_by"); v.Present() {
		d.DoneBy = strict.Read(v, readClock)
	}
	d.readAside(m.Optional("aside"), paths)
	job := m.Required("job")
	if job.Present() && (job.IsText() || job.IsList()) {
		job.Problem("a job file is wanted here")
	}
	m.Close()
	if err := doc.Err(); err != nil {
		return Draft{}, err
	}
	d.job = job.Document()
	d.job.File = "draft"
	return d, nil
}

// readAside reads the answers that do not count now; each is at a path that a
// question has.
func (d *Draft) readAside(v strict.Value, paths []string) {
	for _, item := range v.List() {
		m := item.Map()
		path, value := m.Required("path").Text(), m.Required("value").Text()
		m.Close()
		known := slices.ContainsFunc(questions(), func(q Question) bool { return slices.Contains(q.Paths(), path) })
		if !known && path != "" {
			item.Problem("no question is answered at %s", path)
		}
		d.Aside[path] = value
	}
}

func readWords(v strict.Value, known []string) []string {
	var all []string
	for _, item := range v.List() {
		word := item.Text()
		if word != "" && !slices.Contains(known, word) {
			item.Problem("%q is not known here", word)
		}
		all = append(all, word)
	}
	return all
}

// readClock reads a time of day such as 17:30 or 7:05.
func readClock(text string) (string, error) {
	at, err := time.Parse("15:04", text)
	if err != nil {
		return "", fmt.Errorf("%q is not a time of day such as 17:30", text)
	}
	return at.Format("15:04"), nil
}

// errMoved says that somebody else has written the draft.
var errMoved = errors.New("another terminal works on this draft; what you entered last was not kept")

// shelf is the folder of the drafts.
type shelf struct{ folder string }

// kept is a draft in its file.
type kept struct {
	Draft
	File    string
	Changed time.Time
	digest  [sha256.Size]byte
}

// largestDraft is more than any wizard writes.
const largestDraft = strict.MaxSize

// open lists the drafts that can be gone on with, the last changed first. Files
// that are none are left alone.
func (s shelf) open() ([]kept, error) {
	files, err := filepath.Glob(filepath.Join(s.folder, "*.yaml"))
	if err != nil {
		return nil, err
	}
	var all []kept
	for _, file := range files {
		if k, err := s.read(file); err == nil {
			all = append(all, k)
		}
	}
	slices.SortFunc(all, func(a, b kept) int { return b.Changed.Compare(a.Changed) })
	return all, nil
}

func (s shelf) read(file string) (kept, error) {
	info, err := os.Lstat(file)
	switch {
	case err != nil:
		return kept{}, err
	case !info.Mode().IsRegular() || info.Size() > largestDraft:
		return kept{}, fmt.Errorf("%s: this is not a draft", file)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return kept{}, err
	}
	d, err := ReadDraft(file, text)
	return kept{Draft: d, File: file, Changed: info.ModTime(), digest: sha256.Sum256(text)}, err
}

// folderMode is that of a folder that nobody else reads.
const folderMode = 0o700

// write replaces the file of a draft as a whole: after a loss of power the old
// or the new one is there. One that somebody else has changed since it was read
// is left alone.
func (s shelf) write(k kept) (kept, error) {
	text, err := k.Encode()
	if err != nil {
		return k, err
	}
	if err := os.MkdirAll(s.folder, folderMode); err != nil {
		return k, err
	}
	if err := k.unchanged(); err != nil {
		return k, err
	}
	if err := whole.Replace(k.File, text); err != nil {
		return k, err
	}
	k.digest = sha256.Sum256(text)
	return k, nil
}

// unchanged tells whether the file is as it was read or written last.
func (k kept) unchanged() error {
	was, err := os.ReadFile(k.File)
	first := k.digest == [sha256.Size]byte{}
	switch {
	case errors.Is(err, fs.ErrNotExist) && first:
		return nil
	case errors.Is(err, fs.ErrNotExist):
		return errMoved
	case err != nil:
		return err
	case first || sha256.Sum256(was) != k.digest:
		return errMoved
	}
	return nil
}

// remove takes a draft away that has become a job.
func (k kept) remove() error {
	err := os.Remove(k.File)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// name says which draft it is, in a line.
func (k kept) name(now time.Time) string {
	asset := textOf(valueAt(k.job, "asset"))
	if asset == "" {
		asset = "a vehicle without a name"
	}
	if title := textOf(valueAt(k.job, "title")); title != "" {
		asset += ", " + title
	}
	return fmt.Sprintf("%s, left at %s, %s", asset, pageOf(k.Page).Title, ago(now.Sub(k.Changed)))
}

// ago says how long ago something was, as people say it.
func ago(d time.Duration) string {
	count := func(n int, unit string) string {
		if n == 1 {
			return "1 " + unit + " ago"
		}
		return fmt.Sprintf("%d %ss ago", n, unit)
	}
	switch {
	case d < time.Minute:
		return "just now"
	case d < time.Hour:
		return count(int(d/time.Minute), "minute")
	case d < 48*time.Hour:
		return count(int(d/time.Hour), "hour")
	}
	return count(int(d/(24*time.Hour)), "day")
}

// equalTo tells whether two drafts say the same, wherever they were left.
func (d Draft) equalTo(other Draft) bool {
	other.Page = d.Page
	a, errA := d.Encode()
	b, errB := other.Encode()
	return errA == nil && errB == nil && bytes.Equal(a, b)
}
