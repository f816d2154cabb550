package settings

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"daytank/planner/strict"
)

// Sources is everything that settings are looked for in. Nothing else is
// consulted.
type Sources struct {
	Flags   map[string]string   // key to value, of the flags that were given
	File    string              // from --config; empty: the usual place
	Getenv  func(string) string // one variable; nil: none is set
	Environ []string            // all of them as NAME=value, to find misspelt ones
	OS      string              // as runtime.GOOS; empty: this system
}

// value is the text given for a key outside the file.
type value struct {
	text, origin string
}

// given collects the flags and variables, and everything wrong with them.
func (from Sources) given() (map[string]value, strict.Problems) {
	all := map[string]value{}
	var problems strict.Problems
	for _, key := range Keys() {
		v, ok := from.outside(key)
		if !ok {
			continue
		}
		if err := key.check(v.text); err != nil {
			problems = append(problems, strict.Problem{File: v.origin, Path: key.Name, Message: err.Error()})
		}
		all[key.Name] = v
	}
	return all, problems
}

// outside gives the value of a key by flag or variable, if there is one.
func (from Sources) outside(key Key) (value, bool) {
	if text, ok := from.Flags[key.Name]; ok {
		return value{text, "flag --" + key.Flag}, true
	}
	text := from.getenv(key.Env())
	return value{text, key.Env()}, text != ""
}

func (from Sources) getenv(name string) string {
	if from.Getenv == nil {
		return ""
	}
	return from.Getenv(name)
}

// path gives the settings file to read; empty where there is no place for one.
func (from Sources) path(at folders) string {
	if from.File != "" {
		return from.File
	}
	if at.config == "" {
		return ""
	}
	return filepath.Join(at.config, "daytank", fileName)
}

// readFile reads the settings file. One in the usual place need not exist.
func (from Sources) readFile(path string) (texts map[string]string, read bool, err error) {
	if path == "" {
		return nil, false, nil
	}
	data, err := readSome(path)
	if errors.Is(err, fs.ErrNotExist) && from.File == "" {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, fmt.Errorf("settings file: %w", err)
	}
	texts, err = parse(path, data)
	return texts, true, err
}

// readSome reads just enough to tell that a file is too large.
func readSome(path string) ([]byte, error) {
	if info, err := os.Stat(path); err == nil && info.Mode()&(fs.ModeNamedPipe|fs.ModeSocket) != 0 {
		return nil, fmt.Errorf("%s: this is not a plain file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, strict.MaxSize+1))
}

// parse reads a settings file into key and text. A file with nothing but
// comments sets nothing.
func parse(file string, data []byte) (map[string]string, error) {
	if len(data) <= strict.MaxSize && blank(data) {
		return nil, nil
	}
	doc, err := strict.Parse(file, data)
	if err != nil {
		return nil, err
	}
	texts := map[string]string{}
	m := doc.Root().Map()
	for _, key := range Keys() {
		v := m.Optional(key.Name)
		text := v.Text()
		if text == "" {
			continue
		}
		if err := key.check(text); err != nil {
			v.Problem("%s", err)
		}
		texts[key.Name] = text
	}
	m.Close()
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return texts, nil
}

func blank(data []byte) bool {
	for line := range bytes.Lines(data) {
		line = bytes.TrimSpace(line)
		if len(line) > 0 && line[0] != '#' {
			return false
		}
	}
	return true
}

// others are the variables with our prefix that are no settings: the command
// library reads them to tune shell completion.
var others = []string{prefix + "ACTIVE_HELP", prefix + "COMPLETION_DESCRIPTIONS"}

// strangers warns of variables that look like settings and are none. Their
// values are not repeated.
func (from Sources) strangers() []string {
	known := slices.Clone(others)
	for _, key := range Keys() {
		known = append(known, key.Env())
	}
	var warnings []string
	for _, line := range from.Environ {
		name, value, _ := strings.Cut(line, "=")
		if value == "" || !strings.HasPrefix(name, prefix) || slices.Contains(known, name) {
			continue
		}
		text := fmt.Sprintf("environment variable %s is no setting", name)
		if near := strict.Nearest(name[len(prefix):], withoutPrefix(known)); near != "" {
			text += fmt.Sprintf("; did you mean %s%s?", prefix, near)
		}
		warnings = append(warnings, text)
	}
	slices.Sort(warnings)
	return warnings
}

func withoutPrefix(names []string) []string {
	short := make([]string, len(names))
	for i, name := range names {
		short[i] = strings.TrimPrefix(name, prefix)
	}
	return short
}
