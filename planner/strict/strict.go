// Package strict reads YAML documents that people write by hand, and reports
// everything that is wrong with one at once, each problem with its place.
//
// It is the one way into the program for job files, engine profiles, layouts,
// procedures and hazards. It works on the text of each scalar: a value is what
// was written, never what a YAML resolver would make of it, so 010 stays 010
// and 0445110376 stays a part number. What it refuses: keys nobody asked for,
// keys given twice, anchors and aliases (and with them every expansion bomb),
// tags, more than one document, values of the wrong shape, text that is not
// UTF-8, control characters as they are or as an escape, and files over
// [MaxSize]. A byte order mark at the start is passed over.
//
// A reader walks the document with [Value] and [Mapping]; each call that finds
// something wrong notes a [Problem] and returns a zero value, so that reading
// goes on. [Document.Err] has them all at the end.
package strict

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Limits of a document. They are far above any file written by hand.
const (
	MaxSize     = 1 << 20 // bytes
	MaxDepth    = 32      // nested mappings and lists
	MaxProblems = 200     // that are listed
)

// Problem is one thing wrong with a document.
type Problem struct {
	File         string
	Line, Column int    // from 1; 0 where the value did not come from the file
	Path         string // keys and list positions joined by dots; empty for the document
	Message      string
	Source       string // the line of the file, for an excerpt; may be empty
}

// UnknownKey begins the message of a problem with a key that nothing asks for.
const UnknownKey = "this key is not known here"

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
	unlisted int // problems beyond [MaxProblems]
}

// byteOrderMark is what some editors put before the first line.
const byteOrderMark = "\ufeff"

// Parse reads one YAML (or JSON) document. File is the name used in problems.
// The error, if any, is a [Problems].
func Parse(file string, data []byte) (*Document, error) {
	d := &Document{File: file}
	data = bytes.TrimPrefix(data, []byte(byteOrderMark))
	if p, bad := refuseBytes(file, data); bad {
		return nil, Problems{p}
	}
	d.lines = strings.Split(string(data), "\n")
	root, err := d.load(data)
	if err != nil {
		return nil, err
	}
	d.root = root
	d.refuseShapes(d.root, "", 0)
	return d, nil
}

// load gives the root of the only document in data.
func (d *Document) load(data []byte) (*yaml.Node, error) {
	loader, err := yaml.NewLoader(bytes.NewReader(data))
	if err != nil {
		return nil, d.syntax(err)
	}
	var first, second yaml.Node
	if err := loader.Load(&first); err != nil && !errors.Is(err, io.EOF) {
		return nil, d.syntax(err)
	}
	if first.Kind != yaml.DocumentNode || len(first.Content) != 1 || isNothing(first.Content[0]) {
		return nil, Problems{{File: d.File, Message: "the file is empty"}}
	}
	err = loader.Load(&second)
	switch {
	case errors.Is(err, io.EOF):
		return first.Content[0], nil
	case err != nil:
		return nil, d.syntax(err)
	}
	d.note(&second, "", "a second document begins here; one to a file is accepted")
	return nil, d.problems
}

// isNothing tells whether no more stands there than the start of a document.
func isNothing(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.Style == 0 && n.Value == "" && n.Anchor == ""
}

// refuseBytes reports what makes data no text file at all.
func refuseBytes(file string, data []byte) (Problem, bool) {
	switch {
	case len(data) > MaxSize:
		return Problem{File: file, Message: fmt.Sprintf("the file has %d bytes, more than the %d a hand-written file may have", len(data), MaxSize)}, true
	case !utf8.Valid(data):
		return at(file, data, invalidAt(data), "this is not UTF-8 text"), true
	}
	for i, r := range string(data) {
		endsLine := r == '\r' && i+1 < len(data) && data[i+1] == '\n'
		if isControl(r) && !endsLine {
			return at(file, data, i, controlMessage(r)), true
		}
	}
	return Problem{}, false
}

// isControl tells whether a character steers a terminal or the reading of a
// line instead of being read: control characters but line feed and tab, and the
// marks that break lines or turn the direction of writing.
func isControl(r rune) bool {
	switch {
	case r == '\n', r == '\t':
		return false
	case r < 0x20, 0x7f <= r && r < 0xa0:
		return true
	case r == 0x2028, r == 0x2029, 0x202a <= r && r <= 0x202e, 0x2066 <= r && r <= 0x2069, r == 0xfeff:
		return true
	}
	return false
}

func controlMessage(r rune) string { return fmt.Sprintf("control character U+%04X", r) }

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
	d.refuseMarks(n, path)
	switch n.Kind {
	case yaml.AliasNode:
		d.note(n, path, "aliases (*%s) are not accepted: write the value out", n.Value)
	case yaml.MappingNode:
		d.refuseKeys(n, path, depth)
	case yaml.SequenceNode:
		for i, item := range n.Content {
			d.refuseShapes(item, join(path, strconv.Itoa(i)), depth+1)
		}
	}
}

// refuseMarks notes what a value or a key carries beside its text, and control
// characters that an escape has put into the text.
func (d *Document) refuseMarks(n *yaml.Node, path string) {
	if n.Anchor != "" {
		d.note(n, path, "anchors (&%s) are not accepted: write the value out", n.Anchor)
	}
	if n.Style&yaml.TaggedStyle != 0 {
		d.note(n, path, "tags (%s) are not accepted", n.Tag)
	}
	if i := strings.IndexFunc(n.Value, isControl); i >= 0 {
		r, _ := utf8.DecodeRuneInString(n.Value[i:])
		d.note(n, path, "%s", controlMessage(r))
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
		d.refuseMarks(key, path)
		if line, twice := seen[key.Value]; twice {
			d.note(key, join(path, key.Value), "given twice, first on line %d", line)
		} else {
			seen[key.Value] = key.Line
		}
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
	switch {
	case slices.Contains(d.problems, p):
	case len(d.problems) < MaxProblems:
		d.problems = append(d.problems, p)
	default:
		d.unlisted++
	}
}

// Err gives all problems noted so far as [Problems], in the order of the file,
// or nil. Beyond [MaxProblems] they are only counted.
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
	if d.unlisted == 0 {
		return d.problems
	}
	return append(slices.Clip(d.problems), Problem{File: d.File, Message: fmt.Sprintf("%d more problems are not listed", d.unlisted)})
}

// Bytes gives the document as YAML text, comments kept. It may be called at the same
// time as whatever else reads the document.
func (d *Document) Bytes() ([]byte, error) {
	return yaml.Dump(copyNode(d.root)) // what is dumped gets its tags worked out in place
}
