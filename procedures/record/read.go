package record

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// MaxDepth is the deepest nesting of objects and arrays that is read.
const MaxDepth = 64

// object holds the members of a JSON object; their order is not kept, because
// the canonical form has its own.
type object map[string]any

// readJSON reads one JSON value (RFC 8259) into object, []any, string, int64,
// bool and nil. Unlike encoding/json it refuses keys given twice, text that is
// not UTF-8, half surrogate pairs, and numbers that are not integers within
// ±MaxInteger.
func readJSON(data []byte) (any, error) {
	r := &reader{data: data}
	r.space()
	v, err := r.value(0)
	if err != nil {
		return nil, err
	}
	r.space()
	if r.at < len(data) {
		return nil, r.wrong("more after the end")
	}
	return v, nil
}

// reader walks the bytes; at is the next one to be read.
type reader struct {
	data []byte
	at   int
}

func (r *reader) wrong(format string, args ...any) error {
	return fmt.Errorf("byte %d: %s", r.at+1, fmt.Sprintf(format, args...))
}

// peek gives the next byte, 0 at the end; a 0 in the data is never wanted
// outside text, and in text it is refused as a control character.
func (r *reader) peek() byte {
	if r.at < len(r.data) {
		return r.data[r.at]
	}
	return 0
}

func (r *reader) take(c byte) bool {
	if r.at < len(r.data) && r.data[r.at] == c {
		r.at++
		return true
	}
	return false
}

func (r *reader) space() {
	for r.at < len(r.data) && strings.IndexByte(" \t\r\n", r.data[r.at]) >= 0 {
		r.at++
	}
}

func (r *reader) value(depth int) (any, error) {
	if depth > MaxDepth {
		return nil, r.wrong("nested deeper than %d", MaxDepth)
	}
	switch c := r.peek(); {
	case c == '{':
		return r.object(depth)
	case c == '[':
		return r.array(depth)
	case c == '"':
		return r.text()
	case c == '-' || c >= '0' && c <= '9':
		return r.number()
	}
	return r.literal()
}

func (r *reader) object(depth int) (any, error) {
	r.at++
	members := object{}
	r.space()
	if r.take('}') {
		return members, nil
	}
	for {
		if err := r.member(members, depth); err != nil {
			return nil, err
		}
		r.space()
		if r.take('}') {
			return members, nil
		}
		if !r.take(',') {
			return nil, r.wrong("comma or closing brace expected")
		}
		r.space()
	}
}

func (r *reader) member(members object, depth int) error {
	if r.peek() != '"' {
		return r.wrong("key expected")
	}
	key, err := r.text()
	if err != nil {
		return err
	}
	if _, twice := members[key]; twice {
		return r.wrong("key %q is given twice", key)
	}
	r.space()
	if !r.take(':') {
		return r.wrong("colon expected")
	}
	r.space()
	members[key], err = r.value(depth + 1)
	return err
}

func (r *reader) array(depth int) (any, error) {
	r.at++
	elements := []any{}
	r.space()
	if r.take(']') {
		return elements, nil
	}
	for {
		v, err := r.value(depth + 1)
		if err != nil {
			return nil, err
		}
		elements = append(elements, v)
		r.space()
		if r.take(']') {
			return elements, nil
		}
		if !r.take(',') {
			return nil, r.wrong("comma or closing bracket expected")
		}
		r.space()
	}
}

var literals = []struct {
	word  []byte
	value any
}{{[]byte("true"), true}, {[]byte("false"), false}, {[]byte("null"), nil}}

func (r *reader) literal() (any, error) {
	for _, l := range literals {
		if bytes.HasPrefix(r.data[r.at:], l.word) {
			r.at += len(l.word)
			return l.value, nil
		}
	}
	return nil, r.wrong("value expected")
}

func (r *reader) number() (any, error) {
	start := r.at
	r.take('-')
	if !r.take('0') && r.digits() == 0 {
		return nil, r.wrong("digit expected")
	}
	if c := r.peek(); c >= '0' && c <= '9' {
		return nil, r.wrong("number with a leading zero")
	}
	end := r.at
	for end < len(r.data) && strings.IndexByte("0123456789.eE+-", r.data[end]) >= 0 {
		end++
	}
	n, err := parseInteger(string(r.data[start:end]))
	if err != nil {
		return nil, r.wrong("%v", err)
	}
	r.at = end
	return n, nil
}

func (r *reader) digits() int {
	start := r.at
	for c := r.peek(); c >= '0' && c <= '9'; c = r.peek() {
		r.at++
	}
	return r.at - start
}

func (r *reader) text() (string, error) {
	r.at++
	var b []byte
	for {
		c := r.peek()
		switch {
		case r.at >= len(r.data):
			return "", r.wrong("text without an end")
		case c < ' ':
			return "", r.wrong("control character %#02x in text", c)
		case c == '"':
			r.at++
			return string(b), nil
		case c == '\\':
			u, err := r.escape()
			if err != nil {
				return "", err
			}
			b = utf8.AppendRune(b, u)
		default:
			u, size := utf8.DecodeRune(r.data[r.at:])
			if u == utf8.RuneError && size == 1 {
				return "", r.wrong("text is not UTF-8")
			}
			b = append(b, r.data[r.at:r.at+size]...)
			r.at += size
		}
	}
}

var shortEscapes = map[byte]rune{
	'"': '"', '\\': '\\', '/': '/', 'b': '\b', 'f': '\f', 'n': '\n', 'r': '\r', 't': '\t',
}

func (r *reader) escape() (rune, error) {
	r.at++
	c := r.peek()
	if u, ok := shortEscapes[c]; ok {
		r.at++
		return u, nil
	}
	if c != 'u' {
		return 0, r.wrong("unknown escape")
	}
	u, err := r.unit()
	if err != nil || !utf16.IsSurrogate(u) {
		return u, err
	}
	if r.peek() != '\\' || r.at+1 >= len(r.data) || r.data[r.at+1] != 'u' {
		return 0, r.wrong("half of a surrogate pair")
	}
	r.at++
	low, err := r.unit()
	if err != nil {
		return 0, err
	}
	pair := utf16.DecodeRune(u, low)
	if pair == utf8.RuneError {
		return 0, r.wrong("half of a surrogate pair")
	}
	return pair, nil
}

// unit reads u and four hexadecimal digits, the backslash before being read already.
func (r *reader) unit() (rune, error) {
	if r.at+5 > len(r.data) {
		return 0, r.wrong("escape without an end")
	}
	n, err := strconv.ParseUint(string(r.data[r.at+1:r.at+5]), 16, 16)
	if err != nil {
		return 0, r.wrong("escape without four hexadecimal digits")
	}
	r.at += 5
	return rune(n), nil
}
