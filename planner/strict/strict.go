// Package strict reads YAML documents that people write by hand, and reports
// everything that is wrong with one at once, each problem with its place.
//
// It is the one way into the program for job files, engine profiles, layouts,
// procedures and hazards. It works on the text of each scalar: a value is what
// was written, never what a YAML resolver would make of it, so 010 stays 010
// and 0445110376 stays a part number. What it refuses: keys nobody asked for,
// keys given twice, anchors and aliases (and with them every expansion bomb),
// tags, more than one document, values of the wrong shape, text that is not
// UTF-8, control characters, and files over [MaxSize].
//
// A reader walks the document with [Value] and [Mapping]; each call that finds
// something wrong notes a [Problem] and returns a zero value, so that reading
// goes on. [Document.Err] has them all at the end.
package strict

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Limits of a document. They are far above any file written by hand.
const (
	MaxSize  = 1 << 20 // bytes
	MaxDepth = 32      // nested mappings and lists
)

// Problem is one thing wrong with a document.
type Problem struct {
	File         string
	Line, Column int    // from 1; 0 where the value did not come from the file
	Path         string // keys and list positions joined by dots; empty for the document
	Message      string
	Source       string // the line of the file, for an excerpt; may be empty
}

// Error gives the problem as file:line:column: path: message.
func (p Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	}
	b.WriteString(": ")
	if p.Path != "" {
		b.WriteString(p.Path + ": ")
	}
	b.WriteString(p.Message)
	return b.String()
}

// Problems is everything wrong with a document, in the order of its lines.
type Problems []Problem

// Error gives one line for each problem.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Document is a parsed file together with the problems found in it so far.
type Document struct {
	File     string
	root     *yaml.Node
	lines    []string
	problems Problems
}

// Parse reads one YAML (or JSON) document. File is the name used in problems.
// The error, if any, is a [Problems].
func Parse(file string, data []byte) (*Document, error) {
	d := &Document{File: file}
	if p, bad := refuseBytes(file, data); bad {
		return nil, Problems{p}
	}
	d.lines = strings.Split(string(data), "\n")
	var root yaml.Node
	if err := yaml.Load(data, &root); err != nil {
		return nil, d.syntax(err)
	}
	if root.Kind != yaml.DocumentNode || len(root.Content) != 1 {
		return nil, Problems{{File: file, Message: "the file is empty"}}
	}
	d.root = root.Content[0]
	d.refuseShapes(d.root, "", 0)
	return d, nil
}

// refuseBytes reports what makes data no text file at all.
func refuseBytes(file string, data []byte) (Problem, bool) {
	switch {
	case len(data) > MaxSize:
		return Problem{File: file, Message: fmt.Sprintf("the file has %d bytes, more than the %d a hand-written file may have", len(data), MaxSize)}, true
	case !utf8.Valid(data):
		return at(file, data, invalidAt(data), "this is not UTF-8 text"), true
	}
	i := bytes.IndexFunc(data, func(r rune) bool {
		return (r < 0x20 && r != '\n' && r != '\r' && r != '\t') || r == 0x7f
	})
	if i >= 0 {
		return at(file, data, i, fmt.Sprintf("control character 0x%02x", data[i])), true
	}
	return Problem{}, false
}

func invalidAt(data []byte) int {
	i := 0
	for i < len(data) {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			break
		}
		i += n
	}
	return i
}

func at(file string, data []byte, i int, message string) Problem {
	before := data[:i]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return Problem{File: file, Line: line, Column: column, Message: message}
}

// syntax turns an error of the YAML reader into a Problem with its place.
func (d *Document) syntax(err error) error {
	p := Problem{File: d.File, Message: "this is not YAML: " + err.Error()}
	var one *yaml.LoadError
	var many *yaml.LoadErrors
	switch {
	case errors.As(err, &many) && len(many.Errors) > 0:
		one = many.Errors[0]
		p.Message = strings.TrimPrefix(one.Message, "yaml: ")
	case errors.As(err, &one):
		p.Message = "this is not YAML: " + one.Message
	}
	if one != nil && one.Mark.Line > 0 {
		p.Line, p.Column = one.Mark.Line, max(one.Mark.Column, 1)
		p.Source = d.source(p.Line)
	}
	return Problems{p}
}

func (d *Document) source(line int) string {
	if line < 1 || line > len(d.lines) {
		return ""
	}
	return strings.TrimRight(d.lines[line-1], "\r")
}

// refuseShapes notes everything in the tree that no reader of ours accepts.
func (d *Document) refuseShapes(n *yaml.Node, path string, depth int) {
	if depth > MaxDepth {
		d.note(n, path, "nested more than %d deep", MaxDepth)
		return
	}
	if n.Anchor != "" {
		d.note(n, path, "anchors (&%s) are not accepted: write the value out", n.Anchor)
	}
	if n.Style&yaml.TaggedStyle != 0 {
		d.note(n, path, "tags (%s) are not accepted", n.Tag)
	}
	switch n.Kind {
	case yaml.AliasNode:
		d.note(n, path, "aliases (*%s) are not accepted: write the value out", n.Value)
	case yaml.MappingNode:
		d.refuseKeys(n, path, depth)
	case yaml.SequenceNode:
		for i, item := range n.Content {
			d.refuseShapes(item, join(path, fmt.Sprint(i)), depth+1)
		}
	}
}

func (d *Document) refuseKeys(n *yaml.Node, path string, depth int) {
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if key.Kind != yaml.ScalarNode || key.Value == "<<" {
			d.note(key, path, "a key is a plain word")
			continue
		}
		if line, twice := seen[key.Value]; twice {
			d.note(key, join(path, key.Value), "given twice, first on line %d", line)
		}
		seen[key.Value] = key.Line
		d.refuseShapes(value, join(path, key.Value), depth+1)
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func (d *Document) note(n *yaml.Node, path, format string, args ...any) {
	p := Problem{File: d.File, Path: path, Message: fmt.Sprintf(format, args...)}
	if n != nil {
		p.Line, p.Column, p.Source = n.Line, n.Column, d.source(n.Line)
	}
	if !slices.Contains(d.problems, p) {
		d.problems = append(d.problems, p)
	}
}

// Err gives all problems noted so far as [Problems], in the order of the file,
// or nil.
func (d *Document) Err() error {
	if len(d.problems) == 0 {
		return nil
	}
	slices.SortStableFunc(d.problems, func(a, b Problem) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return d.problems
}

// Bytes gives the document as YAML text, comments kept.
func (d *Document) Bytes() ([]byte, error) {
	return yaml.Dump(d.root)
}
