// Package people is the list of those who release hold points in this shop, each
// with a PIN where they want one. A name alone is taken as well, and stands in the
// record as named, not proved.
//
// The list is a YAML file, `people: 1` with a list of name and pin, readable by
// its owner only. A PIN is kept as a salted scrypt hash (RFC 7914; N 2^15, r 8,
// p 1), never as it was typed; it is no safe lock against somebody with the file
// and much time, because PINs are short. It never comes into a record, a log or a
// report.
package people

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/scrypt"

	"daytank/cmd/internal/whole"
	"daytank/planner/strict"
	"daytank/procedures/report"
)

// Errors of a list.
var (
	ErrUnknown  = errors.New("nobody of this name is in the list")
	ErrKnown    = errors.New("this name is in the list already")
	ErrWrongPIN = errors.New("this is not the PIN")
)

// Limits of a name and a PIN, in characters. A PIN of four digits is what people
// keep in mind.
const (
	longestName = 80
	shortestPIN = 4
	longestPIN  = 64
)

// Person is one of the list.
type Person struct {
	Name string
	hash string // salt and hash of the PIN; empty: none
}

// HasPIN tells whether the person has a PIN.
func (p Person) HasPIN() bool { return p.hash != "" }

// List is the people of a shop.
type List struct {
	file string
	all  []Person
}

// Open reads the list in a file; no file, and one that is not there, is an empty
// list.
func Open(file string) (List, error) {
	l := List{file: file}
	if file == "" {
		return l, nil
	}
	text, err := whole.Read(file, strict.MaxSize)
	if errors.Is(err, fs.ErrNotExist) {
		return l, nil
	}
	if err != nil {
		return l, err
	}
	l.all, err = read(file, text)
	return l, err
}

func read(file string, text []byte) ([]Person, error) {
	doc, err := strict.Parse(file, text)
	if err != nil {
		return nil, err
	}
	m := doc.Root().Map()
	m.Required("people").Integer(1, 1)
	var all []Person
	for _, item := range m.Required("list").List() {
		p := item.Map()
		one := Person{Name: p.Required("name").Line()}
		if v := p.Optional("pin"); v.Present() {
			one.hash = v.Line()
			if _, _, err := parts(one.hash); err != nil && one.hash != "" {
				v.Problem("%s", err)
			}
		}
		p.Close()
		if slices.ContainsFunc(all, func(o Person) bool { return same(o.Name, one.Name) }) && one.Name != "" {
			item.Problem("%s is in the list twice", one.Name)
		}
		all = append(all, one)
	}
	m.Close()
	return all, doc.Err()
}

// All gives the people in the order of their names.
func (l List) All() []Person {
	all := slices.Clone(l.all)
	slices.SortFunc(all, func(a, b Person) int { return strings.Compare(a.Name, b.Name) })
	return all
}

// Find gives the person of a name, whatever its case.
func (l List) Find(name string) (Person, bool) {
	i := slices.IndexFunc(l.all, func(p Person) bool { return same(p.Name, name) })
	if i < 0 {
		return Person{}, false
	}
	return l.all[i], true
}

func same(a, b string) bool { return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) }

// Check holds a PIN against that of a person. The error is [ErrUnknown] or
// [ErrWrongPIN], also where the person has none.
func (l List) Check(name, pin string) error {
	p, ok := l.Find(name)
	if !ok {
		return ErrUnknown
	}
	salt, want, err := parts(p.hash)
	if err != nil {
		return ErrWrongPIN
	}
	got, err := derive(pin, salt)
	if err != nil || subtle.ConstantTimeCompare(got, want) != 1 {
		return ErrWrongPIN
	}
	return nil
}

// CheckName tells why a name cannot stand in the list: it is empty, too long, or has
// characters that nobody sees, by which two people would look alike.
func CheckName(name string) error {
	name = strings.TrimSpace(name)
	if n := utf8.RuneCountInString(name); n == 0 || n > longestName || report.Plain(name) != name {
		return fmt.Errorf("a name has 1 to %d characters on one line, all of them to be seen", longestName)
	}
	return nil
}

// Add puts a person into the list and keeps it; an empty PIN is none.
func (l *List) Add(name, pin string) error {
	name = strings.TrimSpace(name)
	if err := CheckName(name); err != nil {
		return err
	}
	if _, known := l.Find(name); known {
		return fmt.Errorf("%s: %w", name, ErrKnown)
	}
	p := Person{Name: name}
	if pin != "" {
		if n := utf8.RuneCountInString(pin); n < shortestPIN || n > longestPIN {
			return fmt.Errorf("a PIN has %d to %d characters", shortestPIN, longestPIN)
		}
		salt := make([]byte, 16)
		if _, err := rand.Read(salt); err != nil {
			return err
		}
		hash, err := derive(pin, salt)
		if err != nil {
			return err
		}
		p.hash = joined(salt, hash)
	}
	return l.keep(append(slices.Clone(l.all), p))
}

// Remove takes a person out of the list. What the person has released stays as it
// is in every record.
func (l *List) Remove(name string) error {
	if _, ok := l.Find(name); !ok {
		return fmt.Errorf("%s: %w", name, ErrUnknown)
	}
	return l.keep(slices.DeleteFunc(slices.Clone(l.all), func(p Person) bool { return same(p.Name, name) }))
}

// keep writes the list and then, not before, takes it.
func (l *List) keep(all []Person) error {
	if l.file == "" {
		return errors.New("there is no place to keep the list of people: the environment names no home folder")
	}
	doc, err := strict.Parse(l.file, []byte("people: 1\nlist: []\n"))
	if err != nil {
		return err
	}
	for i, p := range all {
		at := fmt.Sprintf("list.%d.", i)
		err = errors.Join(err, doc.Set(fmt.Sprintf("list.%d", i), "{}"), doc.SetText(at+"name", p.Name))
		if p.hash != "" {
			err = errors.Join(err, doc.SetText(at+"pin", p.hash))
		}
	}
	text, failed := doc.Bytes()
	if err := errors.Join(err, failed, os.MkdirAll(filepath.Dir(l.file), 0o700)); err != nil {
		return err
	}
	if err := whole.Replace(l.file, text); err != nil {
		return err
	}
	l.all = all
	return nil
}

const scheme = "scrypt15"

func derive(pin string, salt []byte) ([]byte, error) {
	return scrypt.Key([]byte(pin), salt, 1<<15, 8, 1, 32)
}

func joined(salt, hash []byte) string {
	return strings.Join([]string{scheme, base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(hash)}, " ")
}

func parts(kept string) (salt, hash []byte, err error) {
	words := strings.Fields(kept)
	if len(words) != 3 || words[0] != scheme {
		return nil, nil, errors.New("this is no PIN as it is kept: add the person anew")
	}
	salt, err = base64.RawStdEncoding.DecodeString(words[1])
	if err == nil {
		hash, err = base64.RawStdEncoding.DecodeString(words[2])
	}
	if err != nil || len(hash) != 32 {
		return nil, nil, errors.New("this is no PIN as it is kept: add the person anew")
	}
	return salt, hash, nil
}
