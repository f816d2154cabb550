package engine

import (
	"embed"
	"errors"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"

	"daytank/planner/strict"
)

//go:embed data
var data embed.FS

// Profile is an engine that jobs can name: the engine section of a job file,
// kept under an id.
type Profile struct {
	ID, Title, Source string
	Own               bool             // the user's, not shipped
	Keys              []string         // of the engine section, in the order of the file
	doc               *strict.Document // the engine section alone
}

// Library is what layouts and engine profiles are known: the shipped ones, and
// the user's own added to them. It is not changed once jobs are read with it.
type Library struct {
	layouts  map[string]Layout
	profiles map[string]Profile
	own      bool // what is added is the user's
}

// shipped is read once; a shipped file that does not read is a fault of the
// program, held by a test.
var shipped = sync.OnceValues(func() (*Library, error) {
	l := &Library{layouts: map[string]Layout{}, profiles: map[string]Profile{}}
	// Layouts first: a profile names one.
	if err := strict.EachFile(data, "data/layouts/*.yaml", l.AddLayout); err != nil {
		return nil, err
	}
	if err := strict.EachFile(data, "data/engines/*.yaml", l.AddProfile); err != nil {
		return nil, err
	}
	return l, nil
})

// Shipped gives a library of the shipped layouts and engines, to which the
// user's own may be added.
func Shipped() (*Library, error) {
	s, err := shipped()
	if err != nil {
		return nil, fmt.Errorf("a shipped file does not read: %w", err)
	}
	return &Library{layouts: maps.Clone(s.layouts), profiles: maps.Clone(s.profiles), own: true}, nil
}

// AddLayout reads a layout file and adds it; one of the same id is replaced.
func (l *Library) AddLayout(file string, text []byte) error {
	layout, err := ReadLayout(file, text)
	if err != nil {
		return err
	}
	if err := named(file, layout.ID); err != nil {
		return err
	}
	layout.Own = l.own
	l.layouts[layout.ID] = layout
	return nil
}

// AddProfile reads an engine profile and adds it; one of the same id is
// replaced.
func (l *Library) AddProfile(file string, text []byte) error {
	p, err := l.readProfile(file, text)
	if err != nil {
		return err
	}
	if err := named(file, p.ID); err != nil {
		return err
	}
	p.Own = l.own
	l.profiles[p.ID] = p
	return nil
}

// named holds that a file is called after the id in it.
func named(file, id string) error {
	base := strings.TrimSuffix(path.Base(strings.ReplaceAll(file, `\`, "/")), path.Ext(file))
	if base == id {
		return nil
	}
	return strict.Problems{{File: file, Path: "id", Message: fmt.Sprintf("%q is not the name of the file, %q", id, base)}}
}

// readProfile reads the file once as a profile, and its engine section once as
// an engine, so that a profile that would break a job is refused here: what a
// job requires of its engine section, a profile has too, and it names no other.
func (l *Library) readProfile(file string, text []byte) (Profile, error) {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return Profile{}, err
	}
	m := doc.Root().Map()
	m.Required("profile").Integer(1, 1)
	p := Profile{ID: m.Required("id").Text(), Title: strict.English(m.Required("title")), Source: m.Required("source").Text()}
	section := m.Required("engine")
	p.doc, p.Keys = section.Document(), section.Map().Keys()
	Read(section.Map(), l)
	if other := section.Map().Optional("profile"); other.Present() {
		other.Problem("a profile does not rest on another one")
	}
	m.Close()
	return p, doc.Err()
}

// Layout gives a layout by its id.
func (l *Library) Layout(id string) (Layout, bool) {
	layout, ok := l.layouts[id]
	return layout, ok
}

// Layouts gives all layouts by id.
func (l *Library) Layouts() []Layout {
	return sorted(l.layouts, func(x Layout) string { return x.ID })
}

// Profiles gives all engine profiles by id.
func (l *Library) Profiles() []Profile {
	return sorted(l.profiles, func(x Profile) string { return x.ID })
}

func sorted[T any](m map[string]T, id func(T) string) []T {
	all := make([]T, 0, len(m))
	for _, x := range m {
		all = append(all, x)
	}
	slices.SortFunc(all, func(a, b T) int { return strings.Compare(id(a), id(b)) })
	return all
}

func (l *Library) layoutNames() string {
	names := []string{}
	for _, x := range l.Layouts() {
		names = append(names, x.ID)
	}
	return strings.Join(names, ", ")
}

// Resolve takes the profile that an engine section names and fills in what the
// section itself does not give. The name is kept as from_profile, which fills
// in nothing: from here on the section stands by itself, whatever becomes of the
// profile. A section without a profile is left alone.
func (l *Library) Resolve(doc *strict.Document, at string) {
	section := doc.Root().Map().Optional(at)
	if !section.Present() || section.IsText() {
		return
	}
	name := section.Map().Optional("profile")
	if !name.Present() {
		return
	}
	id := name.Text()
	p, ok := l.profiles[id]
	switch {
	case id == "":
		return
	case !ok:
		name.Problem("no engine profile %q; there are: %s", id, l.profileNames())
		return
	}
	if err := errors.Join(doc.Merge(at, p.doc), doc.Set(at+".profile", ""), doc.SetText(at+"."+fromProfile, id)); err != nil {
		section.Problem("%s", err)
	}
}

func (l *Library) profileNames() string {
	names := []string{}
	for _, p := range l.Profiles() {
		names = append(names, p.ID)
	}
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}

// Text gives the engine section of the profile as it stands in its file.
func (p Profile) Text() string {
	text, err := p.doc.Bytes()
	if err != nil {
		return ""
	}
	return string(text)
}
