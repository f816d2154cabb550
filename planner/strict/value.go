package strict

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"daytank/planner/quantity"
)

// Value is one place in a document: what stands there, or that nothing does.
type Value struct {
	doc  *Document
	node *yaml.Node // nil where nothing stands
	near *yaml.Node // the mapping that lacks it, for the position
	path string
}

// Root gives the whole document.
func (d *Document) Root() Value { return Value{doc: d, node: d.root, near: d.root} }

// Present tells whether anything stands there.
func (v Value) Present() bool { return v.node != nil }

// Path gives the keys that lead to the value, joined by dots.
func (v Value) Path() string { return v.path }

// IsText tells whether the value is a single scalar, as against a mapping or a list.
func (v Value) IsText() bool { return v.node != nil && v.node.Kind == yaml.ScalarNode }

// IsList tells whether the value is a list.
func (v Value) IsList() bool { return v.node != nil && v.node.Kind == yaml.SequenceNode }

// Problem notes that the value is wrong.
func (v Value) Problem(format string, args ...any) {
	at := v.node
	if at == nil {
		at = v.near
	}
	v.doc.note(at, v.path, format, args...)
}

// IsEmpty tells whether an empty text was given on purpose, in quotes.
func (v Value) IsEmpty() bool {
	return v.IsText() && v.node.Style != 0 && strings.TrimSpace(v.node.Value) == ""
}

// Text gives the scalar as it was written, without surrounding space. A
// missing value is an empty text; an empty one is a problem.
func (v Value) Text() string {
	if !v.Present() {
		return ""
	}
	if v.node.Kind != yaml.ScalarNode {
		v.Problem("one value is wanted here, not a %s", shape(v.node))
		return ""
	}
	text := strings.TrimSpace(v.node.Value)
	if text == "" || (v.node.Tag == "!!null" && v.node.Style == 0) {
		v.Problem("nothing is given")
		return ""
	}
	return text
}

// longestLine is what a name or a title may have, in characters.
const longestLine = 200

// Line is [Value.Text] for a name or a title: one line of at most 200
// characters. Anything else is a problem and gives the empty text.
func (v Value) Line() string {
	text := v.Text()
	if strings.ContainsAny(text, "\n\r\t") { // other control characters no document may have
		v.Problem("one line of text is wanted here")
		return ""
	}
	if n := utf8.RuneCountInString(text); n > longestLine {
		v.Problem("%d characters are more than the %d of one line", n, longestLine)
		return ""
	}
	return text
}

func shape(n *yaml.Node) string {
	if n.Kind == yaml.MappingNode {
		return "mapping"
	}
	return "list"
}

// OneOf gives the text if it is one of the words; anything else is a problem
// and gives the empty text.
func (v Value) OneOf(words ...string) string {
	text := v.Text()
	if text == "" || slices.Contains(words, text) {
		return text
	}
	v.Problem("%q is not one of %s", text, strings.Join(words, ", "))
	return ""
}

var (
	wholeNumber   = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[+-]?(0|[1-9][0-9]*)$`) })
	decimalNumber = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[+-]?(0|[1-9][0-9]*)([.][0-9]+)?$`) })
)

// Integer gives a whole number from low to high, written in plain digits. A
// missing value is 0.
func (v Value) Integer(low, high int) int {
	text := v.Text()
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || !wholeNumber().MatchString(text) {
		v.Problem("%q is not a whole number in plain digits", text)
		return 0
	}
	if n < low || n > high {
		v.Problem("%d is outside %d to %d", n, low, high)
		return 0
	}
	return n
}

// Number gives a plain decimal number without a unit from low to high. A
// missing value is 0.
func (v Value) Number(low, high float64) float64 {
	text := v.Text()
	if text == "" {
		return 0
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || !decimalNumber().MatchString(text) {
		v.Problem("%q is not a plain number such as 4 or 1.5, without a unit", text)
		return 0
	}
	if x < low || x > high {
		v.Problem("%s is outside %g to %g", text, low, high)
		return 0
	}
	return x
}

// Bool gives true or false; a missing value is false.
func (v Value) Bool() bool { return v.OneOf("true", "false") == "true" }

// Read gives the scalar as parse understands it; its error is a problem. A
// missing value is the zero value.
func Read[T any](v Value, parse func(string) (T, error)) T {
	got, _ := read(v, parse)
	return got
}

// read is [Read] that tells whether there was something, and it was right.
func read[T any](v Value, parse func(string) (T, error)) (T, bool) {
	var zero T
	text := v.Text()
	if text == "" {
		return zero, false
	}
	got, err := parse(text)
	if err != nil {
		v.Problem("%s", err)
		return zero, false
	}
	return got, true
}

// Within is [Read] with a range: a value outside it is a problem that names
// the range. A missing value is zero.
func Within[T ~float64](v Value, parse func(string) (T, error), low, high T) T {
	got, _ := within(v, parse, low, high)
	return got
}

func within[T ~float64](v Value, parse func(string) (T, error), low, high T) (T, bool) {
	got, ok := read(v, parse)
	if ok && (got < low || got > high) {
		v.Problem("%s is outside %s to %s", v.Text(), quantity.Printer{}.Any(low), quantity.Printer{}.Any(high))
		return 0, false
	}
	return got, ok
}

// Maybe is [Read] for a value that may be missing: nil where it is, or where
// it does not read.
func Maybe[T any](v Value, parse func(string) (T, error)) *T {
	if got, ok := read(v, parse); ok {
		return &got
	}
	return nil
}

// MaybeWithin is [Within] for a value that may be missing.
func MaybeWithin[T ~float64](v Value, parse func(string) (T, error), low, high T) *T {
	if got, ok := within(v, parse, low, high); ok {
		return &got
	}
	return nil
}

// List gives the items of a list, none where it is missing.
func (v Value) List() []Value {
	if !v.Present() {
		return nil
	}
	if v.node.Kind != yaml.SequenceNode {
		v.Problem("a list is wanted here")
		return nil
	}
	items := make([]Value, len(v.node.Content))
	for i, n := range v.node.Content {
		items[i] = Value{doc: v.doc, node: n, near: n, path: join(v.path, fmt.Sprint(i))}
	}
	return items
}

// Mapping is a mapping being read: it knows which keys were asked for.
type Mapping struct {
	Value
	asked []string
}

// Map gives the mapping that stands there. Where none does, all its keys are
// missing, and required ones are not complained of a second time.
func (v Value) Map() *Mapping {
	if v.Present() && v.node.Kind != yaml.MappingNode {
		v.Problem("a mapping (key: value) is wanted here")
		v.node = nil
	}
	return &Mapping{Value: v}
}

// Optional gives the value of a key that may be left out.
func (m *Mapping) Optional(key string) Value {
	m.asked = append(m.asked, key)
	v := Value{doc: m.doc, near: m.near, path: join(m.path, key)}
	if m.node == nil {
		return v
	}
	v.near = m.node
	for i := 0; i+1 < len(m.node.Content); i += 2 {
		if m.node.Content[i].Value == key {
			v.node = m.node.Content[i+1]
			v.near = m.node.Content[i]
		}
	}
	return v
}

// Required gives the value of a key that must be there; it is a problem where
// it is not.
func (m *Mapping) Required(key string) Value {
	v := m.Optional(key)
	if m.node != nil && !v.Present() {
		v.Problem("is missing")
	}
	return v
}

// Keys gives the keys in the order of the file.
func (m *Mapping) Keys() []string {
	if m.node == nil {
		return nil
	}
	keys := make([]string, 0, len(m.node.Content)/2)
	for i := 0; i+1 < len(m.node.Content); i += 2 {
		keys = append(keys, m.node.Content[i].Value)
	}
	return keys
}

// Close notes every key that was not asked for, with the nearest one that was.
func (m *Mapping) Close() {
	if m.node == nil {
		return
	}
	for i := 0; i+1 < len(m.node.Content); i += 2 {
		key := m.node.Content[i]
		if key.Kind != yaml.ScalarNode || slices.Contains(m.asked, key.Value) {
			continue
		}
		message := UnknownKey
		if near := Nearest(key.Value, m.asked); near != "" {
			message += fmt.Sprintf("; did you mean %s?", near)
		}
		m.doc.note(key, join(m.path, key.Value), "%s", message)
	}
}

// Nearest gives the word that differs from text by the fewest edits, at most a
// third of its letters; empty where none is that near.
func Nearest(text string, words []string) string {
	best, fewest := "", len(text)/3+1
	for _, w := range words {
		if n := edits(text, w); n < fewest {
			best, fewest = w, n
		}
	}
	return best
}

// edits is the Levenshtein distance in bytes.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		previous := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			previous, row[j+1] = row[j+1], min(row[j+1]+1, row[j]+1, previous+cost)
		}
	}
	return row[len(b)]
}

// English gives the text of a mapping of languages, {en: ...}. English must be
// there; other languages may be.
func English(v Value) string {
	m := v.Map()
	text := m.Required("en").Text()
	for _, key := range m.Keys() {
		if len(key) != 2 {
			v.Problem("%q is not a language of two letters such as en", key)
		}
	}
	return text
}

// Document gives the value as a document of its own.
func (v Value) Document() *Document {
	d := &Document{File: v.doc.File, lines: v.doc.lines, root: &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"}}
	if v.node != nil {
		d.root = copyNode(v.node)
	}
	return d
}
